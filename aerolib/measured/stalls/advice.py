"""What to do next: which source of error is worth work, and what the work would buy."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerolib.estimate import K95
from aerolib.measured.airspeed.correction import BORROWED
from aerolib.measured.stalls.results import Clmax

WORTH_NAMING = 0.08  # share of the variance below which a source is not worth an owner's afternoon: our judgment
# Source: what an owner can do about it, and what would be left of it afterwards. Our judgment.
REMEDIES = {
    "position error": ("airspeed calibration (position error) with GPS legs, down to near the stall", 0.33),
    BORROWED: ("fly airspeed legs in this state: its correction is that of another", 0.33),
    "load factor, shared": ("record the load factor, or time every entry and stay below 1 kt/s", 0.5),
    "day to day": ("fly on two more days", 0.7),
    "weight not noted": ("note crew and fuel of every stall", 0.1),
    "entry rate not noted": ("note the entry rate of every stall", 0.1),
    "wing area": ("measure the wing again by more stations", 0.5),
    "indicator scale": ("check the indicator on a water manometer", 0.4),
    "indicator": ("check the indicator on a water manometer", 0.4),
    "reading": ("film the indicator, or fly more stalls", 0.5),
    "weighing": ("weigh the empty airplane on better scales", 0.5),
    "loading": ("weigh crew and baggage before each flight", 0.5),
    "entry rate": ("time the entry", 0.5),
    "entry rate, pilot's habit": ("time the entry on the film of the indicator", 0.3),
    "entry rate, each flight": ("time the entry on the film of the indicator", 0.5),
    "reading, each flight": ("film the indicator square on", 0.4),
    "load factor, each stall": ("fly more stalls", 0.6),
}


@dataclass(frozen=True)
class Step:
    """One thing to do, and what it would make of the interval."""

    what: str
    source: str
    share: float  # of the variance now [-]
    half_width_now: float  # of CLmax, 95 % [-]
    half_width_then: float  # [-]

    def __str__(self) -> str:
        return (
            f"{self.what} ('{self.source}' is {self.share:.0%} of the variance): would narrow CLmax from about "
            f"±{self.half_width_now:.2f} to ±{self.half_width_then:.2f}"
        )


def next_steps(item: Clmax) -> list[Step]:
    """The steps worth taking for one result, the most useful first.

    u_then = sqrt(u**2 - part**2 (1 - left**2))

    Parameters
    ----------
    item : Clmax [-]

    Returns
    -------
    list of Step [-]

    Valid range: a guide; what a remedy leaves of a source is our judgment.
    """
    if item.clmax is None:
        return []
    u = item.clmax.standard_uncertainty
    steps = []
    for line in item.clmax.budget():
        if line.share < WORTH_NAMING or line.name not in REMEDIES:
            continue
        what, left = REMEDIES[line.name]
        then = math.sqrt(max(u**2 - line.contribution**2 * (1.0 - left**2), 0.0))
        if f"{K95 * u:.2f}" != f"{K95 * then:.2f}":  # else nobody would see it
            steps.append(Step(what, line.name, line.share, K95 * u, K95 * then))
    return sorted(steps, key=lambda s: s.half_width_then)
