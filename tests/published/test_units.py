"""Every spelling an owner may use against the exact international definitions, as scipy.constants holds them."""

import math

import pytest
from scipy import constants as c

from aerolib import units

# International yard and pound (1959), nautical mile (1929), SI Brochure; gallons: US 231 cubic inches,
# imperial 4.54609 l. inHg is not in scipy: 3386.389 Pa, conventional mercury, from memory to 7 digits.
INCH_OF_MERCURY = 3386.389
EXPECTED = {
    "speed": {
        "m/s": 1.0, "kt": c.knot, "kts": c.knot, "knots": c.knot, "mph": c.mile / c.hour,
        "km/h": c.kilo / c.hour, "kph": c.kilo / c.hour,
        "ft/min": c.foot / c.minute, "fpm": c.foot / c.minute, "ft/s": c.foot,
    },
    "mass": {"kg": 1.0, "g": c.gram, "lb": c.pound, "lbs": c.pound},
    "length": {"m": 1.0, "mm": c.milli, "cm": c.centi, "ft": c.foot, "in": c.inch},
    "area": {"m2": 1.0, "m^2": 1.0, "sq m": 1.0, "sq ft": c.foot**2, "ft2": c.foot**2, "ft^2": c.foot**2},
    "volume": {
        "m3": 1.0, "l": c.liter, "litre": c.liter, "liter": c.liter, "L": c.liter,
        "US gal": c.gallon, "imp gal": c.gallon_imp,
    },
    "density": {"kg/m3": 1.0, "kg/l": 1.0 / c.liter, "lb/US gal": c.pound / c.gallon},
    "altitude": {"m": 1.0, "ft": c.foot},
    "pressure": {"Pa": 1.0, "hPa": c.hecto, "mbar": c.milli * c.bar, "inHg": INCH_OF_MERCURY},
    "angle": {"rad": 1.0, "deg": c.degree, "°": c.degree},
    "force": {"N": 1.0, "lbf": c.lbf, "daN": 10.0},
    "acceleration": {
        "m/s2": 1.0, "kt/s": c.knot, "mph/s": c.mile / c.hour, "km/h/s": c.kilo / c.hour,
    },
    "rotation": {"rad/s": 1.0, "rpm": 2.0 * math.pi / c.minute},
    "time": {"s": 1.0, "ms": c.milli, "min": c.minute, "h": c.hour},
    "power": {"W": 1.0, "kW": c.kilo, "hp": c.hp},
    "ratio": {"-": 1.0, "": 1.0, "%": 0.01},
}  # fmt: skip
TEMPERATURES = {
    "K": "Kelvin", "deg C": "Celsius", "degC": "Celsius", "°C": "Celsius", "C": "Celsius",
    "deg F": "Fahrenheit", "degF": "Fahrenheit", "°F": "Fahrenheit", "F": "Fahrenheit",
}  # fmt: skip


def test_no_spelling_is_left_unchecked():
    known = {kind: set(spellings) for kind, spellings in units.SPELLINGS.items()}
    assert known == {**{kind: set(table) for kind, table in EXPECTED.items()}, "temperature": set(TEMPERATURES)}


@pytest.mark.parametrize("kind, text", [(kind, text) for kind, table in EXPECTED.items() for text in table])
def test_factor(kind, text):
    tolerance = 0.5e-3 / INCH_OF_MERCURY if text == "inHg" else 1e-13
    assert units.to_si(3.0, text, kind) == pytest.approx(3.0 * EXPECTED[kind][text], rel=tolerance)
    assert units.from_si(units.to_si(3.0, text, kind), text, kind) == pytest.approx(3.0, rel=1e-13)
    assert units.to_si(0.0, text, kind) == 0.0


@pytest.mark.parametrize("text, scale", TEMPERATURES.items())
@pytest.mark.parametrize("value", [-40.0, 0.0, 15.0, 59.0, 300.0])
def test_temperature(text, scale, value):
    expected = c.convert_temperature(value, scale, "Kelvin")
    assert units.to_si(value, text, "temperature") == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("kind, text", [(kind, text) for kind, table in EXPECTED.items() for text in table])
def test_text_with_its_unit(kind, text):
    tolerance = 0.5e-3 / INCH_OF_MERCURY if text == "inHg" else 1e-13
    assert units.parse_quantity(f"2.5 {text}", kind) == pytest.approx(2.5 * EXPECTED[kind][text], rel=tolerance)
    assert units.parse_quantity(f" -2.5e0{text} ", kind) == pytest.approx(-2.5 * EXPECTED[kind][text], rel=tolerance)


def test_first_spelling_is_the_si_unit():
    for kind, spellings in units.SPELLINGS.items():
        si = next(iter(spellings))
        assert units.to_si(1.0, si, kind) == 1.0, kind


def test_capitals_and_the_typographic_minus_are_read():
    assert units.parse_quantity("48 KT", "speed") == pytest.approx(48 * c.knot, rel=1e-13)
    assert units.parse_quantity("\u22125 deg C", "temperature") == pytest.approx(c.zero_Celsius - 5, rel=1e-13)
