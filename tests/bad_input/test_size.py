"""Files too large, too deep or of another kind are refused before they are read; nothing grows faster than its file.

No test here looks at a clock: what is refused is refused by size, and where a quantity could grow, it is counted.
"""

from __future__ import annotations

import os

import numpy as np
import pytest
from cards import AIRCRAFT, FIRST, STALLS

from aerolib.case import aircraft as aircraft_module
from aerolib.case import tables
from aerolib.case.problems import CaseError
from aerolib.consequences import draws
from aerolib.estimate import Estimate, Source
from aerolib.study import open_study
from aerolib.study.leftout import EXPLAINED, explain_left_out


def refused(write_case, aircraft=AIRCRAFT, stalls=STALLS):
    with pytest.raises(CaseError) as caught:
        open_study(write_case(aircraft, stalls))
    return str(caught.value)


def test_more_rows_than_can_be_reported_are_refused_with_the_number_that_works(write_case):
    message = refused(write_case, stalls=STALLS + f"{FIRST}\n" * tables.MOST_ROWS)
    assert f"{tables.MOST_ROWS:,}" in message and "100,010 rows" in message and "thin" in message


def test_a_header_of_commas(write_case):
    assert "1,000,000 characters" in refused(write_case, stalls="," * 1_000_000 + "\n" + STALLS)


DEEP = ".".join("a" * 2900)


@pytest.mark.parametrize("text", [f"{AIRCRAFT}\n{DEEP} = 1\n", f"{AIRCRAFT}\n[{DEEP}]\n",
                                  AIRCRAFT.replace('area = "12 m2"', f"area.{DEEP} = 1")])  # fmt: skip
def test_a_key_of_thousands_of_levels(text, write_case):
    assert "too deep" in refused(write_case, text)


def test_a_key_of_hundreds_of_kilobytes(write_case):
    message = refused(write_case, AIRCRAFT + "\n" + ".".join("a" * 100_000) + " = 1\n")
    assert f"{aircraft_module.LONGEST_LINE:,} in a line" in message


def test_a_file_of_many_megabytes_is_not_read(write_case):
    folder = write_case(AIRCRAFT, STALLS)
    with (folder / "stalls.csv").open("r+b") as file:
        file.truncate(3_000_000_000)  # sparse: it takes no room on the disk
    with pytest.raises(CaseError, match="3000 MB"):
        open_study(folder)


@pytest.mark.parametrize("kind", ["pipe", "device", "folder"])
@pytest.mark.parametrize("name", ["stalls.csv", "aircraft.toml"])
def test_what_is_not_a_file_is_not_waited_for(kind, name, write_case):
    folder = write_case(AIRCRAFT, STALLS)
    path = folder / name
    path.unlink()
    {"pipe": lambda: os.mkfifo(path), "device": lambda: path.symlink_to("/dev/zero"), "folder": path.mkdir}[kind]()
    with pytest.raises(CaseError, match=name):
        open_study(folder)


def test_very_many_sources_are_drawn_by_their_covariance(monkeypatch):
    """Two estimates share 900 small sources and each has 900 of its own: half of the variance is shared."""
    monkeypatch.setattr(draws, "MOST_STREAMS", 10)
    shared = {Source("day", "flight", str(k)): 0.01 for k in range(900)}
    two = [Estimate(n, 1.5, "-", shared | {Source("own", "stall", f"{n}{k}"): 0.01 for k in range(900)}) for n in "ab"]
    one, other = draws.draw_together(two, 40_000)
    assert np.std(one) == pytest.approx(0.01 * 1800**0.5, rel=0.02)
    assert np.std(other) == pytest.approx(0.01 * 1800**0.5, rel=0.02)
    assert np.corrcoef(one, other)[0, 1] == pytest.approx(0.5, abs=0.02)


def test_rows_left_out_are_explained_up_to_a_number(write_case):
    out = FIRST.removesuffix(",") + ",bumpy\n"
    case = open_study(write_case(AIRCRAFT, STALLS + out * (EXPLAINED + 7)))
    said = explain_left_out(case)
    assert len(said) == EXPLAINED + 1 and said[-1].startswith("7 more rows")


def test_points_of_a_section_are_not_waited_for(write_case):
    from aerolib.study.section import read_points

    folder = write_case(AIRCRAFT, STALLS)
    os.mkfifo(folder / "section.txt")
    with pytest.raises(CaseError, match="not a file"):
        read_points(folder, "section.txt")
