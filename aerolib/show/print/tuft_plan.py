"""A page to print: where to stick tufts, how long, where the camera stands, and what to write down."""

from __future__ import annotations

import numpy as np

from aerolib.show.print.drawings import GREY, MEASURE, Paper, pdf_of
from aerolib.show.print.sheet_parts import A4
from aerolib.units import from_si

SPAN_STATIONS = (0.16, 0.30, 0.45, 0.60, 0.75, 0.88)  # of the half span
CHORD_STATIONS = (0.15, 0.30, 0.45, 0.60, 0.75, 0.90)
LENGTH = 0.07  # of the chord, wool or thin cord: common practice, no source
LEFT, WIDTH, TOP = 15.0, 180.0, 275.0


def tuft_stations(stations) -> list[tuple[float, float, list[float]]]:
    """Rows of tufts on each wing half: span station [m], chord there [m], distances from the leading edge [m].

    `stations` (n, 3) are those of the wing as measured: distance from the centerline, chord, leading edge [m].
    """
    s, half = np.asarray(stations), float(stations[-1][0])
    inner = float(s[1, 0]) if len(s) > 2 and s[1, 0] < 0.3 * half else 0.0  # the side of the fuselage
    out = []
    for share in SPAN_STATIONS:
        y = max(share * half, inner + 0.1, SPAN_STATIONS[0] * half)
        chord = float(np.interp(y, s[:, 0], s[:, 1]))
        out.append((y, chord, [x * chord for x in CHORD_STATIONS]))
    return out


def tuft_plan(stations, name: str = "my airplane", tail_span: float | None = None) -> bytes:
    """The plan as a PDF of one A4 page.

    Parameters
    ----------
    stations : array [m]
        (n, 3): distance from the centerline, chord, leading edge, as measured.
    name : str [-]
        Of the airplane.
    tail_span : float [m]
        Of the tailplane, for the tufts under it; None: not known.

    Returns
    -------
    bytes [-]
    """
    paper = Paper(*A4)
    _page(paper, np.asarray(stations, dtype=float), name, tail_span)
    return pdf_of([paper], "Tuft plan")


def _page(paper: Paper, stations: np.ndarray, name: str, tail_span: float | None) -> None:
    rows = tuft_stations(stations)
    half, at_, chord_, lead_ = float(stations[-1, 0]), *stations.T
    paper.text(LEFT, TOP, f"Tuft plan: {name}", 14, weight="bold")
    y = paper.wrapped(
        LEFT, TOP - 7, "Tufts show where the flow separates first. Fly it before anything is fitted, and again after. "
        "The same on both wings; below is the right one from above, to scale.", WIDTH, 8.5,
    )  # fmt: skip
    scale = WIDTH / half
    front = {at: float(np.interp(at, at_, lead_)) for at in (*at_, *(r[0] for r in rows))}
    base = y - 6
    deepest = float(np.max(lead_ + chord_))

    def point(at, back):
        return LEFT + scale * at, base - scale * back

    outline = [point(y, x) for y, x in zip(at_, lead_)] + [point(y, x + c) for y, c, x in stations[::-1]]
    paper.line(outline, closed=True, width=1.1)
    for at, chord, backs in rows:
        for back in backs:
            x0, y0 = point(at, front[at] + back)
            paper.line([(x0, y0), (x0, y0 - scale * LENGTH * chord)], MEASURE, 1.4)
        x0, y0 = point(at, front[at] + chord + 0.09 * deepest)
        paper.text(x0, y0, f"{at:.2f}", 7, "center")
    bottom = base - scale * deepest - 11
    paper.text(LEFT, bottom, "meters from the centerline of the airplane", 7, color=GREY)
    bottom = _table(paper, rows, bottom - 8)
    text = [
        "Tufts: 2 to 3 mm wool or cord of one bright color, length as in the table, one end under tape 20 mm square, "
        "free end aft. They hang clear of hinge gaps, vents, the pitot tube and the stall warning. None on a control "
        "surface.",
        "Flap: two rows on its upper side, at a third and two thirds of its span, 20 % and 60 % of its chord. "
        "Tail underside: four tufts on each half of the fixed part"
        + (f", {0.15 * tail_span:.2f} and {0.35 * tail_span:.2f} m from the centerline" if tail_span else "")
        + ", at 30 % and 60 % of its chord; a second camera under the fuselage looks at them.",
        "Camera: above the cabin, or on the fin 0.5 m above the wing, looking along the wing to its tip so that the "
        "whole half is in the picture; a second one for the airspeed indicator, or its reading spoken aloud. 50 "
        "frames a second or more. Mounts and cameras outside the airplane may need approval: ask before flying them.",
        "Fly: flap up and idle, from 1.4 times the stall down at a knot a second, three times; then each flap "
        "setting. With height for the recovery, inside the loading limits, with a licensed instructor consulted. "
        "No spin is planned here.",
        "Write down for each speed: the span station and the chord station behind which the tufts point forward or "
        "flutter, as rows of tufts.csv: modification, configuration, ias, surface, span_station, chord_station.",
    ]
    y = bottom - 4
    for words in text:
        y = paper.wrapped(LEFT, y, words, WIDTH, 8.0) - 1.5
    heads = ("modification", "configuration", "ias [   ]", "surface", "span_station [   ]", "chord_station [%]")
    lines = max(3, min(12, int((y - 24) / 7)))
    paper.table(LEFT, y, [WIDTH / len(heads)] * len(heads), heads, [[""] * len(heads)] * lines, least=7.0)


def _table(paper: Paper, rows, y: float) -> float:
    """Distances from the leading edge; returns the baseline below."""
    heads = ["span [m]", "chord [m]", *(f"{100 * x:.0f} %" for x in CHORD_STATIONS), "tuft [mm]"]
    cells = [
        [f"{at:.2f}", f"{chord:.2f}", *(f"{from_si(x, 'mm', 'length'):.0f}" for x in (*backs, LENGTH * chord))]
        for at, chord, backs in rows
    ]
    y = paper.table(LEFT, y, [WIDTH / len(heads)] * len(heads), heads, cells, 7.5, 5.0) - 4.0
    paper.text(LEFT, y, "under the percentages: millimeters behind the leading edge, along the chord", 7, color=GREY)
    return y - 3.0
