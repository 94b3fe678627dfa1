"""What runs of legs say of the airspeed system, and with what errors: one linear model for all states.

The error of the system is a pressure coefficient: with p_s the pressure at the static port,

    y = 1 - (V_i / V)**2  =  (p_s - p) / q  =  c(CL)          V_i: the needle, V: the calibrated airspeed

    c(CL) = level + slope (CL - 1) + bend (CL - 1)**2

because port and tube see the angle of attack, not the knots. Every state (modification and flap) has a level, slope
and bend of its own added to those common to all modifications at that flap: what is learnt before a change is worth
something after it, but not everything. Scale and zero of the indicator are common to all states. All these start from
zero with a stated standard deviation, and the runs narrow them (linear Gaussian regression). The error of a prediction
is then a sum over the same independent sources, so that two states are correlated through exactly what they share.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aerolib.estimate import Source

TERMS = ("level", "slope", "bend")
LEGS, OPEN, EXTENSION = "airspeed legs", "position error beyond the legs", "extrapolation to the stall"
SCALE, INDICATOR = Source("indicator scale", "shared"), Source("indicator", "shared")
THERMOMETER = Source("air temperature on the legs", "shared")
UNNOTED = "air temperature not noted"  # a day's departure from the standard one: each modification was flown on its own


@dataclass(frozen=True)
class CalibrationSizes:
    """Standard deviations a calibration starts from: our judgments, no source, for legs flown by hand and by eye."""

    leg: float = 0.36  # [m/s] of one leg: 0.7 kt of holding the speed, receiver and gusts
    leg_weight: float = 6.0  # how many residuals that is worth
    needle: float = 0.18  # [m/s] of a whole run: 0.35 kt of reading and friction
    thermometer: float = 1.5  # [K] where the temperature was noted
    no_thermometer: float = 8.0  # [K] where it was not
    common: tuple[float, float, float] = (0.08, 0.06, 0.02)  # level, slope, bend of y, shared by the modifications
    own: tuple[float, float, float] = (0.05, 0.04, 0.02)  # the same, of one modification alone
    power: float = 0.015  # of y: what another power on the legs than at the stall does to it
    # Chosen so that simulated campaigns (other ones than the tests') are covered as often as stated.
    extension: float = 0.055  # of y, for every 1 of the ratio of lift coefficients beyond the slowest run


@dataclass(frozen=True)
class Points:
    """Where y was measured, or is wanted (n,)."""

    modification: np.ndarray
    flap: np.ndarray
    cl: np.ndarray
    reading: np.ndarray  # [m/s]
    kept: np.ndarray  # 1 - y: how much of a relative error of speed is half an error of y
    indicator: np.ndarray  # standard uncertainty of the indicator there [m/s]
    warmth: np.ndarray  # relative error of the air temperature [-]; 0 for what is wanted
    noted: np.ndarray  # whether the temperature was noted
    powered: np.ndarray  # 1 where flown with another power than a stall, else 0


def design(p: Points, states, scale: float, sizes: CalibrationSizes, stretch: float) -> dict[Source, np.ndarray]:
    """What one standard deviation of every source does to y [-] at every point, the sources independent of each other.

    Parameters
    ----------
    p : Points [SI]
    states : list of (modification, flap) [-]
    scale : float [-]
        Relative standard uncertainty of the indicator's scale.
    sizes : CalibrationSizes [SI]
    stretch : float [-]
        The owner's assumed position error over the usual one.

    Returns
    -------
    dict of array (n,) [-]
        By source; drawn intervals follow this order.
    """
    warmth = p.kept * p.warmth  # V goes with the root of the temperature
    out = {SCALE: -2.0 * p.kept * scale, INDICATOR: -2.0 * p.kept * p.indicator / p.reading,
           THERMOMETER: p.noted * warmth}  # fmt: skip
    for m in dict.fromkeys(m for m, _ in states):
        out[Source(UNNOTED, "state", m)] = ~p.noted * (p.modification == m) * warmth
    powers = (np.ones_like(p.cl), p.cl - 1.0, (p.cl - 1.0) ** 2)
    shared = [("all", f) for f in dict.fromkeys(f for _, f in states)]
    for m, flap in [*shared, *states]:
        here = (p.flap == flap) & ((p.modification == m) | (m == "all"))
        for term, size, power in zip(TERMS, sizes.common if m == "all" else sizes.own, powers):
            out[Source(OPEN, "state", f"{flap} | {m} | {term}")] = here * stretch * size * power
        if m != "all":
            out[Source(OPEN, "state", f"{flap} | {m} | power")] = here * p.powered * sizes.power
    return out


def predict(y, noise, legs, wanted):
    """y where it is wanted, from y of the runs, and what every source and every run does to it.

    E = G H' (H H' + N)^-1 y; error = (E H - G) per source, E sqrt(N) per run

    Parameters
    ----------
    y : array (m,) [-]
    noise : array (m,) [-]
        Standard uncertainty of each run's own.
    legs : array (m, K) [-]
        The design of the runs, one column a source of unit variance.
    wanted : array (n, K) [-]

    Returns
    -------
    value : array (n,) [-]
    sources : array (n, K) [-]
    runs : array (n, m) [-]

    Valid range: errors small enough to be linear. Source: linear Gaussian regression, e.g. Rasmussen and Williams,
    Gaussian Processes for Machine Learning, 2006, section 2.1 (from memory).
    """
    gain = np.linalg.solve(legs @ legs.T + np.diag(noise**2), legs @ wanted.T).T
    return gain @ y, gain @ legs - wanted, gain * noise
