"""Workbook 09 in real JupyterLab: another pitch changes count and picture; the sheet is downloaded and read."""

import tomllib
from pathlib import Path

import pytest
from waiting import PATIENCE_MS

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::DeprecationWarning")]
DEVICE = tomllib.loads((DEMO / "aircraft.toml").read_text())["device"][0]


def number(text):
    return float(text.split()[0])


def planned(pitch_mm):
    """Positions before any keep-out zone, by hand: whole pitches in the row, and one."""
    row = 1000.0 * (number(DEVICE["span_outer"]) - number(DEVICE["span_inner"]))
    return int((row + 1.0) // pitch_mm) + 1  # the tape runs along the taper, less than 1 mm longer


def test_layout(open_workbook, tmp_path):
    import pdfplumber

    workbook = open_workbook("09-lay-it-out.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    count = page.locator(".layout-count-left")
    count.wait_for()

    def shown():
        """Positions left standing and dropped on the left, as the page has them: together those planned."""
        said = page.locator(".layout-result li").all_inner_texts()
        dropped = sum(line.count("mm)") for line in said if line.startswith("left: dropped at"))
        return int(count.inner_text()) + dropped

    pitch = number(DEVICE["pitch"])
    assert shown() == planned(pitch)
    old = workbook.picture("layout")
    box = page.locator(".widget-slider", has_text="Spacing [mm]").locator(".widget-readout")
    box.click()
    page.keyboard.press("Control+A")
    page.keyboard.type("100")
    page.keyboard.press("Enter")
    page.locator(".layout-result p", has_text="100 mm spacing").first.wait_for()
    assert planned(100.0) < planned(pitch) - 5
    assert shown() == planned(100.0)
    workbook.wait_for_new_picture("layout", old)

    kept = int(count.inner_text())
    page.get_by_role("button", name="Make the sheets").click()
    link = page.get_by_role("link", name="marking-sheet-left-a4.pdf")
    link.wait_for(timeout=PATIENCE_MS)
    with page.expect_download() as waiting:
        link.click()
    path = tmp_path / "sheet.pdf"
    waiting.value.save_as(path)
    assert waiting.value.suggested_filename == "marking-sheet-left-a4.pdf"
    with pdfplumber.open(path) as pdf:
        text = " ".join(pdf.pages[0].extract_text().split())
    assert "LEFT" in text and f"{kept} pairs" in text and "spacing 100 mm" in text
