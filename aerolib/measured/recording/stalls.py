"""`find_stalls`: stalls in a recording, from what a stall is, and not from how a trace looks.

The airplane is slowed at about 1 g, wings level, to a lowest speed; then it lets go (the load factor falls, the nose
falls, or it begins to sink) and regains its speed by losing height. A landing loses no height afterwards, steady
flight has no lowest speed, a turn has bank or turns, a spin goes on turning: each is named, and none is a stall point.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from aerolib.measured.recording.channels import Channel, Corrections, Grid, Recording, corrected, on_grid
from aerolib.measured.recording.results import FoundStall, StallsFound
from aerolib.measured.recording.signs import break_signs, line, turned
from aerolib.measured.stalls.each import LAG_SHARE
from aerolib.units import KNOT

SLOWEST = 8.0  # [m/s] below this nothing flies that this is for: taxiing
PROMINENCE = 1.3  # [m/s] the least by which speed falls and is regained
REGAINED, REGAINED_WITHIN = 1.05, 20.0  # of the lowest speed; [s]
ENTRY = 1.1  # times the speed at the stall: where an entry begins
LONGEST_ENTRY = 60.0  # [s]
FASTER = 1.15  # times the slowest break: an approach without one that stayed above was no stall
TOGETHER = 8.0  # [s] two lowest speeds this near are one stall: the lower counts
NEAR_LOWEST = 0.25  # [m/s] the stall is the first moment this near its lowest
FASTEST = 2.6  # [m/s2] about 5 kt/s: a zoom
LEVEL, HELD = math.radians(10.0), math.radians(3.0)  # bank; turn per second
PULLED = 1.12  # mean load factor of an entry: more is a pull or a turn
NO_HEIGHT_LOST = 4.0  # [m]
SMOOTHED, BEFORE_LOWEST = 2.0, 5.0  # [s] of a recorded load factor: how smooth, from how long before the lowest speed


@dataclass(frozen=True)
class _Air:
    """What measuring one stall needs, made once."""

    recording: Recording  # corrected
    speed: Channel
    grid: Grid
    cas: np.ndarray  # (n,) on the grid
    to_cas: Callable[[np.ndarray], np.ndarray]
    has_airspeed: bool
    corrections: Corrections


def find_stalls(recording, corrections=None, to_cas=None) -> StallsFound:
    """Every approach to the stall of a recording, measured; landings, turns and spins refused with the reason.

    entry rate = (1.1 V - V) / (t(V) - t(1.1 V)) as indicated;   V_min = min of a cubic + var(slope) / (2 d2V/dt2);
    n = V_min^2 max(n(t) / V(t)^2) in CAS: the load factor of highest lift

    Parameters
    ----------
    recording : Recording [SI]
        With `ias`, or `ground_speed` and `track` of a receiver; the more channels beside them, the more is told apart.
    corrections : Corrections or None [SI]
        Lags, mounting angle and offset; None: the defaults.
    to_cas : function or None [m/s to m/s]
        Calibrated airspeed of an array of readings; None: the reading.

    Returns
    -------
    StallsFound [SI]

    Raises
    ------
    ValueError
        Neither an airspeed nor a ground speed, or fewer than eight readings of it.

    Valid range: stalls entered at up to 5 kt/s, at least 2.5 kt deep, readings at least every 3 s. The thresholds are
    judgments of ours, no source; those of a break are the ones the simulated flights were written down with.
    """
    air = _air(recording, corrections, to_cas)
    recording, grid, notes = air.recording, air.grid, list(recording.notes)
    if grid.gaps:
        a, b = max(grid.gaps, key=lambda g: g[1] - g[0])
        notes.append(f"gaps in the speed: {len(grid.gaps)}, the longest {b - a:.0f} s, at {recording.when(a)}")
    items, before = [], -math.inf
    for k in _lowest(grid):
        one = _one(air, k, before)
        if one is not None:
            items.append(one)
            before = one.time
    items = _slowed_only(items)
    if not any(s.refused is None for s in items):
        notes.append(
            "no stall was found: the speed never fell to a lowest value and came back after a break"
            + (f" ({len(items)} approaches were refused, see why)" if items else "")
        )
    return StallsFound(recording.name, tuple(items), air.has_airspeed, tuple(notes))


def _air(recording: Recording, corrections: Corrections | None, to_cas) -> _Air:
    corrections = corrections or Corrections()
    r = corrected(recording, corrections)
    ias, speed = r.get("ias"), r.speed
    if ias is not None and len(ias.time) < 8:
        speed = r.get("ground_speed") or ias
    has_airspeed, grid = speed is ias, on_grid(speed)
    to_cas = to_cas if has_airspeed and to_cas is not None else np.array
    return _Air(r, speed, grid, np.asarray(to_cas(grid.speed), dtype=float), to_cas, has_airspeed, corrections)


def _slowed_only(items: list[FoundStall]) -> list[FoundStall]:
    """Refuse what showed no break and stayed well above the slowest that did: a pattern flown, not a stall."""
    slowest = min((s.ias for s in items if s.signs and s.refused is None), default=math.inf)
    reason = f"no sign of a break, and more than {FASTER:g} times as fast as the slowest that had one: only slowed down"
    return [
        replace(s, refused=reason) if s.refused is None and not s.signs and s.ias > FASTER * slowest else s
        for s in items
    ]


def measure_at(recording, time, corrections=None, to_cas=None) -> FoundStall:
    """A stall where the reader puts it: the reading at that instant, as the speed at the break.

    Parameters
    ----------
    recording : Recording [SI]
    time : float [s]
    corrections, to_cas : as for `find_stalls` [SI]

    Returns
    -------
    FoundStall [SI]

    Raises
    ------
    ValueError
        The instant is outside the recording, or in a gap.
    """
    air = _air(recording, corrections, to_cas)
    times = air.grid.time
    k = int(np.searchsorted(times, time))
    if not 0 < k < len(times) or any(a < times[k] < b for a, b in air.grid.gaps):
        raise ValueError(f"at {time:.1f} s nothing was recorded; move the stall to where the trace is drawn")
    return _measure(air, time, "break")


def _lowest(grid: Grid) -> list[int]:
    """Places of the grid where the speed was lowest between a loss and a gain."""
    from scipy.signal import find_peaks

    # Beyond the ends nothing is known: a recording that ends at the stall has no recovery, and find_peaks sees none.
    found, _ = find_peaks(-grid.speed, prominence=PROMINENCE, distance=max(1, round(TOGETHER / grid.step)))
    return [int(k) for k in found if grid.speed[k] > SLOWEST]


def _one(air: _Air, k: int, before: float) -> FoundStall | None:
    """One approach measured and judged; None where the speed was never as high as an entry, or never regained."""
    grid = air.grid
    later = slice(k, int(np.searchsorted(grid.time, grid.time[k] + REGAINED_WITHIN)))
    if not (grid.speed[later] >= REGAINED * grid.speed[k]).any():
        return None
    found = _measure(air, grid.time[k], "minimum")
    return replace(found, refused=_refusal(air, found, before))


def _refusal(air: _Air, s: FoundStall, before: float) -> str | None:
    """Why this is no stall point, in the order in which it matters."""
    r, t = air.recording, s.time
    spun = turned(r, t, t + 8.0)
    if spun is not None and abs(spun) > math.radians(180.0):
        return f"a spin or spiral: turned by {math.degrees(abs(spun)):.0f} deg within 8 s of the stall"
    if any(a < t + 2.0 and b > t - 4.0 for a, b in air.grid.gaps):
        return "a gap in the recording at the stall"
    if math.isfinite(s.height_lost) and s.height_lost < NO_HEIGHT_LOST:
        return "no height was lost while the speed came back: a landing, or slow flight ended with power"
    if not math.isfinite(s.entry_rate):
        if math.isfinite(before) and t - before < LONGEST_ENTRY:
            return f"entered from below {ENTRY} times the stall speed, {t - before:.0f} s after the one before"
        return "no approach was recorded: the speed came down from less than 1.05 times the lowest"
    turning = turned(r, t - 5.0, t - 0.5)
    if math.isfinite(s.bank) and abs(s.bank) > LEVEL:
        return f"a turn: {math.degrees(abs(s.bank)):.0f} deg of bank in the entry"
    if turning is not None and abs(turning) / 4.5 > HELD:
        return f"a turn: the heading changed by {math.degrees(abs(turning)) / 4.5:.0f} deg a second in the entry"
    up = r.get("normal_g")
    if up is not None:
        values = up.between(t - 5.0, t - 1.0)[1]
        if len(values) and float(np.mean(values)) > PULLED:
            return f"pulled: a load factor of {np.mean(values):.2f} in the entry, not about 1"
    if s.entry_rate > FASTEST:
        return f"a zoom: {s.entry_rate / KNOT:.0f} kt lost a second"
    return None


def _measure(air: _Air, t0: float, kind: str) -> FoundStall:
    r = air.recording
    t, v, u, lowest, notes = _speed_at(air.speed, t0, kind)
    signs = break_signs(r, t)
    start, rate, partly = _entry(air, t)
    notes += partly
    events = {word: when for when, word in r.events if t - LONGEST_ENTRY < when < t + 5.0}
    if not signs:
        notes.append("no sign of a break: recovered early, or only slowed down")
    ended = _ending(r, signs, events)
    if ended == "break" and signs == ("sank",):
        notes.append("only height was recorded: a mush (no nose drop) looks the same as a break")
    altitude, lost, sink = _heights(r, t)
    bank = r.get("bank")
    banked = float(np.mean(x)) if bank is not None and len(x := bank.between(t - 5.0, t - 0.5)[1]) else math.nan
    if bank is not None and len(x := bank.between(t, t + 4.0)[1]) and np.max(np.abs(x - banked)) > math.radians(15.0):
        notes.append(f"a wing dropped by {math.degrees(np.max(np.abs(x - banked))):.0f} deg")
    if math.isfinite(rate) and rate > 2.0 * KNOT:
        notes.append("entered faster than 2 kt/s")
    late = LAG_SHARE[kind] * (rate if math.isfinite(rate) else 0.0) * air.corrections.pitot_lag
    n, u_n = _load_factor(air, t, v - late)
    if air.has_airspeed and math.isfinite(rate):  # how late the needle is, where its fall has almost ended
        u = math.hypot(u, LAG_SHARE[kind] * rate * air.corrections.pitot_lag_uncertainty)
    warning, buffet = (
        float(np.interp(events[word], air.speed.time, air.speed.value)) if word in events else math.nan
        for word in ("warning", "buffet")
    )
    return FoundStall(
        t, v, u, lowest, kind, ended, entry_rate=rate, entry_start=start, sink_rate=sink, height_lost=lost,
        altitude=altitude, bank=banked, load_factor=n, load_factor_uncertainty=u_n, warning_ias=warning,
        buffet_ias=buffet, ground_velocity=_ground_velocity(r, t), signs=signs, notes=tuple(notes),
    )  # fmt: skip


def _ending(r: Recording, signs, events) -> str:
    """How it ended, as a proposal: what only sank is a mush, where a nose drop would have been recorded."""
    felt = r.get("normal_g") is not None or r.get("pitch") is not None
    if signs == ("sank",) and (felt or "mush" in events or "stop" in events):
        return "stop" if "stop" in events else "mush"
    if signs:
        return "break"
    would_show = any(r.get(name) is not None for name in ("normal_g", "pitch", "altitude"))
    return next((word for word in ("stop", "mush") if word in events), "early" if would_show else "unknown")


def _speed_at(c, t0: float, kind: str):
    """Instant, speed, standard uncertainty, lowest reading and notes: a cubic through the readings around `t0`.

    A minimum of noise is too low. With slope b at the lowest point of the fit and curvature c = d2V/dt2 there, the
    fitted minimum is low by var(b) / (2 c) on average: that is added.
    """
    notes: list[str] = []
    for half in (1.0, 1.5, 2.5, 4.0):
        time, value = c.between(t0 - half, t0 + half)
        if len(time) >= 9:
            break
    lowest = float(np.min(c.between(t0 - max(half, 2.0), t0 + max(half, 2.0))[1], initial=math.inf))
    if len(time) < 5:
        notes.append(f"{len(time)} readings within {half:g} s of the stall")
        lowest = lowest if math.isfinite(lowest) else float(np.interp(t0, c.time, c.value))
        return t0, lowest, max(1.0, c.step), lowest, notes
    degree = 3 if len(time) > 6 else 2
    x = (time - t0) / half
    design = np.vander(x, degree + 1)
    p, *_ = np.linalg.lstsq(design, value, rcond=None)
    spread = float(np.sum((value - design @ p) ** 2)) / max(len(x) - degree - 1, 1)
    noise = max(spread, c.step**2 / 12.0)
    covariance = noise * np.linalg.pinv(design.T @ design)
    at = 0.0
    if kind == "minimum":
        roots = [z.real for z in np.roots(np.polyder(p)) if abs(z.imag) < 1e-9 and abs(z.real) < 0.7
                 and np.polyval(np.polyder(p, 2), z.real) > 0]  # fmt: skip
        at = min(roots, key=abs, default=0.0)
    here = np.vander([at], degree + 1)[0]
    slope = np.append(np.polyder(np.ones(degree + 1)) * np.vander([at], degree)[0], 0.0)
    v, bend = float(here @ p), float(np.polyval(np.polyder(p, 2), at))
    if kind == "minimum" and bend > 0:
        v += min(float(slope @ covariance @ slope) / (2.0 * bend), 0.5)
    # Neighbouring readings in whole units are wrong by the same amount: averaging them buys nothing.
    u = math.hypot(math.sqrt(float(here @ covariance @ here)), c.step / math.sqrt(12.0))
    return t0 + half * at, v, u, lowest, notes


def _entry(air: _Air, t: float):
    """When 1.1 times the stall speed was passed, the mean rate from there as indicated, and notes."""
    grid = air.grid
    wide = 2 * round(0.5 / grid.step) + 1  # a mean over a second: flicker passes a mark too early
    shown = np.convolve(np.pad(grid.speed, wide // 2, mode="edge"), np.ones(wide) / wide, "valid")
    k = int(np.clip(np.searchsorted(grid.time, t), 1, len(shown) - 1))
    a = max(int(np.searchsorted(grid.time, t - LONGEST_ENTRY)), 0)
    holes = [b for _, b in grid.gaps if grid.time[a] < b <= t]
    if holes:
        a = int(np.searchsorted(grid.time, max(holes)))
    if k - a < 3:
        return math.nan, math.nan, []
    part = shown[a : k + 1]
    low = float(np.min(part[-max(2, round(1.0 / grid.step)) :]))
    up = np.flatnonzero(part > REGAINED * low)
    if not len(up):
        return math.nan, math.nan, []
    s = int(up[-1]) + int(np.argmax(part[up[-1] :] <= low + NEAR_LOWEST))  # the stall
    at_stall = float(part[s])
    high = np.flatnonzero(part[:s] >= ENTRY * low)
    # The entry goes back no further than the last time the speed was that high, and never over a rise.
    b = int(high[-1]) if len(high) else int(np.argmax(part[: max(s, 1)]))
    lost, took = float(part[b]) - at_stall, (s - b) * grid.step
    if lost <= 0.04 * at_stall or took <= 0:
        return math.nan, math.nan, []
    notes = [] if len(high) else [f"the recorded entry begins at {part[b] / at_stall:.2f} times the stall speed"]
    return float(grid.time[a + b]), lost / took, notes


def _heights(r: Recording, t: float):
    """Altitude at the stall [m], height lost afterwards [m], sink rate at the stall [m/s]."""
    c = r.get("altitude")
    if c is None:
        return math.nan, math.nan, math.nan
    times, values = c.between(t - 0.5 - c.interval, t + REGAINED_WITHIN)
    if len(values) < 2 or times[0] > t + 2.0:
        return math.nan, math.nan, math.nan
    at = float(np.interp(t, c.time, c.value))
    # Until the height was first regained by a tenth of what was lost: the climb back is another matter.
    low = np.minimum.accumulate(values)
    back = np.flatnonzero(values > low + 0.3 * np.maximum(at - low, 30.0))
    end = int(back[0]) if len(back) else len(values)
    reach = 2.0 + c.interval
    # Tens of feet over seconds make no sink rate.
    sink = -line(c, t - reach, t + 0.3)[1] if c.step / reach < 0.5 else math.nan
    return at, at - float(np.min(values[: max(end, 1)])), sink


def _load_factor(air: _Air, t: float, lowest: float):
    """V^2 max(n / V^2) up to the lowest speed V as indicated [m/s], n along the upward axis; its standard uncertainty.

    The highest lift comes before the lowest speed: n at the lowest speed is some percent too small for CLmax. n and V
    are smoothed by parabolas over two seconds first, because the peak of noise is too high.
    """
    from scipy.signal import savgol_filter

    c, k = air.recording.get("normal_g"), air.corrections
    if c is None or len(c.time) < 5 or not air.has_airspeed:
        return math.nan, math.nan
    step = max(0.1, c.interval)
    wide = max(5, round(SMOOTHED / step) | 1)
    at = np.arange(t - BEFORE_LOWEST - SMOOTHED / 2, t + SMOOTHED / 2 + step / 2, step)
    times, values = c.between(at[0] - step, at[-1] + step)
    if len(values) < wide or len(at) < wide or times[0] > t - 2.0:
        return math.nan, math.nan
    n = np.interp(at, times, values)
    smooth = savgol_filter(n, wide, 2)
    cas = savgol_filter(np.interp(at, air.grid.time, air.cas), wide, 2)
    cas_lowest = float(air.to_cas(np.array([lowest]))[0])
    inside = at <= t + step / 2
    factor = float(np.max((smooth / np.maximum(cas, SLOWEST) ** 2)[inside])) * cas_lowest**2
    scatter = float(np.std(n - smooth)) * math.sqrt(2.25 / wide)  # of the middle of a smoothing parabola
    # A tilt of the sensor takes sin(mu) of the forward axis, about sin(pitch) of g, into the upward one.
    tilt = k.mounting_angle_uncertainty * math.sin(math.radians(15.0))
    return factor, math.sqrt(scatter**2 + tilt**2 + k.normal_offset_uncertainty**2)


def _ground_velocity(r: Recording, t: float) -> tuple[float, float]:
    """East and north over the ground at an instant [m/s], by lines through two seconds either side."""
    speed, track = r.get("ground_speed"), r.get("track")
    if speed is None or track is None:
        return math.nan, math.nan
    half = max(1.0, 2.0 * speed.interval)
    times, v = speed.between(t - half, t + half)
    if len(v) < 2:
        return math.nan, math.nan
    angle = np.interp(times, track.time, np.unwrap(track.value))
    degree = 2 if len(v) > 4 else 1
    east, north = (np.polyval(np.polyfit(times - t, v * f(angle), degree), 0.0) for f in (np.sin, np.cos))
    return float(east), float(north)
