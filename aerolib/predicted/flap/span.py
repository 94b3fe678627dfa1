"""A flap on part of a wing, cut-outs taken away, and what trimming its moment costs."""

from __future__ import annotations

import numpy as np

from aerolib.estimate import Estimate, Source
from aerolib.physics.lifting_line import LiftingLine, Planform
from aerolib.predicted.flap.result import FlapIncrement, FlapSpan

TAIL_ARM, TAIL_ARM_UNCERTAINTY = 3.0, 0.5  # tail arm over mean chord, where it is not given [-]


def flap_span(
    planform: Planform, inner: float, outer: float, cutouts: tuple[tuple[float, float], ...] = ()
) -> FlapSpan:
    """The part of a wing that a flap covers, and what the lifting line makes of it.

    S_f/S = wing area in the flap's span over wing area;  K_b = lift of the part-span step over that of the full span

    Parameters
    ----------
    planform : Planform [m, rad]
        Its aileron, where given, must not lie in the flap's span.
    inner, outer : float [m]
        Ends of the flap from the centerline, both halves alike.
    cutouts : sequence of (inner, outer) [m]
        Gaps in the flap, such as the one at the fuselage or a propeller bracket.

    Returns
    -------
    FlapSpan [-]

    Raises ValueError where the ends are not inside the half span, the flap reaches over the aileron, or a cut-out lies
    outside the flap. Source: lifting line of aerolib.physics.lifting_line; S_f/S is common practice.
    """
    half = 0.5 * planform.span
    if not 0.0 <= inner < outer <= half * (1.0 + 1e-9):
        raise ValueError(
            f"flap from {inner:.4g} to {outer:.4g} m: needed is the inner end below the outer end, both from 0 to the "
            f"half span, {half:.4g} m; measure out from the centerline"
        )
    if planform.aileron is not None and outer > planform.aileron[0] + 1e-9 and inner < planform.aileron[1]:
        raise ValueError(
            f"the flap (to {outer:.4g} m) reaches over the aileron (from {planform.aileron[0]:.4g} m); shorten one of "
            "them, or leave the aileron out where the two are one surface"
        )
    parts, at = [], inner
    for a, b in sorted(cutouts):
        if not inner <= a < b <= outer or a < at - 1e-9:
            raise ValueError(
                f"cut-out from {a:.4g} to {b:.4g} m: needed is inner end below outer end, inside the flap "
                f"({inner:.4g} to {outer:.4g} m) and clear of the other cut-outs"
            )
        if a > at:
            parts.append((at, a))
        at = b
    if at < outer:
        parts.append((at, outer))
    if not parts:
        raise ValueError("the cut-outs take away the whole flap; leave one of them out")
    line = LiftingLine(planform)
    area = sum(planform.area_between(a, b) for a, b in parts) / planform.area_between(0.0, half)
    steps = tuple((a, b, 1.0) for a, b in parts)
    factor = float(line.loading(0.0, steps).lift_coefficient) / line.slope
    return FlapSpan(tuple(parts), float(area), factor, float(line.slope), float(planform.aspect_ratio))


def trimmed_clmax(increment: FlapIncrement, tail_arm: float | None = None) -> Estimate:
    """CLmax that a flap adds to the trimmed airplane: the tail carries its nose-down moment as a download.

    dCLmax,trim = dCLmax + dCm c/l_t

    Parameters
    ----------
    increment : FlapIncrement [-]
        Of the wing, scalar settings.
    tail_arm : float [-]
        Distance from the center of gravity to the tail's quarter chord over the mean chord; None: 3.0 +- 0.5 is taken.

    Returns
    -------
    Estimate [-]

    The center of gravity is taken at the quarter chord; what the flap changes in downwash and power is not in it.
    Source: moment balance about the center of gravity; common practice.
    """
    if increment.level != "wing":
        raise ValueError("the increment is that of a section; give flap_increment the flap's span first")
    if tail_arm is not None and not 1.0 <= tail_arm <= 10.0:
        raise ValueError(f"tail arm {tail_arm:.4g} MAC: expected 1 to 10; divide the arm by the MAC")
    loss = increment.moment / (TAIL_ARM if tail_arm is None else tail_arm)
    unknown = TAIL_ARM_UNCERTAINTY / TAIL_ARM if tail_arm is None else 0.0
    free = increment.estimate("clmax")
    trim = Source("trim of the flap's moment", "shared", increment.kind)
    parts = {**free.parts, trim: float(loss * np.hypot(increment.relative["moment"], unknown))}
    return Estimate(
        f"CLmax of the trimmed airplane added by a {increment.kind} flap", float(free.value + loss), "-", parts
    )
