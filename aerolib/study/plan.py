"""From an owner's own card to what a test plan needs: how much stalls and days differ, how well the speed is known."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aerolib.measured.plan import TestPlan, plan_test
from aerolib.measured.plan.flown import NONE, Flown
from aerolib.measured.stalls.results import Clmax, StallReduction
from aerolib.units import to_si

if TYPE_CHECKING:
    from aerolib.study import Study

WORTH_SEEING = to_si(1.0, "kt", "speed")  # [m/s] the change a plan in the report is made for

NOT_YET = "the changed airplane"  # what a plan calls a state that has no name yet


@dataclass(frozen=True)
class OwnScatter:
    """What one result of a card says about the next test, as standard deviations of speed [m/s]."""

    item: Clmax
    speed: float
    stalls: float
    days: float
    position: float
    share_of_a_stall: float  # of CL [-]: what the stated sources explain


def own_scatter(result: StallReduction) -> OwnScatter | None:
    """Scatter of the first result at idle that ended in breaks; None without one.

    Parameters
    ----------
    result : StallReduction [-]

    Returns
    -------
    OwnScatter [m/s]
    """
    found = next(((i, i.clmax, i.stall_speed_1g) for i in result.items if i.clmax and i.stall_speed_1g), None)
    if found is None:
        return None
    item, clmax, at = found
    here = result.points.group == result.items.index(item)
    own = float(np.mean((result.points.own_uncertainty / result.points.cl)[here]))
    state = math.sqrt(sum(p * p for s, p in clmax.parts.items() if s.scope == "state"))
    half = 0.5 * at.value  # one part in CL is half a part in speed
    return OwnScatter(item, at.value, half * own * result.scatter_ratio, half * result.day_scatter,
                      0.5 * float(np.mean(result.points.cas[here])) * state / clmax.value, own)  # fmt: skip


def flown_of(case) -> Flown:
    """Flights flown so far in the first and the last state of a case; none where that order is in doubt.

    Parameters
    ----------
    case : Case [-]

    Returns
    -------
    Flown [-]
    """
    if case.order_in_doubt:
        return NONE
    names = case.states[0], case.states[-1] if len(case.states) > 1 else NOT_YET
    flights = {s.name: len(s.flights) for s in case.flown}
    return Flown(flights.get(names[0], 0), flights.get(names[1], 0), names)


def plan_of(study: Study) -> TestPlan | None:
    """The plan for a change of one knot with the card's own scatter, counted from what was flown."""
    own = study.own_scatter
    if own is None:
        return None
    return study.memo(plan_test, WORTH_SEEING, own.speed, stall_scatter=own.stalls, day_scatter=own.days,
                      position_uncertainty=own.position, errors=study.reduction.model.card.errors,
                      weight=study.reference_weight, flown=flown_of(study.case))  # fmt: skip
