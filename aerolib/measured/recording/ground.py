"""Stall speed from a receiver alone: several wings-level stalls in the same air, one circle through what they did.

At the stall the ground velocity is wind plus airspeed along the heading. On several headings the tips lie on a circle
about the wind, and its radius is the horizontal part of the airspeed; the glide adds the rest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.estimate import K95
from aerolib.measured.airspeed.circle import fit_circle
from aerolib.measured.recording.results import FoundStall

SAME_AIR = 1200.0  # [s] longest time from first to last stall: the wind is another one after that, our judgement
OPPOSITE = math.radians(20.0)  # how far from opposite two tracks may be
RECEIVER = 0.10  # [m/s] standard uncertainty of a velocity at the stall instant: our judgement


@dataclass(frozen=True)
class GroundStallSpeed:
    """True airspeed at the stall from ground velocities, and the wind they share."""

    true_airspeed: float  # [m/s]
    standard_uncertainty: float  # [m/s]
    wind_speed: float  # [m/s]
    wind_from: float  # [rad]
    residuals: tuple[float, ...]  # [m/s] of each stall from the circle, outside positive
    sink_rate: float  # [m/s]
    stalls: int
    method: str

    @property
    def interval95(self) -> tuple[float, float]:
        """Nineteen times in twenty [m/s]."""
        half = K95 * self.standard_uncertainty
        return self.true_airspeed - half, self.true_airspeed + half


def airspeed_from_ground(stalls) -> GroundStallSpeed:
    """True airspeed at the stall from the ground velocities of several stalls in the same air.

    |g_i - w| = r;   V = sqrt(r^2 + sink^2)

    Parameters
    ----------
    stalls : sequence of FoundStall [SI]
        Wings-level, with `ground_velocity`: on three headings or more, or two opposite ones along the wind.

    Returns
    -------
    GroundStallSpeed [SI]

    Raises
    ------
    ValueError
        Too few, headings too much alike, or too long apart; the message says which.

    Valid range: one wind for all; the same stall speed for all, up to the scatter shown. Source: leg velocities on a
    circle about the wind, as published for steady legs by D. Gray, 1998 (page 1 read elsewhere, numbers second-hand).
    """
    stalls = [s for s in stalls if s.refused is None and all(map(math.isfinite, s.ground_velocity))]
    if len(stalls) < 2:
        raise ValueError(
            f"{len(stalls)} stalls have a ground velocity; needed are wings-level stalls on three headings within "
            "minutes, or on two opposite ones along the wind"
        )
    times = [s.time for s in stalls]
    if max(times) - min(times) > SAME_AIR:
        raise ValueError(
            f"the stalls are {(max(times) - min(times)) / 60:.0f} min apart; needed is the same air: within "
            f"{SAME_AIR / 60:.0f} min, at one height"
        )
    g = np.array([s.ground_velocity for s in stalls])
    sink = _sink(stalls)
    tracks = np.arctan2(g[:, 0], g[:, 1])
    if _opposite(tracks):
        return _from_opposite(g, tracks, sink)
    if len(stalls) < 3:
        told = " and ".join(f"{math.degrees(t) % 360:.0f}" for t in tracks)
        raise ValueError(
            f"two stalls, on tracks {told} deg, leave wind and airspeed open; fly a third with the nose some 120 deg "
            "from the others, turned at a faster speed and then slowed"
        )
    try:
        circle = fit_circle(np.hypot(*g.T), tracks, sink_rate=sink, leg=RECEIVER)
    except ValueError as e:
        raise ValueError(f"the ground velocities at the stalls, each taken as a leg: {e}") from None
    off = circle.residuals
    spread = math.sqrt(float(off @ off) / (len(g) - 3)) if len(g) > 3 else 0.0
    u = circle.standard_uncertainty * max(spread / RECEIVER, 1.0)
    return GroundStallSpeed(circle.airspeed, u, circle.wind_speed, circle.wind_from, tuple(map(float, off)), sink,
                            len(g), "circle through the tips of the ground velocities")  # fmt: skip


def _sink(stalls: list[FoundStall]) -> float:
    known = [s.sink_rate for s in stalls if math.isfinite(s.sink_rate)]
    return max(float(np.mean(known)), 0.0) if known else 0.0


def _turn(a: float, b: float) -> float:
    return (a - b + math.pi) % (2.0 * math.pi) - math.pi


def _opposite(tracks: np.ndarray) -> bool:
    """All along one line, and both ways."""
    off = np.abs([_turn(t, tracks[0]) for t in tracks])
    return bool(np.all((off < OPPOSITE) | (off > math.pi - OPPOSITE)) and (off > math.pi / 2).any())


def _from_opposite(g: np.ndarray, tracks: np.ndarray, sink: float) -> GroundStallSpeed:
    """Two opposite directions: half the sum of the ground speeds; the wind across is not seen and makes it read low."""
    there = np.abs([_turn(t, tracks[0]) for t in tracks]) < math.pi / 2
    axis = g[there].mean(axis=0) - g[~there].mean(axis=0)
    axis /= np.hypot(*axis)
    along = g @ axis
    fast, slow = along[there].mean(), along[~there].mean()
    r, wind = 0.5 * (fast - slow), 0.5 * (fast + slow) * axis
    off = np.where(there, along - fast, slow - along)
    n = min(there.sum(), (~there).sum())
    spread = math.sqrt(float(off @ off) / max(len(g) - 2, 1))
    u = max(spread, RECEIVER) / math.sqrt(2.0 * n)
    v = math.hypot(r, sink)
    return GroundStallSpeed(
        v, u * r / v, abs(0.5 * (fast + slow)), math.atan2(-wind[0], -wind[1]) % (2 * math.pi),
        tuple(float(x) for x in off), sink, len(g), "opposite headings; right only if flown along the wind",
    )  # fmt: skip
