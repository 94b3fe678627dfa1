"""The error budget against the `uncertainties` package: the same model written once more, with ufloats."""

import math

import pytest
from scipy import constants as c
from uncertainties import ufloat, umath

from aerolib import ErrorSizes, SpeedCorrection, Thrust, reduce_stalls
from aerolib.measured.stalls.loadfactor import RECORDED

RHO0, AREA, REFERENCE = 1.225, 13.2, 640.0  # [kg/m3], [m2], [kg]
ERRORS = ErrorSizes(
    wing_area=0.012, empty_weight=4.0, loading=5.0, fuel=3.0, indicator_scale=0.01, position=0.8, reading=0.35,
    reading_flight=0.2,
    lag=0.0, lag_uncertainty=0.0, idle_thrust=0.02, day=0.012,
)  # fmt: skip
STALLS = (  # configuration, flight, speed [m/s], weight [kg], load factor [-]
    ("clean", "1", 25.0, 620.0, 0.97),
    ("flap", "1", 22.0, 610.0, 0.95),
)


def _reduce(stalls, **more):
    column = list(zip(*stalls))
    return reduce_stalls(
        column[2], configuration=column[0], flight=column[1], weight=column[3], load_factor=column[4],
        wing_area=AREA, reference_weight=REFERENCE, speed_kind="minimum", pressure_altitude=0.0, errors=ERRORS, **more,
    )  # fmt: skip


def _reference(stalls, result, thrust=(0.0, ERRORS.idle_thrust * REFERENCE * c.g), position=None):
    """(CL, 1-g stall speed) of every stall as ufloats; the two scatters of the fit are taken as given inputs."""
    tau, kappa = result.day_scatter, result.scatter_ratio
    area = ufloat(AREA, ERRORS.wing_area * AREA)
    scales, gain = ufloat(0.0, ERRORS.empty_weight), ufloat(1.0, ERRORS.indicator_scale)
    rule, push, angle = ufloat(0.0, RECORDED[0]), ufloat(*thrust), ERRORS.stall_incidence
    flights = {f for _, f, *_ in stalls}
    loading = {f: ufloat(0.0, ERRORS.loading) for f in flights}
    # tau is the scatter of all that flights differ by beyond loading: days, and readings that a flight has in common.
    speeds = {f: [v + (position or {}).get(k, (0.0,))[0] for k, g, v, *_ in stalls if g == f] for f in flights}
    read = [sum(2 * ERRORS.reading_flight / v for v in vs) / len(vs) for vs in speeds.values()]
    read = math.sqrt(sum(x * x for x in read) / len(read))
    whole = math.hypot(ERRORS.day, read)
    day = {f: ufloat(0.0, tau * ERRORS.day / whole) + ufloat(0.0, tau * read / whole) for f in flights}
    out = []
    for configuration, flight, speed, mass, n0 in stalls:
        add, u_add = (position or {}).get(configuration, (0.0, ERRORS.position))
        v = (speed + ufloat(0.0, kappa * ERRORS.reading) + ufloat(add, u_add)) * gain
        w = mass + scales + loading[flight] + ufloat(0.0, kappa * ERRORS.fuel)
        n = n0 + rule + ufloat(0.0, kappa * RECORDED[1])
        cl = (n * w * c.g - push * math.sin(angle)) / (0.5 * RHO0 * v**2 * area) * umath.exp(day[flight])
        lift = REFERENCE * c.g - push * math.sin(angle) * (REFERENCE / (n0 * mass))  # thrust a share of the lift
        out.append((cl, umath.sqrt(2 * lift / (RHO0 * area * cl))))
    return out


def _agrees(estimate, reference, rel=1e-3):
    # compressibility at 25 m/s and sea level is zero; first order on both sides
    assert estimate.value == pytest.approx(reference.nominal_value, rel=1e-9)
    assert estimate.standard_uncertainty == pytest.approx(reference.std_dev, rel=rel)


def test_two_configurations_of_one_flight():
    result = _reduce(STALLS)
    (clean, clean_v), (flap, flap_v) = _reference(STALLS, result)
    a, b = result["before", "clean"], result["before", "flap"]
    _agrees(a.clmax, clean)
    _agrees(b.clmax, flap)
    _agrees(a.stall_speed_1g, clean_v)
    _agrees(b.stall_speed_1g, flap_v)
    _agrees(b.clmax.ratio_to(a.clmax), flap / clean)
    _agrees(b.stall_speed_1g.ratio_to(a.stall_speed_1g), flap_v / clean_v)
    # and the ratio is not what it would be were nothing shared
    apart = math.hypot(flap.std_dev / flap.nominal_value, clean.std_dev / clean.nominal_value)
    assert b.clmax.ratio_to(a.clmax).standard_uncertainty < 0.95 * apart * (flap / clean).nominal_value


def test_two_flights_share_less():
    stalls = (STALLS[0], ("flap", "2", *STALLS[1][2:]))
    result = _reduce(stalls)
    (clean, _), (flap, flap_v) = _reference(stalls, result)
    a, b = result["before", "clean"], result["before", "flap"]
    _agrees(a.clmax, clean)
    _agrees(b.stall_speed_1g, flap_v)
    _agrees(b.clmax.ratio_to(a.clmax), flap / clean)
    one_flight = _reduce(STALLS)
    together = one_flight["before", "flap"].clmax.ratio_to(one_flight["before", "clean"].clmax)
    assert together.standard_uncertainty < b.clmax.ratio_to(a.clmax).standard_uncertainty


def test_with_position_corrections():
    position = {"clean": (1.2, 0.4), "flap": (-0.6, 0.7)}
    corrections = {("before", k): SpeedCorrection(add=[add], standard_uncertainty=u, origin="given")
                   for k, (add, u) in position.items()}  # fmt: skip
    result = _reduce(STALLS, position=corrections)
    (clean, clean_v), (flap, _) = _reference(STALLS, result, position=position)
    a, b = result["before", "clean"], result["before", "flap"]
    _agrees(a.clmax, clean)
    _agrees(a.stall_speed_1g, clean_v)
    _agrees(b.clmax.ratio_to(a.clmax), flap / clean)


def test_with_a_known_thrust():
    # the incidence at the stall is fixed on both sides, its own line left out
    errors = {**ERRORS.__dict__, "stall_incidence_uncertainty": 0.0}
    column = list(zip(*STALLS))
    result = reduce_stalls(
        column[2], configuration=column[0], flight=column[1], weight=column[3], load_factor=column[4],
        wing_area=AREA, reference_weight=REFERENCE, speed_kind="minimum", pressure_altitude=0.0,
        errors=ErrorSizes(**errors), thrust={"idle": Thrust(150.0, 40.0)},
    )  # fmt: skip
    (clean, _), (flap, _) = _reference(STALLS, result, thrust=(150.0, 40.0))
    a, b = result["before", "clean"], result["before", "flap"]
    _agrees(a.clmax, clean)
    _agrees(b.clmax.ratio_to(a.clmax), flap / clean)


def test_every_line_of_the_budget():
    # one stall a flight: the library averages a flight's loading effect over its stalls
    stalls = (STALLS[0], ("flap", "2", *STALLS[1][2:]))
    result = _reduce(stalls)
    (clean, _), _ = _reference(stalls, result)
    lines = result["before", "clean"].clmax.budget()
    mine = sorted(line.contribution for line in lines if line.contribution > 1e-6)
    theirs = sorted(u for u in clean.error_components().values() if u > 1e-6)
    assert len(mine) == len(theirs) == 12
    assert mine == pytest.approx(theirs, rel=1e-3)
