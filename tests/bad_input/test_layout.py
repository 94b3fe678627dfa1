"""Layouts that cannot be: every message says what was given, what is needed and what to do."""

import math

import pytest
from cards import AIRCRAFT

from aerolib.case.aircraft import parse_aircraft
from aerolib.case.problems import CaseError
from aerolib.predicted.layout import FittedRow, KeepOut, Row, device_layout, fitted_record, surface_line
from aerolib.show.print.marking_sheet import marking_sheet, tiles_of
from aerolib.show.render import body_html
from aerolib.show.sections.layout import finding
from aerolib.study import open_study
from aerolib.study.layout import fitted_devices, fitted_records, plan_layouts

WING = [(0.0, 1.05, 0.0), (4.5, 1.05, 0.0)]
ROW = {"first": 0.7, "last": 4.0, "pitch": 0.06, "chord_station": 0.1, "height": 0.01, "length": 0.03, "gap": 0.03,
       "angle": 0.28, "datum": 0.5}  # fmt: skip
DEVICE = """
[[device]]
name = "vanes"
kind = "vane pair"
surface = "wing, upper side"
height = "12 mm"
length = "36 mm"
chord_station = "12 %"
span_inner = "1.0 m"
span_outer = "4.0 m"
pitch = "72 mm"
angle = "16 deg"
"""
GEOMETRY = AIRCRAFT.replace('area = "12 m2"', 'area = "12 m2"\nspan = "10 m"\nchord_root = "1.2 m"')


@pytest.mark.parametrize(
    "change, words",
    [
        ({"pitch": 3.5}, r"spacing of 3500 mm is longer than the row, 3300 mm.*shorter spacing"),
        ({"pitch": 60.0}, "longer than the row"),
        ({"pitch": 0.0}, "needed is a length above zero"),
        ({"pitch": math.nan}, "needed is a length above zero"),
        ({"pitch": 0.030}, "neighbors would overlap"),
        ({"pitch": 0.001, "gap": None, "length": 0.002}, r"3301 positions.*is the spacing in mm"),
        ({"datum": 4.6}, r"the datum, wing root rib, lies 4.6 m.*inboard of the tip"),
        ({"datum": 0.9}, "inboard of the wing root rib at 0.9 m"),
        ({"last": 5.0}, r"ends 5 m.*surface at 4.5 m"),
        ({"first": 4.2}, "start it inboard"),
        ({"height": -0.01}, "height is -0.01"),
        ({"chord_station": 12.0}, "a share of the chord, 0 to 1"),
        ({"angle": 16.0}, "is it in degrees"),
        ({"gap": 0.005}, "too narrow"),
        ({"gap": math.inf}, "None for single vanes"),
        ({"side": "port"}, "write 'left' or 'right'"),
        ({"part": "fin"}, "write one of wing, flap, tailplane"),
        ({"keep_out": (KeepOut("walkway", 0.0, 4.5),)}, r"leave no position at all \(walkway\)"),
        ({"rear_line": ((0.0, 0.08), (4.5, 0.08)), "rear_line_name": "rivets"}, "'rivets' lies 25 mm ahead of the row"),
    ],
)
def test_a_layout_that_cannot_be(change, words):
    with pytest.raises(ValueError, match=words):
        device_layout(Row(stations=WING, **{**ROW, **change}))


@pytest.mark.parametrize("stations", [[], [(0.0, 1.0, 0.0)], [(0.0, 1.0), (1.0, 1.0)], [(1, 1, 0), (0, 1, 0)],
                                      [(0, 1, 0), (5, 0, 0)], [(0, 1, 0), (5, math.nan, 0)]])  # fmt: skip
def test_stations_that_are_none(stations):
    with pytest.raises(ValueError, match="stations"):
        Row(stations=stations, **ROW)


def test_section_and_side_unknown():
    with pytest.raises(ValueError, match="'NACA 4421x' is not known"):
        surface_line("NACA 4421x")
    with pytest.raises(ValueError, match="'upper' or 'lower'"):
        surface_line("NACA 4412", "top")


@pytest.mark.parametrize("paper, length", [("A4", 217), ("Letter", 199)])
def test_paper_too_small_for_one_pitch(paper, length):
    a = device_layout(Row(stations=WING, **{**ROW, "pitch": 0.210}))
    with pytest.raises(CaseError, match=rf"{paper} paper is too small for one spacing: 210 mm.*a tile has {length} mm"):
        marking_sheet(a, paper)
    with pytest.raises(CaseError, match="'A4' or 'Letter'"):
        tiles_of(a, "A3")


def test_fitted_rows_that_cannot_be():
    row = FittedRow("vanes", "wing", "left", count=10)
    with pytest.raises(ValueError, match="no row was given"):
        fitted_record([])
    with pytest.raises(ValueError, match="stands twice; number the rows"):
        fitted_record([row, row])
    record = fitted_record([row], empty_mass=400.0, empty_cg=0.3)
    assert record.mass is None and record.cg_after is None


def case_of(small, text):
    return open_study(small(aircraft=text))


@pytest.mark.parametrize(
    "old, new, words",
    [
        ('pitch = "72 mm"', 'pitch = "4.9 m"', r"\[\[device\]\] 'vanes': a spacing of 4900 mm is longer than the row"),
        ('angle = "16 deg"', "", "angle is missing; the layout needs it: to the flow"),
        ('surface = "wing, upper side"', 'surface = "flap"', "flap_chord is missing; the layout needs it"),
        ('surface = "wing, upper side"', 'surface = "under the tailplane"', r"\[tail\] span is missing"),
        ('span = "10 m"', "", r"\[wing\] span is missing"),
        ("[[device]]", '[layout]\ndatum = "6 m"\n[[device]]', "the datum, wing root rib, lies 6 m"),
    ],
)
def test_a_case_that_cannot_be_laid_out(small, old, new, words):
    text = GEOMETRY + DEVICE
    assert old in text
    case = case_of(small, text.replace(old, new, 1))
    with pytest.raises(CaseError, match=words):
        plan_layouts(case)
    told = finding(case)
    assert told.data == {"layout": None} and "Not laid out" in body_html(told)


def test_without_a_device_the_report_says_what_to_write(small):
    told = finding(case_of(small, AIRCRAFT))
    assert told.data == {"layout": None} and "[[device]]" in body_html(told)


@pytest.mark.parametrize(
    "table, words",
    [
        ('[[keep_out]]\nname = "cap"\ninner = "2 m"\nouter = "1 m"', "inner must be less than outer"),
        ('[[keep_out]]\nname = "cap"\ninner = "1 m"\nouter = "2 m"\nside = "port"', "'left', 'right' or 'both'"),
        ('[[keep_out]]\nname = "cap"\ninner = "1 m"', "outer: this key is missing"),
        ('[layout]\ndatun = "0.5 m"', "did you mean 'datum'"),
        ('[[modification.fitted]]\ndevice = "vanes"', "side"),
        ('[[modification.fitted]]\ndevice = "vanes"\nside = "left"\ncount = -1', "count"),
        ('[[modification.fitted]]\ndevice = "vanes"\nside = "left"\nheight = "12"', "has no unit"),
    ],
)
def test_tables_that_cannot_be_read(table, words):
    with pytest.raises(CaseError, match=words):
        parse_aircraft(f"{AIRCRAFT}\n{table}\n".encode())


def test_a_device_that_is_not_there(small):
    fitted = '\n[[modification.fitted]]\ndevice = "vane"\nside = "left"\n'
    case = case_of(small, GEOMETRY + fitted + DEVICE)
    with pytest.raises(CaseError, match="there is no .* 'vane'; did you mean 'vanes'"):
        fitted_devices(case)


def test_count_that_differs_from_the_plan_is_shown(small):
    rows = "".join(f'\n[[modification.fitted]]\ndevice = "vanes"\nside = "{s}"\ncount = {n}\n'
                   for s, n in (("left", 42), ("right", 40)))  # fmt: skip
    case = case_of(small, GEOMETRY + rows + DEVICE)
    record = fitted_records(case)["after"]
    # By hand: 3000 mm at 72 mm is 41 whole pitches, 42 positions.
    assert any("fitted 40, planned 42" in n for n in record.notes) and record.count == 82
    assert [r.count for r in fitted_devices(case)] == [42, 40]
    assert any("42 on the left, 40 on the right" in w for w in record.warnings)
