"""Angles and signs: one side view that fixes them all."""

from __future__ import annotations

import math

import numpy as np

from aerolib.show.pictures import BLACK, BLUE, GREY, VERMILION, Picture, finish, new_figure, own_style


@own_style()
def angles_picture(
    pitch: float, path: float, incidence: float = math.radians(2.5), thrust_angle: float = 0.0
) -> Picture:
    """Side view that fixes every angle and sign used in the workbooks.

    Parameters
    ----------
    pitch : float [rad]
        Attitude of the leveling line above the horizon.
    path : float [rad]
        Flight path above the horizon: negative in a glide.
    incidence : float [rad]
        Of the wing's chord line to the leveling line.
    thrust_angle : float [rad]
        Of the thrust line to the leveling line.

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
    _ray(axes, pitch, 4.9, BLUE, "-", "leveling line", 1.2)
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
    axes.text(-3.0, 1.95, "All angles from the leveling line", fontsize=11, va="top")
    caption = (
        "alpha is measured from the leveling line to the flight path: alpha = pitch - path. In a glide the path is "
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


def _ray(axes, angle, length, color, line, label, width, arrow=False):
    end = _turn(length, 0.0, angle)
    if arrow:
        axes.annotate("", end, (0, 0), arrowprops={"arrowstyle": "-|>", "color": color, "lw": width})
    else:
        axes.plot([0, end[0]], [0, end[1]], color=color, ls=line, lw=width)
    if label:
        axes.annotate(label, end, xytext=(-4, 5 if angle >= 0 else -13), textcoords="offset points", ha="right",
                      color=color, fontsize=9)  # fmt: skip


def _arc(axes, low, high, radius, color, label):
    a = np.linspace(low, high, 40)
    axes.plot(radius * np.cos(a), radius * np.sin(a), color=color, lw=1.2)
    middle = 0.5 * (low + high)
    axes.annotate(label, (radius * math.cos(middle), radius * math.sin(middle)), xytext=(4, 0),
                  textcoords="offset points", fontsize=9, color=color, va="center",
                  bbox={"fc": "white", "ec": "none", "alpha": 0.9, "pad": 0.5})  # fmt: skip
