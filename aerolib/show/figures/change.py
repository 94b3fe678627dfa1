"""The change from before to after, in one picture: ratio and interval of every configuration."""

from __future__ import annotations

import textwrap

import numpy as np

from aerolib.measured.comparison import Comparison
from aerolib.show.comparing import comparison_lines
from aerolib.show.pictures import BLACK, BLUE, GREY, VERMILION, Picture, finish, new_figure, own_style, plain
from aerolib.show.render import reader_of, said


@own_style()
def change_picture(comparison: Comparison, dial_unit: str = "kt") -> Picture:
    """Change of CLmax by configuration with its 95 % interval, and the common one.

    Parameters
    ----------
    comparison : Comparison [-]
    dial_unit : str [-]
        Of the dial.

    Returns
    -------
    Picture [-]
    """
    rows = [(c.name.removesuffix(", idle") + (" *" if c.apparent else ""), c) for c in comparison.changes]
    extra = 1 if comparison.common is not None else 0
    figure = new_figure(8.2, 1.5 + 0.45 * (len(rows) + extra))
    height = figure.get_figheight()
    axes = figure.add_axes((0.2, 0.75 / height, 0.5, 1 - 1.05 / height))
    axes.axvline(0.0, color=BLACK, lw=1)
    bounds: list[tuple[float, float]] = []
    if extra:
        _bar(axes, len(rows), comparison.common, BLUE, "D")
        agree = "they agree" if comparison.agree else "they do not agree"
        _beside(axes, len(rows), f"{comparison.verdict}\n({agree})")
    for y, (_, c) in zip(np.arange(len(rows))[::-1], rows):
        if c.ratio is None:
            if c.ratio_at_least is not None:
                bounds.append((100 * (c.ratio_at_least - 1), y))
            _beside(axes, y, textwrap.fill(plain(f"a lower limit: {c.bounded}"), 40))
            continue
        _bar(axes, y, c.judged, VERMILION, "s")
        _beside(axes, y, str(c.verdict))
    for at, y in bounds:  # open upward: to the edge of the picture, so that it does not read as an interval
        axes.plot([at, at], [y - 0.18, y + 0.18], color=VERMILION, lw=2)
        end = max(axes.get_xlim()[1], at + 12, 12)
        axes.set_xlim(right=end)
        axes.annotate("", (end, y), (at, y), arrowprops={"arrowstyle": "-|>", "color": VERMILION, "lw": 1.6})
    names = ["all together"] * extra + [plain(n) for n, _ in rows]
    axes.set_yticks(np.arange(len(names))[::-1], names, fontsize=9)
    axes.set_ylim(-0.6, len(names) - 0.4)
    axes.set_xlabel(plain(f"change of {comparison.of}, {comparison.before} to {comparison.after} [%]"))
    axes.grid(axis="x", color="0.9")
    axes.set_axisbelow(True)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    figure.text(0.98, 0.03, "* apparent: thrust not taken out", ha="right", fontsize=8, color=GREY)
    caption = (
        f"Change of {comparison.of} with its 95 % interval. An interval that crosses the line at zero leaves the "
        "sign open. What the two states share has canceled; what they do not share is in the interval. An arrow to "
        "the right edge is a lower limit only: the change may be anything above it."
    )
    lines = comparison_lines(comparison)
    return finish(figure, caption, "; ".join(said(x, reader_of(dial_unit)) for x in lines[:extra] + lines[2 * extra :]))


def _bar(axes, y, ratio, colour, marker):
    low, high = (100 * (x - 1) for x in ratio.interval95)
    axes.plot([low, high], [y, y], color=colour, lw=2)
    axes.plot([100 * (ratio.value - 1)], [y], marker=marker, color=colour, ms=7, ls="none")


def _beside(axes, y, text):
    axes.annotate(text, (1.02, y), xycoords=("axes fraction", "data"), va="center", fontsize=9)
