"""The airplane on or near its wheels, from the side and to scale: what attitude it flies, and which wheel touches."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.show.pictures import BLACK, BLUE, GREY, VERMILION, Picture, finish, new_figure, own_style


@dataclass(frozen=True)
class SideView:
    """Measures of the airplane from the side, body axes: aft and up from the wing's quarter chord [m]."""

    chord: float
    incidence: float  # [rad]
    length: float
    height: float  # of the fuselage
    tail_arm: float
    tail_chord: float
    tail_height: float  # above the quarter chord
    main_wheel: tuple[float, float]  # where it touches, at rest
    other_wheel: tuple[float, float]  # tail wheel, nose wheel, or the point of the tail that strikes
    wheel_radius: float
    other_touches: str  # what that point is: 'tail wheel' or 'tail'
    nose_wheel: tuple[float, float] | None = None  # where it touches, at rest


def side_view(
    *, chord: float, incidence: float, length: float, height: float, tail_arm: float, tail_chord: float,
    tail_height: float, main_aft: float, other_aft: float, ground_angle: float, wing_height: float, loaded_angle: float,
    wheel_radius: float, other_touches: str, nose_aft: float | None = None,
) -> SideView:  # fmt: skip
    """A side view whose wheels stand on the ground at the ground angle, the quarter chord at its measured height.

    Parameters
    ----------
    chord, incidence, length, height, tail_arm, tail_chord, tail_height : float [m, rad]
        As in `SideView`.
    main_aft, other_aft : float [m]
        Wheels behind the quarter chord along the datum line.
    ground_angle : float [rad]
        Datum line against the ground when both points touch.
    wing_height : float [m]
        Quarter chord above the ground at `loaded_angle`.
    loaded_angle : float [rad]
    wheel_radius : float [m]
    other_touches : str [-]
    nose_aft : float [m]
        Nose wheel behind the quarter chord (negative: ahead); None on a tail-wheel airplane.

    Returns
    -------
    SideView [m]
    """
    # at a pitch t a body point (x, z) stands at x sin(-t) + z cos(t) above the quarter chord
    main_z = (-wing_height + main_aft * math.sin(loaded_angle)) / math.cos(loaded_angle)
    other_z = main_z + (other_aft - main_aft) * math.tan(ground_angle)
    nose = None if nose_aft is None else (nose_aft, main_z + (nose_aft - main_aft) * math.tan(loaded_angle))
    return SideView(chord, incidence, length, height, tail_arm, tail_chord, tail_height, (main_aft, main_z),
                    (other_aft, other_z), wheel_radius, other_touches, nose)  # fmt: skip


@own_style()
def landing_picture(
    view: SideView, pitch: float, clearance: float, *, stalls: dict[str, float], flap: str, speed: str, contact: str
) -> Picture:
    """The airplane at a pitch with its lowest wheel `clearance` above the ground.

    Parameters
    ----------
    view : SideView [m]
    pitch : float [rad]
        Datum line against the horizon; the flight path is level.
    clearance : float [m]
    stalls : dict of float [rad]
        Angle of attack of the body at the stall in ground effect, by modification (at most two, the first dashed).
    flap, speed, contact : str [-]
        Words for caption and alternative.

    Returns
    -------
    Picture [-]
    """
    figure = new_figure(8.2, 3.9)
    axes = figure.add_axes((0.07, 0.13, 0.91, 0.84))
    cos, sin = math.cos(pitch), math.sin(pitch)

    def turned(points):
        p = np.atleast_2d(np.asarray(points, float))
        return np.column_stack([p[:, 0] * cos + p[:, 1] * sin, -p[:, 0] * sin + p[:, 1] * cos])

    wheels = turned([view.main_wheel, view.other_wheel])
    nose = None if view.nose_wheel is None else turned([view.nose_wheel])[0]
    up = clearance - min(wheels[:, 1].min(), math.inf if nose is None else nose[1])
    low = view.main_wheel[1] * 0.35
    front, tail = -0.30 * view.length, 0.70 * view.length
    top, bottom = low + 0.5 * view.height, low - 0.5 * view.height
    along = np.array([-0.30, -0.18, 0.0, 0.35, 0.70, 0.70, 0.30, -0.05, -0.25]) * view.length
    across = [low, 0.7 * top + 0.3 * low, top, 0.6 * top, view.tail_height + 0.1, view.tail_height - 0.15,
              0.8 * bottom + 0.2 * low, bottom, 0.7 * bottom + 0.3 * low]  # fmt: skip
    body = np.column_stack([along, across])
    if view.other_touches == "tail":  # the point that strikes is part of the body
        body[5] = view.other_wheel
    b = turned(body) + (0.0, up)
    axes.fill(b[:, 0], b[:, 1], facecolor="0.93", edgecolor=GREY, lw=1.2, zorder=1)
    c, s = math.cos(view.incidence), math.sin(view.incidence)
    chord = turned([(-0.25 * view.chord * c, 0.25 * view.chord * s), (0.75 * view.chord * c, -0.75 * view.chord * s)])
    axes.plot(chord[:, 0], chord[:, 1] + up, color=BLACK, lw=4, solid_capstyle="round", zorder=3)
    t = turned([(view.tail_arm - 0.25 * view.tail_chord, view.tail_height),
                (view.tail_arm + 0.75 * view.tail_chord, view.tail_height)])  # fmt: skip
    axes.plot(t[:, 0], t[:, 1] + up, color=BLACK, lw=3, solid_capstyle="round", zorder=3)
    from matplotlib.patches import Circle

    legs = turned([(0.3 * view.main_wheel[0], bottom), (0.97 * view.other_wheel[0], view.tail_height - 0.1)])
    radii = (view.wheel_radius, view.wheel_radius * 0.35)
    for (x, z), r, leg in zip(wheels, radii, legs):
        if r is radii[1] and view.other_touches == "tail":
            axes.plot([x], [z + up], marker="v", ms=8, color=VERMILION, zorder=4)
            continue
        axes.plot([leg[0], x], [leg[1] + up, z + up + r], color=GREY, lw=2.5, zorder=1)
        axes.add_patch(Circle((x, z + up + r), r, facecolor="white", edgecolor=BLACK, lw=1.5, zorder=2))
    if nose is not None:
        (x, z), r = nose, 0.85 * view.wheel_radius
        top = turned([(view.nose_wheel[0], bottom)])[0]
        axes.plot([top[0], x], [top[1] + up, z + up + r], color=GREY, lw=2.5, zorder=1)
        axes.add_patch(Circle((x, z + up + r), r, facecolor="white", edgecolor=BLACK, lw=1.5, zorder=2))
    axes.axhline(0.0, color=BLACK, lw=1.5)
    left, right = front - 0.9, tail + 0.9
    datum = turned([(front - 0.3, 0.0), (tail + 0.2, 0.0)])
    axes.plot(datum[:, 0], datum[:, 1] + up, color=GREY, lw=0.8, ls="-.", label="body datum line")
    for (name, alpha), (colour, style) in zip(stalls.items(), ((BLUE, "--"), (VERMILION, "-"))):
        ends = np.array([[0.0, 0.0], [-2.2 * math.cos(alpha), 2.2 * math.sin(alpha)]])
        axes.plot(ends[:, 0], ends[:, 1] + up, color=colour, ls=style, lw=1.8,
                  label=f"datum line at the stall, {name}: {math.degrees(alpha):.1f}°")  # fmt: skip
    axes.set_aspect("equal")
    axes.set_xlim(left, right)
    axes.set_ylim(-0.15, max(b[:, 1].max(), up + 1.0) + 0.35)
    axes.set_xlabel("behind the wing's quarter chord [m]")
    axes.set_ylabel("above the ground [m]")
    axes.legend(loc="upper right", fontsize=8.5, frameon=False)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    beyond = (
        "where a ray is steeper than the gear allows, the tail (marked) strikes before the wing stalls."
        if view.other_touches == "tail"
        else "a ray steeper than the gear allows cannot be reached with all wheels on the ground."
    )
    caption = (
        f"{flap} at {speed}, to scale: the datum line stands {math.degrees(pitch):.1f} degrees up. {contact} Rays from "
        f"the wing show where the datum line would point at the stall in ground effect: {beyond}"
    )
    return finish(figure, caption, f"Side view to scale, pitch {math.degrees(pitch):.1f} degrees; {contact}")
