"""Rows in another unit pass every wide bound: their factors give them away, and the message names the unit.

Expected coefficients are this file's own arithmetic: CL = W g / (0.5 rho0 V^2 S) at a recorded load factor
of 1 and a steady speed, where nothing else is corrected.
"""

from __future__ import annotations

import csv
import html
import re

import pytest

from aerolib.__main__ import main
from aerolib.case.problems import CaseError
from aerolib.show.terminal import report_text
from aerolib.study import open_study
from aerolib.study.leftout import explain_left_out

UNIT = {"kt": 1852.0 / 3600.0, "mph": 1609.344 / 3600.0, "km/h": 1 / 3.6, "m/s": 1.0}  # [m/s]
AREA, G, RHO0 = 12.0, 9.80665, 1.225  # m2, m/s2, kg/m3
HEADER = "modification,configuration,flight,ias [{}],speed_kind,ended,pressure_altitude [ft],weight [kg],power,"
HEADER += "load_factor,remarks,left_out\n"


def coefficient(speed, weight):
    """Lift coefficient at a speed [m/s] and a weight [kg]."""
    return weight * G / (0.5 * RHO0 * speed**2 * AREA)


def weight_for(speed, cl):
    """Weight [kg] that a coefficient carries at a speed [m/s]."""
    return 0.5 * RHO0 * speed**2 * AREA * cl / G


def aircraft(weight, more=""):
    """An airplane that may weigh `weight` [kg], which is also the reference."""
    return (
        f'format = 1\n[wing]\narea = "{AREA} m2"\n[weights]\nempty = "{0.6 * weight:.4f} kg"\n'
        f'maximum = "{1.2 * weight:.4f} kg"\nreference = "{weight:.4f} kg"\n'
        f'[indicator]\nload_factor_axis = "flight path"\n{more}'
    )


def row(ias, weight, remarks="", left_out=""):
    """One steady stall at a recorded load factor of 1."""
    return f"before,clean,1,{ias:.4f},steady,break,0,{weight:.4f},idle,1.0,{remarks},{left_out}\n"


def refused(folder):
    """The message of a case that reads but cannot be right."""
    case = open_study(folder)
    with pytest.raises(CaseError) as caught:
        case.reduction
    return str(caught.value)


def test_metres_a_second_under_knots(write_case):
    """29 m/s under a header in knots: CL 1.35 reads as 5.10, and the message says so."""
    weight = weight_for(29.0, 1.35)
    assert coefficient(29 * UNIT["kt"], weight) == pytest.approx(5.10, abs=0.005)  # by hand
    message = refused(write_case(aircraft(weight), HEADER.format("kt") + row(29, weight)))
    assert re.search(r"row 2: 29\.0+ in column `ias \[kt\]` gives CLmax 5\.1\b", message)
    assert "outside 0.6 to 4" in message
    assert "in m/s it would be 1.35: is the column in m/s?" in message


@pytest.mark.parametrize(
    ("header", "written"),
    [("kt", "km/h"), ("kt", "m/s"), ("mph", "m/s"), ("km/h", "kt"), ("m/s", "kt"), ("m/s", "mph"), ("km/h", "m/s")],
)
def test_a_whole_column_in_another_unit(header, written, write_case):
    speed, true = 24.0, 1.45
    weight = weight_for(speed, true)
    read = coefficient(speed / UNIT[written] * UNIT[header], weight)
    assert not 0.6 <= read <= 4.0
    message = refused(write_case(aircraft(weight), HEADER.format(header) + 3 * row(speed / UNIT[written], weight)))
    found = re.search(r"gives CLmax ([\d.]+), outside.*; in (\S+) it would be ([\d.]+): is the column in \2\?", message)
    assert found, message
    assert float(found[1]) == pytest.approx(read, rel=0.006)
    offered = {u: read * (UNIT[header] / UNIT[u]) ** 2 for u in UNIT if u != header}
    assert found[2] in [u for u, cl in offered.items() if 0.8 <= cl <= 3.2]
    assert float(found[3]) == pytest.approx(offered[found[2]], rel=0.006)
    if header != "m/s":  # kt and mph are too near each other to be told apart from metres a second
        assert found[2] == written


def test_nothing_fits(write_case):
    weight = weight_for(8.0, 17.0)
    message = refused(write_case(aircraft(weight), HEADER.format("kt") + row(8.0 / UNIT["kt"], weight)))
    assert "check speed, weight and wing area" in message
    assert "is the column in" not in message


@pytest.mark.parametrize("edge", [0.65, 3.9])
def test_the_edges_are_allowed(edge, write_case):
    weight = weight_for(22.0, edge)
    folder = write_case(aircraft(weight), HEADER.format("kt") + 3 * row(22.0 / UNIT["kt"], weight))
    assert open_study(folder).reduction["before", "clean"].clmax.value == pytest.approx(edge, rel=0.005)


def card_with_one_off(off, header="kt", extra=""):
    """Five stalls and one whose coefficient is `off` times theirs; the median is chosen so that all are possible."""
    median = 1.0 if off > 1 else 2.6
    speed = 23.0
    weight = weight_for(speed, median)
    ias = speed / UNIT[header]
    usual, odd = row(ias, weight), row(ias / off**0.5, weight)
    return aircraft(weight), HEADER.format(header) + 3 * usual + extra + odd + 2 * usual


FACTORS = {"mph": (UNIT["kt"] / UNIT["mph"]) ** 2, "km/h": (UNIT["kt"] / UNIT["km/h"]) ** 2,
           "m/s": (UNIT["m/s"] / UNIT["kt"]) ** 2}  # fmt: skip


def test_the_factors_are_those_of_the_units():
    assert [round(f, 2) for f in FACTORS.values()] == [1.32, 3.43, 3.78]


@pytest.mark.parametrize("within", [0.965, 1.0, 1.035])
@pytest.mark.parametrize("inverse", [False, True])
@pytest.mark.parametrize("name", FACTORS)
def test_a_single_row_off_by_a_factor(name, inverse, within, write_case):
    off = within * (1 / FACTORS[name] if inverse else FACTORS[name])
    message = refused(write_case(*card_with_one_off(off)))
    assert message.count("\n") == 0
    assert re.search(rf"row 5: .* in column `ias \[kt\]`.*median is (1|2\.6)\b.*\b{name}\b.*left_out", message), message


@pytest.mark.parametrize(
    ("header", "written"), [("kt", "mph"), ("mph", "kt"), ("kt", "km/h"), ("km/h", "kt"), ("kt", "m/s"), ("m/s", "kt")]
)
def test_a_single_row_written_in_another_unit(header, written, write_case):
    off = (UNIT[written] / UNIT[header]) ** 2
    message = refused(write_case(*card_with_one_off(off, header)))
    median = 1.0 if off > 1 else 2.6
    assert f"read in {written} it would be {median:.3g}: was this row written in {written}?" in message


@pytest.mark.parametrize("off", [0.90, 1.10, 0.85, 1.18])
def test_a_row_off_by_less_is_the_owners_business(off, write_case):
    aircraft_text, stalls = card_with_one_off(off)
    assert open_study(write_case(aircraft_text, stalls)).reduction["before", "clean"].breaks == 6


def test_the_row_number_is_that_of_a_spreadsheet(write_case):
    """Blank rows count, and a remark of two lines is one row."""
    text, stalls = card_with_one_off(FACTORS["mph"], extra="\n,,,,,,,,,,,\n")
    stalls = stalls.replace("1.0,,", '1.0,"two\nlines",', 1)
    with_csv = list(csv.reader(stalls.splitlines(keepends=True)))
    expected = next(
        i for i, cells in enumerate(with_csv, 1) if len(cells) > 3 and cells[3] not in ("", with_csv[1][3]) and i > 1
    )
    assert expected == 7
    assert "row 7:" in refused(write_case(text, stalls))


@pytest.mark.parametrize(("times", "named"), [(UNIT["kt"] / UNIT["mph"], "mph"), (UNIT["mph"] / UNIT["kt"], "mph")])
def test_a_configuration_off_its_stated_speed(times, named, write_case):
    speed = 22.0
    weight = weight_for(speed, 1.5)
    stated = f'[[configuration]]\nname = "clean"\nstated_stall_speed = "{speed / UNIT["kt"]:.3f} kt"\n'
    good = write_case(aircraft(weight, stated), HEADER.format("kt") + 4 * row(speed / UNIT["kt"], weight), "good")
    assert open_study(good).reduction["before", "clean"].breaks == 4
    bad = write_case(aircraft(weight, stated), HEADER.format("kt") + 4 * row(times * speed / UNIT["kt"], weight), "bad")
    message = refused(bad)
    assert "the stalls of 'clean' lie about" in message
    found = re.search(r"lie about ([\d.]+) kt.*is ([\d.]+) kt: their ratio ([\d.]+)", message)
    assert float(found[1]) == pytest.approx(times * speed / UNIT["kt"], rel=0.01)
    assert float(found[2]) == pytest.approx(speed / UNIT["kt"], rel=0.01)
    assert float(found[3]) == pytest.approx(1 / times, rel=0.02)
    assert f"in {named}?" in message


def test_a_configuration_ten_percent_off_its_stated_speed_is_not_a_unit(write_case):
    speed, weight = 22.0, weight_for(22.0, 1.5)
    stated = f'[[configuration]]\nname = "clean"\nstated_stall_speed = "{0.93 * speed / UNIT["kt"]:.3f} kt"\n'
    folder = write_case(aircraft(weight, stated), HEADER.format("kt") + 4 * row(speed / UNIT["kt"], weight))
    assert open_study(folder).reduction["before", "clean"].breaks == 4


def test_rows_left_out_are_explained_in_report_and_terminal(write_case, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    speed = 22.0
    weight = weight_for(speed, 1.5)
    kt, mph = speed / UNIT["kt"], speed / UNIT["mph"]
    stalls = HEADER.format("kt") + 2 * row(kt, weight) + row(mph, weight, left_out="wrong ring") + 2 * row(kt, weight)
    stalls += row(kt, weight, left_out="bumpy air").replace(f"{kt:.4f}", "?")
    folder = write_case(aircraft(weight), stalls)
    case = open_study(folder)
    result = case.reduction
    assert result["before", "clean"].breaks == 4
    one, other = explain_left_out(case)
    as_read = coefficient(mph * UNIT["kt"], weight)
    assert one.startswith("row 4, left out by the owner: 'wrong ring'. It would have given CLmax")
    assert f"CLmax {as_read:.2f}, the others of its flight and configuration give 1.50" in one
    assert "read in mph it would give 1.50" in one
    assert other.startswith("row 7, left out by the owner: 'bumpy air'. It could not have been used")
    text = report_text(case)
    assert main(["report", str(folder)]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    page = html.unescape((tmp_path / "report-case" / "report.html").read_text(encoding="utf-8"))
    for sentence in (one, other):
        assert sentence in " ".join(text.split())
        assert sentence in printed
        assert sentence in page


def test_left_out_rows_of_the_demonstration(case_folder):
    with (case_folder / "stalls.csv").open(newline="") as file:
        expected = [(i, r["left_out"]) for i, r in enumerate(csv.DictReader(file), 2) if r["left_out"]]
    case = open_study(case_folder)
    sentences = explain_left_out(case)
    assert len(expected) == len(sentences) == 1
    number, reason = expected[0]
    assert sentences[0].startswith(f"row {number}, left out by the owner: '{reason}'")
    assert "read in mph it would give" in sentences[0]
