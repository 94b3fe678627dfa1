"""How much elevator is left, over CG and speed, and what limits where."""

from __future__ import annotations

import numpy as np

from aerolib.show.pictures import BLACK, BLUE, GREEN, PURPLE, VERMILION, Picture, finish, new_figure, own_style, plain
from aerolib.units import knots

LINES = {
    "wing": (BLACK, "-", "the wing stalls"),
    "elevator stop": (VERMILION, "--", "the elevator is on its stop"),
    "tail stall": (PURPLE, ":", "the tail stalls"),
    "gear": (GREEN, "-.", "the gear's angle is reached"),
}


@own_style()
def authority_picture(
    cg: np.ndarray, speed: np.ndarray, left: np.ndarray, limits: dict[str, np.ndarray], *, title: str,
    loadings=(), helped: np.ndarray | None = None, band: tuple[float, float] | None = None,
) -> Picture:  # fmt: skip
    """Elevator left before its stop as a map; the limits as lines; the owner's loadings as points.

    Parameters
    ----------
    cg : array (n,) [-]
        Share of the MAC.
    speed : array (m,) [m/s]
        Calibrated.
    left : array (m, n) [rad]
        Elevator left before the stop, negative beyond it.
    limits : dict of array (n,) [m/s]
        Slowest speed that each limit leaves.
    title : str [-]
        Flap, modification and height.
    loadings : sequence of (CG share, speed [m/s]) [-]
    helped : array (n,) [m/s]
        Slowest speed with devices on the tail.
    band : pair of float [-]
        Forward and aft CG limit, shares.

    Returns
    -------
    Picture [-]
    """
    figure = new_figure(8.2, 4.3)
    axes = figure.add_axes((0.08, 0.13, 0.62, 0.79))
    x, y = 100 * cg, np.array([knots(v) for v in speed])
    degrees = np.clip(np.nan_to_num(np.degrees(left), nan=-59.0), -59.0, 59.0)
    levels = [-60, 0, 4, 8, 12, 16, 60]
    greys = ["0.55", "0.72", "0.81", "0.88", "0.94", "1.0"]
    axes.contourf(x, y, degrees, levels=levels, colors=greys)
    lines = axes.contour(x, y, degrees, levels=levels[1:-1], colors="0.35", linewidths=0.6)
    axes.clabel(lines, fmt=lambda v: f"{v:.0f}°", fontsize=8)
    for name, values in limits.items():
        colour, style, words = LINES[name]
        axes.plot(x, [knots(v) for v in values], color=colour, ls=style, lw=2.2, label=words)
    if helped is not None:
        axes.plot(x, [knots(v) for v in helped], color=BLUE, ls=(0, (5, 1)), lw=1.6, label="slowest, with tail devices")
    for at in band or ():
        axes.axvline(100 * at, color=BLACK, lw=0.9, ls=(0, (1, 3)))
    for k, (share, v) in enumerate(loadings):
        label = "your loadings, slowest" if k == 0 else None
        axes.plot([100 * share], [knots(v)], marker="o", mfc="white", mec=BLACK, ms=7, ls="none", label=label)
    axes.set_xlim(x[0], x[-1])
    axes.set_ylim(y[0], y[-1])
    axes.set_xlabel("center of gravity [% MAC]")
    axes.set_ylabel("calibrated airspeed [kt]")
    axes.set_title(plain(title), fontsize=10)
    axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.0), fontsize=8.5, frameon=False, title="slowest, because")
    caption = (
        "White is elevator to spare, darker is less; the number on a line is degrees left before the stop. The highest "
        "of the colored lines is the slowest steady speed at that CG. Dotted verticals are the approved CG limits. "
        "Where the elevator's line is highest, more lift from the wing buys nothing."
    )
    which = "; ".join(f"{n}: {knots(v[0]):.0f} kt forward, {knots(v[-1]):.0f} kt aft" for n, v in limits.items())
    return finish(figure, caption, f"{title}. Slowest speeds by limit: {which}")
