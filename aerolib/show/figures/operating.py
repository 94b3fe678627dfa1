"""Pictures of the operating speeds: the maneuvering diagram before and after, and distances side by side."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from aerolib.consequences.maneuver import Diagram
from aerolib.consequences.operating_results import Speeds
from aerolib.show.pictures import BLUE, GREEN, GREY, ORANGE, VERMILION, Picture, finish, new_figure, own_style, plain
from aerolib.units import knots, on_dial

LOOK = ((BLUE, "--"), (VERMILION, "-"))  # first and last modification
DISTANCES = (("landing_roll", "landing roll"), ("landing_over_obstacle", "landing from 15 m"),
             ("take_off_roll", "take-off roll"), ("take_off_over_obstacle", "take-off to 15 m"))  # fmt: skip


@own_style()
def maneuvering_picture(
    diagrams: dict[str, Diagram], items: dict[str, Speeds], limit: float, dial_unit: str = "kt"
) -> Picture:
    """Load factor over speed for one mass, first and last modification, with flaps and gust lines.

    Parameters
    ----------
    diagrams : dict of Diagram [SI]
        By modification, at most two, the first drawn dashed.
    items : dict of Speeds [SI]
        By modification: V_O with its uncertainty taken off, and the dial there.
    limit : float [-]
        Positive limit load factor.
    dial_unit : str [-]
        Unit of the airspeed indicator's dial.

    Returns
    -------
    Picture [-]
    """
    figure = new_figure(8.2, 4.3)
    axes = figure.add_axes((0.075, 0.125, 0.905, 0.78))
    first, last = list(diagrams.values())[0], list(diagrams.values())[-1]
    for name, look in (("cruise", ":"), ("dive", (0, (1, 3)))):
        v, n = last.gusts[name]
        axes.plot(knots(v), n, color=GREY, ls=look, lw=1.3, label=f"gust line, {name}")
    # A limit at the middle would be passed half of the time: what is drawn as protecting has its uncertainty taken off.
    shown = [items[m].maneuvering for m in diagrams]
    careful = [d.limit_speed if v is None else v.value for d, v in zip(diagrams.values(), shown)]
    for k, (name, d) in enumerate(diagrams.items()):
        _curves(axes, k, plain(name), d, careful[k], limit)
    ends, between = axes.get_xlim()[1], ""
    if len(diagrams) > 1 and first.limit_speed > last.limit_speed and careful[0] > careful[-1]:
        between = ": between the two dots the old speed no longer protects"
        strip = [knots(careful[-1]), knots(careful[0])]
        axes.axvspan(*strip, ymin=0.0, color=VERMILION, alpha=0.12, lw=0)
        axes.annotate("shaded: below the old speed,\nyet no longer protected →", (strip[0], 0.55), xytext=(-6, 0),
                      textcoords="offset points", ha="right", va="center", fontsize=9, color=VERMILION,
                      bbox={"fc": "white", "ec": "none", "pad": 1.0, "alpha": 0.85})  # fmt: skip
    axes.axhline(0.0, color="black", lw=0.8)
    axes.axhline(1.0, color=GREY, lw=0.6)
    axes.set(xlim=(0.0, ends), ylim=(min(-2.0, float(last.negative[1].min()) - 0.5), max(limit + 0.7, 4.5)))
    axes.set_xlabel("equivalent airspeed, here the same as calibrated [kt]", fontsize=9)
    axes.set_ylabel("load factor [-]", fontsize=9)
    axes.tick_params(labelsize=8)
    axes.spines[["top", "right"]].set_visible(False)
    figure.legend(loc="upper center", ncols=6, fontsize=8, frameon=False, handlelength=2.6, columnspacing=1.2)
    mass, words = f"{last.mass:.0f} kg", "; ".join(_words(m, d, items[m], dial_unit) for m, d in diagrams.items())
    caption = (
        f"At {mass}. The curves end at the limit load factor; the dot is V_O, the operating maneuvering speed at this "
        "weight with its uncertainty taken off, below which the wing stalls before one full pull exceeds that limit: "
        f"{words}. More lift moves the dot left{between}. Lighter moves it further left. One input, once, only. V_A in "
        "the approved data and its placard stay."
    )
    return finish(figure, caption, f"Load factor over airspeed at {mass}: V_O {words}.")


def _curves(axes, k: int, name: str, d: Diagram, v_o: float, limit: float) -> None:
    """The curves and V_O of the k-th modification."""
    color, style = LOOK[min(k, 1)]
    for part, label in ((d.positive, name), (d.negative, None)):
        axes.plot(knots(part[0]), part[1], color=color, ls=style, lw=2.0, label=label)
    if d.flap is not None:
        axes.plot(knots(d.flap[0]), d.flap[1], color=GREEN if k else ORANGE, ls=style, lw=1.4, label=f"{name}, flaps")
    v = knots(v_o)
    axes.plot([v], [limit], marker="o", ms=8, color=color, mfc=color if k else "white", zorder=5)
    axes.plot([v, v], [0.0, limit], color=color, ls=style, lw=0.9)


def _words(name: str, d: Diagram, item: Speeds, dial_unit: str) -> str:
    """V_O of one modification, with its uncertainty taken off, and on the dial."""
    careful = "but how much more it lifts was not seen"
    if item.maneuvering is not None:
        reading = item.maneuvering_indicated
        shown = "not calibrated that far" if reading is None else f"{on_dial(reading, dial_unit)} indicated"
        careful = f"with its uncertainty taken off {knots(item.maneuvering.value):.0f} kt ({shown})"
    return f"{name} {knots(d.limit_speed):.0f} kt CAS, {careful}"


@own_style()
def distances_picture(items: Sequence[Speeds], ground: str) -> Picture:
    """Landing and take-off distances of the first and last modification with their 95 % intervals.

    Parameters
    ----------
    items : sequence of Speeds [SI]
    ground : str [-]
        Where, in words.

    Returns
    -------
    Picture [-]
    """
    two = [items[0], *items[1:][-1:]]
    figure = new_figure(8.2, 2.9)
    axes = figure.add_axes((0.175, 0.17, 0.8, 0.7))
    said = []
    for row, (key, label) in enumerate(DISTANCES):
        for k, item in enumerate(two):
            found = getattr(item, key)
            y = -row + (0.19 if k == 0 and len(two) > 1 else -0.19 if k else 0.0)
            if found is None or not np.isfinite([found.value, *found.interval95]).all():
                why = "no thrust data" if found is None else "the low thrust does not get it off the ground"
                axes.text(4, y, why, fontsize=8, va="center", color=GREY)  # fmt: skip
                continue
            (colour, style), value, ends = LOOK[k], found.value, found.interval95
            axes.barh(y, value, height=0.34, facecolor=colour if k else "white", edgecolor=colour, lw=1.6, ls=style,
                      label=plain(item.modification) if row == 0 else None)  # fmt: skip
            axes.errorbar(value, y, xerr=[[value - ends[0]], [ends[1] - value]], color="black", capsize=3, lw=1.1)
            said.append(f"{label}, {item.modification}: {value:.0f} m ({ends[0]:.0f} to {ends[1]:.0f})")
    axes.set_yticks([-r for r in range(len(DISTANCES))], [label for _, label in DISTANCES])
    axes.set_xlim(left=0.0)
    axes.set_xlabel("distance [m]", fontsize=9)
    axes.tick_params(labelsize=9)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    figure.legend(loc="upper center", ncols=2, fontsize=9, frameon=False)
    caption = (
        f"{ground}, {two[-1].mass:.0f} kg. Hollow: {two[0].modification}"
        + (f"; filled: {two[-1].modification}" if len(two) > 1 else "")
        + ". Bars are middles, whiskers hold nineteen in twenty of what friction, drag, thrust and technique may be; "
        "not a distance to plan by."
    )
    return finish(figure, caption, "; ".join(said))
