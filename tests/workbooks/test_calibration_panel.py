"""The panel of legs without a browser: what moves, what is refused, what it says without legs."""

import csv
import re
from pathlib import Path

import numpy as np
import pytest

from aerolib.show.panels.calibration import EXAMPLE, CalibrationPanel
from aerolib.study import open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
ROWS = list(csv.DictReader((DEMO / "airspeed_legs.csv").read_text().splitlines()))


def three_point(speed, track):
    """Radius of the circle through three points: product of the sides over four times the area."""
    p = np.column_stack([speed * np.sin(np.radians(track)), speed * np.cos(np.radians(track))])
    a, b, c = (np.hypot(*(p[i] - p[j])) for i, j in ((0, 1), (1, 2), (2, 0)))
    (ux, uy), (vx, vy) = p[1] - p[0], p[2] - p[0]
    return a * b * c / (2.0 * abs(ux * vy - uy * vx))


def shown(panel):
    return float(re.search(r"class=.airspeed.>([\d.]+)<", panel.result.value)[1])


@pytest.fixture
def panel():
    return CalibrationPanel(open_study(DEMO))


def test_a_leg_and_a_track_by_the_three_point_formula(panel):
    panel.run.value = None
    speed, track = (np.array(x) for x in zip(*EXAMPLE))
    assert shown(panel) == pytest.approx(three_point(speed, track), abs=0.051)
    for k, (v, t) in ((0, (150.0, 192.0)), (2, (120.0, 35.0))):
        speed[k], track[k] = v, t
        drawn = panel.circle.drawn
        panel.speed[k].value, panel.track[k].value = v, t
        assert panel.error.value == "" and panel.circle.drawn == drawn + 1
        assert shown(panel) == pytest.approx(three_point(speed, track), abs=0.051)
    assert panel.correction.drawn == 1  # a printed example moves nothing of the case


def test_a_faster_run_moves_its_own_state_most_and_back(panel):
    def added():
        return {s.name: s.at_stall for s in panel.found.states}

    before = added()
    for slider in panel.speed[:4]:
        slider.value += 3.0
    moved = {k: v - before[k] for k, v in added().items()}
    assert max(moved, key=moved.get) == "before, flap 0 deg" and moved["before, flap 0 deg"] > 0.1
    for slider in panel.speed[:4]:
        slider.value -= 3.0
    assert added() == before


def test_untouched_sliders_are_the_file_to_its_last_digit(panel):
    for modification, configuration, run in dict.fromkeys(
        (r["modification"], r["configuration"], r["run"]) for r in ROWS
    ):
        panel.run.value = (modification, configuration, run)
        legs = [float(r["ground_speed [kt]"]) for r in ROWS
                if (r["modification"], r["configuration"], r["run"]) == (modification, configuration, run)]  # fmt: skip
        assert [s.value for s in panel.speed[: len(legs)]] == legs
        assert [s.at_stall for s in panel.found.states] == [s.at_stall for s in panel.study.calibration.states]


def test_legs_that_say_nothing_are_refused_and_the_last_answer_stays(panel):
    old = panel.result.value
    panel.track[1].value = panel.track[0].value
    panel.track[2].value = panel.track[3].value = panel.track[0].value + 1.0
    assert "give no airspeed" in panel.error.value and panel.result.value
    panel.run.value = ("before", "clean", "1")
    assert panel.error.value == "" and panel.result.value != old


def test_a_seventh_leg_takes_part_without_a_slider(case_folder):
    file = case_folder / "airspeed_legs.csv"
    header, *rows = file.read_text().splitlines()
    first = [r for r in rows if r.startswith("before,clean,1,")]
    file.write_text("\n".join([header, *first, *first[:3], *rows[len(first) :]]) + "\n")
    panel = CalibrationPanel(open_study(case_folder))
    panel.run.value = ("before", "clean", "1")
    assert panel.error.value == ""
    off = re.search(r"class=.residuals.>([-\d. ]+)<", panel.result.value)[1]
    assert len(off.split()) == 7
    assert sum(row.layout.display != "none" for row in panel.rows) == 6


def test_what_the_legs_bought(panel):
    assert len(panel.bought) == 7 and all(a < 0.75 * b for a, b in panel.bought.values())
    assert panel.buys.value.count("±") == 14


def test_headings_instead_of_tracks(case_folder):
    file = case_folder / "airspeed_legs.csv"
    file.write_text(file.read_text().replace("track [deg]", "heading [deg]", 1))
    panel = CalibrationPanel(open_study(case_folder))
    assert panel.error.value == "" and panel.track[0].description == "heading [deg]" and shown(panel) > 40


def test_without_legs_the_example_can_be_moved_and_the_next_step_is_said(case_folder):
    (case_folder / "airspeed_legs.csv").unlink()
    panel = CalibrationPanel(open_study(case_folder))
    assert panel.error.value == "" and shown(panel) == 130.0
    assert "airspeed_legs.csv" in panel.buys.value and panel.correction.drawn == 0
