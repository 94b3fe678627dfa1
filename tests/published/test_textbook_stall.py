"""Textbook stall exercises through `reduce_stalls` (data/published/textbook_stall.md, weight_correction.md)."""

import math

import numpy as np
import pytest
from scipy import constants as c

from aerolib import ErrorSizes, Thrust, reduce_stalls

SLUG = c.pound * c.g / c.foot  # [kg]
SI = {
    "m/s": 1.0, "ft/s": c.foot, "mph": c.mile / c.hour, "kt": c.knot, "m2": 1.0, "ft2": c.foot**2,
    "N": 1.0, "lbf": c.lbf, "kg/m3": 1.0, "slug/ft3": SLUG / c.foot**3, "kg": 1.0, "lb": c.pound,
}  # fmt: skip
RHO0 = 1.225  # ISO 2533:1975


def _reduce(speed, mass, area, **more):
    """One speed held steady at sea level, load factor 1, no thrust: nothing but 2 W / (rho0 V^2 S) is left."""
    return reduce_stalls(
        [speed], wing_area=area, weight=mass, reference_weight=mass, speed_kind="steady", load_factor=1.0,
        pressure_altitude=0.0, thrust={"idle": Thrust(0.0, 0.0)}, **more,
    )  # fmt: skip


def _exercises(published):
    rows = published("textbook_stall")
    assert len(rows) == 8
    for row in rows:
        force = float(row["weight"])
        force *= row["gravity [m/s2]"] if row["weight_unit"] == "kg" else SI[row["weight_unit"]]
        rho = row["air_density"] * SI[row["density_unit"]]
        equivalent = row["speed"] * SI[row["speed_unit"]] * math.sqrt(rho / RHO0)
        yield row, equivalent, force / c.g, row["wing_area"] * SI[row["area_unit"]]


def test_coefficient_comes_back_from_the_speed(published, as_printed):
    # textbook answers, read as textbook_stall.md says; a speed's last digit counts twice in the coefficient
    for row, speed, mass, area in _exercises(published):
        cl = row["lift_coefficient [-]"]
        exact_speed = row["case"] == "ultralight rule"  # 24 kt is the rule, not a rounded result
        rounding = 0.0 if exact_speed else 2.0 * row["speed"].half / row["speed"] * cl
        reduced = _reduce(speed, mass, area)
        as_printed(reduced.points.cl[0], cl, row, extra=rounding)
        as_printed(reduced["before", "clean"].clmax.value, cl, row, extra=rounding)


def test_one_g_stall_speed_comes_back(published, as_printed):
    # the same answers: load factor 1 at the reference weight is the speed that went in
    for row, speed, mass, area in _exercises(published):
        found = _reduce(speed, mass, area)["before", "clean"].stall_speed_1g.value
        as_printed(found / speed * row["speed"], row["speed"], row)


def test_lag_matters_to_a_falling_speed_only(published):
    # a speed held steady is not late; with a break, only `lag=0` gives the exercise back
    row, speed, mass, area = next(_exercises(published))
    given = dict(wing_area=area, weight=mass, reference_weight=mass, load_factor=1.0, pressure_altitude=0.0)
    steady = _reduce(speed, mass, area).points.cl[0]
    without = reduce_stalls([speed], speed_kind="break", errors=ErrorSizes(lag=0.0), **given).points.cl[0]
    late = reduce_stalls([speed], speed_kind="break", entry_rate=0.5, errors=ErrorSizes(lag=0.3), **given).points.cl[0]
    assert without == pytest.approx(steady, rel=1e-12)
    # by hand: the needle is 0.35 (the simulated share at a break) * 0.5 m/s2 * 0.3 s = 0.0525 m/s behind
    # (compressibility, 1e-4 of it, apart)
    assert late == pytest.approx(steady * (speed / (speed - 0.0525)) ** 2, rel=1e-5)


def test_weight_correction(published, as_printed):
    # two exercises (seen), two computed: V2 = V1 sqrt(W2/W1), as the speeds seen at the reference weight
    for row in published("weight_correction"):
        unit = SI[row["weight_unit"]]
        reduced = reduce_stalls(
            [row["speed [kt]"] * c.knot], wing_area=14.0, weight=row["weight"] * unit, speed_kind="steady",
            reference_weight=row["to_weight"] * unit, load_factor=1.0, pressure_altitude=0.0,
        )  # fmt: skip
        (seen,) = reduced["before", "clean"].speeds_seen
        as_printed(seen.speed.value / c.knot, row["corrected_speed [kt]"], row)
        as_printed(seen.needle / c.knot, row["corrected_speed [kt]"], row)
        as_printed(reduced.points.cas_at_reference_weight[0] / c.knot, row["corrected_speed [kt]"], row)


def test_airspeed_at_the_stall_does_not_depend_on_altitude(published):
    # 17,900 lb on 322.56 sq ft (web exercise at 34,000 ft): as an equivalent airspeed it is the sea-level one
    row, speed, mass, area = next(e for e in _exercises(published) if e[0]["case"] == "any altitude")
    at = np.array([0.0, 1000.0, 3000.0])
    delta = np.array([101325.0, 89874.6, 70108.5]) / 101325.0  # ISO 2533; 3000 m from memory
    reduced = reduce_stalls(
        np.full(3, speed), wing_area=area, weight=mass, reference_weight=mass, speed_kind="steady", load_factor=1.0,
        pressure_altitude=at, temperature=[288.15, 300.0, 250.0],
    )  # fmt: skip
    # CAS is not quite EAS: Ve = Vc (1 - (Vc/a0)^2 (1/delta - 1) / 8), first term of the series (by hand)
    slower = 1.0 - (speed / 340.2940) ** 2 * (1.0 / delta - 1.0) / 8.0
    np.testing.assert_allclose(reduced.points.cl * slower**2, row["lift_coefficient [-]"], rtol=3e-5)


@pytest.mark.parametrize("factor", [0.9, 1.05])
def test_load_factor_stands_before_the_weight(factor):
    # 14 CFR 25.103 (recalled form): CL = n W / (q S), V at n = 1 is V / sqrt n; 45 kt: 0.95 -> 46.17, 1.05 -> 43.92
    given = dict(wing_area=14.0, weight=700.0, reference_weight=700.0, speed_kind="steady", pressure_altitude=0.0)
    one = reduce_stalls([45 * c.knot], load_factor=1.0, **given)["before", "clean"]
    other = reduce_stalls([45 * c.knot], load_factor=factor, **given)["before", "clean"]
    assert other.clmax.value == pytest.approx(factor * one.clmax.value, rel=1e-12)
    assert other.stall_speed_1g.value == pytest.approx(one.stall_speed_1g.value / math.sqrt(factor), rel=1e-12)


@pytest.mark.parametrize("factor, printed", [("0.95", "46.17"), ("1.00", "45.00"), ("1.05", "43.92")])
def test_one_g_speed_of_a_recorded_load_factor(factor, printed):
    # computed outside the library: 45 kt / sqrt n, printed to 0.01 kt
    item = reduce_stalls([45 * c.knot], wing_area=14.0, weight=700.0, reference_weight=700.0, speed_kind="steady",
                         pressure_altitude=0.0, load_factor=float(factor))["before", "clean"]  # fmt: skip
    assert abs(item.stall_speed_1g.value / c.knot - float(printed)) <= 0.005
