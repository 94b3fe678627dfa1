"""Text and tables that wrap and go on to the next page: reportlab's own flowables on pages drawn in millimeters."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from typing import Any
from xml.sax.saxutils import escape

from aerolib.show.media import printable
from aerolib.show.print.drawings import GREY, INK, LEADING, MM_PER_POINT, Paper, _color, _font

Frame = tuple[Paper, float, float, float, float]  # page, left, top, width, bottom [mm]


def paragraph(words: str, size=8.5, color=INK, weight="normal", before="", after=1.2, indent=6.0):
    """Words of a size [points] in a column; `before` stands ahead of the first line, `after` [mm] below the last."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle(
        "", fontName=_font(weight), fontSize=size * MM_PER_POINT, leading=LEADING * size * MM_PER_POINT,
        textColor=_color(color), spaceAfter=after, leftIndent=indent if before else 0.0, bulletFontName=_font("bold"),
        bulletFontSize=size * MM_PER_POINT,
    )  # fmt: skip
    return Paragraph(escape(printable(words)), style, bulletText=printable(before) if before else None)


def grid(rows: Sequence[Sequence[str]], widths: Sequence[float], size=8.0, height=5.0, bold: Sequence[int] = ()):
    """Short cells to the right of columns so wide [mm], the first row a head that every page repeats."""
    from reportlab.platypus import Table

    points = size * MM_PER_POINT
    style = [("FONT", (0, 0), (-1, -1), _font("normal"), points), ("FONT", (0, 0), (-1, 0), _font("bold"), points),
             *(("FONT", (k, 0), (k, -1), _font("bold"), points) for k in bold),
             ("ALIGN", (0, 0), (-1, -1), "RIGHT"), ("LINEBELOW", (0, 0), (-1, -1), 0.08, _color(GREY)),
             *((f"{side}PADDING", (0, 0), (-1, -1), 0.5) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM"))]  # fmt: skip
    cells = [[printable(c) for c in row] for row in rows]
    return Table(cells, widths, [height] * len(rows), repeatRows=1, style=style, hAlign="LEFT")


def flow(items: Sequence[Any], frames: Iterator[Frame]) -> float:
    """Each item below the last, what a frame does not hold in the next one; the last lower edge [mm]."""
    waiting = deque(items)
    page, left, top, width, bottom = next(frames)
    y = top
    while waiting:
        item = waiting.popleft()
        _, height = item.wrap(width, y - bottom)
        if height <= y - bottom:
            y -= height
            page.put(lambda canvas, item=item, x=left, y=y: item.drawOn(canvas, x, y))
            y -= item.getSpaceAfter()
            continue
        pieces = item.split(width, y - bottom)
        if not pieces and y == top:
            raise ValueError("a part of a page is longer than a page")
        waiting.extendleft(reversed(pieces or [item]))
        if not pieces:
            page, left, top, width, bottom = next(frames)
            y = top
    return y
