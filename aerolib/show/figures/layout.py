"""The picture of a layout: both sides from above to scale, and the nose of the section with both distances."""

from __future__ import annotations

import numpy as np

from aerolib.predicted.layout import DeviceLayout
from aerolib.show.layout_words import distances, headline, mm, moved_or_dropped
from aerolib.show.pictures import BLACK, BLUE, GREY, ORANGE, VERMILION, Picture, finish, new_figure, own_style, plain


@own_style()
def layout_picture(left: DeviceLayout, right: DeviceLayout) -> Picture:
    """Both sides of a row from above, to scale, and the position on the section [-]."""
    figure = new_figure(8.2, 4.4)
    axes = figure.add_axes((0.08, 0.61, 0.89, 0.32))
    for a, out in ((left, -1), (right, 1)):
        _half(axes, a, out)
    axes.set_aspect("equal", adjustable="datalim")
    axes.invert_yaxis()
    axes.set_xlabel("distance from the centerline [m]", fontsize=9)
    axes.set_ylabel("aft [m]", fontsize=9)
    axes.set_title(f"LEFT {left.count}          from above, nose up          {right.count} RIGHT", fontsize=10)
    axes.tick_params(labelsize=8)
    _nose(figure.add_axes((0.08, 0.1, 0.89, 0.33)), left)
    caption = (
        "Top: the row from above, to scale; each tick is one position, its upper end where the front ends stand. "
        "Orange boxes are kept free; a cross is a position dropped there, a ring one that was moved. Dashed: the "
        "tape's zero. Bottom: the same position measured along the chord line and along the skin."
    )
    said = "; ".join(moved_or_dropped(left)[:3] + moved_or_dropped(right)[:3])
    words = f"{headline(left)}. {headline(right)}. {distances(left)}. {said}"
    return finish(figure, caption, words)


def _half(axes, a: DeviceLayout, out: int) -> None:
    s, chord, lead = a.stations, a.chord_at, a.lead_at
    y = np.concatenate([s[:, 0], s[::-1, 0], s[:1, 0]])
    x = np.concatenate([s[:, 2], (s[:, 2] + s[:, 1])[::-1], s[:1, 2]])
    axes.plot(out * y, x, color=BLACK, lw=1.1)
    for z in a.keep_out:
        ends = np.clip([z.inner, z.outer], s[0, 0], s[-1, 0])
        corners = [(out * e, lead(e) + k * chord(e)) for e, k in
                   ((ends[0], z.front), (ends[1], z.front), (ends[1], z.back), (ends[0], z.back))]  # fmt: skip
        axes.fill(*zip(*corners), fc="none", ec=ORANGE, lw=1.2, hatch="////")
    span = np.array([p.span for p in a.positions])
    front = lead(span) + a.chord_station * chord(span)
    axes.vlines(out * span, front, front + np.maximum(a.length, 0.06 * chord(span)), color=BLUE, lw=1.0)
    moved = np.array([p.moved_from is not None for p in a.positions])
    axes.plot(out * span[moved], front[moved], ls="none", marker="o", mfc="none", mec=VERMILION, ms=7)
    gone, edge = np.array([d.span for d in a.dropped]), lead(a.datum)
    axes.plot(out * gone, lead(gone) + a.chord_station * chord(gone), ls="none", marker="x", color=VERMILION, ms=6)
    axes.plot([out * a.datum] * 2, [edge - 0.1, edge + chord(a.datum) + 0.1], color=GREY, ls="--", lw=1)


def _nose(axes, a: DeviceLayout) -> None:
    first, k = a.positions[0], a.chord_station
    c = 1e3 * first.chord
    if a.skin is None:
        axes.text(0.5, 0.5, "section not known: no distance along the skin;\ntransfer from the chord line with a "
                  "straightedge and a square", ha="center", va="center", transform=axes.transAxes)  # fmt: skip
        axes.axis("off")
        return
    reach = max(0.3, 2.0 * k)
    p = a.skin.points
    mine = p[(p[:, 0] <= reach)]
    axes.plot(c * mine[:, 0], c * mine[:, 1], color=BLACK, lw=1.4)
    i = int(np.argmax(a.skin.x >= k)) + len(p) - len(a.skin.x)
    axes.plot(c * p[: i + 1, 0], c * p[: i + 1, 1], color=VERMILION, lw=3.0, solid_capstyle="butt")
    axes.plot([0.0, c * reach], [0.0, 0.0], color=GREY, lw=0.8, ls="-.")
    axes.plot([0.0, c * k], [0.0, 0.0], color=BLUE, lw=3.0)
    axes.plot([c * k] * 2, [0.0, c * p[i, 1]], color=GREY, lw=0.9, ls="--")
    words = f"along the chord line {mm(first.along_chord)} mm"
    near = {"textcoords": "offset points", "fontsize": 9}
    axes.annotate(words, (c * k, 0.0), (6, 3), color=BLUE, **near)
    up = 1 if p[i, 1] >= 0 else -1
    words = f"along the skin {mm(a.along('along_surface')[0])} mm"
    axes.annotate(words, (c * k, c * p[i, 1]), (6, -13 * up), color=VERMILION, **near)
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_title(f"{plain(a.skin.section)}, chord {c:.0f} mm (at the first position), to scale", fontsize=10)
    axes.set_xlabel("along the chord line [mm]", fontsize=9)
    axes.set_ylabel("height [mm]", fontsize=9)
    axes.tick_params(labelsize=8)
