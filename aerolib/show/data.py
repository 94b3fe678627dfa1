"""Plain numbers for the JSON: the contract's unit and digits, in one place."""

from __future__ import annotations

import math
from collections.abc import Sequence

from aerolib.units import from_si, knots


def kt(speed: float | None, digits: int = 2) -> float | None:
    """Knots of a speed [m/s]; null where it is not known."""
    return None if speed is None or not math.isfinite(speed) else round(float(knots(speed)), digits)


def deg(angle: float | None, digits: int = 2) -> float | None:
    """Degrees of an angle [rad]; null where it is not known."""
    return None if angle is None or not math.isfinite(angle) else round(float(from_si(angle, "deg", "angle")), digits)


def plain(value: float | None, digits: int = 6) -> float | None:
    """A number to so many significant digits [any unit]; null where it is not known."""
    return None if value is None or not math.isfinite(value) else float(f"{value:.{digits}g}")


def pair(ends: Sequence[float | None] | None, of=plain) -> list[float | None] | None:
    """Both ends of an interval [any unit], each through `of`."""
    return None if ends is None else [of(x) for x in ends]


def decimals(value: float | None, digits: int = 3) -> float | None:
    """A number to so many decimals [any unit]; null where it is not known."""
    return None if value is None or not math.isfinite(value) else round(float(value), digits)
