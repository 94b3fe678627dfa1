"""A report is whole or absent, each part of it stands alone, and no command ends in a traceback."""

from __future__ import annotations

import importlib
import json
import os
import subprocess
import sys

import jsonschema
import pytest
from schemas import report_schema

from aerolib.__main__ import main
from aerolib.case.problems import CaseError
from aerolib.show.fault import fault_text, words_of

SHEETS = {f"marking-sheet-{side}-{paper}.pdf" for side in ("left", "right") for paper in ("a4", "letter")}
AIRCRAFT = """format = 1
name = "Wren, invented"
invented = true
[wing]
area = "14.2 m2"
span = "10.0 m"
chord_root = "1.5 m"
chord_tip = "1.34 m"
section = "NACA 4412"
flap_kind = "slotted"
flap_chord = "0.35 m"
flap_inner = "0.6 m"
flap_outer = "2.6 m"
[weights]
empty = "400 kg"
maximum = "620 kg"
[[configuration]]
name = "clean"
flap = "0 deg"
[[configuration]]
name = "down"
flap = "30 deg"
[[modification]]
name = "before"
"""
DEVICE = """[[device]]
name = "vanes"
kind = "vane pair"
pitch = "0.1 m"
height = "9 mm"
length = "30 mm"
angle = "18 deg"
chord_station = "8 %"
span_inner = "0.9 m"
span_outer = "4.5 m"
"""
STALLS = "modification,configuration,flight,ias [kt],weight [kg],power,ended,speed_kind\n" + "".join(
    f"before,{c},{flight},{ias},550,idle,break,minimum\n"
    for c, speed in (("clean", 42.0), ("down", 38.0))
    for flight in (1, 2)
    for ias in (speed, speed + 0.5)
)


@pytest.fixture
def wren(write_case, tmp_path, monkeypatch):
    """A small case, from a folder of its own; what is said of faults goes nowhere else."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    (tmp_path / "cwd").mkdir()
    monkeypatch.chdir(tmp_path / "cwd")
    return lambda aircraft=AIRCRAFT, stalls=STALLS, name="wren": str(write_case(aircraft, stalls, name))


@pytest.fixture
def short(monkeypatch):
    """The stalls and one section more, its sheets not drawn, and no Monte Carlo."""
    monkeypatch.setattr("aerolib.show.sections.ORDER", ("clmax", "plan", "layout"))
    monkeypatch.setattr("aerolib.study.stalls.DRAWS", 0)
    for sheet in ("sheet_of", "card_of"):
        monkeypatch.setattr(f"aerolib.show.sections.layout.{sheet}", lambda *_: b"%PDF")


def names(folder):
    """Everything in a folder, hidden files included."""
    return {p.name for p in folder.iterdir()}


def test_sheets_of_a_device_taken_out_are_gone(wren, short, tmp_path, capsys):
    out = tmp_path / "cwd" / "out"
    assert main(["report", wren(AIRCRAFT + DEVICE), "--out", "out"]) == 0
    assert names(out) >= {*SHEETS, "preflight-count.pdf", "report.html"}
    assert set(json.loads((out / "report.json").read_text())["files"]) == names(out)
    (out / "notes.txt").write_text("mine")
    capsys.readouterr()
    assert main(["report", wren(name="without"), "--out", "out"]) == 0
    assert not names(out) & {*SHEETS, "preflight-count.pdf"}
    assert "notes.txt" in capsys.readouterr().err
    assert (out / "notes.txt").read_text() == "mine"
    assert {*json.loads((out / "report.json").read_text())["files"], "notes.txt"} == names(out)


@pytest.mark.parametrize("held", ["report.html", "report.json", "letter.txt"])
def test_a_folder_of_somebody_s_own_is_refused(held, wren, tmp_path, capsys):
    mine = tmp_path / "cwd" / "mine"
    mine.mkdir()
    (mine / held).write_text("[1, 2]")
    assert main(["report", wren(), "--out", "mine"]) == 2
    assert f"`{held}`" in capsys.readouterr().err
    assert {n: (mine / n).read_text() for n in names(mine)} == {held: "[1, 2]"}


@pytest.mark.parametrize("out", [".", "..", "/"])
def test_the_folder_one_stands_in_is_refused(out, wren, tmp_path, capsys):
    (tmp_path / "cwd" / "report.html").write_text("mine")
    assert main(["report", wren(), "--out", out]) == 2
    assert "--out" in capsys.readouterr().err
    assert names(tmp_path / "cwd") == {"report.html"}


def test_a_name_no_disk_takes_is_said(wren, tmp_path, capsys):
    assert main(["report", wren(), "--out", "x" * 300]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "--out" in err
    assert "Traceback" not in err
    assert names(tmp_path / "cwd") == set()


def test_a_report_of_version_0_2_is_replaced_and_its_other_sheets_named(wren, short, tmp_path, capsys):
    """It did not say what it had written, so what the new one does not write stays and is named."""
    out = tmp_path / "cwd" / "out"
    out.mkdir()
    for name in ("report.html", "reduced-stalls.csv", "marking-sheet-left-a4.pdf"):
        (out / name).write_text("old")
    (out / "report.json").write_text(json.dumps({"format": 1, "aerolib": "0.2.0", "inputs_sha256": "0" * 64}))
    assert main(["report", wren(), "--out", "out"]) == 0
    assert "marking-sheet-left-a4.pdf" in capsys.readouterr().err
    assert (out / "marking-sheet-left-a4.pdf").read_text() == "old"
    assert (out / "report.html").read_text() != "old"


# --- one door -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("angle", ["60 deg", "-10 deg"])
def test_an_impossible_flap_costs_its_own_section_only(angle, wren, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("aerolib.study.stalls.DRAWS", 0)
    case = wren(AIRCRAFT.replace('"30 deg"', f'"{angle}"'))
    status = main(["report", case, "--out", "out", "--json"])
    out, err = capsys.readouterr()
    assert "Traceback" not in err
    if status == 2:  # refused where the file is read: then by name
        assert "flap" in err and "`aircraft.toml`" in err
        return
    assert status == 0
    data = json.loads(out)
    jsonschema.Draft202012Validator(report_schema()).validate(data)
    assert {i["configuration"]: i["breaks"] for i in data["clmax"]} == {"clean": 4, "down": 4}
    page = (tmp_path / "cwd" / "out" / "report.html").read_text()
    assert "`aircraft.toml` [[configuration]] &#x27;down&#x27;, flap" in page or "[wing] flap" in page


@pytest.mark.parametrize("section", ["predicted", "airspeed"])
def test_a_defect_in_one_section_leaves_the_others(section, wren, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("aerolib.study.stalls.DRAWS", 0)
    module = importlib.import_module(f"aerolib.show.sections.{section}")
    made = "finding" if hasattr(module, "finding") else "section"
    monkeypatch.setattr(module, made, lambda study: {}["Wren, of a secret name"])
    assert main(["report", wren(), "--out", "out", "--json"]) == 1
    out, err = capsys.readouterr()
    data = json.loads(out)
    jsonschema.Draft202012Validator(report_schema()).validate(data)
    assert data[section] is None
    assert data["clmax"][0]["value"] > 0.0
    assert any("fault of the program" in n for n in data["notes"])
    assert "fault of the program" in err and "Traceback" not in err
    assert "fault of the program" in (tmp_path / "cwd" / "out" / "report.html").read_text()
    (written,) = (tmp_path / "state").rglob("fault-*.txt")
    text = written.read_text()
    assert str(written) in err and "KeyError" in text and "test_report_whole" in text
    assert "secret" not in text and str(tmp_path) not in text


def test_a_picture_that_cannot_be_drawn_costs_no_report(wren, short, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("aerolib.show.sections.clmax.stalls_picture", lambda _: 1 / 0)
    assert main(["report", wren(), "--out", "out"]) == 1
    assert "CLmax" in capsys.readouterr().out
    assert "The picture of the stalls: not computed" in (tmp_path / "cwd" / "out" / "report.html").read_text()


@pytest.mark.parametrize("command", [["new", "mine"], ["report", "."], ["open", "."]])
def test_a_defect_in_a_command_is_a_sentence_and_1(command, wren, tmp_path, capsys, monkeypatch):
    def broken(*_, **__):
        raise TypeError("a value of the owner: 48.5 kt")

    monkeypatch.setattr("aerolib.case.folder.parse_aircraft", broken)
    monkeypatch.setattr("aerolib.case.template.aircraft_template", broken)
    case = wren()
    monkeypatch.chdir(tmp_path / "cwd")
    assert main([c.replace(".", case) for c in command]) == 1
    out, err = capsys.readouterr()
    assert out == "" and "fault of the program" in err and "Traceback" not in err
    assert "48.5" not in err + next((tmp_path / "state").rglob("fault-*.txt")).read_text()


@pytest.mark.parametrize("text, ours", [("x = [][1]", False), ("raise ValueError('aspect ratio 300')", True),
                                        ("float('x')", False), ("import math; math.sqrt(-1)", False)])  # fmt: skip
def test_what_the_library_refuses_is_told_from_what_breaks_in_it(text, ours, monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    with pytest.raises((ValueError, IndexError)) as caught:
        exec(text, {"__name__": "aerolib.physics.invented"})
    assert ("fault of the program" in words_of(caught.value)) == (not ours)
    assert "aspect ratio" not in fault_text(caught.value)


def test_a_fault_that_cannot_be_written_down_is_still_said(monkeypatch, tmp_path):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "file"))
    assert "fault of the program" in words_of(KeyError("x"))
    assert words_of(CaseError("the sentence")) == "the sentence"


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() != 0, reason="one user becomes another")
def test_a_case_folder_without_permission_is_said(wren):
    case = wren()
    os.chmod(case, 0)
    code = (  # an ordinary user, once everything is imported
        "import os, sys; from aerolib.study import open_study; import aerolib.case.stalls, pandas;"
        "os.setuid(65534)\n"
        "try: open_study(sys.argv[1])\n"
        "except Exception as e: print(type(e).__name__, e)"
    )
    done = subprocess.run([sys.executable, "-c", code, case], capture_output=True, text=True, timeout=120)
    assert done.stdout.startswith("CaseError"), done.stderr
    assert "Permission denied" in done.stdout
