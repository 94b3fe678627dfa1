"""The operating speeds in real JupyterLab: weight by the test's own formula, a question answered."""

import math
import re

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::DeprecationWarning")]


def test_operating_speeds(open_workbook):
    workbook = open_workbook("12-operating-speeds.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    stall = page.locator(".operating-result tbody td:nth-child(3)").first
    stall.wait_for()

    def typed(label, text):
        page.locator(".widget-slider", has_text=label).locator(".widget-readout").click()
        page.keyboard.press("Control+A")
        page.keyboard.type(text)
        page.keyboard.press("Enter")

    heavy = float(stall.inner_text())
    distances, diagram = workbook.picture("operating-distances"), workbook.picture("operating-diagram")
    typed("Weight [kg]", "480")
    light = heavy * math.sqrt(480 / 620)
    page.wait_for_function(
        "t => document.querySelector('.operating-result tbody td:nth-child(3)').innerText != t", arg=f"{heavy:.1f}"
    )
    assert float(stall.inner_text()) == pytest.approx(light, abs=0.1)
    workbook.wait_for_new_picture("operating-distances", distances)
    diagram = workbook.wait_for_new_picture("operating-diagram", diagram)
    typed("Approach over landing", "1.1")
    page.locator(".aerolib-error", has_text="no approach speed is printed").wait_for()
    assert workbook.picture("operating-diagram") == diagram

    question = page.locator(".exercise-roll").first
    before, after = (float(x) for x in re.findall(r"from ([\d.]+) to ([\d.]+) kt", question.inner_text())[0])
    box = page.locator(".exercise-roll-answer input")

    def answer(value):
        box.fill(f"{value:.3f}")
        box.press("Enter")

    answer(100 * (1 - after / before))
    page.locator(".exercise-roll-feedback", has_text="with the speed not squared").wait_for()
    answer(100 * (1 - (after / before) ** 2))
    page.locator(".exercise-roll-feedback", has_text="Right").wait_for()
