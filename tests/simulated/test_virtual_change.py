"""Simulated: one airplane flown before and after its lift table was raised, by the same pilot, through `compare`.

The truth is the change of the highest lift coefficient of the simulator's own forces; the card holds only what somebody
aboard would write down.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

pytest.importorskip("jsbsim")

import card
import fly
import population
from campaign import G

from aerolib import ErrorSizes, SpeedCorrection, compare
from aerolib.measured.stalls import Stalls
from aerolib.show.comparing import change_line
from aerolib.show.render import said

KT = fly.KT
GAIN = 0.2
NOISE, STEP = 0.4 * KT, 1.0 * KT
RATES = (0.6, 0.8, 1.0, 1.2)  # kt/s
SAME = 1e-3  # m/s, of a position error that is known: none was simulated
SEEDS = (78, 79, 80, 81, 82, 86)
LOADS = (1.0, 0.98, 0.96, 0.97)  # of the weight, attempt by attempt


def pilot(rate):
    """A tidy pilot in the middle of the library's ranges; rate in kt/s."""
    return fly.Pilot(
        rate=rate * KT, start_ratio=1.35 + 0.1 * rate, speed_gain=0.05, speed_integral=0.2, pitch_gain=2.5,
        rate_gain=1.0, lag=0.12, forward_rate=0.05, tremor=0.003, phases=(0.0, 1.0, 2.0, 3.0, 4.0), reaction=0.5,
        notice=1.5, final_pull=0.3, push=0.2, style="release", patience=5.0, step=0.5,
    )  # fmt: skip


def airplane(seed, **changed):
    """An own airplane with elevator to spare, from a seed that is not the library's."""
    a = population.draw_airplane(population.Draw(seed), "changed", 0.0)
    return replace(a, stop_margin=math.radians(8.0), **changed)


def fly_state(a):
    """Fly one attempt per rate and load.

    Returns: list of rows of the card (dict).
    """
    return [
        card.row(population.Planned("x", "own", "ordinary", "a", "p", "q", "clean", task), fly.fly(task))
        for task in (fly.Task(a, pilot(r), 0.0, "off", part * a.weight, 1500.0) for r, part in zip(RATES, LOADS))
    ]


def compare_states(before, after, rng):
    """Two flights of each state through the library, with a needle that flickers and is read to a knot."""
    rows = [*before, *after]
    n = len(rows)
    state = np.repeat(["before", "after"], [len(before), len(after)])
    ias = np.array([r["cas_minimum_m_s"] for r in rows]) + rng.normal(0, NOISE, n)
    known = SpeedCorrection(standard_uncertainty=SAME, origin="none simulated")
    return compare(Stalls(**{
        "ias": np.round(ias / STEP) * STEP, "modification": state, "flight": [f"{k % 2 + 1}" for k in range(n)],
        "ended": [r["ended"] for r in rows], "entry_rate": [r["entry_rate_kt_s"] * KT for r in rows],
        "weight": [r["weight_N"] / G for r in rows], "reference_weight": rows[0]["weight_N"] / G,
        "wing_area": rows[0]["wing_area_m2"], "pressure_altitude": [r["height_m"] for r in rows], "power": "off",
        "position": {(m, "clean"): known for m in ("before", "after")},
        "errors": ErrorSizes(reading=math.hypot(NOISE, STEP / math.sqrt(12)), lag=0.0, lag_uncertainty=0.0, fuel=0.0,
                             loading=0.0, day=0.002, reading_flight=0.0, entry_rate=0.0, entry_rate_flight=0.0,
                             entry_rate_pilot=0.0),
    }))["clean", "off"]  # fmt: skip


def true_ratio(before, after):
    """Ratio of the mean highest lift coefficients of the forces."""
    return np.mean([r["clmax_forces"] for r in after]) / np.mean([r["clmax_forces"] for r in before])


RAISED = {
    "the same angle": lambda a: replace(a, lift_zero=a.lift_zero + GAIN, peak_lift=a.peak_lift + GAIN),
    "a higher angle": lambda a: replace(a, peak_lift=a.peak_lift + GAIN),
}


@pytest.fixture(scope="module")
def before():
    """Rows of every airplane as it was, by seed."""
    return {seed: fly_state(airplane(seed)) for seed in SEEDS}


@pytest.mark.parametrize("how", RAISED)
def test_a_raised_lift_table_is_found(before, how):
    errors, held, halves, seen = [], [], [], []
    for seed in SEEDS:
        after = fly_state(RAISED[how](airplane(seed)))
        truth = true_ratio(before[seed], after)
        by_hand = RAISED[how](airplane(seed)).hand_clmax(0.0)[0] / airplane(seed).hand_clmax(0.0)[0]
        assert truth == pytest.approx(by_hand, rel=0.02) and truth > 1.08
        for k in range(4):  # the same flights, read with other flickers of the needle
            change = compare_states(before[seed], after, np.random.default_rng([seed, k]))
            low, high = change.ratio.interval95
            assert change.verdict.direction == "gain", seed
            seen.append(low > 1.0)
            held.append(low <= truth <= high)
            errors.append(change.ratio.value / truth - 1)
            halves.append(math.log(high / low) / 2)
    print(f"\n(simulated) gain of 0.2 at {how}: mean error {np.mean(errors):+.1%}, held {np.mean(held):.0%}, "
          f"half-width {np.median(halves):.1%}")  # fmt: skip
    assert np.mean(held) >= 0.9
    assert np.mean(seen) >= 0.9  # the load factor of each state is from the table, as wide as for docile airplanes
    assert abs(np.mean(errors)) < 0.012
    assert np.median(halves) < 0.06  # it would see 0.2 of 1.5


def test_no_change_is_not_shown(before):
    """The same flights read twice, once as 'after'."""
    for seed in SEEDS:
        change = compare_states(before[seed], before[seed], np.random.default_rng(seed))
        low, high = change.ratio.interval95
        assert low <= 1.0 <= high
        assert change.verdict.words != "shown"


@pytest.mark.parametrize("short", [2.0, 5.0])
@pytest.mark.parametrize("seed", SEEDS)
def test_a_gain_hidden_by_the_elevator_is_a_bound_and_no_loss(before, seed, short):
    """The wing gained 0.2, but the elevator stops short of the new lift peak; by 5 degrees it even stalls faster."""
    modified = replace(RAISED["a higher angle"](airplane(seed)), stop_margin=math.radians(-short))
    after = fly_state(modified)
    assert {r["ended"] for r in after} == {"stop"} and after[0]["hand_limit"] == "stop"
    change = compare_states(before[seed], after, np.random.default_rng(seed))
    assert change.ratio is None and change.verdict is None and change.probability_improved is None
    reached = true_ratio(before[seed], after)
    assert 0.8 * reached < change.ratio_at_least <= reached
    assert "at least" in said(change_line(change)) and "loss" not in said(change_line(change))
