"""Airspeed from ground velocities beside printed examples, other forms of the method, and a general-purpose library.

D. Gray, "Using GPS to accurately establish True Airspeed", June 1998 (first page read, its numbers at second hand);
SFTE Reference Handbook 2013, ch. 4 (equations read; the numbers for them are arithmetic done elsewhere).
"""

import math
import warnings

import numpy as np
import pytest

from aerolib.case.aircraft import WATER
from aerolib.measured.airspeed.calibration import calibrate_airspeed
from aerolib.measured.airspeed.circle import fit_circle
from aerolib.measured.airspeed.correction import airspeed_of_pressure

KT = 1852 / 3600
GRAY = np.array([140.0, 112.0, 120.0]), np.radians([192.0, 283.0, 20.0])


def test_three_legs_of_1998():
    """Printed: 130 kt, wind 20.6 kt from 314.8 degrees, headings 200, 287.8, 11.7."""
    c = fit_circle(*GRAY)
    assert c.airspeed == pytest.approx(130, abs=0.5) and c.airspeed == pytest.approx(129.99852350, abs=1e-7)
    assert c.wind_speed == pytest.approx(20.6, abs=0.05)
    assert math.degrees(c.wind_from) == pytest.approx(314.8, abs=0.05)
    assert np.degrees(c.headings) % 360 == pytest.approx([199.67, 287.79, 11.71], abs=0.005)
    assert np.abs(c.residuals).max() < 1e-9


def test_uncertainty_of_three_legs():
    """A Monte Carlo of others on that example: 1 kt of ground speed alone 0.757, with a degree of track 0.794."""
    c = fit_circle(*GRAY, leg=1.0)
    assert c.standard_uncertainty == pytest.approx(0.794, rel=0.02)
    assert c.dilution == pytest.approx(0.757, rel=0.01)  # the draws behind it were counted, not infinite


def test_perpendicular_tracks():
    """SFTE: V = 1/2 sqrt(V1^2 + V2^2 + V3^2 + V1^2 V3^2/V2^2): 66.1, 72.5, 51.1 on 0, 90, 180 give 60.0150, 14.9698."""
    c = fit_circle([66.1, 72.5, 51.1], np.radians([0.0, 90.0, 180.0]))
    assert (c.airspeed, c.wind_speed) == (pytest.approx(60.0150, abs=5e-5), pytest.approx(14.9698, abs=5e-5))
    exact = fit_circle([66.0768726, 72.5197856, 51.0768726], np.radians([0.0, 90.0, 180.0]))
    assert math.degrees(exact.wind_from) == pytest.approx(240, abs=1e-5)


@pytest.mark.parametrize(
    "headings, speeds",
    [([0.0, 90.0, 180.0], [68.7386354, 73.3746940, 54.0832691]),
     ([40.0, 160.0, 280.0], [74.2727858, 59.2657851, 49.4582653])],
)  # fmt: skip
def test_known_headings(headings, speeds):
    """Horseshoe of headings, and three headings 120 degrees apart: 60.000 and 15.000."""
    c = fit_circle(np.array(speeds), heading=np.radians(headings), expected=58.0)
    assert (c.airspeed, c.wind_speed) == (pytest.approx(60.0, abs=1e-5), pytest.approx(15.0, abs=1e-5))


@pytest.mark.parametrize("seed", range(8))
def test_circle_beside_orthogonal_distance_regression(seed):
    """Five uneven legs with noise: scipy's orthogonal distance regression of the implicit circle."""
    r = np.random.default_rng(seed)
    angle = np.radians([10.0, 85.0, 160.0, 230.0, 320.0])
    x = 7.0 + 45.0 * np.sin(angle) + r.normal(0, 0.8, 5)
    y = -12.0 + 45.0 * np.cos(angle) + r.normal(0, 0.8, 5)
    c = fit_circle(np.hypot(x, y), np.arctan2(x, y))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # this module of scipy is announced to go; it is the reference here, not ours
        from scipy import odr

        model = odr.Model(lambda b, d: (d[0] - b[1]) ** 2 + (d[1] - b[2]) ** 2 - b[0] ** 2, implicit=True)
        fit = odr.ODR(
            odr.Data(np.vstack([x, y]), 1), model, beta0=[40.0, 5.0, -10.0], sstol=1e-14, partol=1e-14, maxit=500
        ).run()
    assert c.airspeed == pytest.approx(fit.beta[0], abs=1e-6)
    assert c.wind == pytest.approx(tuple(fit.beta[1:]), abs=1e-6)


@pytest.mark.parametrize("knots, millimetres", [(30, 14.9), (40, 26.5), (50, 41.5)])
def test_water_column(knots, millimetres):
    """14.9, 26.5, 41.5 mm of water at 30, 40, 50 kt, as printed."""
    for edge in (-0.06, 0.06):  # the printed height is rounded, the water some tenths of a percent lighter when warm
        v = airspeed_of_pressure(WATER * 9.80665 * (millimetres + edge) / 1000) / KT
        assert abs(v - knots) < 0.5 * knots * 0.01


def test_a_constant_pressure_error_is_found():
    """A port that sees a tenth too little pressure: 1 - (V_i/V)^2 is 0.1 at every speed, by hand 5.4 % of the speed."""
    cas = np.repeat(np.array([70.0, 55.0, 46.0]) * KT, 4)
    track = np.tile(np.radians([0.0, 90.0, 180.0, 270.0]), 3)
    found = calibrate_airspeed(
        cas * math.sqrt(0.9), cas, track=track, run=np.repeat(["1", "2", "3"], 4), power="idle", weight=600.0,
        wing_area=11.0, temperature=288.15, stalls={("before", "clean"): (42 * KT * math.sqrt(0.9), 600.0)},
    )  # fmt: skip
    (state,) = found.states
    assert state.at_stall / KT == pytest.approx(42 * (1 - math.sqrt(0.9)), abs=0.35)
    assert state.extension == pytest.approx((46 / 42) ** 2 * 0.95, abs=0.06)
