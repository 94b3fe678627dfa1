"""An airplane whose measures cannot be together: both values are named, the file and place too, and nothing fails.

Wing and weights refuse the case, since every answer stands on them. Everything else is said by the estimates that use
it, and the rest of the report stands.
"""

from __future__ import annotations

import html
import json
import re

import pytest

from aerolib.__main__ import main
from aerolib.answers import absurd
from aerolib.case.agreement import AIRFRAME, CASE, CHORD, RULES, WING, airframe_problems, disagreements
from aerolib.case.problems import CaseError
from aerolib.show.sections import sections_of
from aerolib.show.sections.base import Section
from aerolib.study import open_study
from aerolib.study.airframe import airframe_of


@pytest.fixture
def changed(case_folder):
    """Function (old, new) -> folder of the demonstration with that spot of `aircraft.toml` changed."""

    def change(old, new):
        path = case_folder / "aircraft.toml"
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return case_folder

    return change


WHOLE = {
    "reference over maximum": ('reference = "620 kg"', 'reference = "6200 kg"', "6200 kg", "620 kg"),
    "maximum of ten airplanes": ('maximum = "620 kg"', 'maximum = "6200 kg"', "6200 kg", "371.9 kg"),
    "maximum in lb under kg": ('maximum = "620 kg"', 'maximum = "1367 kg"', "1367 kg", "371.9 kg"),
    "reference in lb under kg": ('reference = "620 kg"', 'reference = "1367 kg"', "1367 kg", "620 kg"),
    "empty_within of the whole": ('empty_within = "6 kg"', 'empty_within = "600 kg"', "600 kg", "371.9 kg"),
    "span 0": ('span = "8.6 m"', 'span = "0 m"', "[wing] span", "0 m"),
    "negative span": ('span = "8.6 m"', 'span = "-8.6 m"', "[wing] span", "-8.6 m"),
    "span in feet under m": ('span = "8.6 m"', 'span = "28.2 m"', "28.2 m", "aspect ratio"),
    "chords and span give twice the area": ('area = "10.68 m2"', 'area = "5.3 m2"', "5.3 m2", "10.66 m2"),
    "area in feet": ('area = "10.68 m2"', 'area = "98 m2"', "98 m2", "620 kg"),
}


@pytest.mark.parametrize("name", WHOLE)
def test_wing_and_weights_refuse_the_case(name, changed):
    old, new, *both = WHOLE[name]
    folder = changed(old, new)
    with pytest.raises(CaseError) as caught:
        open_study(folder)
    for value in ("`aircraft.toml` [w", *both):
        assert value in str(caught.value), str(caught.value)


PARTS = {  # the same, and the estimates that still stand
    "mac of another airplane": ('mac = "1.24 m"', 'mac = "3 m"', "3 m", "1.242 m"),
    "mac of a tenth": ('mac = "1.24 m"', 'mac = "0.124 m"', "0.124 m", "1.242 m"),
    "leading edge in m for in": ('mac_leading_edge = "4.0 in"', 'mac_leading_edge = "4.0 m"', "4 m", "0.3353 m"),
    "CG of a tenfold": ('cg_forward = "13.2 in"', 'cg_forward = "132 in"', "132 in", "4 in"),
    "limits exchanged": ('cg_aft = "18.4 in"', 'cg_aft = "11.4 in"', "11.4 in", "13.2 in"),
    "wing on the ground": ('wing_height = "1.80 m"', 'wing_height = "0 m"', "wing_height 0 m", "0.2 to 4 m"),
    "wing height of a tenth": ('wing_height = "1.80 m"', 'wing_height = "0.18 m"', "0.18 m", "0.2 to 4 m"),
    "wing height in ft under m": ('wing_height = "1.80 m"', 'wing_height = "3.9 m"', "3.9 m", "1.22 m"),
    "tail in the sky": ('height = "0.15 m"', 'height = "30 m"', "29.55 m", "8.6 m"),
    "tail standing on its nose": ('incidence = "-1.0 deg"', 'incidence = "55 deg"', "55 deg", "-12 to 10 deg"),
    "arm beyond the fuselage": ('arm = "3.95 m"', 'arm = "7.9 m"', "7.9 m", "6.1 m"),
    "half a tail in ft2": ('area = "2.05 m2"', 'area = "22 m2"', "22 m2", "10.68 m2"),
}


@pytest.mark.parametrize("name", PARTS)
def test_the_rest_is_said_where_it_is_used(name, changed):
    old, new, *both = PARTS[name]
    case = open_study(changed(old, new))
    assert any(all(v in p for v in both) for p in airframe_problems(case)), airframe_problems(case)
    assert all(p.startswith("`aircraft.toml` [") for p in airframe_problems(case))
    assert case.reduction.items[0].clmax is not None
    with pytest.raises(CaseError):
        airframe_of(case)
    keys = ("landing_attitude", "tail_authority")
    sections, data = sections_of(case, names=keys)
    assert len(sections) == 2 and [data[k] for k in keys] == [None, None]


def test_the_flap_is_not_trimmed_with_an_arm_over_a_wrong_chord(changed):
    case = open_study(changed('mac = "1.24 m"', 'mac = "3 m"'))
    with pytest.raises(CaseError, match="3 m"):
        _ = case.flap_settings


@pytest.mark.parametrize(
    ("old", "new", "value"),
    [
        ('incidence = "2.5 deg"', 'incidence = "-30 deg"', "-30 deg"),
        ('twist = "-1 deg"', 'twist = "40 deg"', "40 deg"),
        ('sweep = "0 deg"', 'sweep = "80 deg"', "80 deg"),
    ],
)
def test_angles_within_what_a_wing_has(old, new, value, changed):
    case = open_study(changed(old, new))
    assert any(value in p for p in disagreements(case.aircraft, (WING,)))
    with pytest.raises(CaseError, match=re.escape(value)):
        airframe_of(case)


@pytest.mark.parametrize("deflection", ["60 deg", "-10 deg"])
def test_a_flap_angle_outside_the_method_costs_its_configuration_only(deflection, changed, tmp_path, capsys):
    folder = changed('flap = "38 deg"', f'flap = "{deflection}"')
    assert main(["report", str(folder), "--out", str(tmp_path / "out"), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {i["configuration"] for i in data["clmax"]} == {"clean", "flap 20", "flap 38"}
    assert {i["configuration"] for i in data["tail_authority"]} == {"clean", "flap 20"}
    page = html.unescape((tmp_path / "out" / "report.html").read_text(encoding="utf-8"))
    assert "[[configuration]] 'flap 38', flap" in page


@pytest.mark.parametrize("name", ["demo", "nosewheel"])
def test_the_demonstrations_agree_with_themselves(name):
    case = open_study(f"data/{name}")
    assert disagreements(case.aircraft, (CASE, WING, CHORD, AIRFRAME), case.stalls.si["cg"]) == []


def test_every_rule_names_measures_that_exist():
    """A misspelt name would be a rule that never fails: both demonstrations together hold all that rules name."""
    from aerolib.case.agreement import _measures

    cases = [open_study(f"data/{name}") for name in ("demo", "nosewheel")]
    known = {name for case in cases for name in _measures(case.aircraft, case.stalls.si["cg"])}
    assert {n for r in RULES for n in (r.left, r.right) if n} <= known
    assert all(r.low < r.high and r.remedy for r in RULES)


ABSURD = {
    "approach": ({"operating_speeds": [{"modification": "before", "approach_kt": {"value": 396.0}}]}, "396"),
    "two million knots": ({"operating_speeds": [{"approach_kt": {"value": 2.1e6, "interval95": [1, 2]}}]}, "e+06"),
    "stall": ({"clmax": [{"stall_speed_1g_kt": 155.0}]}, "155"),
    "maneuvering": ({"operating_speeds": [{"maneuvering_kt": {"value": 291.0}}]}, "291"),
    "share": ({"landing_attitude": [{"configuration": "clean", "usable_share_of_gain": 6.24}]}, "6.24"),
    "coefficient": ({"clmax": [{"value": 9.5}]}, "9.5"),
    "CG limit": ({"tail_authority": [{"forward_cg_limit_percent_mac": -2000.0}]}, "-2000"),
}


@pytest.mark.parametrize("name", ABSURD)
def test_an_answer_beyond_its_bounds_is_explained_instead(name):
    data, value = ABSURD[name]
    key = next(iter(data))
    made = Section("a title", "<p>the number</p>", data | {"other": 1}, ("a line of the ledger",), {"a.pdf": b""})
    assert made.data == {key: None, "other": None}
    assert "the number" not in made.html and value in made.html and "cannot be right together" in made.html
    assert made.ledger == () and made.files == {}


def test_possible_answers_pass_untouched():
    data = {"operating_speeds": [{"approach_kt": {"value": 55.0, "interval95": [50.0, 900.0]}}], "clmax": None}
    assert absurd(data) == []
    assert Section("t", "h", data).data is data
