"""Workbook 08 in real JupyterLab: the drag by the hand formula and the share of the layer, before and after."""

import math
import tomllib
from pathlib import Path

import pytest

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::DeprecationWarning")]
TOML = tomllib.loads((DEMO / "aircraft.toml").read_text(encoding="utf-8"))


def number(text: str) -> float:
    return float(text.split()[0])


def chord_at(y: float) -> float:
    """Chord [m] on the straight lines through the measured chords, scaled to the area, as the case has it."""
    wing = TOML["wing"]
    half, side = 0.5 * number(wing["span"]), 0.5 * number(TOML["fuselage"]["width"])
    ys = [0.0, side, 0.5 * half, half]
    cs = [number(wing[k]) for k in ("chord_root", "chord_root", "chord_middle", "chord_tip")]
    area = sum((b - a) * (c + d) for a, b, c, d in zip(ys, ys[1:], cs, cs[1:]))
    k = max(i for i in range(3) if ys[i] <= y)
    return number(wing["area"]) / area * (cs[k] + (cs[k + 1] - cs[k]) * (y - ys[k]) / (ys[k + 1] - ys[k]))


def drag(height: float, length: float, pitch: float, chord: float) -> float:
    """Two triangles in every pitch, coefficient 0.25 on twice the dynamic pressure."""
    return 2 * 0.5 * height * length * 0.25 * 2.0 / (pitch * chord)


def test_worth_buying(open_workbook):
    workbook = open_workbook("08-flow-control-before-you-buy.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    row = next(d for d in TOML["device"] if d["name"] == "vortex generators")
    height, length, pitch = (1e-3 * number(row[k]) for k in ("height", "length", "pitch"))
    chord = chord_at(0.5 * (number(row["span_inner"]) + number(row["span_outer"])))
    shown = page.locator(".flow-by-hand .flow-drag")
    shown.wait_for()
    assert float(shown.inner_text()) == pytest.approx(drag(height, length, pitch, chord), abs=6e-6)
    ratio = page.locator(".flow-by-hand .flow-ratio")
    before = float(ratio.inner_text())
    layer, lift, posterior = (workbook.picture(n) for n in ("layer", "lift", "posterior"))

    def type_into(label, text):
        page.locator(".widget-slider", has_text=label).locator(".widget-readout").click()
        page.keyboard.press("Control+A")
        page.keyboard.type(text)
        page.keyboard.press("Enter")

    type_into("Height above the skin", "8")
    after = drag(8e-3, length, pitch, chord)
    shown.filter(has_text=f"{after:.5f}").wait_for()
    assert float(ratio.inner_text()) == pytest.approx(before * 8e-3 / height, abs=0.011)
    workbook.wait_for_new_picture("layer", layer)
    assert workbook.picture("lift") == lift  # the estimate does not follow the size of the vanes
    assert "undecided" in page.locator(".flow-result").inner_text()

    told = page.locator(".flow-posterior").inner_text()
    page.get_by_label("use the prediction beside the measurement").uncheck()
    page.wait_for_function("t => document.querySelector('.flow-posterior').innerText !== t", arg=told)
    workbook.wait_for_new_picture("posterior", posterior)
    worth = page.locator(".flow-worth").inner_text()
    for words in ("Likely change", "What it costs", "Would your test show it", "Airspeed calibration"):
        assert words in worth
    assert math.isfinite(before) and page.locator(".aerolib-panel.jupyter-widgets-disconnected").count() == 0
