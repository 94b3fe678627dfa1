"""Drawing in millimetres on paper: lines, dimension lines, angles, wrapped text, tables, an invented airplane."""

from __future__ import annotations

import functools
import io
import math
from collections.abc import Callable, Sequence
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from aerolib.show.media import printable

INK, GREY, PALE = "black", "0.35", "0.93"
MEASURE, DATUM = "#0072B2", "#D55E00"  # blue and vermilion of Okabe and Ito
MM_PER_POINT = 25.4 / 72.0
LEADING = 1.28  # line to line, in font sizes
HEAD_LENGTH, HEAD_WIDTH = 1.3, 0.5  # of an arrow [mm], the width to either side


class Paper:
    """One page whose coordinates are millimetres from its lower left corner; what is put on it is drawn by layers."""

    def __init__(self, width: float, height: float):
        self.width, self.height = width, height
        self._put: list[tuple[int, Callable]] = []

    def draw_on(self, canvas) -> None:
        """Everything put on the page, the lower layers first, on a canvas of reportlab."""
        canvas.setPageSize((self.width / MM_PER_POINT, self.height / MM_PER_POINT))
        canvas.scale(1.0 / MM_PER_POINT, 1.0 / MM_PER_POINT)
        canvas.setLineJoin(1)
        for _, draw in sorted(self._put, key=lambda x: x[0]):
            draw(canvas)
        canvas.showPage()

    def put(self, draw: Callable, layer: int = 6) -> None:
        """What `draw(canvas)` draws, in millimeters."""
        self._put.append((layer, draw))

    def text(self, x, y, words, size=7.0, at="left", color=INK, weight="normal", level="baseline", clear=False):
        """One line of text at a point [mm]; `clear` whitens what lies below it."""
        words = printable(words)
        wide = text_width(words, size, weight)
        left = x - {"left": 0.0, "center": 0.5, "right": 1.0}[at] * wide
        base = y - (0.0 if level == "baseline" else 0.36 * size * MM_PER_POINT)

        def draw(canvas):
            if clear:
                canvas.setFillColor("white")
                canvas.rect(left - 0.3, base - 0.3 * size * MM_PER_POINT, wide + 0.6, 1.2 * size * MM_PER_POINT, 0, 1)
            canvas.setFillColor(_color(color))
            canvas.setFont(_font(weight), size * MM_PER_POINT)
            canvas.drawString(left, base, words)

        self._put.append((6, draw))

    def wrapped(self, x, y, words, width, size=7.0, color=INK, weight="normal"):
        """Text in lines no wider than `width` [mm], the first baseline at y; returns the baseline below the last."""
        for line in wrap(words, width, size, weight):
            self.text(x, y, line, size, color=color, weight=weight)
            y -= size * MM_PER_POINT * LEADING
        return y

    def line(self, points, color=INK, width=0.9, style="-", fill=None, closed=False, layer=2):
        """A polyline through points (n, 2) [mm], or a polygon."""
        points = np.asarray(points, dtype=float)
        closed = closed or bool(fill)

        def draw(canvas):
            _pen(canvas, color, width, style)
            path = canvas.beginPath()
            path.moveTo(*points[0])
            for point in points[1:]:
                path.lineTo(*point)
            if closed:
                path.close()
            filled = closed and fill not in (None, "none")
            if filled:
                canvas.setFillColor(_color(fill))
            canvas.drawPath(path, stroke=int(width > 0), fill=int(filled))

        self._put.append((layer, draw))

    def circle(self, center, radius, fill="white", width=0.9, color=INK, style="-", layer=2):
        """A circle [mm]."""

        def draw(canvas):
            _pen(canvas, color, width, style)
            canvas.setFillColor(_color(fill))
            canvas.circle(*center, radius, stroke=int(width > 0), fill=1)

        self._put.append((layer, draw))

    def box(self, x, y, width, height, fill="none", line=0.6, color=INK):
        """A rectangle from its lower left corner [mm]."""
        self.line(
            [(x, y), (x + width, y), (x + width, y + height), (x, y + height)], color, line, fill=fill, closed=True
        )

    def letter(self, x, y, letter, color=MEASURE):
        """A letter in a ring: what a row of the table refers to."""
        self.circle((x, y), 2.2, width=0.9, color=color, layer=5)
        self.text(x, y, letter, 7.5, "center", weight="bold", level="center_baseline")

    def arrow(self, start, end, color=MEASURE, style="-|>", width=0.8):
        """A straight arrow [mm], with a head at its start as well where the style is '<|-|>'."""
        start, end = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
        along = (end - start) / np.hypot(*(end - start))
        across = HEAD_WIDTH * np.array([-along[1], along[0]])
        self.line([start, end], color, width, layer=4)
        for tip, back in ((end, -1.0), (start, 1.0)) if style.startswith("<") else ((end, -1.0),):
            foot = tip + back * HEAD_LENGTH * along
            self.line([tip, foot + across, foot - across], color, 0.2, fill=color, layer=4)

    def dimension(self, a, b, letter, offset=0.0, at=0.5, witness=True):
        """A dimension line from a to b [mm], moved `offset` to its left, its letter at the share `at`."""
        a, b = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
        along = (b - a) / np.hypot(*(b - a))
        side = np.array([-along[1], along[0]]) * offset
        if witness and offset:
            beyond = side * (1 + 1.2 / abs(offset))
            for point in (a, b):
                self.line([point + side * min(1.0, 1.0 / abs(offset)), point + beyond], GREY, 0.5, layer=3)
        self.arrow(a + side, b + side, style="<|-|>")
        x, y = a + side + at * (b - a)
        self.letter(x, y, letter)

    def angle(self, center, radius, start, end, letter=None, out=0.0, color=MEASURE):
        """An arc with an arrow head from `start` to `end` [deg], its letter `out` [mm] beyond the middle."""
        turn = np.radians(np.linspace(start, end, 40))
        points = np.asarray(center) + radius * np.column_stack([np.cos(turn), np.sin(turn)])
        self.line(points, color, 0.8, layer=4)
        self.arrow(points[-4], points[-1], color)
        if letter:
            middle = math.radians(0.5 * (start + end))
            reach = radius + out
            self.letter(center[0] + reach * math.cos(middle), center[1] + reach * math.sin(middle), letter)

    def level(self, x, y, turn=0.0, length=15.0):
        """A digital level standing on a surface at (x, y), turned by `turn` [deg]."""
        body = turned([(0, 0), (length, 0), (length, 3.2), (0, 3.2)], turn) + (x, y)
        window = turned([(0.3 * length, 0.7), (0.7 * length, 0.7), (0.7 * length, 2.5), (0.3 * length, 2.5)], turn)
        self.line(body, INK, 0.8, fill=PALE, closed=True, layer=3)
        self.line(window + (x, y), INK, 0.6, fill="white", closed=True, layer=4)

    def ground(self, x1, x2, y):
        """The ground: a line with hatching below it."""
        self.line([(x1, y), (x2, y)], INK, 1.0)
        for x in np.arange(x1 + 2.0, x2, 3.2):
            self.line([(x, y), (x - 1.4, y - 1.4)], GREY, 0.4)

    def table(self, x, top, widths, head, rows, size=6.7, least=6.4, until=None):
        """A ruled table; a cell is text, and wraps. Returns its lower edge [mm].

        With `until`, rows grow towards that lower edge, by 3 mm at most: room to write by hand.
        """
        step, pad = size * MM_PER_POINT * LEADING, 1.0
        weights = ["bold"] + ["normal"] * len(rows)
        cells = [
            [wrap(c, w - 2 * pad, size, weight) for c, w in zip(row, widths)]
            for row, weight in zip([head, *rows], weights)
        ]
        heights = [max(least, max(map(len, row)) * step + 1.9) for row in cells]
        if until is not None:
            spare = (top - until - sum(heights)) / len(rows)
            heights[1:] = [h + min(3.0, max(0.0, spare)) for h in heights[1:]]
        y, right = top, x + sum(widths)
        self.box(x, y - heights[0], right - x, heights[0], PALE, 0)
        self.line([(x, top), (right, top)], INK, 0.8)
        for row, height, weight in zip(cells, heights, weights):
            left = x
            for j, (lines, width) in enumerate(zip(row, widths)):
                base = y - 0.5 * (height - (len(lines) - 1) * step) - 0.36 * size * MM_PER_POINT
                at, start = ("center", left + width / 2) if j == 0 else ("left", left + pad)
                for i, words in enumerate(lines):
                    self.text(start, base - i * step, words, size, at, weight="bold" if j == 0 else weight)
                left += width
            y -= height
            self.line([(x, y), (right, y)], INK, 0.4)
        self.line([(x, top - heights[0]), (right, top - heights[0])], INK, 0.8)
        for edge in x + np.concatenate([[0.0], np.cumsum(widths)]):
            self.line([(edge, top), (edge, y)], INK, 0.4)
        return y


def wrap(words: str, width: float, size: float, weight: str = "normal") -> list[str]:
    """Lines no wider than `width` [mm] in the default font at `size` [points]; a new line in the text is kept."""
    lines = []
    for paragraph in words.split("\n"):
        line = ""
        for word in paragraph.split(" "):
            longer = f"{line} {word}" if line else word
            if line and text_width(longer, size, weight) > width:
                lines.append(line)
                longer = word
            line = longer
        lines.append(line)
    return lines


@functools.lru_cache(maxsize=8192)  # the same words stand on both papers and both sides
def text_width(words: str, size: float, weight: str = "normal") -> float:
    """Width [mm] of one line in the font of the sheets at `size` [points]."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return stringWidth(words, _font(weight), size) * MM_PER_POINT


def pdf_of(pages: Sequence[Paper], title: str, progress: Callable[[int, int], None] | None = None) -> bytes:
    """Pages [mm] as a PDF [-], the same bytes each time; `progress` is told pages drawn and pages in all."""
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    for number, page in enumerate(pages, start=1):
        page.draw_on(canvas)
        if progress is not None:
            progress(number, len(pages))
    canvas.save()
    return out.getvalue()


@functools.cache
def _font(weight: str) -> str:
    """The face that matplotlib ships: it holds the letters of most owners' languages, and stays text in the file."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    name = "DejaVuSans-Bold" if weight == "bold" else "DejaVuSans"
    spec = find_spec("matplotlib")  # looked up, not imported: that would cost half a second
    assert spec is not None and spec.origin is not None
    pdfmetrics.registerFont(TTFont(name, Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf" / f"{name}.ttf"))
    return name


def _color(given: str):
    """'0.35' is a grey, '#0072B2' and 'white' are colors."""
    from reportlab.lib.colors import Color, toColor

    try:
        return Color(*[float(given)] * 3)
    except ValueError:
        return toColor(given)


def _pen(canvas, color, width: float, style) -> None:
    """Width [points] and dashes, which grow with it."""
    wide = width * MM_PER_POINT
    canvas.setStrokeColor(_color(color))
    canvas.setLineWidth(wide)
    canvas.setLineCap(1 if style == "-" else 0)
    canvas.setDash([] if style == "-" else [x * wide for x in style[1]])


def turned(points, degrees: float, about=(0.0, 0.0)):
    """Points (n, 2) turned anticlockwise about a point."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return (np.asarray(points, dtype=float) - about) @ np.array([[c, s], [-s, c]]) + about


def smooth(points, closed: bool = False, steps: int = 12):
    """A curve through points (n, 2), by Catmull and Rom."""
    p = np.asarray(points, dtype=float)
    p = np.vstack([p[-1], p, p[:2]]) if closed else np.vstack([2 * p[0] - p[1], p, 2 * p[-1] - p[-2]])
    t = np.linspace(0.0, 1.0, steps, endpoint=False)[:, None]
    pieces = [
        0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
        for a, b, c, d in zip(p, p[1:], p[2:], p[3:])
    ]
    return np.vstack([*pieces, p[-2]])


def aerofoil(chord: float, thickness: float = 0.12, camber: float = 0.025, stations: int = 40):
    """Outline (n, 2) of a four-digit section: leading edge at the origin, trailing edge at (chord, 0)."""
    x = 0.5 * (1 - np.cos(np.linspace(0, np.pi, stations)))
    half = 5 * thickness * (0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)
    p = 0.4
    mean = np.where(x < p, camber / p**2 * (2 * p * x - x**2), camber / (1 - p) ** 2 * (1 - 2 * p + 2 * p * x - x**2))
    upper, lower = np.column_stack([x, mean + half]), np.column_stack([x, mean - half])
    return chord * np.vstack([upper[::-1], lower[1:]])


# An invented airplane: high wing, tail wheel. Metres; x aft of the spinner, z above the leveling line.
WHEEL, TAIL_WHEEL = (1.45, -1.12, 0.26), (6.10, -0.22, 0.10)  # axle and radius
WING_SIDE = (1.62, 0.78, 1.50, 3.5)  # leading edge, chord, incidence [deg] (drawn large enough to be seen)
TAIL_SIDE = (5.35, 0.18, 0.90)
GROUND_ANGLE = math.degrees(
    math.asin(((TAIL_WHEEL[1] - TAIL_WHEEL[2]) - (WHEEL[1] - WHEEL[2])) / (TAIL_WHEEL[0] - WHEEL[0]))
)


def side_view(paper: Paper, place, gear: bool = True):
    """Draw the airplane from its left side; `place` maps metres (n, 2) of its own axes to paper [mm]."""
    nose = [(0.10, 0.10), (0.35, 0.22), (1.10, 0.33), (1.34, 0.38)]
    roof = [(1.70, 0.71), (2.30, 0.70), (3.00, 0.66), (3.60, 0.54), (4.50, 0.38), (5.60, 0.26), (6.35, 0.22)]
    keel = [(6.35, 0.02), (5.40, -0.12), (3.60, -0.40), (2.20, -0.52), (1.30, -0.52), (0.70, -0.42), (0.28, -0.24)]
    body = np.vstack([smooth(nose), smooth(roof), smooth([*keel, (0.10, -0.10)])])
    scale = float(np.hypot(*(place([(1, 0)]) - place([(0, 0)]))[0]))
    if gear:
        for x, z, r in (WHEEL, TAIL_WHEEL):
            paper.circle(place([(x, z)])[0], r * scale, "0.8", 1.1)
            paper.circle(place([(x, z)])[0], 0.35 * r * scale, "white", 0.8)
        paper.line(place([(1.62, -0.50), (WHEEL[0], WHEEL[1]), (1.95, -0.52)]), INK, 1.6)
        paper.line(place([(5.85, -0.06), (TAIL_WHEEL[0], TAIL_WHEEL[1])]), INK, 1.6)
    fin = smooth([(5.35, 0.28), (5.75, 0.62), (6.02, 1.12), (6.25, 1.20)])
    paper.line(place(np.vstack([fin, [(6.30, 1.20), (6.35, 0.02)]])), INK, 0.9, fill="white", closed=True)
    rudder = smooth([(6.30, 1.20), (6.55, 1.12), (6.66, 0.75), (6.62, 0.2), (6.35, -0.02)])
    paper.line(place(rudder), INK, 0.9, fill="white", closed=True)
    paper.line(place(body), INK, 1.1, fill="white", closed=True)
    spinner = smooth([(0.10, 0.10), (-0.08, 0.06), (-0.16, 0.0), (-0.08, -0.06), (0.10, -0.10)])
    paper.line(place(spinner), INK, 0.9, fill="white", closed=True)
    paper.line(place([(0.02, -0.85), (0.02, 0.85)]), GREY, 1.4)
    window = [(1.42, 0.34), (1.74, 0.66), (2.60, 0.62), (3.02, 0.58), (3.20, 0.34)]
    paper.line(place(window), INK, 0.7, fill=PALE, closed=True)
    paper.line(place([(2.02, 0.34), (2.02, 0.65)]), INK, 0.7)
    paper.line(place([(1.74, -0.51), (2.30, 0.74)]), INK, 1.1)  # strut
    x, z, chord, incidence = WING_SIDE
    outline = turned(aerofoil(chord) + (x, z), -incidence, (x, z))
    paper.line(place(outline), INK, 1.1, fill="white", closed=True, layer=3)
    x, z, chord = TAIL_SIDE
    paper.line(place(aerofoil(chord, 0.09, 0.0) + (x, z)), INK, 0.9, fill="white", closed=True, layer=3)


def planform(paper: Paper, place):
    """Draw nose, wing and the start of the rear fuselage from above; y out to the right, x aft [m]."""
    side = smooth([(0.10, 0.12), (0.30, 0.34), (0.42, 0.9), (0.50, 1.6), (0.50, 2.6), (0.44, 3.4), (0.36, 3.75)])
    waves = smooth([(0.36, 3.75), (0.12, 3.66), (-0.12, 3.84), (-0.36, 3.75)])
    body = np.vstack([side, waves, (side * (-1, 1))[::-1]])
    paper.line(place(body), INK, 1.0, fill="white", closed=True)
    nose = smooth([(-0.10, 0.12), (-0.05, -0.06), (0.0, -0.12), (0.05, -0.06), (0.10, 0.12)])
    paper.line(place(nose), INK, 0.9, fill="white", closed=True)
    paper.line(place([(-0.9, 0.02), (0.9, 0.02)]), GREY, 1.6)
    edge = 1.60
    ends = [(4.40, 0.0), (4.70, 0.01), (4.90, 0.10), (5.00, 0.45), (4.93, 0.88), (4.75, 1.08), (4.40, 1.167)]
    tip = smooth(np.add(ends, (0.0, edge)))
    right = np.vstack([[(0, edge)], tip, [(2.40, edge + 1.50), (0, edge + 1.50)]])
    wing = np.vstack([right, (right * (-1, 1))[::-1]])
    paper.line(place(wing), INK, 1.2, fill="white", closed=True)
    for sign in (-1, 1):
        s = np.array([sign, 1])
        flap = [(0.55, edge + 1.50), (0.55, edge + 1.20), (2.58, edge + 1.20), (2.58, edge + 1.47)]
        aileron = [(2.65, edge + 1.46), (2.65, edge + 1.18), (4.50, edge + 0.86), (4.50, edge + 1.14)]
        paper.line(place(np.array(flap) * s), INK, 0.7)
        paper.line(place(np.array(aileron) * s), INK, 0.7)
    for y in (-0.5, 0.5):  # the fuselage below the wing
        paper.line(place([(y, edge), (y, edge + 1.5)]), GREY, 0.6, (0, (3, 2)))


def hinged(length: float, radius: float):
    """Outline (n, 2) of a control surface from the side: a round nose about its hinge, the origin, and a tail."""
    lean = math.degrees(math.asin(radius / length))
    turn = np.radians(np.linspace(90.0 - lean, 270.0 + lean, 30))
    return np.vstack([radius * np.column_stack([np.cos(turn), np.sin(turn)]), [(length, 0.0)]])


def in_front(section, hinge: float, radius: float):
    """The fixed part of a section ahead of a hinged surface: cut off round the hinge, `radius` away from it."""
    upper, lower = section[section[:, 1] >= 0], section[section[:, 1] < 0]
    keep = np.vstack([upper, lower])
    keep = keep[keep[:, 0] < hinge - 0.8 * radius]
    turn = np.radians(np.linspace(230.0, 130.0, 16))
    return np.vstack([keep, (hinge, 0.0) + radius * np.column_stack([np.cos(turn), np.sin(turn)])])
