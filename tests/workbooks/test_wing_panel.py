"""The panel of the wing without a browser: numbers by a small lifting line of the test's own."""

import math
import re
from pathlib import Path

import numpy as np
import pytest

from aerolib.show.panels.wing import WingPanel
from aerolib.study import open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture(scope="module")
def case():
    return open_study(DEMO)


@pytest.fixture
def panel(case):
    return WingPanel(case)


def shown(panel, name) -> float:
    return float(re.search(rf'class="wing-{name}">([^<]*)<', panel.by_hand.value)[1])


def test_starts_from_the_case(panel, case):
    span, area = case.aircraft.wing.span, case.aircraft.wing.area
    assert shown(panel, "aspect") == pytest.approx(span**2 / area, abs=0.006)
    assert "NACA 4412" in panel.origin and panel.error.value == ""
    assert "cautions" in panel.answer.value and "lower bound" in panel.answer.value


def test_the_wing_as_it_stands_is_that_of_the_report(panel, case):
    """Clean and at each flap setting of the file; with another flap angle the tail's share is still the balance's."""
    for name, degrees in (("clean", 0), ("flap 20", 20), ("flap 38", 38)):
        panel.flap.value = degrees
        assert shown(panel, "trimmed") == pytest.approx(case.wings[0][name].trimmed.value, abs=0.006)
    panel.flap.value = 30
    losses = [case.wings[0][n].trim_loss.value for n in ("flap 20", "flap 38")]
    assert losses[0] < panel.result.trim_loss.value < losses[1]


def test_short_forms_by_hand(panel):
    panel.clmax_root.value, panel.clmax_tip.value, panel.span.value = 1.6, 1.4, 9.6
    assert shown(panel, "short") == pytest.approx(0.9 * 1.5, abs=0.006)
    a = 9.6**2 / panel.planform.area
    kappa = float(re.search(r"κ = ([\d.]+)", panel.by_hand.value)[1])
    assert shown(panel, "aspect") == pytest.approx(a, abs=0.006)
    assert shown(panel, "helmbold") == pytest.approx(2 * math.pi * a / (2 + math.sqrt(4 + (a / kappa) ** 2)), abs=0.006)
    panel.flap.value = 30
    assert "the flap" in panel.by_hand.value and shown(panel, "short") > 1.5


def test_rectangular_wing_by_a_lifting_line_of_the_tests_own():
    """Without a case: 10 m by 1.5 m; 40 odd terms of Glauert's series by collocation."""
    panel = WingPanel()
    assert "invented" in panel.origin and panel.flap.disabled
    a0 = panel.sections[0.0].slope
    n, t = 2 * np.arange(40) + 1, (np.arange(40) + 1) * np.pi / 80
    sine = np.sin(np.outer(t, n))
    a = np.linalg.solve(sine * 4 * 10 / (a0 * 1.5) + n * sine / np.sin(t)[:, None], np.ones(40))
    slope = math.pi * 100 / 15 * a[0]
    assert shown(panel, "slope") == pytest.approx(slope, abs=0.002)
    assert shown(panel, "drag") == pytest.approx(math.pi * 100 / 15 * np.sum(n * a * a) * math.pi * 100 / 15
                                                 / slope**2, abs=0.002)  # fmt: skip
    panel.clmax_root.value = panel.clmax_tip.value = 1.5
    outside = t <= math.acos(0.5 / 5)  # the fuselage is a metre wide
    largest = np.max((4 * 10 / 1.5 * sine @ a)[outside]) / slope
    assert shown(panel, "touch") == pytest.approx(1.5 / largest, rel=0.003)


def test_area_is_kept_and_the_stall_moves(panel):
    touched = []
    for taper in (1.0, 0.6, 0.3):
        panel.taper.value = taper
        assert panel.error.value == ""
        assert panel.result.planform.area == pytest.approx(panel.planform.area, rel=1e-9)
        touched.append(panel.result.first_touch_at)
    assert touched[0] < touched[1] < touched[2]
    panel.washout.value = 5.0
    assert panel.result.first_touch_at < touched[2]


def test_what_cannot_be_is_said_and_the_picture_stays(panel):
    drawn, answer = panel.picture.drawn, panel.answer.value
    panel.span.value = panel.span.min
    assert panel.result is not None and panel.error.value.count("below 4") == (
        panel.span.min**2 / panel.planform.area < 4
    )
    panel.clmax_root.value = panel.clmax_root.min
    assert panel.picture.drawn >= drawn and answer


def test_picture_is_drawn_only_when_it_changes(panel):
    drawn, old = panel.picture.drawn, panel.picture.image.value
    panel.taper.value = 0.5
    assert panel.picture.drawn == drawn + 1 and panel.picture.image.value != old
    panel._update()
    assert panel.picture.drawn == drawn + 1
    assert "first" in panel.picture.caption.value and "of" in panel.picture.image.alt


def test_a_case_that_says_too_little(write_case):
    text = (DEMO / "aircraft.toml").read_text()
    stalls = (DEMO / "stalls.csv").read_text()
    less = "\n".join(x for x in text.splitlines() if not x.startswith(("chord_tip", "span =")))
    panel = WingPanel(open_study(write_case(less, stalls, "less")))
    assert "chord_tip is missing" in panel.origin and "invented" in panel.origin
    none = "\n".join(x for x in text.splitlines() if not x.startswith("flap_kind"))
    panel = WingPanel(open_study(write_case(none, stalls, "none")))
    assert panel.flap.disabled and "No flap" in panel.origin
