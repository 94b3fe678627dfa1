"""The panel of the checks in real JupyterLab: a difference by hand, the states turned round, another limit."""

import csv
import re
from pathlib import Path

import pytest

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::DeprecationWarning")]


def means():
    """Means of the speed at fixed rpm [kt] by state, plainly from the file: each flight has as many readings."""
    rows = list(csv.DictReader((DEMO / "checks.csv").read_text(encoding="utf-8").splitlines()))
    out = {}
    for row in rows:
        if row["quantity"] == "speed at fixed rpm":
            out.setdefault(row["modification"], []).append(float(row["value"].split()[0]))
    return {state: sum(values) / len(values) for state, values in out.items()}


def test_checks(open_workbook):
    workbook = open_workbook("03-before-and-after.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    first = page.locator(".checks-result li").first
    first.wait_for()

    def shown():
        found = re.search(r"([\d.]+) to ([\d.]+) kt, ([+-][\d.]+)", first.inner_text())
        return [float(x) for x in found.groups()]

    mean = means()
    before, after = mean["before"], mean["after"]
    assert shown() == pytest.approx([before, after, after - before], abs=0.051)
    assert "speed at fixed rpm, clean, 2400 rpm" in first.inner_text()

    panel = page.locator(".aerolib-panel", has=page.locator(".checks-result"))
    old = workbook.picture("checks")
    limit = panel.locator("input[type=number]")
    limit.fill("30")
    limit.press("Enter")
    first.filter(has_text="no worse than 30 kt less").wait_for()
    old = workbook.wait_for_new_picture("checks", old)

    panel.locator("select").nth(0).select_option("after")
    panel.locator("[role=alert]", has_text="two different modifications").wait_for()
    panel.locator("select").nth(1).select_option("before")
    page.locator(".checks-result h4", has_text="after to before").wait_for()
    assert shown() == pytest.approx([after, before, before - after], abs=0.051)
    workbook.wait_for_new_picture("checks", old)
    assert page.locator(".aerolib-panel.jupyter-widgets-disconnected").count() == 0
