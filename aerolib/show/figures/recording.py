"""Pictures of a recording: the whole of it with what was found, and one stall drawn large."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from aerolib.estimate import K95
from aerolib.measured.recording.channels import Channel, Corrections, Recording, corrected
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
    framed,
    new_figure,
    own_style,
    plain,
)
from aerolib.units import from_si, on_dial, unit

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
def overview_picture(recording: Recording, found: StallsFound, verdicts, chosen: int | None, dial: str) -> Picture:
    """Speed and height over the whole recording, every approach marked with its number.

    Parameters
    ----------
    recording : Recording [SI]
    found : StallsFound [SI]
    verdicts : tuple of str [-]
        For every item: accepted, rejected, undecided or refused.
    chosen : int or None [-]
        Which item is drawn large elsewhere.
    dial : str [-]
        Unit of the dial.

    Returns
    -------
    Picture [-]
    """
    figure, handles = new_figure(8.2, 3.4), {}
    speed, height = recording.speed, recording.get("altitude")
    start, name = float(speed.time[0]), "indicated airspeed" if found.has_airspeed else "ground speed"
    shown = unit(dial, "speed").from_si
    top = figure.add_axes((0.08, 0.15, 0.9, 0.7) if height is None else (0.08, 0.42, 0.9, 0.44))
    t, v = _thin(speed.time, speed.value)
    top.plot((t - start) / 60.0, shown(v), color=GREY, lw=0.9)
    for k, (s, verdict) in enumerate(zip(found.items, verdicts)):
        colour, marker, filled = LOOKS[verdict]
        x, y = (s.time - start) / 60.0, shown(s.ias)
        (handles[verdict],) = top.plot([x], [y], ls="none", marker=marker, ms=8, mec=colour, label=verdict,
                                       mfc=colour if filled else "white")  # fmt: skip
        if k == chosen:
            top.plot([x], [y], ls="none", marker="o", ms=17, mfc="none", mec=BLACK)
        top.annotate(str(k + 1), (x, y), (0, -17), textcoords="offset points", ha="center", fontsize=9)
    low, high = shown(float(np.min(v))), shown(float(np.max(v)))
    top.set_ylim(low - 0.28 * (high - low) - 1.0, high + 0.06 * (high - low))
    clock = "time from the beginning of the recording [min]"
    framed(top, clock if height is None else "", f"{name} [{dial}]", 9.0)
    if height is not None:
        bottom = framed(figure.add_axes((0.08, 0.14, 0.9, 0.22), sharex=top), clock, "height [ft]", 9.0)
        t, h = _thin(height.time, height.value)
        bottom.plot((t - start) / 60.0, from_si(h, "ft", "altitude"), color=GREEN, lw=0.9)
        top.tick_params(labelbottom=False)
    if handles:
        figure.legend(handles=list(handles.values()), loc="upper center", ncols=4, frameon=False, fontsize=9)
    told = ", ".join(f"{verdicts.count(v)} {v}" for v in LOOKS if v in verdicts) or "nothing found"
    words = "; ".join(f"{k} at {recording.when(s.time)} {on_dial(s.ias, dial, 1)}, {verdict}"
                      for k, (s, verdict) in enumerate(zip(found.items, verdicts), 1))  # fmt: skip
    return finish(
        figure,
        f"The recording {found.name}: {told}. Each number is one approach to the stall; the ring is the one drawn "
        "below. A gray cross cannot be a stall point, for the reason in the table.",
        f"Speed and height over time of {found.name}. {words}",
    )


@own_style()
def stall_picture(recording: Recording, corrections: Corrections, stall: FoundStall, number: int, dial: str) -> Picture:
    """One stall: readings of speed, load factor and height around it, with the entry and the stall marked.

    Parameters
    ----------
    recording : Recording [SI]
    corrections : Corrections [SI]
    stall : FoundStall [SI]
    number : int [-]
    dial : str [-]
        Unit of the dial.

    Returns
    -------
    Picture [-]
    """
    r, entered = corrected(recording, corrections), math.isfinite(stall.entry_start)
    start, end = (stall.entry_start if entered else stall.time - 8.0) - 3.0, stall.time + 10.0
    wanted: tuple[tuple[Channel | None, str, str, Callable], ...] = (
        (r.speed, f"{'IAS' if r.get('ias') else 'ground speed'} [{dial}]", BLUE, unit(dial, "speed").from_si),
        (r.get("normal_g"), "load factor [-]", ORANGE, np.array),
        (r.get("altitude"), "height [ft]", GREEN, unit("ft", "altitude").from_si),
    )
    panes = [(c, label, colour, shown) for c, label, colour, shown in wanted if c is not None]
    figure = new_figure(8.2, 1.5 + 1.05 * len(panes))
    each = (0.80 if len(panes) > 1 else 0.74) / (len(panes) + 1)  # the speed is twice as tall as the others
    top = 0.95
    for k, (channel, label, colour, shown) in enumerate(panes):
        tall = each if k else 2.0 * each
        axes = figure.add_axes((0.08, top - tall, 0.9, tall - 0.03))
        top -= tall
        t, v = channel.between(start, end)
        few = len(t) < 120
        axes.plot(t - stall.time, shown(v), color=colour, lw=0.8, marker="o" if few else ".", ms=4 if few else 2.5)
        axes.axvline(0.0, color=BLACK, lw=1.0)
        axes.set_xlim(start - stall.time, end - stall.time)
        framed(axes, "time from the stall [s]" if k == len(panes) - 1 else "", label, 9.0)
        axes.tick_params(labelbottom=k == len(panes) - 1)
        if k == 0:
            axes.axhline(shown(stall.ias), color=BLACK, lw=0.9, ls="--")
            axes.text(0.01, shown(stall.ias), on_dial(stall.ias, dial, 1), va="bottom", fontsize=9,
                      transform=axes.get_yaxis_transform())  # fmt: skip
            if entered:
                axes.axvspan(stall.entry_start - stall.time, 0.0, color="0.93", zorder=0)
    known = math.isfinite(stall.entry_rate)
    rate = f"{from_si(stall.entry_rate, 'kt/s', 'acceleration'):.1f} kt/s" if known else "not known"
    why = f" Refused: {stall.refused}." if stall.refused else ""
    return finish(
        figure,
        f"Approach {number} of {plain(recording.name)}, {recording.when(stall.time)}. Gray: the entry, from 1.1 times "
        f"the stall speed, at {rate}. The line across is the speed taken, {on_dial(stall.ias, dial, 1)} ± "
        f"{on_dial(K95 * stall.standard_uncertainty, dial, 1)} (95 %, of reading it), not the lowest reading, "
        f"{on_dial(stall.lowest_read, dial, 1)}. Look for speed falling in a line, and height lost only after it. "
        f"The load factor is along the upward axis of the body.{why}",
        f"Speed, load factor and height around approach {number}: {on_dial(stall.ias, dial, 1)}, entry rate {rate}, "
        f"{', '.join(stall.signs) or 'no sign of a break'}.{why}",
    )
