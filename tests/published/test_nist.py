"""The fit of groups against NIST certified values (data/published/nist_*.md).

With nothing said about kappa in advance, no day scatter and a fine grid, the group means and the slope are Student's
t about the least-squares values with N - P degrees of freedom: location, scale and quantiles are then certified.
"""

import numpy as np
import pytest
from scipy import stats

from aerolib.measured.stalls.mixed import fit_flights

PROBABILITIES = np.array([0.025, 0.05, 0.5, 0.95, 0.975])


def _certified(published, dataset):
    return {row["quantity"]: float(row["value"]) for row in published("nist_certified") if row["dataset"] == dataset}


def _fit(y, group, unit, covariate=None):
    """Fit with a stated standard deviation `unit` of about the size of the residuals."""
    n = len(y)
    return fit_flights(
        np.asarray(y, dtype=float), np.full(n, unit**2), group, np.zeros(n, dtype=int), groups=int(group.max()) + 1,
        flights=1, flight_variance=np.zeros(1), day_median=1e-9 * unit, day_log_sd=0.5, covariate=covariate,
        kappa_log_sd=np.inf, kappa_steps=np.geomspace(0.2, 30.0, 1501),
    )  # fmt: skip


def test_norris_line(published):
    # NIST StRD Norris (seen): b0, b1, their standard deviations, 34 degrees of freedom. 9 digits asked of 15.
    rows, known = published("nist_norris"), _certified(published, "Norris")
    y, x = (np.array([float(row[name]) for row in rows]) for name in ("y [-]", "x [-]"))
    assert len(rows) == 36
    nu = known["residual degrees of freedom"]
    fit = _fit(y, np.zeros(36, dtype=int), 1.0, covariate=x)
    assert fit.slope == pytest.approx(known["b1"], rel=1e-9)
    assert fit.slope_sd == pytest.approx(known["b1 sd"] * np.sqrt(nu / (nu - 2)), rel=1e-6)
    assert fit.mean[0] == pytest.approx(known["b0"], rel=1e-9)
    found = fit.quantiles(0, PROBABILITIES)
    expected = known["b0"] + known["b0 sd"] * stats.t.ppf(PROBABILITIES, nu)
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-6 * known["b0 sd"])
    assert fit.kappa == pytest.approx(known["residual sd"] * np.sqrt(nu / (nu - 2)), rel=1e-6)


def test_norris_line_in_wrong_units_of_scatter(published):
    # the same certified values when the stated size is five times too large or too small
    rows, known = published("nist_norris"), _certified(published, "Norris")
    y, x = (np.array([float(row[name]) for row in rows]) for name in ("y [-]", "x [-]"))
    nu = known["residual degrees of freedom"]
    for unit in (0.2, 2.0):
        fit = _fit(y, np.zeros(36, dtype=int), unit, covariate=x)
        assert fit.slope_sd == pytest.approx(known["b1 sd"] * np.sqrt(nu / (nu - 2)), rel=1e-6)


def test_silver_two_instruments(published):
    # NIST StRD AtmWtAg (seen): residual sd, 46 degrees of freedom; seven constant leading digits
    rows, known = published("nist_atmwtag"), _certified(published, "AtmWtAg")
    y = np.array([float(row["atomic_weight [-]"]) for row in rows])
    group = np.array([int(row["instrument"]) - 1 for row in rows])
    assert len(y) == 48
    fit = _fit(y, group, 1e-5)
    nu, s = known["within degrees of freedom"], known["residual sd"]
    for g in (0, 1):
        # means printed to 1e-14 relative; centring leaves 1e-13 of 107.868, 1e-6 of the residual sd
        assert fit.mean[g] == pytest.approx(known[f"mean {g + 1}"], abs=1e-6 * s)
        expected = known[f"mean {g + 1}"] + s / np.sqrt(24) * stats.t.ppf(PROBABILITIES, nu)
        np.testing.assert_allclose(fit.quantiles(g, PROBABILITIES), expected, rtol=0, atol=1e-5 * s)
    difference = fit.mean[0] - fit.mean[1]
    # one factor, two treatments: F = (difference / (s sqrt(2/24)))^2
    assert (difference / (s * np.sqrt(2 / 24))) ** 2 == pytest.approx(known["F"], rel=1e-6)
    assert fit.kappa * 1e-5 == pytest.approx(s * np.sqrt(nu / (nu - 2)), rel=1e-6)


def test_certified_values_belong_to_the_data(published):
    # the tables were copied whole: sums of squares of the data as NIST certifies them (9 digits asked)
    rows, known = published("nist_atmwtag"), _certified(published, "AtmWtAg")
    y = np.array([float(row["atomic_weight [-]"]) for row in rows]) - 107.8681
    a, b = y[:24], y[24:]
    within = np.sum((a - a.mean()) ** 2) + np.sum((b - b.mean()) ** 2)
    assert within == pytest.approx(known["within sum of squares"], rel=1e-8)
    assert 12 * (a.mean() - b.mean()) ** 2 == pytest.approx(known["between sum of squares"], rel=1e-8)
