"""The maneuvering diagram, and the speed below which one full pitch input cannot pass the limit load."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.ranges import in_range
from aerolib.units import knots, to_si

FOOT = to_si(1.0, "ft", "length")
GUSTS = {"cruise": 50 * FOOT, "dive": 25 * FOOT, "flap": 25 * FOOT}  # derived gust velocities up to 20,000 ft [m/s]
FLAP_FACTOR = 2.0  # limit load factor with flaps extended
CODE = (
    "14 CFR 23 as in force before amendment 64: gust velocities 23.333(c) and gust factor 23.341 (read), flaps 23.345 "
    "(from memory)"
)
CLMIN = -0.8  # largest negative lift coefficient, flaps up, where nobody measured it: a judgement of ours
CAUTIONS = (
    "One full movement of one control only: combined or repeated inputs can break an airplane below this speed.",
    "It rests on steady lift at idle: power and a fast pull let the wing carry some percent more, and load it more.",
    "When CLmax rises, V_O falls: the old one no longer protects the structure.",
    "V_A in the approved data and its placard stay as they are; where V_O is lower, fly the lower one and ask who "
    "licenses the airplane.",
    "The flap limit speed does not change, and tail loads rise with the lift the tail must balance.",
    f"The negative side assumes a lift coefficient of {CLMIN:g}, which nobody measured.",
    "Nothing here replaces approved data, a placard or a stress analysis.",
)


@in_range(stall_speed=(0.0, 340.0, "m/s"))  # an uncertainty of one is scaled as well
def limit_load_speed(stall_speed: float | np.ndarray, limit: float) -> np.ndarray:
    """Operating maneuvering speed: below it the wing stalls before it reaches the limit load factor.

    V_O = V_S sqrt(n)

    Parameters
    ----------
    stall_speed : [m/s]
        1-g, of that weight, flaps up.
    limit : [-]
        Positive limit load factor.

    Returns
    -------
    array [m/s]

    Source: 14 CFR 23.1507 before amendment 64 (from memory): V_O is not more than V_S sqrt(n). V_A of 23.335(c) is a
    design minimum: it may be more than this, and then does not protect.
    """
    return np.asarray(stall_speed, float) * math.sqrt(limit)


@in_range(gust=(-50.0, 50.0, "m/s"))
def gust_load_factor(
    speed: float | np.ndarray, gust: float | np.ndarray, *, wing_loading: float, chord: float, slope: float,
    density: float = DENSITY_0,
) -> np.ndarray:  # fmt: skip
    """Load factor of a vertical gust.

    n = 1 + K_g rho_0 U V a/(2 W/S), K_g = 0.88 mu/(5.3 + mu), mu = 2 (W/S)/(rho c a g)

    Parameters
    ----------
    speed : [m/s]
        Equivalent airspeed.
    gust : [m/s]
        Derived gust velocity; negative is down.
    wing_loading : [N/m2]
    chord : [m]
        Mean geometric.
    slope : [1/rad]
        Of the airplane's normal force.
    density : [kg/m3]
        Of the air, for the mass ratio.

    Returns
    -------
    array [-]

    Source: 14 CFR 23.341(c) before amendment 64: the factor 1/498 there is rho_0/2 in knots, ft/s and lb/ft2.
    """
    mu = 2.0 * wing_loading / (density * chord * slope * GRAVITY)
    relief = 0.88 * mu / (5.3 + mu)
    return 1.0 + relief * DENSITY_0 * np.asarray(gust, float) * np.asarray(speed, float) * slope / (2.0 * wing_loading)


LOAD = (-20.0, 20.0, "-")  # a load factor, before its sign is looked at


@dataclass(frozen=True)
class Diagram:
    """Corner points of one weight: speeds equivalent, load factors limit."""

    mass: float  # [kg]
    stall_speed: float  # 1-g, flaps up [m/s]
    limit_speed: float  # full input reaches the limit load here [m/s]
    positive: tuple[np.ndarray, np.ndarray]  # speed [m/s], load factor [-]
    negative: tuple[np.ndarray, np.ndarray]
    flap: tuple[np.ndarray, np.ndarray] | None
    gusts: dict[str, tuple[np.ndarray, np.ndarray]]  # name -> a line up and a line down, speed and load factor


@in_range(limit=LOAD, negative_limit=LOAD, clmin=(-8.0, 8.0, "-"))
def maneuvering_diagram(
    *, mass: float, wing_area: float, clmax: float, clmin: float, limit: float, negative_limit: float, chord: float,
    slope: float, cruise_speed: float, dive_speed: float, flap_clmax: float | None = None,
    flap_speed: float | None = None, density: float = DENSITY_0,
) -> Diagram:  # fmt: skip
    """The maneuvering diagram of one weight with its gust lines.

    n = rho_0 V^2 S CL/(2 W), bounded by the limit load factors

    Parameters
    ----------
    mass : [kg]
    wing_area : [m2]
    clmax, clmin : [-]
        Flaps up; clmin is negative.
    limit, negative_limit : [-]
        Limit load factors of the approved data, such as 3.8 and -1.52.
    chord : [m]
    slope : [1/rad]
    cruise_speed, dive_speed : [m/s]
        Equivalent: V_C or V_NO, V_D or V_NE / 0.9.
    flap_clmax : [-]
    flap_speed : [m/s]
        The flap limit speed; unchanged by any device.
    density : [kg/m3]

    Returns
    -------
    Diagram [-]

    Raises
    ------
    ValueError
        Load factors of the wrong sign, or speeds out of order or below the stall.

    Source: 14 CFR 23.333, 23.335, 23.341, 23.345 before amendment 64.
    """
    if not (limit >= 1.0 and negative_limit <= 0.0 and clmin < 0.0 < clmax):
        raise ValueError(
            f"limit load factors {limit:g} and {negative_limit:g}, lift coefficients {clmax:g} and {clmin:g}: needed "
            "are a positive factor of 1 or more and a negative one, from the approved data"
        )
    if not 0.0 < cruise_speed < dive_speed:
        raise ValueError("the dive speed must be above the cruise speed: check units and which is which")
    weight = mass * GRAVITY
    q = 0.5 * DENSITY_0 * wing_area / weight
    slowest = math.sqrt(1.0 / (q * clmax))
    if cruise_speed <= slowest:
        raise ValueError(f"the cruise speed, {_kt(cruise_speed)}, is below the stall at {mass:.0f} kg, {_kt(slowest)}")
    if flap_clmax is not None and flap_speed is not None:
        slowest = math.sqrt(1.0 / (q * flap_clmax))
        if not slowest < flap_speed < dive_speed:
            raise ValueError(
                f"the flap speed, {_kt(flap_speed)}, must lie between the stall with flaps at {mass:.0f} kg, "
                f"{_kt(slowest)}, and the dive speed: check its unit"
            )

    def curve(cl, n, end):
        corner = math.sqrt(n / (q * cl))
        v = np.linspace(0.0, min(corner, end), 40)
        return np.append(v, end), np.append(q * cl * v * v, n if corner < end else q * cl * end**2)

    v_down, n_down = curve(clmin, negative_limit, cruise_speed)
    ends, flap = {"cruise": cruise_speed, "dive": dive_speed}, None
    if flap_clmax is not None and flap_speed is not None:
        flap, ends["flap"] = curve(flap_clmax, min(FLAP_FACTOR, limit), flap_speed), flap_speed
    given = {"wing_loading": weight / wing_area, "chord": chord, "slope": slope, "density": density}
    stall = math.sqrt(1.0 / (q * clmax))
    return Diagram(
        mass=mass, stall_speed=stall, limit_speed=float(limit_load_speed(stall, limit)),
        positive=curve(clmax, limit, dive_speed),
        negative=(np.append(v_down, dive_speed), np.append(n_down, 0.0)), flap=flap,
        gusts={name: _gust_line(end, GUSTS[name], given) for name, end in ends.items()},
    )  # fmt: skip


def _gust_line(end: float, gust: float, given: dict[str, float]) -> tuple[np.ndarray, np.ndarray]:
    """A line up and the same gust's line down, to a speed [m/s]."""
    v = np.array([0.0, end])
    up, down = (gust_load_factor(v, sign * gust, **given) for sign in (1, -1))
    return np.concatenate([v, v[::-1]]), np.concatenate([up, down[::-1]])


def _kt(speed: float) -> str:
    return f"{knots(speed):.0f} kt"
