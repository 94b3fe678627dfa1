"""Three-point speed beside a worked example (computed independently), and what must hold of its answers."""

import math
from dataclasses import replace

import numpy as np
import pytest

from aerolib.consequences.balance import Airplane, Flap, lift_limits
from aerolib.consequences.landing_attitude import ground_angle, landing_attitude, over_the_nose
from aerolib.show.sections.landing_attitude import data_of

D = math.radians(1.0)
A = Airplane(
    span=9.2, mean_chord=1.3043, aspect_ratio=7.0533, taper=1.0, slope=4.7493, alpha0=-3 * D, wing_incidence=2 * D,
    moment0=-0.05, fuselage_slope=0.12, tail_volume=0.604, tail_slope=3.77, tail_incidence=-2 * D, tail_above_wing=0.05,
    downwash=0.30, effectiveness=0.60, stop_up=-28 * D, relief="exponential", bound_vortex=False,
)  # fmt: skip
CLEAN = Flap("clean", clmax=1.9)
GIVEN = {"kind": "tail-wheel", "angle": 12 * D, "mass": 600.0, "wing_area": 12.0, "height_over_span": 0.12}


def test_worked_three_point_speed():
    """theta 12, i_w 2, alpha0 -3 deg, h/b 0.12: CL 1.5546 (1.4091 aloft), 22.69 m/s for 5884 N."""
    at = lift_limits(A, CLEAN, 0.25, np.array([0.12, math.inf]), 12 * D)["gear"]
    assert at == pytest.approx([1.5546, 1.4091], abs=2e-4)
    one = landing_attitude(A, [("before", CLEAN)], **{**GIVEN, "mass": 5884 / 9.80665}).items[0]
    assert one.gear_speed.value == pytest.approx(22.69, abs=0.02)  # the mean airplane of the draws, not the nominal one
    assert one.gear_speed.interval95[0] < 22.69 < one.gear_speed.interval95[1]


def test_loss_at_high_lift_makes_it_faster():
    """With the image's bound vortex the wing carries (1 - u/V)^2 as much at that attitude, u by its own lift."""
    one = landing_attitude(replace(A, bound_vortex=True), [("before", CLEAN)], **GIVEN).items[0]
    without = landing_attitude(A, [("before", CLEAN)], **GIVEN).items[0]
    cl = 1.5546
    for _ in range(40):
        u = cl / (8 * math.pi * 7.0533 * 0.12) * 0.5 / math.sqrt(0.25 + 4 * 0.12**2)
        cl = 1.5546 * (1 - u) ** 2
    assert one.gear_speed.value / without.gear_speed.value == pytest.approx(math.sqrt(1.5546 / cl), rel=2e-3)


def test_a_gain_that_the_gear_does_not_let_the_airplane_use():
    """A gain past the gear's angle is not usable at all; one that ends below it is usable whole."""
    high = [("before", Flap("clean", clmax=1.70)), ("after", Flap("clean", clmax=2.00))]
    one = landing_attitude(A, high, **GIVEN)
    assert one.usable[0].value == pytest.approx(0.0, abs=1e-9)
    low = [("before", Flap("clean", clmax=1.20)), ("after", Flap("clean", clmax=1.30))]
    assert landing_attitude(A, low, **GIVEN).usable[0].value == pytest.approx(1.0, abs=1e-9)
    same = [("before", CLEAN), ("after", CLEAN)]
    none = landing_attitude(A, same, **GIVEN)
    assert none.usable[0].value is None and none.usable[0].no_gain
    assert data_of(none)[1]["usable_share_of_gain"] is None


def test_first_contact_by_speed():
    """A wing that stalls far above the gear's angle touches tail first at the stall, mains first well above it."""
    contact = landing_attitude(A, [("before", Flap("clean", clmax=1.85))], **GIVEN).items[0].first_contact
    assert contact[1.0] == "tail wheel" and contact[1.2] == "main wheels"
    nose = landing_attitude(A, [("before", Flap("clean", clmax=1.85))], **{**GIVEN, "kind": "nose-wheel"})
    assert nose.items[0].first_contact[1.0] == "tail strikes"


def test_angles():
    assert ground_angle(1.0, 0.2, 4.0) == pytest.approx(math.atan(0.2))
    # eye 1.7 m up, cowling 0.25 m lower and 1.8 m ahead: 7.907 degrees down; nose up 4 degrees leaves 3.907
    assert over_the_nose(1.7, 0.25, 1.8, 4 * D) == pytest.approx(1.7 / math.tan(math.atan(0.25 / 1.8) - 4 * D))
    assert over_the_nose(1.7, 0.25, 1.8, 12 * D) == math.inf


@pytest.mark.parametrize(
    "given, words",
    [({"angle": -1 * D}, "above 0"), ({"angle": 30 * D}, "at most 25"), ({"kind": "skid"}, "write tail-wheel")],
)
def test_refused(given, words):
    with pytest.raises(ValueError, match=words):
        landing_attitude(A, [("before", CLEAN)], **{**GIVEN, **given})
    with pytest.raises(ValueError, match="wheelbase"):
        ground_angle(1.0, 0.2, 0.0)


def test_a_share_of_a_gain_within_its_error_is_not_claimed():
    z = np.random.default_rng(1).standard_normal((2, 5000))
    flaps = [("before", Flap("clean", clmax=1.50 + 0.1 * z[0])), ("after", Flap("clean", clmax=1.60 + 0.1 * z[1]))]
    found = landing_attitude(A, flaps, **GIVEN)
    vague = found.usable[0]
    assert vague.value is None and not vague.no_gain and "not determinable" in vague.headline()
    assert data_of(found)[1]["usable_share_of_gain"] is None and "%" not in vague.headline()
    sure = landing_attitude(A, [("before", Flap(clmax=1.20)), ("after", Flap(clmax=1.30))], **GIVEN).usable[0]
    assert sure.headline().endswith("(100 % to 100 %)")
