"""Measuring sheet, pages 3 and 4: tail and controls, weighing and indicator."""

from __future__ import annotations

import numpy as np

from aerolib.show.print import drawings
from aerolib.show.print import sheet_parts as parts
from aerolib.show.print.drawings import DATUM, GREY, INK, turned


def controls(paper, number):
    parts.frame(
        paper, number, "Measuring sheet: tail and controls",
        "Tail, elevator stops and flap angles: they decide whether the wing or the elevator ends a stall.",
    )  # fmt: skip
    top, split = 262.0, 211.0
    for x, y, words in (
        (parts.LEFT, top, "tailplane from above"),
        (108.0, top, "elevator stops"),
        (parts.LEFT, split, "flap angles, one for each setting"),
        (108.0, split, "gap at the elevator hinge"),
    ):
        paper.text(x, y - 2.5, words, 7.5, weight="bold")
    # Tailplane with elevator, seen from above, the nose towards the top of the page.
    middle, edge = 54.0, 248.0
    half = drawings.smooth([(22.0, 0.0), (34.0, -3.5), (37.5, -8.0), (38.0, -13.0)])
    back = drawings.smooth([(38.0, -13.0), (37.6, -20.0), (34.0, -25.0), (20.0, -26.5), (4.5, -25.0)])
    right = np.vstack([[(0.0, 0.0)], half, back, [(2.5, -18.0), (0.0, -18.0)]])
    outline = np.vstack([right, (right * (-1, 1))[::-1]]) + (middle, edge)
    paper.line(outline, INK, 1.1, fill="white", closed=True)
    paper.line([(middle - 38.0, edge - 14.5), (middle + 38.0, edge - 14.5)], INK, 0.7)
    paper.line([(middle - 38.0, edge - 15.3), (middle + 38.0, edge - 15.3)], INK, 0.5)
    body = np.array([(-3.6, 6.0), (-3.0, -2.0), (-1.4, -18.0), (1.4, -18.0), (3.0, -2.0), (3.6, 6.0)])
    paper.line(body + (middle, edge), INK, 0.9, fill="white", closed=True, layer=3)
    paper.line([(middle, edge + 7.0), (middle, edge - 30.0)], GREY, 0.6, parts.CENTER_LINE, layer=4)
    paper.dimension((middle - 38.0, edge - 29.5), (middle + 38.0, edge - 29.5), "A", at=0.3)
    for x in (middle - 38.0, middle + 38.0):
        paper.line([(x, edge - 12.0), (x, edge - 31.0)], GREY, 0.5, layer=1)
    paper.dimension((middle - 19.0, edge), (middle - 19.0, edge - 26.5), "B", at=0.32)
    paper.dimension((middle + 19.0, edge - 14.9), (middle + 19.0, edge - 26.5), "C")
    _travels(paper, np.array([157.0, 238.0]), np.array([66.0, 195.0]))
    _gap(paper, np.array([157.0, 188.0]))
    end = parts.table_of(paper, 164.0, parts.CONTROL_ROWS, 62.0)
    end = paper.table(
        parts.LEFT, end - 3.5, (40.0, *[22.0] * 7), ("flap setting", "0", "1", "2", "3", "4", "5", "6"),
        [("left flap", *[""] * 7), ("right flap", *[""] * 7)],
    )  # fmt: skip
    paper.wrapped(parts.LEFT, end - 4.2, parts.WITHIN, parts.RIGHT - parts.LEFT, 6.7, GREY)


def _travels(paper, elevator, flap):
    """Elevator between its stops, and flap at three settings, from the side; hinges at two points [mm]."""
    section, radius, length = drawings.aerofoil(70.0, 0.10, 0.0), 2.9, 28.0
    paper.line(drawings.in_front(section, 42.0, radius + 0.8) + elevator - (42.0, 0), INK, 1.1, closed=True)
    for turn in (27.0, -21.0, 0.0):
        shape = turned(drawings.hinged(length, radius), turn) + elevator
        paper.line(shape, INK, 0.9 if turn else 1.1, parts.DASHES if turn else "-", closed=True)
    paper.line([elevator, elevator + (38.0, 0)], GREY, 0.5, parts.DASHES, layer=3)
    paper.circle(elevator, 0.7, INK, layer=5)
    paper.angle(elevator, 31.0, 0.0, 27.0, "D", 4.0)
    paper.angle(elevator, 31.0, 0.0, -21.0, "E", 4.0)
    lean = float(np.degrees(np.arcsin(radius / length)))
    foot = turned([(9.0, radius * (1 - 9.0 / length) + 0.1)], 27.0)[0] + elevator
    paper.level(*foot, 27.0 - lean, 14.0)
    paper.text(110.0, 253.6, "level on a straightedge along the elevator;", 6.7)
    paper.text(110.0, 250.4, "zero it with the elevator neutral", 6.7)
    section, radius, length = drawings.aerofoil(78.0, 0.13, 0.025), 3.0, 25.0
    axis = np.array([54.0, 1.2])
    paper.line(drawings.in_front(section, axis[0], radius + 0.8) + flap - axis, INK, 1.1, closed=True)
    for turn in (-35.0, -18.0, 0.0):
        shape = turned(drawings.hinged(length, radius), turn - 2.5) + flap
        paper.line(shape, INK, 0.9 if turn else 1.1, parts.DASHES if turn else "-", closed=True)
    paper.line([flap, flap + turned([(38.0, 0)], -2.5)[0]], GREY, 0.5, parts.DASHES, layer=3)
    paper.circle(flap, 0.7, INK, layer=5)
    paper.angle(flap, 28.0, -2.5, -20.5, "F", -0.2)
    paper.angle(flap, 34.0, -2.5, -37.5, None)
    paper.letter(*(flap + turned([(34.0, 0)], -30.0)[0]), "G")
    paper.text(14.0, 176.0, "level on the lower side of the flap", 6.7)


def _gap(paper, center):
    """The gap between tailplane and elevator, enlarged."""
    turn = np.radians(np.linspace(130.0, 230.0, 24))
    hollow = np.array([12.0, 0.0]) + 10.8 * np.column_stack([np.cos(turn), np.sin(turn)])
    front = np.vstack([drawings.smooth([(-40.0, 9.4), (-15.0, 9.8), hollow[0]]), hollow])
    front = np.vstack([front, drawings.smooth([hollow[-1], (-15.0, -9.8), (-40.0, -9.4)])])
    turn = np.radians(np.linspace(85.0, 275.0, 30))
    nose = np.array([12.0, 0.0]) + 8.2 * np.column_stack([np.cos(turn), np.sin(turn)])
    rear = np.vstack([[(40.0, 4.6)], nose, [(40.0, -4.6)]])
    paper.line(front + center, INK, 1.1)
    paper.line(rear + center, INK, 1.1)
    paper.circle(center + (12.0, 0), 0.7, INK, layer=5)
    paper.arrow(center + (-9.0, 0), center + (1.2, 0))
    paper.arrow(center + (10.2, 0), center + (3.8, 0))
    paper.letter(center[0] - 10.5, center[1], "H")
    paper.text(center[0] - 27.0, center[1] - 1.0, "tailplane", 6.7, "center")
    paper.text(center[0] + 27.0, center[1] - 1.0, "elevator", 6.7, "center")


def weighing(paper, number):
    parts.frame(
        paper, number, "Measuring sheet: weighing, indicator",
        "Empty weight, center of gravity, and how the indicator was read: both go straight into CLmax.",
    )  # fmt: skip
    scale, floor = 16.2, 218.5
    wheel, tail = drawings.WHEEL, drawings.TAIL_WHEEL
    nose = 30.0

    def place(points):
        p = np.asarray(points, dtype=float)
        return np.column_stack([nose + scale * p[:, 0], floor + 2.6 + scale * (p[:, 1] - (wheel[1] - wheel[2]))])

    paper.ground(14.0, 148.0, floor)
    drawings.side_view(paper, place)
    paper.line(place([(0.4, 0.0), (6.95, 0.0)]), DATUM, 1.1, parts.CENTER_LINE, layer=4)
    main, rear = place([wheel[:2]])[0], place([tail[:2]])[0]
    paper.box(main[0] - 7.0, floor, 14.0, 2.6, "0.88", 0.8)
    under = rear[1] - tail[2] * scale
    paper.line([(rear[0] - 5.0, under - 2.6), (rear[0] - 7.5, floor)], INK, 1.0)
    paper.line([(rear[0] + 5.0, under - 2.6), (rear[0] + 7.5, floor)], INK, 1.0)
    paper.box(rear[0] - 6.5, under - 2.6, 13.0, 2.6, "0.88", 0.8)
    paper.level(*place([(3.05, 0.0)])[0], 0.0, 14.0)
    datum = place([(1.0, 0.0)])[0, 0]
    paper.line([(datum, floor - 11.0), (datum, 258.0)], DATUM, 0.9, layer=4)
    paper.text(datum - 2.0, 259.4, "reference datum", 6.7, "center")
    for point, y in ((main, floor - 5.0), (rear, floor - 9.5)):
        paper.line([(point[0], floor + 1.0), (point[0], y - 1.2)], GREY, 0.5, layer=3)
        paper.arrow((datum, y), (point[0], y))
    paper.letter(main[0] + 3.8, floor - 5.0, "A")
    paper.letter(0.5 * (datum + rear[0]), floor - 9.5, "B")
    notes = (
        "Level: digital level on the leveling line,",
        "and one across the cabin.",
        "Scales: one under each wheel, brakes off,",
        "chocks on the scale. Their weight, and the",
        "block's under the tail, is the tare.",
        "Inside a closed hall, no wind.",
        "Stations: plumb line, aft is plus.",
    )
    for k, words in enumerate(notes):
        paper.text(151.5, 259.0 - 3.5 * k, words, 6.6)
    end = paper.table(
        parts.LEFT, 205.5, (7.0, 42.0, 28.0, 28.0, 29.0, 30.0, 30.0),
        ("", "wheel", "scale reads", "tare", "net = reads - tare", "station", "net x station"),
        [("A", "left main", "", "", "", "", ""), ("A", "right main", "", "", "", "", ""),
         ("B", "tail or nose", "", "", "", "", ""), ("", "sum", "", "-", "", "-", "")],
    )  # fmt: skip
    weight = sum(w for _, w, _ in parts.WEIGHING_EXAMPLE)
    moment = sum(w * s for _, w, s in parts.WEIGHING_EXAMPLE)
    at = end - 4.4
    paper.text(parts.LEFT, at, "CG = sum of (net x station) / sum of net", 8, weight="bold")
    worked = (
        "Worked line (invented): ("
        + " + ".join(f"{w:.0f} x {s:.2f}" for _, w, s in parts.WEIGHING_EXAMPLE)
        + f") kg m / ({' + '.join(f'{w:.0f}' for _, w, _ in parts.WEIGHING_EXAMPLE)}) kg = {moment:.1f} / "
        f"{weight:.0f} = {moment / weight:.3f} m aft of the datum."
    )
    at = paper.wrapped(parts.LEFT, at - 4.0, worked, parts.RIGHT - parts.LEFT, 7.0)
    end = parts.table_of(paper, at - 0.2, parts.WEIGHING_ROWS, 66.0)
    _who(paper, end - 3.0)


def _who(paper, top):
    """The box for date, who and equipment."""
    height = top - 28.0
    paper.box(parts.LEFT, 28.0, parts.RIGHT - parts.LEFT, height, line=0.8)
    fields = (
        ("date and place", "who measured"),
        ("scales: maker, last check", "level and tape"),
        ("aboard when weighed", "fuel and oil"),
    )
    step = height / len(fields)
    for k, pair in enumerate(fields):
        y = top - k * step
        if k:
            paper.line([(parts.LEFT, y), (parts.RIGHT, y)], INK, 0.4)
        for x, words in zip((parts.LEFT, 108.0), pair):
            paper.text(x + 1.2, y - 3.2, words, 6.7, color=GREY)
    paper.line([(108.0, 28.0), (108.0, top)], INK, 0.4)
