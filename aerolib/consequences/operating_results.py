"""What the operating speeds give back: before and after, in words and as plain data."""

from __future__ import annotations

import html
import math
from dataclasses import dataclass, field

from aerolib.units import knots

SOURCE = (
    "approach 1.3 times the landing stall speed: 14 CFR 23.73 before amendment 64 (from memory); distances: Anderson, "
    "Aircraft Performance and Design (from memory); 1.2 times the stall speed over the obstacle: 14 CFR 23.53 (from "
    "memory); limit-load speed 14 CFR 23.335(c) (from memory; 25.335(c), read, has the same form)"
)
CAUTIONS = (
    "A number from a calculation is not an approach speed: approved data, placards and local rules stand unchanged.",
    "Take-off at the new stall speed leaves no margin for an engine that stops: the nose must come down at once, and "
    "there may be no height to do it.",
    "Below the speed of least power, slower is steeper: the sink needs power to arrest it, and a pull only adds to it.",
    "Rain or bugs on the wing, a wider spread of technique, floating and a late touchdown are not in it: distances are "
    "to be multiplied by what your own rules ask.",
)


@dataclass(frozen=True)
class Speeds:
    """The answers for one modification at one mass; speeds calibrated [m/s], distances [m]."""

    modification: str
    mass: float  # [kg]
    stall_speed: float
    approach: float  # uncertainty added on the slow side
    approach_interval95: tuple[float, float]  # of the factor times the larger of stall and tail speed, and the gust
    approach_indicated: float | None
    approach_indicated_within: float | None
    tail_sets_it: bool
    minimum_power: tuple[float, float]  # low and high
    minimum_sink_note: str
    manoeuvring: float | None  # full input reaches the limit load
    manoeuvring_interval95: tuple[float, float] | None
    manoeuvring_indicated: float | None
    landing_roll: float
    landing_roll_interval95: tuple[float, float]
    landing_over_obstacle: float
    landing_over_obstacle_interval95: tuple[float, float]
    take_off_roll: float | None
    take_off_roll_interval95: tuple[float, float] | None
    take_off_over_obstacle: float | None
    take_off_over_obstacle_interval95: tuple[float, float] | None
    climb_speed: float | None  # of the steepest climb, never below 1.2 times the stall speed
    climb_gradient: float | None  # [-]
    climb_gradient_interval95: tuple[float, float] | None

    def headline(self) -> str:
        """One sentence with speeds in knots and metres."""
        shown = (
            "no indicated speed"
            if self.approach_indicated is None
            else f"{knots(self.approach_indicated):.0f} kt on the needle"
        )
        tail = " (set by the tail, not the wing)" if self.tail_sets_it else ""
        low, high = self.landing_roll_interval95
        return (
            f"{self.modification}, {self.mass:.0f} kg: stall {knots(self.stall_speed):.1f} kt, approach "
            f"{knots(self.approach):.1f} kt CAS{tail}, {shown}; landing roll {self.landing_roll:.0f} m ({low:.0f} to "
            f"{high:.0f} m)"
        )


@dataclass(frozen=True)
class OperatingSpeeds:
    """Before and after, at one mass."""

    items: tuple[Speeds, ...]
    factor: float
    roll_ratio: float | None  # landing roll, last over first [-]
    roll_ratio_interval95: tuple[float, float] | None
    take_off_ratio: float | None  # take-off roll, last over first, at the same thrust [-]
    take_off_ratio_interval95: tuple[float, float] | None
    inputs: dict[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    source: str = SOURCE
    cautions: tuple[str, ...] = CAUTIONS

    def lines(self) -> list[str]:
        """The answers in sentences: what changes first, then metres."""
        out = []
        for name, ratio, ends in (
            ("landing roll", self.roll_ratio, self.roll_ratio_interval95),
            ("take-off roll", self.take_off_ratio, self.take_off_ratio_interval95),
        ):
            if ratio is not None:
                middle, low, high = (round(100 * (x - 1)) for x in (ratio, *ends))
                out.append(
                    f"{name} changes by {middle:+d} % ({low:+d} to {high:+d} %), if flown at the same "
                    "factor of the stall speed"
                )
        return [*out, *(i.headline() for i in self.items), *self.notes]

    def __str__(self) -> str:
        return "\n".join(self.lines())

    def _repr_html_(self) -> str:
        rows = "".join(f"<li>{html.escape(x)}</li>" for x in self.lines())
        notes = "".join(f"<li>{html.escape(n)}</li>" for n in self.cautions)
        return f"<ul>{rows}</ul><ul class='cautions'>{notes}</ul><p>{html.escape(self.source)}.</p>"

    def as_list(self) -> list[dict]:
        """Plain data for the JSON: knots CAS unless the name says indicated, metres; unknown or without end is None."""
        return [_plain(i) for i in self.items]


def _number(value, digits, unit=float):
    return None if value is None or not math.isfinite(value) else round(unit(value), digits)


def _plain(i: Speeds) -> dict:
    def pair(value, ends, digits=2, unit=knots):
        both = None if ends is None else [_number(x, digits, unit) for x in ends]
        return {"value": _number(value, digits, unit), "interval95": None if both is None or None in both else both}

    distances = ("landing_roll", "landing_over_obstacle", "take_off_roll", "take_off_over_obstacle")
    return {
        "modification": i.modification,
        "weight_kg": round(i.mass, 1),
        "stall_speed_kt": round(knots(i.stall_speed), 2),
        "approach_kt": pair(i.approach, i.approach_interval95),
        "approach_indicated_kt": _number(i.approach_indicated, 2, knots),
        "approach_set_by_tail": bool(i.tail_sets_it),
        "manoeuvring_kt": pair(i.manoeuvring, i.manoeuvring_interval95),
        "manoeuvring_indicated_kt": _number(i.manoeuvring_indicated, 2, knots),
        **{f"{n}_m": pair(getattr(i, n), getattr(i, f"{n}_interval95"), 1, float) for n in distances},
        "climb_speed_kt": _number(i.climb_speed, 2, knots),
        "climb_gradient_percent": pair(i.climb_gradient, i.climb_gradient_interval95, 2, lambda x: 100.0 * x),
    }
