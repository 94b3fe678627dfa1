"""Pictures of a recording: the whole of it with what was found, and one stall drawn large."""

from __future__ import annotations

import math

import numpy as np

from aerolib.measured.recording.channels import Corrections, Recording, corrected
from aerolib.measured.recording.results import FoundStall, StallsFound
from aerolib.show.pictures import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    VERMILION,
    Picture,
    finish,
    new_figure,
    own_style,
    plain,
)
from aerolib.units import from_si, knots

MOST = 3000  # points of a line: more cannot be seen
LOOKS = {  # verdict: colour, marker, filled
    "accepted": (BLUE, "o", True), "rejected": (VERMILION, "X", False), "undecided": (BLACK, "D", False),
    "refused": (GREY, "x", True),
}  # fmt: skip


def _thin(t, v):
    """At most MOST points, the lowest of each stretch: a stall may not fall between two."""
    if len(t) <= MOST:
        return t, v
    size = -(-len(t) // MOST)
    count = len(t) // size
    low = np.argmin(v[: count * size].reshape(count, size), axis=1) + np.arange(count) * size
    return t[low], v[low]


@own_style()
def overview_picture(
    recording: Recording, found: StallsFound, verdicts: tuple[str, ...], chosen: int | None
) -> Picture:
    """Speed and height over the whole recording, every approach marked with its number.

    Parameters
    ----------
    recording : Recording [SI]
    found : StallsFound [SI]
    verdicts : tuple of str [-]
        For every item: accepted, rejected, undecided or refused.
    chosen : int or None [-]
        Which item is drawn large elsewhere.

    Returns
    -------
    Picture [-]
    """
    figure = new_figure(8.2, 3.4)
    speed = recording.get("ias") or recording.get("ground_speed")
    name = "indicated airspeed [kt]" if found.has_airspeed else "ground speed [kt]"
    height = recording.get("altitude")
    top = figure.add_axes((0.08, 0.42 if height is not None else 0.15, 0.9, 0.44 if height is not None else 0.7))
    start = float(speed.time[0])
    t, v = _thin(speed.time, speed.value)
    top.plot((t - start) / 60.0, knots(v), color=GREY, lw=0.9)
    handles = {}
    for k, (s, verdict) in enumerate(zip(found.items, verdicts)):
        colour, marker, filled = LOOKS[verdict]
        x, y = (s.time - start) / 60.0, knots(s.ias)
        (handles[verdict],) = top.plot([x], [y], ls="none", marker=marker, ms=8, mec=colour, label=verdict,
                                       mfc=colour if filled else "white")  # fmt: skip
        if k == chosen:
            top.plot([x], [y], ls="none", marker="o", ms=17, mfc="none", mec=BLACK)
        top.annotate(str(k + 1), (x, y), (0, -17), textcoords="offset points", ha="center", fontsize=9)
    low, high = knots(float(np.min(v))), knots(float(np.max(v)))
    top.set_ylim(low - 0.28 * (high - low) - 1.0, high + 0.06 * (high - low))
    top.set_ylabel(name, fontsize=9)
    bottom = top
    if height is not None:
        bottom = figure.add_axes((0.08, 0.14, 0.9, 0.22), sharex=top)
        t, h = _thin(height.time, height.value)
        bottom.plot((t - start) / 60.0, from_si(h, "ft", "altitude"), color=GREEN, lw=0.9)
        bottom.set_ylabel("height [ft]", fontsize=9)
        top.tick_params(labelbottom=False)
    bottom.set_xlabel("time from the beginning of the recording [min]", fontsize=9)
    for axes in {top, bottom}:
        axes.grid(color="0.92", linewidth=0.8)
        axes.tick_params(labelsize=8.5)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    if handles:
        figure.legend(handles=list(handles.values()), loc="upper center", ncols=4, frameon=False, fontsize=9)
    count = {v: verdicts.count(v) for v in LOOKS if v in verdicts}
    told = ", ".join(f"{n} {v}" for v, n in count.items()) or "nothing found"
    words = "; ".join(f"{k + 1} at {recording.when(s.time)} {knots(s.ias):.1f} kt, {verdict}"
                      for k, (s, verdict) in enumerate(zip(found.items, verdicts)))  # fmt: skip
    return finish(
        figure,
        f"The recording {found.name}: {told}. Each number is one approach to the stall; the ring is the one drawn "
        "below. A grey cross cannot be a stall point, for the reason in the table.",
        f"Speed and height over time of {found.name}. {words}",
    )


@own_style()
def stall_picture(recording: Recording, corrections: Corrections, stall: FoundStall, number: int) -> Picture:
    """One stall: readings of speed, load factor and height around it, with the entry and the stall marked.

    Parameters
    ----------
    recording : Recording [SI]
    corrections : Corrections [SI]
    stall : FoundStall [SI]
    number : int [-]

    Returns
    -------
    Picture [-]
    """
    r = corrected(recording, corrections)
    start = (stall.entry_start if math.isfinite(stall.entry_start) else stall.time - 8.0) - 3.0
    end = stall.time + 10.0
    panes = [("ias" if r.get("ias") else "ground_speed", "IAS [kt]" if r.get("ias") else "ground speed [kt]", BLUE)]
    panes += [("normal_g", "load factor [-]", ORANGE)] if r.get("normal_g") else []
    panes += [("altitude", "height [ft]", GREEN)] if r.get("altitude") else []
    figure = new_figure(8.2, 1.5 + 1.05 * len(panes))
    shares = [2.0] + [1.0] * (len(panes) - 1)
    room = 0.80 if len(panes) > 1 else 0.74
    below = 0.95 - room
    top = 0.95
    for k, ((name, label, colour), share) in enumerate(zip(panes, shares)):
        tall = room * share / sum(shares)
        axes = figure.add_axes((0.08, top - tall, 0.9, tall - 0.03))
        top -= tall
        t, v = r.get(name).between(start, end)
        shown = knots(v) if k == 0 else v if name == "normal_g" else from_si(v, "ft", "altitude")
        few = len(t) < 120
        axes.plot(t - stall.time, shown, color=colour, lw=0.8, marker="o" if few else ".", ms=4 if few else 2.5)
        axes.axvline(0.0, color=BLACK, lw=1.0)
        axes.set_xlim(start - stall.time, end - stall.time)
        axes.set_ylabel(label, fontsize=9)
        axes.tick_params(labelsize=8.5, labelbottom=k == len(panes) - 1)
        axes.grid(color="0.92", linewidth=0.8)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
        if k == 0:
            axes.axhline(knots(stall.ias), color=BLACK, lw=0.9, ls="--")
            axes.text(0.01, knots(stall.ias), f"{knots(stall.ias):.1f} kt", va="bottom", fontsize=9,
                      transform=axes.get_yaxis_transform())  # fmt: skip
            if math.isfinite(stall.entry_start):
                axes.axvspan(stall.entry_start - stall.time, 0.0, color="0.93", zorder=0)
        if k == len(panes) - 1:
            axes.set_xlabel("time from the stall [s]", fontsize=9)
    assert below > 0
    rate = f"{knots(stall.entry_rate):.1f} kt/s" if math.isfinite(stall.entry_rate) else "not known"
    why = f" Refused: {stall.refused}." if stall.refused else ""
    return finish(
        figure,
        f"Approach {number} of {plain(recording.name)}, {recording.when(stall.time)}. Grey: the entry, from 1.1 times "
        f"the stall speed, at {rate}. The line across is the speed taken, {knots(stall.ias):.1f} ± "
        f"{1.96 * knots(stall.standard_uncertainty):.1f} kt (95 %, of reading it), not the lowest reading, "
        f"{knots(stall.lowest_read):.1f} kt. Look for speed falling in a line, and height lost only after it. "
        f"The load factor is along the upward axis of the body.{why}",
        f"Speed, load factor and height around approach {number}: {knots(stall.ias):.1f} kt, entry rate {rate}, "
        f"{', '.join(stall.signs) or 'no sign of a break'}.{why}",
    )
