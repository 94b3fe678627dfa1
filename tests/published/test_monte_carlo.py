"""JCGM 101 clause 9 through the library's coverage intervals, and the reduction by drawing."""

import math

import numpy as np
import pytest

from aerolib import ErrorSizes, SpeedCorrection, Thrust, reduce_stalls
from aerolib.measured.stalls.montecarlo import coverage_interval

RNG_SEED = 101
M = 1_000_000


def test_jcgm101_9_2_2_four_normals(published):
    rows = {r["clause"]: r for r in published("jcgm101_9")}
    sums = np.random.default_rng(RNG_SEED).standard_normal((4, M)).sum(axis=0)
    low, high = coverage_interval(sums)
    half = float(rows["9.2.2"]["half_interval95"])
    assert (-low, high) == (pytest.approx(half, abs=0.01), pytest.approx(half, abs=0.01))


def test_jcgm101_9_2_3_four_rectangular(published):
    # standard deviation 1 each: half-width sqrt(3); the linear route would say 3.92
    rows = {r["clause"]: r for r in published("jcgm101_9")}
    sums = np.random.default_rng(RNG_SEED).uniform(-math.sqrt(3), math.sqrt(3), (4, M)).sum(axis=0)
    low, high = coverage_interval(sums)
    half = float(rows["9.2.3"]["half_interval95"])
    assert half < 3.90
    assert (-low, high) == (pytest.approx(half, abs=0.01), pytest.approx(half, abs=0.01))


def test_jcgm101_shortest_interval_of_a_skewed_quantity():
    # x**2 of a standard normal: the shortest 95 % interval starts at zero, and ends at the square of 1.96
    squares = np.random.default_rng(RNG_SEED).standard_normal(M) ** 2
    low, high = coverage_interval(squares, shortest=True)
    assert low == pytest.approx(0.0, abs=1e-6)
    assert high == pytest.approx(1.959964**2, abs=0.03)


NOTHING = {name: 0.0 for name in vars(ErrorSizes())} | {"day": 1e-9, "day_log_sd": 0.1}
CARD = dict(ias=[22.0], wing_area=13.0, weight=600.0, reference_weight=620.0, load_factor=1.0, speed_kind="steady",
            thrust={"idle": Thrust(0.0, 0.0)}, pressure_altitude=0.0)  # fmt: skip


def test_a_large_error_of_speed_is_skewed_and_said(monkeypatch):
    # only the speed is in error, by 15 %: CL goes as V**-2, so the ends are those of (1 -+ 1.96 * 0.15)**-2
    monkeypatch.setattr("aerolib.measured.stalls.loadfactor.RECORDED", (0.0, 1e-9))
    position = {("before", "clean"): SpeedCorrection(standard_uncertainty=3.3, origin="given")}
    result = reduce_stalls(**CARD, errors=ErrorSizes(**NOTHING), position=position, draws=400_000)
    item = result["before", "clean"]
    low, high = (x / item.clmax.value for x in item.interval95_by_draws)
    assert low == pytest.approx((1 + 1.959964 * 0.15) ** -2, rel=0.004)
    assert high == pytest.approx((1 - 1.959964 * 0.15) ** -2, rel=0.01)
    assert any("random sets of errors" in n for n in item.notes)
    # the speed itself is not skewed by its own error
    v = item.stall_speed_1g.value
    assert item.stall_speed_interval95_by_draws == pytest.approx((v * (1 - 0.294), v * (1 + 0.294)), rel=0.006)


def test_small_errors_agree_with_the_linear_route_and_nothing_is_said():
    rng = np.random.default_rng(3)
    card = dict(CARD, ias=22.0 + 0.2 * rng.standard_normal(8), load_factor=np.nan, speed_kind="minimum",
                entry_rate=0.5, flight=list("11112222"))  # fmt: skip
    position = {("before", "clean"): SpeedCorrection(standard_uncertainty=0.3, origin="given")}
    item = reduce_stalls(**card, position=position, draws=400_000)["before", "clean"]
    width = item.clmax.interval95[1] - item.clmax.interval95[0]
    assert np.allclose(item.interval95_by_draws, item.clmax.interval95, atol=0.03 * width)
    assert not any("random sets" in n for n in item.notes)


def test_area_and_thrust_cancel_in_the_stall_speed_by_draws_too(monkeypatch):
    monkeypatch.setattr("aerolib.measured.stalls.loadfactor.RECORDED", (0.0, 1e-9))
    sizes = ErrorSizes(**(NOTHING | {"wing_area": 0.05, "idle_thrust": 0.1}))
    card = {k: v for k, v in CARD.items() if k != "thrust"}
    item = reduce_stalls(**card, errors=sizes, position={("before", "clean"): SpeedCorrection(origin="given")},
                         draws=100_000)["before", "clean"]  # fmt: skip
    low, high = item.stall_speed_interval95_by_draws
    assert (high - low) / item.stall_speed_1g.value < 0.005
    low, high = item.interval95_by_draws
    assert (high - low) / item.clmax.value > 0.15


def test_progress_is_told_and_can_stop_the_work():
    told = []
    reduce_stalls(**CARD, draws=60_000, progress=told.append)
    assert told == sorted(told) and told[-1] == 60_000

    def stop(done):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        reduce_stalls(**CARD, draws=60_000, progress=stop)


def test_draws_repeat_by_seed_and_leave_the_linear_answer():
    a, b, c = (reduce_stalls(**CARD, draws=5000, seed=s)["before", "clean"] for s in (1, 1, 2))
    assert a.interval95_by_draws == b.interval95_by_draws != c.interval95_by_draws
    assert a.clmax == reduce_stalls(**CARD)["before", "clean"].clmax
