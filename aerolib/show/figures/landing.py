"""The airplane on or near its wheels, from the side and to scale: what attitude it flies, and which wheel touches."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from aerolib.show.pictures import BLACK, BLUE, GREY, VERMILION, Picture, finish, new_figure, own_style

Point = tuple[float, float]


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
    main_wheel: Point  # where it touches, at rest
    other_wheel: Point  # tail wheel, or the point of the tail that strikes
    wheel_radius: float
    tail_strikes: bool  # the other point is the tail itself
    nose_wheel: Point | None = None  # where it touches, at rest

    @property
    def feet(self) -> tuple[Point, ...]:
        """All points that can touch."""
        return (self.main_wheel, self.other_wheel, *([self.nose_wheel] if self.nose_wheel else []))

    @property
    def top_and_bottom(self) -> Point:
        """Of the fuselage."""
        low = 0.35 * self.main_wheel[1]
        return low + 0.5 * self.height, low - 0.5 * self.height


def feet(main: float, other: float, nose: float | None, *, ground_angle: float, wing_height: float,
         loaded_angle: float) -> tuple[Point, Point, Point | None]:  # fmt: skip
    """Points that touch, from their stations behind the quarter chord [m], the quarter chord at its measured height.

    Main and other stand on the ground at `ground_angle`, main and nose at `loaded_angle` [rad].
    """
    # at a pitch t a body point (x, z) stands at x sin(-t) + z cos(t) above the quarter chord
    up = (-wing_height + main * math.sin(loaded_angle)) / math.cos(loaded_angle)
    third = None if nose is None else (nose, up + (nose - main) * math.tan(loaded_angle))
    return (main, up), (other, up + (other - main) * math.tan(ground_angle)), third


@own_style()
def landing_picture(
    view: SideView, pitch: float, clearance: float, *, stalls: dict[str, float], flap: str, speed: str, contact: str
) -> Picture:
    """The airplane at a pitch [rad] with its lowest wheel `clearance` [m] above the ground.

    Parameters
    ----------
    view : [m]
    pitch : [rad]
    clearance : [m]
    stalls : [rad]
        Angle of attack of the leveling line at the stall in ground effect, by modification (at most two, first dashed).
    flap, speed, contact : [-]
        Words for caption and alternative.

    Returns
    -------
    Picture [-]
    """
    figure = new_figure(8.2, 3.9)
    axes = figure.add_axes((0.07, 0.13, 0.91, 0.84))
    cos, sin = math.cos(pitch), math.sin(pitch)
    turn = np.array([[cos, -sin], [sin, cos]])
    lift = clearance - (np.array(view.feet) @ turn)[:, 1].min()

    def at(*points: Point) -> np.ndarray:
        return np.array(points) @ turn + (0.0, lift)

    front, tail = -0.30 * view.length, 0.70 * view.length
    top = _airframe(axes, view, at)
    axes.axhline(0.0, color=BLACK, lw=1.5)
    axes.plot(*at((front - 0.3, 0.0), (tail + 0.2, 0.0)).T, color=GREY, lw=0.8, ls="-.", label="leveling line")
    for (name, alpha), (color, style) in zip(stalls.items(), ((BLUE, "--"), (VERMILION, "-"))):
        ends = np.array([[0.0, 0.0], [-2.2 * math.cos(alpha), 2.2 * math.sin(alpha)]]) + (0.0, lift)
        axes.plot(*ends.T, color=color, ls=style, lw=1.8,
                  label=f"leveling line at the stall, {name}: {math.degrees(alpha):.1f}°")  # fmt: skip
    axes.set(aspect="equal", xlim=(front - 0.9, tail + 0.9), ylim=(-0.15, max(top, lift + 1.0) + 0.35),
             xlabel="behind the wing's quarter chord [m]", ylabel="above the ground [m]")  # fmt: skip
    axes.legend(loc="upper right", fontsize=8.5, frameon=False)
    axes.spines[["top", "right"]].set_visible(False)
    beyond = (
        "where a ray is steeper than the gear allows, the tail (marked) strikes before the wing stalls."
        if view.tail_strikes
        else "a ray steeper than the gear allows cannot be reached with all wheels on the ground."
    )
    caption = (
        f"{flap} at {speed}, to scale: the leveling line stands {math.degrees(pitch):.1f} degrees up. {contact} Rays "
        f"from the wing show where the leveling line would point at the stall in ground effect: {beyond}"
    )
    return finish(figure, caption, f"Side view to scale, pitch {math.degrees(pitch):.1f} degrees; {contact}")


def _airframe(axes, view: SideView, at: Callable[..., np.ndarray]) -> float:
    """Fuselage, wing, tail and wheels, `at` their places; the height of the highest point [m]."""
    (top, bottom), low, fin = view.top_and_bottom, 0.35 * view.main_wheel[1], view.tail_height
    along = np.array([-0.30, -0.18, 0.0, 0.35, 0.70, 0.70, 0.30, -0.05, -0.25]) * view.length
    across = [low, 0.7 * top + 0.3 * low, top, 0.6 * top, fin + 0.1, fin - 0.15, 0.8 * bottom + 0.2 * low, bottom,
              0.7 * bottom + 0.3 * low]  # fmt: skip
    body = np.column_stack([along, across])
    if view.tail_strikes:  # the point that strikes is part of the body
        body[5] = view.other_wheel
    outline = at(*body)
    axes.fill(*outline.T, facecolor="0.93", edgecolor=GREY, lw=1.2, zorder=1)
    nose, c, s = 0.25 * view.chord, math.cos(view.incidence), math.sin(view.incidence)
    axes.plot(*at((-nose * c, nose * s), (3 * nose * c, -3 * nose * s)).T, color=BLACK, lw=4, solid_capstyle="round",
              zorder=3)  # fmt: skip
    ends = view.tail_arm - 0.25 * view.tail_chord, view.tail_arm + 0.75 * view.tail_chord
    axes.plot(*at(*((x, fin) for x in ends)).T, color=BLACK, lw=3, solid_capstyle="round", zorder=3)
    _wheel(axes, at, view.main_wheel, view.wheel_radius, (0.3 * view.main_wheel[0], bottom))
    if view.tail_strikes:
        axes.plot(*at(view.other_wheel).T, marker="v", ms=8, color=VERMILION, zorder=4)
    else:
        _wheel(axes, at, view.other_wheel, 0.35 * view.wheel_radius, (0.97 * view.other_wheel[0], fin - 0.1))
    if view.nose_wheel is not None:
        _wheel(axes, at, view.nose_wheel, 0.85 * view.wheel_radius, (view.nose_wheel[0], bottom))
    return float(outline[:, 1].max())


def _wheel(axes, at: Callable[..., np.ndarray], foot: Point, radius: float, leg: Point) -> None:
    from matplotlib.patches import Circle

    (x, z), top = at(foot, leg)
    axes.plot([top[0], x], [top[1], z + radius], color=GREY, lw=2.5, zorder=1)
    axes.add_patch(Circle((x, z + radius), radius, facecolor="white", edgecolor=BLACK, lw=1.5, zorder=2))
