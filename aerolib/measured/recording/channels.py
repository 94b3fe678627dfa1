"""A recording as arrays: channels with their own times, corrected for lag, clock and mounting, and laid on one grid.

Every channel keeps the instants it was taken at, so that nothing is interpolated before something is measured on it:
a needle read off a film once a second stands beside a receiver at 5 Hz and an accelerometer at 50 Hz.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

CHANNELS = {  # name: unit, what it is
    "ias": ("m/s", "airspeed as indicated"),
    "altitude": ("m", "pressure altitude, or a receiver's height"),
    "normal_g": ("g", "acceleration along the sensor's upward axis, 1 at rest"),
    "forward_g": ("g", "acceleration along the sensor's forward axis, 0 at rest"),
    "pitch": ("rad", "nose up is positive"),
    "bank": ("rad", "right wing down is positive"),
    "heading": ("rad", "of the nose"),
    "ground_speed": ("m/s", "of a receiver"),
    "track": ("rad", "over the ground, from true north"),
}
FROM_AIR = ("ias",)  # late by the pitot lag
FROM_RECEIVER = ("ground_speed", "track")  # late by the receiver lag
EVENTS = ("warning", "buffet", "break", "mush", "stop")  # words a film is transcribed with
LAG_BEYOND = 0.2  # [s] what a glide that steepens does to a lag, from an invented flight of known lag: our judgement
GAP = 5.0  # [s] without a sample, and four usual steps: a gap


@dataclass(frozen=True)
class Channel:
    """One quantity over its own instants; `step` is the smallest step of its readings (whole knots, tens of feet)."""

    time: np.ndarray  # (n,) [s], rising
    value: np.ndarray  # (n,) [SI], all finite
    step: float = 0.0  # [SI]

    def between(self, start: float, end: float) -> tuple[np.ndarray, np.ndarray]:
        """Times and values from `start` to `end` [s]."""
        a, b = np.searchsorted(self.time, (start, end), side="left")
        return self.time[a:b], self.value[a:b]

    @property
    def interval(self) -> float:
        """The usual time between samples [s]."""
        return float(np.median(np.diff(self.time))) if len(self.time) > 1 else math.inf


@dataclass(frozen=True)
class Recording:
    """Channels by name, the words that were noted, and what had to be mended while reading."""

    name: str
    channels: Mapping[str, Channel]
    events: tuple[tuple[float, str], ...] = ()  # time [s] and one of EVENTS
    notes: tuple[str, ...] = ()
    clock: bool = False  # times are seconds after midnight of the first day

    def when(self, time: float) -> str:
        """An instant [s] as the recording's own clock has it."""
        if not self.clock:
            return f"{time:.1f} s"
        minutes, seconds = divmod(round(time % 86400.0, 1), 60.0)
        return f"{int(minutes) // 60 % 24:02d}:{int(minutes) % 60:02d}:{seconds:04.1f}"

    def get(self, name: str) -> Channel | None:
        """A channel, None where it was not recorded."""
        return self.channels.get(name)

    @property
    def speed(self) -> Channel:
        """The airspeed, else the ground speed; ValueError where neither was recorded."""
        found = self.get("ias") or self.get("ground_speed")
        if found is None:
            raise ValueError("neither an indicated airspeed nor a ground speed was recorded: no stall can be found")
        return found


@dataclass(frozen=True)
class Corrections:
    """How late and how tilted the sensors are, with standard uncertainties; defaults: our judgment, no source."""

    pitot_lag: float = 0.3  # [s]
    pitot_lag_uncertainty: float = 0.2  # [s]
    receiver_lag: float = 0.5  # [s]
    receiver_lag_uncertainty: float = 0.25  # [s]
    mounting_angle: float = 0.0  # [rad] the sensor's forward axis above the leveling line
    mounting_angle_uncertainty: float = math.radians(1.0)  # [rad]
    normal_offset: float = 0.0  # [g] what the upward axis reads too much
    normal_offset_uncertainty: float = 0.01  # [g]


@dataclass(frozen=True)
class Lag:
    """How late one speed is against another, from their cross-correlation."""

    seconds: float  # [s] positive: the second is late
    standard_uncertainty: float  # [s]
    correlation: float  # [-] at the best shift

    def text(self) -> str:
        """The lag in words."""
        return f"{self.seconds:+.2f} s (standard uncertainty {self.standard_uncertainty:.2f} s)"


def channel(time, value) -> Channel:
    """A channel from arrays: what is not finite left out, the step of its readings found.

    Parameters
    ----------
    time : array (n,) [s]
        Rising, repeated instants allowed.
    value : array (n,) [SI]
        NaN where nothing was recorded.

    Returns
    -------
    Channel [SI]
    """
    time, value = np.asarray(time, dtype=float), np.asarray(value, dtype=float)
    good = np.isfinite(time) & np.isfinite(value)
    if not good.all():
        time, value = time[good], value[good]
    return Channel(time, value, _step(value))


def _step(value: np.ndarray) -> float:
    """The step that all readings are whole multiples of, apart; 0 where there is none to be seen."""
    levels = np.unique(np.round(value[:72_000], 6))
    apart = np.diff(levels)
    apart = apart[apart > 1e-5]
    if len(apart) < 2:
        return 0.0
    for part in (1.0, 2.0, 3.0):
        step = float(apart.min()) / part
        multiple = apart / step
        if np.all(np.abs(multiple - np.rint(multiple)) < 0.02):
            return step
    return 0.0


def corrected(recording: Recording, corrections: Corrections) -> Recording:
    """The recording with lag, mounting angle and offset taken out.

    t' = t - lag;   fz = sx sin(mu) + (sz - offset) cos(mu);   fx = sx cos(mu) - (sz - offset) sin(mu)

    A sensor tilted by a degree reads 1.7 % of g on its forward axis in level flight.

    Parameters
    ----------
    recording : Recording [SI]
    corrections : Corrections [SI]

    Returns
    -------
    Recording [SI]
        Accelerations along the axes of the body.

    Valid range: constant lags; sensors turned about the lateral axis only.
    """
    channels = dict(recording.channels)
    for names, lag in ((FROM_AIR, corrections.pitot_lag), (FROM_RECEIVER, corrections.receiver_lag)):
        for name in names:
            if name in channels:
                channels[name] = replace(channels[name], time=channels[name].time - lag)
    up, forward = channels.get("normal_g"), channels.get("forward_g")
    if up is not None:
        mu, up_g = corrections.mounting_angle, up.value - corrections.normal_offset
        if forward is not None:
            forward_g = np.interp(up.time, forward.time, forward.value)
            channels["forward_g"] = replace(up, value=forward_g * math.cos(mu) - up_g * math.sin(mu), step=0.0)
            up_g = forward_g * math.sin(mu) + up_g * math.cos(mu)
        channels["normal_g"] = replace(up, value=up_g)
    return replace(recording, channels=channels)


def mounting_angle(normal_g, forward_g, body_angle):
    """Mounting angle of an accelerometer, from readings of an airplane that stands still.

    mu = atan2(sx, sz) - theta

    Parameters
    ----------
    normal_g, forward_g : array (n,) [g]
        Standing, engine off.
    body_angle : float [rad]
        Leveling line of the body against the horizontal, nose up positive: the ground angle.

    Returns
    -------
    float [rad]

    Valid range: standing still; on level ground.
    """
    return math.atan2(float(np.mean(forward_g)), float(np.mean(normal_g))) - body_angle


def joined(first: Recording, second: Recording, clock_offset: float = 0.0) -> Recording:
    """Two recordings of one flight as one: what the first has not is taken from the second.

    Parameters
    ----------
    first, second : Recording [SI]
    clock_offset : float [s]
        What is added to the second's times to get the first's.

    Returns
    -------
    Recording [SI]
    """
    moved = {n: replace(c, time=c.time + clock_offset) for n, c in second.channels.items()}
    events = sorted((*first.events, *((t + clock_offset, w) for t, w in second.events)))
    return Recording(
        f"{first.name} with {second.name}",
        {**moved, **first.channels},
        tuple(events),
        first.notes + tuple(f"{second.name}: {n}" for n in second.notes),
        first.clock,
    )


def horizontal_airspeed(airspeed: Channel, altitude: Channel) -> Channel:
    """The part of an airspeed that a receiver sees: V_h = sqrt(V^2 - (dh/dt)^2).

    Parameters
    ----------
    airspeed : Channel [m/s]
    altitude : Channel [m]

    Returns
    -------
    Channel [m/s]
        Of use for `estimate_lag`: after the stall the path steepens, and the ground speed lags for that reason too.
    """
    step = max(airspeed.interval, altitude.interval, 0.1)
    t = np.arange(airspeed.time[0], airspeed.time[-1] + step, step)
    climb = np.interp(airspeed.time, t, _rate(altitude, t, step))
    return replace(airspeed, value=np.sqrt(np.maximum(airspeed.value**2 - climb**2, 0.0)), step=0.0)


def estimate_lag(first: Channel, second: Channel, largest: float = 30.0, spans=None) -> Lag:
    """How late the second speed is against the first, where both rose and fell together.

    The shift at which the correlation of the two accelerations is highest, a parabola through the three best; the
    uncertainty is the scatter of the same shift over its parts, at least a quarter of a step, and 0.2 s beside it.

    Parameters
    ----------
    first, second : Channel [m/s]
        Airspeed and ground speed of one flight: a steady wind does not matter.
    largest : float [s]
        The largest shift looked for, either way.
    spans : sequence of (start, end) or None [s]
        Where the heading was held, such as the approaches found; None: everywhere.

    Returns
    -------
    Lag [s]

    Raises
    ------
    ValueError
        Too short together, or nothing in common (correlation below 0.5): the shift would mean nothing.

    Valid range: headings that are held while the speed changes; turning in wind spoils it. Source: common practice.
    """
    step = max(min(first.interval, second.interval), 0.1)
    start, end = max(first.time[0], second.time[0] - largest), min(first.time[-1], second.time[-1] + largest)
    if not end - start > 2.0 * largest:
        raise ValueError(f"the recordings overlap for {max(end - start, 0.0):.0f} s; needed are {2 * largest:.0f} s")
    t = np.arange(start, end, step)
    a = _rate(first, t, step)
    reach = int(math.ceil(largest / step))
    b = _rate(second, np.arange(start - reach * step, t[-1] + (reach + 0.5) * step, step), step)
    parts = np.array_split(np.arange(len(t)), 4)
    if spans is not None:
        parts = [np.flatnonzero((t >= s) & (t <= e)) for s, e in spans]
        parts = [p for p in parts if len(p) > 8]
        if not parts:
            raise ValueError("none of the stretches with a held heading was recorded by both")
    best, correlation = _best_shift(a, b, np.concatenate(parts), reach)
    if correlation < 0.5:
        raise ValueError(
            f"the two speeds have little in common (correlation {correlation:.2f} at best): are they of one flight, "
            "and were headings held while the speed changed?"
        )
    each = [_best_shift(a, b, p, reach) for p in parts]
    shifts = np.array([s for s, r in each if r > 0.5])
    scatter = np.std(shifts, ddof=1) / math.sqrt(len(shifts)) if len(shifts) > 1 else 0.5 / step
    return Lag(best * step, math.hypot(float(max(scatter, 0.25)) * step, LAG_BEYOND), correlation)


def _rate(c: Channel, t: np.ndarray, step: float) -> np.ndarray:
    """Rate of change of a channel on the grid `t`, over three seconds."""
    from scipy.signal import savgol_filter

    values = np.interp(t, c.time, c.value)
    return savgol_filter(values, _odd(3.0 / step), 2, deriv=1, delta=step)


def _best_shift(a: np.ndarray, b: np.ndarray, where: np.ndarray, reach: int) -> tuple[float, float]:
    """The shift [steps] of b, which begins `reach` steps earlier, against a at the places `where`; its correlation."""
    x = a[where] - a[where].mean()
    r = np.zeros(2 * reach + 1)
    for k in range(2 * reach + 1):
        y = b[np.minimum(where + k, len(b) - 1)]
        y = y - y.mean()
        scale = math.sqrt(float(x @ x) * float(y @ y))
        r[k] = float(x @ y) / scale if scale > 0.0 else 0.0
    k = int(np.argmax(r))
    shift = float(k - reach)
    if 0 < k < 2 * reach:
        low, middle, high = r[k - 1 : k + 2]
        bend = low - 2.0 * middle + high
        shift += 0.5 * (low - high) / bend if bend < 0 else 0.0
    return shift, float(r[k])


def _odd(samples: float) -> int:
    return max(5, 2 * int(round(samples / 2)) + 1)


@dataclass(frozen=True)
class Grid:
    """A speed at even steps, smoothed, for finding where to look."""

    time: np.ndarray
    speed: np.ndarray
    step: float
    gaps: tuple[tuple[float, float], ...] = field(default=())


def on_grid(c: Channel) -> Grid:
    """A channel at even steps of at least 0.1 s: means of what falls into a step, lines in between.

    Parameters
    ----------
    c : Channel [m/s]

    Returns
    -------
    Grid [m/s]
    """
    from scipy.signal import savgol_filter

    if len(c.time) < 8:
        raise ValueError(f"the speed has {len(c.time)} readings; needed are at least 8")
    step = max(c.interval, 0.1)
    if not (c.time[-1] - c.time[0]) / step < 5e6:
        raise ValueError("the times span too long for their spacing: is the time column in seconds?")
    time = np.arange(c.time[0], c.time[-1] + 0.5 * step, step)
    place = np.clip(np.rint((c.time - time[0]) / step).astype(int), 0, len(time) - 1)
    count = np.bincount(place, minlength=len(time))
    filled = count > 0
    mean = np.bincount(place, c.value, minlength=len(time))[filled] / count[filled]
    values = np.interp(time, time[filled], mean)
    width = _odd(1.6 / step)
    if len(values) >= width:
        values = savgol_filter(values, width, 2)
    longest = max(GAP, 4.0 * step)
    breaks = np.flatnonzero(np.diff(c.time) > longest)
    gaps = tuple((float(c.time[k]), float(c.time[k + 1])) for k in breaks)
    return Grid(time, values, step, gaps)
