"""From a section's increment to the wing, and from drag to the top speed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from aerolib.estimate import Estimate
from aerolib.physics.lifting_line import Planform
from aerolib.predicted.wing import TRIM_LOSS, SpanIncrement, wing_spread

NODES = (-0.3, 0.0, 0.12, 0.25, 0.45, 0.7)  # section increments at which the wing is solved
TRIMMED = 1.0 - 0.5 * sum(TRIM_LOSS)  # trimmed over wing: the middle of what the tail may cost; it cancels in ratios


@dataclass(frozen=True)
class _Bare:
    """A section without its error sources: they shift both states of the wing alike."""

    alpha0: float
    slope: float
    clmax: Estimate


@dataclass(frozen=True)
class WingCurve:
    """What increments of the section over one span do to the trimmed airplane."""

    increment: np.ndarray  # of the section's clmax [-]
    gain: np.ndarray  # of trimmed CLmax [-]
    before: float  # trimmed CLmax [-]
    touch: np.ndarray  # where the stall starts, from the centerline [m]
    margin: np.ndarray  # least margin over the aileron when the stall starts [-]; NaN without aileron

    def at(self, increment) -> np.ndarray:
        """Gain of trimmed CLmax [-] for section increments [-]; held beyond the largest solved."""
        return np.interp(increment, self.increment, self.gain)


def wing_curve(planform: Planform, sections, inner: float, outer: float, first_stall: float | None = None) -> WingCurve:
    """Trimmed CLmax against the section increment over part of the span.

    critical section: what lies outside the span keeps its limit, and lets go first sooner or later

    Parameters
    ----------
    planform : Planform [m]
    sections : mapping of share of the half span to SectionLift [-]
    inner, outer : float [m]
        From the centerline.
    first_stall : float [m]
        Where tufts first let go; None: not observed.

    Returns
    -------
    WingCurve [-]
    """
    bare = tuple((float(e), float(s.alpha0), float(s.slope), float(s.clmax.value)) for e, s in sorted(sections.items()))
    ends = (min(round(float(y), 4), 0.5 * planform.span) for y in (inner, outer))
    return _curve(planform, bare, *ends, first_stall)


@lru_cache(maxsize=256)
def _curve(planform, bare, inner, outer, first_stall) -> WingCurve:
    sections = {e: _Bare(a, s, Estimate("clmax", c, "-")) for e, a, s, c in bare}
    solved = [
        wing_spread(planform, sections, [SpanIncrement(inner, outer, x, 0.0)] if x else [], first_stall) for x in NODES
    ]
    value = TRIMMED * np.array([s[0] for s in solved])
    before = value[NODES.index(0.0)]
    # More at a section never takes lift away, nor does less add any: what is left is the mesh's own noise.
    gain = np.maximum.accumulate(value - before)
    return WingCurve(
        np.array(NODES), gain - gain[NODES.index(0.0)], float(before), np.array([s[1] for s in solved]),
        np.array([np.nan if s[2] is None else s[2] for s in solved]),
    )  # fmt: skip


def top_speed_change(drag, zero_lift_drag):
    """Relative change of top speed at fixed power, drag without lift dominating.

    V2 / V1 = (CD0 / (CD0 + dCD))^(1/3)

    Parameters
    ----------
    drag : float or array [-]
        dCD on the wing area.
    zero_lift_drag : float or array [-]
        CD0 of the airplane.

    Returns
    -------
    float or array [-]
        Negative: slower.

    Source: power required, P = CD rho V^3 S / 2; any textbook.
    """
    return (1.0 + np.asarray(drag, dtype=float) / zero_lift_drag) ** (-1.0 / 3.0) - 1.0
