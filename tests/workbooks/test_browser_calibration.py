"""Workbook 04 in real JupyterLab: a leg moved by its slider, its circle by the test's own formula."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::DeprecationWarning")]
LEGS = [r for r in csv.DictReader((DEMO / "airspeed_legs.csv").read_text().splitlines())
        if (r["modification"], r["configuration"], r["run"]) == ("before", "clean", "2")]  # fmt: skip


def airspeed(speeds):
    """Radius [kt] of the circle nearest to the ground velocities: Newton's steps on the geometric sum of squares."""
    track = np.radians([float(r["track [deg]"]) for r in LEGS])
    x, y = speeds * np.sin(track), speeds * np.cos(track)
    wx, wy = x.mean(), y.mean()
    for _ in range(200):
        dx, dy = x - wx, y - wy
        r = np.hypot(dx, dy)
        v = r.mean()
        wx, wy = np.mean(x - v * dx / r), np.mean(y - v * dy / r)  # each leg pulls the centre along its radius
    return v


def test_a_leg_is_moved(open_workbook):
    workbook = open_workbook("04-calibrate-airspeed.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    speeds = np.array([float(r["ground_speed [kt]"]) for r in LEGS])
    shown = page.locator(".calibration-result .airspeed")
    shown.filter(has_text=f"{airspeed(speeds):.1f}").wait_for()
    circle, correction = workbook.picture("circle"), workbook.picture("correction")
    speeds[0] += 6.0
    box = page.locator(".widget-slider", has_text="Leg 1, ground [kt]").locator(".widget-readout")
    box.click()
    page.keyboard.press("Control+A")
    page.keyboard.type(f"{speeds[0]:.1f}")
    page.keyboard.press("Enter")
    moved = airspeed(speeds)
    assert abs(moved - airspeed(speeds - np.array([6.0, 0, 0, 0]))) > 1.0
    shown.filter(has_text=f"{moved:.1f}").wait_for()
    workbook.wait_for_new_picture("circle", circle)
    workbook.wait_for_new_picture("correction", correction)
    page.locator(".aerolib-panel select").first.select_option("a printed example of three legs")
    shown.filter(has_text="130.0").wait_for()  # D. Gray, 1998: 130 kt, wind 20.6 kt
    assert float(page.locator(".calibration-result .wind").inner_text()) == pytest.approx(20.6, abs=0.05)
    assert math.isfinite(moved)
