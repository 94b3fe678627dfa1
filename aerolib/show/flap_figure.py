"""The picture of a flap: what it adds against its deflection, and the wing's lift curves without and with it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from aerolib.predicted.flap.increment import KINDS
from aerolib.predicted.flap.span import trimmed_gain
from aerolib.show.pictures import BLACK, BLUE, GREY, VERMILION, Picture, finish, new_figure, own_style
from aerolib.study.flaps import FlapSettings

ROUNDING = math.radians(1.5)  # half of the angle over which a lift curve is drawn rounded off: common practice
K95 = 1.96


@dataclass(frozen=True)
class CleanWing:
    """The lift curve of the wing with the flap up."""

    zero_lift_angle: float  # [rad]
    slope: float  # [1/rad]
    clmax: float
    origin: str  # measured or predicted


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
    settings: FlapSettings, deflection: float, clean: CleanWing, points: Sequence[GainPoint] = ()
) -> Picture:
    """CLmax added against deflection with the owner's points; lift curves without and with the flap.

    Parameters
    ----------
    settings : FlapSettings [SI]
    deflection : float [rad]
        Where the ring and the lift curve are.
    clean : CleanWing [SI]
    points : sequence of GainPoint [SI]

    Returns
    -------
    Picture [-]
    """
    figure = new_figure(8.4, 3.9)
    left = figure.add_axes((0.075, 0.13, 0.43, 0.84))
    right = figure.add_axes((0.585, 0.13, 0.40, 0.84))
    gain, half = _against_deflection(left, settings, deflection, points)
    found = settings.increment(deflection)
    _lift_curves(right, clean, found, deflection)
    for axes in (left, right):
        axes.grid(color="0.92", linewidth=0.8)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    degrees = math.degrees(deflection)
    owner = (
        " The points with bars are what your own stalls say, flap down minus flap up; where band and bar overlap, they "
        "do not contradict each other."
        if points
        else ""
    )
    caption = (
        f"Left: CLmax that the {settings.kind} flap adds to the trimmed airplane, with the band that should hold it "
        f"nineteen times in twenty; the ring is {degrees:.0f} deg.{owner} Right: the wing without and with the flap. "
        "The line moves left: more lift at the same incidence, and a stall that comes at a lower one."
    )
    words = ", ".join(f"{p.modification} {p.configuration} {p.value:.2f}" for p in points) or "none"
    alternative = (
        f"CLmax added by the flap at {degrees:.0f} deg: {gain:.2f} within {half:.2f}; measured: {words}. Wing clean "
        f"{clean.clmax:.2f} ({clean.origin}), with flap {clean.clmax + found.clmax:.2f}; stall angle "
        f"{math.degrees(found.stall_angle):+.1f} deg"
    )
    return finish(figure, caption, alternative)


def _against_deflection(axes, settings, deflection, points):
    highest = KINDS[settings.kind].highest
    angles = np.linspace(0.0, highest, 41)
    value, u = trimmed_gain(settings.increment(angles), settings.tail_arm)
    axes.fill_between(np.degrees(angles), value - K95 * u, value + K95 * u, color=VERMILION, alpha=0.22, lw=0)
    axes.plot(np.degrees(angles), value, color=VERMILION, lw=2.0, label="predicted")
    one, u_one = trimmed_gain(settings.increment(deflection), settings.tail_arm)
    axes.plot(math.degrees(deflection), one, ls="none", marker="o", ms=13, mfc="none", mec=BLACK)
    for k, p in enumerate(points):
        x = math.degrees(p.deflection) + (-0.6 if p.first else 0.6)
        low, high = p.interval95
        axes.errorbar(
            x, p.value, yerr=[[p.value - low], [high - p.value]], color=BLUE, ls="none", marker="s", ms=7, capsize=3,
            mfc="white" if p.first else BLUE, elinewidth=1.3, zorder=4,
            label=f"{p.modification}, measured" if p.modification not in {q.modification for q in points[:k]} else None,
        )  # fmt: skip
    axes.axhline(0.0, color=GREY, lw=0.8)
    top = max([float((value + K95 * u).max()), *(p.interval95[1] for p in points)])
    bottom = min([0.0, *(p.interval95[0] for p in points)])
    axes.set_ylim(bottom - 0.03 * top, 1.33 * top)  # room for the legend above the highest bar
    axes.set_xlim(0.0, math.degrees(highest) + 1.5)
    axes.set_xlabel("flap deflection [deg]")
    axes.set_ylabel("CLmax added, trimmed airplane [-]")
    axes.legend(loc="upper left", frameon=False, fontsize=9)
    return float(one), float(K95 * u_one)


def lift_curve(zero_lift_angle: float, slope: float, clmax: float) -> tuple[np.ndarray, np.ndarray]:
    """Incidence [rad] and lift: straight, then a parabola to CLmax and a little beyond."""
    stall = zero_lift_angle + clmax / slope + ROUNDING
    bend = stall - 2.0 * ROUNDING
    straight = np.linspace(zero_lift_angle, bend, 12)
    curved = np.linspace(bend, stall + 2.0 * ROUNDING, 24)[1:]
    top = clmax - slope * (curved - stall) ** 2 / (4.0 * ROUNDING)
    return np.concatenate([straight, curved]), np.concatenate([slope * (straight - zero_lift_angle), top])


def _lift_curves(axes, clean, found, deflection):
    for shift, gain, colour, style, label in (
        (0.0, 0.0, BLUE, "--", f"flap up (CLmax {clean.origin})"),
        (found.zero_lift_angle, found.clmax, VERMILION, "-", f"flap {math.degrees(deflection):.0f} deg, predicted"),
    ):
        alpha, lift = lift_curve(clean.zero_lift_angle + shift, clean.slope, clean.clmax + gain)
        axes.plot(np.degrees(alpha), lift, color=colour, ls=style, lw=2.0, label=label)
        k = int(np.argmax(lift))
        axes.plot(
            np.degrees(alpha[k]), lift[k], marker="o", ms=6, color=colour, mfc="white" if style == "--" else colour
        )
    axes.set_xlim(-20.0, 25.0)
    axes.set_ylim(0.0, max(2.6, 1.25 * (clean.clmax + found.clmax)))
    axes.set_xlabel("root section to the air [deg]")
    axes.set_ylabel("lift coefficient of the wing [-]")
    axes.legend(loc="upper left", frameon=False, fontsize=9)
