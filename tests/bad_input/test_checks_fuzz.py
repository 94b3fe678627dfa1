"""Anything at all as `checks.csv` is read or explained; and one flight that decides a check is said."""

from __future__ import annotations

import json

import numpy as np
import pytest
from cards import AIRCRAFT
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from aerolib.case.aircraft import parse_aircraft
from aerolib.case.checks import parse_checks
from aerolib.case.problems import CaseError
from aerolib.measured.checks import compare_checks
from aerolib.measured.checks.quantities import QUANTITIES
from aerolib.show.comparing import checks_data, checks_finding
from aerolib.show.render import body_html

QUIET = settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
PLANE = parse_aircraft(AIRCRAFT.encode())
CHECKS = """\
modification,configuration,quantity,value,no_worse_than,weight [kg],pressure_altitude [ft],temperature,power,flight
before,clean,speed at fixed rpm,96 kt,2 kt,550,3000,9 deg C,2400 rpm,1
before,clean,speed at fixed rpm,97 kt,,548,3000,,2400 rpm,2
after,clean,speed at fixed rpm,95 kt,,550,3000,9 deg C,2400 rpm,3
before,clean,roll time,2.8 s,,,,,idle,1
after,clean,roll time,2.5 s,,,,,idle,3
after,clean,trim position,14 mm,,,,,idle,3
"""
PIECES = ("before", "after", "clean", *QUANTITIES, "kt", "s", "%", "mm", "ft/min", "<", ",", ";", '"', "\n", "\r", "[",
          "]", "0", "-", "1e9", "1e308", "nan", "inf", "\ufeff", "\x00", "\u2212", ".", " ")  # fmt: skip


def read_or_explain(data: bytes) -> str:
    """Read, and compare what there is; or a message that says where."""
    try:
        table = parse_checks(data, PLANE)
    except CaseError as e:
        assert e.problems and all("`checks.csv`" in p and len(p) > 30 for p in e.problems), e.problems
        outcome = "refused"
    else:
        found = compare_checks(**table.arguments())
        for item in json.loads(json.dumps(checks_data(found), allow_nan=False)):
            low, high = item["interval95"] or (0.0, 0.0)
            assert low <= high and item["verdict"]
        assert body_html(checks_finding(found))
        outcome = "read"
    return outcome


def test_the_whole_one_is_read():
    assert read_or_explain(CHECKS.encode()) == "read"


@QUIET
@given(st.binary(max_size=300))
def test_arbitrary_bytes_are_refused(data):
    assert read_or_explain(data) == "refused"


@st.composite
def mutated(draw):
    """The valid text with a few spots cut out, doubled, or replaced by something that means something."""
    text = CHECKS
    for _ in range(draw(st.integers(1, 4))):
        start, length = draw(st.integers(0, len(text))), draw(st.integers(0, 12))
        new = draw(st.one_of(st.sampled_from(PIECES), st.text(max_size=4), st.just(text[start : start + 2 * length])))
        text = text[:start] + new + text[start + length :]
    return text


@QUIET
@given(mutated())
def test_mutated_checks_are_read_or_explained(text):
    assert read_or_explain(text.encode("utf-8", "surrogatepass")) in ("read", "refused")


def compared(before, after, flights, **more):
    """Roll times [s] of two states."""
    m = ["before"] * len(before) + ["after"] * len(after)
    more = {"reading_uncertainty": 0.02, "day_scatter": {"roll time": 0.001}, **more}
    return compare_checks("roll time", np.array([*before, *after]), modification=m, configuration="clean",
                          power="idle", flight=flights, **more).items[0]  # fmt: skip


def test_one_flight_that_decides_the_sign_is_named():
    """Of the three flights after only the third is quicker; without it the state is slower than before."""
    same = [3.0] * 4
    item = compared(same, [3.02] * 3 + [3.02] * 3 + [2.0] * 12, list("1122") + ["3"] * 3 + ["4"] * 3 + ["5"] * 12)
    mean = (3.02 + 3.02) / 2 - 3.0  # by hand: without flight 5
    assert mean > 0.0 and item.difference.value < 0.0
    assert item.decided_by == "after, 5"
    sure = compared(same, [2.5] * 6, list("1122") + ["3"] * 3 + ["4"] * 3)
    assert sure.decided_by is None and sure.verdict == "better"


@pytest.mark.parametrize("limit, words", [(np.nan, "not shown (without flight before, 2 its sign would turn)"),
                                          (2.0, "no worse than 2 s more (without flight before, 2")])  # fmt: skip
def test_what_one_flight_decides_is_not_shown(limit, words):
    """Many readings on one slow day before, stated as sharp: sure by the numbers, and by that day alone."""
    item = compared([2.4] * 2 + [3.1] * 40, [2.5] * 40, ["1"] * 2 + ["2"] * 40 + ["3"] * 20 + ["4"] * 20,
                    no_worse_than=limit, reading_uncertainty=0.1)  # fmt: skip
    assert item.probability_better > 0.975
    assert item.verdict.startswith(words)


def test_one_flight_a_state_decides_nothing():
    """Without it there is nothing to compare, which is no turned sign; the note about one flight stands instead."""
    item = compared([3.0] * 3, [2.0] * 3, ["1"] * 6)
    assert item.decided_by is None and item.verdict == "better"
    assert any("is one flight" in n for n in item.notes)
