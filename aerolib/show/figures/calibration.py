"""Pictures of a calibration: leg velocities about the wind, and the correction over the needle's reading."""

from __future__ import annotations

import math

import numpy as np

from aerolib.atmosphere import GRAVITY
from aerolib.estimate import K95
from aerolib.measured.airspeed.circle import Circle
from aerolib.measured.airspeed.results import ASSUMED, AirspeedCalibration
from aerolib.show.pictures import (
    BLACK,
    BLUE,
    GREY,
    ORANGE,
    VERMILION,
    Picture,
    finish,
    framed,
    new_figure,
    own_style,
    plain,
)
from aerolib.units import knots, on_dial, unit


@own_style()
def circle_picture(ground_speed, track, circle: Circle, title: str = "") -> Picture:
    """Ground velocities of one run, the wind, and the circle whose radius is the airspeed.

    Parameters
    ----------
    ground_speed : array (n,) [m/s]
    track : array (n,) [rad]
    circle : Circle [m/s]
    title : str [-]

    Returns
    -------
    Picture [-]
    """
    figure = new_figure(5.4, 5.2)
    axes = figure.add_axes((0.13, 0.1, 0.84, 0.82))
    east = [knots(v) for v in ground_speed * np.sin(track)]
    north = [knots(v) for v in ground_speed * np.cos(track)]
    wx, wy = (knots(v) for v in circle.wind)
    radius = knots(circle.airspeed)
    angle = np.linspace(0.0, 2.0 * math.pi, 181)
    axes.plot(wx + radius * np.cos(angle), wy + radius * np.sin(angle), color=BLUE, lw=1.6)
    for k, (x, y) in enumerate(zip(east, north), 1):
        axes.plot([wx, x], [wy, y], color=GREY, lw=1.0)
        axes.plot([x], [y], marker="o", color=VERMILION, ms=7, ls="none")
        out = np.array([x - wx, y - wy]) / max(math.hypot(x - wx, y - wy), 1e-9)
        axes.annotate(f"leg {k}", (x, y), xytext=18.0 * out, textcoords="offset points", fontsize=9, ha="center",
                      va="center")  # fmt: skip
    axes.annotate("", (wx, wy), (0.0, 0.0), arrowprops={"arrowstyle": "-|>", "color": BLACK, "lw": 1.8})
    axes.plot([0.0], [0.0], marker="+", color=BLACK, ms=10)
    angles = np.sort(np.arctan2(np.array(east) - wx, np.array(north) - wy))
    gaps = np.diff(angles, append=angles[0] + 2.0 * math.pi)
    free = angles[np.argmax(gaps)] + 0.5 * gaps.max()  # the direction with no leg near it
    axes.annotate("wind", (wx, wy), xytext=(24.0 * math.sin(free), 24.0 * math.cos(free)), fontsize=9, ha="center",
                  va="center", textcoords="offset points")  # fmt: skip
    axes.margins(0.12)
    axes.set_aspect("equal")
    framed(axes, "ground velocity, east [kt]", "ground velocity, north [kt]").set_title(plain(title), fontsize=10)
    caption = (
        "Every dot is the ground velocity of one leg. Flown at one airspeed they lie on a circle: its center is the "
        f"wind, its radius the true airspeed, {radius:.1f} kt. A dot off the circle is a leg that does not fit."
    )
    words = (
        f"True airspeed {radius:.1f} kt, wind {knots(circle.wind_speed):.0f} kt from "
        f"{math.degrees(circle.wind_from):.0f} degrees, {len(east)} legs"
    )
    return finish(figure, caption, words)


@own_style()
def correction_picture(found: AirspeedCalibration, dial_unit: str = "kt", most: int = 3) -> Picture:
    """What is added to the reading, over the reading, with its band; runs as dots, the stall as a shaded strip.

    Parameters
    ----------
    found : AirspeedCalibration [m/s]
    dial_unit : str [-]
    most : int [-]
        How many flap settings are drawn, the first ones.

    Returns
    -------
    Picture [-]
    """
    flaps = list(dict.fromkeys(s.flap for s in found.states))[:most]
    order = list(dict.fromkeys(s.modification for s in found.states))
    figure = new_figure(8.2, 3.6)
    width = 0.9 / len(flaps)
    panes: list = []
    for k, flap in enumerate(flaps):
        axes = figure.add_axes((0.08 + k * width, 0.16, width - 0.03, 0.66), sharey=panes[0] if panes else None)
        panes.append(axes)
        for s in (s for s in found.states if s.flap == flap):
            _state(axes, found, s, order.index(s.modification), unit(dial_unit, "speed").from_si)
        axes.axhline(0.0, color=BLACK, lw=0.8)
        y = "" if k else f"calibrated minus indicated [{dial_unit}]"
        framed(axes, f"indicated [{dial_unit}]", y).set_title(plain(flap), fontsize=10)
        axes.tick_params(labelleft=k == 0)
    handles = dict(zip(*reversed(panes[0].get_legend_handles_labels())))
    figure.legend(handles.values(), handles.keys(), loc="upper center", ncols=4, fontsize=9, frameon=False)
    caption = (
        "What is added to the reading. Dots are runs with their 95 % bars, lines the correction with its band. The "
        "shaded strip is where the stalls of a state are: left of its slowest run the line is carried on by lift "
        "coefficient, and the band widens. Before: hollow and dashed; after: filled and solid."
    )
    words = (ASSUMED if s.at_stall is None else f"add {on_dial(s.at_stall, dial_unit, 1, '+')}" for s in found.states)
    return finish(figure, caption, "; ".join(f"{s.name}: {x}" for s, x in zip(found.states, words)))


def _state(axes, found, s, place, dial):
    half_strip = 0.36  # [m/s]
    colour, style, face = ((BLUE, "--", "none"), (VERMILION, "-", VERMILION), (ORANGE, "-.", ORANGE))[min(place, 2)]
    mine = [r for r in found.runs if r.state == s.state]
    if mine:
        axes.errorbar(
            [dial(r.ias) for r in mine], [dial(r.cas - r.ias) for r in mine], [K95 * dial(r.own) for r in mine],
            ls="none", marker="o", color=colour, mfc=face, ms=6, capsize=3, lw=1.2,
        )  # fmt: skip
    if s.reading is not None:
        axes.axvspan(dial(s.reading - half_strip), dial(s.reading + half_strip), color=colour, alpha=0.15, lw=0)
        axes.axvline(dial(s.reading), color=colour, ls=style, lw=1.0)
    if s.correction is None or not mine:
        return
    lift = np.mean([r.weight for r in mine]) * GRAVITY
    correction = s.correction.at(lift)
    low = min(r.ias for r in mine) if s.reading is None else min(s.reading, *(r.ias for r in mine))
    v = np.linspace(low - 0.5, max(r.ias for r in mine), 40)
    add, u, x = (dial(y) for y in (correction.corrected(v) - v, correction.uncertainty(v), v))
    axes.plot(x, add, color=colour, ls=style, lw=1.8, label=plain(s.modification))
    axes.fill_between(x, add - K95 * u, add + K95 * u, color=colour, alpha=0.12, lw=0)
