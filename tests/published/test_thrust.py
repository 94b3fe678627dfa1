"""Disc theory and the power-on stall beside worked numbers (computed independently; 1 hp is 745.7 W)."""

import math

import pytest

from aerolib.physics.thrust import disc_thrust, disc_velocity, power_on_stall, thrust

HP, INCH, RHO = 745.7, 0.0254, 1.225


@pytest.mark.parametrize(
    "hp, inches, area, ideal, v",
    [
        (65, 72, 2.6268, 2472.8, 19.60), (80, 68, 2.3430, 2733.7, 21.82), (100, 68, 2.3430, 3172.2, 23.51),
        (100, 74, 2.7747, 3356.1, 22.22), (180, 76, 2.9267, 5055.2, 26.55),
    ],
)  # fmt: skip
def test_standing_still(hp, inches, area, ideal, v):
    a = math.pi * (inches * INCH) ** 2 / 4
    assert a == pytest.approx(area, abs=5e-5)
    assert disc_thrust(hp * HP, 0.0, RHO, a) == pytest.approx(ideal, abs=0.05)
    assert disc_thrust(hp * HP, 0.0, RHO, a) == pytest.approx((2 * RHO * a * (hp * HP) ** 2) ** (1 / 3), rel=1e-12)
    assert disc_velocity(hp * HP, 0.0, RHO, a) == pytest.approx(v, abs=0.005)


@pytest.mark.parametrize(
    "hp, inches, speed, newton, q_ratio, contraction",
    [
        (65, 72, 17, 1568.1, 4.3725, 0.8597),
        (100, 68, 20, 2026.2, 4.5297, 0.8573),
        (100, 68, 25, 1845.0, 3.0570, 0.8866),
    ],
)
def test_at_speed_with_085_of_the_power(hp, inches, speed, newton, q_ratio, contraction):
    a = math.pi * (inches * INCH) ** 2 / 4
    v = float(disc_velocity(0.85 * hp * HP, speed, RHO, a))
    assert disc_thrust(0.85 * hp * HP, speed, RHO, a) == pytest.approx(newton, abs=0.05)
    assert ((speed + 2 * v) / speed) ** 2 == pytest.approx(q_ratio, abs=5e-5)
    assert math.sqrt((speed + v) / (speed + 2 * v)) == pytest.approx(contraction, abs=5e-5)
    assert newton * (speed + v) == pytest.approx(0.85 * hp * HP, rel=1e-4)


@pytest.mark.parametrize("lam, speed", [(0.0, 19.647), (1.0, 17.773), (1.5, 16.840)])
def test_power_on_stall(lam, speed):
    """W 5884 N, S 12 m2, c 1.3043 m, CLmax 1.9, alpha 14 degrees, 100 hp on 68 in, 0.85 of the power."""
    one = power_on_stall(
        weight=5884.0, wing_area=12.0, chord=1.3043, clmax=1.9, density=RHO, power=100 * HP, diameter=68 * INCH,
        incidence=math.radians(14), loss=(0.85, 0.85), spread=(lam, lam),
    )  # fmt: skip
    assert one.speed_off == pytest.approx(20.527, abs=5e-4)
    assert one.speed_on[0] == pytest.approx(speed, abs=6e-4)
    assert one.speed_on[0] == one.speed_on[1]
    if lam == 1.0:
        assert one.thrust[0] == pytest.approx(2111, abs=0.6)


def test_ranges_are_ordered_and_the_immersed_area_is_refused():
    given = {"weight": 5884.0, "wing_area": 12.0, "chord": 1.3, "clmax": 1.9, "density": RHO, "power": 100 * HP,
             "diameter": 68 * INCH, "incidence": math.radians(14)}  # fmt: skip
    one = power_on_stall(**given)
    assert one.speed_on[0] < one.speed_on[1] < one.thrust_only < one.speed_off
    with pytest.raises(ValueError, match="near 6"):
        power_on_stall(**given, method="immersed area")
    with pytest.raises(ValueError, match="no stall"):
        power_on_stall(**{**given, "power": 1e6, "incidence": 1.2})


def test_states():
    idle = thrust("idle", 22.0, RHO, weight=6000.0, diameter=1.76, pitch=1.15, revolutions=12.5)
    assert idle.interval[0] <= 0.0 <= idle.interval[1] and idle.interval[0] < idle.interval[1]
    slow = thrust("idle", 5.0, RHO, weight=6000.0, diameter=1.76, pitch=1.15, revolutions=12.5)
    assert slow.interval[0] == 0.0 < slow.interval[1]
    unknown = thrust("idle", 22.0, RHO, weight=6000.0)
    assert unknown.interval == (-144.0, 144.0)
    stopped, feathered = (thrust(s, 22.0, RHO, weight=6000.0, diameter=1.76) for s in ("stopped", "feathered"))
    assert stopped.interval[0] < stopped.interval[1] < 0 and stopped.value < feathered.value < 0
    full = thrust("power", 20.0, RHO, weight=6000.0, diameter=68 * INCH, power=100 * HP)
    assert full.interval[1] == pytest.approx(2026.2, abs=0.05)
    assert 1.0 < full.slipstream[0] < full.slipstream[1]
    for state, words in (("power", "shaft power"), ("stopped", "diameter"), ("windmill", "not known")):
        with pytest.raises(ValueError, match=words):
            thrust(state, 20.0, RHO, weight=6000.0)
