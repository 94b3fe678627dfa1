"""A plan counts from what was flown, and never asks for a state that is over."""

from __future__ import annotations

import re

import pytest
from right_way_up.odd_cases import CLEAN, Flown, Odd, two_states

from aerolib.measured.plan import plan_test
from aerolib.measured.plan.flown import Flown as Counted
from aerolib.show.comparing import plan_advice, plan_answer, plan_data, plan_finding
from aerolib.show.panels import PlanPanel
from aerolib.show.render import body_html, said
from aerolib.show.sections import plan as next_test
from aerolib.study import open_study
from aerolib.study.plan import plan_of

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
SURE = {"stall_scatter": 0.2, "day_scatter": 0.1, "position_uncertainty": 0.05, "draws": 1000}


def planned(**more):
    return plan_test(0.8, 20.0, **SURE, **more)


def states(plan):
    return [state for _, state, loading, *_ in plan.programme() if loading == "solo"]


@pytest.mark.parametrize("removable", [None, False])
def test_no_before_flight_once_the_devices_are_on(removable):
    plan = planned(flown=Counted(3, 1), removable=removable)
    assert plan.still_to_fly == (0, plan.chosen.flights - 1) and "before" not in states(plan)
    assert plan.chosen.flights <= 3
    assert "is bonded" not in " ".join(map(said, plan_advice(plan))) and not plan.record_first


def test_no_programme_of_more_before_flights_than_there_are():
    """One flight before: whatever four flights would show, one is what can be compared with."""
    plan = planned(flown=Counted(1, 2))
    assert plan.chosen.flights == 1 and plan.still_to_fly == (0, 0) and plan.programme() == []
    assert "None" in body_html(plan_finding(plan))


def test_never_flown_before_cannot_be_compared():
    plan = planned(flown=Counted(0, 2))
    assert (
        plan.recommended is None
        and "Nothing can be compared" in " ".join(map(said, plan_answer(plan)))
        and "before" not in states(plan)
    )


def test_what_comes_off_is_flown_again():
    plan = planned(flown=Counted(1, 2), removable=True)
    f = plan.chosen.flights
    assert f > 1 and plan.still_to_fly == (f - 1, max(f - 2, 0))
    assert states(plan).count("before") == f - 1 and states(plan).count("after") == max(f - 2, 0)


def test_before_the_devices_are_on_the_rest_of_both_is_planned():
    whole, begun = planned(), planned(flown=Counted(1, 0))
    f = whole.chosen.flights
    assert whole.still_to_fly == (f, f) and begun.still_to_fly == (f - 1, f)
    assert begun.programme()[0][0] == 1


def test_the_case_is_counted_under_its_own_names(tmp_path):
    case = open_study(two_states("stock", "VGs", *CLEAN, flights=(("1", "2", "3"), ("4",))).write(tmp_path / "case"))
    plan = plan_of(case)
    assert plan_data(plan)["flown"] == [3, 1] and plan_data(plan)["still_to_fly"][0] == 0
    assert set(states(plan)) <= {"VGs"} and "'stock'" in " ".join(map(said, plan_answer(plan)))
    panel = PlanPanel(case)
    assert panel.plan.flown == plan.flown and "stock</td>" not in panel.result.value
    panel.removable.value = True
    assert panel.plan.still_to_fly == (0, max(panel.plan.chosen.flights - 1, 0)) or panel.plan.chosen.flights > 3


def test_one_state_is_the_beginning(tmp_path):
    case = open_study(Odd((Flown("before", CLEAN[0], ("1", "2")),)).write(tmp_path / "case"))
    plan = plan_of(case)
    assert plan_data(plan)["flown"] == [2, 0] and plan.still_to_fly[1] == plan.chosen.flights


def test_the_plan_names_its_change_and_the_one_that_is_shown_already(tmp_path):
    """A third more CLmax is shown by the card; a plan for one knot says so first, and counts in tests of a hundred."""
    case = open_study(two_states("stock", "VGs", *CLEAN).write(tmp_path / "case"))
    assert case.comparison["clean"].verdict.words == "shown"
    first, flown, answer = map(said, next_test.finding(case).parts[:3])
    assert "already shown (clean, idle)" in first and "1.00 kt" in first
    assert "Flown so far" in flown and "1.00 kt" in answer and re.search(r"in \d+ of 100 such tests", answer)
    same = two_states("stock", "VGs", CLEAN[0], CLEAN[0]).write(tmp_path / "same")
    assert "already shown" not in " ".join(map(said, next_test.finding(open_study(same)).parts[:2]))


def test_what_is_flown_is_told_with_its_number_of_flights():
    assert "A test program of 2 flights in each state is flown" in Counted(2, 2).words(2, True)
