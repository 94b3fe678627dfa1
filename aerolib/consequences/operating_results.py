"""What the operating speeds give back: before and after, in words and as plain data."""

from __future__ import annotations

import html
import math
from dataclasses import dataclass, field

from aerolib.estimate import Estimate
from aerolib.units import knots, on_dial

ONE_G, LOWEST, TAIL = "1-g stall speed", "lowest steady speed reached", "slowest speed the tail can hold"

SOURCE = (
    "the factor 1.3 is that of 14 CFR 23.73 before amendment 64, which takes the minimum speed V_S0 (from memory); "
    "distances: Anderson, Aircraft Performance and Design (from memory); 1.2 times the stall speed over the obstacle: "
    "14 CFR 23.53 (from memory); V_O: 14 CFR 23.1507 (from memory), V_S sqrt(n) as in 23.335(c) (from memory; "
    "25.335(c), read, has the same form)"
)
CAUTIONS = (
    "A number from a calculation is not an approach speed: approved data, placards and local rules stand unchanged.",
    "It is not the rule's number either: V_REF of 14 CFR 23.73 is 1.3 times the minimum speed V_S0 (from memory), and "
    "this one stands on the speed that is named beside it, its uncertainty added.",
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
    approach_stands_on: str  # ONE_G, LOWEST or TAIL
    minimum_power: tuple[float, float]  # low and high
    minimum_sink_note: str
    maneuvering: float | None  # V_O: one full input reaches the limit load
    maneuvering_interval95: tuple[float, float] | None
    maneuvering_indicated: float | None
    clean_calibrated: bool  # the airspeed system of this state, flaps up
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

    @property
    def tail_sets_it(self) -> bool:
        """The tail, not the wing, sets the approach."""
        return self.approach_stands_on == TAIL

    def headline(self, factor: float, dial_unit: str) -> str:
        """One sentence: calibrated speeds in knots, the dial's in its own unit, distances in meters."""
        shown = (
            "no indicated speed"
            if self.approach_indicated is None
            else f"{on_dial(self.approach_indicated, dial_unit)} indicated"
        )
        low, high = self.landing_roll_interval95
        return (
            f"{self.modification}, {self.mass:.0f} kg: stall {knots(self.stall_speed):.1f} kt CAS; approach "
            f"{knots(self.approach):.1f} kt CAS ({factor:g} times the {self.approach_stands_on}; not the rule's V_REF)"
            f", {shown}; landing roll {self.landing_roll:.0f} m ({low:.0f} to {high:.0f} m)"
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
    lift_change: tuple[Estimate, str] | None = None  # CLmax flaps up, last over first, and the verdict on it
    dial_unit: str = "kt"  # of the airspeed indicator
    inputs: dict[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    source: str = SOURCE
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def maneuvering_ratio(self) -> tuple[float, tuple[float, float]] | None:
        """V_O last over first with its 95 % ends [-]: the root of the ratio of CLmax, never of two careful ends."""
        if self.lift_change is None or self.one_calibrated is not None:
            return None
        lift = self.lift_change[0]
        low, high = (1.0 / math.sqrt(x) for x in lift.interval95[::-1])
        return 1.0 / math.sqrt(lift.value), (low, high)

    @property
    def one_calibrated(self) -> str | None:
        """The one of first and last modification whose airspeed system is calibrated, where the other's is not."""
        two = (self.items[0], self.items[-1])
        have = [i.modification for i in two if i.clean_calibrated]
        return have[0] if len(have) == 1 and len(self.items) > 1 else None

    def maneuvering_words(self) -> str | None:
        """What becomes of V_O; None where there is nothing to say it from."""
        first, last = self.items[0], self.items[-1]
        if len(self.items) < 2 or None in (first.maneuvering, last.maneuvering):
            return None
        what = f"V_O, the operating maneuvering speed at {last.mass:.0f} kg"
        if self.one_calibrated is not None:
            return (
                f"{what}: no change is given, because only '{self.one_calibrated}' has its airspeed calibrated flaps up"
                "; it falls when CLmax rises. V_A in the approved data and its placard stay"
            )
        if self.maneuvering_ratio is None:
            return None
        ratio, ends = self.maneuvering_ratio
        middle, low, high = (100.0 * (x - 1.0) for x in (ratio, *ends))
        way = "falls" if middle < 0.0 else "rises"
        old = ": below the old one the structure is no longer protected" if middle < 0.0 else ""
        return (
            f"{what}, {way} by {abs(middle):.0f} % ({low:+.0f} to {high:+.0f} %), from the ratio of CLmax (flaps up: "
            f"{self.lift_change[1]}){old}. V_A in the approved data and its placard stay"
        )

    def lines(self) -> list[str]:
        """The answers in sentences: what changes first, then meters."""
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
        return [*out, *(i.headline(self.factor, self.dial_unit) for i in self.items), *self.notes]

    def __str__(self) -> str:
        return "\n".join(self.lines())

    def _repr_html_(self) -> str:
        rows = "".join(f"<li>{html.escape(x)}</li>" for x in self.lines())
        notes = "".join(f"<li>{html.escape(n)}</li>" for n in self.cautions)
        return f"<ul>{rows}</ul><ul class='cautions'>{notes}</ul><p>{html.escape(self.source)}.</p>"

    def as_list(self) -> list[dict]:
        """Plain data for the JSON: knots CAS unless the name says indicated, meters; unknown or without end is None."""
        ratio = self.maneuvering_ratio or (None, None)
        change = {"manoeuvring_ratio": _number(ratio[0], 4), "manoeuvring_ratio_interval95": ratio[1] and [
            _number(x, 4) for x in ratio[1]]}  # fmt: skip
        nothing = dict.fromkeys(change)
        return [_plain(i) | (change if k == len(self.items) - 1 else nothing) for k, i in enumerate(self.items)]


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
        "approach_stands_on": i.approach_stands_on,
        "manoeuvring_kt": pair(i.maneuvering, i.maneuvering_interval95),
        "calibrated_flaps_up": i.clean_calibrated,
        "manoeuvring_indicated_kt": _number(i.maneuvering_indicated, 2, knots),
        **{f"{n}_m": pair(getattr(i, n), getattr(i, f"{n}_interval95"), 1, float) for n in distances},
        "climb_speed_kt": _number(i.climb_speed, 2, knots),
        "climb_gradient_percent": pair(i.climb_gradient, i.climb_gradient_interval95, 2, lambda x: 100.0 * x),
    }
