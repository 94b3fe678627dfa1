"""Limits, power and stalls of a case that leave no operating speed, or one less: the sentence says which and why."""

import json
import re

import pytest

from aerolib.case.problems import CaseError
from aerolib.consequences.distances import Ground
from aerolib.show.sections.operating_speeds import finding
from aerolib.study import open_study
from aerolib.study.speeds import operating_of


@pytest.fixture
def changed(case_folder):
    """Function (old, new) -> the demonstration with that spot of `aircraft.toml` changed."""

    def change(old, new):
        path = case_folder / "aircraft.toml"
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return open_study(case_folder)

    return change


@pytest.mark.parametrize(
    "old, new, words",
    [('load_factor_negative = "-1.52"', 'load_factor_negative = "1.52"', "load_factor_negative"),
     ('load_factor = "3.8"', 'load_factor = "0.5"', "load_factor"),
     ('load_factor = "3.8"', 'load_factor = "38"', "expected is 1 to 12"),
     ('dive_speed = "135 kt"', 'dive_speed = "135"', "dive_speed")],
)  # fmt: skip
def test_limits_that_cannot_be_are_refused_when_read(changed, old, new, words):
    with pytest.raises(CaseError, match=words):
        changed(old, new)


@pytest.mark.parametrize(
    "old, new, words",
    [('dive_speed = "135 kt"', 'dive_speed = "90 kt"', "dive speed must be above the cruise speed"),
     ('cruise_speed = "96 kt"', 'cruise_speed = "40 kt"', "cruise speed, 40 kt, is below the stall"),
     ('flap_speed = "72 kt"', 'flap_speed = "20 kt"', "flap speed, 20 kt, must lie between"),
     ('flap_speed = "72 kt"', 'flap_speed = "200 kt"', "flap speed, 200 kt, must lie between"),
     ('load_factor_negative = "-1.52"', "", "load_factor_negative is missing")],
)  # fmt: skip
def test_no_diagram_but_everything_else(changed, old, new, words):
    case = changed(old, new)
    with pytest.raises(CaseError, match=words):
        operating_of(case).diagram("before", 620.0)
    made = finding(case)
    assert any("No maneuvering diagram" in p and words in p for p in made.parts if isinstance(p, str))
    assert made.data["operating_speeds"][0]["landing_roll_m"]["value"] > 0


@pytest.mark.parametrize("old", ["rated_power", "propeller_diameter"])
def test_no_thrust_data_leaves_the_change_only(changed, old):
    one = operating_of(changed(f"{old} =", f"# {old} =")).at(620.0)
    assert all(i.take_off_roll is i.climb_gradient is None for i in one.items)
    assert one.take_off_ratio is not None and "rated_power and propeller_diameter" in " ".join(one.notes)


def test_an_engine_too_weak_ends_nowhere_and_is_null(changed):
    case = changed('rated_power = "75 kW"', 'rated_power = "4 kW"')
    data = finding(case).data["operating_speeds"]
    assert data[-1]["take_off_over_obstacle_m"] == {"value": None, "interval95": None}
    json.dumps(data, allow_nan=False)


@pytest.mark.parametrize(
    "given, words",
    [({"surface": "gravel"}, "known: dry asphalt"), ({"slope": 0.08}, "outside this method"),
     ({"headwind": -6.0}, "tailwind")],
)  # fmt: skip
def test_a_field_outside_the_method(given, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        Ground(**given)


def test_a_factor_and_a_density_outside_are_case_errors(changed):
    case = changed('load_factor = "3.8"', 'load_factor = "4.4"')
    ready = operating_of(case)
    for given, words in (({"factor": 1.19}, "no approach speed is printed"), ({"density": 0.2}, "outside")):
        with pytest.raises(CaseError, match=words):
            ready.at(620.0, **given)


def test_a_needle_calibrated_at_one_speed_only_gives_no_indicated_speed(changed, case_folder):
    (case_folder / "airspeed_legs.csv").unlink()
    case = open_study(case_folder)
    one = operating_of(case).at(620.0)
    for item in one.items:
        if item.approach_indicated is None:
            assert f"{item.modification}: no indicated approach speed" in " ".join(one.notes)
    assert any(i.approach_indicated is None for i in one.items)
