"""What must hold for every wing: order of the three CL, scale, proportion, and one loading however it is asked for."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aerolib.estimate import Estimate
from aerolib.physics.lifting_line import LiftingLine, straight_taper
from aerolib.predicted.wing import SpanIncrement, wing_clmax

ASPECT, TAPER = st.floats(4.5, 14.0), st.floats(0.25, 1.3)
WASHOUT, CLMAX = st.floats(-0.05, 0.1), st.floats(0.9, 2.2)
FLAP = st.tuples(st.floats(0.0, 0.4), st.floats(0.45, 1.0), st.floats(0.0, 1.2), st.floats(-0.3, 0.0))


def section(clmax, slope=6.1, alpha0=-0.05):
    return SimpleNamespace(alpha0=alpha0, slope=slope, clmax=Estimate("clmax", clmax, "-"))


@settings(max_examples=60, deadline=None)
@given(ASPECT, TAPER, WASHOUT, CLMAX, CLMAX, FLAP)
def test_order_and_limits(aspect, taper, washout, root, tip, flap):
    inner, outer, gain, shift = flap
    half = 0.5 * aspect
    wing = straight_taper(aspect, aspect, taper, washout=washout, aileron=(0.6 * half, 0.95 * half))
    device = SpanIncrement(inner * half, outer * half, gain, shift)
    found = wing_clmax(wing, {0.0: section(root), 1.0: section(tip)}, increments=[device])
    assert found.first_touch <= found.spread + 1e-6 and found.spread <= found.all_at_limit + 1e-6
    assert np.all(found.loading_spread <= found.limit + 1e-6)
    assert 0.0 <= found.stalled <= 1.0 and 0.0 <= found.aileron_stalled <= 1.0 + 1e-9
    assert 0.0 <= found.first_touch_share <= 1.0
    assert found.clmax.standard_uncertainty > 0.0


@settings(max_examples=30, deadline=None)
@given(ASPECT, TAPER, CLMAX, st.floats(0.2, 5.0))
def test_size_does_not_matter_and_lift_goes_with_the_limit(aspect, taper, clmax, scale):
    one = wing_clmax(straight_taper(aspect, aspect, taper), section(clmax, alpha0=0.0))
    other = wing_clmax(straight_taper(scale * aspect, scale**2 * aspect, taper), section(clmax, alpha0=0.0))
    half = wing_clmax(straight_taper(aspect, aspect, taper), section(0.5 * clmax, alpha0=0.0))
    assert other.first_touch == pytest.approx(one.first_touch, rel=1e-9)
    assert other.spread == pytest.approx(one.spread, rel=1e-9)
    assert half.first_touch == pytest.approx(0.5 * one.first_touch, rel=1e-9)
    assert half.all_at_limit == pytest.approx(0.5 * one.all_at_limit, rel=1e-9)


def test_settings_at_once_equal_settings_one_by_one():
    line = LiftingLine(straight_taper(8.0, 9.0, 0.7), 6.0, 40)
    shifts, alphas = np.linspace(-0.1, 0.3, 7), np.linspace(-0.1, 0.2, 7)
    incidence = alphas[:, None] + 0.01 * line.y
    together = line.loading(incidence, [(0.5, 2.2, shifts), (2.5, 3.8, -0.3 * shifts)])
    assert together.section_lift.shape == (7, 41)
    for k in range(7):
        one = line.loading(incidence[k], [(0.5, 2.2, shifts[k]), (2.5, 3.8, -0.3 * shifts[k])])
        assert together.lift_coefficient[k] == pytest.approx(one.lift_coefficient, rel=1e-12, abs=1e-14)
        assert together.induced_drag[k] == pytest.approx(one.induced_drag, rel=1e-12)
        assert together.section_lift[k] == pytest.approx(one.section_lift, rel=1e-11, abs=1e-12)


def test_lift_is_the_integral_of_the_local_lift():
    for wing, steps in ((straight_taper(7.0, 8.0, 0.5, washout=0.05), ()),
                        (straight_taper(7.0, 8.0, 1.0), [(0.4, 2.0, 0.2)])):  # fmt: skip
        line = LiftingLine(wing, 6.2, 400)
        found = line.loading(0.1 + wing.twist_at(line.y), steps)
        y = np.append(line.y[::-1], 0.5 * wing.span)
        cl = np.append(found.section_lift[::-1], 0.0)
        lift = 2 * np.trapezoid(cl * wing.chord_at(y), y) / wing.area
        assert found.lift_coefficient == pytest.approx(lift, rel=1e-4)


def test_a_cambered_part_is_a_twisted_part():
    """Zero lift lowered over the whole span turns the wing, and nothing else."""
    wing = straight_taper(8.0, 9.0, 0.7, washout=0.03)
    one = wing_clmax(wing, section(1.5, alpha0=0.0))
    other = wing_clmax(wing, section(1.5, alpha0=-math.radians(5)))
    assert other.first_touch == pytest.approx(one.first_touch, rel=1e-12)
    assert other.alpha_stall == pytest.approx(one.alpha_stall - math.radians(5), abs=2e-5)
