"""Everything else before and after, in one picture: each difference with its interval and the owner's limit."""

from __future__ import annotations

import numpy as np

from aerolib.estimate import Estimate
from aerolib.measured.checks import CheckResult, ChecksComparison
from aerolib.show.comparing import check_change, check_line
from aerolib.show.pictures import BLACK, BLUE, GREY, VERMILION, Picture, finish, new_figure, own_style, plain
from aerolib.show.render import said, shown

ROW, EDGE = 0.52, 1.25  # inches


def height_for(rows: int) -> float:
    """Height of the picture [inch] for so many differences."""
    return EDGE + ROW * max(rows, 1)


@own_style()
def checks_picture(comparison: ChecksComparison) -> Picture:
    """Difference of every check with its 95 % interval, right is better, beside what the owner puts up with.

    Parameters
    ----------
    comparison : ChecksComparison [-]

    Returns
    -------
    Picture [-]
    """
    items = [i for i in comparison.items if i.difference is not None]
    height = height_for(len(items))
    figure = new_figure(8.2, height)
    axes = figure.add_axes((0.3, 0.72 / height, 0.36, 1 - (EDGE - 0.25) / height))
    axes.axvline(0.0, color=BLACK, lw=1)
    for y, item in zip(np.arange(len(items))[::-1], items):
        if item.difference is not None:
            _row(axes, y, item, item.difference)
    names = [plain(i.name.removesuffix(", idle").replace(", not noted", "").replace(", ", "\n", 1)) for i in items]
    axes.set_yticks(np.arange(len(items))[::-1], names, fontsize=8)
    axes.set_ylim(-0.6, max(len(items), 1) - 0.4)
    axes.set_xlim(-1.12, 1.12)
    axes.set_xticks([])
    axes.set_xlabel(
        plain(f"{comparison.before} to {comparison.after}: each row to its own scale, in the unit beside it\n"
              "worse, or lower (o)  <  no difference  >  better, or higher (o)"), fontsize=9
    )  # fmt: skip
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    caption = (
        "Each check's difference with its 95 % interval. Squares: right is better; circles: neither way is better, and "
        "right is higher. Dotted: the difference the owner would put up with; an interval wholly to the right of it "
        "(for circles: between the two) is no worse than that. Recorded and compared, not modeled."
    )
    return finish(figure, caption, "; ".join(said(check_line(i)) for i in items) or "no check was read in both states")


def _row(axes, y, item: CheckResult, difference: Estimate):
    """One difference on a scale of its own; the better way to the right."""
    sign = item.better or 1
    low, high = sorted(sign * x for x in difference.interval95)
    limit = item.no_worse_than
    scale = max(abs(low), abs(high), limit or 0.0) or 1.0
    colour, marker = (VERMILION, "s") if item.better else (BLUE, "o")
    axes.plot([low / scale, high / scale], [y, y], color=colour, lw=2)
    axes.plot([sign * difference.value / scale], [y], marker=marker, color=colour, ms=7, ls="none")
    if limit is not None:
        for side in (-1.0,) if item.better else (-1.0, 1.0):
            axes.plot([side * limit / scale] * 2, [y - 0.32, y + 0.32], color=GREY, lw=2, ls=":")
    text = plain(f"{shown(check_change(item))}\n{item.verdict}")
    axes.annotate(text, (1.02, y), xycoords=("axes fraction", "data"), va="center", fontsize=8)
