"""A case without a stall: predictions, layout and what to print are there before anything is flown or bought."""

import importlib
import json

import jsonschema
import pytest
from schemas import report_schema

from aerolib.__main__ import main
from aerolib.case.folder import read_case
from aerolib.case.problems import CaseError
from aerolib.case.template import new_case
from aerolib.study import open_study


@pytest.fixture
def unflown(case_folder):
    """The demonstration's airplane before its first stall."""
    card = case_folder / "stalls.csv"
    card.write_text(card.read_text().split("\n")[0] + "\n")
    return case_folder


def test_report_before_flying(unflown, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["report", str(unflown), "--out", "out"]) == 0
    assert "No stall is on the card yet" in capsys.readouterr().out
    names = {p.name for p in (tmp_path / "out").iterdir()}
    assert {"report.html", "report.json", "tuft-plan.pdf", "marking-sheet-left-a4.pdf"} <= names
    data = json.loads((tmp_path / "out" / "report.json").read_text())
    jsonschema.Draft202012Validator(report_schema()).validate(data)
    assert data["clmax"] == [] and data["predicted"] and data["flow_control"] and data["layout"]
    page = (tmp_path / "out" / "report.html").read_text()
    assert "What the wing should give" in page and "What the devices should do" in page and "invented" in page
    assert main(["report", str(unflown), "--out", "again", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == data


def test_a_new_case_is_told_what_is_missing(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    new_case(tmp_path / "mine")
    assert main(["report", "mine"]) == 0
    assert "No stall" in capsys.readouterr().out
    assert "span" in (tmp_path / "report-mine" / "report.html").read_text()


@pytest.mark.parametrize(
    "name", ["wing", "flaps", "flow", "layout", "landing", "tail", "calibration", "plan", "kneeboard"]
)
def test_panels_open_before_flying(unflown, name):
    panel = importlib.import_module(f"aerolib.show.panels.{name}")
    one = {"flaps": "flap"}.get(name, name)
    made = (getattr(panel, f"{one.capitalize()}Panel", None) or getattr(panel, f"{one}_panel"))(open_study(unflown))
    assert made.error.value == ""


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
@pytest.mark.parametrize("name", ["stalls", "change"])
def test_panels_that_need_stalls_say_so(unflown, name):
    module = importlib.import_module(f"aerolib.show.panels.{name}")
    made = getattr(module, f"{name.capitalize()}Panel")(open_study(unflown))
    assert "holds no stalls yet" in made.error.value
    assert made.error in made.children


def test_reading_is_as_strict_as_before_where_stalls_are_needed(unflown):
    with pytest.raises(CaseError, match="holds no stalls yet"):
        read_case(unflown)
    with pytest.raises(CaseError, match="holds no stalls yet"):
        open_study(unflown).reduction
