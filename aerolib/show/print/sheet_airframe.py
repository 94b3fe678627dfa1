"""Measuring sheet, pages 1 and 2: the wing from above, the airplane from the side."""

from __future__ import annotations

import numpy as np

from aerolib.show.print import drawings
from aerolib.show.print import sheet_parts as parts
from aerolib.show.print.drawings import DATUM, GREY, INK, MEASURE, turned


def wing(paper, number):
    parts.frame(
        paper, number, "Measuring sheet: wing",
        "Span, chords and area of the wing: an area 1 % too small reads CLmax 1 % too high.",
    )  # fmt: skip
    scale, middle, nose = 17.8, 105.0, 248.0

    def place(points):
        p = np.asarray(points, dtype=float)
        return np.column_stack([middle + scale * p[:, 0], nose - scale * p[:, 1]])

    paper.line(place([(0, -0.35), (0, 3.95)]), GREY, 0.6, parts.CENTER_LINE)
    drawings.planform(paper, place)
    paper.line(place([(0, 1.6), (0, 3.1)]), GREY, 0.6, parts.CENTER_LINE, layer=3)
    front, back = 1.60, 3.10
    (a, b) = place([(-5, front), (5, front)])
    paper.dimension((a[0], 258.5), (b[0], 258.5), "A", at=0.3)
    for x in (a[0], b[0]):
        paper.line([(x, 260), (x, place([(0, front + 0.3)])[0, 1])], GREY, 0.5)
    for y, c, letter, at in ((0.5, 1.5, "B", 0.42), (2.5, 1.487, "C", 0.42), (4.70, 1.10, "D", 0.42)):
        top, low = place([(-y, front), (-y, front + c)])
        paper.dimension(top, low, letter, at=at)
    strips = (0.0, 0.9, 1.8, 2.6, 3.4, 4.1, 4.7, 5.0)
    for k, y in enumerate(strips):
        chord = np.interp(y, [2.4, 4.8], [1.5, 1.1])
        if y < 5.0:
            paper.line(place([(y, front), (y, front + chord)]), MEASURE, 0.7, parts.DASHES, layer=3)
        if k:
            aside = 0.08 if y == 5.0 else 0.0  # clear of the line that marks the span
            paper.text(*place([(y + aside, front - 0.10)])[0], str(k + 1), 6.7, "center", MEASURE)
    paper.text(*place([(0.10, front - 0.10)])[0], "1", 6.7, color=MEASURE)
    paper.letter(*place([(1.12, front + 0.55)])[0], "H")
    paper.text(*place([(1.30, front + 0.59)])[0], "stations", 6.7, clear=True)
    # Ends of flap and aileron, from the centerline, below the wing.
    for row, (letter, inner, outer) in enumerate((("E", 0.55, 2.58), ("F", 2.65, 4.50))):
        y = 3.35 + 0.37 * row
        for x in (inner, outer):
            trailing = np.interp(x, [2.4, 4.8], [back, back - 0.4]) + 0.06
            paper.line(place([(x, trailing), (x, y + 0.06)]), GREY, 0.5, layer=3)
        first, second = place([(inner, y), (outer, y)])
        start = place([(0, y)])[0]
        paper.arrow(start, second)
        paper.arrow(start, first)
        paper.letter(*(0.5 * (first + second)), letter)
    at = place([(-1.1, back - 0.3), (-1.1, back)])
    paper.line([at[0] - (2, 0), at[0] + (2, 0)], GREY, 0.5, layer=3)
    paper.arrow(at[0] + (0, 4.5), at[0])
    paper.arrow(at[1] - (0, 4.5), at[1])
    paper.letter(*(at[1] - (0, 6.2)), "G")
    paper.text(*place([(-4.95, 3.52)])[0], "Seen from above. Shapes and numbers", 6.7, color=GREY)
    paper.text(*place([(-4.95, 3.70)])[0], "on this sheet are invented.", 6.7, color=GREY)
    end = parts.table_of(paper, 174.0, parts.WING_ROWS, 88.0)
    _stations(paper, end - 5.6)


def _stations(paper, top):
    """The small table of stations, the rule, and its worked line."""
    paper.letter(parts.LEFT + 2.3, top + 0.9, "H")
    paper.text(
        parts.LEFT + 6.0, top, "Area by stations: half the wing, from the centerline to the tip", 8, weight="bold"
    )
    head = ("", "1", "2", "3", "4", "5", "6", "7", "8", "9")
    rows = [(name, *[""] * 9) for name in ("y", "c", "strip")]
    low = paper.table(parts.LEFT, top - 2.4, (12.0, *[10.6] * 9), head, rows, least=8.0)
    y, c = zip(*parts.AREA_EXAMPLE)
    strips = [(a + b) / 2 * (q - p) for a, b, p, q in zip(c, c[1:], y, y[1:])]
    x, line = parts.LEFT + 112.0, 3.5
    at = top - 4.2
    for words in (
        "y: distance from the centerline.  c: chord there.",
        "strip = (c before + c here) / 2 x (y here - y before)",
        "area S = 2 x (sum of the strips)",
    ):
        paper.text(x, at, words, 7.2, weight="bold" if "=" in words else "normal")
        at -= line
    at = paper.wrapped(
        x, at - 0.6,
        "Station 1 is the centerline, y = 0: carry both edges straight on through the fuselage. Put a station "
        "wherever an edge bends, and the last one at the very tip; a rounded tip ends with c = 0.",
        82.0, 7.0,
    )  # fmt: skip
    worked = (
        "Worked line (invented): y " + ", ".join(f"{v:.2f}" for v in y) + " m; c "
        + ", ".join(f"{v:.2f}" for v in c) + " m; strips " + " + ".join(f"{s:.2f}" for s in strips)
        + f" = {sum(strips):.2f} m2; S = 2 x {sum(strips):.2f} = {parts.trapezoids(parts.AREA_EXAMPLE):.2f} m2."
    )  # fmt: skip
    at = paper.wrapped(parts.LEFT, min(low, at + 1.2) - 4.4, worked, parts.RIGHT - parts.LEFT, 6.7)
    paper.wrapped(parts.LEFT, at - 1.0, parts.WITHIN, parts.RIGHT - parts.LEFT, 6.7, GREY)


def side(paper, number):
    parts.frame(
        paper, number, "Measuring sheet: side view",
        "Angles and heights: how the wing sits on the airplane, and how the airplane sits on the ground.",
    )  # fmt: skip
    scale, floor = 21.5, 201.0
    pitch = drawings.GROUND_ANGLE
    wheel = drawings.WHEEL

    def place(points):
        p = turned(np.asarray(points, dtype=float), -pitch, wheel[:2]) - (wheel[0], wheel[1] - wheel[2])
        return np.array([62.0, floor]) + scale * p

    paper.ground(12.0, 198.0, floor)
    drawings.side_view(paper, place)
    ends = place([(0.4, 0), (6.45, 0)])
    slope = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    # The leveling line meets the ground behind the tail: that is where the ground angle is drawn.
    meets = ends[0] + slope * (ends[0][1] - floor) / -slope[1]
    stop = min(meets[0], 199.0)
    datum_end = ends[0] + slope * (stop - ends[0][0]) / slope[0]
    paper.line([ends[0], datum_end], DATUM, 1.1, parts.CENTER_LINE, layer=4)
    paper.letter(*place([(1.0, 0.0)])[0], "A", DATUM)
    x, z, chord, incidence = drawings.WING_SIDE
    forward = turned([(x - 0.55, z), (x + chord + 0.75, z)], -incidence, (x, z))
    paper.line(place(forward), MEASURE, 0.9, parts.DASHES, layer=4)
    parallel = np.array([(x + chord + 0.75, z), (x, z)])
    paper.line(place(parallel), DATUM, 0.7, parts.CENTER_LINE, layer=4)
    start = place([(x, z)])[0]
    paper.angle(start, scale * (chord + 0.55), -pitch, -pitch - incidence, None)
    paper.letter(*(place([(x + chord + 1.0, z - 0.03)])[0]), "B")
    # Ground angle of the leveling line, drawn against a level line near the tail.
    pivot = place([(3.3, 0.0)])[0]
    paper.line([pivot, pivot + (34, 0)], GREY, 0.6, parts.DASHES, layer=4)
    paper.angle(pivot, 31.0, 0.0, -pitch, "C", 4.0)
    eye = place([(2.32, 0.55)])[0]
    paper.circle(eye, 0.8, INK, layer=5)
    paper.line([eye, (31.0, eye[1])], GREY, 0.5, layer=3)
    paper.dimension((32.0, floor), (32.0, eye[1]), "E")
    quarter = turned([(x + chord / 4, z)], -incidence, (x, z))
    tail_x, tail_z, tail_chord = drawings.TAIL_SIDE
    tail_quarter = np.array([(tail_x + tail_chord / 4, tail_z)])
    paper.circle(place(quarter)[0], 0.7, INK, layer=5)
    paper.circle(place(tail_quarter)[0], 0.7, INK, layer=5)
    high = 1.62
    for point in (quarter[0], tail_quarter[0]):
        paper.line(place([point, (point[0], high + 0.06)]), GREY, 0.5, layer=3)
    paper.dimension(place([(quarter[0, 0], high)])[0], place([(tail_quarter[0, 0], high)])[0], "F")
    corner = place(quarter)[0]
    paper.line([corner, (15.0, corner[1])], GREY, 0.5, layer=1)
    paper.dimension((16.0, floor), (16.0, corner[1]), "G")
    hub = place([(-0.16, 0.0)])[0]
    thrust = place([(-0.50, -0.02), (0.75, 0.05)])
    paper.line(thrust, MEASURE, 0.9, parts.DASHES, layer=4)
    paper.letter(*(hub + (-9.4, 2.2)), "H")
    _signs(paper)
    end = parts.table_of(paper, 146.5, parts.SIDE_ROWS, 37.0)
    paper.wrapped(parts.LEFT, end - 4.2, parts.WITHIN, parts.RIGHT - parts.LEFT, 6.7, GREY)


def _signs(paper):
    """Three small drawings: chord line by template, gear loaded and extended, signs."""
    top, low = 190.0, 150.5
    for x1, x2, words in (
        (parts.LEFT, 83.0, "chord line: template and level"),
        (87.0, 141.0, "gear: loaded C, extended D"),
        (145.0, parts.RIGHT, "signs, nose to the left"),
    ):
        paper.box(x1, low, x2 - x1, top - low, line=0.5, color=GREY)
        paper.text(x1 + 2.0, top - 4.0, words, 7.2, weight="bold")
    lean, nose = -4.0, np.array([14.0, 166.5])
    wing = turned(drawings.aerofoil(52.0), lean) + nose
    paper.line(wing, INK, 1.1, fill="white", closed=True)
    chord = turned([(-4.0, 0), (60.0, 0)], lean) + nose
    paper.line(chord, MEASURE, 0.9, parts.DASHES, layer=4)
    # The template stands off the chord line by the same height at both ends, so its edge is parallel to it.
    outer, inner = [(-2.0, -2.5), (-2.0, 12.0), (54.0, 12.0), (54.0, -2.5)], [(51.5, -2.5), (51.5, 9.0), (0.5, 9.0)]
    frame = turned([*outer, *inner, (0.5, -2.5)], lean)
    paper.line(frame + nose, GREY, 0.8, fill="0.88", closed=True, layer=1)
    paper.level(*(turned([(18.0, 12.0)], lean)[0] + nose), lean, 17.0)
    paper.text(14.0, 157.6, "equal feet: the template's edge is", 6.5)
    paper.text(14.0, 154.4, "parallel to the chord line (dashed)", 6.5)
    floor = 157.0
    paper.ground(91.0, 138.0, floor)
    for x, drop, style, words in ((101.0, 0.0, "-", "C"), (126.0, 5.0, parts.DASHES, "D")):
        hub = floor + 5.0
        body = hub + 9.0 + drop
        paper.line([(x - 9.0, body + 3.5), (x - 9.0, body), (x + 9.0, body), (x + 9.0, body + 3.5)], INK, 1.0)
        paper.line([(x - 2.5, body), (x, hub), (x + 2.5, body)], INK, 1.5, style)
        paper.circle((x, hub), 5.0, "0.8", 1.0)
        paper.circle((x, hub), 1.7, "white", 0.8)
        paper.letter(x + 9.0, hub, words)
    paper.line([(110.0, floor + 14.0), (117.0, floor + 14.0)], GREY, 0.5, parts.DASHES)
    paper.arrow((113.5, floor + 14.0), (113.5, floor + 19.0))
    center = np.array([187.0, 166.0])
    paper.line([center, center - (36.0, 0)], DATUM, 1.1, parts.CENTER_LINE)
    paper.line([center, center + turned([(-36.0, 0)], -16.0)[0]], INK, 1.0)
    paper.line([center, center + turned([(-36.0, 0)], 16.0)[0]], INK, 1.0)
    paper.angle(center, 29.0, 180.0, 164.5)
    paper.angle(center, 29.0, 180.0, 195.5)
    paper.text(center[0] - 26.5, center[1] + 2.6, "+", 11, weight="bold")
    paper.text(center[0] - 26.5, center[1] - 5.2, "-", 11, weight="bold")
    paper.text(center[0] - 20.0, center[1] + 12.0, "nose or leading", 6.7)
    paper.text(center[0] - 20.0, center[1] + 9.0, "edge up: plus", 6.7)
    paper.text(center[0] - 20.0, center[1] - 10.5, "down: minus", 6.7)
