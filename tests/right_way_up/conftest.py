"""One report of every case for all tests here: a report costs seconds, what it says does not change."""

from __future__ import annotations

from pathlib import Path

import pytest
from right_way_up.odd_cases import ODD, report

DATA = Path(__file__).resolve().parents[2] / "data"


@pytest.fixture(scope="session")
def told(tmp_path_factory):
    """What the report of a case says, by its name: 'demo', 'nosewheel', or a name of `ODD`.

    Its Monte Carlo check is a short one.
    """
    import aerolib.study.stalls as room

    reports = {}

    def told_of(name):
        if name not in reports:
            place = tmp_path_factory.mktemp("told")
            source = ODD[name].write(place / "case") if name in ODD else DATA / name
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(room, "DRAWS", room.FEWEST_DRAWS)
                reports[name] = report(source, place / "out")
        return reports[name]

    return told_of
