"""What shows a break in a recording, and how far it turned."""

from __future__ import annotations

import math

import numpy as np

from aerolib.measured.recording.channels import Channel, Recording

G_DROP = 0.10  # below the smaller of 1 and the highest of the second before [-]
NOSE_DROP, NOSE_WITHIN = math.radians(4.0), 2.0  # [rad], [s]
SINK_MORE = 1.5  # [m/s] more than before the stall
AROUND = (-4.0, 3.0)  # [s] from the lowest speed: where a break is looked for


def line(c: Channel, start: float, end: float) -> tuple[float, float]:
    """Mean [SI] and slope [SI per s] of a channel from `start` to `end` [s]; NaN with fewer than two readings."""
    t, v = c.between(start, end)
    if len(t) < 2 or t[-1] - t[0] <= 0:
        return math.nan, math.nan
    x = t - t.mean()
    return float(v.mean()), float(x @ v / (x @ x))


def turned(recording: Recording, start: float, end: float) -> float | None:
    """How far nose or track turned from `start` to `end` [s], in rad, right positive; None where not recorded.

    Parameters
    ----------
    recording : Recording [rad]
    start, end : float [s]

    Returns
    -------
    float or None [rad]
    """
    for name in ("heading", "track"):
        c = recording.get(name)
        if c is not None:
            way = np.unwrap(c.between(start, end)[1])
            if len(way) >= 2:
                # Thirds against each other: a single odd reading of a track at low speed is no turn.
                third = max(1, len(way) // 3)
                share = (len(way) - third) / max(len(way) - 1, 1)
                return float((np.mean(way[-third:]) - np.mean(way[:third])) / share)
    return None


def break_signs(recording: Recording, time: float) -> tuple[str, ...]:
    """What showed the break around the lowest speed.

    The load factor falls within a second by 0.10 below the smaller of 1 and its highest value in it; the nose falls by
    4 deg within 2 s; the airplane sinks by 1.5 m/s more than before; a film was transcribed with the word.

    Parameters
    ----------
    recording : Recording [SI]
    time : float [s]
        Of the lowest speed.

    Returns
    -------
    tuple of str [-]
    """
    signs = []
    start, end = time + AROUND[0], time + AROUND[1]
    if any(word == "break" and start - 1.0 < when < end + 1.0 for when, word in recording.events):
        signs.append("noted")
    for name, sign, drop in (("normal_g", "load factor fell", _g_drop), ("pitch", "nose fell", _nose_drop)):
        c = recording.get(name)
        if c is not None and c.interval <= 1.0 and drop(c, start, end):
            signs.append(sign)
    c = recording.get("altitude")
    if c is not None:
        reach = max(3.0, 2.0 * c.interval)
        before, after = (line(c, *ends)[1] for ends in ((time - reach - 1.0, time), (time + 0.5, time + 0.5 + reach)))
        # Whole tens of feet make a slope of their own: it does not count.
        dust = 2.0 * c.step / math.sqrt(12.0) / reach
        if math.isfinite(before) and math.isfinite(after) and before - after > SINK_MORE + dust:
            signs.append("sank")
    return tuple(signs)


def _even(c: Channel, start: float, end: float, within: float) -> tuple[np.ndarray, int]:
    """A piece of a channel at even steps of 0.1 s or its own, smoothed over 0.3 s; how many steps `within` [s] is.

    Empty where too little was recorded.
    """
    step = max(0.1, c.interval)
    t = np.arange(start, end, step)
    times, values = c.between(start - step, end + step)
    if len(values) < 4 or times[0] > start + 1.0:
        return np.zeros(0), 1
    wide = max(1, round(0.3 / step))
    v = np.pad(np.interp(t, times, values), wide // 2, mode="edge")
    return np.convolve(v, np.ones(wide) / wide, "valid")[: len(t)], max(1, round(within / (t[1] - t[0])))


def _g_drop(c: Channel, start: float, end: float) -> bool:
    n, wide = _even(c, start, end, 1.0)
    return any(np.min(n[k : k + wide + 1]) < min(1.0, np.max(n[max(0, k - wide) : k + 1])) - G_DROP
               for k in range(len(n) - 1))  # fmt: skip


def _nose_drop(c: Channel, start: float, end: float) -> bool:
    pitch, wide = _even(c, start, end + NOSE_WITHIN, NOSE_WITHIN)
    return bool(np.any(pitch[:-wide] - pitch[wide:] > NOSE_DROP))
