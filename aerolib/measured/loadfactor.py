"""The load factor at the stall, from whatever the owner wrote down.

CLmax needs n, the load factor normal to the flight path, at the instant of the speed that was read.
With a recorder it is measured. A speed held steady gives it by the glide angle. On a bare card nobody
wrote it down, and it is not 1: when the lowest speed is seen the airplane is already falling, so taking
n = 1 reads CLmax some 3 to 11 % high for entries up to 1 kt/s and 5 to 18 % at 2 kt/s.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.units import to_si

KNOT_PER_SECOND = to_si(1.0, "kt/s", "acceleration")

# Load factor by kind of speed and entry rate: (entry rate [kt/s], n, sd shared by one card, sd of one stall).
# Set by hand from the spread of virtual flights (3 to 11 % high up to 1 kt/s, 5 to 18 % at 2 kt/s at the
# lowest speed; 3 to 5 % and 7 to 8 % at the break) and kept wide: our allowance, simulated, not measured.
TABLE = {
    "minimum": (
        (0.3, 0.955, 0.020, 0.012),
        (1.0, 0.930, 0.022, 0.014),
        (2.0, 0.885, 0.030, 0.018),
        (3.0, 0.860, 0.035, 0.022),
    ),
    "break": (
        (0.3, 0.965, 0.015, 0.012),
        (1.0, 0.955, 0.016, 0.013),
        (2.0, 0.930, 0.020, 0.016),
        (3.0, 0.915, 0.025, 0.020),
    ),
    "unknown": (
        (0.3, 0.965, 0.025, 0.012),
        (1.0, 0.950, 0.030, 0.014),
        (2.0, 0.925, 0.040, 0.018),
        (3.0, 0.910, 0.045, 0.022),
    ),  # any of the three kinds
}
UNKNOWN_RATE = {"minimum": (0.925, 0.030, 0.018), "break": (0.950, 0.022, 0.015), "unknown": (0.945, 0.035, 0.018)}
TABLE_SOURCE = "allowance from simulated stalls (no unsteady lift, no buffet, no wing drop in them)"

STEADY_UNKNOWN_SINK = (0.995, 0.003, 0.002)  # cos of a glide of 3 to 8 degrees: our arithmetic
RECORDED = (0.004, 0.008)  # standard uncertainty of a recorded n: shared, per stall; our judgement
GLIDE_DRAG_OVER_WEIGHT = (-0.16, 0.05)  # (thrust - drag)/weight along the path at the stall: our judgement


@dataclass(frozen=True)
class LoadFactors:
    """Per stall: n, the standard uncertainty shared by all of its origin, that of the stall alone, the origin."""

    n: np.ndarray  # (N,) [-]
    shared: np.ndarray  # (N,) [-]
    alone: np.ndarray  # (N,) [-]
    slope: np.ndarray  # (N,) dn/d(entry rate) [s2/m], for the rate's own uncertainty
    origin: np.ndarray  # (N,) text


def flight_path_load_factor(nz, nx, alpha):
    """Load factor normal to the flight path from a recorder's two axes.

    n = nz * cos(alpha) + nx * sin(alpha)

    Parameters
    ----------
    nz : float or array (n,) [-]
        Normal to the cabin floor, 1 at rest.
    nx : float or array (n,) [-]
        Along the cabin floor, forward positive; sin(pitch) in a steady glide.
    alpha : float or array (n,) [rad]
        From the body datum to the flight path.

    Returns
    -------
    float or array (n,) [-]

    Source: rotation of axes; no source needed.
    """
    return np.asarray(nz) * np.cos(alpha) + np.asarray(nx) * np.sin(alpha)


def from_floor_meter(nz, alpha, alpha_uncertainty):
    """Load factor normal to the flight path from a g-meter fixed to the cabin floor.

    n = (nz + d * sin(alpha)) / cos(alpha), d = (T - D)/W along the path

    Parameters
    ----------
    nz : float or array (n,) [-]
    alpha, alpha_uncertainty : float [rad]
        Incidence of the body datum at the stall.

    Returns
    -------
    n : float or array (n,) [-]
    standard_uncertainty : float [-]
        From the incidence and from d, both assumed.

    Valid range: near the stall, power at idle; d is an allowance of ours, no source.
    """
    d, u_d = GLIDE_DRAG_OVER_WEIGHT
    n = (np.asarray(nz) + d * math.sin(alpha)) / math.cos(alpha)
    u = math.hypot(u_d * math.tan(alpha), (math.tan(alpha) + d) * alpha_uncertainty)
    return n, u


def glide_load_factor(sink_rate, true_airspeed):
    """Load factor of a steady glide: n = cos(gamma), sin(gamma) = sink / V.

    Parameters
    ----------
    sink_rate : float or array (n,) [m/s]
        Positive down.
    true_airspeed : float or array (n,) [m/s]

    Returns
    -------
    float or array (n,) [-]

    Raises
    ------
    ValueError
        Sink not smaller than the airspeed.
    """
    ratio = np.asarray(sink_rate, dtype=float) / np.asarray(true_airspeed, dtype=float)
    if np.any(np.abs(ratio) >= 1.0):
        raise ValueError("sink rate must be smaller than the airspeed: is its unit right?")
    return np.sqrt(1.0 - ratio**2)


def load_factors(kind, entry_rate, load_factor, sink_rate, true_airspeed) -> LoadFactors:
    """The best n for every stall, and how well it is known.

    In this order: the recorded value; the glide angle of a steady speed; the table by kind and entry rate.

    Parameters
    ----------
    kind : text array (N,) [-]
        minimum, break, steady or unknown.
    entry_rate : array (N,) [m/s2]
        Loss of calibrated airspeed per second, positive; NaN where unknown.
    load_factor : array (N,) [-]
        Recorded, normal to the flight path; NaN where unknown.
    sink_rate : array (N,) [m/s]
        Positive down; NaN where unknown.
    true_airspeed : array (N,) [m/s]

    Returns
    -------
    LoadFactors [-]

    Valid range: entry rates outside the table's take its end value, with the spread of an unknown rate.
    """
    count = len(kind)
    n, shared, alone, slope = (np.full(count, np.nan) for _ in range(4))
    slope[:] = 0.0
    origin = np.full(count, "", dtype="U24")
    for name, rows in TABLE.items():
        here = kind == name
        rate = entry_rate[here] / KNOT_PER_SECOND
        nodes, values, sds, sds_alone = (np.array(c) for c in zip(*rows))
        known = np.isfinite(rate)
        inside = known & (rate >= nodes[0]) & (rate <= nodes[-1])
        unknown = UNKNOWN_RATE[name]
        r = np.where(known, rate, nodes[0])
        n[here] = np.where(known, np.interp(r, nodes, values), unknown[0])
        shared[here] = np.where(inside, np.interp(r, nodes, sds), unknown[1])
        alone[here] = np.where(inside, np.interp(r, nodes, sds_alone), unknown[2])
        step = 0.05
        slope[here] = np.where(
            known,
            (np.interp(r + step, nodes, values) - np.interp(r - step, nodes, values)) / (2 * step * KNOT_PER_SECOND),
            0.0,
        )
        origin[here] = f"table, {name}"
    steady = kind == "steady"
    gliding = steady & np.isfinite(sink_rate)
    n[steady], shared[steady], alone[steady] = STEADY_UNKNOWN_SINK
    origin[steady] = "steady, glide assumed"
    n[gliding] = glide_load_factor(sink_rate[gliding], true_airspeed[gliding])
    shared[gliding], alone[gliding] = 0.001, 0.002
    origin[gliding] = "steady, glide angle"
    recorded = np.isfinite(load_factor)
    n[recorded] = load_factor[recorded]
    shared[recorded], alone[recorded] = RECORDED
    slope[recorded] = 0.0
    origin[recorded] = "recorded"
    return LoadFactors(n, shared, alone, slope, origin)
