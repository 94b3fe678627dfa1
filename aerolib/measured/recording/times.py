"""Times of a recording put in order: midnight, rows out of order, several rows with one stamp."""

from __future__ import annotations

import numpy as np

DAY = 86400.0  # s


def in_order(time, of_day=False):
    """Rising times, and the order of the rows they belong to.

    A clock that falls by more than half a day passed midnight. Rows that share a stamp are spread up to the next.

    Parameters
    ----------
    time : array (n,) [s]
        As recorded; NaN where it could not be read.
    of_day : bool [-]
        Times are of a clock that begins again at midnight.

    Returns
    -------
    time : array (m,) [s]
        Rising; m is n less those not read.
    order : int array (m,) [-]
        Row of each.
    notes : list of str [-]
        What had to be mended.
    """
    time = np.asarray(time, dtype=float)
    notes: list[str] = []
    order = np.flatnonzero(np.isfinite(time))
    if len(order) < len(time):
        notes.append(f"{len(time) - len(order)} rows have no time that can be read; they were left out")
    t = time[order]
    if not len(t):
        return t, order, notes
    if of_day:
        steps = np.diff(t)
        days = np.cumsum((steps < -0.5 * DAY).astype(int) - (steps > 0.5 * DAY))
        if days.any():
            t = t + DAY * np.concatenate([[0], days])
            t -= DAY * min(0, int(days.min()))  # a straggler from before midnight came first
            notes.append("the clock passed midnight")
    back = np.diff(t) < 0.0
    if back.any():
        sequence = np.argsort(t, kind="stable")
        t, order = t[sequence], order[sequence]
        notes.append(f"{int(back.sum())} rows were out of order; the rows were sorted by time")
    if not np.all(np.diff(t) > 0.0):
        stamps, start, count = np.unique(t, return_index=True, return_counts=True)
        usual = float(np.median(np.diff(stamps))) if len(stamps) > 1 else 1.0
        room = np.minimum(np.append(np.diff(stamps), usual), usual)
        within = np.arange(len(t)) - np.repeat(start, count)
        t = t + within * np.repeat(room / count, count)
        notes.append(f"{len(t) - len(stamps)} rows share their time with another; they were spread evenly")
    return t, order, notes
