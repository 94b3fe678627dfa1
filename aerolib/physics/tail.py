"""A tailplane with its elevator: downwash, slope, effectiveness, and how much load it can give."""

from __future__ import annotations

import math

import numpy as np

from aerolib.ranges import ANGLE, in_range

DOWNWASH_SPREAD = (0.15, 0.25)  # 1 sigma on the downwash, out of and in ground effect: against a lifting line
FALLS_FROM = math.radians(15.0)  # deflection up to which a plain elevator keeps its effectiveness
FALLS_TO = 0.60  # share of it left at 40 degrees: a substitute of ours for the usual chart


@in_range()
def finite_slope(aspect_ratio: float | np.ndarray, quality: float = 1.0, sweep: float = 0.0) -> np.ndarray:
    """Lift slope of a surface of finite span.

    a = 2 pi A/(2 + sqrt(A^2 (1 + tan^2 L)/k^2 + 4))

    Parameters
    ----------
    aspect_ratio : [-]
    quality : [-]
        k: section slope over 2 pi.
    sweep : [rad]
        Of the half-chord line.

    Returns
    -------
    array [1/rad]

    Source: USAF DATCOM 4.1.3.2 at low speed, from memory.
    """
    a = np.asarray(aspect_ratio, float)
    return 2.0 * math.pi * a / (2.0 + np.sqrt(a**2 * (1.0 + math.tan(sweep) ** 2) / quality**2 + 4.0))


@in_range(height_over_span=(-2.0, 2.0, "-"))
def downwash_slope(
    aspect_ratio: float, taper: float, arm_over_span: float, height_over_span: float = 0.0, sweep: float = 0.0
) -> float:
    """Change of the downwash angle at the tail with the wing's incidence, out of ground effect.

    de/da = 4.44 (K_A K_l K_H sqrt(cos L))^1.19, K_A = 1/A - 1/(1 + A^1.7), K_l = (10 - 3 l)/7,
    K_H = (1 - |h|/b)/(2 l_t/b)^(1/3)

    Parameters
    ----------
    aspect_ratio : [-]
    taper : [-]
        Tip chord over root chord.
    arm_over_span : [-]
        Quarter chord of the wing to quarter chord of the tail, over the span.
    height_over_span : [-]
        Tail above or below the wing's plane, over the span.
    sweep : [rad]
        Of the quarter-chord line.

    Returns
    -------
    float [-]

    Raises
    ------
    ValueError
        A tail ahead of the wing.

    Source: USAF DATCOM 4.4.1, from memory; 11 to 17 % below a flat-wake lifting line, so 15 % (1 sigma) is carried.
    """
    if not arm_over_span > 0.0:
        raise ValueError(
            f"the tail arm over the span is {arm_over_span:.3g}: a tail ahead of the wing works in upwash and is not "
            "what this method describes; needed is a tailplane behind the wing"
        )
    k_a = 1.0 / aspect_ratio - 1.0 / (1.0 + aspect_ratio**1.7)
    k_l = (10.0 - 3.0 * taper) / 7.0
    k_h = (1.0 - abs(height_over_span)) / (2.0 * arm_over_span) ** (1 / 3)
    return float(4.44 * (k_a * k_l * k_h * math.sqrt(math.cos(sweep))) ** 1.19)


@in_range()
def elevator_effectiveness(elevator_share: float) -> float:
    """Change of tail incidence that a degree of elevator is worth, at small deflection.

    tau = 1.129 r^0.4044 - 0.1772

    Parameters
    ----------
    elevator_share : [-]
        Elevator area over tail area, 0.1 to 0.6.

    Returns
    -------
    float [-]

    Raises
    ------
    ValueError
        A share outside 0.1 to 0.6.

    Source: a fit to the chart that textbooks reprint (Perkins and Hage; Nelson), from memory; carry 10 % (1 sigma).
    """
    if not 0.1 <= elevator_share <= 0.6:
        raise ValueError(
            f"elevator over tail area is {elevator_share:.3g}; the chart goes from 0.1 to 0.6: check the chords "
            "(hinge line to trailing edge over leading to trailing edge)"
        )
    return 1.129 * elevator_share**0.4044 - 0.1772


@in_range(deflection=ANGLE)
def effective_deflection(deflection: float | np.ndarray, falls_to: float | np.ndarray = FALLS_TO) -> np.ndarray:
    """Deflection that a plain elevator still feels like: full up to 15 degrees, less beyond.

    d_e = d up to 15 degrees; beyond, each degree counts less, linearly, as if 40 degrees worked as falls_to times 40;
    held where a degree counts nothing

    Parameters
    ----------
    deflection : [rad]
        Either sign.
    falls_to : [-]
        Share of the effectiveness left at 40 degrees, before it is held.

    Returns
    -------
    array [rad]

    A substitute of ours for the chart of flap effectiveness at large angles; no source.
    """
    d = np.asarray(deflection, float)
    size = np.abs(d)
    beyond = np.clip(size - FALLS_FROM, 0.0, None)
    widest = math.radians(40.0)
    lost = (1.0 - np.asarray(falls_to, float)) * widest / (widest - FALLS_FROM) ** 2
    with np.errstate(divide="ignore"):
        beyond = np.minimum(beyond, 0.5 / lost)  # past its top more deflection adds nothing, and takes nothing
    return np.sign(d) * (np.minimum(size, FALLS_FROM) + beyond - lost * beyond**2)
