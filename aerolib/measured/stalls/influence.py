"""What each stall does to the answer: the fit without it, and whether it stands apart from its flight."""

from __future__ import annotations

import math

import numpy as np

APART = 3.0  # standard deviations of its own from its flight, before a stall is named: our judgement
ENOUGH = 3  # stalls of one group on one flight, before their median judges one of them: our judgement
MAD_TO_SD = 1.4826  # median of the deviations to a standard deviation, normal distribution [-]


def without_each_stall(y, variance, group, flight, *, groups, flights, flight_variance, tau, kappa, covariate=None):
    """What leaving out each stall in turn does to the group means, tau and kappa held.

    mean_g(-i) - mean_g = -(H^-1 X' V^-1)_gi (P y)_i / P_ii,  P = V^-1 - V^-1 X H^-1 X' V^-1,  H = X' V^-1 X

    Parameters
    ----------
    y, variance : array (N,) [-]
        As `fit_flights` took them.
    group, flight : int array (N,) [-]
    groups, flights : int [-]
    flight_variance : array (F,) [-]
    tau, kappa : float [-]
        As the fit found them.
    covariate : array (N,) or None [-]

    Returns
    -------
    array (G, N) [-]
        NaN where the group would have no stall left.

    Source: deletion in generalised least squares: a stall left out is one with an unknown of its own; Cook and
    Weisberg, Residuals and Influence in Regression, 1982, ch. 2 (from memory).
    """
    n = len(y)
    x = np.zeros((n, groups + (covariate is not None)))
    x[np.arange(n), group] = 1.0
    if covariate is not None:
        x[:, groups] = covariate
    y = y - np.mean(y)
    w = 1.0 / (kappa**2 * variance)
    omega = tau**2 + flight_variance
    s = omega / (1.0 + omega * np.bincount(flight, w, flights))

    def inverse_v(columns):  # V^-1 times columns: W less one term of rank one a flight
        sums = np.column_stack([np.bincount(flight, w * c, flights) for c in columns.T])
        return w[:, None] * (columns - (s[:, None] * sums)[flight])

    vx, vy = inverse_v(x), inverse_v(y[:, None])[:, 0]
    a = vx @ np.linalg.inv(x.T @ vx)
    own = w - s[flight] * w**2 - np.einsum("ij,ij->i", a, vx)
    residual = vy - a @ (x.T @ vy)
    alone = own <= 1e-9 * w
    step = np.where(alone, np.nan, residual / np.where(alone, 1.0, own))
    return -(a[:, :groups] * step[:, None]).T


def stand_apart(y, variance, cell, counts) -> list[tuple[int, float]]:
    """Stalls far from the others of their flight, farthest first.

    |y_i - median of its cell| > 3 u_i, u_i widened where all of them scatter more than was stated

    Parameters
    ----------
    y, variance : array (N,) [-]
    cell : int array (N,) [-]
        One for each group on each flight.
    counts : bool array (N,) [-]
        Stalls that are looked at.

    Returns
    -------
    list of (int, float) [-]
        Position of the stall, and by how many of its standard deviations it is off.

    Valid range: cells with three stalls or more; others are passed over.
    """
    rows = np.flatnonzero(counts)
    rows = rows[np.lexsort((y[rows], cell[rows]))]
    _, first, index, number = np.unique(cell[rows], return_index=True, return_inverse=True, return_counts=True)
    if not np.any(number >= ENOUGH):
        return []
    ordered = y[rows]
    median = 0.5 * (ordered[first + (number - 1) // 2] + ordered[first + number // 2])
    off = (ordered - median[index]) / np.sqrt(variance[rows])
    judged = number[index] >= ENOUGH
    usual = max(1.0, MAD_TO_SD * float(np.median(np.abs(off[judged]))))
    far = np.flatnonzero(judged & (np.abs(off) > APART * usual))
    far = far[np.argsort(-np.abs(off[far]), kind="stable")]
    return [(int(rows[k]), float(off[k] / usual)) for k in far if math.isfinite(off[k])]
