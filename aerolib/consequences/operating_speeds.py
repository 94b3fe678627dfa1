"""What a change of the stall speed means for approach, landing, take-off and the limit load."""

from __future__ import annotations

import html
import math
from dataclasses import dataclass, field

import numpy as np

from aerolib.consequences.distances import Ground, landing_air_distance, landing_roll, take_off_roll
from aerolib.units import knots

GRAVITY = 9.80665  # [m/s2]
FEWEST = 1.2  # times the stall speed: no slower approach speed is printed
ROLL_DRAG, ROLL_LIFT = (0.07, 0.16), (0.2, 0.7)  # coefficients on the ground, flaps and gear out: a judgement of ours

SOURCE = (
    "approach 1.3 times the landing stall speed: 14 CFR 23.73 before amendment 64; distances: Anderson, Aircraft "
    "Performance and Design; speeds of least power and sink from CD0 and the span's efficiency"
)
CAUTIONS = (
    "A number from a calculation is not an approach speed: approved data, placards and local rules stand unchanged.",
    "Take-off at the new stall speed leaves no margin for an engine that stops: the nose must come down at once, and "
    "there may be no height to do it.",
    "A slower approach is steeper in the back of the power curve: sink needs power to arrest it.",
    "Gusts, crosswind, rain or bugs on the wing and a wider spread of technique are not in it.",
)


@dataclass(frozen=True)
class Needle:
    """What the indicator shows of a calibrated speed in one state."""

    reading: np.ndarray  # [m/s], rising
    calibrated: np.ndarray  # [m/s]
    within: float  # of the calibrated speed, nineteen times in twenty [m/s]

    def shows(self, calibrated: float) -> float:
        """The reading at a calibrated speed [m/s]; ends held by their difference."""
        c = np.asarray(self.calibrated, float)
        difference = np.interp(calibrated, c, np.asarray(self.reading, float) - c)
        return float(calibrated + difference)


@dataclass(frozen=True)
class State:
    """One modification, landing configuration: what was measured of it."""

    modification: str
    stall_speed: float  # 1-g, calibrated, landing configuration, at the mass asked for [m/s]
    stall_uncertainty: float  # 1 sigma, all of it [m/s]
    clean_stall_speed: float | None = None  # flaps up, for the limit load [m/s]
    clean_uncertainty: float = 0.0
    needle: Needle | None = None  # None: not calibrated in this state
    slowest_tail_speed: float | None = None  # the slowest the tail can hold [m/s]
    zero_lift_drag: tuple[float, float] = (0.05, 0.09)  # landing configuration, low and high [-]
    shared: float = 0.0  # correlation of the stall speed's error with that of the other states [-]


@dataclass(frozen=True)
class Speeds:
    """The answers for one modification."""

    modification: str
    stall_speed: float
    approach: float  # calibrated, uncertainty added on the slow side [m/s]
    approach_interval95: tuple[float, float]  # of the bare factor times the stall speed
    approach_indicated: float | None
    tail_sets_it: bool
    minimum_power: tuple[float, float]  # low and high [m/s]
    minimum_sink_note: str
    manoeuvring: float | None  # full input reaches the limit load [m/s]
    manoeuvring_interval95: tuple[float, float] | None
    manoeuvring_indicated: float | None
    landing_roll: float  # [m]
    landing_roll_interval95: tuple[float, float]
    landing_over_obstacle: float
    landing_over_obstacle_interval95: tuple[float, float]
    take_off_roll: float | None
    take_off_roll_interval95: tuple[float, float] | None

    def headline(self) -> str:
        """One sentence with speeds in knots and metres."""
        shown = (
            "no indicated speed: not calibrated in this state"
            if self.approach_indicated is None
            else f"{knots(self.approach_indicated):.0f} kt on the needle"
        )
        tail = " (set by the tail, not the wing)" if self.tail_sets_it else ""
        low, high = self.landing_roll_interval95
        return (
            f"{self.modification}: stall {knots(self.stall_speed):.1f} kt, approach {knots(self.approach):.1f} kt CAS"
            f"{tail}, {shown}; landing roll {self.landing_roll:.0f} m ({low:.0f} to {high:.0f} m)"
        )


@dataclass(frozen=True)
class OperatingSpeeds:
    """Before and after."""

    items: tuple[Speeds, ...]
    factor: float
    roll_ratio: float | None  # landing roll after over before [-]
    roll_ratio_interval95: tuple[float, float] | None
    inputs: dict[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    source: str = SOURCE
    cautions: tuple[str, ...] = CAUTIONS

    def lines(self) -> list[str]:
        """The answers in sentences."""
        out = [i.headline() for i in self.items]
        if self.roll_ratio is not None:
            low, high = self.roll_ratio_interval95
            out.append(
                f"landing roll changes by {100 * (self.roll_ratio - 1):+.0f} % ({100 * (low - 1):+.0f} to "
                f"{100 * (high - 1):+.0f} %), if the approach is flown at the same factor"
            )
        return [*out, *self.notes]

    def __str__(self) -> str:
        return "\n".join(self.lines())

    def _repr_html_(self) -> str:
        rows = "".join(f"<li>{html.escape(x)}</li>" for x in self.lines())
        notes = "".join(f"<li>{html.escape(n)}</li>" for n in self.cautions)
        return f"<ul>{rows}</ul><ul class='cautions'>{notes}</ul><p>{html.escape(self.source)}.</p>"

    def as_list(self) -> list[dict]:
        """Plain data for the JSON: knots CAS unless the name says indicated, metres."""

        def kt(v):
            return None if v is None else round(knots(v), 2)

        def pair(v, digits=2, unit=knots):
            return None if v is None else [round(unit(x), digits) for x in v]

        def metres(v):
            return None if v is None or not math.isfinite(v) else round(v, 1)

        return [
            {
                "modification": i.modification,
                "approach_kt": {"value": kt(i.approach), "interval95": pair(i.approach_interval95)},
                "approach_indicated_kt": kt(i.approach_indicated),
                "manoeuvring_kt": {"value": kt(i.manoeuvring), "interval95": pair(i.manoeuvring_interval95)},
                "landing_roll_m": {
                    "value": metres(i.landing_roll), "interval95": pair(i.landing_roll_interval95, 1, float),
                },
                "landing_over_obstacle_m": {
                    "value": metres(i.landing_over_obstacle),
                    "interval95": pair(i.landing_over_obstacle_interval95, 1, float),
                },
                "take_off_roll_m": {
                    "value": metres(i.take_off_roll), "interval95": pair(i.take_off_roll_interval95, 1, float),
                },
            }
            for i in self.items
        ]  # fmt: skip


def speed_of_least_power(mass: float, wing_area: float, density: float, zero_lift_drag: float, span_factor: float):
    """Speed at which level flight takes the least power, near that of the least sink in a glide.

    CL = sqrt(3 CD0/K), V = sqrt(2 W/(rho S CL)), CD = CD0 + K CL^2

    Parameters
    ----------
    mass : float [kg]
    wing_area : float [m2]
    density : float [kg/m3]
    zero_lift_drag : float [-]
    span_factor : float [-]
        K, 1/(pi A e).

    Returns
    -------
    float [m/s]

    Source: any performance textbook, such as Anderson, *Aircraft Performance and Design*.
    """
    cl = math.sqrt(3.0 * zero_lift_drag / span_factor)
    return math.sqrt(2.0 * mass * GRAVITY / (density * wing_area * cl))


def operating_speeds(
    states: list[State], *, mass: float, wing_area: float, span_factor: float, factor: float = 1.3,
    limit: float | None = None, ground: Ground | None = None, density: float = 1.225, path: float = math.radians(4.0),
    gust: float = 0.0, power_thrust=None, draws: int = 4000, inputs: dict[str, str] | None = None,
) -> OperatingSpeeds:  # fmt: skip
    """Approach, limit-load speed and distances, before and after.

    V_app = max(k V_S, k V_tail) + k 1.645 u(V_S) + gust; V_A = V_S,clean sqrt(n)

    Parameters
    ----------
    states : list of State [-]
        First modification first.
    mass : float [kg]
    wing_area : float [m2]
    span_factor : float [-]
        K of the drag polar.
    factor : float [-]
        1.2 or more.
    limit : float [-]
        Positive limit load factor; None: no limit-load speed.
    ground : Ground [-]
    density : float [kg/m3]
        Of the day; stall speeds are calibrated, true airspeed follows from it.
    path : float [rad]
        Descent on the approach.
    gust : float [m/s]
        Half the gust's size, or what the owner adds; not multiplied.
    power_thrust : pair of functions of speed [m/s] giving thrust [N]
        Low and high; None: no take-off distance, only its ratio.
    draws : int [-]
    inputs : dict of str [-]

    Returns
    -------
    OperatingSpeeds [-]

    Raises
    ------
    ValueError
        A factor below 1.2.
    """
    if factor < FEWEST:
        raise ValueError(
            f"factor {factor:g}: below {FEWEST} no approach speed is printed; 1.3 on the calibrated landing stall "
            "speed is what the rules for light airplanes ask"
        )
    ground = ground or Ground()
    z = np.random.default_rng(11).standard_normal((4, draws))
    u = np.random.default_rng(12).uniform(size=(6, draws))
    true = math.sqrt(1.225 / density)
    items, rolls, notes = [], [], []
    for k, s in enumerate(states):
        own = math.sqrt(1.0 - s.shared) * z[1 + min(k, 2)] + math.sqrt(s.shared) * z[0]
        stall = s.stall_speed + s.stall_uncertainty * own
        slow = factor * s.stall_speed + factor * 1.645 * s.stall_uncertainty
        tail = 0.0 if s.slowest_tail_speed is None else factor * s.slowest_tail_speed
        approach = max(slow, tail) + gust
        if s.needle is None:
            notes.append(f"{s.modification}: no indicated approach speed, because this state is not calibrated")
        power = [speed_of_least_power(mass, wing_area, 1.225, cd0, span_factor) for cd0 in s.zero_lift_drag]
        low, high = min(power), max(power)
        side = (
            f"the approach lies below the speed of least power ({knots(low):.0f} to {knots(high):.0f} kt): slower "
            "sinks faster, and arresting it takes power, not pull"
            if approach < low
            else "the approach lies at or above the speed of least power"
        )
        drag = ROLL_DRAG[0] + u[0] * (ROLL_DRAG[1] - ROLL_DRAG[0])
        lift = ROLL_LIFT[0] + u[1] * (ROLL_LIFT[1] - ROLL_LIFT[0])
        friction = ground.braked[0] + u[2] * (ground.braked[1] - ground.braked[0])
        touch = true * (1.1 + 0.1 * u[3]) * stall
        given = {"mass": mass, "wing_area": wing_area, "density": density, "drag": drag, "lift": lift}
        roll = landing_roll(touch, **given, friction=friction, slope=ground.slope, headwind=ground.headwind)
        flown = true * (np.maximum(factor * stall, tail) + gust)
        air = landing_air_distance(flown, true * stall, path, headwind=ground.headwind)
        off, off_range = _take_off(s, stall, true, given, ground, power_thrust, u)
        limit_speed = limit_range = limit_needle = None
        if limit is not None and s.clean_stall_speed is not None:
            limit_speed = s.clean_stall_speed * math.sqrt(limit)
            half = 1.96 * s.clean_uncertainty * math.sqrt(limit)
            limit_range = (limit_speed - half, limit_speed + half)
            limit_needle = None if s.needle is None else s.needle.shows(limit_speed)
        bare = factor * 1.96 * s.stall_uncertainty
        items.append(Speeds(
            s.modification, s.stall_speed, approach, (factor * s.stall_speed - bare, factor * s.stall_speed + bare),
            None if s.needle is None else s.needle.shows(approach), tail > slow, (low, high), side, limit_speed,
            limit_range, limit_needle, float(np.median(roll)), _ends(roll), float(np.median(roll + air)),
            _ends(roll + air), off, off_range,
        ))  # fmt: skip
        rolls.append(roll)
        notes.append(f"{s.modification}: {side}")
    ratio = rolls[-1] / rolls[0] if len(rolls) > 1 else None
    return OperatingSpeeds(
        tuple(items), factor, None if ratio is None else float(np.median(ratio)),
        None if ratio is None else _ends(ratio), dict(inputs or {}), tuple(notes),
    )  # fmt: skip


def _take_off(s, stall, true, given, ground, power_thrust, u):
    """Take-off roll at 1.2 times the stall speed with the low and the high thrust; None without thrust."""
    if power_thrust is None:
        return None, None
    ends = []
    for thrust, friction in zip(power_thrust, ground.rolling[::-1]):
        # a take-off flap lifts less than the landing flap: the stall speed of the landing state is a low one
        ends.append(take_off_roll(
            1.2 * true * s.stall_speed, mass=given["mass"], wing_area=given["wing_area"], density=given["density"],
            drag=0.06, lift=0.4, friction=friction, thrust=thrust, slope=ground.slope, headwind=ground.headwind,
        ))  # fmt: skip
    low, high = sorted(ends)
    return 0.5 * (low + high), (low, high)


def _ends(values) -> tuple[float, float]:
    low, high = np.quantile(values, [0.025, 0.975])
    return float(low), float(high)
