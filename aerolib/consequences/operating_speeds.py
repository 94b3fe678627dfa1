"""What a change of the stall speed means for approach, landing, take-off and the limit load."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.atmosphere import DENSITY_0
from aerolib.consequences.balance import Loading
from aerolib.consequences.distances import (
    Ground,
    climb_distance,
    climb_gradient,
    landing_air_distance,
    landing_roll,
    take_off_roll,
)
from aerolib.consequences.maneuver import limit_load_speed
from aerolib.consequences.operating_results import ONE_G, TAIL, OperatingSpeeds, Speeds
from aerolib.estimate import Estimate
from aerolib.ranges import RANGES, in_range

FEWEST = 1.2  # times the stall speed: no slower approach speed is printed
SLOW_SIDE = 1.645  # standard deviations: nineteen times in twenty the stall is no faster
LIFT_OFF = 1.2  # times the stall speed, kept to the obstacle
TOUCHDOWN = (1.1, 1.2)  # times the stall speed: common practice, no source
ROLL_DRAG, ROLL_LIFT = (0.07, 0.16), (0.2, 0.7)  # coefficients on the ground, flaps and gear out: a judgement of ours
RUN_DRAG, RUN_LIFT = (0.04, 0.08), (0.2, 0.6)  # the same on the take-off run
FREE_ROLL = (1.0, 3.0)  # from touchdown until the brakes bite [s]: Anderson has 1 to 3 s (from memory)
PATH = (math.radians(3.0), math.radians(6.0))  # of the last part of the approach: common practice, no source
DRAWS_TAKE_OFF = 500


@dataclass(frozen=True)
class Needle:
    """What the dial shows of a calibrated speed in one state."""

    reading: np.ndarray  # [m/s], rising
    calibrated: np.ndarray  # [m/s]

    def shows(self, calibrated: float) -> float | None:
        """The reading at a calibrated speed [m/s]; None where it was not calibrated."""
        c = np.asarray(self.calibrated, float)
        if not c[0] <= calibrated <= c[-1]:
            return None
        return float(np.interp(calibrated, c, np.asarray(self.reading, float)))


@dataclass(frozen=True)
class State:
    """One modification: what was measured of it, at the mass asked for."""

    modification: str
    stall_speed: float  # 1-g or lowest steady, calibrated, landing configuration [m/s]
    stall_uncertainty: float  # 1 sigma, all of it [m/s]
    clean_stall_speed: float | None = None  # flaps up, for V_O [m/s]
    clean_uncertainty: float = 0.0
    take_off_stall_speed: float | None = None  # take-off configuration [m/s]
    take_off_uncertainty: float = 0.0
    needle: Needle | None = None  # landing configuration; None: not calibrated in this state
    clean_needle: Needle | None = None
    slowest_tail_speed: float | None = None  # the slowest the tail can hold aloft [m/s]
    tail_uncertainty: float = 0.0
    touchdown_speed: float | None = None  # the slowest that tail and gear allow near the ground [m/s]
    touchdown_uncertainty: float = 0.0
    touchdown_limit: str = "tail"  # or 'gear': which of them
    zero_lift_drag: tuple[float, float] = (0.05, 0.09)  # landing configuration, low and high [-]: a judgement of ours
    climb_drag: tuple[float, float] = (0.035, 0.06)  # take-off configuration [-]: a judgement of ours
    stall_kind: str = ONE_G  # what `stall_speed` is
    shared: float = 0.0  # correlation of the stall speed's error with that of the other states [-]


@in_range(
    uncertainty=(0.0, 50.0, "m/s"), tail=RANGES["speed"], tail_uncertainty=(0.0, 50.0, "m/s"), factor=(0.5, 3.0, "-")
)
def approach_speed(
    stall: float, uncertainty: float, kind: str = ONE_G, tail: float | None = None, tail_uncertainty: float = 0.0, *,
    factor: float = 1.3, gust: float = 0.0,
) -> tuple[float, str]:  # fmt: skip
    """The one approach speed of a state: the larger of what wing and tail ask for, and what it stands on.

    V_app = max(k (V_S + 1.645 u), k (V_tail + 1.645 u_tail)) + gust

    Parameters
    ----------
    stall : [m/s]
        Calibrated.
    uncertainty : [m/s]
        1 sigma.
    kind : [-]
        What `stall` is: `ONE_G` or `LOWEST`.
    tail : [m/s]
        Slowest steady speed the tail can hold; None where it is not the limit, or not known.
    tail_uncertainty : [m/s]
    factor : [-]
    gust : [m/s]

    Returns
    -------
    speed : float [m/s]
    stands_on : str [-]
        `kind`, or `TAIL`.

    Source: the factor is that of 14 CFR 23.73 before amendment 64 (from memory); with a 1-g stall speed the result is
    not the rule's V_REF, which takes the minimum speed V_S0.
    """
    wing = factor * (stall + SLOW_SIDE * uncertainty)
    held = 0.0 if tail is None else factor * (tail + SLOW_SIDE * tail_uncertainty)
    return max(wing, held) + gust, TAIL if held > wing else kind


@in_range(zero_lift_drag=(0.001, 1.0, "-"))
def speed_of_least_power(mass: float, wing_area: float, density: float, zero_lift_drag: float, span_factor: float):
    """Speed at which level flight takes the least power, near that of the least sink in a glide.

    CL = sqrt(3 CD0/K), V = sqrt(2 W/(rho S CL)), CD = CD0 + K CL^2

    Parameters
    ----------
    mass : [kg]
    wing_area : [m2]
    density : [kg/m3]
    zero_lift_drag : [-]
    span_factor : [-]
        K, 1/(pi A e).

    Returns
    -------
    float [m/s]

    Source: any performance textbook, such as Anderson, *Aircraft Performance and Design*.
    """
    return float(Loading(mass, wing_area, density).speed(math.sqrt(3.0 * zero_lift_drag / span_factor)))


@in_range(limit=(-20.0, 20.0, "-"), factor=(0.5, 3.0, "-"), gust=(-50.0, 50.0, "m/s"), path=(0.005, 1.0, "rad"))
def operating_speeds(
    states: list[State], *, mass: float, wing_area: float, span_factor: float, factor: float = 1.3,
    limit: float | None = None, ground: Ground | None = None, density: float = DENSITY_0,
    path: tuple[float, float] = PATH, gust: float = 0.0, power_thrust=None,
    lift_change: tuple[Estimate, str] | None = None, draws: int = 4000,
) -> OperatingSpeeds:  # fmt: skip
    """Approach, operating maneuvering speed and distances, before and after, at one mass.

    V_app as in `approach_speed`; V_O = (V_S,clean - 1.645 u) sqrt(n), its change 1/sqrt(CLmax after over before)

    The reading of V_app takes the calibration as it is: its error is already in that of the stall speed.

    Parameters
    ----------
    states : list of State [-]
        First modification first.
    mass : [kg]
    wing_area : [m2]
    span_factor : [-]
        K of the drag polar.
    factor : [-]
        1.2 or more.
    limit : [-]
        Positive limit load factor; None: no limit-load speed.
    ground : [-]
    density : [kg/m3]
        Of the day; stall speeds are calibrated, true airspeed follows from it.
    path : [rad]
        Flattest and steepest of the last part of the approach.
    gust : [m/s]
        What is added for wind; not multiplied, and carried to touchdown.
    power_thrust : pair of functions of speed [m/s] giving thrust [N]
        Low and high; None: no take-off distance, only its ratio.
    lift_change : pair of Estimate and str [-]
        CLmax flaps up, last state over first, and the verdict on it; None: no change of V_O is said.
    draws : [-]

    Returns
    -------
    OperatingSpeeds [-]

    Raises
    ------
    ValueError
        A factor below 1.2, a limit load factor below 1, a density outside 0.6 to 1.4 kg/m3, or a negative gust.
    """
    if not factor >= FEWEST:
        raise ValueError(
            f"factor {factor:g}: below {FEWEST} no approach speed is printed; 1.3 is the factor that the rules for "
            "light airplanes put on the minimum speed V_S0"
        )
    if limit is not None and not limit >= 1.0:
        raise ValueError(f"limit load factor {limit:g}: needed is the positive one of the approved data, such as 3.8")
    if not 0.6 <= density <= 1.4:
        raise ValueError(f"density {density:g} kg/m3 is outside what light airplanes fly in, 0.6 to 1.4 kg/m3")
    if not gust >= 0.0:
        raise ValueError(f"an addition of {gust:g} m/s for gusts: it is never taken off; write 0 or more")
    z = np.random.default_rng(11).standard_normal((2 + len(states), draws))
    u = np.random.default_rng(12).uniform(size=(8, draws))
    day = _Day(
        loading=Loading(mass, wing_area, density), span_factor=span_factor, factor=factor, limit=limit,
        ground=ground or Ground(), path=path, gust=gust, power_thrust=power_thrust,
    )  # fmt: skip
    own = [math.sqrt(1.0 - s.shared) * mine + math.sqrt(s.shared) * z[0] for s, mine in zip(states, z[2:])]
    found = [_one_state(s, day, e, z[1], u) for s, e in zip(states, own)]
    notes = [_no_reading(s, i) for s, (i, *_) in zip(states, found) if i.approach_indicated is None]
    if power_thrust is None:
        notes.append("take-off in meters needs [power] rated_power and propeller_diameter; only its change is shown")
    items, rolls, runs = zip(*found)
    landing, flaps_up = (_alone(states, which) for which in ("needle", "clean_needle"))
    if (alone := landing or flaps_up) is not None:
        which = "landing or take-off roll" if landing else "take-off roll"
        notes.append(
            f"no change of the {which} is said: only '{alone}' has its airspeed calibrated, "
            "so a difference of the indicators would count as one of the wing"
        )
    return OperatingSpeeds(
        items, factor, None if landing else _ratio(rolls), None if landing or flaps_up else _ratio(runs), lift_change,
        tuple(notes),
    )  # fmt: skip


def _alone(states, which: str) -> str | None:
    """The one of first and last modification whose airspeed is calibrated, where the other's is not."""
    two = [s.modification for s in (states[0], states[-1]) if getattr(s, which) is not None]
    return two[0] if len(states) > 1 and len(two) == 1 else None


@dataclass(frozen=True)
class _Day:
    """What all states share: loading, air, field and the pilot's choices."""

    loading: Loading
    span_factor: float
    factor: float
    limit: float | None
    ground: Ground
    path: tuple[float, float]
    gust: float
    power_thrust: tuple | None

    @property
    def given(self) -> dict[str, float]:
        """Arguments of the distances."""
        return vars(self.loading)

    @property
    def true(self) -> float:
        """True over calibrated airspeed [-]."""
        return math.sqrt(DENSITY_0 / self.loading.density)


def _one_state(s: State, day: _Day, own, tail, u) -> tuple[Speeds, np.ndarray, np.ndarray | None]:
    """Answers, landing roll and take-off run as draws; `own` and `tail` are standard normal, `u` uniform draws."""
    approach, stands_on = approach_speed(
        s.stall_speed, s.stall_uncertainty, s.stall_kind, s.slowest_tail_speed, s.tail_uncertainty,
        factor=day.factor, gust=day.gust,
    )  # fmt: skip
    held = 0.0 if s.slowest_tail_speed is None else s.slowest_tail_speed + s.tail_uncertainty * tail
    slowest = np.maximum(s.stall_speed + s.stall_uncertainty * own, held)
    near = 0.0 if s.touchdown_speed is None else s.touchdown_speed + s.touchdown_uncertainty * tail
    on_ground = np.maximum(slowest, near)
    # with the margin of any touchdown, but no faster than the approach unless nothing slower can be held
    touched = np.minimum(_between(TOUCHDOWN, u[3]) * on_ground + day.gust, np.maximum(approach, on_ground + day.gust))
    touchdown = day.true * touched
    roll = landing_roll(
        touchdown, **day.given, drag=_between(ROLL_DRAG, u[0]), lift=_between(ROLL_LIFT, u[1]),
        friction=_between(day.ground.braked, u[2]), slope=day.ground.slope, headwind=day.ground.headwind,
    )  # fmt: skip
    roll = roll + _between(FREE_ROLL, u[6]) * np.maximum(touchdown - day.ground.headwind, 0.0)
    true = day.true * approach
    air = landing_air_distance(true, true / 1.3, _between(day.path, u[7]), headwind=day.ground.headwind)
    run, climb = _take_off(s, day, own, u)
    low, high = sorted(speed_of_least_power(day.loading.mass, day.loading.wing_area, DENSITY_0, d, day.span_factor)
                       for d in s.zero_lift_drag)  # fmt: skip
    maneuvering = _limit_load(s, day.limit)
    item = Speeds(
        modification=s.modification, mass=day.loading.mass, stall_speed=s.stall_speed,
        approach=Estimate("approach speed", approach, "m/s", {}, _ends(day.factor * slowest + day.gust)),
        approach_indicated=_shown(s.needle, approach), approach_stands_on=stands_on,
        touchdown_limit=s.touchdown_limit if (s.touchdown_speed or 0.0) > s.stall_speed else "wing",
        minimum_power=(low, high), maneuvering=maneuvering,
        maneuvering_indicated=_shown(s.clean_needle, None if maneuvering is None else maneuvering.value),
        clean_calibrated=s.clean_needle is not None, landing_roll=_middle("landing roll", roll),
        landing_over_obstacle=_middle("landing from the obstacle", roll + air), **climb,
    )  # fmt: skip
    # without thrust data: the same mean force, so distance goes with the square of the lift-off speed over ground
    return item, roll, _square(s, day, own) if run is None else run


def _shown(needle: Needle | None, speed: float | None) -> float | None:
    return None if needle is None or speed is None else needle.shows(speed)


def _no_reading(s: State, item: Speeds) -> str:
    why = "this state is not calibrated" if s.needle is None else "the calibration does not reach that speed"
    return f"{item.modification}: no indicated approach speed, because {why}"


def _limit_load(s: State, limit: float | None) -> Estimate | None:
    """V_O of one state and its interval.

    The slow end of what the stall speed may be: a limit at the middle would be passed half of the time.
    """
    if limit is None or s.clean_stall_speed is None:
        return None
    middle = float(limit_load_speed(s.clean_stall_speed, limit))
    half = 1.96 * s.clean_uncertainty / s.clean_stall_speed * middle
    speed = float(limit_load_speed(s.clean_stall_speed - SLOW_SIDE * s.clean_uncertainty, limit))
    return Estimate("V_O", speed, "m/s", {}, (middle - half, middle + half))


def _take_off(s: State, day: _Day, own, u) -> tuple[np.ndarray | None, dict]:
    """Take-off run by draws [m], and what `Speeds` holds of take-off and climb."""
    if day.power_thrust is None or s.take_off_stall_speed is None:
        return None, {}
    n, ground, pull = slice(None, DRAWS_TAKE_OFF), day.ground, day.power_thrust
    off = LIFT_OFF * day.true * (s.take_off_stall_speed + s.take_off_uncertainty * own[n])
    share = u[4][n]

    def thrust(v):
        return _between([f(v) for f in pull], share)

    run = take_off_roll(
        off, **day.given, drag=_between(RUN_DRAG, u[6][n]), lift=_between(RUN_LIFT, u[7][n]),
        friction=_between(ground.rolling, u[2][n]), thrust=thrust, slope=ground.slope, headwind=ground.headwind,
    )  # fmt: skip
    drag = _between(s.climb_drag, u[5][n])
    polar = {**day.given, "zero_lift_drag": drag, "span_factor": day.span_factor, "thrust": thrust}
    over = run + climb_distance(climb_gradient(off, **polar)) * np.maximum(1.0 - ground.headwind / off, 0.0)
    grid = LIFT_OFF * s.take_off_stall_speed * np.linspace(1.0, 1.8, 25)
    gradients = climb_gradient(day.true * grid[:, None] + 0.0 * share, **polar)
    best = int(np.argmax(np.median(gradients, axis=1)))
    return run, {
        "take_off_roll": _middle("take-off run", run), "climb_speed": float(grid[best]),
        "take_off_over_obstacle": _middle("take-off to the obstacle", over),
        "climb_gradient": _middle("climb gradient", gradients[best], "-"),
    }  # fmt: skip


def _square(s: State, day: _Day, own) -> np.ndarray | None:
    """Square of the lift-off speed over ground [m2/s2]; None where the take-off configuration was not flown."""
    if s.take_off_stall_speed is None:
        return None
    stall = s.take_off_stall_speed + s.take_off_uncertainty * own
    return np.maximum(LIFT_OFF * day.true * stall - day.ground.headwind, 0.0) ** 2


def _between(ends, share):
    return ends[0] + share * (ends[1] - ends[0])


def _middle(name: str, values, unit: str = "m") -> Estimate:
    """Median and 95 % ends of draws; infinite draws stay infinite."""
    return Estimate(name, float(np.median(values)), unit, {}, _ends(values))


def _ratio(values) -> Estimate | None:
    """Last over first, median and ends; None where either is missing or without end."""
    if len(values) < 2 or values[0] is None or values[-1] is None:
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = values[-1] / values[0]
    return _middle("ratio", ratio, "-") if np.isfinite(ratio).all() else None


def _ends(values) -> tuple[float, float]:
    low, high = np.quantile(values, [0.025, 0.975], method="inverted_cdf")
    return float(low), float(high)
