"""Worth buying? Whether a planned test would show what a device is likely to do."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import ndtri

from aerolib.estimate import Estimate
from aerolib.measured.plan import plan_test

CHANCES = (0.025, 0.2, 0.4, 0.6, 0.8, 0.975)  # of the predicted change, at which the plan is worked out


@dataclass(frozen=True)
class Program:
    """Flights before and after, and how well they tell speeds; standard deviations [m/s]."""

    stall_speed: float  # [m/s]
    stall_scatter: float
    day_scatter: float | None
    position_uncertainty: float
    stalls: int = 4  # on each flight
    flights: int = 2  # in each state


def chance_shown(change: Estimate | None, program: Program) -> float | None:
    """That a program of flights shows a predicted change; None where there is no change to look for.

    mean over the predicted changes of P(the program shows that change)

    Parameters
    ----------
    change : Estimate [m/s]
        Of the 1-g stall speed.
    program : Program [SI]

    Returns
    -------
    float [-]
    """
    return None if change is None else _chance(change.value, max(change.standard_uncertainty, 1e-3), program)


@lru_cache(maxsize=64)  # another drag or mass of the same change asks for the same chance
def _chance(value: float, sd: float, program: Program) -> float:
    """At a few of the predicted changes, averaged over all of them."""
    p = program
    drops = np.clip(-(value + sd * ndtri(np.array(CHANCES))), 0.0, 0.4 * p.stall_speed)
    shown = np.array([
        plan_test(float(x), p.stall_speed, stall_scatter=p.stall_scatter, day_scatter=p.day_scatter,
                  position_uncertainty=p.position_uncertainty, stalls=(p.stalls,),
                  flights=(p.flights,)).cells[0].probability_shown
        for x in drops
    ])  # fmt: skip
    order = np.argsort(drops)
    at = np.maximum(-(value + sd * ndtri((np.arange(200) + 0.5) / 200)), 0.0)
    return float(np.mean(np.interp(at, drops[order], shown[order])))
