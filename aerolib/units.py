"""Units at the border: the only room that knows a unit other than SI.

Inside the library every number is SI (m, kg, s, N, K, rad). An owner writes "48 kt" or "1.05 m";
this room turns that into an SI float, or says what it could not read. The conversion factors are
pint's; what is kept here is the list of spellings an owner may use, so that "kt" can never be
taken for a kilotonne and a misspelling is answered with the nearest name.
"""

from __future__ import annotations

import difflib
import functools
import math
import re
from dataclasses import dataclass

# Per kind of quantity: what an owner writes -> what pint calls it. The first entry is the SI unit.
SPELLINGS: dict[str, dict[str, str]] = {
    "speed": {
        "m/s": "m/s",
        "kt": "knot",
        "kts": "knot",
        "knots": "knot",
        "mph": "mile/hour",
        "km/h": "km/hour",
        "kph": "km/hour",
        "ft/min": "ft/min",
        "fpm": "ft/min",
        "ft/s": "ft/s",
    },
    "mass": {"kg": "kg", "g": "g", "lb": "lb", "lbs": "lb"},
    "length": {"m": "m", "mm": "mm", "cm": "cm", "ft": "ft", "in": "inch"},
    "area": {"m2": "m**2", "m^2": "m**2", "sq m": "m**2", "sq ft": "ft**2", "ft2": "ft**2", "ft^2": "ft**2"},
    "volume": {
        "m3": "m**3",
        "l": "liter",
        "litre": "liter",
        "liter": "liter",
        "L": "liter",
        "US gal": "US_liquid_gallon",
        "imp gal": "imperial_gallon",
    },
    "density": {"kg/m3": "kg/m**3", "kg/l": "kg/liter", "lb/US gal": "lb/US_liquid_gallon"},
    "temperature": {
        "K": "kelvin",
        "deg C": "degC",
        "degC": "degC",
        "°C": "degC",
        "C": "degC",
        "deg F": "degF",
        "degF": "degF",
        "°F": "degF",
        "F": "degF",
    },
    "altitude": {"m": "m", "ft": "ft"},
    "pressure": {"Pa": "Pa", "hPa": "hPa", "mbar": "hPa", "inHg": "inHg"},
    "angle": {"rad": "rad", "deg": "deg", "°": "deg"},
    "force": {"N": "N", "lbf": "lbf", "daN": "daN"},
    "acceleration": {"m/s2": "m/s**2", "kt/s": "knot/s", "mph/s": "mile/hour/s", "km/h/s": "km/hour/s"},
    "rotation": {"rad/s": "rad/s", "rpm": "rpm"},
    "time": {"s": "s", "ms": "millisecond", "min": "minute", "h": "hour"},
    "power": {"W": "W", "kW": "kW", "hp": "hp"},
    "ratio": {"-": "dimensionless", "": "dimensionless", "%": "percent"},
}

KNOT, FOOT, POUND, MILE = 1852.0 / 3600.0, 0.3048, 0.45359237, 1609.344  # [m/s], [m], [kg], [m], exact

DASHES = "\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d"  # they look like a keyboard's minus sign
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")


class UnitProblem(ValueError):
    """A text that cannot be read as a quantity: says what was given, what is needed and what to do."""


@dataclass(frozen=True)
class Unit:
    """One unit as a straight line to SI: value_SI = factor * value + offset."""

    text: str
    kind: str
    factor: float
    offset: float

    def to_si(self, value):
        """SI value of `value` given in this unit (float or array)."""
        return value * self.factor + self.offset

    def from_si(self, value):
        """Value in this unit of an SI `value` (float or array)."""
        return (value - self.offset) / self.factor


PLAIN = Unit("", "", 1.0, 0.0)  # of numbers without one


@functools.cache
def _registry():
    import pint  # loading its definitions costs about 0.15 s: only when a unit is first met

    return pint.UnitRegistry()


@functools.cache
def unit(text: str, kind: str) -> Unit:
    """The unit that `text` spells, for a quantity of this kind.

    Parameters
    ----------
    text : str [-]
        As the owner writes it, e.g. "kt" or "sq ft".
    kind : str [-]
        A key of `SPELLINGS`.

    Returns
    -------
    Unit [-]

    Raises
    ------
    UnitProblem
        The spelling is unknown, or belongs to another kind of quantity.
    """
    if kind not in SPELLINGS:
        raise UnitProblem(f"'{kind}' is not a kind of quantity; known are {', '.join(SPELLINGS)}")
    spellings = SPELLINGS[kind]
    a_kind = f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"
    name = " ".join(text.split())
    if name not in spellings:
        folded = {s.lower(): s for s in spellings}
        name = folded.get(name.lower(), name)
    if name not in spellings:
        others = [k for k, s in SPELLINGS.items() if name in s]
        if others:
            raise UnitProblem(f"'{text}' is a unit of {others[0]}; needed is {a_kind}: {_offer(kind)}")
        near = difflib.get_close_matches(name, spellings, n=1, cutoff=0.5)
        hint = f"did you mean '{near[0]}'? " if near else ""
        raise UnitProblem(f"the unit '{text}' is not known; {hint}{a_kind} may be in {_offer(kind)}")
    quantity = _registry().Quantity
    si = next(iter(spellings.values()))
    zero, one = (quantity(v, spellings[name]).to(si).magnitude for v in (0.0, 1.0))
    return Unit(name, kind, one - zero, zero)


def _offer(kind: str) -> str:
    shown: dict[str, str] = {}
    for spelling, pint_name in SPELLINGS[kind].items():
        shown.setdefault(pint_name, spelling or "(none)")
    return ", ".join(shown.values())


def to_si(value, unit_text: str, kind: str):
    """SI value [SI unit] of `value` [the unit named], for a float or an array."""
    return unit(unit_text, kind).to_si(value)


def from_si(value, unit_text: str, kind: str):
    """Value [the unit named] of a `value` [SI unit], for a float or an array."""
    return unit(unit_text, kind).from_si(value)


def knots(speed):
    """Speed in knots of a speed [m/s], float or array."""
    return from_si(speed, "kt", "speed")


def on_dial(reading, unit_text: str, places: int = 0, sign: str = "") -> str:
    """'48 mph': a reading [m/s] as a dial marked in this unit shows it; `sign` '+' for what is added to one."""
    return f"{from_si(float(reading), unit_text, 'speed'):{sign}.{places}f} {unit_text}"


def dash_hint(text: str) -> str:
    """What to do about a dash that looks like a minus sign; empty where there is none."""
    return "write its minus sign as '-', the hyphen of the keyboard" if any(d in text for d in DASHES) else ""


def parse_number(text: str) -> float:
    """A finite decimal number, or UnitProblem saying why not."""
    text = text.strip().replace("\u2212", "-")
    if dash_hint(text):
        raise UnitProblem(f"'{text}' is not a finite number; {dash_hint(text)}")
    if _NUMBER.fullmatch(text):
        value = float(text)
        if math.isfinite(value):
            return value
    if "," in text:
        raise UnitProblem(f"'{text}' has a comma; write 1.5 with a decimal point, and thousands without a mark")
    raise UnitProblem(f"'{text}' is not a finite number")


def parse_quantity(text: str, kind: str) -> float:
    """SI value of a text such as "48 kt": value_SI = factor * value + offset.

    Parameters
    ----------
    text : str [-]
        Number, then unit; a space between them is optional.
    kind : str [-]
        A key of `SPELLINGS`: "speed", "mass", "length", ...

    Returns
    -------
    float [SI unit of the kind]

    Raises
    ------
    UnitProblem
        No number, no unit, an unknown unit, or a unit of another kind.
    """
    if not isinstance(text, str):
        raise UnitProblem(f'{text!r} has no unit; write it as text with its unit, such as "{_example(kind)}"')
    match = re.match(r"\s*([+\-\u2212]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(.*?)\s*$", text)
    if not match:
        if dash_hint(text):
            raise UnitProblem(f"'{text}' is not a number with a unit; {dash_hint(text)}")
        raise UnitProblem(f"'{text}' is not a number with a unit; write for example \"{_example(kind)}\"")
    number, name = match.groups()
    value = parse_number(number)
    if not name and "" not in SPELLINGS[kind]:
        raise UnitProblem(f"'{text}' has no unit; write for example \"{number} {_preferred(kind)}\"")
    return float(unit(name, kind).to_si(value))


def _preferred(kind: str) -> str:
    return {
        "speed": "kt",
        "mass": "kg",
        "temperature": "deg C",
        "altitude": "ft",
        "angle": "deg",
        "acceleration": "kt/s",
        "rotation": "rpm",
        "volume": "l",
        "density": "kg/l",
        "pressure": "hPa",
    }.get(kind, next(iter(SPELLINGS[kind])))


def _example(kind: str) -> str:
    number = {
        "speed": "48",
        "mass": "620",
        "length": "1.05",
        "area": "14.2",
        "temperature": "15",
        "altitude": "3000",
        "angle": "2",
    }.get(kind, "1")
    return f"{number} {_preferred(kind)}".strip()
