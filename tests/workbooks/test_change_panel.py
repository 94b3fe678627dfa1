"""The before-and-after panel without a browser."""

import re
from pathlib import Path

import pytest

from aerolib.show.comparing import comparison_lines
from aerolib.show.panels import ChangePanel
from aerolib.show.render import words
from aerolib.study import open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def panel():
    return ChangePanel(open_study(DEMO))


def test_it_says_what_compare_says(panel):
    for line in comparison_lines(open_study(DEMO).comparison):
        assert words(line) in panel.answer.value


def test_swapping_the_states_turns_the_sign(panel):
    gain = float(re.search(r"clean, idle: CLmax ([+-]\d+) %", panel.answer.value)[1])
    drawn = panel.picture.drawn
    panel.before.value, panel.after.value = "after", "before"
    loss = float(re.search(r"clean, idle: CLmax ([+-]\d+) %", panel.answer.value)[1])
    assert gain > 0 > loss and (1 + gain / 100) * (1 + loss / 100) == pytest.approx(1.0, abs=0.01)
    assert panel.picture.drawn == drawn + 1


def test_one_state_against_itself_is_refused_and_the_answer_kept(panel):
    old = panel.answer.value
    panel.after.value = "before"
    assert "two different modifications" in panel.error.value
    assert panel.answer.value == old


def test_leaving_out_a_flight_leaves_it_out(panel):
    panel.leave_out.value = ("after", "A1")
    one = panel.answer.value
    assert "'after' is one flight".replace("'", "&#x27;") in one
    panel.leave_out.value = None
    assert panel.answer.value != one and "is one flight" not in panel.answer.value
