"""The picture of a test plan: how often a change would be shown, over flights."""

from __future__ import annotations

from aerolib.estimate import K95
from aerolib.measured.plan.programme import ENOUGH, TestPlan
from aerolib.show.pictures import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    PURPLE,
    SKY,
    VERMILION,
    Picture,
    finish,
    new_figure,
    own_style,
)
from aerolib.units import knots

LOOKS = ((BLUE, "o", ":"), (VERMILION, "s", "--"), (GREEN, "D", "-."), (BLACK, "^", "-"), (PURPLE, "v", ":"),
         (ORANGE, "P", "--"), (SKY, "X", "-."), (GREY, "*", "-"))  # fmt: skip


@own_style()
def plan_picture(plan: TestPlan) -> Picture:
    """Probability that a change is shown against flights, a line for each number of stalls; with calibration beside.

    Parameters
    ----------
    plan : TestPlan [SI]

    Returns
    -------
    Picture [-]
    """
    figure = new_figure(8.2, 4.0)
    panes = [("airspeed as it stands", plan.cells, plan.position_uncertainty, plan.recommended),
             ("calibrated in both states", plan.calibrated_cells, plan.calibrated_uncertainty,
              plan.recommended_calibrated)]  # fmt: skip
    if plan.position_uncertainty <= plan.calibrated_uncertainty:
        panes = [("calibrated in both states", *panes[0][1:])]
    handles, width = [], 0.9 / len(panes)
    for k, (title, cells, error, best) in enumerate(panes):
        axes = figure.add_axes((0.08 + (width + 0.02) * k, 0.15, width - 0.02, 0.63))
        handles = _lines(axes, cells)
        axes.axhline(100 * ENOUGH, color=GREY, lw=0.9)
        if best is not None:
            axes.plot(best.flights, 100 * best.probability_shown, ls="none", marker="o", ms=15, mfc="none", mec=BLACK)
        axes.set_title(f"{title}: ± {knots(K95 * error):.2g} kt in each state", fontsize=9.5)
        axes.set_xticks(sorted({c.flights for c in cells}))
        axes.set_ylim(0, 104)
        axes.set_xlabel("flights in each state [-]")
        if k == 0:
            axes.set_ylabel("probability that the change is shown [%]")
        axes.grid(color="0.92", linewidth=0.8)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    figure.legend(handles=handles, loc="upper center", ncols=min(4, len(handles)), frameon=False, fontsize=9)
    worth = f"{knots(plan.change):.3g} kt at {knots(plan.stall_speed):.3g} kt"
    caption = (
        f"How often a change of {worth} would be shown: flights go to the right, stalls from line to line. "
        f"{_course(plan, panes)} The gray line is four times in five. A ring marks the fewest stalls that reach it."
    )
    words = [f"{title}: " + ", ".join(f"{c.stalls} x {c.flights} {100 * c.probability_shown:.0f} %" for c in cells)
             for title, cells, _, _ in panes]  # fmt: skip
    return finish(
        figure, caption, f"Probability that a change of {worth} is shown, stalls x flights: {'; '.join(words)}"
    )


def _course(plan: TestPlan, panes) -> str:
    """What the lines do, as they are drawn."""
    steps = [b.probability_shown - a.probability_shown for _, cells, *_ in panes for a, b in zip(cells, cells[1:])
             if a.stalls == b.stalls]  # fmt: skip
    if min(steps, default=0.0) < -0.005:
        return (
            "A line that falls to the right is no reason to fly less. These days differ more than the comparison "
            "expects, and after few flights it says 'shown' too easily. Only the right end of a line tells something."
        )
    if plan.position_needed == 0.0:
        return "No line reaches four times in five, even with no position error: this change asks for more days."
    if max(steps, default=0.0) < 0.05:
        return "The lines stay flat: the position error decides, and only an airspeed calibration helps."
    return (
        "More flights lift a line, and more stalls lift it less. Where a line stays flat, the position error decides, "
        "and only an airspeed calibration helps."
    )


def _lines(axes, cells):
    handles = []
    for k, s in enumerate(sorted({c.stalls for c in cells})):
        mine = sorted((c for c in cells if c.stalls == s), key=lambda c: c.flights)
        colour, marker, line = LOOKS[k % len(LOOKS)]
        handles += axes.plot([c.flights for c in mine], [100 * c.probability_shown for c in mine], color=colour,
                             marker=marker, ls=line, ms=6, lw=1.6, label=f"{s} stalls a flight")  # fmt: skip
    return handles
