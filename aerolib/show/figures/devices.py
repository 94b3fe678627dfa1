"""Pictures of a device: lift and separation, the vane in its layer, what each choice does, the wing from above."""

from __future__ import annotations

import math
from typing import cast

import numpy as np

from aerolib.physics.lifting_line import Planform
from aerolib.predicted.devices import PER_DEGREE, FlowControl, Vanes, WingCurve
from aerolib.predicted.devices.layer import vanes_in_layer
from aerolib.predicted.devices.stalling import attached_share, kirchhoff_lift
from aerolib.show.pictures import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    SKY,
    VERMILION,
    Picture,
    finish,
    new_figure,
    own_style,
)
from aerolib.together.posterior import Posterior, spread
from aerolib.units import knots

CURVE = np.deg2rad(np.arange(0.0, 24.01, 0.5))
STEP = 1.5  # each choice is multiplied and divided by this
CHOICES = ("chord position", "height", "spacing", "angle")


def _plain(axes):
    axes.grid(color="0.92", linewidth=0.8)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


@own_style()
def lift_picture(result: FlowControl) -> Picture:
    """Section lift of vanes on the wing against angle of attack, and the attached share of the chord [-]."""
    base, change = result.explained.section, result.section
    assert change is not None  # where vanes are explained there is one
    low, high = change.interval95
    a1 = base.alpha_1
    shifts = [x / PER_DEGREE for x in (low, change.value, high)]
    curves = [kirchhoff_lift(CURVE, a1 + s, base.alpha0, base.slope) for s in shifts]
    clean = kirchhoff_lift(CURVE, a1, base.alpha0, base.slope)
    alpha = np.rad2deg(CURVE)
    figure = new_figure(8.2, 3.6)
    lift = figure.add_axes((0.075, 0.15, 0.53, 0.73))
    # From the first maximum on, the form is no more than a sketch: it is drawn to a few degrees beyond.
    lift.fill_between(alpha, curves[0], curves[2], color=SKY, alpha=0.45, lw=0, label="after, 19 times in 20")
    lift.plot(alpha, clean, color=BLACK, ls="--", lw=1.8, label="before")
    lift.plot(alpha, curves[1], color=BLUE, lw=2.0, label="after, estimate")
    lift.plot([math.degrees(base.stall()[1])], [float(base.stall()[0])], "o", mfc="none", mec=BLACK, ms=8)
    top, at = base.stall(shifts[1])
    lift.plot([math.degrees(float(at))], [float(top)], "o", color=BLUE, ms=8)
    lift.set(xlabel="angle of attack of the section [deg]", ylabel="lift coefficient of the section [-]")
    lift.set_xlim(0, 24)
    lift.legend(frameon=False, fontsize=9, loc="lower right")
    gone = figure.add_axes((0.69, 0.15, 0.295, 0.73))
    gone.fill_between(alpha, 100 * attached_share(CURVE, a1 + shifts[0]), 100 * attached_share(CURVE, a1 + shifts[2]),
                      color=SKY, alpha=0.45, lw=0)  # fmt: skip
    gone.plot(alpha, 100 * attached_share(CURVE, a1), color=BLACK, ls="--", lw=1.8)
    gone.plot(alpha, 100 * attached_share(CURVE, a1 + shifts[1]), color=BLUE, lw=2.0)
    gone.set(xlabel="angle of attack [deg]", ylabel="separation, % of the chord", xlim=(0, 24), ylim=(0, 102))
    gone.set_title("where the flow separates", fontsize=9.5)
    for axes in (lift, gone):
        _plain(axes)
    caption = (
        "Lift of the section before (dashed) and after (solid, its 95 % band blue). The circles are the maxima. The "
        "band starts at the dashed line: no gain is inside it. On the right where the flow separates, which is what "
        "moves; beyond the maxima both are sketches."
    )
    words = (
        f"Section clmax {float(base.stall()[0]):.2f} before, {float(top):.2f} after, 95 % {clean.max() + low:.2f} to "
        f"{clean.max() + high:.2f}; stall at {math.degrees(float(base.stall()[1])):.0f} and "
        f"{math.degrees(float(at)):.0f} deg"
    )
    return finish(figure, caption, words)


@own_style()
def layer_picture(result: FlowControl, chord: float) -> Picture:
    """The vane in its boundary layer, to scale, on a chord [m]; and what each choice does to the computed gain."""
    from matplotlib.patches import Polygon

    vanes, e = cast(Vanes, result.device), result.explained  # only vanes are explained
    h, length, delta = 1e3 * vanes.height, 1e3 * vanes.length, 1e3 * e.thickness
    figure = new_figure(8.2, 2.9)
    view = figure.add_axes((0.085, 0.2, 0.48, 0.68))
    reach = max(2.2 * length, 2.0 * delta, 2.2 * h)
    x = np.linspace(-0.5 * reach, reach, 30)
    growth = delta * np.maximum(1.0 + x / (1e3 * chord * vanes.station), 0.2) ** 0.8  # as a turbulent plate's
    view.fill_between(x, 0.0, growth, color=ORANGE, alpha=0.25, lw=0)
    view.plot(x, growth, color=VERMILION, lw=1.4, ls=":")
    tip = (
        [(0, 0), (length, 0), (length, h)] if vanes.shape == "triangle" else [(0, 0), (length, 0), (length, h), (0, h)]
    )
    view.add_patch(Polygon(tip, closed=True, fc=BLUE, ec=BLACK, lw=0.8))
    view.axhline(0.0, color=BLACK, lw=2)
    view.set_xlim(-0.5 * reach, reach)
    view.set_ylim(-0.05 * reach, (1.5 * 0.501 - 0.05) * reach)  # 0.501: height of these axes over their width
    view.set_aspect("equal", adjustable="box")
    view.set(xlabel="along the skin [mm]", ylabel="above the skin [mm]")
    view.set_title(f"boundary layer {delta:.1f} mm, vane {h:.1f} mm: {e.height_ratio:.1f} of it", fontsize=9.5)
    lows, highs = sensitivities(result, chord)
    names = CHOICES
    bars = figure.add_axes((0.74, 0.2, 0.235, 0.68))
    y = np.arange(len(names))[::-1]
    for k, (low, high) in enumerate(zip(lows, highs)):
        bars.plot([low, high], [y[k], y[k]], color=GREY, lw=1.2)
    bars.plot(lows, y, ls="none", marker="o", mfc="none", mec=BLACK, label=f"÷ {STEP:g}")
    bars.plot(highs, y, ls="none", marker="s", color=BLUE, label=f"x {STEP:g}")
    bars.axvline(1.0, color=BLACK, lw=0.9)
    bars.set_yticks(y, names)
    bars.set_ylim(-0.6, len(names) - 0.4)
    bars.set_xlabel("computed gain, this one 1 [-]")
    bars.legend(frameon=False, fontsize=8, loc="upper center", bbox_to_anchor=(0.45, 1.2), ncols=2, handletextpad=0.1)
    _plain(bars)
    caption = (
        "Left, to scale: the vane from the side in the boundary layer it meets at the stall (dotted edge). Right: what "
        "the computation makes of each choice, divided (ring) and multiplied (square) by 1.5, the others kept. It "
        "ranks choices; the estimate's size does not come from it."
    )
    words = f"Layer {delta:.1f} mm, vane {h:.1f} mm. " + "; ".join(
        f"{n}: {low:.2f} and {high:.2f}" for n, low, high in zip(names, lows, highs)
    )
    return finish(figure, caption, words)


def sensitivities(result: FlowControl, chord: float):
    """Computed section gain over that of this layout on a chord [m], each choice divided and multiplied by 1.5 [-]."""
    vanes = cast(Vanes, result.device)
    own = np.array([vanes.station, vanes.height / chord, vanes.length / chord, vanes.angle, vanes.pitch / chord])
    rows = np.tile(own, (9, 1))
    for k, columns in enumerate(((0,), (1, 2), (4,), (3,))):  # height and length: the vane keeps its shape
        for column in columns:
            rows[2 * k + 1, column] /= STEP
            rows[2 * k + 2, column] *= STEP
    station, height, length, angle, pitch = rows.T
    pairs = vanes.vanes_per_pitch == 2
    gain = vanes_in_layer(result.explained.section, station, height, length, angle, pitch, pairs).delta_clmax
    relative = gain / max(float(gain[0]), 1e-4)
    return relative[1::2], relative[2::2]


@own_style()
def wing_picture(result: FlowControl, planform: Planform, computed: WingCurve, tufts=()) -> Picture:
    """The right half of the wing from above, to scale: what is treated, where the stall starts, what tufts showed.

    `computed` is without what tufts showed; `tufts` are up to two of (label, span stations [m], chord stations [-]):
    separation lines seen at the slowest speed, the first state first.
    """
    device = result.device
    half = 0.5 * planform.span
    y = np.linspace(0.0, half, 60)
    chord = planform.chord_at(y)
    front = 0.25 * planform.chord_at(0.0) - 0.25 * chord
    figure = new_figure(8.2, 2.6)
    axes = figure.add_axes((0.07, 0.2, 0.9, 0.6))
    axes.plot(np.r_[y, y[::-1], y[:1]], np.r_[front, (front + chord)[::-1], front[:1]], color=BLACK, lw=1.3)
    treated = np.linspace(device.inner, device.outer, 30)

    def place(at, share):
        c = planform.chord_at(at)
        return 0.25 * planform.chord_at(0.0) - 0.25 * c + np.asarray(share) * c

    axes.plot(treated, place(treated, device.station), color=BLUE, lw=0, marker="^", ms=5, label="device")
    gain = 0.0 if result.section is None else result.section.value
    before, after = (float(np.interp(v, computed.increment, computed.touch)) for v in (0.0, gain))
    for at, mark, face, label in ((before, "o", "none", "stall starts, computed, before"),
                                  (after, "o", BLUE, "stall starts, computed, after")):  # fmt: skip
        back = 0.78 if face == "none" else 0.92
        axes.plot([at], [place(at, back)], ls="none", marker=mark, mfc=face, mec=BLACK, ms=9, label=label)
    styles = ((VERMILION, "--", "none"), (GREEN, "-", GREEN))
    for (label, station, share), (color, line, face) in zip(tufts, styles):
        order = np.argsort(station)
        seen = np.asarray(station)[order]
        axes.plot(
            seen,
            place(seen, np.asarray(share)[order]),
            color=color,
            ls=line,
            marker="s",
            mfc=face,
            lw=1.6,
            label=f"tufts, {label}",
        )
    axes.set_aspect("equal", adjustable="datalim")
    axes.invert_yaxis()
    axes.set(xlabel="from the centerline [m]", ylabel="back [m]")
    figure.legend(loc="upper center", ncols=5, frameon=False, fontsize=8.5, handletextpad=0.3, columnspacing=1.0)
    _plain(axes)
    shown = "" if tufts else " No tufts were recorded: film them first."
    caption = (
        "The right wing from above, to scale. Triangles: the device. Rings: where the stall is computed to start, "
        f"hollow before, filled after. Squares: the line behind which tufts had separated at the slowest speed "
        f"filmed.{shown}"
    )
    return finish(figure, caption, f"Device {device.inner:.2f} to {device.outer:.2f} m; stall starts at {before:.2f} m "
                  f"before, {after:.2f} m after" + "".join(f"; tufts {t[0]}" for t in tufts))  # fmt: skip


@own_style()
def posterior_picture(result: Posterior) -> Picture:
    """Prediction, measurement and what both leave, as distributions of the change of stall speed [m/s]."""
    figure = new_figure(8.2, 2.7)
    axes = figure.add_axes((0.07, 0.2, 0.9, 0.66))
    rows = [(e, label, color, line) for e, label, color, line in (
        (result.prior, "predicted before", GREY, ":"), (result.measured, "measured", VERMILION, "--"),
        (result.best, "both together" if result.prior_used else "prediction left out", BLUE, "-"))
        if e is not None]  # fmt: skip
    ends = [knots(e.value + k * spread(e)) for e, *_ in rows for k in (-3.2, 3.2)]
    x = np.linspace(min(ends), max(ends), 160)
    words = []
    for e, label, color, line in rows:
        m, s = knots(e.value), knots(spread(e))
        density = np.exp(-0.5 * ((x - m) / s) ** 2) / (s * math.sqrt(2.0 * math.pi))
        axes.plot(x, density, color=color, ls=line, lw=2.0, label=label)
        if e is result.best:
            axes.fill_between(x, 0.0, density, color=SKY, alpha=0.35, lw=0)
        words.append(f"{label} {m:+.2f} kt, standard deviation {s:.2f}")
    axes.axvline(0.0, color=BLACK, lw=0.9)
    axes.set_ylim(0.0, None)
    axes.set(xlabel="change of 1-g stall speed [kt]", ylabel="density [1/kt]")
    axes.legend(frameon=False, fontsize=9, ncols=3, loc="upper center", bbox_to_anchor=(0.5, 1.2))
    _plain(axes)
    conflict = " They are in conflict: find out why first." if result.conflict else ""
    caption = (
        "The change as predicted before the flights (dotted), as measured (dashed) and what both leave (solid, "
        f"filled). Left of zero the stall speed fell. The verdict of the comparison uses the measurement "
        f"alone.{conflict}"
    )
    return finish(figure, caption, "; ".join(words))
