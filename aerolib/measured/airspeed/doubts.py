"""Legs that cannot be what their columns say: a whole file in another unit, or one leg misread."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from aerolib.measured.airspeed.circle import Circle, fit_circle
from aerolib.measured.assumptions import KNOT
from aerolib.measured.labels import joined
from aerolib.units import knots, to_si

SPEEDS = ("kt", "mph", "km/h", "m/s")
# An airspeed system is wrong most near the stall, by 15 % at worst; at speed by some percent. All our judgement.
WITHIN, FAST_EACH = 0.15, 0.08  # ln: any run, any fast run
SURE, ASKED = 0.03, 0.06  # ln: the middle of the fast ones
FAST = 1.0  # lift coefficient below which a run is fast
FEWEST_FAST = 2  # runs that must agree before a factor an airspeed system could have is taken for a unit
POSSIBLE = 0.3  # ln: no airspeed system has a factor beyond
TORN = 4.0 * KNOT  # scatter of the legs of a run that no wind or hand explains [m/s]: our judgement
# How far the right three legs may be from the other runs: in ln of airspeed over reading, and in wind [m/s].
LIKE_OTHERS, WIND_CHANGES = 0.04, 3.0 * KNOT
CLEARLY, LIKELY = 9.0, 4.0  # three and two standard deviations, squared
# What is known of ln of airspeed over reading before a run is flown: level, slope over CL, and how far one run strays
# from its line. Standard deviations, our judgement: 15 % near the stall is within two of them.
LEVEL, SLOPE, STRAYS = 0.05, 0.08, 0.02


@dataclass(frozen=True)
class UnitDoubt:
    """All runs come out by one factor too fast or too slow."""

    ratio: float  # true airspeed from the legs over that from the reading [-]
    runs: int
    sure: bool  # False: it may as well be an error of the airspeed system

    def read_as(self, unit: str, sign: int) -> list[str]:
        """Units a column headed `unit` may really be in: sign +1 for ground speeds, -1 for readings."""
        off = {u: abs(sign * math.log(self.ratio) - math.log(_factor(u, unit))) for u in SPEEDS if u != unit}
        return [u for u, x in off.items() if x < FAST_EACH]

    def __str__(self) -> str:
        return (f"the ground speeds make the airspeed {self.ratio:.2f} times what the readings make it, in "
                f"{'the one run' if self.runs == 1 else f'all {self.runs} runs'}, and winds are taken out")  # fmt: skip


@dataclass(frozen=True)
class MisreadLeg:
    """A leg that the others of its run contradict."""

    leg: int  # its place among all legs, from 0
    run: str
    ground_speed: float  # as given [m/s]
    expected: float  # what the others make of it on its track [m/s]

    def __str__(self) -> str:
        return (f"{self.run}: a leg of {knots(self.ground_speed):.0f} kt was set aside, since the others of its run "
                f"make it about {knots(self.expected):.0f} kt: correct it, or give a reason in `left_out`")  # fmt: skip


@dataclass(frozen=True)
class Sketch:
    """One run before the runs are brought together."""

    key: tuple[str, str, str]  # modification, flap, run
    where: np.ndarray  # (n,) places of its legs among all
    legs: dict[str, np.ndarray]  # (n,) by column, SI
    circle: Circle
    notes: list[str]
    expected: float  # true airspeed that the reading makes [m/s]
    cl: float  # lift coefficient of the reading [-]

    @property
    def ratio(self) -> float:
        """ln of the airspeed of the legs over that of the reading [-]."""
        return math.log(self.circle.airspeed / self.expected)

    @property
    def scatter(self) -> float:
        """Standard deviation of its legs about the circle [m/s]; 0 where three fit exactly."""
        residuals = self.circle.residuals
        return math.sqrt(float(residuals @ residuals) / max(len(residuals) - 3, 1))

    @property
    def torn(self) -> bool:
        """Whether its legs cannot be of one circle."""
        return self.scatter > TORN


def _factor(a: str, b: str) -> float:
    """What a number written in unit a and read in unit b is multiplied by."""
    return to_si(1.0, b, "speed") / to_si(1.0, a, "speed")


def unit_ratio(ratios, cl) -> UnitDoubt | None:
    """Whether all runs are off by the factor of two units of speed.

    Parameters
    ----------
    ratios : list [-]
        ln of airspeed from the legs over airspeed from the reading, of each run.
    cl : list [-]
        Lift coefficient of each reading.

    Returns
    -------
    UnitDoubt or None [-]

    Valid range: winds do not matter, a run's circle has taken them out; an airspeed system within 3 % at speed and 15 %
    near the stall. One 12 to 18 % off at every speed is taken for another unit; from 9 to 22 % it is asked about.
    """
    if not len(ratios):
        return None
    ratios, cl = np.asarray(ratios), np.asarray(cl)
    fast = ratios[cl < FAST]
    middle = float(np.median(fast if len(fast) else ratios))
    factors = {math.log(_factor(a, b)) for a, b in itertools.permutations(SPEEDS, 2)}
    nearest = min(factors, key=lambda f: abs(middle - f))
    if np.any(np.abs(ratios - nearest) > WITHIN):
        return None
    if abs(nearest) > POSSIBLE:
        return UnitDoubt(math.exp(middle), len(ratios), True)
    off = abs(middle - nearest)
    if off > ASKED or np.any(np.abs(fast - nearest) > FAST_EACH):
        return None
    return UnitDoubt(math.exp(middle), len(ratios), len(fast) >= FEWEST_FAST and off <= SURE)


def odd_units(runs) -> dict[int, tuple[float, bool]]:
    """Single runs off by a unit's factor from what the other runs make likely.

    ln(V / V_i) = a + b CL + e over the runs of a state, a, b and e as likely as airspeed systems have them; what every
    factor f of two units, taken off one run, gains in chi squared.

    Parameters
    ----------
    runs : list of Sketch [-]
        Those whose legs agree.

    Returns
    -------
    dict of place among `runs` -> (factor, sure) [-]
        Not sure: another run, or an error of the airspeed system, explains it nearly as well.

    Valid range: position errors that grow smoothly to 15 % at the stall are none. Sure takes two other runs of the same
    state, or of any state where the run is fast; of two runs alone nothing is sure.
    """
    factors = {math.log(_factor(a, b)) for a, b in itertools.permutations(SPEEDS, 2)}
    found: dict[int, tuple[float, bool]] = {}
    for state in dict.fromkeys(r.key[:2] for r in runs):
        mine = [k for k, r in enumerate(runs) if r.key[:2] == state]
        alone = len(mine) < 3
        judges = range(len(runs)) if alone else mine
        if len(judges) < 2:
            continue
        y, cl = (np.array([getattr(runs[k], n) for k in judges]) for n in ("ratio", "cl"))
        a = np.column_stack([np.full(len(cl), LEVEL), SLOPE * cl])
        inverse = np.linalg.inv(a @ a.T + STRAYS**2 * np.eye(len(cl)))
        gain = {(k, f): f * (2.0 * (inverse[i] @ y) - f * inverse[i, i])
                for i, k in enumerate(judges) if k in mine for f in factors}  # fmt: skip
        best = max(gain.values())
        likely = [(k, f) for (k, f), g in gain.items() if g > max(LIKELY, best - LIKELY)]
        one = len(likely) == 1 and best > CLEARLY and len(judges) > 2
        found |= {k: (math.exp(f), one and (not alone or runs[k].cl < FAST)) for k, f in likely}
    return found


def misread_leg(run: Sketch, runs, leg: float) -> tuple[MisreadLeg, Circle] | None:
    """The one leg of a run that the others contradict, and the circle of the others.

    Without it the others must give an airspeed and a wind like those of the other runs; without any other leg they
    must not.

    Parameters
    ----------
    run : Sketch [-]
    runs : list of Sketch [-]
        All of them.
    leg : float [m/s]
        Standard uncertainty of one leg.

    Returns
    -------
    (MisreadLeg, Circle) or None [-]
        None where the legs agree, or nothing tells them apart.
    """
    if not run.torn:
        return None
    sound = [r for r in runs if not r.torn]
    usual = float(np.median([r.ratio for r in sound])) if sound else 0.0
    winds = [r.circle.wind for r in sound if r.key[0] == run.key[0]]
    tracks = bool(np.all(np.isfinite(run.legs["track"])))
    angle, gs, sink = (run.legs[k] for k in ("track" if tracks else "heading", "ground_speed", "sink_rate"))
    tried = []
    for k in range(len(gs)):
        keep = np.arange(len(gs)) != k
        given = {"track" if tracks else "heading": angle[keep]}
        try:
            c = fit_circle(gs[keep], sink_rate=np.nan_to_num(sink[keep]), leg=leg, expected=run.expected, **given)
        except ValueError:
            continue
        off = ((math.log(c.airspeed / run.expected) - usual) / LIKE_OTHERS) ** 2
        off += float(c.residuals @ c.residuals) / leg**2
        if winds:
            off += float(np.sum((np.median(winds, axis=0) - c.wind) ** 2)) / WIND_CHANGES**2
        tried.append((off, k, c))
    tried.sort(key=lambda t: t[0])
    if len(tried) < 2 or tried[0][0] > CLEARLY or tried[1][0] < tried[0][0] + CLEARLY:
        return None
    _, k, c = tried[0]
    level = math.sqrt(max(c.airspeed**2 - float(np.nan_to_num(sink[k])) ** 2, 0.0))
    ahead = np.array([math.sin(angle[k]), math.cos(angle[k])])
    along = float(ahead @ c.wind)
    across = float(np.hypot(*c.wind)) ** 2 - along**2
    if tracks:
        expected = along + math.sqrt(max(level**2 - across, 0.0))
    else:
        expected = float(np.hypot(*(level * ahead + c.wind)))
    return MisreadLeg(int(run.where[k]), f"{joined(*run.key[:2])}, run {run.key[2]}", float(gs[k]), expected), c
