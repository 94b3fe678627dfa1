"""Workbooks 10 and 11 in real JupyterLab: numbers by the test's own formula, pictures that change."""

import csv
import math
import tomllib
from pathlib import Path

import pytest

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::DeprecationWarning")]
TOML = tomllib.loads((DEMO / "aircraft.toml").read_text())
KT = 1852 / 3600


def set_slider(page, label, text):
    box = page.locator(".widget-slider", has_text=label).locator(".widget-readout")
    box.click()
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def test_landing_attitude(open_workbook):
    workbook = open_workbook("10-landing-attitude.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    area = float(TOML["wing"]["area"].split()[0])

    def lift(speed):
        return 620 * 9.80665 / (0.5 * 1.225 * (speed * KT) ** 2 * area)

    shown = page.locator(".landing-result .cl")
    shown.filter(has_text=f"{lift(50.0):.3f}").wait_for()
    picture = workbook.picture("landing")
    set_slider(page, "Calibrated airspeed [kt]", "57.0")
    shown.filter(has_text=f"{lift(57.0):.3f}").wait_for()
    workbook.wait_for_new_picture("landing", picture)


def test_tail_authority(open_workbook):
    """At an aft CG aloft the wing limits: the slowest speed goes with the root of the weight, by the test's own sum."""
    workbook = open_workbook("11-tail-authority.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    assert any(r["ended"] == "stop" for r in csv.DictReader((DEMO / "stalls.csv").read_text().splitlines()))
    limits = page.locator(".tail-result .limits")
    limits.filter(has_text="elevator stop").wait_for()
    picture = workbook.picture("tail")
    set_slider(page, "Center of gravity", "29.0")
    page.get_by_text("wheels just above the ground").first.click()
    limits.filter(has_text="wing").wait_for()
    workbook.wait_for_new_picture("tail", picture)
    heavy = float(page.locator(".tail-result .slowest").inner_text().split()[0])
    set_slider(page, "Weight [kg]", "500")
    page.wait_for_function(
        "v => Math.abs(parseFloat(document.querySelector('.tail-result .slowest').innerText) - v) < 0.11",
        arg=heavy * math.sqrt(500 / 620),
    )
