"""The student's path: questions by a class number, answers by other formulae in pounds, feet and knots, the key."""

import math
import re

import pytest

from aerolib.teach.exercises import EXERCISES, NEAR, answer_key, exercises_of
from aerolib.teach.panel import ExercisePanel

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
LB, FT, SLUG, G_FT = 0.45359237, 0.3048, 14.59390, 32.174
FT_S = 1852 / 3600 / FT  # a knot
RHO = 1.225 * FT**3 / SLUG  # slug/ft3


def by_other_means(key, n):
    """The answer in the other system of units, or by going through the lift itself."""
    if key == "clmax":
        lift = n["load_factor"] * n["mass_kg"] / LB
        return lift / (n["area_m2"] / FT**2) / (RHO / 2 * (n["cas_kt"] * FT_S) ** 2)
    if key == "weight":
        per_pound = n["stall_kt"] ** 2 / (n["mass_1_kg"] / LB)
        return (per_pound * n["mass_2_kg"] / LB) ** 0.5
    if key == "change":
        pressure = [v * v for v in (n["cas_1_kt"], n["cas_2_kt"])]
        return pressure[0] / pressure[1]
    if key == "slope":
        aspect = (n["span_m"] / FT) ** 2 / (n["area_m2"] / FT**2)
        return math.pi * aspect / (1 + math.hypot(1, aspect / 2))
    if key == "flap":
        left = (n["outer_m"] - n["inner_m"]) * n["chord_m"]
        return 0.92 * n["section_gain"] * (left + left) / n["area_m2"]
    if key == "flap_stall":
        loading = n["clmax"] * n["stall_kt"] ** 2
        return math.sqrt(loading / (n["clmax"] + n["gain"]))
    if key == "trap":
        approach = 1.3 * n["needle_stall_kt"]
        share = (approach - n["needle_stall_kt"]) / (n["needle_fast_kt"] - n["needle_stall_kt"])
        return ((1 - share) * n["cas_stall_kt"] + share * n["cas_fast_kt"]) / n["cas_stall_kt"]
    if key == "limit_load":
        solo_squared = n["clean_kt"] ** 2 * n["mass_2_kg"] / n["mass_1_kg"]
        return math.sqrt(n["limit"] * solo_squared)
    assert key == "roll"
    return 100 * (1 - n["after_kt"] ** 2 / n["before_kt"] ** 2)


@pytest.mark.parametrize("seed", [0, 1, 17, 4711])
def test_key_by_other_formulae(seed):
    for a in answer_key(seed).answers:
        assert a.right == pytest.approx(by_other_means(a.exercise.key, a.numbers), rel=2e-4), a.exercise.key


def test_worked_by_hand():
    """45 kt = 23.15 m/s, q 328.26 Pa; 0.9 x 600 kg x 9.80665 = 5295.6 N over 328.26 x 11: 1.4666; V_A by sqrt(3.8)."""
    clmax, limit = (next(e for e in EXERCISES if e.key == k) for k in ("clmax", "limit_load"))
    n = {"cas_kt": 45, "mass_kg": 600, "area_m2": 11, "load_factor": 0.9, "needle_kt": 41, "density_kg_m3": 1.1}
    assert clmax.right(n) == pytest.approx(1.4666, abs=2e-4)
    assert clmax.slips["with load factor 1 (the airplane was already falling)"](n) == pytest.approx(1.6295, abs=2e-4)
    n = {"mass_1_kg": 600, "mass_2_kg": 486, "clean_kt": 50, "landing_kt": 42, "limit": 3.8}
    assert limit.right(n) == pytest.approx(50 * 0.9 * 1.9494, abs=0.01)  # sqrt(0.81) = 0.9


def test_every_slip_is_named_and_never_right():
    for seed in range(60):
        for item in answer_key(seed).answers:
            values = [item.right, *item.slips.values()]
            assert min(abs(a / b - 1) for k, a in enumerate(values) for b in values[:k]) > 2 * NEAR
    text = str(answer_key(3)).lower()
    for slip in ("miles per hour", "pounds", "true airspeed", "not squared", "load factor 1", "indicated"):
        assert slip in text


def test_a_class_of_its_own():
    first, again, other = (str(answer_key(s)) for s in (1, 1, 2))
    assert first == again and first != other
    with pytest.raises(ValueError, match="whole number"):
        answer_key(-1)
    with pytest.raises(ValueError, match="whole number"):
        answer_key(1.5)
    with pytest.raises(ValueError, match="01, 03, 06, 07, 12"):
        exercises_of("02")
    assert "01, 03, 06, 07, 12" in ExercisePanel("99").error.value


@pytest.mark.parametrize("workbook", ["01", "03", "06", "07", "12"])
def test_panel_from_question_to_feedback(workbook):
    """As a student: numbers read off the question's text, answered right, then with each slip, then with nonsense."""
    panel = ExercisePanel(workbook, seed=5)
    for e, box in panel.questions:
        shown = [float(x) for x in re.findall(r"<b>([\d.]+)</b>", box.question.value)]
        numbers = e.numbers(5)
        assert set(shown) <= set(numbers.values()) and len(shown) >= 2
        answer, feedback = box.answer, box.feedback
        answer.value = f"{by_other_means(e.key, numbers):.4g}"
        assert "Right" in feedback.value
        answer.value = f"{by_other_means(e.key, numbers):.4g} {e.unit.replace('-', '')}"
        assert "Right" in feedback.value
        for slip, formula in e.slips.items():
            answer.value = f"{formula(numbers):.4g}"
            assert "Not yet" in feedback.value and slip.split("'")[0] in feedback.value
        answer.value = "1e9"
        assert "more than it should be" in feedback.value
        answer.value = "about two"
        assert "Right" not in feedback.value and "about two" in feedback.value
    old = box.question.value
    panel.seed.value = 6
    assert box.question.value != old and box.answer.value == box.feedback.value == ""
    assert panel.error.value == ""


def test_key_is_in_no_workbook():
    from pathlib import Path

    for path in (Path(__file__).resolve().parents[2] / "workbooks").glob("*.ipynb"):
        assert "answer_key" not in path.read_text()


def test_the_page_to_print_is_whole():
    """Every method of a question is on the page, with a source for each line and nothing fetched from elsewhere."""
    from aerolib.teach.method_summary import METHODS, method_summary

    page = method_summary().decode()
    assert {e.workbook for e in EXERCISES} <= {m.workbook for m in METHODS}
    assert all(m.source and m.limits for m in METHODS) and page.count("<tr>") == len(METHODS) + 1
    assert "http" not in page and "src=" not in page and "(V₂/V₁)²" in page
