"""States that differ in more than the modification: an answer, and what it cannot say."""

import json
import math

import numpy as np
import pytest

from aerolib import ErrorSizes, compare, reduce_stalls
from aerolib.measured.stalls import Stalls
from aerolib.show.comparing import change_line, comparison_data
from aerolib.show.render import said

KT = 1852 / 3600
EIGHT, DAYS = ["before"] * 4 + ["after"] * 4, ["1", "1", "2", "2"] * 2
IAS = [45, 44.5, 45.2, 44.8, 42, 42.5, 41.8, 42.2]
AREAS = [13.0] * 4 + [11.0] * 4


def given(ias, modification, flight="1", **more):
    """Arguments for stalls of one invented airplane; ias in kt."""
    return {"ias": np.array(ias, dtype=float) * KT, "modification": modification, "flight": flight, "weight": 560.0,
            "reference_weight": 580.0, "wing_area": 13.0, "load_factor": 0.95, "pressure_altitude": 0.0,
            **more}  # fmt: skip


def plain(comparison):
    """The JSON list of a comparison, which must be JSON without NaN."""
    return json.loads(json.dumps(comparison_data(comparison), allow_nan=False))


def test_another_wing_area_is_judged_by_lift_and_speed():
    same, other = (
        compare(Stalls(**given(IAS, EIGHT, DAYS))),
        compare(Stalls(**given(IAS, EIGHT, DAYS, wing_area=AREAS))),
    )
    one, two = same["clean"], other["clean"]
    # CL S = L / q: the area stands in neither, so what is judged is what one area would have given.
    assert two.lift_ratio.value == pytest.approx(one.ratio.value, rel=1e-9)
    assert two.lift_ratio.interval95 == pytest.approx(one.ratio.interval95, rel=1e-6)
    assert two.probability_improved == pytest.approx(one.probability_improved, abs=1e-9)
    assert two.delta_stall_speed_1g.value == pytest.approx(one.delta_stall_speed_1g.value, rel=1e-6)
    assert two.delta_stall_speed_1g.interval95 == pytest.approx(one.delta_stall_speed_1g.interval95, rel=1e-6)
    assert list(two.without.values()) == pytest.approx(list(one.without.values()), abs=1e-9)
    # CLmax alone rises by what the area fell, and owes the error of two areas, 1 % each.
    assert two.ratio.value == pytest.approx(one.ratio.value * 13 / 11, rel=1e-9)
    assert two.ratio.standard_uncertainty / two.ratio.value == pytest.approx(
        math.hypot(one.ratio.standard_uncertainty / one.ratio.value, 0.01 * math.sqrt(2)), rel=1e-6
    )
    assert "CLmax times wing area" in said(change_line(two)) and "CLmax alone" in said(change_line(two))
    assert sum("wing area changed from 13 to 11 m2" in n for n in other.notes) == 1
    item = plain(other)[0]
    assert item["wing_area_m2"] == [13.0, 11.0]
    assert item["lift_ratio"] == pytest.approx(two.lift_ratio.value, rel=1e-5)
    assert plain(same)[0]["wing_area_m2"] is None and plain(same)[0]["lift_ratio"] is None


def test_a_smaller_wing_of_higher_clmax_at_one_speed_is_no_gain():
    """A flap wing a third smaller that lands as before: CLmax up by half, nothing gained."""
    found = compare(Stalls(**given([45] * 8, EIGHT, DAYS, wing_area=[15.0] * 4 + [10.0] * 4)))["clean"]
    assert found.ratio.value == pytest.approx(1.5) and found.ratio.interval95[0] > 1.0
    assert str(found.verdict) == "not shown" and found.probability_improved == pytest.approx(0.5, abs=1e-9)
    assert found.delta_stall_speed_1g.value == pytest.approx(0.0, abs=1e-9)


def test_each_state_is_reduced_with_its_own_area_and_its_own_care():
    sizes = {"wing_area": AREAS, "wing_area_uncertainty": [math.nan] * 4 + [0.55] * 4}
    result = reduce_stalls(**given(IAS, EIGHT, DAYS, **sizes))
    alone = [reduce_stalls(**given(IAS[k:k + 4], EIGHT[k:k + 4], DAYS[k:k + 4], wing_area=a))
             for k, a in ((0, 13.0), (4, 11.0))]  # fmt: skip
    share = {}
    for state, single in zip(("before", "after"), alone):
        item, lone = result[state, "clean"], single[state, "clean"]
        assert item.clmax.value == pytest.approx(lone.clmax.value, rel=2e-3)  # the scatter is found out together
        assert item.stall_speed_1g.value == pytest.approx(lone.stall_speed_1g.value, rel=1e-3)
        share[state] = {b.name: b.contribution / item.clmax.value for b in item.clmax.budget()}["wing area"]
    assert share["before"] == pytest.approx(0.01, rel=1e-9)
    assert share["after"] == pytest.approx(0.55 / 11.0, rel=1e-9)


def test_drawing_knows_two_areas():
    result = reduce_stalls(**given(IAS, EIGHT, DAYS, wing_area=AREAS), errors=ErrorSizes(wing_area=0.02), draws=40_000)
    for item in result.items:
        assert item.interval95_by_draws == pytest.approx(item.clmax.interval95, rel=0.02)
        assert item.stall_speed_interval95_by_draws == pytest.approx(item.stall_speed_1g.interval95, rel=0.01)


def test_two_areas_in_one_state_are_refused():
    with pytest.raises(ValueError, match="modification 'before' has wing areas of 12 and 13 m2; give one"):
        compare(
            Stalls(**given([45, 44.5, 42, 42.5], ["before"] * 2 + ["after"] * 2, wing_area=[13.0, 12.0, 13.0, 13.0]))
        )


def test_after_did_not_break_and_has_another_wing():
    ended = np.where(np.array(EIGHT) == "after", "stop", "break")
    one, two = (
        compare(Stalls(**given(IAS, EIGHT, DAYS, ended=ended, **x)))["clean"] for x in ({}, {"wing_area": AREAS})
    )
    assert two.ratio_at_least == pytest.approx(one.ratio_at_least, rel=1e-6)
    assert "CLmax times wing area is at least" in said(change_line(two))


def notes(*words, **more):
    """Notes of a comparison that hold all the words."""
    found = compare(Stalls(**given(IAS, EIGHT, DAYS, **more)))
    assert found["clean"].ratio is not None  # there is a result all the same
    return [n for n in found.notes if all(w in n for w in words)]


@pytest.mark.parametrize("pilot, noted", [(["X"] * 4 + ["Y"] * 4, True), (["X"] * 4 + ["Y", "Y", "Z", "Z"], True),
                                          (["X"] * 8, False), (["X"] * 4 + ["X", "Y", "Y", "Y"], False),
                                          ([""] * 4 + ["Y"] * 4, False), ([""] * 8, False)])  # fmt: skip
def test_pilots_who_flew_one_state_each(pilot, noted):
    found = notes("no pilot flew both states", "'before' by X", "tell the two apart", pilot=pilot)
    assert len(found) == noted


@pytest.mark.parametrize("after, noted", [(480.0, True), (640.0, True), (545.0, False), (560.0, False)])
def test_weights_that_do_not_overlap(after, noted):
    weight = [560.0, 557.0, 560.0, 557.0] + [after, after - 2, after, after - 2]
    assert len(notes("clean, idle: weight", "does not overlap", "'before' 557 to 560 kg", weight=weight)) == noted


@pytest.mark.parametrize("after, noted", [(0.55, True), (0.45, True), (0.505, False), (math.nan, False)])
def test_centres_of_gravity_that_do_not_overlap(after, noted):
    cg = [0.50, 0.501, 0.50, 0.499] + [after] * 4
    assert len(notes("CG", "does not overlap", "499 to 501 mm", "download", cg=cg)) == noted


def test_identical_readings_show_resolution():
    found = compare(Stalls(**given([45] * 4 + IAS[4:], EIGHT, DAYS))).notes
    assert [n for n in found if "all 4 readings of 'before' are identical" in n and "resolution" in n]
    assert not [n for n in compare(Stalls(**given(IAS, EIGHT, DAYS))).notes if "identical" in n]


def test_one_stall_a_state():
    found = compare(Stalls(**given([45, 42], ["before", "after"])))
    for m in ("before", "after"):
        assert any(f"'{m}' is one stall" in n and "not seen" in n for n in found.notes)
    assert found["clean"].ratio is not None and found["clean"].stalls is None  # nothing would be left


def test_which_stall_matters_most():
    """A slow one before: without it CLmax before is lower, and the gain larger."""
    ias = [45, 45, 45, 39, 42, 42.5, 41.8, 42.2]
    change = compare(Stalls(**given(ias, EIGHT, ["1"] * 8)))["clean"]
    assert change.stalls.stall == 3 and change.stalls.name == "before, clean, idle, flight 1, stall 4 of 4"
    rest = [0, 1, 2, 4, 5, 6, 7]
    left = compare(Stalls(**given([ias[k] for k in rest], [EIGHT[k] for k in rest], ["1"] * 7)))["clean"]
    assert change.stalls.value == pytest.approx(math.log(left.ratio.value), abs=0.005)
    assert change.stalls.low < math.log(change.ratio.value) < change.stalls.high == change.stalls.value
    low, high = plain(compare(Stalls(**given(ias, EIGHT, ["1"] * 8))))[0]["without_one_stall"]
    assert math.log(high / low) == pytest.approx(change.stalls.high - change.stalls.low, rel=1e-4)


def test_a_stall_apart_from_its_flight_is_named_and_kept():
    ias = [45, 45.2, 44.9, 45.1, 42, 42.5, 41.8, 42.2]
    assert not [n for n in compare(Stalls(**given(ias, EIGHT, ["1"] * 8))).notes if "standard deviations" in n]
    ias[2] = 38.0
    found = compare(Stalls(**given(ias, EIGHT, ["1"] * 8)))
    said = [n for n in found.notes if "standard deviations above the middle of its flight; kept" in n]
    assert len(said) == 1 and said[0].startswith("before, clean, idle, flight 1, stall 3 of 4")
    assert found["clean"].ratio is not None


def test_one_day_for_both_states_gets_no_credit():
    """Alternating on one day: counted as two days, so the interval is too wide rather than too narrow."""
    one, two = (compare(Stalls(**given(IAS, EIGHT, f)))["clean"] for f in (["A"] * 8, ["A"] * 4 + ["B"] * 4))
    assert one.ratio.interval95 == pytest.approx(two.ratio.interval95, rel=1e-12)
