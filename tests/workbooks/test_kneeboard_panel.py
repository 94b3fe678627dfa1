"""The card's panel without a browser: no height, no card."""

from pathlib import Path

import pdfplumber
import pytest

from aerolib.show.panels import KneeboardPanel
from aerolib.study import open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def panel(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return KneeboardPanel(open_study(DEMO))


def test_no_height_no_card(panel, tmp_path):
    panel.write.click()
    assert "height" in panel.error.value and not list(tmp_path.glob("*.pdf"))


def test_a_card_with_the_entry_height_by_hand(panel, tmp_path):
    panel.recovery.value, panel.lost.value = "5000 ft", "300 ft"
    panel.write.click()
    assert panel.error.value == "" and "Written" in panel.told.value
    with pdfplumber.open(tmp_path / "kneeboard-after.pdf") as pdf:
        words = " ".join(page.extract_text() for page in pdf.pages)
    assert "5,900" in words  # 5,000 + 3 x 300


def test_low_heights_are_said(panel):
    panel.recovery.value = "2500 ft"
    panel.write.click()
    assert panel.error.value == "" and "3,000 ft" in panel.told.value


@pytest.mark.parametrize(
    "text, words", [("5000", "no unit"), ("5,000 ft", "comma"), ("-3 ft", "height"), ("2 h", "unit")]
)
def test_bad_heights_say_what_to_do(panel, text, words):
    panel.recovery.value = text
    panel.write.click()
    assert words in panel.error.value
