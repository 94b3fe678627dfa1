"""What the lower floors say when a number cannot be right: the words an owner can act on."""

import numpy as np
import pytest

from aerolib import SpeedCorrection, Thrust, reduce_stalls
from aerolib import atmosphere as isa
from aerolib.estimate import Source
from aerolib.measured.airspeed.correction import equivalent_airspeed
from aerolib.measured.stalls import loadfactor
from aerolib.units import UnitProblem, parse_number, parse_quantity, unit


@pytest.mark.parametrize(
    "text, kind, words",
    [
        ("48", "speed", "'48' has no unit; write for example \"48 kt\""),
        ("1.05", "length", "has no unit"),
        (48, "speed", '48 has no unit; write it as text with its unit, such as "48 kt"'),
        (None, "mass", "has no unit"),
        ("48 kg", "speed", "'kg' is a unit of mass; needed is a speed: m/s, kt, mph"),
        ("48 kt/s", "speed", "'kt/s' is a unit of acceleration"),
        ("15 deg", "temperature", "'deg' is a unit of angle; needed is a temperature"),
        ("3000 sq ft", "altitude", "'sq ft' is a unit of area; needed is a altitude|needed is an altitude"),
        ("1,5 m", "length", "'1,5' has a comma; write 1.5 with a decimal point"),
        ("1.000,5 m", "length", "has a comma"),
        ("1,000 lb", "mass", "thousands without a mark"),
        ("nan kt", "speed", "'nan kt' is not a number with a unit"),
        ("inf kt", "speed", "'inf kt' is not a number with a unit"),
        ("-inf kt", "speed", "is not a number with a unit"),
        ("1e999 kt", "speed", "'1e999' is not a finite number"),
        ("1.2.3 kt", "speed", "'1.2.3' is not a finite number"),
        ("kt 48", "speed", "'kt 48' is not a number with a unit; write for example \"48 kt\""),
        ("", "speed", "is not a number with a unit"),
        ("   ", "area", 'write for example "14.2 m2"'),
        ("48 knot", "speed", "the unit 'knot' is not known; did you mean 'knots'?"),
        ("48 kps", "speed", "the unit 'kps' is not known; did you mean 'kph'|did you mean 'kts'"),
        ("600 lbss", "mass", "did you mean 'lbs'?"),
        ("2 inch", "length", "the unit 'inch' is not known; did you mean 'in'?"),
        ("48 zzzz", "speed", r"the unit 'zzzz' is not known; a speed may be in m/s, kt, mph, km/h, ft/min, ft/s$"),
    ],
)
def test_text_that_is_no_quantity(text, kind, words):
    with pytest.raises(UnitProblem, match=words):
        parse_quantity(text, kind)


@pytest.mark.parametrize("text, words", [("nan", "not a finite number"), ("inf", "not a finite number"),
                                         ("", "not a finite number"), ("1,5", "has a comma"), ("0x10", "not a finite"),
                                         ("1_000", "not a finite number"), ("4 8", "not a finite number")])  # fmt: skip
def test_text_that_is_no_number(text, words):
    with pytest.raises(UnitProblem, match=words):
        parse_number(text)


def test_a_problem_with_a_unit_is_a_value_error():
    with pytest.raises(ValueError, match="not known"):
        unit("furlong", "length")


GOOD = dict(ias=[22.0, 23.0], wing_area=13.0, weight=[600.0, 605.0], reference_weight=620.0, speed_kind="steady")


@pytest.mark.parametrize(
    "change, words",
    [
        (dict(ias=[]), "no stalls were given; at least one is needed"),
        (dict(ias=[22.0, -23.0]), "ias must be positive and finite; value 1 is -23.0: leave the stall out, or give"),
        (dict(ias=[0.0, 23.0]), "ias must be positive and finite; value 0 is 0.0"),
        (dict(ias=[22.0, np.nan]), "ias must be positive and finite; value 1 is nan"),
        (dict(ias=[np.inf, 22.0]), "ias must be positive and finite; value 0 is inf"),
        (dict(weight=[600.0, 0.0]), "weight must be positive and finite; value 1 is 0.0"),
        (dict(weight=[-600.0, 600.0]), "weight must be positive and finite; value 0 is -600.0"),
        (dict(weight=np.nan), "weight must be positive and finite; value 0 is nan"),
        (dict(wing_area=0.0), "wing_area must be positive and finite"),
        (dict(wing_area=-13.0), "wing_area must be positive and finite; value 0 is -13.0"),
        (dict(wing_area=np.nan), "wing_area must be positive and finite; value 0 is nan"),
        (dict(reference_weight=0.0), "reference_weight must be positive and finite"),
        (dict(reference_weight=np.inf), "reference_weight must be positive and finite; value 0 is inf"),
        (dict(speed_kind="slowest"), "speed_kind 'slowest' is not one of minimum, break, steady, unknown"),
        (dict(speed_kind=["steady", "Break"]), "speed_kind 'Break' is not one of"),
        (dict(ended="spun"), "ended 'spun' is not one of break, mush, stop, early, unknown"),
        (dict(thrust={"idle": Thrust(1e5)}), "the thrust given is larger than the weight it would carry: is its unit"),
        (dict(pressure_altitude=[900.0, 12000.0]), "pressure altitude must lie between -1000 m and 11000 m"),
        (dict(temperature=15.0), r"between 200 K and 330 K \(-73 to 57 deg C\): is the unit right"),
        (dict(load_factor=[1.0, 0.0]), "load_factor"),
        (dict(load_factor=-1.0), "load_factor"),
        (dict(instrument=SpeedCorrection(add=[-25.0])), "airspeed|correction"),
        (dict(speed_kind="break", entry_rate=100.0), "entry_rate|airspeed"),
        (dict(sink_rate=[3.0, 400.0]), "sink rate must be smaller than the airspeed: is its unit right"),
    ],
)
def test_stalls_that_cannot_be(change, words):
    with pytest.raises(ValueError, match=words):
        reduce_stalls(**(GOOD | change))


def test_the_good_card_is_good():
    assert reduce_stalls(**GOOD)["before", "clean"].breaks == 2


def test_a_group_that_is_not_there():
    result = reduce_stalls(**GOOD)
    with pytest.raises(KeyError, match="no stalls of after, clean, idle; there are before, clean, idle"):
        result["after", "clean"]


@pytest.mark.parametrize(
    "ias, add, words",
    [
        ([20.0, 30.0], [1.0, 1.0, 1.0], "as many corrections as readings"),
        ([20.0, 30.0, 40.0], [1.0, 1.0], "as many corrections as readings"),
        ([[20.0, 30.0]], [[1.0, 1.0]], "as many corrections as readings"),
        ([np.nan, 30.0], [1.0, 1.0], "finite"),
        ([20.0, 30.0], [1.0, np.nan], "finite"),
        ([20.0, 20.0], [1.0, 2.0], "two values for one reading"),
        ([20.0, 30.0, 20.0], [1.0, 1.0, 1.5], "two values for one reading"),
        ([20.0, 30.0], [5.0, -6.0], "makes a faster reading the slower airspeed"),
        ([30.0, 20.0], [-10.0, 0.0], "makes a faster reading the slower airspeed"),
    ],
)
def test_corrections_that_cannot_be(ias, add, words):
    with pytest.raises(ValueError, match=words):
        SpeedCorrection(ias=ias, add=add)


@pytest.mark.parametrize("function", [isa.standard_temperature, isa.pressure, isa.density])
@pytest.mark.parametrize("altitude", [-1001.0, 11001.0, [0.0, 36000.0]])
def test_altitudes_outside_the_layer(function, altitude):
    with pytest.raises(ValueError, match="pressure altitude must lie between -1000 m and 11000 m"):
        function(altitude)


@pytest.mark.parametrize("altitude", [-1001.0, 11001.0])
def test_airspeed_outside_the_layer(altitude):
    with pytest.raises(ValueError, match="pressure altitude must lie between"):
        equivalent_airspeed(30.0, altitude)


@pytest.mark.parametrize("temperature", [15.0, -40.0, 331.0, [288.0, 59.0]])
def test_temperatures_in_the_wrong_unit(temperature):
    with pytest.raises(ValueError, match="air temperature must lie between 200 K and 330 K .* is the unit right"):
        isa.density(0.0, temperature)


@pytest.mark.parametrize("sink", [25.0, 30.0, -30.0, [2.0, 30.0]])
def test_a_glide_steeper_than_down(sink):
    with pytest.raises(ValueError, match="sink rate must be smaller than the airspeed: is its unit right"):
        loadfactor.glide_load_factor(sink, 25.0)


def test_an_unknown_scope():
    with pytest.raises(ValueError, match="scope 'everybody' is not one of shared, state, flight, stall"):
        Source("scales", "everybody")
