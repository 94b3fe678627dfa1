"""Workbooks 10 and 11 without a browser: what moves with a slider, what a case that lacks measures is told."""

import math
import re

import pytest

from aerolib.show.panels.landing import LandingPanel
from aerolib.show.panels.tail import PowerPanel, TailPanel
from aerolib.study import open_study

KT = 1852 / 3600


def value(html: str, name: str) -> float:
    return float(re.search(rf"class=['\"]{name}['\"]>([-\d.]+)", html)[1])


@pytest.fixture(scope="module")
def demo():
    from pathlib import Path

    return open_study(Path(__file__).resolve().parents[2] / "data" / "demo")


def test_landing_panel(demo):
    panel = LandingPanel(demo)
    assert panel.error.value == ""
    for speed, mass in ((50.0, 620.0), (56.0, 540.0)):
        panel.speed.value, panel.mass.value = speed, mass
        expected = mass * 9.80665 / (0.5 * 1.225 * (speed * KT) ** 2 * 10.68)
        assert value(panel.result.value, "cl") == pytest.approx(expected, abs=0.001)
    slow, fast = [], []
    for speed, out in ((48.0, slow), (60.0, fast)):
        panel.speed.value = speed
        out += [value(panel.result.value, "pitch"), value(panel.result.value, "hidden")]
    assert slow[0] > fast[0] and slow[1] > fast[1]
    panel.speed.value = 33.0
    assert "has stalled" in panel.result.value
    panel.flap.value = "clean"
    assert panel.error.value == ""


def test_tail_panel(demo):
    panel = TailPanel(demo)
    assert panel.error.value == "" and "elevator stop" in panel.result.value
    forward = value(panel.result.value, "slowest")
    panel.cg.value = 29.0
    assert value(panel.result.value, "slowest") < forward - 3.0
    panel.near.value = False
    assert ">wing<" in panel.result.value
    aft = value(panel.result.value, "slowest")
    panel.mass.value = 540.0
    assert value(panel.result.value, "slowest") == pytest.approx(aft * math.sqrt(540 / 620), abs=0.11)
    drawn = panel.picture.drawn
    panel.cg.value = 25.0
    assert panel.picture.drawn == drawn  # the map has every CG in it
    panel.devices.value = True
    assert panel.picture.drawn == drawn + 1 and panel.error.value == ""


def test_every_flap_and_modification_has_its_answer(demo):
    panel = TailPanel(demo)
    seen = set()
    for panel.flap.value in ("clean", "flap 20", "flap 38"):
        for panel.modification.value in ("before", "after"):
            assert panel.error.value == ""
            seen.add(panel.result.value)
            assert f"<td>{panel.modification.value}</td><td>{panel.flap.value}</td><td>aloft</td>" in panel.table.value
    assert len(seen) >= 5


def test_power_panel(demo):
    panel = PowerPanel(demo)
    off, on = value(panel.result.value, "off"), value(panel.result.value, "on")
    assert on < off
    panel.share.value = 100.0
    assert value(panel.result.value, "on") < on


@pytest.mark.parametrize("table, words", [("tail", "elevator_up"), ("gear", "wing_height")])
def test_a_case_without_geometry_is_told_what_to_measure(case_folder, table, words):
    text = (case_folder / "aircraft.toml").read_text()
    start = text.index(f"[{table}]")
    end = text.index("\n[", start + 1)
    (case_folder / "aircraft.toml").write_text(text[:start] + f"[{table}]\n" + text[end:])
    case = open_study(case_folder)
    panel = LandingPanel(case) if table == "gear" else TailPanel(case)
    assert words in panel.result.value and "Traceback" not in panel.result.value


def test_v_tail_is_refused_with_the_reason(case_folder):
    text = (case_folder / "aircraft.toml").read_text().replace('kind = "conventional"', 'kind = "V"')
    (case_folder / "aircraft.toml").write_text(text)
    assert "V-tail" in TailPanel(open_study(case_folder)).result.value
