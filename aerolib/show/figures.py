"""The pictures of the measured wing: stalls and their intervals, the error budget, angles and signs."""

from __future__ import annotations

import math

import numpy as np

from aerolib.estimate import digits
from aerolib.measured.stalls.results import Clmax, StallReduction
from aerolib.show.pictures import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    VERMILION,
    Picture,
    finish,
    new_figure,
    own_style,
    plain,
)


@own_style()
def stalls_picture(result: StallReduction) -> Picture:
    """Every stall reduced, with the result and its 95 % interval beside it.

    Parameters
    ----------
    result : StallReduction [-]

    Returns
    -------
    Picture [-]
    """
    items = list(enumerate(result.items))
    figure = new_figure(8.2, 4.4)
    axes = figure.add_axes((0.08, 0.2, 0.90, 0.70))
    names = list(dict.fromkeys((i.configuration, i.power) for _, i in items))
    modifications = list(dict.fromkeys(i.modification for _, i in items))
    words = []
    for k, item in items:
        column = names.index((item.configuration, item.power))
        m = modifications.index(item.modification)
        x = column + (0.0 if len(modifications) == 1 else 0.44 * (m / (len(modifications) - 1)) - 0.22)
        words.append(_draw_item(axes, result, k, item, x, m, len(modifications)))
    axes.set_xticks(range(len(names)), [plain(c if p == "idle" else f"{c}\n{p}") for c, p in names])
    axes.set_xlim(-0.5, len(names) - 0.5)
    axes.set_ylabel("lift coefficient at the stall [-]")
    axes.grid(axis="y", color="0.9", linewidth=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    _stalls_legend(figure, modifications, any(i.apparent for i in result.items))
    caption = (
        "Each dot is one stall with its own error; the bar beside it is CLmax with its 95 % interval, everything "
        "shared included. An arrow is a lower limit: no break, or one below the scale. Compare bars, not single dots."
    )
    return finish(figure, caption, "CLmax by configuration: " + "; ".join(words))


def _style(m: int) -> dict:
    """'before' hollow and dashed, anything later filled and solid; never colour alone."""
    colour = (BLUE, VERMILION, GREEN, ORANGE)[m % 4]
    return {"color": colour, "face": "white" if m == 0 else colour, "line": "--" if m == 0 else "-",
            "marker": "osD^"[m % 4]}  # fmt: skip


def _draw_item(axes, result, k, item: Clmax, x, m, count):
    style = _style(m)
    p = result.points
    here = np.flatnonzero(p.group == k)
    side = 0.07
    spread = x - side + 0.05 * np.sin(2.4 * np.arange(len(here)))  # so that equal readings do not hide each other
    broke = p.outcome[here] == "break"
    # One collection for all bars and one for all arrows: a line each would cost more than the rest of the picture.
    cl, own = p.cl[here], p.own_uncertainty[here]
    _bars(axes, spread[broke], (cl - own)[broke], (cl + own)[broke], color=style["color"], lw=0.8, alpha=0.6)
    axes.plot(spread[broke], cl[broke], ls="none", marker=style["marker"], ms=5, mec=style["color"],
              mfc=style["face"], zorder=3)  # fmt: skip
    _bars(axes, spread[~broke], cl[~broke], cl[~broke] + 0.07, color=style["color"], lw=1.0)
    axes.plot(spread[~broke], cl[~broke] + 0.07, ls="none", marker="^", ms=4, color=style["color"])
    estimate = item.clmax or item.lowest_reached
    low, high = estimate.interval95
    bar = x + side
    if item.clmax:
        axes.plot([bar, bar], [low, high], color=style["color"], ls=style["line"], lw=2.0)
        axes.plot([bar - 0.03, bar + 0.03], [estimate.value] * 2, color=style["color"], lw=2.5)
        d = digits(estimate.standard_uncertainty)
        axes.annotate(f"{estimate.value:.{d}f}" + ("*" if item.apparent else ""), (bar + 0.045, estimate.value),
                      va="center", fontsize=9)  # fmt: skip
        return f"{item.name} {estimate.text()}" + (" (apparent)" if item.apparent else "")
    axes.plot([bar - 0.05, bar + 0.05], [item.at_least] * 2, color=style["color"], ls=style["line"], lw=2.0)
    axes.annotate("", (bar, item.at_least + 0.16), (bar, item.at_least),
                  arrowprops={"arrowstyle": "-|>", "color": style["color"], "lw": 1.6})  # fmt: skip
    axes.annotate(f"≥ {item.at_least:.2f}", (bar + 0.045, item.at_least + 0.03), fontsize=9)
    return f"{item.name} at least {item.at_least:.2f}"


def _bars(axes, x, low, high, **how):
    """Upright lines in one collection: `vlines` takes each apart, which shows with a hundred thousand."""
    from matplotlib.collections import LineCollection

    axes.add_collection(LineCollection(np.stack([np.column_stack([x, low]), np.column_stack([x, high])], 1), **how))


def _stalls_legend(figure, modifications, apparent):
    from matplotlib.lines import Line2D
    from matplotlib.path import Path

    handles = [
        Line2D(
            [], [], color=s["color"], ls=s["line"], marker=s["marker"], mfc=s["face"], mec=s["color"], label=plain(name)
        )
        for m, name in enumerate(modifications)
        for s in [_style(m)]
    ]
    arrow = Path([(0, -2), (0, 2), (-1, 0.8), (0, 2), (1, 0.8)], [1, 2, 1, 2, 2])
    handles.append(Line2D([], [], color=BLACK, marker=arrow, mfc="none", ls="none", ms=9, label="lower limit"))
    figure.legend(handles=handles, loc="upper left", bbox_to_anchor=(0.07, 1.0), ncols=5, frameon=False, fontsize=9)
    if apparent:
        figure.text(0.98, 0.03, "* apparent: thrust not taken out", ha="right", fontsize=8, color=GREY)


@own_style()
def budget_picture(item: Clmax) -> Picture:
    """What the uncertainty of one result is made of: standard contributions, largest first.

    Parameters
    ----------
    item : Clmax [-]

    Returns
    -------
    Picture [-]
    """
    estimate = item.clmax or item.lowest_reached
    lines = [b for b in estimate.budget() if b.share > 0.001][:10]
    figure = new_figure(8.2, 3.4)
    axes = figure.add_axes((0.25, 0.17, 0.72, 0.72))
    scope_colour = {"shared": BLUE, "state": VERMILION, "flight": ORANGE, "stall": GREEN}
    scope_hatch = {"shared": "", "state": "//", "flight": "..", "stall": "xx"}
    y = np.arange(len(lines))[::-1]
    for yi, b in zip(y, lines):
        axes.barh(
            yi, b.contribution, color="white", edgecolor=scope_colour[b.scope], hatch=scope_hatch[b.scope], lw=1.4
        )
        axes.annotate(f"{b.share:.0%}" if b.share >= 0.01 else "<1%", (b.contribution, yi), xytext=(4, 0),
                      textcoords="offset points", va="center", fontsize=8)  # fmt: skip
    axes.set_yticks(y, [b.name for b in lines], fontsize=9)
    axes.set_xlabel("standard contribution to the lift coefficient [-]; percent: share of the variance")
    axes.set_xlim(0, 1.12 * max(b.contribution for b in lines))
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    from matplotlib.patches import Patch

    label = {
        "shared": "every stall",
        "state": "one modification and flap",
        "flight": "one flight",
        "stall": "one stall",
    }
    present = [s for s in label if any(b.scope == s for b in lines)]
    figure.legend(handles=[Patch(facecolor="white", edgecolor=scope_colour[s], hatch=scope_hatch[s],
                                 label=label[s]) for s in present],
                  loc="upper right", ncols=4, frameon=False, fontsize=8)  # fmt: skip
    top = lines[0]
    caption = (
        f"{item.name}: the largest source is '{top.name}' with {top.share:.0%} of the variance. Making any other "
        "source smaller narrows the interval little."
    )
    words = ", ".join(f"{b.name} {b.share:.0%}" for b in lines)
    return finish(figure, caption, f"Error budget of {item.name}: {words}")


@own_style()
def budgets_picture(result: StallReduction) -> Picture:
    """Shares of the variance of every result at idle, side by side.

    Parameters
    ----------
    result : StallReduction [-]

    Returns
    -------
    Picture [-]
    """
    items = [i for i in result.items if i.power == "idle"] or list(result.items)
    figure = new_figure(8.2, 1.3 + 0.42 * len(items))
    axes = figure.add_axes((0.2, 0.62 / figure.get_figheight(), 0.77, 1 - 1.3 / figure.get_figheight()))
    budgets = [{b.name: b.share for b in (i.clmax or i.lowest_reached).budget()} for i in items]
    mean = {n: sum(b.get(n, 0.0) for b in budgets) for n in dict.fromkeys(n for b in budgets for n in b)}
    chief = sorted(mean, key=lambda n: -mean[n])[:5]
    look = list(zip((BLUE, ORANGE, GREEN, VERMILION, GREY), ("//", "..", "xx", "", "\\\\")))
    left = np.zeros(len(items))
    y = np.arange(len(items))[::-1]
    for name, (colour, hatch) in [*zip(chief, look), ("all others", (BLACK, "|||"))]:
        share = np.array([b.get(name, 0.0) for b in budgets]) if name != "all others" else 1.0 - left
        axes.barh(y, share, left=left, height=0.6, color="white", edgecolor=colour, hatch=hatch, label=name)
        for yi, x, s in zip(y, left, share):
            if s > 0.06:
                axes.text(x + s / 2, yi, f"{s:.0%}", ha="center", va="center", fontsize=8,
                          bbox={"fc": "white", "ec": "none", "pad": 1})  # fmt: skip
        left = left + share
    axes.set_yticks(y, [plain(i.name.removesuffix(", idle")) for i in items], fontsize=9)
    axes.set_xlim(0, 1)
    axes.set_xlabel("share of the variance [-]")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    figure.legend(loc="upper right", ncols=6, frameon=False, fontsize=8, handlelength=1.6, columnspacing=1.0)
    words = "; ".join(
        f"{i.name}: " + ", ".join(f"{n} {b.get(n, 0):.0%}" for n in chief) for i, b in zip(items, budgets)
    )
    caption = (
        f"What each interval is made of. The widest part, '{chief[0]}', is the one worth working on; the narrow ones "
        "would hardly be missed."
    )
    return finish(figure, caption, f"Shares of the variance by source. {words}")


@own_style()
def angles_picture(
    pitch: float, path: float, incidence: float = math.radians(2.5), thrust_angle: float = 0.0
) -> Picture:
    """Side view that fixes every angle and sign used in the workbooks.

    Parameters
    ----------
    pitch : float [rad]
        Attitude of the body datum above the horizon.
    path : float [rad]
        Flight path above the horizon: negative in a glide.
    incidence : float [rad]
        Of the wing's chord line to the body datum.
    thrust_angle : float [rad]
        Of the thrust line to the body datum.

    Returns
    -------
    Picture [-]
    """
    alpha = pitch - path
    figure = new_figure(8.2, 4.2)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(-3.1, 5.1)
    axes.set_ylim(-2.1, 2.1)
    axes.set_aspect("equal")
    axes.axis("off")
    _airplane(axes, pitch, incidence)
    _ray(axes, 0.0, 5.0, BLACK, ":", "horizon", 1.0)
    _ray(axes, pitch, 4.9, BLUE, "-", "body datum", 1.2)
    _ray(axes, path, 4.9, VERMILION, "-", "flight path", 2.0, arrow=True)
    _ray(axes, pitch + thrust_angle, -3.0, GREY, "-.", "", 1.0)
    _arc(axes, 0.0, pitch, 1.75, BLUE, f"pitch θ = {math.degrees(pitch):+.1f}°")
    _arc(axes, path, 0.0, 2.35, VERMILION, f"path γ = {math.degrees(path):+.1f}°")
    _arc(axes, path, pitch, 2.95, BLACK, f"α = θ − γ = {math.degrees(alpha):+.1f}°")
    text = (
        f"wing incidence to the datum i_w = {math.degrees(incidence):+.1f}° (chord line to flight path: "
        f"{math.degrees(alpha + incidence):+.1f}°)\n"
        f"thrust line to the datum i_T = {math.degrees(thrust_angle):+.1f}°\n"
        "positive: nose up, climbing, lift up, elevator trailing edge down"
    )
    axes.text(-3.0, -2.0, text, fontsize=9, va="bottom")
    axes.text(-3.0, 1.95, "All angles from the body datum", fontsize=11, va="top")
    caption = (
        "alpha is measured from the body datum to the flight path: alpha = pitch - path. In a glide the path is "
        "negative, so alpha is larger than the pitch seen on the horizon. Wing incidence and thrust line start at the "
        "same datum."
    )
    alternative = (
        f"Side view: pitch {math.degrees(pitch):.1f} deg, flight path {math.degrees(path):.1f} deg, alpha "
        f"{math.degrees(alpha):.1f} deg, wing incidence {math.degrees(incidence):.1f} deg."
    )
    return finish(figure, caption, alternative)


def _airplane(axes, pitch, incidence):
    """A plain tail-wheel airplane in side view, nose right, turned by the pitch angle about its wing."""
    fuselage = [(2.0, 0.0), (1.85, 0.2), (1.25, 0.33), (0.95, 0.62), (0.1, 0.66), (-0.4, 0.33), (-2.35, 0.14),
                (-2.6, 0.72), (-2.85, 0.72), (-2.8, 0.05), (-2.4, -0.03), (-0.9, -0.24), (1.1, -0.3),
                (1.85, -0.17)]  # fmt: skip
    _shape(axes, fuselage, pitch, "0.93")
    section = [
        (x, 0.12 * 0.9 * (1.8 * math.sqrt(max(x, 0)) - 1.6 * x - 0.2 * x**2) + 0.04) for x in np.linspace(0, 1, 24)
    ]
    chord = 1.25
    wing = [(0.75 - chord * x, 0.66 + chord * z) for x, z in section] + [(0.75 - chord, 0.66)]
    turned = [_turn(x - 0.3, z - 0.66, incidence) for x, z in wing]
    _shape(axes, [(x + 0.3, z + 0.66) for x, z in turned], pitch, "0.8")
    _shape(axes, [(-2.15, 0.13), (-2.3, 0.19), (-2.9, 0.13)], pitch, "0.8")
    for x, z, radius in ((0.75, -0.72, 0.2), (-2.45, -0.2, 0.09)):
        xt, zt = _turn(x, z, pitch)
        from matplotlib.patches import Circle

        axes.add_patch(Circle((xt, zt), radius, fc="0.6", ec="0.3", lw=1))
    leg = [_turn(x, z, pitch) for x, z in ((0.7, -0.28), (0.75, -0.72))]
    axes.plot(*zip(*leg), color="0.3", lw=2)


def _turn(x, z, angle):
    return x * math.cos(angle) - z * math.sin(angle), x * math.sin(angle) + z * math.cos(angle)


def _shape(axes, outline, pitch, face):
    from matplotlib.patches import Polygon

    axes.add_patch(Polygon([_turn(x, z, pitch) for x, z in outline], closed=True, fc=face, ec="0.35", lw=1.2))


def _ray(axes, angle, length, colour, line, label, width, arrow=False):
    end = _turn(length, 0.0, angle)
    if arrow:
        axes.annotate("", end, (0, 0), arrowprops={"arrowstyle": "-|>", "color": colour, "lw": width})
    else:
        axes.plot([0, end[0]], [0, end[1]], color=colour, ls=line, lw=width)
    if label:
        axes.annotate(label, end, xytext=(-4, 5 if angle >= 0 else -13), textcoords="offset points", ha="right",
                      color=colour, fontsize=9)  # fmt: skip


def _arc(axes, low, high, radius, colour, label):
    a = np.linspace(low, high, 40)
    axes.plot(radius * np.cos(a), radius * np.sin(a), color=colour, lw=1.2)
    middle = 0.5 * (low + high)
    axes.annotate(label, (radius * math.cos(middle), radius * math.sin(middle)), xytext=(4, 0),
                  textcoords="offset points", fontsize=9, color=colour, va="center",
                  bbox={"fc": "white", "ec": "none", "alpha": 0.9, "pad": 0.5})  # fmt: skip
