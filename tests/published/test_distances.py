"""Distances and load factors beside textbook examples and the code's text.

CJ-1 landing: Anderson, *Introduction to Flight* / *Aircraft Performance and Design* (from memory, arithmetic redone).
Landing rule of thumb: Roskam, *Airplane Design* part I, 3.12 and 3.13 (from memory).
"""

import math

import numpy as np
import pytest

from aerolib.consequences.distances import (
    PUBLISHED_FACTORS,
    Ground,
    climb_distance,
    climb_gradient,
    drift_angle,
    landing_air_distance,
    landing_roll,
    take_off_roll,
    wind_addition,
)
from aerolib.consequences.maneuver import gust_load_factor, limit_load_speed, maneuvering_diagram
from aerolib.physics.ground_effect import horseshoe

FT, LB, SLUG = 0.3048, 0.45359237, 14.5939
KT = 1852 / 3600


def test_cj1_ground_roll():
    """W 12,352 lb, S 318 ft2, CLmax 2.5, CD0 0.022, L 0, mu 0.4: V_T 148.6 ft/s, D 90.0 lb, 842 ft."""
    rho, area, w = 0.002377 * SLUG / FT**3, 318 * FT**2, 12352 * LB
    touchdown = 1.3 * math.sqrt(2 * w * 9.80665 / (rho * area * 2.5))
    assert touchdown / FT == pytest.approx(148.6, abs=0.06)
    roll = landing_roll(touchdown, mass=w, wing_area=area, density=rho, drag=0.022, lift=0.0, friction=0.4)
    assert roll / FT == pytest.approx(842, abs=1.0)
    assert 0.5 * rho * (0.7 * touchdown) ** 2 * area * 0.022 / (LB * 9.80665) == pytest.approx(90.0, abs=0.1)
    # induced drag of that example is multiplied by the horseshoe form's share at h 6 ft, b 53.3 ft
    assert 1 - horseshoe(6 / 53.3) == pytest.approx(0.764, abs=5e-4)


def test_friction_only():
    """s = V^2/(2 g mu): 1.1 x 20.527 m/s, mu 0.3: 86.65 m."""
    roll = landing_roll(1.1 * 20.527, mass=600, wing_area=12, density=1.225, drag=0.0, lift=0.0, friction=0.3)
    assert roll == pytest.approx(86.65, abs=0.005)


def test_beside_the_rule_of_thumb():
    """A light single of 45 kt: the rule's 536.6 ft of roll and 1040 ft in all lie inside the surfaces' range."""
    assert 0.265 * 45**2 == pytest.approx(536.6, abs=0.05) and 1.938 * 536.6 == pytest.approx(1040.0, abs=0.1)
    stall = 45 * KT
    rolls = [
        float(landing_roll(1.15 * stall, mass=600, wing_area=11, density=1.225, drag=0.12, lift=0.5, friction=mu)) / FT
        for mu in (*Ground("dry asphalt").braked, *Ground("wet short grass").braked)
    ]
    assert min(rolls) < 536.6 < max(rolls)
    air = float(landing_air_distance(1.3 * stall, stall, math.radians(5))) / FT
    assert min(rolls) + air < 1040 < max(rolls) + air


def test_ten_percent_faster_costs_21_percent_in_friction_alone():
    given = {"mass": 600, "wing_area": 12, "density": 1.225, "drag": 0.0, "lift": 0.0, "friction": 0.3}
    assert landing_roll(22.0, **given) / landing_roll(20.0, **given) == pytest.approx(1.21)


def test_take_off_by_closed_form():
    """Constant thrust, no drag, no friction: s = m V^2/(2 T); a wind takes its square off; up a slope W sin t more."""
    given = {"mass": 600, "wing_area": 12, "density": 1.225, "drag": 0.0, "lift": 0.0, "friction": 0.0}
    pull = lambda v: np.full_like(v, 1500.0)  # noqa: E731
    assert take_off_roll(25.0, **given, thrust=pull) == pytest.approx(600 * 625 / 3000, rel=1e-9)
    assert take_off_roll(25.0, **given, thrust=pull, headwind=5.0) == pytest.approx(600 * 400 / 3000, rel=1e-9)
    up = math.radians(1)
    force = 1500 - 600 * 9.80665 * math.sin(up)
    assert take_off_roll(25.0, **given, thrust=pull, slope=up) == pytest.approx(600 * 625 / (2 * force), rel=1e-9)
    assert take_off_roll(25.0, **given, thrust=lambda v: 0 * v) == math.inf
    assert climb_distance(0.1) == pytest.approx(15.24 / math.tan(math.asin(0.1)), rel=1e-6)
    assert climb_distance(-0.01) == math.inf


def test_climb_by_hand():
    """600 kg, 30 m/s: q S 6063.75 N, CL 0.97035, D 6063.75 (0.04 + 0.05 CL^2) = 528.0 N; 1500 N leave 972 N."""
    gradient = climb_gradient(30.0, mass=600, wing_area=11, density=1.225, zero_lift_drag=0.04, span_factor=0.05,
                              thrust=lambda v: np.full_like(v, 1500.0))  # fmt: skip
    assert gradient * 600 * 9.80665 == pytest.approx(1500 - 528.0, abs=0.1)


def test_wind_addition_of_the_training_text():
    """Wind 20 gusting 32 kt: half of 12 is 6, a quarter of 20 is 5: 6 kt (H. Andersen, PPL(A), 2025, p. 523, read)."""
    assert wind_addition(20 * KT, 32 * KT) / KT == pytest.approx(6.0)
    assert wind_addition(20 * KT, 24 * KT) / KT == pytest.approx(5.0)
    assert wind_addition(12 * KT, 12 * KT) == 0.0
    with pytest.raises(ValueError, match="below the mean"):
        wind_addition(10.0, 5.0)
    assert math.degrees(drift_angle(10 * KT, 40 * KT)) == pytest.approx(14.48, abs=0.005)


def test_grass_beside_published_factors():
    """Landing over 50 ft, wet grass: 'as much as 60 %' more (UK CAA GM1 CAT.POL.A.335, read); dry grass 1.15."""
    stall = 40 * KT
    given = {"mass": 600, "wing_area": 11, "density": 1.225, "drag": 0.11, "lift": 0.45}
    air = landing_air_distance(1.3 * stall, stall, math.radians(4))

    def over(surface, which):
        return float(air + landing_roll(1.15 * stall, **given, friction=Ground(surface).braked[which]))

    dry, wet = PUBLISHED_FACTORS["dry short grass"][0], PUBLISHED_FACTORS["wet short grass"][0]
    # best and worst of our ranges enclose the published factor, which names no brakes
    for surface, factor in (("dry short grass", dry), ("wet short grass", wet)):
        best, worst = over(surface, 1) / over("dry asphalt", 0), over(surface, 0) / over("dry asphalt", 1)
        assert best < factor < worst


def test_limit_load_speed():
    """sqrt(3.8) = 1.9494; 57 mph -> 111.1 mph; W 5884 N, S 12 m2, CL 1.4: 23.913 -> 46.61 m/s."""
    assert limit_load_speed(57.0, 3.8) == pytest.approx(111.1, abs=0.05)
    stall = math.sqrt(2 * 5884 / (1.225 * 12 * 1.4))
    assert stall == pytest.approx(23.913, abs=5e-4)
    assert limit_load_speed(stall, 3.8) == pytest.approx(46.61, abs=0.005)


def test_gust_formula_in_the_units_of_the_code():
    """n = 1 + Kg Ude V a/(498 W/S), Kg = 0.88 mu/(5.3 + mu), mu = 2 (W/S)/(rho c a g), in ft, s, lb, knots."""
    loading, chord, slope, v, u = 12.0, 4.1, 4.6, 105.0, 50.0
    mu = 2 * loading / (0.002377 * chord * slope * 32.174)
    expected = 1 + 0.88 * mu / (5.3 + mu) * u * v * slope / (498 * loading)
    mine = gust_load_factor(v * KT, u * FT, wing_loading=loading * LB * 9.80665 / FT**2, chord=chord * FT, slope=slope)
    assert mine == pytest.approx(expected, rel=1e-3)


def test_diagram():
    one = maneuvering_diagram(
        mass=600, wing_area=12, clmax=1.4, clmin=-0.8, limit=3.8, negative_limit=-1.52, chord=1.3, slope=4.7,
        cruise_speed=50, dive_speed=70, flap_clmax=1.9, flap_speed=40,
    )  # fmt: skip
    v, n = one.positive
    assert n.max() == pytest.approx(3.8) and v[-1] == 70 and n[0] == 0
    assert np.interp(one.stall_speed, v, n) == pytest.approx(1.0, abs=0.01)
    assert one.negative[1].min() == pytest.approx(-1.52) and one.negative[1][-1] == 0.0
    assert one.flap[1].max() == pytest.approx(2.0)
    light = maneuvering_diagram(
        mass=450, wing_area=12, clmax=1.4, clmin=-0.8, limit=3.8, negative_limit=-1.52, chord=1.3, slope=4.7,
        cruise_speed=50, dive_speed=70,
    )  # fmt: skip
    assert light.limit_speed == pytest.approx(one.limit_speed * math.sqrt(450 / 600))
    assert light.gusts["cruise"][1].max() > one.gusts["cruise"][1].max()
    assert light.flap is None


def test_more_lift_lowers_the_speed_that_protects():
    """CLmax up by 15 %: the limit is reached at a speed 6.7 % lower."""
    given = {"mass": 600, "wing_area": 12, "clmin": -0.8, "limit": 3.8, "negative_limit": -1.52, "chord": 1.3,
             "slope": 4.7, "cruise_speed": 50, "dive_speed": 70}  # fmt: skip
    before, after = (maneuvering_diagram(clmax=c, **given).limit_speed for c in (1.4, 1.4 * 1.15))
    assert after / before == pytest.approx(1 / math.sqrt(1.15))


@pytest.mark.parametrize(
    "given, words",
    [({"surface": "ice"}, "known: dry"), ({"slope": 0.08}, "outside"), ({"headwind": -6.0}, "other direction")],
)
def test_ground_refused(given, words):
    with pytest.raises(ValueError, match=words):
        Ground(**given)


@pytest.mark.parametrize(
    "given, words",
    [({"limit": 0.5}, "approved data"), ({"clmin": 0.5}, "approved data"), ({"dive_speed": 40}, "above")],
)
def test_diagram_refused(given, words):
    whole = {"mass": 600, "wing_area": 12, "clmax": 1.4, "clmin": -0.8, "limit": 3.8, "negative_limit": -1.52,
             "chord": 1.3, "slope": 4.7, "cruise_speed": 50, "dive_speed": 70}  # fmt: skip
    with pytest.raises(ValueError, match=words):
        maneuvering_diagram(**{**whole, **given})
