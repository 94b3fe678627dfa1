"""Leaving a stall out, against generalised least squares of statsmodels with that stall taken out of its matrices."""

import numpy as np
import pytest
import statsmodels.api as sm

from aerolib.measured.stalls.influence import stand_apart, without_each_stall


@pytest.mark.parametrize("slope", [False, True])
def test_deletion_against_statsmodels(slope):
    rng = np.random.default_rng(5)
    n, groups, flights = 30, 3, 7
    group, flight = rng.integers(0, groups, n), rng.integers(0, flights, n)
    group[:4] = [0, 1, 2, 2]
    y, variance = rng.normal(0.3, 0.1, n), rng.uniform(0.5, 2.0, n) * 1e-3
    of_flight, tau, kappa = rng.uniform(0.0, 1e-3, flights), 0.02, 1.3
    covariate = rng.normal(0.0, 1.0, n) if slope else None
    x = np.column_stack([group == g for g in range(groups)] + ([covariate] if slope else [])).astype(float)
    same = flight[:, None] == flight
    sigma = np.diag(kappa**2 * variance) + same * (tau**2 + of_flight[flight])
    whole = sm.GLS(y, x, sigma).fit().params[:groups]
    found = without_each_stall(y, variance, group, flight, groups=groups, flights=flights, flight_variance=of_flight,
                               tau=tau, kappa=kappa, covariate=covariate)  # fmt: skip
    for i in range(n):
        keep = np.arange(n) != i
        left = sm.GLS(y[keep], x[keep], sigma[np.ix_(keep, keep)]).fit().params[:groups]
        assert found[:, i] == pytest.approx(left - whole, rel=1e-7, abs=1e-12)


def test_the_only_stall_of_a_group_leaves_nothing():
    found = without_each_stall(np.array([0.1, 0.2, 0.4]), np.full(3, 1e-4), np.array([0, 1, 1]), np.array([0, 1, 1]),
                               groups=2, flights=2, flight_variance=np.zeros(2), tau=0.01, kappa=1.0)  # fmt: skip
    assert np.isnan(found[:, 0]).all() and found[:, 1:] == pytest.approx(np.array([[0, 0], [0.1, -0.1]]), abs=1e-12)


def test_standing_apart_by_hand():
    """Deviations from the median 2 of 0, 1, 2, 3, 30, of unit scatter: 1.5 is usual, 28 / 1.4826 far."""
    y, one = np.array([0.0, 1.0, 2.0, 3.0, 30.0]), np.ones(5, dtype=int)
    assert stand_apart(y, np.ones(5), one, one > 0) == [(4, pytest.approx(28 / 1.4826))]
    assert stand_apart(y, np.full(5, 100.0), one, one > 0) == []  # 2.8 of 10
    assert stand_apart(y[-2:], np.ones(2), one[:2], one[:2] > 0) == []  # two cannot say which of them is off
    assert stand_apart(y, np.ones(5), one, np.array([True] * 4 + [False])) == []
