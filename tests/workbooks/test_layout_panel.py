"""The layout panel without a browser: counts by hand, keep-outs said, sheets to download, cost of a change."""

import base64
import io
import math
import re
from pathlib import Path

import pytest

from aerolib.show.figures.layout import layout_picture
from aerolib.show.panels.layout import LayoutPanel
from aerolib.study import open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def panel():
    return LayoutPanel(open_study(DEMO))


def counts(panel):
    return [int(re.search(rf'class="layout-count-{s}">(\d+)<', panel.result.value)[1]) for s in ("left", "right")]


def by_hand(pitch):
    """Positions from 1.10 to 4.10 m; the fuel cap takes those whose half width and 10 mm reach 1.30 to 1.42 m.

    A position nearer to its edge than a quarter of the pitch moves there instead. The row's slope is below 1 in 200.
    """
    half = 0.5 * (36.0 + 36.0 * math.sin(math.radians(16.0))) + 10.0
    low, high = 1300.0 - half, 1420.0 + half
    at = [1100.0 + i * pitch for i in range(int(3000.0 // pitch) + 1)]
    return sum(1 for x in at if not low < x < high or min(x - low, high - x) <= 0.25 * pitch)


def test_the_counts_by_hand(panel):
    assert panel.error.value == ""
    for pitch in (72.0, 61.0, 97.0, 110.0):
        panel.controls["pitch"].value = pitch
        assert panel.error.value == "" and counts(panel)[0] == by_hand(pitch)


def test_it_starts_with_the_case_and_says_what_was_dropped(panel):
    assert panel.controls["pitch"].value == 72.0 and panel.controls["chord_station"].value == pytest.approx(12.0)
    assert "dropped at fuel cap" in panel.result.value and "clear of fuel vent" in panel.result.value
    assert "cautions" in panel.result.value and "fitted 39, planned 40" in panel.fitted.value


def test_bad_values_keep_the_last_result(panel):
    told = panel.result.value
    panel.controls["height"].value = 50.0  # a gap of 3 heights is then wider than the pitch
    assert "neighbors would overlap" in panel.error.value and panel.result.value == told
    panel.controls["height"].value = 12.0
    assert panel.error.value == ""


def test_the_sheets_are_offered_and_taken_back(panel):
    import pdfplumber

    panel.paper.value = "Letter"
    panel._make()
    found = re.findall(r'download="([^"]+)" href="data:application/pdf;base64,([^"]+)"', panel.links.value)
    assert [n for n, _ in found] == [
        "marking-sheet-left-letter.pdf",
        "marking-sheet-right-letter.pdf",
        "preflight-count.pdf",
    ]
    with pdfplumber.open(io.BytesIO(base64.b64decode(found[0][1]))) as pdf:
        assert "LEFT" in pdf.pages[0].extract_text()
        assert float(pdf.pages[0].width) == pytest.approx(8.5 * 72.0, abs=0.01)
    panel.controls["pitch"].value = 80.0
    assert panel.links.value == ""


def test_a_case_without_devices(write_case):
    from cards import AIRCRAFT, STALLS

    panel = LayoutPanel(open_study(write_case(AIRCRAFT, STALLS)))
    assert "[[device]]" in panel.error.value and panel.picture.drawn == 0


def test_the_picture_has_a_fixed_size_and_words(panel):
    for pitch in (72.0, 110.0):
        panel.controls["pitch"].value = pitch
        picture = layout_picture(*panel.layouts)
        assert (picture.width, picture.height) == (820, 440)
        assert "to scale" in picture.caption and "fuel cap" in picture.alternative
