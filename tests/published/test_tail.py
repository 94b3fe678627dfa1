"""Tail and balance beside printed and constructed numbers.

DATCOM's forms are from memory; Anderson, *Introduction to Flight*, ch. 7, and Nelson, *Flight Stability and Automatic
Control*, ex. 2.2, recalled with their arithmetic redone; the elevator case is constructed and computed independently.
"""

import math

import numpy as np
import pytest

from aerolib.consequences.balance import (
    Airplane,
    Flap,
    elevator_needed,
    flow,
    forward_cg_limit,
    lift_limits,
    tail_load_available,
    tail_load_needed,
)
from aerolib.physics import ground_effect as ge
from aerolib.physics.tail import downwash_slope, effective_deflection, elevator_effectiveness, finite_slope

D = math.radians(1.0)


@pytest.mark.parametrize(
    "aspect, taper, arm, height, span, value",
    [
        (7.45, 0.67, 15, 0, 36, 0.37089), (6, 1, 16, 0, 33.4, 0.36682), (6, 0.5, 16, 0, 33.4, 0.46216),
        (7, 1, 4.5, 0, 10, 0.32599), (7, 1, 4.5, 1, 10, 0.28758), (8, 0.6, 5, 0.5, 10, 0.31271),
    ],
)  # fmt: skip
def test_downwash_slope(aspect, taper, arm, height, span, value):
    assert downwash_slope(aspect, taper, arm / span, height / span) == pytest.approx(value, abs=5e-6)


def test_downwash_beside_a_lifting_line():
    """A flat-wake lifting line, rectangular, A 7, x 0.45 b, by height; the spread carried is 15 % (1 sigma)."""
    for height, line in ((0.0, 0.376), (0.05, 0.346), (0.1, 0.322)):
        assert abs(downwash_slope(7, 1, 0.45, height) / line - 1) < 0.18


@pytest.mark.parametrize("share, tau", [(0.2, 0.412), (0.3, 0.517), (0.4, 0.602), (0.5, 0.676)])
def test_effectiveness(share, tau):
    assert elevator_effectiveness(share) == pytest.approx(tau, abs=5e-4)


def test_slopes():
    assert finite_slope(7.0533) == pytest.approx(4.7493, abs=5e-5)
    assert finite_slope(4.0, 0.95) == pytest.approx(3.7729, abs=5e-5)


def test_deflection_falls_off():
    assert effective_deflection([10 * D, -15 * D]) == pytest.approx([10 * D, -15 * D])
    # 15 + x - 0.0256 x^2: its largest, 24.77 degrees at 34.5, is kept beyond
    assert effective_deflection(30 * D, 0.6) == pytest.approx((15 + 15 - 0.0256 * 225) * D)
    assert effective_deflection([35 * D, 45 * D], 0.6) == pytest.approx([(15 + 0.25 / 0.0256) * D] * 2)
    assert effective_deflection(-25 * D, 1.0) == pytest.approx(-25 * D)


def test_anderson_trim():
    """a 0.08/deg, V_H 0.34, i_t 2.7 deg nose down, e0 0, de/da 0.35: trimmed at 4.50 deg (text 4.5)."""
    slope, tail = 0.08 / D, 0.1 / D
    a = Airplane(
        span=1.0, mean_chord=0.1, aspect_ratio=1e9, taper=1.0, slope=slope, alpha0=0.0, wing_incidence=0.0,
        # his centre of lift is at 0.24 of the chord, here it is a quarter: the same moment through 0.01 a
        moment0=-0.032, fuselage_slope=0.01 * slope, tail_volume=0.34, tail_slope=tail, tail_incidence=-2.7 * D,
        tail_above_wing=0.0, downwash=0.35, effectiveness=0.4, stop_up=-25 * D, tail_pressure=1.0,
    )  # fmt: skip
    clean = Flap()
    needed = [float(elevator_needed(a, clean, 0.08 * deg, 0.35)) for deg in (4.4, 4.496, 4.6)]
    assert needed[0] > 0 > needed[2] or needed[0] < 0 < needed[2]
    assert abs(needed[1] / D) < 0.005
    # elevator for CL 0.5242: -2.00 deg unrounded (text -1.94)
    assert float(elevator_needed(a, clean, 0.08 * 6.5525, 0.35)) / D == pytest.approx(-2.00, abs=0.02)


CASE = Airplane(
    span=9.2, mean_chord=1.3043, aspect_ratio=7.0533, taper=1.0, slope=4.7493, alpha0=-3 * D, wing_incidence=2 * D,
    moment0=-0.05, fuselage_slope=0.12, tail_volume=0.60440, tail_slope=3.7729, tail_incidence=-2 * D,
    tail_above_wing=0.5 / 9.2, downwash=0.29828, effectiveness=0.60, stop_up=-28 * D, tail_pressure=0.95,
    tail_clmax=9.0, falls_to=1.0, effective_span=0.785, relief="exponential",
    bound_vortex=False,
)  # fmt: skip
FULL = Flap("full", lift=0.70, moment=-0.18, clmax=1.90, clmax_ground_ratio=1.0)


def test_numbers_of_the_constructed_case():
    assert 2.2 * 4.3 / (12 * 1.3043) == pytest.approx(CASE.tail_volume, rel=5e-5)
    assert downwash_slope(7.0533, 1.0, 4.3 / 9.2, 0.5 / 9.2) == pytest.approx(0.29828, abs=2e-3)


@pytest.mark.parametrize(
    "cl, x, slope, alpha, eps, tail_alpha, load, elevator, full, forward",
    [
        (1.90, math.inf, 4.7493, 9.477, 6.838, 0.639, -0.5976, -16.19, -1.0642, 0.0390),
        (1.90, 0.15, 5.1630, 8.317, 2.998, 3.318, -0.6019, -20.76, -0.8878, 0.0936),
        (1.90, 0.10, 5.3021, 7.967, 1.930, 4.037, -0.6032, -22.00, -0.8404, 0.1083),
        (1.1243, math.inf, 4.7493, 0.118, 4.046, -5.928, -0.5372, -3.72, None, None),
        (1.1243, 0.15, 5.1630, -0.292, 1.774, -4.066, -0.5387, -6.86, None, None),
    ],
)  # fmt: skip
def test_elevator_to_hold_the_nose_up(cl, x, slope, alpha, eps, tail_alpha, load, elevator, full, forward):
    f = flow(CASE, FULL, cl, x)
    assert f.slope == pytest.approx(slope, abs=1e-3)
    assert np.degrees([f.alpha, f.downwash, f.tail_alpha]) == pytest.approx([alpha, eps, tail_alpha], abs=3e-3)
    assert tail_load_needed(CASE, FULL, cl, 0.18, x) == pytest.approx(load, abs=1e-4)
    assert float(elevator_needed(CASE, FULL, cl, 0.18, x)) / D == pytest.approx(elevator, abs=0.01)
    if full is not None:
        assert tail_load_available(CASE, FULL, cl, x) == pytest.approx(full, abs=3e-4)
        assert forward_cg_limit(CASE, FULL, cl, x) == pytest.approx(forward, abs=2e-4)
        # the same limit the other way round: at that CG the stop leaves this lift coefficient
        at = lift_limits(CASE, FULL, forward_cg_limit(CASE, FULL, cl, x), x)
        assert at["elevator stop"] == pytest.approx(cl, rel=1e-9)


def test_relief_of_the_case():
    assert ge.exponential([0.15, 0.10]) == pytest.approx([0.3739, 0.4865], abs=5e-5)


def test_nelson_pitching_moment():
    """Navion-like, ex. 2.2: Cm0 0.077, Cm_alpha -1.11/rad and neutral point 0.552 (book values, rounded by hand)."""
    a = Airplane(
        span=33.4, mean_chord=5.7, aspect_ratio=33.4**2 / 184, taper=1.0, slope=4.302, alpha0=-5 * D,
        wing_incidence=1 * D, moment0=-0.116 - 0.037, fuselage_slope=0.12, tail_volume=0.66,
        tail_slope=3.91, tail_above_wing=0.0, downwash=0.45, effectiveness=0.5,
        stop_up=-25 * D, tail_pressure=1.0,
        # the book sets the tail against the wing's chord (i_t - i_w) though it counts alpha from the body's datum
        tail_incidence=(-1 - 1) * D,
    )  # fmt: skip
    cl = 4.302 * (np.array([0.0, 1 * D]) + 6 * D)
    tail = a.tail_slope * flow(a, Flap(), cl).tail_alpha
    moment = a.tail_volume * (tail_load_needed(a, Flap(), cl, 0.295) - tail)
    assert moment[0] == pytest.approx(0.077, abs=0.003)
    assert (moment[1] - moment[0]) / D == pytest.approx(-1.11, abs=0.006)
    neutral = 0.295 - (moment[1] - moment[0]) / (cl[1] - cl[0])
    assert neutral == pytest.approx(0.552, abs=0.002)
