"""Thousands of layouts at once: position, height, spacing and span of a row of vanes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from aerolib.predicted.devices.flow_control import GRID, KNOT, CleanWing, outcome, spread_of
from aerolib.predicted.devices.layer import vanes_in_layer
from aerolib.predicted.devices.rule import outside_tests, plain_rule
from aerolib.predicted.devices.vanes import Vanes, drag_increment, stalling

FIELDS = ("computed", "gain", "change", "probability", "drag")


@dataclass(frozen=True)
class FlowSweep:
    """Layouts on four axes (station, height, pitch, span); NaN where it was stopped before."""

    station: np.ndarray  # (a,) over the chord
    height: np.ndarray  # (b,) [m]
    pitch: np.ndarray  # (c,) [m]
    inner: np.ndarray  # (d,) inner end of the treated span [m]
    computed: np.ndarray  # (a, b, c, d) section gain of the layer, as explanation [-]
    gain: np.ndarray  # change of trimmed CLmax [-]
    change: np.ndarray  # of the 1-g stall speed [m/s]
    probability: np.ndarray  # that it falls by a knot or more [-]; not a number where nothing is expected
    drag: np.ndarray  # change of CD on the wing area, vanes alone [-]
    outside: np.ndarray  # bool: outside the tested range

    @property
    def complete(self) -> bool:
        """It was not stopped before its end."""
        return not bool(np.isnan(self.gain).any())


def sweep_vanes(
    base: Vanes, wing: CleanWing, *, station=None, height=None, pitch=None, inner=None,
    progress: Callable[[int, int], object] | None = None,
) -> FlowSweep:  # fmt: skip
    """Every combination of chord position, height, spacing and span.

    The estimate of `flow_control_increment` at each; vanes keep their length over height and their angle.

    Parameters
    ----------
    base : Vanes [m]
    wing : CleanWing [SI]
    station : array (a,) [-]
        None, here and below: that of `base`.
    height, pitch, inner : array [m]
    progress : function (done, total) or None [-]
        Layouts done and in all; what it returns ends the sweep if it is False.

    Returns
    -------
    FlowSweep [SI]
    """
    axes = [np.atleast_1d(np.asarray(own if given is None else given, dtype=float)) for given, own in
            ((station, base.station), (height, base.height), (pitch, base.pitch), (inner, base.inner))]  # fmt: skip
    shape = tuple(map(len, axes))
    found = {k: np.full(shape, np.nan) for k in FIELDS} | {"outside": np.zeros(shape, dtype=bool)}
    total, each = int(np.prod(shape)), shape[1] * shape[2]
    for done, (m, k) in enumerate(np.ndindex(shape[3], shape[0])):
        if progress is not None and progress(done * each, total) is False:
            break
        for name, values in _plane(base, wing, axes[0][k], axes[1], axes[2], float(axes[3][m])).items():
            found[name][k, :, :, m] = values
    else:
        if progress is not None:
            progress(total, total)
    return FlowSweep(*axes, *found.values())


def _plane(base: Vanes, wing: CleanWing, station, height, pitch, inner: float) -> dict[str, np.ndarray]:
    """Every height and spacing at one chord station and one span."""
    section, chord = wing.section_at(inner, base.outer), wing.chord_at(inner, base.outer)
    curve, whole = wing.curve(inner, base.outer), wing.whole
    h, p = height[:, None] / chord, pitch[None, :] / chord
    got = vanes_in_layer(stalling(section), station, h, base.length / base.height * h, base.angle, p,
                         base.vanes_per_pitch == 2, wing.let_go)  # fmt: skip
    value, within = plain_rule(section.stall_type, station, got.height_ratio, got.ahead, base.angle, wing.let_go)
    # The rule gives few different answers: each is worked out once.
    (value, within), which = np.unique(np.stack([value.ravel(), within.ravel()]), axis=1, return_inverse=True)
    gains = curve.at(value[:, None] + within[:, None] * GRID)
    more = np.maximum(whole.at(value) - curve.at(value), 0.0)
    gain, change = outcome(gains, spread_of(gains, more, wing.seen), curve.before, wing.stall_speed)
    chance = np.where(value != 0.0, np.mean(change <= -KNOT, axis=-1), np.nan)
    shape = got.delta_clmax.shape
    area = wing.planform.area_between(inner, base.outer) / wing.planform.area
    tested = outside_tests(station, got.height_ratio, got.ahead, base.angle).values()
    return {
        "computed": got.delta_clmax, "gain": np.mean(gain, axis=-1)[which].reshape(shape),
        "change": np.mean(change, axis=-1)[which].reshape(shape), "probability": chance[which].reshape(shape),
        "drag": drag_increment(base, chord) * (height[:, None] / base.height) ** 2 * base.pitch / pitch[None, :] * area,
        "outside": np.logical_or.reduce(np.broadcast_arrays(*tested)),
    }  # fmt: skip
