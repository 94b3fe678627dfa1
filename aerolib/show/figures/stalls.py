"""The pictures of the measured wing: stalls and their intervals, the error budget."""

from __future__ import annotations

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
    axes.spines[["top", "right"]].set_visible(False)
    _stalls_legend(figure, modifications, any(i.apparent for i in result.items))
    caption = (
        "Each dot is one stall with its own error; the bar beside it is CLmax with its 95 % interval, everything "
        "shared included. An arrow is a lower limit: no break, or one below the scale. Compare bars, not single dots."
    )
    return finish(figure, caption, "CLmax by configuration: " + "; ".join(words))


def _style(m: int) -> dict:
    """'before' hollow and dashed, anything later filled and solid; never color alone."""
    color = (BLUE, VERMILION, GREEN, ORANGE)[m % 4]
    return {"color": color, "face": "white" if m == 0 else color, "line": "--" if m == 0 else "-",
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
    estimate = item.estimate
    low, high = estimate.interval95
    bar = x + side
    if item.clmax:
        axes.plot([bar, bar], [low, high], color=style["color"], ls=style["line"], lw=2.0)
        axes.plot([bar - 0.03, bar + 0.03], [estimate.value] * 2, color=style["color"], lw=2.5)
        d = digits(estimate.standard_uncertainty)
        axes.annotate(f"{estimate.value:.{d}f}" + ("*" if item.apparent else ""), (bar + 0.045, estimate.value),
                      va="center", fontsize=9)  # fmt: skip
        return f"{item.name} {estimate.text()}" + (" (apparent)" if item.apparent else "")
    least = item.at_least or 0.0
    axes.plot([bar - 0.05, bar + 0.05], [least] * 2, color=style["color"], ls=style["line"], lw=2.0)
    axes.annotate("", (bar, least + 0.16), (bar, least),
                  arrowprops={"arrowstyle": "-|>", "color": style["color"], "lw": 1.6})  # fmt: skip
    axes.annotate(f"≥ {least:.2f}", (bar + 0.045, least + 0.03), fontsize=9)
    return f"{item.name} at least {least:.2f}"


def _bars(axes, x, low, high, **how):
    """Upright lines in one collection: `vlines` takes each apart, which shows with a hundred thousand."""
    from matplotlib.collections import LineCollection

    axes.add_collection(LineCollection([*np.stack([np.column_stack([x, low]), np.column_stack([x, high])], 1)], **how))


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
    estimate = item.estimate
    lines = [b for b in estimate.budget() if b.share > 0.001][:10]
    figure = new_figure(8.2, 3.4)
    axes = figure.add_axes((0.25, 0.17, 0.72, 0.72))
    scope_color = {"shared": BLUE, "state": VERMILION, "flight": ORANGE, "stall": GREEN}
    scope_hatch = {"shared": "", "state": "//", "flight": "..", "stall": "xx"}
    y = np.arange(len(lines))[::-1]
    for yi, b in zip(y, lines):
        axes.barh(yi, b.contribution, color="white", edgecolor=scope_color[b.scope], hatch=scope_hatch[b.scope], lw=1.4)
        axes.annotate(f"{b.share:.0%}" if b.share >= 0.01 else "<1%", (b.contribution, yi), xytext=(4, 0),
                      textcoords="offset points", va="center", fontsize=8)  # fmt: skip
    axes.set_yticks(y, [b.name for b in lines], fontsize=9)
    axes.set_xlabel("standard-uncertainty contribution to the lift coefficient [-]; percent: share of the variance")
    axes.set_xlim(0, 1.12 * max(b.contribution for b in lines))
    axes.spines[["top", "right"]].set_visible(False)
    from matplotlib.patches import Patch

    label = {
        "shared": "every stall",
        "state": "one modification and flap",
        "flight": "one flight",
        "stall": "one stall",
    }
    present = [s for s in label if any(b.scope == s for b in lines)]
    figure.legend(handles=[Patch(facecolor="white", edgecolor=scope_color[s], hatch=scope_hatch[s],
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
    budgets = [{b.name: b.share for b in i.estimate.budget()} for i in items]
    mean = {n: sum(b.get(n, 0.0) for b in budgets) for n in dict.fromkeys(n for b in budgets for n in b)}
    chief = sorted(mean, key=lambda n: -mean[n])[:5]
    look = list(zip((BLUE, ORANGE, GREEN, VERMILION, GREY), ("//", "..", "xx", "", "\\\\")))
    left = np.zeros(len(items))
    y = np.arange(len(items))[::-1]
    for name, (color, hatch) in [*zip(chief, look), ("all others", (BLACK, "|||"))]:
        share = np.array([b.get(name, 0.0) for b in budgets]) if name != "all others" else 1.0 - left
        axes.barh(y, share, left=left, height=0.6, color="white", edgecolor=color, hatch=hatch, label=name)
        for yi, x, s in zip(y, left, share):
            if s > 0.06:
                axes.text(x + s / 2, yi, f"{s:.0%}", ha="center", va="center", fontsize=8,
                          bbox={"fc": "white", "ec": "none", "pad": 1})  # fmt: skip
        left = left + share
    axes.set_yticks(y, [plain(i.name.removesuffix(", idle")) for i in items], fontsize=9)
    axes.set_xlim(0, 1)
    axes.set_xlabel("share of the variance [-]")
    axes.spines[["top", "right"]].set_visible(False)
    figure.legend(loc="upper right", ncols=6, frameon=False, fontsize=8, handlelength=1.6, columnspacing=1.0)
    words = "; ".join(
        f"{i.name}: " + ", ".join(f"{n} {b.get(n, 0):.0%}" for n in chief) for i, b in zip(items, budgets)
    )
    caption = (
        f"What each interval is made of. The widest part, '{chief[0]}', is the one worth working on; the narrow ones "
        "would hardly be missed."
    )
    return finish(figure, caption, f"Shares of the variance by source. {words}")
