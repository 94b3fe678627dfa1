"""What to do next: which source of error is worth work, and what the work would buy."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerolib.estimate import K95
from aerolib.measured.stalls.results import Clmax
from aerolib.sources import REGISTER

WORTH_NAMING = 0.08  # share of the variance below which a source is not worth an owner's afternoon: our judgment


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
        known = REGISTER.get(line.name)
        if line.share < WORTH_NAMING or known is None or not known.remedy:
            continue
        then = math.sqrt(max(u**2 - line.contribution**2 * (1.0 - known.left**2), 0.0))
        if f"{K95 * u:.2f}" != f"{K95 * then:.2f}":  # else nobody would see it
            steps.append(Step(known.remedy, line.name, line.share, K95 * u, K95 * then))
    return sorted(steps, key=lambda s: s.half_width_then)
