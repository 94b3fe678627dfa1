"""The reduction once more by drawing: every source sampled, CL formed from the draws (JCGM 101:2008).

The linear route takes what one standard deviation of a source does to ln CL and adds squares. Here the sources
themselves are drawn and CL is formed from them,

    CL = CL0 (1 + lift) / ((1 + speed)**2 (1 + area))

with the same sizes of the sources, weights over stalls and posterior of the scatter: it checks the linearising
only. Where errors are large the two differ, because speed enters squared and below.
"""

from __future__ import annotations

import math

import numpy as np

CHUNK = 25_000  # stalls times draws at a time: larger arrays cost three times as much, for memory fetched anew


def coverage_interval(samples, probability=0.95, shortest=False):
    """Interval that holds a share of the draws.

    The probabilistically symmetric one, or the shortest (JCGM 101:2008, 7.7)

    Parameters
    ----------
    samples : array (M,) or (M, G) [any]
    probability : float [-]
    shortest : bool [-]

    Returns
    -------
    low, high : float or array (G,) [as the samples]

    Source: JCGM 101:2008, 7.7 (clause from memory).
    """
    ordered = np.sort(samples, axis=0)
    m = len(ordered)
    q = int(math.floor(probability * m + 0.5))
    if not shortest:
        r = (m - q) // 2
        return ordered[r], ordered[r + q]
    widths = ordered[q:] - ordered[: m - q]
    best = np.argmin(widths, axis=0)
    if ordered.ndim == 1:
        return ordered[best], ordered[best + q]
    columns = np.arange(ordered.shape[1])
    return ordered[best, columns], ordered[best + q, columns]


def draw_groups(log_cl, parts, fit, draws: int, rng, progress=None):
    """Draws of ln CL of every fitted group, and of what its stall speed shares with it.

    Parameters
    ----------
    log_cl : array (N,) [-]
    parts : Parts [-]
        The sources, as rows over the stalls.
    fit : MixedFit [-]
    draws : int [-]
    rng : numpy Generator [-]
    progress : function (draws done) or None [-]
        Called after every chunk; an exception it raises stops the work.

    Returns
    -------
    log_cl : array (draws, G) [-]
    log_common : array (draws, G) [-]
        ln of area and thrust factors that the 1-g stall speed of a group shares with its CLmax.

    Valid range: errors small enough that no speed, lift or area drawn becomes negative (draws beyond are clipped).
    Source: JCGM 101:2008, clause 7.
    """
    drawer = _Drawer(parts, fit)
    out = np.empty((draws, len(fit.mean)))
    common = np.empty_like(out)
    step = max(1, CHUNK // len(log_cl))
    for start in range(0, draws, step):
        m = slice(start, min(start + step, draws))
        out[m], common[m] = drawer.chunk(log_cl, m.stop - m.start, rng)
        if progress is not None:
            progress(m.stop)
    return out, common


class _Drawer:
    """Sources sorted once: which vary by stall, which are one number for many stalls."""

    def __init__(self, parts, fit):
        self.fit, self.flight_variance = fit, parts.flight_variance
        rows, n = parts.shared_rows, parts.shared_rows.shape[1]
        self.sources = len(rows)
        self.own, self.mine, self.rows = {}, {}, {}
        for via in ("lift", "speed", "area"):
            own = [row for row, v in zip(parts.own_squares, parts.own_via) if v == via]
            self.own[via] = np.sqrt(np.sum(own, axis=0)) if own else np.zeros(n)
            mine = np.array([v == via for v in parts.shared_via], bool)
            self.mine[via], self.rows[via] = mine, rows[mine]
        mean = np.array([row[row != 0.0].mean() for row in rows])
        self.thrust = np.where([s.name == "thrust" for s in parts.shared], mean, 0.0)
        self.one_area = sum(s.name == "wing area" for s in parts.shared) <= 1
        self.area = self.rows["area"] @ fit.weights.T  # (wings, G): of the wing each group was flown with
        p = np.cumsum(fit.grid_probability)
        self.cumulative = p / p[-1]

    def chunk(self, log_cl, m, rng):
        """m draws of ln CL of every group (m, G), and of ln of what its stall speed shares with it (m, G)."""
        fit = self.fit
        node = np.minimum(np.searchsorted(self.cumulative, rng.random(m)), len(self.cumulative) - 1)
        kappa = fit.grid_kappa[node][:, None]
        z = rng.standard_normal((m, self.sources))
        of = {via: z[:, mine] for via, mine in self.mine.items()}
        lift = of["lift"] @ self.rows["lift"]
        lift += rng.standard_normal(lift.shape) * (kappa * self.own["lift"])
        speed = of["speed"] @ self.rows["speed"]
        speed += rng.standard_normal(lift.shape) * (kappa * self.own["speed"])
        area = of["area"] @ (self.rows["area"][:, :1] if self.one_area else self.rows["area"])
        # In place from here on: these arrays are most of the memory and most of the time.
        np.maximum(lift, -0.9, out=lift)
        lift += 1.0
        speed *= -0.5  # one part in ln CL is minus half a part in speed
        np.maximum(speed, -0.9, out=speed)
        speed += 1.0
        np.square(speed, out=speed)
        speed *= np.maximum(1.0 - area, 0.1)
        lift /= speed
        np.log(lift, out=lift)
        lift += log_cl
        day = rng.standard_normal((m, fit.flight_loading.shape[1]))
        day *= np.sqrt(fit.grid_tau[node][:, None] ** 2 + self.flight_variance)
        out = lift @ fit.weights.T + day @ fit.flight_loading.T
        out += fit.grid_mean[:, node].T - fit.mean
        held_up, area = 1.0 + z @ self.thrust, 1.0 - of["area"] @ self.area
        common = np.log(np.maximum(held_up, 0.1)[:, None] / np.maximum(area, 0.1))
        return out, common
