"""Tail, gear and loading that cannot be: the sentence names the place, what was given and what to do; nothing fails."""

import math

import pytest

from aerolib.case.agreement import airframe_problems
from aerolib.case.problems import CaseError
from aerolib.consequences.balance import Airplane, Flap
from aerolib.consequences.tail_authority import Seen, tail_authority
from aerolib.show.sections import sections_of
from aerolib.study import open_study
from aerolib.study.airframe import airframe_of, missing

D = math.radians(1.0)
PAGES = ("landing_attitude", "tail_authority")


@pytest.fixture
def changed(case_folder):
    """Function (old, new, ...) -> the demonstration with those spots of `aircraft.toml` changed."""

    def change(*pairs):
        path = case_folder / "aircraft.toml"
        text = path.read_text(encoding="utf-8")
        for old, new in zip(pairs[::2], pairs[1::2]):
            assert old in text
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")
        return open_study(case_folder)

    return change


SEEN = (
    '\n[[tail.seen]]\nconfiguration = "{}"\ncg = "15 in"\nspeed = "50 kt"\nweight = "600 kg"'
    '\nelevator = "{}"\n[fuselage]'
)
CASES = {
    "negative ground angle": (
        ('ground_angle = "12.5 deg"', 'ground_angle = "-12.5 deg"'), "[gear] ground_angle -12.5 deg", "nose up"),
    "flat loaded": (
        ('ground_angle_loaded = "11.6 deg"', 'ground_angle_loaded = "0 deg"'), "ground_angle_loaded 0 deg", "level"),
    "tail wheel ahead": (
        ('other_wheel_station = "4.45 m"', 'other_wheel_station = "-1.2 m"'), "must lie behind", "is a sign wrong"),
    "nose wheel behind": (
        ('kind = "tail-wheel"', 'kind = "nose-wheel"'), "must lie ahead of", "nose-wheel"),
    "CG ahead of the wheels": (
        ('main_wheel_station = "0.02 m"', 'main_wheel_station = "0.40 m"'), "(the foremost flown)", "same datum"),
    "CG limit ahead of the wheels": (
        ('cg_forward = "13.2 in"', 'cg_forward = "0.4 in"'), "0.01 m ([weights] cg_forward)", "same datum"),
    "travel of the wrong sign": (
        ('elevator_up = "26 deg"', 'elevator_up = "-26 deg"'), "elevator_up -26 deg", "written positive"),
    "travel above 45 degrees": (
        ('elevator_up = "26 deg"', 'elevator_up = "62 deg"'), "elevator_up 62 deg", "to 45 deg"),
    "down travel of the wrong sign": (
        ('elevator_down = "20 deg"', 'elevator_down = "-20 deg"'), "elevator_down -20 deg", "written positive"),
    "reached beyond the stop": (
        ('elevator_up_reached = "18 deg"', 'elevator_up_reached = "30 deg"'), "elevator_up 26 deg",
        "measure both"),
    "elevator larger than the tail": (
        ('elevator_chord = "0.33 m"', 'elevator_chord = "0.80 m"'), "elevator_chord 0.8 m", "all-moving"),
    "half of the tail's area": (
        ('area = "2.05 m2"', 'area = "1.02 m2"'), "span times chord 2.09 m2", "both sides"),
    "tail under the wing": (
        ('arm = "3.95 m"', 'arm = "0.95 m"'), "arm 0.95 m", "is the unit right"),
    "seen with the wrong sign": (
        ("\n[fuselage]", SEEN.format("clean", "25 deg")), "+25.0 deg is beyond its travel", "is the sign right"),
    "seen beyond the stop": (
        ("\n[fuselage]", SEEN.format("clean", "-40 deg")), "-40.0 deg is beyond its travel", "-26.0"),
    "seen with a flap nobody knows": (
        ("\n[fuselage]", SEEN.format("flap 50", "-5 deg")), "'flap 50' is not in", "flap 20"),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_it_is_named(changed, name):
    pairs, *words = CASES[name]
    problems = airframe_problems(changed(*pairs))
    assert problems and all("`aircraft.toml` [" in p for p in problems)
    for w in words:
        assert any(w in p for p in problems), problems


def test_the_demonstration_has_none(changed):
    assert airframe_problems(changed()) == []


def test_the_report_says_it_and_goes_on(changed):
    case = changed('elevator_up = "26 deg"', 'elevator_up = "62 deg"', 'ground_angle = "12.5 deg"',
                   'ground_angle = "-1 deg"')  # fmt: skip
    with pytest.raises(CaseError, match="to 45 deg"):
        airframe_of(case)
    for section, key in zip(sections_of(case, names=PAGES)[0], PAGES, strict=True):
        assert section.data[key] is None
        assert "to 45 deg" in section.html and "nose up" in section.html


def test_tail_ahead_of_the_wing_is_refused_with_the_reason(changed):
    with pytest.raises(CaseError) as e:
        changed('arm = "3.95 m"', 'arm = "-3.95 m"')
    assert "tail" in str(e.value) and "arm" in str(e.value) and "not covered" in str(e.value)


def test_what_is_missing_is_said_with_how_to_measure_it(write_case):
    from cards import AIRCRAFT, STALLS

    case = open_study(write_case(AIRCRAFT, STALLS))
    assert any("[tail] arm: quarter chord of the wing" in w for w in missing(case, "tail"))
    assert any("[gear] ground_angle: leveling line against the ground" in w for w in missing(case, "gear"))
    for section, key in zip(sections_of(case, names=PAGES)[0], PAGES, strict=True):
        assert section.data[key] is None and "measuring sheet" in section.html


A = Airplane(
    span=9.2, mean_chord=1.3043, aspect_ratio=7.05, taper=1.0, slope=4.75, alpha0=-3 * D, wing_incidence=2 * D,
    moment0=-0.05, fuselage_slope=0.12, tail_volume=0.604, tail_slope=3.77, tail_incidence=-2 * D, tail_above_wing=0.05,
    downwash=0.30, effectiveness=0.60, stop_up=-26 * D,
)  # fmt: skip
GIVEN = {"mass": 600.0, "wing_area": 12.0, "cg": 0.25}


@pytest.mark.parametrize(
    "airplane, given, words",
    [
        ({"tail_volume": -0.6}, {}, "ahead of the wing"), ({"tail_volume": 0.0}, {}, "ahead of the wing"),
        ({}, {"mass": 0.0}, "mass"), ({}, {"wing_area": -12.0}, "wing_area"), ({}, {"density": math.nan}, "density"),
        ({}, {"cg": 25.0}, "write 0.25 for 25 %"), ({}, {"height_over_span": -0.1}, "height_over_span"),
        ({"stop_up": 26 * D}, {}, "trailing edge up is negative"), ({"stop_up": -46 * D}, {}, "at most 45"),
        ({}, {"seen": [Seen("full", 0.2, 25.0, 600.0)]}, "known: clean"),
    ],
)  # fmt: skip
def test_lower_floor(airplane, given, words):
    from dataclasses import replace

    with pytest.raises(ValueError, match=words):
        tail_authority(replace(A, **airplane), [("before", Flap())], **{**GIVEN, **given})


def test_every_measure_that_is_asked_for_is_on_the_measuring_sheet():
    from aerolib.show.print import sheet_parts as parts
    from aerolib.study.airframe import NEEDED

    rows = parts.WING_ROWS + parts.SIDE_ROWS + parts.CONTROL_ROWS + parts.WEIGHING_ROWS
    asked = [place for question in NEEDED.values() for place in question if place != "[gear] kind"]
    asked += ["[tail] elevator_up_reached", "[wing] height", "[fuselage] eye_height", "[fuselage] cowl_height"]
    assert [a for a in asked if a not in rows] == []
