"""The picture of a wing near its stall: local lift against what the section bears, above the planform to scale."""

from __future__ import annotations

import numpy as np

from aerolib.predicted.wing import WingClmax
from aerolib.show.pictures import BLACK, BLUE, GREY, ORANGE, SKY, VERMILION, Picture, finish, new_figure, own_style

WIDTH, LEFT, RIGHT = 8.2, 0.75, 0.2  # [inch]
UPPER = 2.75  # height of the upper pane [inch]


@own_style()
def wing_picture(result: WingClmax) -> Picture:
    """Local lift coefficient and its limit along the half span; below, the half wing from above with equal axes.

    Parameters
    ----------
    result : WingClmax [SI]

    Returns
    -------
    Picture [-]
    """
    plan = result.planform
    half = 0.5 * plan.span
    scale = (WIDTH - LEFT - RIGHT) / (1.04 * half)  # inch per meter, in both panes
    chord = max(plan.chord)
    lower = 1.5 * chord * scale
    height = UPPER + lower + 1.3
    figure = new_figure(WIDTH, height)
    width = (WIDTH - LEFT - RIGHT) / WIDTH
    axes = figure.add_axes((LEFT / WIDTH, (lower + 0.75) / height, width, UPPER / height))
    wing = figure.add_axes((LEFT / WIDTH, 0.45 / height, width, lower / height))
    for pane in (axes, wing):
        pane.set_xlim(0.0, 1.04 * half)
        for side in ("top", "right"):
            pane.spines[side].set_visible(False)
    _lift(axes, result)
    figure.legend(loc="upper center", ncols=3, frameon=False, fontsize=9)
    _plan(wing, plan, result.first_touch_at)
    wing.set_ylim(-1.05 * chord, 0.45 * chord)
    wing.set_yticks([])
    wing.spines["left"].set_visible(False)
    wing.set_xlabel("distance from the centerline [m]")
    where = f"{result.first_touch_at:.2f} m from the centerline"
    caption = (
        f"The stall starts where the broken line first meets the black one: {where}, at CL {result.first_touch:.2f}. "
        f"The colored full line is the wing at the quoted CLmax of {result.clmax.value:.2f}, the stall having spread. "
        "The room below the black line over the hatched aileron is what the ailerons have left. Below, the half wing "
        "to scale, with the same distances."
    )
    margin = (
        "" if result.aileron_margin is None else f"; least margin over the aileron {100 * result.aileron_margin:.0f} %"
    )
    shares = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
    found, limit = (np.interp(shares * half, result.y, line) for line in (result.loading, result.limit))
    words = ", ".join(f"{a:.2f} of {b:.2f} at {100 * s:.0f} %" for a, b, s in zip(found, limit, shares))
    return finish(
        figure, caption, f"Local lift coefficient of its limit along the half span as the stall starts: {words}{margin}"
    )


def _lift(axes, result: WingClmax) -> None:
    plan, y = result.planform, result.y
    axes.plot(y, result.limit, color=BLACK, lw=1.8, label="what the section bears")
    axes.plot(y, result.loading, color=BLUE, lw=1.8, ls="--", label=f"as the stall starts, CL {result.first_touch:.2f}")
    axes.plot(y, result.loading_spread, color=VERMILION, lw=1.4, label=f"at the quoted CLmax {result.clmax.value:.2f}")
    at = result.first_touch_at
    cl = float(np.interp(at, y, result.loading))
    axes.plot(at, cl, ls="none", marker="o", ms=11, mfc="none", mec=BLACK, mew=1.6)
    top = 1.18 * max(result.limit.max(), result.loading.max())
    axes.annotate(
        "the stall starts here",
        (at, cl),
        (float(np.clip(at, 0.16 * y[-1], 0.84 * y[-1])), 0.94 * top),
        fontsize=9,
        ha="center",
        bbox={"fc": "white", "ec": "none", "pad": 1.5},
        arrowprops={"arrowstyle": "-", "lw": 0.9},
    )
    axes.set_ylim(0.0, top)
    axes.set_ylabel("local lift coefficient [-]")
    axes.tick_params(labelbottom=False)
    axes.grid(color="0.92", linewidth=0.8)
    hatched = {"fc": "none", "ec": "0.75", "hatch": "///", "lw": 0.0}
    for name, ends, look in (("flap", plan.flap, {"color": SKY, "alpha": 0.25}), ("aileron", plan.aileron, hatched)):
        if ends:
            axes.axvspan(*ends, zorder=0, **look)
            axes.text(sum(ends) / 2, 0.04 * top, name, ha="center", fontsize=9, color="0.25")


def _plan(axes, plan, first_touch) -> None:
    """The half wing from above, quarter-chord line across, leading edge up."""
    y, c = np.array(plan.station), np.array(plan.chord)
    axes.fill(np.r_[y, y[::-1]], np.r_[0.25 * c, -0.75 * c[::-1]], fc="0.97", ec=BLACK, lw=1.4)
    for ends, look in ((plan.flap, {"fc": SKY, "alpha": 0.6}), (plan.aileron, {"fc": "none", "hatch": "///"})):
        if ends:
            e = np.array(ends)
            edge = -0.75 * plan.chord_at(e)
            hinge = edge + 0.25 * plan.chord_at(e)
            axes.fill(np.r_[e, e[::-1]], np.r_[edge, hinge[::-1]], ec=BLACK, lw=0.9, **look)
    if plan.side:
        axes.axvspan(0.0, plan.side, color="0.85", zorder=0)
        axes.text(0.5 * plan.side, -0.97 * c.max(), "fuselage", ha="center", fontsize=8, color="0.3")
    axes.text(0.99 * y[-1], 0.29 * c.max(), "leading edge", ha="right", fontsize=8, color="0.3")
    axes.plot(y, 0.0 * y, color=GREY, lw=0.8, ls=":")
    axes.axvline(first_touch, color=ORANGE, lw=1.5, ls="-.")
