"""Everything an owner can get wrong in a case gives one message that says what to do, and never a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from cards import AIR, AIRCRAFT, CARD, STALLS, air, card, cell, rows
from waiting import PATIENCE

from aerolib.__main__ import main
from aerolib.case.folder import read_case
from aerolib.case.problems import CaseError
from aerolib.study import Study, open_study
from aerolib.study.stalls import warnings_of

CLONE = Path(__file__).resolve().parents[2]

AREA = 'area = "12 m2"'
POSITION = AIRCRAFT[AIRCRAFT.index("[[indicator.position]]") : AIRCRAFT.index("[[configuration]]")]
UNCLOSED = AIRCRAFT[: AIRCRAFT.index("[[modification]]")].count("\n") + 1
WRONG = {
    # what is there at all
    "no stalls.csv": ({"stalls": None}, [CARD, "missing", "aerolib new"]),
    "no aircraft.toml": ({"aircraft": None}, [AIR, "missing", "aerolib new"]),
    "empty stalls.csv": ({"stalls": ""}, [CARD, "row 1 is empty", "ias [kt]"]),
    "blank stalls.csv": ({"stalls": " \n\n"}, [CARD, "row 1 is empty", "ias [kt]"]),
    "only a byte-order mark": ({"stalls": b"\xef\xbb\xbf"}, [CARD, "row 1 is empty"]),
    "empty aircraft.toml": ({"aircraft": ""}, [AIR, "format = 1", "[wing]", "[weights]"]),
    # not text, not TOML, not CSV
    "UTF-16 stalls": ({"stalls": STALLS.encode("utf-16")}, [CARD, "UTF-16", "save it as UTF-8"]),
    "UTF-16 aircraft": ({"aircraft": AIRCRAFT.encode("utf-16")}, [AIR, "UTF-16", "save it as UTF-8"]),
    "UTF-16 without mark": ({"stalls": STALLS.encode("utf-16-le")}, [CARD, "not a text file"]),
    "binary stalls": ({"stalls": bytes(range(256)) * 9}, [CARD, "not a text file", "CSV"]),
    "binary aircraft": ({"aircraft": bytes(range(1, 256)) * 9}, [AIR, "line", "not UTF-8"]),
    "Latin-1": ({"stalls": STALLS.replace("P,,", "Jörg,,", 1).encode("latin-1")}, [CARD, "line 2", "CSV UTF-8"]),
    "broken TOML": (air(AREA, "area = 12 m2"), [AIR, "not valid TOML", "line 6", "quotation marks"]),
    "unclosed TOML table": (air("[[modification]]", "[[modification]"), [AIR, "not valid TOML", f"line {UNCLOSED},"]),
    "TOML key twice": (air(AREA, f"{AREA}\n{AREA}"), [AIR, "not valid TOML", "line 7"]),
    "TOML nested too deep": ({"aircraft": AIRCRAFT + "x = " + "[" * 5000}, [AIR, "too deep"]),
    "TOML number too long": (air("format = 1", "format = " + "1" * 5000), [AIR, "not valid TOML"]),
    "unclosed quote": (card("1.2,P,,", '1.2,P,"gust,'), [CARD, "row 4", "quotation mark", "close or remove it"]),
    "extra cells in the first row": (card("1.0,P,,", "1.0,P,a, b,,"), [CARD, "row 2", "17 cells", "15", "quote"]),
    "extra cells further down": (card("1.2,P,,", "1.2,P,a, b,,"), [CARD, "row 4", "17 cells", "15", "quote a text"]),
    "an extra cell in every row": (rows(lambda r: r + ","), [CARD, "row 2", "16 cells", "15"]),
    "decimal commas": (rows(lambda r: r.replace(".", ",")), [CARD, "row 2", "decimal points", "semicolon"]),
    "one decimal comma, quoted": (card("45.5", '"45,5"'), [CARD, "row 3", "'45,5'", "ias [kt]", "decimal points"]),
    # aircraft.toml
    "no format": (air("format = 1\n", ""), [AIR, "`format = 1` is missing"]),
    "another format": (air("format = 1\n", "format = 2\n"), [AIR, "format", "2", "write 1"]),
    "no [wing]": (air(f"[wing]\n{AREA}\n", ""), [AIR, "table [wing] is missing"]),
    "no area": (air(AREA, ""), [AIR, "[wing] area", "missing", "with its unit"]),
    "misspelt key": (air("area =", "aera ="), [AIR, "[wing] aera", "not known", "did you mean 'area'?"]),
    "misspelt table": (air("[wing]", "[wnig]"), [AIR, "[wnig]", "did you mean 'wing'?"]),
    "unknown key": (air(AREA, f'{AREA}\ncolour = "red"'), [AIR, "[wing] colour", "not known", "span", "sweep"]),
    "misspelt in position": (
        air("within =", "witin ="),
        [AIR, "[[indicator.position]] number 1, witin", "did you mean 'within'?"],
    ),
    "misspelt in configuration": (
        air('flap = "35 deg"', 'flpa = "35 deg"'),
        [AIR, "[[configuration]] number 2, flpa", "did you mean 'flap'?"],
    ),
    "no unit": (air('"12 m2"', '"12"'), [AIR, "[wing] area", "'12' has no unit", "12 m2"]),
    "wrong dimension": (air('"12 m2"', '"12 kg"'), [AIR, "[wing] area", "'kg' is a unit of mass", "m2"]),
    "misspelt unit": (air('"12 m2"', '"12 sq fet"'), [AIR, "[wing] area", "'sq fet'", "did you mean 'sq ft'?"]),
    "number, not text": (air('"12 m2"', "12.0"), [AIR, "[wing] area", "12.0 has no unit", "as text"]),
    "not a number": (air('"12 m2"', '"nan m2"'), [AIR, "[wing] area", "'nan m2'", "not a number"]),
    "decimal comma in TOML": (air('"12 m2"', '"12,5 m2"'), [AIR, "[wing] area", "'12,5'", "decimal point"]),
    "negative area": (air('"12 m2"', '"-12 m2"'), [AIR, "[wing] area", "-12", "2 to 100"]),
    "zero area": (air('"12 m2"', '"0 m2"'), [AIR, "[wing] area", "'0 m2'", "2 to 100"]),
    "area in square feet as m2": (air('"12 m2"', '"129 m2"'), [AIR, "[wing] area", "129", "is the unit right?"]),
    "infinite mass": (air('"600 kg"', '"1e999 kg"'), [AIR, "[weights] maximum", "1e999", "finite"]),
    "maximum below empty": (air('"600 kg"', '"300 kg"'), [AIR, "[weights] maximum", "more than empty"]),
    "a point of one number": (air('["40 kt", "42 kt"]', '["40 kt"]'), [AIR, "indicator.position", "points", "missing"]),
    "a point with a bare number": (air('"42 kt"', "42"), [AIR, "indicator.position", "points", "42 has no unit"]),
    "two points at one reading": (
        air('["60 kt", "61 kt"]', '["40 kt", "41 kt"]'),
        [AIR, "[[indicator.position]] number 1", "two values for one reading", "40 -> 42", "remove a point"],
    ),
    "calibrated speed that falls": (
        air('["60 kt", "61 kt"]', '["41 kt", "30 kt"]'),
        [AIR, "[[indicator.position]] number 1", "41 -> 30"],
    ),
    "a state calibrated twice": (
        air("[[configuration]]", POSITION + "[[configuration]]"),
        [AIR, "[[indicator.position]] number 2", "'before' with 'clean'", "twice"],
    ),
    "position of an unknown name": (
        air('configuration = "clean"', 'configuration = "claen"'),
        [AIR, "[[indicator.position]] number 1", "'claen'", "did you mean 'clean'?"],
    ),
    "a table that is a text": (
        {"aircraft": 'wing = "x"\n' + AIRCRAFT.replace(f"[wing]\n{AREA}\n", "")},
        [AIR, "'x' is not a table", "write [wing]"],
    ),
    "single brackets": (
        {"aircraft": AIRCRAFT[: AIRCRAFT.index("[[mod")] + '[modification]\nname = "before"\n'},
        [AIR, "[[modification]]", "two brackets"],
    ),
    "a date without quotes": (
        air('name = "before"', 'name = "before"\ndate = 2024-05-11'),
        [AIR, "[[modification]] number 1, date", "2024-05-11", "quotation marks"],
    ),
    "two configurations of one name": (
        air('name = "full flap"', 'name = "clean"'),
        [AIR, "[[configuration]] 'clean' is defined twice", "remove one"],
    ),
    "two modifications of one name": (
        air('name = "after"', 'name = "before"'),
        [AIR, "[[modification]] 'before' is defined twice"],
    ),
    "thrust beyond all weight": (
        {"aircraft": AIRCRAFT + '[[power.setting]]\nname = "idle"\nthrust = "20000 N"\n'},
        [AIR, "thrust", "is its unit right?"],
    ),
    # the header of stalls.csv
    "a required column is missing": (
        {"stalls": "\n".join(r.split(",", 1)[-1] for r in STALLS.strip().split("\n"))},
        [CARD, "row 1", "column `modification` is missing", "needed are"],
    ),
    "misspelt column": (card("configuration,", "configuraton,"), [CARD, "row 1", "'configuraton'", "'configuration'?"]),
    "unknown column": (card("pilot,", "shoe size,"), [CARD, "row 1", "'shoe size' is not known", "remarks"]),
    "column twice": (card("pilot,remarks", "pilot,pilot"), [CARD, "row 1", "'pilot' stands twice", "keep one"]),
    "column twice, unit too": (card("cg [m]", "ias [kt]"), [CARD, "row 1", "'ias [kt]' stands twice"]),
    "column twice, two units": (card("cg [m]", "ias [mph]"), [CARD, "row 1", "'ias' stands twice"]),
    "column without unit": (card("ias [kt]", "ias"), [CARD, "row 1", "'ias' has no unit", "`ias [kt]`"]),
    "column with empty unit": (card("ias [kt]", "ias []"), [CARD, "row 1", "'ias []' has no unit", "`ias [kt]`"]),
    "column in a wrong unit": (card("ias [kt]", "ias [kg]"), [CARD, "row 1", "'ias [kg]'", "mass", "kt, mph, km/h"]),
    "column in a misspelt unit": (card("ias [kt]", "ias [ktt]"), [CARD, "row 1", "'ktt'", "did you mean 'kt'?"]),
    "unit on a text column": (card("pilot", "pilot [kt]"), [CARD, "row 1", "'pilot [kt]' takes no unit"]),
    "a nameless column with content": (
        {"stalls": "\n".join(f"{r},{i or ''}" for i, r in enumerate(STALLS.strip().split("\n")))},
        [CARD, "row 1", "no name", "remove it"],
    ),
    # the cells of stalls.csv
    "unknown configuration": (card("full flap", "ful flap"), [CARD, "row 6", "'ful flap'", "'full flap'?"]),
    "unknown modification": (card("\nafter", "\naftr"), [CARD, "row 8", "'aftr'", "'after'?", "[[modification]]"]),
    "no configuration": (cell("configuration", ""), [CARD, "row 2", "no configuration", "'clean'"]),
    "unknown speed_kind": (cell("speed_kind", "minimun"), [CARD, "row 2", "'minimun'", "'minimum'?", "steady"]),
    "unknown ended": (cell("ended", "brake"), [CARD, "row 2", "'brake'", "'break'?", "early"]),
    "weight in lb under kg": (
        {"stalls": STALLS.replace(",550,", ",1213,").replace(",548,", ",1208,")},
        [CARD, "row 2", "row 3", "1213 kg", "weight [kg]", "400 to 600 kg", "is the column in lb?"],
    ),
    "weight in kg under lb": (card("weight [kg]", "weight [lb]"), [CARD, "row 2", "249 kg", "weight [lb]", "in kg?"]),
    "negative weight": (cell("weight [kg]", "-550"), [CARD, "row 2", "-550", "weight [kg]", "1 to 10000"]),
    "weight of zero": (cell("weight [kg]", "0"), [CARD, "row 2", "weight [kg]", "1 to 10000"]),
    "negative entry rate": (cell("entry_rate [kt/s]", "-3"), [CARD, "row 2", "-3", "entry_rate [kt/s]", "0 to 9.7"]),
    "absurd altitude": (cell("pressure_altitude [ft]", "30000"), [CARD, "row 2", "30000", "19685 ft", "another unit?"]),
    "temperature in deg F under deg C": (
        cell("temperature [deg C]", "59"),
        [CARD, "row 2", "59", "temperature [deg C]", "another unit?"],
    ),
    "absurd cg": (cell("cg [m]", "99999"), [CARD, "row 2", "99999", "cg [m]", "-50 to 50"]),
    "empty ias": (cell("ias [kt]", ""), [CARD, "row 2", "no ias", "`<35`", "left_out"]),
    "a bare bound": (cell("ias [kt]", "<"), [CARD, "row 2", "no ias", "`<35`"]),
    "a negative bound": (cell("ias [kt]", "<-3"), [CARD, "row 2", "-3", "another unit?"]),
    "negative ias": (cell("ias [kt]", "-44"), [CARD, "row 2", "-44", "ias [kt]", "another unit?"]),
    "ias of zero": (cell("ias [kt]", "0"), [CARD, "row 2", "0 in column `ias [kt]`", "another unit?"]),
    "ias beyond any": (cell("ias [kt]", "1e300"), [CARD, "row 2", "1e300", "another unit?"]),
    "ias of nearly nothing": (cell("ias [kt]", "1e-300"), [CARD, "row 2", "1e-300", "another unit?"]),
    "unit in the cell": (cell("ias [kt]", "44 kt"), [CARD, "row 2", "'44 kt'", "the unit belongs in the header"]),
}  # fmt: skip
for text in ("abc", "nan", "NaN", "inf", "-inf", "1e999", "1_0", "0x1F", "4 4", ">35", "١٢", "=A1", "#DIV/0!"):
    for column in ("ias [kt]", "weight [kg]", "entry_rate [kt/s]"):
        WRONG[f"{text} in {column}"] = (
            cell(column, text), [CARD, "row 2", f"'{text}'", f"`{column}`", "not a finite number"],
        )  # fmt: skip


def one_clear_message(folder, words):
    """The message of a case that cannot be used, from the library."""
    with pytest.raises(CaseError) as caught:
        Study(read_case(folder)).reduction
    message = str(caught.value)
    missing = [w for w in words if w not in message]
    assert not missing, f"{missing} not in: {message}"
    assert message.count("\n") < 8
    return message


@pytest.mark.parametrize("name", WRONG)
def test_wrong_input_gives_one_clear_message(name, small, capsys, monkeypatch, tmp_path):
    changes, words = WRONG[name]
    folder = small(**changes)
    message = one_clear_message(folder, words)
    monkeypatch.chdir(tmp_path)
    assert main(["report", str(folder)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert message in err
    assert "Traceback" not in err
    assert not (tmp_path / f"report-{folder.name}").exists()


@pytest.mark.parametrize("what", ["nothing there", "a file"])
def test_not_a_folder(what, tmp_path, capsys):
    place = tmp_path / "elsewhere"
    if what == "a file":
        place.write_text("x")
    words = ["does not exist" if what == "nothing there" else "is a file, not a folder", "elsewhere", "aerolib new"]
    message = one_clear_message(place, words)
    assert main(["report", str(place)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert message in err


@pytest.mark.parametrize("name", ["broken TOML", "unclosed quote", "empty ias", "binary stalls"])
def test_the_command_itself(name, small, tmp_path):
    changes, words = WRONG[name]
    folder = small(**changes)
    done = subprocess.run(
        [sys.executable, "-m", "aerolib", "report", str(folder)], cwd=tmp_path, text=True, capture_output=True,
        timeout=PATIENCE, env={**os.environ, "PYTHONPATH": str(CLONE)},
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert all(w in done.stderr for w in words)


def test_many_problems_are_cut_short_and_counted(small):
    folder = small(stalls=STALLS.replace("minimum", "minimun").replace(",0.50,", ",x,"))
    with pytest.raises(CaseError) as caught:
        read_case(folder)
    assert len(caught.value.problems) == 11  # one for the word, one for each of ten cells
    assert "... and 5 more" in str(caught.value)


def test_keys_once_asked_for_are_taken_and_named(write_case):
    """An old file may still have them: a note says that nothing needs them, and the answer is the same."""
    old = (
        AIRCRAFT.replace(AREA, f'{AREA}\ntip_shape = "rounded"\ndihedral = "1 deg"') + '[gear]\nwheel_track = "1.9 m"\n'
    )
    study, plain = open_study(write_case(old, STALLS, "old")), open_study(write_case(AIRCRAFT, STALLS, "plain"))
    told = [w for w in warnings_of(study) if "not used" in w]
    assert len(told) == 1 and all(key in told[0] for key in ("[wing] tip_shape", "dihedral", "[gear] wheel_track"))
    assert study.reduction.items[0].clmax.value == plain.reduction.items[0].clmax.value
    assert not [w for w in warnings_of(plain) if "not used" in w]
