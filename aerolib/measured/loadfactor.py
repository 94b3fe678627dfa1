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

from aerolib.ranges import ANGLE, in_range
from aerolib.units import to_si

KNOT_PER_SECOND = to_si(1.0, "kt/s", "acceleration")

# Load factor by kind of speed and entry rate: entry rate [kt/s], n [-], its standard deviation between airplanes with
# their pilots (shared by one owner's card), that of one stall. From virtual flights of 72 airplane-pilot pairs with
# known lift tables: data/simulated/load_factor.csv, whose numbers a test holds these to. Simulated, not measured.
TABLE = {
    "minimum": (
        (0.3, 0.9698, 0.0083, 0.0031), (0.5, 0.9556, 0.0093, 0.0038), (0.75, 0.9377, 0.0105, 0.0050),
        (1.0, 0.9194, 0.0120, 0.0064), (1.5, 0.8822, 0.0156, 0.0106), (2.0, 0.8438, 0.0202, 0.0175),
        (3.0, 0.7639, 0.0339, 0.0482),
    ),
    # Slowed more gently than 0.75 kt/s the simulated airplanes mush through their lowest speed: its n stands there,
    # with the spread of the break.
    "break": (
        (0.3, 0.9698, 0.0163, 0.0069), (0.5, 0.9556, 0.0163, 0.0069), (0.75, 0.9387, 0.0163, 0.0069),
        (1.0, 0.9171, 0.0166, 0.0087), (1.5, 0.8836, 0.0174, 0.0139), (2.0, 0.8629, 0.0182, 0.0223),
        (3.0, 0.8598, 0.0199, 0.0573),
    ),
    # Any of the three kinds: half-way between the lowest speed and a steady one, with a spread that reaches both.
    "unknown": (
        (0.3, 0.977, 0.025, 0.012), (1.0, 0.952, 0.037, 0.014), (2.0, 0.914, 0.072, 0.018), (3.0, 0.874, 0.111, 0.050),
    ),
}  # fmt: skip
# Rate not noted: anywhere up to 2 kt/s as the simulated pilots flew. A hastier entry is not covered.
UNKNOWN_RATE = {
    "minimum": (0.9276, 0.0292, 0.0177),
    "break": (0.9276, 0.0292, 0.0213),
    "unknown": (0.955, 0.045, 0.020),
}
STEADY_BEFORE_BREAK = (0.9844, 0.0427, 0.0139)  # held steady, then broke: CLmax may lie beyond; same source
# What the flights cannot contain (unsteady lift, buffet, a dropping wing, real pilots), shared: our judgement.
BEYOND_SIMULATION = 0.012
TABLE_SOURCE = (
    "They come from virtual flights with known lift tables: simulated, not measured, and without unsteady lift, buffet "
    "or wing drop, for which a further standard uncertainty of 0.012 is carried. A stall entered faster than 2 kt/s "
    "whose rate was not noted is not covered: it would still read CLmax high."
)

STEADY_UNKNOWN_SINK = (0.995, 0.003, 0.002)  # cos of a glide of 3 to 8 degrees: our arithmetic
RECORDED = (0.004, 0.008)  # standard uncertainty of a recorded n: shared, per stall; our judgement
RECORDED_TOO_LATE = 0.03  # n recorded at the lowest speed or break instead of at highest lift: our judgement
GLIDE_DRAG_OVER_WEIGHT = (-0.16, 0.05)  # (thrust - drag)/weight along the path at the stall: our judgement


@dataclass(frozen=True)
class LoadFactors:
    """Per stall: n, the standard uncertainty shared by all of its origin, that of the stall alone, the origin."""

    n: np.ndarray  # (N,) [-]
    shared: np.ndarray  # (N,) [-] of this airplane, its pilot and the state it is in
    beyond: np.ndarray  # (N,) [-] of what no simulation contains, the same for everything
    unnoted: np.ndarray  # (N,) [-] of a rate or kind that was not noted: another guess for every modification
    alone: np.ndarray  # (N,) [-]
    slope: np.ndarray  # (N,) dn/d(entry rate) [s2/m], for the rate's own uncertainty
    origin: np.ndarray  # (N,) text


@in_range(nz=(-10.0, 10.0, "-"), nx=(-10.0, 10.0, "-"), alpha=ANGLE)
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


@in_range(nz=(-10.0, 10.0, "-"), alpha=ANGLE, alpha_uncertainty=(0.0, 1.0, "rad"))
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


@in_range(sink_rate=(-1000.0, 1000.0, "m/s"))
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


def load_factors(
    kind, broke, entry_rate, load_factor, sink_rate, true_airspeed, recorded_uncertainty=0.0
) -> LoadFactors:
    """The best n for every stall, and how well it is known.

    In this order: the recorded value; the glide angle of a steady speed; the table by kind and entry rate.
    A steady speed gives the coefficient at that speed; where the wing broke afterwards, CLmax may lie beyond it.

    Parameters
    ----------
    kind : text array (N,) [-]
        minimum, break, steady or unknown.
    broke : bool array (N,) [-]
        The stall ended in a break.
    entry_rate : array (N,) [m/s2]
        Loss of calibrated airspeed per second, positive; NaN where unknown.
    load_factor : array (N,) [-]
        Recorded, normal to the flight path; NaN where unknown.
    sink_rate : array (N,) [m/s]
        Positive down; NaN where unknown.
    true_airspeed : array (N,) [m/s]
    recorded_uncertainty : float [-]
        Of a recorded n beyond the recorder's own: a conversion from another axis.

    Returns
    -------
    LoadFactors [-]

    Valid range: entry rates outside the table's take its end value, with the spread of an unknown rate.
    """
    count = len(kind)
    n, shared, alone = (np.full(count, np.nan) for _ in range(3))
    slope, beyond, unnoted = (np.zeros(count) for _ in range(3))
    origin = np.full(count, "", dtype="U24")
    for name, rows in TABLE.items():
        here = kind == name
        rate = entry_rate[here] / KNOT_PER_SECOND
        nodes, values, sds, sds_alone = (np.array(c) for c in zip(*rows))
        known = np.isfinite(rate)
        inside = known & (rate >= nodes[0]) & (rate <= nodes[-1])
        unknown = UNKNOWN_RATE[name]
        r = np.clip(np.where(known, rate, nodes[0]), nodes[0], nodes[-1])
        n[here] = np.where(known, np.interp(r, nodes, values), unknown[0])
        # Of an unknown rate, the airplane's part is that at 1 kt/s; the rest is which rate was flown.
        own = np.where(inside, np.interp(r, nodes, sds), np.interp(1.0, nodes, sds))
        total = np.where(inside, np.interp(r, nodes, sds), unknown[1])
        if name == "unknown":  # which kind it was is as unknown as the rate
            own = np.minimum(own, BEYOND_SIMULATION)
        shared[here], unnoted[here] = own, np.sqrt(np.maximum(total**2 - own**2, 0.0))
        alone[here] = np.where(inside, np.interp(r, nodes, sds_alone), unknown[2])
        piece = np.clip(np.searchsorted(nodes, r, side="right") - 1, 0, len(nodes) - 2)
        slope[here] = np.where(inside, (np.diff(values) / np.diff(nodes))[piece] / KNOT_PER_SECOND, 0.0)
        origin[here] = f"table, {name}"
    steady = kind == "steady"
    gliding = steady & np.isfinite(sink_rate)
    n[steady], shared[steady], alone[steady] = STEADY_UNKNOWN_SINK
    origin[steady] = "steady, glide assumed"
    n[gliding] = glide_load_factor(sink_rate[gliding], true_airspeed[gliding])
    shared[gliding], alone[gliding] = 0.001, 0.002
    origin[gliding] = "steady, glide angle"
    held = steady & broke
    n[held & ~gliding] = STEADY_BEFORE_BREAK[0]
    shared[held], alone[held] = STEADY_BEFORE_BREAK[1:]
    origin[held] = "steady before a break"
    beyond[(kind != "steady") | held] = BEYOND_SIMULATION
    recorded = np.isfinite(load_factor)
    n[recorded] = load_factor[recorded]
    shared[recorded], alone[recorded] = math.hypot(RECORDED[0], recorded_uncertainty), RECORDED[1]
    # At the lowest speed, or at the break, the wing has already given its most: n W / q S there is a few percent low.
    late = recorded & (kind != "steady")
    shared[late] = np.hypot(shared[late], RECORDED_TOO_LATE)
    slope[recorded] = beyond[recorded] = unnoted[recorded] = 0.0
    origin[recorded] = "recorded"
    return LoadFactors(n, shared, beyond, unnoted, alone, slope, origin)
