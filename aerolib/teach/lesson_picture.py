"""The picture of one virtual stall: speed, load factor and lift coefficient over the same time."""

from __future__ import annotations

import numpy as np

from aerolib.atmosphere import DENSITY_0
from aerolib.show.pictures import BLACK, BLUE, GREEN, GREY, VERMILION, Picture, finish, new_figure, own_style
from aerolib.teach.virtual import VirtualStall

START, END = -7.0, 9.0  # shown, from the lowest speed [s]
BOX = {"fc": "white", "ec": "none", "pad": 0.8, "alpha": 0.85}


def coefficient_at_one_g(stall: VirtualStall, cas):
    """What the formula reads when n is taken as 1: 2 W / (rho0 V^2 S).

    Parameters
    ----------
    stall : VirtualStall [-]
    cas : float or array (n,) [m/s]

    Returns
    -------
    float or array (n,) [-]
    """
    return 2.0 * stall.weight / (DENSITY_0 * np.square(cas) * stall.area)


def late_needle(stall: VirtualStall, lag: float) -> np.ndarray:
    """What a needle shows that follows the speed with this time constant.

    Parameters
    ----------
    stall : VirtualStall [-]
    lag : float [s]

    Returns
    -------
    array (n,) [m/s]
    """
    v, t = stall.history["cas"], stall.history["time"]
    if lag <= 0.0:
        return v
    step = t[1] - t[0]
    fade, slope = np.exp(-step / lag), np.diff(v) / step
    behind = np.empty_like(v)  # exact for a speed that changes evenly from sample to sample
    behind[0] = lag * slope[0]
    for k, s in enumerate(slope):
        behind[k + 1] = fade * behind[k] + (1.0 - fade) * lag * s
    return v - behind


def lowest_seen(stall: VirtualStall, lag: float) -> float:
    """Lowest speed on a needle.

    Parameters
    ----------
    stall : VirtualStall [-]
    lag : float [s]

    Returns
    -------
    float [m/s]
    """
    return float(late_needle(stall, lag).min()) if lag > 0.0 else stall.lowest_cas


@own_style()
def lesson_picture(stall: VirtualStall, lag: float = 0.0) -> Picture:
    """One virtual stall over time: why taking n = 1 at the lowest speed reads CLmax high.

    Parameters
    ----------
    stall : VirtualStall [-]
    lag : float [s]
        Time constant of the needle; 0 shows the true speed.

    Returns
    -------
    Picture [-]
    """
    h = stall.history
    needle = late_needle(stall, lag)
    best, low, hand = stall.at_clmax, int(np.argmin(needle)), stall.hand_forward
    t = h["time"] - h["time"][stall.at_lowest]
    slow = np.sqrt(2.0 * stall.weight / (DENSITY_0 * stall.clmax * stall.area))  # 1-g stall speed [m/s]
    one_g, n, cl = coefficient_at_one_g(stall, needle), h["load_factor"], h["lift_coefficient"]
    reads = float(coefficient_at_one_g(stall, lowest_seen(stall, lag)))
    percent = 100.0 * (reads / stall.clmax - 1.0)
    figure = new_figure(8.2, 5.2)
    axes = [figure.add_axes((0.085, y, 0.9, high)) for y, high in ((0.68, 0.25), (0.395, 0.25), (0.095, 0.265))]
    _speed(axes[0], t, h["cas"] / slow, needle / slow, hand, low, best, lag)
    _load_factor(axes[1], t, n, hand, low, best)
    reading = f"n = 1 reads {reads:.3f}: {percent:+.1f} %"
    _coefficient(axes[2], t, cl, one_g, hand, low, best, stall, reading)
    for a in axes:
        a.axvline(t[low], color=VERMILION, lw=0.9, ls="--", zorder=1)
        a.axvline(t[best], color=BLUE, lw=0.9, ls=":", zorder=1)
        if hand < len(t) - 1:
            a.axvline(t[hand], color=GREY, lw=0.9, ls="-.", zorder=1)
        a.set_xlim(START, END)
        a.tick_params(labelsize=8)
        a.spines[["top", "right"]].set_visible(False)
    axes[2].set_xticks(range(-6, 9, 2))
    axes[2].set_xlabel("time from the lowest speed [s]", fontsize=9)
    _legend(figure)
    return finish(figure, *_words(stall, t, n, best, low, hand, needle[low] / slow, lag, reads))


def _two(axes, t, y, hand, **style):
    """A curve, thin where the hand has gone forward: from there on it is the recovery, not the stall."""
    axes.plot(t[: hand + 1], y[: hand + 1], lw=1.9, **style)
    axes.plot(t[hand:], y[hand:], lw=0.8, **{**style, "label": None})


def _marks(axes, t, low, y_low, best, y_best):
    axes.plot(t[best], y_best, "o", ms=7, mfc="white", mec=BLUE, mew=1.8, zorder=4)
    axes.plot(t[low], y_low, "v", ms=8, color=VERMILION, zorder=4)


def _say(axes, x, y, text, colour, dx=7, dy=0, **more):
    axes.annotate(text, (x, y), xytext=(dx, dy), textcoords="offset points", fontsize=8.5, color=colour, zorder=5,
                  **{"va": "center", "bbox": BOX, **more})  # fmt: skip


def _speed(axes, t, v, needle, hand, low, best, lag):
    _two(axes, t, v, hand, color=BLACK)
    if lag > 0.0:
        _two(axes, t, needle, hand, color=GREEN, ls=(0, (4, 2)))
        _say(axes, END, 1.235, f"green, dashed: an indicator {lag:g} s late", GREEN, dx=-2, ha="right")
    axes.axhline(1.0, color=GREY, lw=0.8, ls=":")
    _marks(axes, t, low, needle[low], best, needle[best])
    _say(axes, t[low], needle[low], f"{needle[low]:.3f}", VERMILION, dx=-8, dy=-9, ha="right")
    axes.set(ylim=(0.82, 1.29), xticks=(), yticks=(0.9, 1.0, 1.1, 1.2))
    axes.set_ylabel("speed over 1-g\nstall speed [-]", fontsize=9)


def _load_factor(axes, t, n, hand, low, best):
    _two(axes, t, n, hand, color=BLACK)
    axes.axhline(1.0, color=VERMILION, lw=1.2, ls="--")
    # The gap that the assumption overlooks, until the lowest speed.
    axes.fill_between(t[: low + 1], n[: low + 1], 1.0, where=n[: low + 1] < 1.0, color=VERMILION, alpha=0.15, lw=0)
    _marks(axes, t, low, n[low], best, n[best])
    _say(axes, t[low], n[low], f"n = {n[low]:.2f}", VERMILION, dx=-8, dy=-10, ha="right")
    _say(axes, END, 1.0, "assumed: n = 1", VERMILION, dx=-2, dy=7, ha="right")
    axes.set(ylim=(0.55, 1.18), xticks=(), yticks=(0.6, 0.8, 1.0))
    axes.set_ylabel("load factor normal\nto the path [-]", fontsize=9)


def _coefficient(axes, t, cl, one_g, hand, low, best, stall, words):
    clmax = stall.clmax
    _two(axes, t, cl, hand, color=BLUE)
    _two(axes, t, one_g, hand, color=VERMILION, ls="--")
    axes.axhline(clmax, color=BLUE, lw=0.8, ls=":")
    _marks(axes, t, low, one_g[low], best, stall.highest)
    _say(axes, t[low], one_g[low], words, VERMILION, dx=9, dy=8)
    _say(axes, START, clmax, f"CLmax of steady flight {clmax:.3f}", BLUE, dx=6, dy=8)
    axes.set_ylim(0.55 * clmax, 1.42 * clmax)
    axes.set_ylabel("lift coefficient [-]", fontsize=9)


def _legend(figure):
    from matplotlib.lines import Line2D

    handles = [
        Line2D([], [], color=BLUE, ls=":", marker="o", ms=7, mfc="white", mew=1.8, label="highest lift"),
        Line2D([], [], color=VERMILION, ls="--", lw=0.9, marker="v", ms=8, label="lowest speed"),
        Line2D([], [], color=GREY, ls="-.", label="hand forward; recovery thin"),
        Line2D([], [], color=BLUE, lw=1.9, label="true CL"),
        Line2D([], [], color=VERMILION, ls="--", lw=1.9, label="CL with n = 1"),
    ]
    figure.legend(handles=handles, loc="upper left", bbox_to_anchor=(0.075, 1.005), ncols=5, frameon=False,
                  fontsize=8.5, columnspacing=1.6, handlelength=2.4)  # fmt: skip


def _words(stall, t, n, best, low, hand, slowest, lag, reads):
    percent = 100.0 * (reads / stall.clmax - 1.0)
    whose = f" on an indicator {lag:g} s late" if lag > 0.0 else ""
    caption = (
        f"Simulated. The wing gives its most (circle) {t[low] - t[best]:.1f} s before the lowest speed{whose} "
        f"(triangle). By then the airplane is falling and the wing carries {n[low]:.2f} of the weight, so the speed "
        f"gets down to {slowest:.3f} of the 1-g stall speed. The dashed curve does not know that and reads CLmax "
        f"{abs(percent):.1f} % {'high' if percent >= 0 else 'low'}."
    )
    forward = f" The hand goes forward at {t[hand]:+.1f} s." if hand < len(t) - 1 else ""
    alternative = (
        f"Three axes over time from {START:.0f} to {END:.0f} s about the lowest speed. Speed falls to {slowest:.3f} of "
        f"the 1-g stall speed. Load factor is {n[best]:.2f} where the lift coefficient peaks, at {t[best]:.1f} s, and "
        f"{n[low]:.2f} at the lowest speed{whose}, at {t[low]:.1f} s. True lift coefficient peaks at "
        f"{stall.highest:.3f}, where steady flight gives {stall.clmax:.3f}; "
        f"the one with n = 1 reads {reads:.3f} at the lowest speed, {percent:+.1f} percent.{forward}"
    )
    return caption, alternative
