"""The flap workbook in real JupyterLab: theory and short form by the test's own formula, before and after a slider."""

import math

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::DeprecationWarning")]


def test_flap(open_workbook):
    workbook = open_workbook("07-flap-increment.ipynb")
    page = workbook.page
    assert workbook.errors() == []

    def theory(ratio):
        """Lift per radian of a hinged flat plate."""
        theta = math.acos(2 * ratio - 1)
        return 2 * (math.pi - theta + math.sin(theta))

    def readout(label):
        return page.locator(".widget-slider", has_text=label).locator(".widget-readout")

    def number(name):
        return float(page.locator(f".flap-by-hand .flap-{name}").inner_text())

    page.locator(".flap-by-hand .flap-theory").wait_for()
    ratio = float(readout("Flap chord over wing chord").inner_text())
    assert number("theory") == pytest.approx(theory(ratio), abs=0.006)
    assert number("short") == pytest.approx(0.92 * 1.3 * number("area"), abs=0.006)
    before = number("wing")
    assert before == pytest.approx(0.92 * number("area") * number("section"), abs=0.006)
    old = workbook.picture("flap")
    readout("Flap chord over wing chord").click()
    page.keyboard.press("Control+A")
    page.keyboard.type("0.35")
    page.keyboard.press("Enter")
    page.locator(".flap-by-hand .flap-theory").filter(has_text=f"{theory(0.35):.3f}").wait_for()
    assert theory(0.35) > 1.15 * theory(ratio)
    assert number("wing") > before
    new = workbook.wait_for_new_picture("flap", old)
    readout("Deflection").click()
    page.keyboard.press("Control+A")
    page.keyboard.type("65")
    page.keyboard.press("Enter")
    page.locator(".aerolib-error", has_text="beyond the method").wait_for()
    assert workbook.picture("flap") == new
    assert page.locator("table", has_text="CLmax added by the flap").count() == 1
