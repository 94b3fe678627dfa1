"""Before and after with too little, too much of the same, or odd names: what is said instead of a number."""

import json
import math

import numpy as np
import pytest

from aerolib import Thrust, compare
from aerolib.measured.stalls import Stalls
from aerolib.show.comparing import change_line, comparison_data, comparison_finding, settled_by
from aerolib.show.render import as_text, said, words

KT = 1852 / 3600


def given(ias, modification, flight="1", **more):
    """Arguments for stalls of one invented airplane; ias in kt."""
    return {"ias": np.array(ias, dtype=float) * KT, "modification": modification, "flight": flight, "weight": 560.0,
            "reference_weight": 580.0, "wing_area": 13.0, "load_factor": 0.95, "pressure_altitude": 0.0,
            **more}  # fmt: skip


FOUR = ["before", "before", "after", "after"]
TWO_DAYS = ["1", "2", "1", "2"]


def plain(comparison):
    """The JSON list of a comparison, which must be JSON without NaN."""
    return json.loads(json.dumps(comparison_data(comparison), allow_nan=False))


@pytest.mark.parametrize(
    "modification, asked, words",
    [
        (["before", "before"], {}, "no stalls of modification 'after' to compare; there are before"),
        (["after", "after"], {}, "no stalls of modification 'before' to compare; there are after"),
        (["before", "cuffs"], {}, "no stalls of modification 'after' to compare; there are before, cuffs"),
        (["before", "after"], {"after": "After"}, "no stalls of modification 'After' to compare; there are before, af"),
    ],
)
def test_a_state_without_stalls(modification, asked, words):
    with pytest.raises(ValueError, match=words):
        compare(Stalls(**given([45, 44], modification)), **asked)


def test_nothing_at_all():
    with pytest.raises(ValueError, match="no stalls were given"):
        compare(Stalls(**given([], [])))


def test_one_stall_in_a_state_has_an_answer_and_a_wide_one():
    few = compare(Stalls(**given([45, 42], ["before", "after"])))
    many = compare(Stalls(**given([45] * 4 + [42] * 4, ["before"] * 4 + ["after"] * 4, ["1", "1", "2", "2"] * 2)))
    change = few["clean"]
    assert change.ratio.value == pytest.approx((45 / 42) ** 2, rel=0.003)  # the lag of the indicator apart
    assert math.log(change.ratio.interval95[1]) > math.log(many["clean"].ratio.interval95[1])
    assert change.verdict.words != "shown"
    assert plain(few)[0]["configuration"] == "clean"


@pytest.mark.parametrize("flights, noted", [(("1", "1", "2", "3"), ["before"]), (("1", "2", "1", "1"), ["after"]),
                                            (("1", "1", "1", "1"), ["before", "after"]), (TWO_DAYS, [])])  # fmt: skip
def test_one_flight_in_a_state_is_noted(flights, noted):
    notes = compare(Stalls(**given([45, 44.5, 42, 42.5], FOUR, list(flights), pilot="an owner"))).notes
    assert [note.split("'")[1] for note in notes] == noted
    assert all("is one flight" in note and "second day" in note for note in notes)


def test_identical_readings_show_no_change():
    change = compare(Stalls(**given([45] * 8, ["before"] * 4 + ["after"] * 4, ["1", "1", "2", "2"] * 2)))["clean"]
    assert change.ratio.value == pytest.approx(1.0, abs=1e-12)
    assert change.probability_improved == pytest.approx(0.5, abs=1e-9)
    assert str(change.verdict) == "not shown"
    low, high = change.ratio.interval95
    assert low < 0.95 and high > 1.05  # what is assumed of the position error alone is +- 13 %
    assert "+0" in said(change_line(change))


@pytest.mark.parametrize("ended, below", [("stop", False), ("early", False), ("unknown", False), ("break", True)])
def test_after_did_not_break(ended, below):
    """A bound from one side: never a loss, however slow the airplane was before."""
    after = np.array(FOUR) == "after"
    ends = np.where(after, ended, "break")
    for ias in ([45, 44.5, 42, 42.5], [45, 44.5, 47, 47.5]):
        found = compare(Stalls(**given(ias, FOUR, TWO_DAYS, ended=ends, below_scale=after & below)))
        change = found["clean"]
        assert change.ratio is None and change.verdict is None and change.probability_improved is None
        assert change.delta_stall_speed_1g is None and settled_by(change) is None
        reached = (math.sqrt(ias[0] * ias[1]) / math.sqrt(ias[2] * ias[3])) ** 2
        assert 0.6 * reached < change.ratio_at_least < reached
        assert "at least" in said(change_line(change)) and "loss" not in as_text(comparison_finding(found))
        assert bool(change.delta_speeds_seen) == (ended == "stop")  # only that measures the airplane
        assert plain(found)[0]["ratio"] is None and plain(found)[0]["ratio_at_least"] is not None
        assert found.common is None and found.agree is None


@pytest.mark.parametrize("ended", ["stop", "early", "unknown"])
def test_two_bounds_compare_to_nothing(ended):
    found = compare(Stalls(**given([45, 44.5, 42, 42.5], FOUR, TWO_DAYS, ended=ended)))
    change = found["clean"]
    assert change.ratio is None and change.ratio_at_least is None and change.verdict is None
    assert change.bounded and change.bounded in said(change_line(change))
    assert plain(found)[0]["verdict"] is None


def test_before_did_not_break():
    """CLmax before is at least something, so the ratio has no lower bound: nothing is claimed."""
    change = compare(Stalls(**given([45, 44.5, 42, 42.5], FOUR, TWO_DAYS, ended=["stop", "stop", "break", "break"])))[
        "clean"
    ]
    assert change.ratio is None and change.ratio_at_least is None and change.verdict is None


def test_unknown_power_is_apparent_and_stays_out_of_the_common_ratio():
    power = (["idle"] * 2 + ["cruise"] * 2) * 2
    card = given([45, 44.5, 40, 40.5, 42, 42.5, 39, 38.5], ["before"] * 4 + ["after"] * 4, TWO_DAYS * 2, power=power)
    found = compare(Stalls(**card))
    assert found["clean"].apparent is False
    with_power = found["clean", "cruise"]
    assert with_power.apparent is True and with_power.ratio is not None
    assert with_power.delta_stall_speed_1g is None  # a 1-g stall speed is one at idle
    assert found.common is None
    assert [item["apparent"] for item in plain(found)] == [False, True]
    given_thrust = compare(Stalls(**{**card, "thrust": {"cruise": Thrust(400.0, 50.0)}}))
    assert given_thrust["clean", "cruise"].apparent is False and given_thrust.common is None
    with pytest.raises(KeyError, match="there are clean, idle; clean, cruise"):
        found["full flap"]


@pytest.mark.parametrize("names", [("after", "after, two"), ("before, 1", "before"), ("a, b", "a, b, c"), ("<b>", "'")])
def test_names_do_not_matter(names):
    """Commas, quotes and marks in the names of modifications and flights: the numbers of plain names."""
    ias, flights = [45, 45.5, 44.8, 42, 42.4, 42.6], ["1", "1", "2", "1", "2", "2"]
    states = [0, 0, 0, 1, 1, 1]
    simple = compare(Stalls(**given(ias, ["before" if s == 0 else "after" for s in states], flights)))["clean"]
    for odd in ("{}", "{}, {}", "two, {}"):
        found = compare(Stalls(**given(ias, [names[s] for s in states], [odd.format(f, f) for f in flights])), *names)
        change = found["clean"]
        assert change.ratio.value == pytest.approx(simple.ratio.value, rel=1e-12)
        assert change.ratio.standard_uncertainty == pytest.approx(simple.ratio.standard_uncertainty, rel=1e-12)
        assert sorted(change.without.values()) == pytest.approx(sorted(simple.without.values()))
        assert len(change.without) == 4
        assert names[0].replace("<", "&lt;").replace(">", "&gt;") in words(comparison_finding(found).question)
