"""The load factor at the stall, from whatever the owner wrote down.

CLmax is that of steady flight. It needs n, by which the weight must be multiplied to give it from the speed that was
read. A recorder measures the load factor of highest lift. A speed held steady gives it by the glide angle. On a bare
card nobody wrote it down, and it is not 1: when the lowest speed is seen the airplane is already falling. How high
n = 1 reads, by entry rate, stands in data/simulated/one_g.csv.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.ranges import ANGLE, in_range
from aerolib.units import to_si

KNOT_PER_SECOND = to_si(1.0, "kt/s", "acceleration")

# Load factor by kind of speed (of the lowest speed also by ending) and entry rate: entry rate [kt/s], n [-], its
# standard deviations: between airplanes, kept when the wing is modified; between airplane-pilot pairs, not kept (both
# shared by one owner's card); of one stall. From virtual flights of 96 airplane-pilot pairs with known lift tables, a
# quarter of them docile, all with lift that lags: data/simulated/load_factor.csv, whose numbers a test holds these to.
# Simulated, not measured.
TABLE = {
    "minimum": (
        (0.3, 0.9443, 0.0224, 0.0098, 0.0048), (0.5, 0.9285, 0.0234, 0.0102, 0.0052),
        (0.75, 0.9073, 0.0247, 0.0108, 0.0057), (1.0, 0.8847, 0.0260, 0.0114, 0.0063),
        (1.5, 0.8348, 0.0290, 0.0127, 0.0078), (2.0, 0.7789, 0.0323, 0.0141, 0.0095),
        (2.5, 0.7169, 0.0360, 0.0157, 0.0117),
    ),
    "mush": (
        (0.3, 0.9581, 0.0236, 0.0103, 0.0048), (0.5, 0.9422, 0.0245, 0.0107, 0.0052),
        (0.75, 0.9211, 0.0258, 0.0112, 0.0057), (1.0, 0.8984, 0.0271, 0.0118, 0.0063),
        (1.5, 0.8486, 0.0299, 0.0131, 0.0078), (2.0, 0.7926, 0.0331, 0.0145, 0.0095),
        (2.5, 0.7306, 0.0367, 0.0160, 0.0117),
    ),
    "stop": (
        (0.3, 0.9598, 0.0110, 0.0048, 0.0042), (0.5, 0.9479, 0.0120, 0.0052, 0.0051),
        (0.75, 0.9315, 0.0133, 0.0058, 0.0064), (1.0, 0.9135, 0.0147, 0.0064, 0.0081),
        (1.5, 0.8727, 0.0181, 0.0079, 0.0129), (2.0, 0.8254, 0.0222, 0.0097, 0.0206),
    ),
    # Slowed more gently than its first node the simulated airplanes seldom break: n of the lowest speed stands there,
    # with the spread of the break.
    "break": (
        (0.3, 0.9443, 0.0314, 0.0137, 0.0068), (0.5, 0.9285, 0.0314, 0.0137, 0.0068),
        (0.75, 0.9096, 0.0314, 0.0137, 0.0068), (1.0, 0.8829, 0.0316, 0.0138, 0.0078),
        (1.5, 0.8348, 0.0320, 0.0140, 0.0103), (2.0, 0.7939, 0.0324, 0.0141, 0.0136),
        (2.5, 0.7603, 0.0328, 0.0143, 0.0179),
    ),
    # Any of the three kinds: half-way between the lowest speed and a steady one, with a spread that reaches both.
    "unknown": (
        (0.3, 0.9660, 0.0000, 0.0327, 0.0120), (1.0, 0.9362, 0.0000, 0.0588, 0.0120),
        (2.0, 0.8833, 0.0000, 0.1102, 0.0120), (2.5, 0.8523, 0.0000, 0.1410, 0.0120),
    ),
    # By what a recorded n of highest lift is multiplied: lift lags, in flight a wing shows more.
    "recorded": (
        (0.3, 0.9881, 0.0078, 0.0034, 0.0090), (0.5, 0.9853, 0.0087, 0.0038, 0.0086),
        (0.75, 0.9817, 0.0099, 0.0043, 0.0082), (1.0, 0.9782, 0.0113, 0.0049, 0.0078),
        (1.5, 0.9710, 0.0146, 0.0064, 0.0071), (2.0, 0.9639, 0.0190, 0.0083, 0.0064),
        (2.5, 0.9568, 0.0248, 0.0108, 0.0057),
    ),
}  # fmt: skip
# Rate not noted: anywhere up to 2 kt/s as the simulated pilots flew: n, what a card shares, each stall.
UNKNOWN_RATE = {
    "minimum": (0.8829, 0.0434, 0.0245),
    "mush": (0.8966, 0.0442, 0.0245),
    "stop": (0.9352, 0.0195, 0.0151),
    "break": (0.8829, 0.0434, 0.0280),
    "unknown": (0.9353, 0.0681, 0.0245),
}
STEADY_BEFORE_BREAK = (0.9877, 0.0689, 0.0083)  # held steady, then stalled: CLmax may lie beyond; same source
# What the flights cannot contain (another lag, buffet, a dropping wing, real pilots), shared: our judgement.
BEYOND_SIMULATION = 0.015
FASTEST_IN_TABLE = TABLE["minimum"][-1][0] * KNOT_PER_SECOND
FASTEST_CARRIED = 5.0  # [kt/s] beyond it nothing is carried on: a zoom, and no approach to a stall
TABLE_SOURCE = (
    "They come from virtual flights with known lift tables, docile airplanes and lift that lags among them: simulated, "
    "not measured, and without buffet or wing drop, for which a further standard uncertainty of 0.015 is carried. The "
    "CLmax meant is that of steady flight. A stall entered faster than 2 kt/s "
    "whose rate was not noted is not covered: it would still read CLmax high."
)

STEADY_UNKNOWN_SINK = (0.995, 0.003, 0.002)  # cos of a glide of 3 to 8 degrees: our arithmetic
RECORDED = (0.004, 0.008)  # standard uncertainty of a recorded n: shared, per stall; our judgement
GLIDE_DRAG_OVER_WEIGHT = (-0.16, 0.05)  # (thrust - drag)/weight along the path at the stall: our judgement


@dataclass(frozen=True)
class LoadFactors:
    """Per stall: n, its standard uncertainty by what shares it, and where n comes from."""

    n: np.ndarray  # (N,) [-]
    character: np.ndarray  # (N,) [-] of how docile the airplane is, and how its lift lags: kept from state to state
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
        From the leveling line to the flight path.

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
        Incidence of the leveling line at the stall.

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


def of_steady_flight(load_factor, entry_rate):
    """What a load factor recorded at highest lift would be if the lift did not lag behind the angle of attack.

    n = f(rate) V^2 max(n(t) / V(t)^2), f from virtual flights with lags of 2.5 to 7 chord lengths

    Parameters
    ----------
    load_factor : array (N,) [-]
        The peak of n / V^2 times the square of the speed it is used with.
    entry_rate : array (N,) [m/s2]
        NaN where unknown: as at 1 kt/s.

    Returns
    -------
    load_factor : array (N,) [-]
    standard_uncertainty : float [-]
        Of the lag, shared by every stall: the largest of them; zero for an empty array.

    Source: simulated, data/simulated/load_factor.csv.
    """
    rate = np.where(np.isfinite(entry_rate), entry_rate / KNOT_PER_SECOND, 1.0)
    part, character, shared, alone, _ = _by_table("recorded", rate)
    # Whether lift lags as it does in the simulation: half of what that makes, our judgement.
    spread = load_factor * np.sqrt(character**2 + shared**2 + alone**2 + (0.5 * (1.0 - part)) ** 2)
    return load_factor * part, float(np.nanmax(spread, initial=0.0))


def _by_table(name, rate):
    """A row of the table at noted rates [kt/s]: n, its three standard deviations and dn/d(rate), (N,) each.

    Beyond the nodes the last piece is carried on as a line, which is what a level deceleration gives, and half of what
    it adds joins the spread of the node: never less than there.
    """
    nodes, values, *sds = (np.array(c) for c in zip(*TABLE[name]))
    rate = np.minimum(rate, FASTEST_CARRIED)
    inside = np.clip(rate, nodes[0], nodes[-1])
    piece = np.clip(np.searchsorted(nodes, inside, side="right") - 1, 0, len(nodes) - 2)
    slope = (np.diff(values) / np.diff(nodes))[piece]
    added = slope * (rate - inside)
    n = np.interp(inside, nodes, values) + added
    character, shared, alone = (np.interp(inside, nodes, sd) for sd in sds)
    return n, character, np.hypot(shared, 0.5 * added), alone, slope


def load_factors(
    kind, ended, entry_rate, load_factor, sink_rate, true_airspeed, recorded_uncertainty=0.0
) -> LoadFactors:
    """The best n for every stall, and how well it is known.

    In this order: the recorded value; the glide angle of a steady speed; the table by kind, ending and entry rate.
    A steady speed gives the coefficient at that speed; where the wing stalled afterwards, CLmax may lie beyond it.

    Parameters
    ----------
    kind : text array (N,) [-]
        minimum, break, steady or unknown.
    ended : text array (N,) [-]
        break, mush, stop, early or unknown.
    entry_rate : array (N,) [m/s2]
        Loss of calibrated airspeed per second over the last 10 % of speed, positive; NaN where unknown.
    load_factor : array (N,) [-]
        Recorded, normal to the flight path; NaN where unknown. Of a steady speed as it stood; else of highest lift,
        see `of_steady_flight`.
    sink_rate : array (N,) [m/s]
        Positive down; NaN where unknown.
    true_airspeed : array (N,) [m/s]
    recorded_uncertainty : float [-]
        Of a recorded n beyond the recorder's own: a conversion from another axis.

    Returns
    -------
    LoadFactors [-]

    Valid range: entry rates of 0.3 to 3 kt/s; outside, the table's end is carried on with a wider spread.
    """
    # Long by its docstring; below, each rule overwrites the one before it where it knows more.
    count = len(kind)
    n, shared, alone = (np.full(count, np.nan) for _ in range(3))
    slope, beyond, unnoted, character = (np.zeros(count) for _ in range(4))
    origin = np.full(count, "", dtype="U24")
    of_a_reading = (kind == "minimum") | (kind == "break")
    row = np.where(of_a_reading & np.isin(ended, ("mush", "stop")), ended, kind)
    rate = entry_rate / KNOT_PER_SECOND
    known = np.isfinite(rate)
    for name in UNKNOWN_RATE:
        noted, blank = (row == name) & known, (row == name) & ~known
        n[noted], character[noted], shared[noted], alone[noted], slope[noted] = _by_table(name, rate[noted])
        n[blank], total, alone[blank] = UNKNOWN_RATE[name]
        # Of an unknown rate, the airplane's part is that at 1 kt/s; the rest is which rate was flown.
        character[blank], shared[blank] = own = np.array(_by_table(name, np.ones(1))[1:3])
        unnoted[blank] = math.sqrt(max(total**2 - float(np.sum(own**2)), 0.0))
        origin[row == name] = f"table, {name}"
    guessed = row == "unknown"  # which kind it was is as unknown as the rate
    told = np.minimum(shared, BEYOND_SIMULATION)
    unnoted[guessed] = np.sqrt(unnoted**2 + shared**2 - told**2)[guessed]
    shared[guessed] = told[guessed]
    slope /= KNOT_PER_SECOND
    steady = kind == "steady"
    gliding = steady & np.isfinite(sink_rate)
    n[steady], shared[steady], alone[steady] = STEADY_UNKNOWN_SINK
    origin[steady] = "steady, glide assumed"
    n[gliding] = glide_load_factor(sink_rate[gliding], true_airspeed[gliding])
    shared[gliding], alone[gliding] = 0.001, 0.002
    origin[gliding] = "steady, glide angle"
    held = steady & np.isin(ended, ("break", "mush"))
    n[held & ~gliding] = STEADY_BEFORE_BREAK[0]
    shared[held], alone[held] = STEADY_BEFORE_BREAK[1:]
    origin[held] = "steady before a break"
    beyond[~steady | held] = BEYOND_SIMULATION
    recorded = np.isfinite(load_factor)
    n[recorded] = load_factor[recorded]
    shared[recorded], alone[recorded] = math.hypot(RECORDED[0], recorded_uncertainty), RECORDED[1]
    slope[recorded] = beyond[recorded] = unnoted[recorded] = character[recorded] = 0.0
    origin[recorded] = "recorded"
    return LoadFactors(n, character, shared, beyond, unnoted, alone, slope, origin)
