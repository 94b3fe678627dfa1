"""States of a case that differ in more than the modification: what its files say, and what the answer then says."""

import math

import pytest
from cards import STALLS, air

from aerolib.case.problems import CaseError
from aerolib.show.panels.change import ChangePanel
from aerolib.study import open_study
from aerolib.study.stalls import inputs_of

AFTER = '[[modification]]\nname = "after"\n'
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


def with_area(text):
    return air(AFTER, AFTER + text)


def test_the_area_of_one_state(small):
    plain = open_study(small(name="plain"))
    case = open_study(small(**with_area('wing_area = "10 m2"\nwing_area_within = "0.5 m2"\n')))
    one, two = plain.comparison, case.comparison
    assert two["clean"].areas == (12.0, 10.0)
    assert two["clean"].judged.value == pytest.approx(one["clean"].judged.value, rel=1e-9)
    assert two["clean"].ratio.value == pytest.approx(one["clean"].ratio.value * 1.2, rel=1e-9)
    assert "10 m2 in 'after'" in inputs_of(case)["wing area"]
    result, before = case.reduction, plain.reduction
    after, old = result["after", "clean"], before["after", "clean"]
    assert after.clmax.value == pytest.approx(1.2 * old.clmax.value, rel=1e-9)
    assert after.stall_speed_1g.value == pytest.approx(old.stall_speed_1g.value, rel=1e-9)
    share = {b.name: b.contribution / after.clmax.value for b in after.clmax.budget()}["wing area"]
    assert share == pytest.approx(0.05 / 1.96, rel=1e-6)
    assert result["before", "clean"].clmax.value == pytest.approx(before["before", "clean"].clmax.value, rel=1e-9)
    panel = ChangePanel(case)
    assert "CLmax times wing area" in panel.answer.value and "CLmax times wing area" in panel.picture.caption.value
    assert panel.error.value == ""


@pytest.mark.parametrize("text, words", [
    ('wing_area_within = "0.5 m2"\n', "wing_area_within stands without wing_area"),
    ('wing_area = "12"\n', "wing_area"), ('wing_area = "12 ft2"\n', "is the unit right"),
    ('wingarea = "12 m2"\n', "did you mean 'wing_area'"),
])  # fmt: skip
def test_an_area_that_cannot_be(small, text, words):
    with pytest.raises(CaseError) as caught:
        open_study(small(**with_area(text)))
    assert words in str(caught.value) and "[[modification]]" in str(caught.value)


def test_another_pilot_and_another_loading_are_said(small):
    lines = STALLS.strip().split("\n")
    rows = [x.replace(",P,", ",Q,").replace(",0.50,", ",0.55,") if x.startswith("after") else x for x in lines]
    found = open_study(small(stalls="\n".join(rows) + "\n")).comparison
    assert any("no pilot flew both states ('before' by P, 'after' by Q)" in n for n in found.notes)
    assert any("CG of the two states does not overlap" in n and "500 to 500 mm" in n for n in found.notes)
    assert found["clean"].ratio is not None
    same = open_study(small(name="same")).comparison
    assert not any("pilot" in n or "CG" in n for n in same.notes)


def test_no_after_rows_is_no_comparison_and_no_failure(small):
    only = "\n".join(x for x in STALLS.split("\n") if not x.startswith("after"))
    case = open_study(small(stalls=only))
    assert case.comparison is None and len(case.reduction.items) == 2
    panel = ChangePanel(case)
    assert "two different modifications" in panel.error.value and panel.comparison is None


def test_a_stall_apart_from_its_flight_is_named_by_its_row(small):
    lines = STALLS.strip().split("\n")
    extra = [lines[1].replace(",44,", f",{x},", 1) for x in (44.5, 43.8, 44.2)]
    text = "\n".join([*lines, *extra, lines[1].replace(",44,", ",39.5,", 1)]) + "\n"
    case = open_study(small(stalls=text))
    said = [n for n in case.reduction.notes if "standard deviations" in n]
    assert len(said) == 1 and said[0].startswith("`stalls.csv` row 15:") and "`left_out`" in said[0]
    assert not [n for n in open_study(small(name="plain")).reduction.notes if "standard deviations" in n]
    table = ChangePanel(case).detail.value
    assert "row 15 of stalls.csv moves it most" in table
    left = "\n".join([*lines[:1], *(x for x in text.strip().split("\n")[1:-1])]) + "\n"
    without = open_study(small(stalls=left, name="left")).comparison["clean"]
    change = case.comparison["clean"]
    assert change.stalls.value == pytest.approx(math.log(without.ratio.value), abs=0.01)
    assert abs(change.stalls.value - math.log(change.ratio.value)) > 0.01
