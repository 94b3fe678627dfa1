"""The panel of devices without a browser."""

import math
import re
from pathlib import Path

import pytest

from aerolib.show.panels.flow import FlowPanel
from aerolib.study import open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
PICTURES = ("lift", "layer", "wing", "posterior")


@pytest.fixture(scope="module")
def panel():
    return FlowPanel(open_study(DEMO))


def drawn(panel):
    return {name: getattr(panel, name).drawn for name in PICTURES}


def changed(panel, before):
    return {name for name, count in drawn(panel).items() if count != before[name]}


def by_hand(panel, chord):
    """Section drag of pairs of triangles: 2 (h l / 2) 0.25 x 2 / (pitch c)."""
    h, length, pitch = (1e-3 * panel.sliders[n].value for n in ("height", "length", "pitch"))
    return 2 * 0.5 * h * length * 0.25 * 2.0 / (pitch * chord)


def shown(panel, name="flow-drag"):
    return float(re.search(rf'class="{name}">([^<]*)<', panel.by_hand.value)[1])


def test_it_starts_from_the_case_and_says_where_from(panel):
    assert panel.error.value == "" and panel.sliders["height"].value == 12.0 and panel.span.value == (1.1, 4.1)
    assert "as tufts showed it, 0.75 m" in panel.origin.value and "measured" in panel.origin.value
    assert drawn(panel) == dict.fromkeys(PICTURES, 1)


def test_the_drag_by_hand_before_and_after(panel):
    chord = float(panel.airplane.planform.chord_at(2.6))
    for height, pitch in ((12.0, 72.0), (8.0, 100.0)):
        panel.sliders["height"].value, panel.sliders["pitch"].value = height, pitch
        assert shown(panel) == pytest.approx(by_hand(panel, chord), abs=6e-6)
    panel.sliders["height"].value, panel.sliders["pitch"].value = 12.0, 72.0


def test_only_what_changed_is_drawn(panel):
    for control, value, expected in (
        ("height", 9.0, {"layer"}), ("pitch", 90.0, {"layer"}), ("stalls", 6, set()), ("flights", 3, set()),
        ("station", 20.0, {"layer", "wing"}), ("span", (0.6, 4.1), {"wing", "posterior"}),
    ):  # fmt: skip
        before = drawn(panel)
        (panel.sliders.get(control) or getattr(panel, control)).value = value
        assert panel.error.value == "" and changed(panel, before) == expected, control


def test_a_span_that_does_not_stall_first(panel):
    panel.span.value = (3.0, 4.2)
    assert "does not stall first" in panel.answer.value
    panel.span.value = (0.6, 4.1)
    assert "does not stall first" not in panel.answer.value


def test_bad_choices_are_said_and_the_last_answer_stays(panel):
    kept = panel.answer.value
    panel.sliders["pitch"].value = 10.0
    assert "below the" in panel.error.value and panel.answer.value == kept
    panel.sliders["pitch"].value = 90.0
    assert panel.error.value == ""
    panel.surface.value = "flap"
    assert "flutter" in panel.error.value
    panel.cleared.value = "inspector, invented"
    assert panel.error.value == "" and "no gain of CLmax is known" in panel.answer.value
    panel.surface.value = "wing"


def test_the_prior_can_be_turned_off(panel):
    before, told = drawn(panel), panel.both.value
    panel.use_prior.value = False
    assert "left out" in panel.both.value and panel.both.value != told and changed(panel, before) == {"posterior"}
    panel.use_prior.value = True
    assert panel.both.value == told


def test_other_devices_hide_the_vanes(panel):
    panel.kind.value = "stall strip"
    assert (
        panel.sliders["height"].disabled
        and panel.lift.box.layout.display == "none"
        and "It is there to lose lift" in panel.answer.value
    )
    panel.kind.value = "vortex generators"
    assert not panel.sliders["height"].disabled and panel.lift.box.layout.display == ""


def test_the_page_answers_and_cautions(panel):
    assert "Worth buying?" in panel.page.value and "cautions" in panel.page.value
    assert re.search(r"\d+ %, for \d stalls", panel.page.value)
    assert "approach" not in re.sub(r'<ul class="cautions">.*?</ul>', "", panel.page.value)


def test_pictures_say_what_they_show(panel):
    for name in PICTURES:
        box = getattr(panel, name)
        assert box.image.value[:4] == b"\x89PNG" and len(box.image.alt) > 30 and len(box.caption.value) > 80


def test_without_a_case_an_invented_wing():
    panel = FlowPanel()
    assert panel.error.value == "" and "invented" in panel.origin.value and panel.result.gain.value > 0.0
    assert "Nothing was measured yet" in panel.both.value and math.isfinite(shown(panel))


def test_a_case_that_says_too_little(write_case):
    from cards import AIRCRAFT, STALLS

    panel = FlowPanel(open_study(write_case(AIRCRAFT, STALLS)))
    assert "span is missing" in panel.origin.value and panel.error.value == ""
