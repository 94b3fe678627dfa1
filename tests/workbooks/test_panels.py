"""Panels without a browser: handlers do what they say, and say what they cannot do."""

import math
import shutil
from pathlib import Path

import pytest

from aerolib.show.panels import AnglesPanel, GlancePanel, StallsPanel
from aerolib.show.render import cells
from aerolib.show.sections.clmax import result_table
from aerolib.study import open_study
from aerolib.teach.byhand import ByHandPanel

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def own_case(tmp_path):
    folder = tmp_path / "mine"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("make.py", "truth.json", "__pycache__"))
    return folder


@pytest.fixture
def panel(own_case):
    return StallsPanel(open_study(own_case))


def edit(panel, row, column, value):
    """What the browser sends when a cell is typed into."""
    place = list(panel.frame.columns).index(column)
    message = {"event_type": "cell-changed", "row": row, "value": value, "column_index": place}
    panel.grid._DataGrid__handle_custom_msg(None, message, [])


def test_an_edit_reaches_the_result_and_only_what_changed_is_drawn(panel):
    before = panel.result["before", "clean"].clmax.value
    drawn = panel.stalls.drawn
    edit(panel, 0, "ias [kt]", "44")
    assert panel.frame.loc[2, "ias [kt]"] == "44"
    assert panel.result["before", "clean"].clmax.value < before
    assert panel.stalls.drawn == drawn + 1
    edit(panel, 0, "remarks", "gusty")  # a remark changes no picture
    assert panel.stalls.drawn == drawn + 1
    panel.which.value = 2  # another budget, the same stalls
    assert panel.stalls.drawn == drawn + 1


@pytest.mark.parametrize("value", ["abc", "-3", "", "12,5", "1e400"])
def test_a_bad_value_keeps_the_table_and_says_why(panel, value):
    old = panel.answer.value
    edit(panel, 0, "ias [kt]", value)
    assert "row 2" in panel.error.value and "ias" in panel.error.value
    assert panel.frame.loc[2, "ias [kt]"] == value
    assert panel.answer.value == old and "aerolib-stale" in panel.answer._dom_classes
    panel.undo.click()
    assert panel.error.value == "" and "aerolib-stale" not in panel.answer._dom_classes


def test_a_speed_in_the_wrong_unit_is_named(panel):
    edit(panel, 0, "ias [kt]", "21")  # 41 kt, the true reading, in m/s
    assert (
        panel.error.value == "" and len(panel.result.points.cl) == len(panel.frame) - 2
    )  # one left out, one set aside
    assert "row 2" in panel.notes.value and "m/s" in panel.notes.value and "set aside" in panel.notes.value


def test_check_by_drawing_shows_both_and_is_cleared_by_an_edit(panel):
    panel.draw.click()
    assert panel.error.value == "" and panel.drawn.value.count("<tr>") == 1 + 7  # seven groups with breaks
    assert "agree" in panel.drawn.value
    edit(panel, 0, "ias [kt]", "42")
    assert panel.drawn.value == ""


def test_add_remove_undo(panel):
    rows = len(panel.frame)
    panel.add.click()
    assert len(panel.frame) == rows + 1 and list(panel.frame.index) == list(range(2, rows + 3))
    panel.grid.select(row1=3, column1=0, row2=3, column2=0, clear_mode="all")
    gone = panel.frame.iloc[3].tolist()
    panel.remove.click()
    assert len(panel.frame) == rows
    panel.undo.click()
    assert panel.frame.iloc[3].tolist() == gone
    panel.undo.click()
    assert len(panel.frame) == rows
    panel.undo.click()
    assert "nothing to undo" in panel.status.value


def test_removing_without_a_selection_says_what_to_do(panel):
    panel.remove.click()
    assert "select" in panel.error.value


def test_save_writes_the_file_with_a_backup_and_reads_back(panel, own_case):
    old = (own_case / "stalls.csv").read_text()
    edit(panel, 0, "ias [kt]", "42")
    assert (own_case / "stalls.csv").read_text() == old  # nothing is written before it is asked for
    panel.save.click()
    assert panel.error.value == ""
    assert (own_case / "stalls.csv.001.bak").read_text() == old
    new, was = (t.splitlines() for t in ((own_case / "stalls.csv").read_text(), old))
    assert [i for i, (a, b) in enumerate(zip(new, was, strict=True)) if a != b] == [1]
    edit(panel, 1, "ias [kt]", "42")
    panel.save.click()  # the second save knows what the first one wrote
    assert panel.error.value == ""
    assert open_study(own_case).stalls.frame.iloc[1]["ias [kt]"] == "42"


def test_save_is_refused_when_somebody_else_wrote_the_file(panel, own_case):
    edit(panel, 0, "ias [kt]", "42")
    theirs = (own_case / "stalls.csv").read_text().replace("gusty", "") + "\n"
    (own_case / "stalls.csv").write_text(theirs)
    panel.save.click()
    assert "changed on disk" in panel.error.value
    assert (own_case / "stalls.csv").read_text() == theirs


def test_the_demonstration_is_read_only_and_save_as_copies_it(tmp_path):
    panel = StallsPanel(open_study(DEMO))
    before = (DEMO / "stalls.csv").read_bytes()
    panel.save.click()
    assert "read-only" in panel.error.value
    panel.folder.value = str(tmp_path / "copy")
    panel.save_as.click()
    assert panel.error.value == ""
    assert open_study(tmp_path / "copy").name == open_study(DEMO).name
    panel.save_as.click()
    assert "holds something" in panel.error.value
    assert (DEMO / "stalls.csv").read_bytes() == before


def test_angles_by_the_formula():
    case = open_study(DEMO)
    panel = AnglesPanel(case)
    panel.pitch.value, panel.path.value, panel.speed.value = 7.5, -4.5, 60.0
    assert 'class="alpha">12.0 deg' in panel.result.value
    v = 60.0 * 1852 / 3600
    cl = 620 * 9.80665 * math.cos(math.radians(4.5)) / (0.5 * 1.225 * v**2 * case.aircraft.wing.area)
    assert f'class="cl">{cl:.3f}<' in panel.result.value


def by_hand(panel, **change):
    """The coefficient by the formula of the question, numbers read off the panel."""
    given = {"n": panel.n, "v": panel.cas, "w": panel.weight * 9.80665, **change}
    return given["n"] * given["w"] / (0.5 * 1.225 * given["v"] ** 2 * panel.area)


def test_by_hand_right_and_the_usual_slips():
    panel = ByHandPanel(open_study(DEMO))
    panel.answer.value = f"{by_hand(panel):.2f}"
    assert "Right" in panel.feedback.value
    for change, words in (({"n": 1.0}, "load factor 1"), ({"w": panel.weight}, "kg instead of newtons"),
                          ({"v": panel.cas / 0.514444}, "knots left"), ({"v": panel.ias}, "indicated")):  # fmt: skip
        panel.answer.value = f"{by_hand(panel, **change):.4g}"
        assert words in panel.feedback.value, panel.feedback.value
    panel.answer.value = "one"
    assert "not a finite number" in panel.feedback.value


def test_glance_shows_what_the_reduction_says():
    case = open_study(DEMO)
    panel = GlancePanel(case)
    for row in cells(result_table(case.reduction))[1:]:
        assert f"<td>{row[3]}</td>" in panel.result.value


def test_a_handler_that_breaks_is_seen(panel, monkeypatch, caplog, tmp_path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setattr("aerolib.show.panels.stalls.budget_picture", lambda item: 1 / 0)
    with caplog.at_level("DEBUG"):
        panel.which.value = 1
    assert "ZeroDivisionError" in panel.error.value and "fault of the program" in panel.error.value
    assert "_draw_budget" in caplog.text
