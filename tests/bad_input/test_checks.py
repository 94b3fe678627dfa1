"""Everything an owner can get wrong in `checks.csv` gives one message that says where, what and what to do."""

from __future__ import annotations

import pytest
from cards import AIRCRAFT

from aerolib.case.aircraft import parse_aircraft
from aerolib.case.checks import parse_checks
from aerolib.case.problems import CaseError
from aerolib.study import open_study

FILE = "`checks.csv`"
CHECKS = """\
modification,configuration,quantity,value,no_worse_than,weight [lb],pressure_altitude [ft],temperature [deg C],power,\
flight,remarks
before,clean,speed at fixed rpm,96 kt,2 kt,1200,3000,9,2400 rpm,1,
before,clean,speed at fixed rpm,97 kt,,1190,3000,9,2400 rpm,2,
after,clean,speed at fixed rpm,95 kt,,1200,3000,9,2400 rpm,3,
after,clean,speed at fixed rpm,95 kt,,1195,3000,9,2400 rpm,4,
before,clean,roll time,2.8 s,,,,,idle,1,
after,clean,roll time,2.5 s,,,,,idle,3,
before,clean,trim position,12 mm,,,,,idle,1,
after,clean,trim position,14 mm,,,,,idle,3,
"""
HEADER = CHECKS.split("\n")[0]


@pytest.fixture(scope="module")
def aircraft():
    return parse_aircraft(AIRCRAFT.encode())


def spot(old, new, count=1):
    assert old in CHECKS
    return CHECKS.replace(old, new, count)


WRONG = {
    "no unit": (spot("96 kt", "96"), [FILE, "row 2", "speed at fixed rpm", "'96' has no unit", '"96 kt"']),
    "no unit, several kinds": (spot("12 mm", "12"), ["row 8", "'12' has no unit", '"12 %"', '"12 deg"', '"12 mm"']),
    "unit not known": (spot("2.8 s", "2.8 secs"), ["row 6", "'2.8 secs'", "'secs' is not known", "s, min"]),
    "unit of another kind": (spot("96 kt", "96 s"), ["row 2", "'s' is a unit of time", "needed is a speed", "kt"]),
    "not a force unit": (spot("trim position,12 mm", "stick force,2 kgf"), ["row 8", "'kgf'", "N, lbf, daN"]),
    "unit of none of its kinds": (spot("12 mm", "12 kt"), ["row 8", "'12 kt'", '"12 %"', '"12 deg"', '"12 mm"']),
    "no value": (spot("96 kt", ""), ["row 2", "no value", '"96 kt"', "remove the row"]),
    "words": (spot("96 kt", "about 96 kt"), ["row 2", "'about 96 kt' is not a number with a unit"]),
    "a bound": (spot("96 kt", "<35 kt"), ["row 2", "'<35 kt' is not a number"]),
    "infinite": (spot("96 kt", "inf kt"), ["row 2", "'inf kt' is not a number"]),
    "not a number": (spot("96 kt", "nan kt"), ["row 2", "'nan kt' is not a number"]),
    "too large for a float": (spot("96 kt", "1e999 kt"), ["row 2", "'1e999' is not a finite number"]),
    "decimal comma": (spot("2.8 s", '"2,8 s"'), ["row 6", "'2,8' has a comma", "decimal point"]),
    "minutes and seconds": (spot("2.8 s", "0:02.8"), ["row 6", "'0:02.8'", "time"]),
    "negative speed": (spot("96 kt", "-96 kt"), ["row 2", "'-96 kt' is -96 kt", "5 to 400 kt", "sign"]),
    "another unit": (spot("96 kt", "960 kt"), ["row 2", "960 kt", "5 to 400 kt"]),
    "unit in the header": (spot("value,", "value [kt],"), ["row 1", "`value`", "takes no unit"]),
    "quantity misspelt": (spot("roll time", "rol time"), ["row 6", "'rol time' is not one of", "mean 'roll time'"]),
    "quantity unknown": (spot("roll time", "noise"), ["row 6", "'noise' is not one of", "speed at fixed rpm", "trim"]),
    "no quantity": (spot("roll time", ""), ["row 6", "no quantity", "write its name"]),
    "modification": (spot("after,clean,roll", "aftr,clean,roll"), ["row 7", "modification 'aftr'", "mean 'after'"]),
    "no modification": (spot("before,clean,roll", ",clean,roll"), ["row 6", "no modification", "'before'"]),
    "configuration": (spot("clean,roll", "claen,roll"), ["row 6", "'claen'", "'clean'", "[[configuration]]"]),
    "mixed dimensions": (spot("14 mm", "14 deg"), ["row 9", "'14 deg' is of kind angle",
                         "row 8", "'12 mm'", "one kind of unit"]),
    "climb as rate and time": (
        CHECKS + "before,clean,timed climb,600 ft/min,,,,,full,1,\nafter,clean,timed climb,95 s,,,,,full,3,\n",
        ["row 11", "'95 s'", "row 10", "'600 ft/min'", "one kind of unit"]),
    "limit without unit": (spot("2 kt", "2"), ["row 2", "`no_worse_than`", "'2' has no unit"]),
    "limit of another kind": (spot("2 kt", "2 s"), ["row 2", "`no_worse_than`", "unit of time"]),
    "limit below zero": (spot("2 kt", "-2 kt"), ["row 2", "`no_worse_than`", "below zero"]),
    "two limits": (spot("97 kt,", "97 kt,3 kt"), ["row 3", "`no_worse_than`", "row 2", "same in every row"]),
    "column missing": (CHECKS.replace("quantity,", "remark,", 1), ["row 1", "'remark' is not known", "remarks"]),
    "value column missing": ("modification,configuration,quantity\nbefore,clean,roll time\n", ["row 1", "`value`"]),
    "unknown column": (spot("flight,", "flght,"), ["row 1", "'flght' is not known", "'flight'"]),
    "column twice": (spot("power,", "flight,"), ["row 1", "'flight' stands twice"]),
    "weight not a number": (spot("1200", "heavy"), ["row 2", "'heavy'", "weight [lb]", "not a finite number"]),
    "weight of a bird": (spot("1200", "12"), ["row 2", "weight [lb]", "12 in column", "110.2 to 22046.2 lb"]),
    "weight without unit": (spot("weight [lb]", "weight"), ["row 2", "weight", "'1200' has no unit", "`weight [lb]`"]),
    "temperature in the other scale": (spot(",9,2400", ",250,2400"), ["row 2", "temperature [deg C]", "outside -53.1"]),
    "empty": ("", ["row 1 is empty", "modification,configuration,quantity,value", "not required"]),
    "blank": ("\n\n", ["row 1 is empty"]),
    "UTF-16": (CHECKS.encode("utf-16"), ["UTF-16", "UTF-8"]),
    "Latin-1": (spot("idle,1,", "idle,1,Böe").encode("latin-1"), ["line 6", "UTF-8"]),
    "binary": (b"\x00\x01", ["not a text file"]),
    "extra cells": (spot("2400 rpm,1,", "2400 rpm,1,wind, 5 kt"), ["row 2", "12 cells", "11"]),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_one_message_says_what_to_do(name, aircraft):
    text, words = WRONG[name]
    with pytest.raises(CaseError) as caught:
        parse_checks(text if isinstance(text, bytes) else text.encode(), aircraft)
    assert len(caught.value.problems) == 1, caught.value.problems
    message = str(caught.value)
    assert message.startswith(FILE)
    for word in words:
        assert word in message, message


def test_everything_wrong_is_said_at_once(aircraft):
    text = CHECKS.replace("96 kt", "96").replace("roll time,2.8", "rol time,2.8").replace("14 mm", "x mm")
    with pytest.raises(CaseError) as caught:
        parse_checks(text.encode(), aircraft)
    assert len(caught.value.problems) == 3


def test_the_same_card_written_in_other_ways(aircraft):
    def read(text):
        return parse_checks(text if isinstance(text, bytes) else text.encode(), aircraft)

    plain = read(CHECKS)
    assert plain.si["value"][:2] == pytest.approx([96 * 1852 / 3600, 97 * 1852 / 3600])
    assert plain.si["weight"][0] == pytest.approx(1200 * 0.45359237)
    assert plain.text["unit"].tolist() == ["kt"] * 4 + ["s"] * 2 + ["mm"] * 2
    in_cells = CHECKS.replace("weight [lb]", "weight").replace("1200", "1200 lb").replace("1190", "1190 lb")
    semicolons = CHECKS.replace(",", ";").replace("2.8 s", "2,8 s").replace("2.5 s", "2,5 s")
    same = [
        in_cells.replace("1195", "1195 lb"),
        semicolons,
        CHECKS.replace("\n", "\r\n"),
        b"\xef\xbb\xbf" + CHECKS.encode(),
        CHECKS.replace("speed at fixed rpm", "Speed  at fixed RPM").replace("96 kt", "96KT"),
    ]
    for text in same:
        other = read(text)
        for name, values in plain.si.items():
            assert other.si[name] == pytest.approx(values, nan_ok=True), (name, text)
        assert other.text["quantity"].tolist() == plain.text["quantity"].tolist()
        assert other.text["unit"].tolist() == plain.text["unit"].tolist()


def test_a_case_reads_its_checks_and_counts_them_among_its_inputs(small):
    folder = small()
    without = open_study(folder)
    assert without.case.optional("checks.csv") is None and without.checks is None
    (folder / "checks.csv").write_text(CHECKS, encoding="utf-8")
    case = open_study(folder)
    assert set(case.case.digests) == {"aircraft.toml", "stalls.csv", "checks.csv"}
    assert case.case.inputs_sha256 != without.case.inputs_sha256
    assert [i.quantity for i in case.checks.items] == ["speed at fixed rpm", "roll time", "trim position"]
    (folder / "checks.csv").write_text(HEADER + "\n", encoding="utf-8")
    assert open_study(folder).checks is None  # a header, and no check yet
    only = "\n".join(line for line in CHECKS.split("\n") if not line.startswith("after"))
    (folder / "checks.csv").write_text(only, encoding="utf-8")
    assert open_study(folder).checks is None  # nothing to compare with
    (folder / "checks.csv").write_text(CHECKS.replace("96 kt", "96"), encoding="utf-8")
    with pytest.raises(CaseError, match="has no unit"):
        open_study(folder)


def test_a_check_may_be_left_out_with_a_reason(aircraft):
    """Every file of a case takes rows out in the same way."""
    text = CHECKS.replace("remarks", "remarks,left_out").replace(",idle,3,\n", ",idle,3,,gusty\n")
    table = parse_checks(text.encode(), aircraft)
    assert [row for row, _ in table.left_out] == [7, 9] and len(table.frame) == 8
    assert table.row.tolist() == [2, 3, 4, 5, 6, 8]
