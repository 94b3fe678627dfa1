"""Stalls within flights: the mean of each group when whole flights differ from each other.

    y_i = mu_g(i) + beta * (r_i - r0) + b_f(i) + e_i
    b_f ~ N(0, tau**2 + l_f**2)      one draw for everything flown on flight f
    e_i ~ N(0, kappa**2 * v_i)       one draw a stall; v_i from the stated sizes of its sources

y is ln CL. tau, the scatter between days, and kappa, by how much the stated sizes are off, are not
known. Two flights say next to nothing about tau, so a degrees-of-freedom formula would be wrong
here; both get a stated prior and are integrated out on a grid, which leaves a mixture of normal
distributions whose tails are as heavy as the number of flights makes them.
Marginal likelihood with flat prior on mu and beta ("restricted"): Harville, J. Amer. Statist. Assoc.
72 (1977) 320-338, eq. 2.9 (from memory); the matrix identity for one random effect a flight is Woodbury's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

PRIOR_KAPPA_LOG_SD = 0.4  # the stated sizes are right within a factor 1.5 (1 sigma): our judgment
TAU_STEPS = np.geomspace(0.08, 8.0, 25)  # times the prior median
KAPPA_STEPS = np.geomspace(0.6, 8.0, 21)  # not below 0.6: equal readings show resolution, not precision


@dataclass(frozen=True)
class MixedFit:
    """Group means with what each stall and each flight contributes to them."""

    mean: np.ndarray  # (G,) mean over the posterior of tau and kappa
    weights: np.ndarray  # (G, N): mean_g = sum_i weights_gi * y_i, at the posterior mean of tau, kappa
    flight_loading: np.ndarray  # (G, F): what a unit day effect of flight f does to mean_g
    tau: float  # root mean square over the posterior [-]
    kappa: float  # root mean square over the posterior [-]
    slope: float  # d y / d r; 0 where it was not fitted
    slope_sd: float
    grid_mean: np.ndarray  # (G, M) of the mixture
    grid_sd: np.ndarray  # (G, M)
    grid_probability: np.ndarray  # (M,)
    grid_tau: np.ndarray  # (M,)
    grid_kappa: np.ndarray  # (M,)
    grid_covariance: np.ndarray  # (M, G, G) of the group means, for contrasts between groups

    def quantiles(self, group: int, probabilities, extra_sd: float = 0.0) -> np.ndarray:
        """Quantiles of one group mean, with an independent normal error of `extra_sd` added."""
        sd = np.hypot(self.grid_sd[group], extra_sd)
        return mixture_quantiles(self.grid_probability, self.grid_mean[group], sd, probabilities)


def mixture_quantiles(p, mean, sd, probabilities) -> np.ndarray:
    """Quantiles of a mixture of normal distributions, by bisection.

    Parameters
    ----------
    p, mean, sd : array (M,) [-]
        Weights (sum 1), means and standard deviations of the parts.
    probabilities : array (k,) [-]

    Returns
    -------
    array (k,) [-]
    """
    probabilities = np.atleast_1d(probabilities).astype(float)
    sd = np.maximum(sd, 1e-300)
    low = np.full(probabilities.shape, np.min(mean - 40 * sd))
    high = np.full(probabilities.shape, np.max(mean + 40 * sd))
    for _ in range(60):  # 80 standard deviations halved to the last digit
        middle = 0.5 * (low + high)
        below = (ndtr((middle[:, None] - mean) / sd) @ p) < probabilities
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return 0.5 * (low + high)


def fit_flights(
    y,
    variance,
    group,
    flight,
    *,
    groups,
    flights,
    flight_variance,
    day_median,
    day_log_sd,
    covariate=None,
    kappa_log_sd=PRIOR_KAPPA_LOG_SD,
    kappa_steps=KAPPA_STEPS,
    informs=None,
) -> MixedFit:
    """Fit the model above.

    Parameters
    ----------
    y : array (N,) [-]
    variance : array (N,) [-]
        Stated variance of each stall's own error.
    group, flight : int array (N,) [-]
        Indices below `groups` and `flights`.
    groups, flights : int [-]
    flight_variance : array (F,) [-]
        Known part of each flight's variance (loading).
    day_median, day_log_sd : float [-]
        Prior of tau: lognormal with this median and this standard deviation of its logarithm.
    covariate : array (N,) or None [-]
        r - r0, where a slope is to be fitted.
    kappa_log_sd : float [-]
        Spread of the prior of ln kappa; infinite says nothing, and makes the intervals Student's t.
    kappa_steps : array (k,) [-]
        Grid of kappa, even in its logarithm.
    informs : bool array (N,) or None [-]
        Stalls that tell tau and kappa; the others get their means with the scatter these show.

    Returns
    -------
    MixedFit [-]

    Valid range: more stalls than groups (plus one where a slope is fitted) if `kappa_log_sd` is infinite.
    Source: as above; with one flight a group and no prior it is the classical t interval.
    """
    # Long, because every step takes all the sums before it: a split would hand ten arrays from part to part.
    told = None
    if informs is not None and informs.any() and not informs.all():
        groups_told, group_told = np.unique(group[informs], return_inverse=True)
        told = fit_flights(
            y[informs], variance[informs], group_told, flight[informs], groups=len(groups_told), flights=flights,
            flight_variance=flight_variance, day_median=day_median, day_log_sd=day_log_sd,
            covariate=None if covariate is None else covariate[informs], kappa_log_sd=kappa_log_sd,
            kappa_steps=kappa_steps,
        )  # fmt: skip
    n = len(y)
    columns = groups + (covariate is not None)
    x_of_flight = np.zeros((flights, columns))  # X' W 1_f
    w = 1.0 / variance
    np.add.at(x_of_flight, (flight, group), w)
    xwx = np.zeros((columns, columns))
    xwx[np.arange(groups), np.arange(groups)] = np.bincount(group, w, groups)
    xwy = np.zeros(columns)
    center = float(np.average(y, weights=w))  # for precision; the model is indifferent to it
    yc = y - center
    xwy[:groups] = np.bincount(group, w * yc, groups)
    if covariate is not None:
        x_of_flight[:, groups] = np.bincount(flight, w * covariate, flights)
        xwx[:groups, groups] = xwx[groups, :groups] = np.bincount(group, w * covariate, groups)
        xwx[groups, groups] = np.sum(w * covariate**2)
        xwy[groups] = np.sum(w * covariate * yc)
    c = np.bincount(flight, w, flights)
    d = np.bincount(flight, w * yc, flights)
    yy = float(np.sum(w * yc * yc))
    log_v = float(np.sum(np.log(variance)))

    tau_grid, kappa_grid = (g.ravel() for g in np.meshgrid(day_median * TAU_STEPS, kappa_steps))
    equations = (flight_variance, x_of_flight, xwx, xwy, c, d, yy)
    h, b, quad, log_det_flights, _ = _normal_equations(tau_grid, kappa_grid, *equations)
    grid_inverse = np.linalg.inv(h)
    means = np.einsum("mpq,mq->pm", grid_inverse, b)
    variances = np.diagonal(grid_inverse, axis1=1, axis2=2).T
    log_det = log_v + 2 * n * np.log(kappa_grid) + log_det_flights + np.linalg.slogdet(h)[1]
    log_p = -0.5 * (log_det + quad - np.einsum("pm,mp->m", means, b))
    # The grids are even in the logarithm, so the prior densities are those of the logarithms.
    log_p -= 0.5 * (np.log(tau_grid / day_median) / day_log_sd) ** 2
    log_p -= 0.5 * (np.log(kappa_grid) / kappa_log_sd) ** 2
    p = np.exp(log_p - log_p.max())
    p = p / p.sum() if told is None else told.grid_probability
    tau2, kappa2 = float(p @ tau_grid**2), float(p @ kappa_grid**2)
    tau, kappa = math.sqrt(tau2), math.sqrt(kappa2)

    h, _, _, _, s = (a[0] for a in _normal_equations(np.array([tau]), np.array([kappa]), *equations))
    inverse = np.linalg.inv(h)
    x = np.zeros((columns, n))
    x[group, np.arange(n)] = 1.0
    if covariate is not None:
        x[groups] = covariate
    weights = inverse @ ((x - (x_of_flight * (s / kappa2)[:, None]).T[:, flight]) * (w / kappa2))
    omega = tau2 + flight_variance
    loading = inverse @ (x_of_flight / (kappa2 + omega * c)[:, None]).T
    slope, slope_sd = 0.0, 0.0
    if covariate is not None:
        slope = float(p @ means[groups])
        slope_sd = math.sqrt(float(p @ (variances[groups] + (means[groups] - slope) ** 2)))
    return MixedFit(
        center + means[:groups] @ p,
        weights[:groups],
        loading[:groups],
        tau,
        kappa,
        slope,
        slope_sd,
        center + means[:groups],
        np.sqrt(variances[:groups]),
        p,
        tau_grid,
        kappa_grid,
        grid_inverse[:, :groups, :groups],
    )


def _normal_equations(tau, kappa, flight_variance, x_of_flight, xwx, xwy, c, d, yy):
    """X'V^-1 X, X'V^-1 y, y'V^-1 y, ln det of the flights' part and s_f, for M pairs of tau and kappa (M,)."""
    k2 = kappa**2
    flights, columns = x_of_flight.shape
    h = np.multiply.outer(1 / k2, xwx)
    b = np.multiply.outer(1 / k2, xwy)
    quad, log_det = yy / k2, np.zeros(len(k2))
    s = np.empty((len(k2), flights)) if len(k2) == 1 else None  # wanted for the one final pair only
    chunk = max(1, 500_000 // (len(k2) + columns**2))  # keeps the arrays small when there are many flights
    for start in range(0, flights, chunk):
        f = slice(start, start + chunk)
        omega = tau[:, None] ** 2 + flight_variance[f]
        s_f = omega * k2[:, None] / (k2[:, None] + omega * c[f])
        t = s_f / k2[:, None] ** 2
        pairs = (x_of_flight[f][:, :, None] * x_of_flight[f][:, None, :]).reshape(-1, columns**2)
        h = h - (t @ pairs).reshape(-1, columns, columns)
        b = b - t @ (x_of_flight[f] * d[f][:, None])
        quad = quad - t @ (d[f] ** 2)
        log_det = log_det + np.sum(np.log1p(omega * c[f] / k2[:, None]), axis=1)
        if s is not None:
            s[:, f] = s_f
    return h, b, quad, log_det, s if s is not None else np.empty((1, 0))
