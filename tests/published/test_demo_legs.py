"""Simulated, not measured: legs of invented afternoons on an airspeed system whose truth data/demo/make.py holds."""

from __future__ import annotations

import ast
import importlib.util
import random
from pathlib import Path

import numpy as np
import pytest

from aerolib.case.aircraft import parse_aircraft
from aerolib.case.folder import Case
from aerolib.case.legs import FILE, parse_legs
from aerolib.case.stalls import parse_stalls
from aerolib.study import Study, open_study
from aerolib.units import knots

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
_spec = importlib.util.spec_from_file_location("demo_make_legs", DEMO / "make_legs.py")
legs = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(legs)
make = legs.make


def truth(seed, modification, configuration, needle_kt):
    """What has to be added to a needle [kt], from the errors the card of this seed was drawn with."""
    _, _, scale, position = make.shared_errors(random.Random(seed))
    return scale * (make.calibrated(needle_kt) + position[modification, configuration]) - needle_kt


def states(found, aircraft):
    """(modification, configuration, state) of every configuration of the demonstration."""
    flaps = {f"flap {np.degrees(c.flap):.4g} deg": c.name for c in aircraft.configuration}
    return [(s.modification, flaps[s.flap], s) for s in found.states]


def test_the_maker_imports_nothing_of_the_library():
    tree = ast.parse((DEMO / "make_legs.py").read_text(encoding="utf-8"))
    imported = {a.name.split(".")[0] for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names}
    imported |= {(n.module or "").split(".")[0] for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}
    assert imported == {"__future__", "importlib", "math", "pathlib", "random"}


def test_the_committed_legs_are_what_the_maker_makes(tmp_path):
    legs.main(folder=tmp_path)
    assert (tmp_path / FILE).read_bytes() == (DEMO / FILE).read_bytes()


def test_the_committed_legs_hold_the_truth_of_every_state():
    case = open_study(DEMO)
    held = []
    for modification, configuration, s in states(case.calibration, case.aircraft):
        true = truth(make.SEED, modification, configuration, knots(s.reading))
        off = (knots(s.at_stall) - true) / knots(s.standard_uncertainty)
        print(f"  {modification}, {configuration}: {knots(s.at_stall):+.2f} kt, truth {true:+.2f}, {off:+.1f} s.d.")
        held.append(abs(off) < 1.96)
    assert len(held) == 6 and all(held)


@pytest.fixture(scope="module")
def cards():
    """(off / standard uncertainty, half-width [kt]) of every state of 60 other cards with their own legs."""
    out = []
    for seed in range(1, 61):
        rows, area_told, _ = make.draw(seed)
        aircraft = parse_aircraft(make.aircraft_text(area_told).encode())
        case = Study(Case(DEMO, aircraft, parse_stalls(make.csv_text(rows).encode(), aircraft), {}))
        table = parse_legs(make.csv_text(legs.draw_legs(seed)).encode(), aircraft)
        found = case.changed(tables={FILE: table}).calibration
        for modification, configuration, s in states(found, aircraft):
            if s.at_stall is not None:
                true = truth(seed, modification, configuration, knots(s.reading))
                out.append(((knots(s.at_stall) - true) / knots(s.standard_uncertainty),
                            1.96 * knots(s.standard_uncertainty)))  # fmt: skip
    return np.array(out)


def test_other_cards_hold_their_truth(cards):
    """95 % intervals of 60 cards of six states: 93 % or more hold, and are narrower than the owner's table of 2 kt.

    The error here is the same knots at every speed, milder than the library reckons with, so more hold than 95 %;
    what that costs is bounded by the width. simulated/test_calibration.py has the harder campaigns.
    """
    held, half = np.mean(np.abs(cards[:, 0]) < 1.96), np.median(cards[:, 1])
    print(f"\n(simulated) correction at the stall: {held:.1%} of {len(cards)} hold, median half-width {half:.2f} kt")
    assert len(cards) > 340 and held >= 0.93
    assert half < 0.8 * make.POSITION_WITHIN["before"]
