"""Simulated: airplanes that took no part in the load-factor table, one stall at a time.

Only the load factor is unknown here: every other error size is zero, the days are taken as alike (the prior of their
scatter is 1e-9), thrust is taken out as it was. What is left of the prior is that the scatter of a single stall may
be half as large again as stated.
"""

import numpy as np
import pytest

pytest.importorskip("jsbsim")

import scores


@pytest.fixture(scope="module")
def score():
    """Scores by kind of speed, printed once."""
    out = {kind: scores.unseen(kind) for kind in ("minimum", "break", "steady")}
    print("\n(simulated) unseen airplanes: flights, mean error, held, median half-width")
    for kind, s in out.items():
        print(f"  {kind}: {len(s.held)}, {s.errors.mean():+.1%}, {s.held.sum()}, {np.median(s.halves):.1%}")
    return out


def test_the_lowest_speed_of_unseen_airplanes(score):
    s = score["minimum"]
    assert len(s.held) >= 40
    assert abs(s.errors.mean()) <= 0.01
    assert s.coverage >= 36 / 40
    assert np.median(s.halves) < 0.07
    assert s.errors.std() > 0.01  # they do differ: the intervals are not wide for nothing


def test_the_break_of_unseen_airplanes(score):
    """No better than the lowest speed: where the break is put depends on who looks."""
    s = score["break"]
    assert len(s.held) >= 30
    assert abs(s.errors.mean()) <= 0.025
    assert s.coverage >= 0.9


def test_a_steady_speed_of_unseen_airplanes(score):
    """Some of these were held on the stop and called a break here: only what is claimed for any steady speed."""
    s = score["steady"]
    assert len(s.held) >= 15
    assert abs(s.errors.mean()) <= 0.04
    assert s.coverage >= 0.9


def test_n_equal_to_one_misses_most_of_them(monkeypatch):
    # as if n = 1 had been recorded at highest lift: without what is allowed for recording it too late
    monkeypatch.setattr("aerolib.measured.loadfactor.RECORDED_TOO_LATE", 0.0)
    """The same flights with the load factor called 1 and recorded: what the table is for."""
    s = scores.unseen("minimum", load_factor=1.0)
    assert s.errors.mean() > 0.05
    assert s.coverage < 0.2
