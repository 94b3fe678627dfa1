"""Thousands of layouts at once: position, height, pitch and span of a row of vanes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from aerolib.physics.lifting_line import Planform
from aerolib.predicted.flow_control import GRID, KNOT, outcome, spread_of, stalling
from aerolib.predicted.flow_layer import vanes_in_layer
from aerolib.predicted.flow_rule import outside_tests, plain_rule
from aerolib.predicted.flow_wing import wing_curve
from aerolib.predicted.vanes import Vanes, drag_increment


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
    complete: bool


def sweep_vanes(
    base: Vanes, planform: Planform, sections, *, stall_speed: float, station=None, height=None, pitch=None, inner=None,
    first_stall: float | None = None, let_go: float | None = None, progress: Callable[[int, int], object] | None = None,
) -> FlowSweep:  # fmt: skip
    """Every combination of chord position, height, pitch and span.

    The estimate of `flow_control_increment` at each; vanes keep their length over height and their angle.

    Parameters
    ----------
    base : Vanes [m]
    planform : Planform [m]
    sections : mapping of share of the half span to SectionLift [-]
    stall_speed : float [m/s]
    station : array (a,) [-]
        None, here and below: that of `base`.
    height, pitch, inner : array [m]
    first_stall : float [m]
    let_go : float [-]
    progress : function (done, total) or None [-]
        Layouts done and in all; what it returns ends the sweep if it is False.

    Returns
    -------
    FlowSweep [SI]
    """
    axes = [np.atleast_1d(np.asarray(own if given is None else given, dtype=float)) for given, own in
            ((station, base.station), (height, base.height), (pitch, base.pitch), (inner, base.inner))]  # fmt: skip
    xs, hs, ps, ys = axes
    shape = tuple(len(a) for a in axes)
    computed, gain, change, probability, drag = (np.full(shape, np.nan) for _ in range(5))
    outside = np.zeros(shape, dtype=bool)
    total, done, complete = int(np.prod(shape)), 0, True
    whole = wing_curve(planform, sections, 0.0, 0.5 * planform.span, first_stall)
    bases = {}  # the layer of each section used, once
    slender = base.length / base.height
    for m, start in enumerate(ys):
        middle = 0.5 * (start + base.outer)
        chord = float(planform.chord_at(middle))
        share = (start + base.outer) / planform.span
        key = min(sections, key=lambda e: abs(e - share))
        section = sections[key]
        layer = bases.setdefault(key, stalling(section))
        curve = wing_curve(planform, sections, float(start), base.outer, first_stall)
        area = planform.area_between(float(start), base.outer) / planform.area
        for k, x in enumerate(xs):
            if progress is not None and progress(done, total) is False:
                complete = False
                break
            h, p = hs[:, None] / chord, ps[None, :] / chord
            got = vanes_in_layer(layer, x, h, slender * h, base.angle, p, base.arrangement == "counter-rotating")
            value, within = plain_rule(section.stall_type, x, got.height_ratio, got.ahead, base.angle, let_go)
            # The rule gives few different answers: each is worked out once.
            pairs, which = np.unique(np.stack([value.ravel(), within.ravel()]), axis=1, return_inverse=True)
            gains = curve.at(pairs[0][:, None] + pairs[1][:, None] * GRID)
            more = np.maximum(whole.at(pairs[0]) - curve.at(pairs[0]), 0.0)
            all_gain, all_change = outcome(
                gains, spread_of(gains, more, first_stall is not None), curve.before, stall_speed
            )
            which = which.reshape(shape[1:3])
            here = (k, slice(None), slice(None), m)
            computed[here] = got.delta_clmax
            gain[here] = np.mean(all_gain, axis=-1)[which]
            change[here] = np.mean(all_change, axis=-1)[which]
            probability[here] = np.where(pairs[0] != 0.0, np.mean(all_change <= -KNOT, axis=-1), np.nan)[which]
            drag[here] = (
                drag_increment(base, chord) * (hs[:, None] / base.height) ** 2 * base.pitch / ps[None, :] * area
            )
            outside[here] = np.logical_or.reduce(
                np.broadcast_arrays(*outside_tests(x, got.height_ratio, got.ahead, base.angle).values())
            )
            done += shape[1] * shape[2]
        if not complete:
            break
    if progress is not None and complete:
        progress(done, total)
    return FlowSweep(xs, hs, ps, ys, computed, gain, change, probability, drag, outside, complete)
