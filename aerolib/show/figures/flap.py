"""The picture of a flap: what it adds against its deflection, and the airplane's lift curves without and with it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from aerolib.show.pictures import BLACK, BLUE, GREY, VERMILION, Picture, finish, new_figure, own_style
from aerolib.study.flaps import FlapGain

ROUNDING = math.radians(1.5)  # half of the angle over which a lift curve is drawn rounded off: common practice


@dataclass(frozen=True)
class CleanWing:
    """The lift curve of the trimmed airplane with the flap up."""

    zero_lift_angle: float  # [rad]
    slope: float  # [1/rad]
    clmax: float
    origin: str  # invented or predicted


@dataclass(frozen=True)
class GainPoint:
    """What an owner's own stalls say the flap added."""

    modification: str
    configuration: str
    deflection: float  # [rad]
    value: float
    interval95: tuple[float, float]
    first: bool  # of the first modification: drawn hollow


@own_style()
def flap_picture(
    gains: Sequence[FlapGain], at: FlapGain, clean: CleanWing, points: Sequence[GainPoint] = ()
) -> Picture:
    """CLmax added against deflection, from `gains` in rising order, with a ring at one; lift curves there; all SI."""
    figure = new_figure(8.4, 3.9)
    left = figure.add_axes((0.075, 0.13, 0.43, 0.84))
    right = figure.add_axes((0.585, 0.13, 0.40, 0.84))
    _against_deflection(left, gains, at, points)
    _lift_curves(right, clean, at)
    for axes in (left, right):
        axes.grid(color="0.92", linewidth=0.8)
        axes.spines[["top", "right"]].set_visible(False)
        axes.legend(loc="upper left", frameon=False, fontsize=9)
    kind, degrees = at.increment.kind, math.degrees(at.deflection)
    owner = (
        " The points with bars are what your own stalls say, flap down minus flap up; where band and bar overlap, they "
        "do not contradict each other."
        if points
        else ""
    )
    caption = (
        f"Left: CLmax that the {kind} flap adds to the trimmed airplane, with the band that should hold it nineteen "
        f"times in twenty; the ring is {degrees:.0f} deg.{owner} Right: the airplane without and with the flap. The "
        "line moves left: more lift at the same angle of attack, and a stall that comes at a lower one."
    )
    measured = ", ".join(f"{p.modification} {p.configuration} {p.value:.2f}" for p in points) or "none"
    gain = at.clmax.value
    alternative = (
        f"CLmax added by the flap at {degrees:.0f} deg: {at.clmax.text()}; measured: {measured}. Trimmed airplane, "
        f"flap up, {clean.clmax:.2f} ({clean.origin}), with flap {clean.clmax + gain:.2f}"
    )
    return finish(figure, caption, alternative)


def _against_deflection(axes, gains, at, points):
    angles = np.degrees([g.deflection for g in gains])
    low, high = np.array([g.clmax.interval95 for g in gains]).T
    axes.fill_between(angles, low, high, color=VERMILION, alpha=0.22, lw=0)
    axes.plot(angles, [g.clmax.value for g in gains], color=VERMILION, lw=2.0, label="predicted")
    axes.plot(math.degrees(at.deflection), at.clmax.value, ls="none", marker="o", ms=13, mfc="none", mec=BLACK)
    named = set()
    for p in points:
        x = math.degrees(p.deflection) + (-0.6 if p.first else 0.6)
        axes.errorbar(
            x, p.value, yerr=[[p.value - p.interval95[0]], [p.interval95[1] - p.value]], color=BLUE, ls="none",
            marker="s", ms=7, capsize=3, mfc="white" if p.first else BLUE, elinewidth=1.3, zorder=4,
            label=None if p.modification in named else f"{p.modification}, measured",
        )  # fmt: skip
        named.add(p.modification)
    axes.axhline(0.0, color=GREY, lw=0.8)
    top = max([high.max(), *(p.interval95[1] for p in points)])
    bottom = min([0.0, *(p.interval95[0] for p in points)])
    axes.set_ylim(bottom - 0.03 * top, 1.33 * top)  # room for the legend above the highest bar
    axes.set_xlim(0.0, angles[-1] + 1.5)
    axes.set_xlabel("flap deflection [deg]")
    axes.set_ylabel("CLmax added, trimmed airplane [-]")


def lift_curve(zero_lift_angle: float, slope: float, clmax: float) -> tuple[np.ndarray, np.ndarray]:
    """Angle of attack [rad] and lift: straight, then a parabola to CLmax and a little beyond."""
    stall = zero_lift_angle + clmax / slope + ROUNDING
    bend = stall - 2.0 * ROUNDING
    straight = np.linspace(zero_lift_angle, bend, 12)
    curved = np.linspace(bend, stall + 2.0 * ROUNDING, 24)[1:]
    top = clmax - slope * (curved - stall) ** 2 / (4.0 * ROUNDING)
    return np.concatenate([straight, curved]), np.concatenate([slope * (straight - zero_lift_angle), top])


def _lift_curves(axes, clean, at):
    down = f"flap {math.degrees(at.deflection):.0f} deg, predicted"
    for shift, gain, color, style, label in (
        (0.0, 0.0, BLUE, "--", f"flap up (CLmax {clean.origin})"),
        (at.increment.zero_lift_angle, at.clmax.value, VERMILION, "-", down),
    ):
        alpha, lift = lift_curve(clean.zero_lift_angle + shift, clean.slope, clean.clmax + gain)
        k = int(np.argmax(lift))
        axes.plot(np.degrees(alpha), lift, color=color, ls=style, lw=2.0, label=label)
        axes.plot(np.degrees(alpha[k]), lift[k], marker="o", ms=6, color=color, mfc="white" if gain == 0.0 else color)
    axes.set_xlim(-20.0, 25.0)
    axes.set_ylim(0.0, max(2.6, 1.25 * (clean.clmax + at.clmax.value)))
    axes.set_xlabel("angle of attack of the root section [deg]")
    axes.set_ylabel("lift coefficient of the airplane [-]")
