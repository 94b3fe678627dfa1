"""Ground effect beside published forms and an image lifting line.

Wieselsberger's and DATCOM's formulae are from memory, McCormick's value 0.479600 (h 3, b 50) was read; the lifting-line
columns are an independent computation (200 stations, images of the trailing, then also of the bound vortices).
"""

import math

import numpy as np
import pytest

from aerolib.physics import ground_effect as ge

HEIGHT = [0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.50, 1.00]


def test_relief_to_the_printed_digits():
    """What is left of the induced drag: A 8, taper 0.4, and A 6, rectangular."""
    tapered = [0.3508, 0.5217, 0.6350, 0.7147, 0.7726, 0.8157, 0.9087, 0.9708]
    straight = [0.3919, 0.5518, 0.6576, 0.7320, 0.7860, 0.8262, 0.9129, 0.9713]
    assert 1 - ge.induced_relief(HEIGHT, 8.0, 0.4) == pytest.approx(tapered, abs=6e-5)
    assert 1 - ge.induced_relief(HEIGHT, 6.0, 1.0) == pytest.approx(straight, abs=6e-5)


def test_exponential_form_to_the_printed_digits():
    printed = [0.6550, 0.4865, 0.3739, 0.2932, 0.2331, 0.1873, 0.0837, 0.0147]
    assert ge.exponential(HEIGHT) == pytest.approx(printed, abs=5e-5)


def test_wieselsberger_to_the_printed_digits_and_only_where_it_was_tested():
    printed = [0.4849, 0.3713, 0.2909, 0.2310, 0.1847, 0.0716]
    assert ge.wieselsberger(HEIGHT[1:7]) == pytest.approx(printed, abs=5e-5)
    assert np.isnan(ge.wieselsberger([0.05, 0.6])).all()
    # the glider of NACA TR 695 flew at these heights
    assert ge.wieselsberger([0.21, 0.14, 0.33]) == pytest.approx([0.2776, 0.3908, 0.1616], abs=5e-5)


def test_horseshoe_form():
    assert 1 - ge.horseshoe(3 / 50) == pytest.approx(0.479600, abs=5e-7)
    assert 1 - ge.horseshoe(HEIGHT) == pytest.approx(
        [0.3902, 0.7191, 0.8521, 0.9110, 0.9412, 0.9584, 0.9846, 0.9961], abs=5e-5
    )


LINES = {(8.0, 0.4): [0.517, 0.632, 0.712, 0.814, 0.908], (6.0, 1.0): [0.550, 0.656, 0.730, 0.824, 0.912]}
SLOPES = {(8.0, 0.4): [1.106, 1.079, 1.061, 1.039, 1.019], (6.0, 1.0): [1.122, 1.091, 1.070, 1.045, 1.022]}


@pytest.mark.parametrize("aspect, taper", LINES)
def test_chosen_form_beside_an_image_lifting_line(aspect, taper):
    """Induced drag that is left within 1 % from h/b 0.1 up, and so is the lift slope."""
    x = [0.10, 0.15, 0.20, 0.30, 0.50]
    relief = ge.induced_relief(x, aspect, taper)
    assert 1 - relief == pytest.approx(LINES[aspect, taper], rel=0.01)
    aloft = 2 * math.pi / (1 + 2 / aspect * 1.05)  # close to the slope of either wing; the ratio hardly depends on it
    assert ge.slope_in_ground(aloft, aspect, relief) / aloft == pytest.approx(SLOPES[aspect, taper], rel=0.01)


def test_forms_of_height_alone_miss_the_planform():
    error = (1 - ge.exponential(0.10)) / 0.550 - 1
    assert -0.08 < error < -0.05


def test_worked_example():
    """A 7, CL 1.5, h/b 0.10 with Wieselsberger's share: -1.895 degrees, -0.04961 in drag."""
    sigma = float(ge.wieselsberger(0.10))
    assert math.degrees(sigma * 1.5 / (math.pi * 7)) == pytest.approx(1.895, abs=5e-4)
    assert sigma * 1.5**2 / (math.pi * 7) == pytest.approx(0.04961, abs=5e-6)


def test_slope_of_the_three_point_example():
    """A 7.0533, slope 4.7493, h/b 0.12: 5.2395."""
    assert ge.slope_in_ground(4.7493, 7.0533, ge.exponential(0.12)) == pytest.approx(5.2395, abs=5e-4)


def test_speed_at_the_wing():
    """A 8, CL 1, h/b 0.15: 0.9716."""
    assert ge.speed_at_wing(1.0, 8.0, 0.15) == pytest.approx(0.9716, abs=5e-5)


@pytest.mark.parametrize(
    "aspect, x, linear, line",
    [
        (8, 0.10, 1.106, [1.052, 1.002, 0.956, 0.913]), (8, 0.15, 1.079, [1.048, 1.018, 0.990, 0.962]),
        (8, 0.20, 1.061, [1.041, 1.021, 1.001, 0.983]), (6, 0.10, 1.122, [1.052, 0.988, 0.931, 0.878]),
        (6, 0.15, 1.091, [1.050, 1.012, 0.976, 0.941]), (6, 0.20, 1.070, [1.044, 1.018, 0.993, 0.969]),
    ],
)  # fmt: skip
def test_loss_at_high_lift_beside_the_lifting_line(aspect, x, linear, line):
    """The bound vortex of the image, with the line's own linear gain: 1.2 % of the line to CL 1.5, 2 % at CL 2."""
    mine = linear * ge.speed_at_wing(np.array([0.5, 1.0, 1.5, 2.0]), aspect, x) ** 2
    assert mine == pytest.approx(line, rel=0.02)
    assert mine[:3] == pytest.approx(line[:3], rel=0.012)


def test_downwash():
    """Tail 0.05 b above the wing: the formula to its digits; an image lifting line says 0.03 to 0.07 more."""
    x = [0.10, 0.15, 0.20, 0.30, 0.50]
    mine = ge.downwash_ratio(x, 0.05, 0.785)
    assert mine == pytest.approx([0.2771, 0.4339, 0.5609, 0.7285, 0.8754], abs=2e-4)
    line = np.array([0.343, 0.501, 0.621, 0.774, 0.903])
    assert ((line - mine) / line < 0.25).all() and (mine < line).all()


def test_the_result():
    one = ge.ground_effect(0.12, 7.0533, slope=4.7493, lift_coefficient=1.5)
    assert one.within_tests
    assert one.clmax_ratio[1] <= 1.0
    free = ge.ground_effect(math.inf, 7.0, slope=4.7)
    assert (free.relief, free.lift_ratio, free.downwash_ratio) == (0.0, 1.0, 1.0)


@pytest.mark.parametrize(
    "height, aspect, words",
    [(0.0, 7, "height_over_span"), (0.02, 7, "height_over_span"), (-0.1, 7, "height_over_span"), (0.1, 3, "4 or more")],
)
def test_refused(height, aspect, words):
    with pytest.raises(ValueError, match=words):
        ge.ground_effect(height, aspect, slope=4.7)
