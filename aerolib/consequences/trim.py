"""What balancing costs: the tail's load in the trimmed airplane's CLmax, and CLmax at another center of gravity."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aerolib.consequences.balance import Airplane, Flap, tail_load_needed
from aerolib.estimate import Estimate
from aerolib.measured.stalls.results import StallReduction
from aerolib.ranges import in_range


@in_range(reference=(-2.0, 3.0, "-"))
def to_reference_cg(
    clmax: float | np.ndarray, cg: float | np.ndarray, reference: float, chord_over_arm: float
) -> np.ndarray:
    """Trimmed CLmax at a reference center of gravity, the wing's own lift unchanged.

    CL_ref = CL (1 + (h_ref - h) c/l_t)

    Parameters
    ----------
    clmax : [-]
        Of the trimmed airplane as flown.
    cg : [-]
        As flown, share of the MAC.
    reference : [-]
        Share of the MAC.
    chord_over_arm : [-]
        Mean chord over tail arm.

    Returns
    -------
    array [-]

    Source: the moment of the lift moved by (h_ref - h) c is the tail's load times its arm; any text on trim.
    """
    return np.asarray(clmax, float) * (1.0 + (reference - np.asarray(cg, float)) * chord_over_arm)


@in_range(wing_clmax=(0.05, 8.0, "-"))
def trim_loss(a: Airplane, flap: Flap, wing_clmax: float | np.ndarray, cg: float, chord_over_arm: float) -> np.ndarray:
    """Share of the wing's CLmax that the tail takes away in balancing it.

    loss = -(q_t/q) (S_t/S) CL_t/CL, S_t/S = V_H c/l_t, CL_t from the balance at the trimmed lift

    Parameters
    ----------
    a, flap : [-]
    wing_clmax : [-]
        Of the wing alone.
    cg : [-]
        Share of the MAC.
    chord_over_arm : [-]
        Mean chord over tail arm.

    Returns
    -------
    array [-]
        Negative where the tail lifts.
    """
    wing = np.asarray(wing_clmax, float)
    total = wing
    for _ in range(4):  # the tail's load goes with the trimmed lift, and the trimmed lift with the tail's load
        tail = a.tail_pressure * a.tail_volume * chord_over_arm * tail_load_needed(a, flap, total, cg)
        total = wing + tail
    return 1.0 - total / wing


@dataclass(frozen=True)
class AtReference:
    """Measured CLmax of one modification, configuration and power, taken to a center of gravity common to all."""

    modification: str
    configuration: str
    power: str
    cg: float  # mean of the breaks, share of the MAC
    reference: float  # share of the MAC
    flown: Estimate
    clmax: Estimate

    def __str__(self) -> str:
        return (
            f"{self.modification}, {self.configuration}, {self.power}: CLmax {self.clmax.text()} at "
            f"{100 * self.reference:.1f} % of the chord; flown at {100 * self.cg:.1f} %"
        )


def measured_at_reference_cg(
    result: StallReduction, cg: np.ndarray, reference: float, chord_over_arm: float
) -> tuple[AtReference, ...]:
    """Measured CLmax of every group that broke, at one center of gravity.

    CL_ref = CL (1 + (h_ref - h) c/l_t), h the mean over the group's breaks

    Parameters
    ----------
    result : StallReduction [-]
    cg : [-]
        Of each stall, share of the MAC; NaN where it was not recorded.
    reference : [-]
        Share of the MAC.
    chord_over_arm : [-]
        Mean chord over tail arm.

    Returns
    -------
    tuple of AtReference [-]
        Without the groups that never broke, and those whose center of gravity nobody recorded.
    """
    cg, out = np.asarray(cg, float), []
    for k, item in enumerate(result.items):
        breaks = (result.points.group == k) & (result.points.outcome == "break") & np.isfinite(cg)
        if item.clmax is None or not breaks.any():
            continue
        at = float(cg[breaks].mean())
        moved = item.clmax.scaled(float(to_reference_cg(1.0, at, reference, chord_over_arm)), "-")
        out.append(AtReference(item.modification, item.configuration, item.power, at, reference, item.clmax, moved))
    return tuple(out)
