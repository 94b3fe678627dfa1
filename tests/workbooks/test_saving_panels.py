"""Save in the workbook: nothing that could not be read back without a second yes, and the good card stays."""

from __future__ import annotations

import pytest

from aerolib.case.problems import CaseError
from aerolib.show.panels import StallsPanel
from aerolib.show.panels.base import Panel
from aerolib.study import open_study

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def panel(case_folder):
    """The panel of a case that may be written to."""
    return StallsPanel(open_study(case_folder))


def edit(panel, row, column, value):
    """What the grid does when a cell is edited."""
    panel._edited({"row": row, "column": column, "value": value})


@pytest.mark.parametrize("wrong", ["abc", "", "-45"])
def test_a_slip_and_save_pressed_twice_costs_nothing(panel, case_folder, wrong):
    good = (case_folder / "stalls.csv").read_bytes()
    edit(panel, 0, "ias [kt]", wrong)
    for _ in range(3):
        panel.save.click()
        assert "nothing was saved" in panel.error.value and "row 2" in panel.error.value
        assert panel.anyway.layout.display != "none"
    assert (case_folder / "stalls.csv").read_bytes() == good
    assert not list(case_folder.glob("*.bak"))
    panel.undo.click()
    assert panel.anyway.layout.display == "none"
    panel.save.click()
    assert panel.error.value == ""
    assert (case_folder / "stalls.csv").read_bytes() == good


def test_a_second_explicit_yes_saves_it_and_keeps_the_good_card(panel, case_folder):
    good = (case_folder / "stalls.csv").read_bytes()
    edit(panel, 0, "ias [kt]", "abc")
    panel.save.click()
    panel.anyway.click()
    assert panel.error.value == "" and panel.anyway.layout.display == "none"
    assert b"abc" in (case_folder / "stalls.csv").read_bytes()
    assert (case_folder / "stalls.csv.001.bak").read_bytes() == good
    with pytest.raises(CaseError, match="abc"):
        open_study(case_folder)
    edit(panel, 0, "ias [kt]", "44")
    panel.save.click()
    assert panel.error.value == ""
    assert len(open_study(case_folder).reduction.items)
    assert (case_folder / "stalls.csv.001.bak").read_bytes() == good


def test_save_as_waits_too(panel, tmp_path):
    edit(panel, 0, "ias [kt]", "abc")
    panel.folder.value = str(tmp_path / "new")
    panel.save_as.click()
    assert "nothing was saved" in panel.error.value
    assert not (tmp_path / "new").exists()
    panel.anyway.click()
    assert panel.error.value == ""
    assert "abc" in (tmp_path / "new" / "stalls.csv").read_text()


def test_an_empty_card_is_shown_and_can_be_filled(case_folder):
    path = case_folder / "stalls.csv"
    path.write_text(path.read_text().split("\n")[0] + "\n")
    panel = StallsPanel(open_study(case_folder))
    assert "holds no stalls yet" in panel.error.value
    panel.add.click()
    row = {"modification": "before", "configuration": "clean", "ias [kt]": "44", "ended": "break", "left_out": ""}
    for column, value in row.items():
        edit(panel, 0, column, value)
    panel.save.click()
    assert panel.error.value == ""
    assert len(open_study(case_folder).stalls.row) == 1


@pytest.mark.parametrize("error", [CaseError("`stalls.csv` row 3: this"), ZeroDivisionError("a value")])
def test_a_panel_that_cannot_be_made_shows_why(error, monkeypatch, tmp_path, case_folder):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))

    def broken(*_):
        raise error

    monkeypatch.setattr(StallsPanel, "_update", broken)
    made = StallsPanel(open_study(case_folder))
    assert made.error in made.children
    assert ("row 3" if isinstance(error, CaseError) else "fault of the program") in made.error.value


def test_a_panel_of_one_s_own_shows_why_too(monkeypatch, tmp_path):
    """The guard is the base's: no panel has to think of it."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))

    class Own(Panel):
        def __init__(self, case):
            super().__init__()
            self.assemble(case.title)

    assert "fault of the program" in Own(None).error.value
