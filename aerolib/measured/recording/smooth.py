"""Smoothing by parabolas and lowest points of an evenly spaced trace.

Both are what scipy.signal does; loading that package takes longer than reading a recording, so they stand here.
"""

from __future__ import annotations

import numpy as np


def by_parabolas(values: np.ndarray, width: int, rate_step: float | None = None) -> np.ndarray:
    """Middle of the least-squares parabola through `width` neighbors; up to each end, the outermost parabola.

    Parameters
    ----------
    values : array (n,) [-]
        In any unit, at even steps; n at least `width`.
    width : int [-]
        Odd.
    rate_step : float or None [s]
        The step, where the slope of the parabola is wanted in place of its value.

    Returns
    -------
    array (n,) [-]
        In the unit of `values`, or that per second.

    Source: Savitzky and Golay, Analytical Chemistry 36 (1964), from memory.
    """
    half = width // 2
    x = np.arange(-half, half + 1.0)
    powers = np.vander(x, 3, increasing=True)
    fit = np.linalg.pinv(powers)
    if rate_step is not None:
        powers, fit = np.column_stack((np.ones(width), 2.0 * x)) / rate_step, fit[1:]
    at = powers @ fit  # each place of one stretch, from its readings
    middle = np.convolve(values, at[half][::-1], mode="valid")
    return np.concatenate((at[:half] @ values[:width], middle, at[half + 1 :] @ values[-width:]))


def lowest_places(values: np.ndarray, prominence: float, apart: int) -> list[int]:
    """Places lower than both sides, the lowest within `apart` steps, and `prominence` below the way to a lower one.

    Parameters
    ----------
    values : array (n,) [-]
        In any unit; the ends count as no side: beyond them nothing is known.
    prominence : float [-]
        In the unit of `values`.
    apart : int [-]
        Steps.

    Returns
    -------
    list of int [-]
        Rising.
    """
    first = np.flatnonzero(np.r_[True, np.diff(values) != 0.0])  # of each level stretch
    last, level = np.r_[first[1:], len(values)] - 1, values[first]
    inner = np.flatnonzero((level[1:-1] < level[:-2]) & (level[1:-1] < level[2:])) + 1
    places = (first[inner] + last[inner]) // 2
    kept = np.ones(len(places), bool)
    for k in np.argsort(-values[places])[::-1]:  # the lowest first
        if kept[k]:
            low, high = np.searchsorted(places, (places[k] - apart + 1, places[k] + apart))
            kept[low:high] = False
            kept[k] = True
    return [int(p) for p in places[kept] if _rise(values[p::-1]) >= prominence and _rise(values[p:]) >= prominence]


def _rise(values: np.ndarray) -> float:
    """By how much a trace rises above its first value before it falls below it."""
    reach = 64
    while True:
        lower = np.flatnonzero(values[:reach] < values[0])
        if len(lower) or reach >= len(values):
            return float(values[: lower[0] if len(lower) else reach].max() - values[0])
        reach *= 2
