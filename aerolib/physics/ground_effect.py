"""What the ground does to a wing and to the air at its tail.

Three images of the wing below the ground act here: its trailing vortices lessen the induced angle and drag,
its bound vortex slows the air at the wing (so that little of the gain is left at a high lift coefficient),
and both straighten the flow at the tail. None of them raises CLmax.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.ranges import in_range

LOWEST, HIGHEST = 1 / 15, 0.5  # height over span: where Wieselsberger's form was tested
CLMAX_RATIO = (0.90, 1.00)  # CLmax in ground effect over CLmax out of it: see `ground_effect`

SOURCE = (
    "relief of induced drag: Phillips and Hunsaker, AIAA 2013-2917 (abstract read, constants second-hand or recalled, "
    "within 1 % of an image lifting line from h/b 0.1 up); bound vortex of the image: our derivation; downwash: USAF "
    "DATCOM 4.7.1 (from memory)"
)
CAUTIONS = (
    "A flat wake and flat chord: camber, flap and thickness near the ground are not in it.",
    "Tunnel tests over a ground plate found the maximum lift with flaps lower near the ground (NACA TN 705, abstract): "
    "no gain of CLmax is ever credited here.",
)


@in_range()
def induced_relief(height_over_span: float | np.ndarray, aspect_ratio: float, taper: float = 1.0) -> np.ndarray:
    """Share of the induced drag that the ground takes away, at the same lift.

    sigma = d exp(-4.74 x^0.814) + x^2 exp(-3.88 x^0.758), x = h/b,
    d = 1 - 0.157 (l^0.775 - 0.373) (A^0.417 - 1.27), l = tip chord over root chord

    Parameters
    ----------
    height_over_span : [-]
        Height of the quarter chord above the ground over the span; infinite is free air.
    aspect_ratio : [-]
    taper : [-]
        Tip chord over root chord.

    Returns
    -------
    array [-]
        0 in free air; 0.45 to 0.48 at a tenth of the span.

    Source: Phillips and Hunsaker, AIAA 2013-2917, constants second-hand. Chosen among four: the share depends on the
    planform, and an image lifting line of ours agrees within 1 % from h/b 0.1 up, where the forms that know only h/b
    are up to 7 % off in the drag that is left.
    """
    x = _height(height_over_span)
    far = np.isinf(x)
    x = np.where(far, 1.0, x)
    d = 1.0 - 0.157 * (taper**0.775 - 0.373) * (aspect_ratio**0.417 - 1.27)
    return np.where(far, 0.0, d * np.exp(-4.74 * x**0.814) + x * x * np.exp(-3.88 * x**0.758))


@in_range()
def exponential(height_over_span: float | np.ndarray) -> np.ndarray:
    """The same share by the exponential form that knows only h/b, for comparison.

    sigma = exp(-2.48 (2 h/b)^0.768)

    Parameters
    ----------
    height_over_span : [-]

    Returns
    -------
    array [-]

    Source: USAF DATCOM (after Hoak), from memory.
    """
    return np.exp(-2.48 * (2.0 * _height(height_over_span)) ** 0.768)


@in_range()
def wieselsberger(height_over_span: float | np.ndarray) -> np.ndarray:
    """The same share by Wieselsberger's fraction, for comparison.

    sigma = (1 - 1.32 h/b)/(1.05 + 7.4 h/b)

    Parameters
    ----------
    height_over_span : [-]
        1/15 to 1/2; outside it the result is not a number.

    Returns
    -------
    array [-]

    Source: NACA TM 77 (1922), from memory.
    """
    x = _height(height_over_span)
    tested = (x >= LOWEST) & (x <= HIGHEST)
    x = np.where(tested, x, LOWEST)
    return np.where(tested, (1.0 - 1.32 * x) / (1.05 + 7.4 * x), np.nan)


@in_range()
def horseshoe(height_over_span: float | np.ndarray) -> np.ndarray:
    """The same share by a single horseshoe vortex and its image, for comparison: far too little near the ground.

    1 - phi, phi = (16 h/b)^2/(1 + (16 h/b)^2)

    Parameters
    ----------
    height_over_span : [-]

    Returns
    -------
    array [-]

    Source: McCormick's formula as reprinted in performance textbooks; 1 - phi disagrees with tests below h/b 0.3.
    """
    x = (16.0 * _height(height_over_span)) ** 2
    return 1.0 / (1.0 + x)


@in_range(relief=(0.0, 2.0, "-"), chord_over_height=(0.0, 100.0, "-"))
def slope_in_ground(
    slope: float | np.ndarray, aspect_ratio: float, relief: float | np.ndarray,
    chord_over_height: float | np.ndarray = 0.0,
) -> np.ndarray:  # fmt: skip
    """Lift slope of the wing near the ground at small lift.

    1/a_g = 1/a - sigma/(pi A) - (1 - 1/(1 + (c/4h)^2))/(2 pi)

    Parameters
    ----------
    slope : [1/rad]
        Of the wing out of ground effect.
    aspect_ratio : [-]
    relief : [-]
        sigma, as `induced_relief` gives it.
    chord_over_height : [-]
        Mean chord over the height of the quarter chord; 0 for a lifting line, which has no chord.

    Returns
    -------
    array [1/rad]

    Source: the lifting line with its image; the chord's own part is that of a flat plate and its image in two
    dimensions (from memory). Together within 3 % of a vortex lattice and its image.
    """
    plate = 1.0 - 1.0 / (1.0 + (0.25 * np.asarray(chord_over_height, float)) ** 2)
    rest = np.asarray(relief, float) / (math.pi * aspect_ratio) + plate / (2.0 * math.pi)
    return 1.0 / (1.0 / np.asarray(slope, float) - rest)


@in_range()
def speed_at_wing(
    lift_coefficient: float | np.ndarray, aspect_ratio: float, height_over_span: float | np.ndarray
) -> np.ndarray:
    """Speed of the air at the wing over flight speed: the image's bound vortex blows against the flight.

    1 - u/V, u/V = CL c/(8 pi h) (b/2)/sqrt(b^2/4 + 4 h^2)

    Parameters
    ----------
    lift_coefficient, aspect_ratio, height_over_span : [-]

    Returns
    -------
    array [-]
        1 aloft; lift at a given incidence goes with its square.

    Source: Biot-Savart for one bound vortex of the span; our derivation.
    """
    x = _height(height_over_span)
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.asarray(lift_coefficient, float) / (8.0 * math.pi * aspect_ratio * x) * 0.5 / np.sqrt(0.25 + 4.0 * x * x)
    return 1.0 - np.where(np.isinf(x), 0.0, u)


@in_range()
def lift_ratio(
    slope: float, aspect_ratio: float, height_over_span: float | np.ndarray, lift_coefficient: float | np.ndarray,
    taper: float = 1.0,
) -> np.ndarray:  # fmt: skip
    """Lift near the ground over lift aloft at the same incidence, the loss at high lift included.

    CL_g/CL = (a_g/a) (1 - u/V)^2

    Parameters
    ----------
    slope : [1/rad]
    aspect_ratio, height_over_span : [-]
    lift_coefficient : [-]
        Aloft, at that incidence.
    taper : [-]

    Returns
    -------
    array [-]
        Above 1 at small lift, about 1 or below it near CLmax with flaps.
    """
    relief = induced_relief(height_over_span, aspect_ratio, taper)
    chord = 1.0 / (aspect_ratio * _height(height_over_span))
    gain = slope_in_ground(slope, aspect_ratio, relief, chord) / slope
    return gain * speed_at_wing(lift_coefficient, aspect_ratio, height_over_span) ** 2


@in_range()
def downwash_ratio(
    height_over_span: float | np.ndarray, tail_above_wing: float = 0.0, effective_span: float | np.ndarray = math.pi / 4
) -> np.ndarray:
    """Downwash at the tail near the ground over downwash aloft, at the same lift.

    eps_g/eps = 1 - (b_e^2 + 4 (h_t - h)^2)/(b_e^2 + 4 (h_t + h)^2), all over the span

    Parameters
    ----------
    height_over_span : [-]
        Of the wing.
    tail_above_wing : [-]
        Height of the tailplane above the wing's quarter chord, over the span.
    effective_span : [-]
        Distance between the rolled-up vortices over the span; pi/4 for an elliptic loading.

    Returns
    -------
    array [-]
        1 aloft. Carry 25 % on the downwash in ground effect, 15 % aloft.

    Source: USAF DATCOM 4.7.1, from memory; a few hundredths below an image lifting line.
    """
    h = _height(height_over_span)
    far = np.isinf(h)
    h = np.where(far, 1.0, h)
    t = h + tail_above_wing
    e = np.asarray(effective_span, float) ** 2
    return np.where(far, 1.0, 1.0 - (e + 4.0 * (t - h) ** 2) / (e + 4.0 * (t + h) ** 2))


@dataclass(frozen=True)
class GroundEffect:
    """What the ground does at one height, and what other published forms say."""

    height_over_span: float
    aspect_ratio: float
    relief: float  # share of the induced drag taken away [-]
    relief_elsewhere: dict[str, float]
    slope: float  # [1/rad], small lift
    lift_ratio: float  # at the lift coefficient asked for, same incidence [-]
    lift_coefficient: float
    downwash_ratio: float
    clmax_ratio: tuple[float, float]  # what is assumed of CLmax near the ground [-]
    within_tests: bool
    source: str = SOURCE
    cautions: tuple[str, ...] = CAUTIONS


@in_range()
def ground_effect(
    height_over_span: float, aspect_ratio: float, *, slope: float, lift_coefficient: float = 0.0,
    tail_above_wing: float = 0.0, taper: float = 1.0,
) -> GroundEffect:  # fmt: skip
    """Ground effect on induced drag, lift and downwash at one height.

    Parameters
    ----------
    height_over_span : [-]
        Height of the wing's quarter chord above the ground over the span; above 0.03.
    aspect_ratio : [-]
        4 or more.
    slope : [1/rad]
        Lift slope aloft.
    lift_coefficient : [-]
        For the loss at high lift.
    tail_above_wing : [-]
        Over the span.
    taper : [-]

    Returns
    -------
    GroundEffect [-]

    Raises
    ------
    ValueError
        A height that is not above 0.03 spans, or an aspect ratio below 4.

    Valid range: h/b 1/15 to 1/2 (tested); CLmax near the ground is taken as 0.90 to 1.00 of that aloft: NACA TN 705
    (abstract) says the reduction with flaps is substantial; the size is a judgment of ours from recalled values of
    0.05 to 0.3 in CLmax.
    """
    if not height_over_span > 0.03:
        raise ValueError(
            f"height over span is {height_over_span:.3g}; needed is the height of the wing's quarter chord above the "
            "ground over the span, above 0.03 (a low wing on its wheels has about 0.1)"
        )
    if aspect_ratio < 4.0:
        raise ValueError(f"aspect ratio {aspect_ratio:.3g}: these forms need 4 or more (span squared over area)")
    x = float(height_over_span)
    relief = float(induced_relief(x, aspect_ratio, taper))
    return GroundEffect(
        x, float(aspect_ratio), relief,
        {"h/b alone, exponential": float(exponential(x)), "Wieselsberger": float(wieselsberger(x)),
         "one horseshoe": float(horseshoe(x))},
        float(slope_in_ground(slope, aspect_ratio, relief, 1.0 / (aspect_ratio * x))),
        float(lift_ratio(slope, aspect_ratio, x, lift_coefficient, taper)), float(lift_coefficient),
        float(downwash_ratio(x, tail_above_wing)), CLMAX_RATIO if x < 1.0 else (1.0, 1.0),
        LOWEST <= x <= HIGHEST or math.isinf(x),
    )  # fmt: skip


def _height(x) -> np.ndarray:
    x = np.asarray(x, float)
    if not (x > 0.0).all():
        raise ValueError("height over span must be above zero; write infinity for free air")
    return x
