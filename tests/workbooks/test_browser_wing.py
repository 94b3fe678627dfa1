"""The wing workbook in real JupyterLab: first touch and slope by a lifting line of the test's own."""

import math
import tomllib
from pathlib import Path

import numpy as np
import pytest

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::DeprecationWarning")]


def metres(text):
    return float(text.split()[0])


def glauert(span, station, chord, twist, a0, count=120):
    """Slope of the wing, and cl per CL and of the twist alone at stations outward; odd terms by collocation."""
    n, t = 2 * np.arange(count) + 1, (np.arange(count) + 0.5) * np.pi / (2 * count)
    y = 0.5 * span * np.cos(t)
    c = np.interp(y, station, chord)
    sine = np.sin(np.outer(t, n))
    matrix = sine * (4 * span / (a0 * c))[:, None] + n * sine / np.sin(t)[:, None]
    flat, turned = (np.linalg.solve(matrix, x) for x in (np.ones(count), np.interp(y, station, twist)))
    aspect = span**2 / (2 * np.trapezoid(chord, station))
    slope = math.pi * aspect * flat[0]
    local = [4 * span / c * (sine @ x) for x in (flat, turned)]
    # at CL = 0 the twist is balanced by incidence
    additional = local[0] / slope
    basic = local[1] - additional * math.pi * aspect * turned[0]
    return slope, y, additional, basic


def test_wing(open_workbook):
    workbook = open_workbook("06-wing-and-section.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    wing = tomllib.loads((DEMO / "aircraft.toml").read_text())
    width = metres(wing["fuselage"]["width"])
    wing = wing["wing"]
    span, area = metres(wing["span"]), metres(wing["area"])

    def number(name):
        return float(page.locator(f".wing-by-hand .wing-{name}").inner_text())

    def set_to(label, value, redraws=True):
        old = workbook.picture("wing")
        page.locator(".widget-slider", has_text=label).locator(".widget-readout").click()
        page.keyboard.press("Control+A")
        page.keyboard.type(value)
        page.keyboard.press("Enter")
        if redraws:
            workbook.wait_for_new_picture("wing", old)

    page.locator(".wing-by-hand .wing-slope").wait_for()
    assert number("aspect") == pytest.approx(span**2 / area, abs=0.006)
    kappa = float(page.locator(".wing-by-hand").inner_text().split("κ = ")[1].split()[0])
    side, middle = width / 2, span / 4
    station = np.array([0.0, side, middle, span / 2])
    chord = np.array([metres(wing[k]) for k in ("chord_root", "chord_root", "chord_middle", "chord_tip")])
    turn = np.maximum(0.0, station - side) / (span / 2 - side)

    def expected(taper, washout, root, tip):
        """Slope and CL of first touch outside the fuselage."""
        c = chord * (1 + (taper / (chord[-1] / chord[0]) - 1) * station / (span / 2))
        c *= area / (2 * np.trapezoid(c, station))
        slope, y, additional, basic = glauert(span, station, c, -math.radians(washout) * turn, 2 * math.pi * kappa)
        limit = root + (tip - root) * 2 * y / span
        return slope, np.min(((limit - basic) / additional)[(y > side) & (y < 0.97 * span / 2)])

    touch = number("touch")
    set_to("Section limit at the root", "1.7")
    set_to("Section limit at the tip", "1.5")
    page.locator(".wing-by-hand .wing-short").filter(has_text="1.44").wait_for()  # 0.9 of 1.6
    slope, first = expected(chord[-1] / chord[0], -metres(wing["twist"]), 1.7, 1.5)
    assert number("slope") == pytest.approx(slope, rel=0.002)
    assert number("touch") == pytest.approx(first, rel=0.004)
    assert abs(first - touch) > 0.02
    set_to("Tip chord over root chord", "0.5")
    set_to("Washout of the tip", "3")
    slope_after, first_after = expected(0.5, 3.0, 1.7, 1.5)
    near = "([touch]) => Math.abs(document.querySelector('.wing-by-hand .wing-touch').innerText - touch) < 0.01"
    page.wait_for_function(near, arg=[float(first_after)])
    assert number("slope") == pytest.approx(slope_after, rel=0.002)
    assert number("touch") == pytest.approx(first_after, rel=0.004)
    assert abs(first_after - first) > 0.01 and slope_after > slope + 0.05
    last = workbook.picture("wing")
    set_to("Span, the area kept", "6.5", redraws=False)
    page.locator(".aerolib-error", has_text="below 4").wait_for()
    assert workbook.picture("wing") == last
    assert page.locator("h3", has_text="flap 38").count() == 1
