"""The panel of the test plan without a browser."""

import math
import re
from pathlib import Path

import pytest

from aerolib.case.problems import CaseError
from aerolib.show.figures.plan import plan_picture
from aerolib.show.panels import PlanPanel
from aerolib.study import open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
KT = 1852 / 3600
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def panel():
    return PlanPanel()


def half(panel):
    return float(re.search(r"plan-half.>([^<]*)<", panel.by_hand.value)[1])


def test_the_hand_formula(panel):
    for stall, day in ((0.5, 0.3), (1.0, 0.0), (0.4, 1.5)):
        panel.stall_scatter.value, panel.day_scatter.value = stall, day
        assert half(panel) == pytest.approx(1.96 * math.sqrt(2 * (day**2 + stall**2 / 3) / 2), abs=0.006)
    assert panel.error.value == ""


def test_the_table_shows_the_plan(panel):
    for c in (*panel.plan.cells, *panel.plan.calibrated_cells):
        assert f"{100 * c.probability_shown:.0f} % (± {c.half_width / KT:.2f} kt)" in panel.result.value
    assert "cautions" in panel.result.value


def test_calibrating_and_bonding(panel):
    unsure = panel.plan.cells[-1]
    assert "Recorded before the first device is bonded" in panel.result.value
    panel.within.value = 0.2
    panel.calibrated.value = True
    known = panel.plan.cells[-1]
    assert known.probability_shown > 4 * unsure.probability_shown and known.half_width < unsure.half_width
    assert panel.plan.cells == panel.plan.calibrated_cells
    assert panel.result.value.count("Shown how often") == 1
    drawn = panel.picture.drawn
    panel.removable.value = True  # changes the advice, not the picture
    assert "It comes off" in panel.result.value and "is bonded<" not in panel.result.value
    assert panel.picture.drawn == drawn
    panel.removable.value = False
    assert "no going back" in panel.result.value


def test_the_numbers_to_start_from_are_the_cases():
    case = open_study(DEMO)
    panel, result = PlanPanel(case), case.reduction
    speed = result["before", "clean"].stall_speed_1g.value / KT
    assert panel.speed.value == pytest.approx(speed, abs=0.26)
    assert panel.day_scatter.value == pytest.approx(speed * result.day_scatter / 2, abs=0.006)
    p = result.points
    own = [u / c for u, c, g in zip(p.own_uncertainty, p.cl, p.group) if result.items[g].name == "before, clean, idle"]
    expected = speed * sum(own) / len(own) * result.scatter_ratio / 2
    assert panel.stall_scatter.value == pytest.approx(expected, abs=0.006)
    assert (
        0.8 < 1.96 * panel.more["position_uncertainty"] / KT < 2.0
    )  # legs leave less than the 2 kt of the earlier season's table
    for words in ("before, clean, idle", "Between stalls", "Between days", "error budget"):
        assert words in panel.origin.value


def test_a_case_that_cannot_be_reduced_still_gives_a_plan(monkeypatch):
    case = open_study(DEMO)

    def broken(self):
        raise CaseError("row 7 is <wrong>")

    monkeypatch.setattr(type(case), "reduction", property(broken))
    panel = PlanPanel(case)
    assert "row 7 is &lt;wrong&gt;" in panel.origin.value and panel.plan is not None


def test_bad_values(panel):
    before = panel.result.value
    panel.change.value = float("nan")
    assert "change is nan" in panel.error.value and panel.result.value == before
    panel.change.value = 1.5
    assert panel.error.value == "" and panel.result.value != before
    panel.change.value, panel.speed.value = 8.0, 1.0  # held at the slider's end
    assert panel.speed.value == 20.0 and panel.error.value == ""


def test_the_picture_has_a_fixed_size_and_words(panel):
    for calibrated in (False, True):
        panel.calibrated.value = calibrated
        picture = plan_picture(panel.plan)
        assert (picture.width, picture.height) == (820, 400)
        assert "How often" in picture.caption and "6 x 4" in picture.alternative


def test_the_caption_says_what_the_lines_do(panel):
    """Wild days: 'shown' after few flights is a false alarm, and more flights lower the line."""
    panel.stall_scatter.value, panel.day_scatter.value, panel.calibrated.value = 0.2, 3.0, True
    cells = {(c.stalls, c.flights): c.probability_shown for c in panel.plan.cells}
    assert cells[6, 4] < cells[6, 1]
    assert "lift a line" not in panel.picture.caption.value and "falls" in panel.picture.caption.value
