"""Units at the border: the only room that knows a unit other than SI.

Inside the library every number is SI (m, kg, s, N, K, rad). An owner writes "48 kt" or "1.05 m";
this room turns that into an SI float, or says what it could not read. What is kept here is the list of
spellings an owner may use, so that "kt" can never be taken for a kilotonne and a misspelling is answered
with the nearest name, and their sizes, which are exact by definition: a library of units costs more time
to load than all the rest of a first answer.
"""

from __future__ import annotations

import difflib
import functools
import math
import re
from dataclasses import dataclass

KNOT, FOOT, POUND, MILE = 1852.0 / 3600.0, 0.3048, 0.45359237, 1609.344  # [m/s], [m], [kg], [m], exact
_INCH, _G, _GALLON = 0.0254, 9.80665, 231.0 * 0.0254**3  # [m], [m/s2], [m3], exact
_LBF = POUND * _G  # [N]
_CELSIUS, _FAHRENHEIT = (1.0, 273.15), (5.0 / 9.0, 459.67 * 5.0 / 9.0)

# Per kind of quantity: what an owner writes -> its size in SI, or size and zero. The first entry is the SI unit.
SPELLINGS: dict[str, dict[str, float | tuple[float, float]]] = {
    "speed": {
        "m/s": 1.0,
        "kt": KNOT,
        "kts": KNOT,
        "knots": KNOT,
        "mph": MILE / 3600.0,
        "km/h": 1.0 / 3.6,
        "kph": 1.0 / 3.6,
        "ft/min": FOOT / 60.0,
        "fpm": FOOT / 60.0,
        "ft/s": FOOT,
    },
    "mass": {"kg": 1.0, "g": 1e-3, "lb": POUND, "lbs": POUND},
    "length": {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "ft": FOOT, "in": _INCH},
    "area": {"m2": 1.0, "m^2": 1.0, "sq m": 1.0, "sq ft": FOOT**2, "ft2": FOOT**2, "ft^2": FOOT**2},
    "volume": {
        "m3": 1.0,
        "l": 1e-3,
        "litre": 1e-3,
        "liter": 1e-3,
        "L": 1e-3,
        "US gal": _GALLON,
        "imp gal": 4.54609e-3,
    },
    "density": {"kg/m3": 1.0, "kg/l": 1e3, "lb/US gal": POUND / _GALLON},
    "temperature": {
        "K": 1.0,
        "deg C": _CELSIUS,
        "degC": _CELSIUS,
        "°C": _CELSIUS,
        "C": _CELSIUS,
        "deg F": _FAHRENHEIT,
        "degF": _FAHRENHEIT,
        "°F": _FAHRENHEIT,
        "F": _FAHRENHEIT,
    },
    "altitude": {"m": 1.0, "ft": FOOT},
    "pressure": {"Pa": 1.0, "hPa": 100.0, "mbar": 100.0, "inHg": 13595.1 * _G * _INCH},
    "angle": {"rad": 1.0, "deg": math.pi / 180.0, "°": math.pi / 180.0},
    "force": {"N": 1.0, "lbf": _LBF, "daN": 10.0},
    "acceleration": {"m/s2": 1.0, "kt/s": KNOT, "mph/s": MILE / 3600.0, "km/h/s": 1.0 / 3.6},
    "rotation": {"rad/s": 1.0, "rpm": 2.0 * math.pi / 60.0},
    "time": {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0},
    "power": {"W": 1.0, "kW": 1e3, "hp": 550.0 * FOOT * _LBF},
    "ratio": {"-": 1.0, "": 1.0, "%": 0.01},
}

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
    size = spellings[name]
    return Unit(name, kind, *(size if isinstance(size, tuple) else (size, 0.0)))


def _offer(kind: str) -> str:
    return ", ".join(s or "(none)" for s in offered(kind))


def offered(kind: str) -> list[str]:
    """One spelling for each unit of a kind, the first."""
    shown: dict[float | tuple[float, float], str] = {}
    for spelling, size in SPELLINGS[kind].items():
        shown.setdefault(size, spelling)
    return list(shown.values())


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
