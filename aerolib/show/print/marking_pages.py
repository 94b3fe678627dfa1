"""The pages of the marking sheet, drawn in millimetres: how to mark, the readings, the tiles."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from aerolib.predicted.layout import CAUTIONS, DeviceLayout, Position
from aerolib.show.layout_words import TRANSFER, ends, mm, moved_or_dropped
from aerolib.show.print.drawings import DATUM, GREY, INK, MEASURE, PALE, Paper
from aerolib.show.print.flowing import Frame, flow, grid, paragraph
from aerolib.units import from_si

EDGE = 10.0  # kept free all round [mm]
TOP, FOOT = 34.0, 26.0  # head and foot of a page [mm]
BAR = 100.0
ROW_ASIDE = 4.0  # of the row line from the middle of the page, forward
PAPER_CHANGES = "Paper changes by about 0.3 %: set each tile on the tape, never on the marks of the tile before."


@dataclass(frozen=True)
class Tile:
    """What one page at true scale shows; lengths in mm along the tape."""

    register: float  # the tape reading its thick line is laid on; 0 on the repeating tile
    marks: tuple[tuple[str, float], ...]  # number, reading
    start: float  # reading at the lower end of the tile
    repeating: bool = False


@dataclass(frozen=True)
class Sheet:
    """One sheet: one side of one row on one kind of paper."""

    layout: DeviceLayout
    width: float  # [mm]
    height: float  # [mm]
    paper: str
    airplane: str
    invented: bool
    tiles: tuple[Tile, ...]

    @property
    def forward(self) -> int:
        """+1 where forward is to the right of the page with the root at its foot, -1 where it is to the left."""
        return 1 if (self.layout.side == "left") != self.layout.underneath else -1


def tile_length(page_height: float) -> float:
    """Length of a tile along the tape [mm], of a page [mm]."""
    return page_height - 2 * EDGE - TOP - FOOT


def tape_behind(page_width: float) -> float:
    """From the row line of a tile back to its scale, where the tape lies [mm], on a page so wide [mm]."""
    return 0.5 * page_width + ROW_ASIDE - EDGE - 12.0


def head_and_foot(page: Paper, sheet: Sheet, number: int, of: int) -> None:
    """What every page of a sheet shows, with its 100 mm bar."""
    a, right, top = sheet.layout, sheet.width - EDGE, sheet.height - EDGE
    page.text(EDGE, top - 7.0, a.side.upper(), 22, weight="bold", color=DATUM)
    page.text(EDGE + 40.0, top - 4.0, plainly(f"Marking sheet: {a.device}", 60), 11, weight="bold")
    where = f"{a.surface}, seen from {'below' if a.underneath else 'above'}"
    page.text(EDGE + 40.0, top - 9.0, plainly(where, 70), 8)
    page.text(right, top - 3.0, f"{number} of {of}, {sheet.paper}", 8, "right")
    page.text(right, top - 8.0, plainly(sheet.airplane, 40), 8, "right")
    if sheet.invented:
        page.text(right, top - 12.5, "INVENTED: mark no airplane from it", 7.5, "right", DATUM, "bold")
    page.line([(EDGE, top - 14.5), (right, top - 14.5)], INK, 0.8)
    left = 0.5 * sheet.width - 0.5 * BAR
    _bar(page, (left, EDGE + 3.0), (left + BAR, EDGE + 3.0))
    words = "This bar must measure 100 mm (99.7 to 100.3): print at 100 %, 'actual size', never fitted to the page."
    page.text(0.5 * sheet.width, EDGE - 1.6, words, 6.7, "center")


def plainly(words: str, most: int) -> str:
    """One line of at most so many letters."""
    words = " ".join(words.split())
    return words if len(words) <= most else words[: most - 1] + "…"


def _bar(page, a, b):
    page.line([a, b], INK, 1.4)
    across = (0.0, 1.8) if a[1] == b[1] else (1.8, 0.0)
    for x, y in (a, b):
        page.line([(x - across[0], y - across[1]), (x + across[0], y + across[1])], INK, 1.0)
    page.text(0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]) + 1.2, "100 mm", 7, "center", clear=True)


def how_to(sheet: Sheet, page: Callable[[], Paper]) -> None:
    """The half wing from above, the numbers, the steps, what was moved or dropped, the cautions: as many pages as it
    takes."""
    a, top = sheet.layout, sheet.height - EDGE - 19.0
    first = page()
    below = _half(first, sheet, top)

    def frames() -> Iterator[Frame]:
        yield first, EDGE, below, sheet.width - 2 * EDGE, EDGE + 9.0
        while True:
            yield page(), EDGE, top, sheet.width - 2 * EDGE, EDGE + 9.0

    remarks = [*moved_or_dropped(a), *a.notes]
    flow(
        [*(paragraph(words, before=name, indent=30.0) for name, words in _numbers(a)),
         *(paragraph(step, before=f"{i}") for i, step in enumerate(_steps(sheet), start=1)),
         *(paragraph(r, 8.0, DATUM if r.startswith(a.side) else INK, before="•", indent=4.0) for r in remarks),
         *(paragraph(c, 8.0, before="!", indent=4.0) for c in CAUTIONS)],
        frames(),
    )  # fmt: skip


def _numbers(a: DeviceLayout) -> list[tuple[str, str]]:
    """What the row is, by name."""
    p = a.positions
    pairs = "" if a.gap is None else f" pairs, {a.vanes} vanes"
    odd = "" if a.even and not a.dropped else "; some moved or dropped, see below"
    skin = TRANSFER
    if a.skin is not None:
        skin = f"{ends(a.along('along_surface'))} mm from the end of the chord line ({a.skin.section})"
        skin += f"; {ends(a.from_nose)} mm from the foremost point of the nose" if a.skin.foremost > 0.0 else ""
    stands = f"pairs, {mm(a.gap or 0.0)} mm from middle to middle, FRONT ends closer together"
    if a.gap is None:
        stands = f"single, front end turned to the {'ROOT' if a.angle >= 0 else 'TIP'}"
    return [
        ("tape zero", f"{a.datum_name}, {mm(a.datum)} mm from the centerline"),
        ("positions", f"{a.count}{pairs}; tape {mm(a.start)} to {mm(p[-1].tape)} mm; spacing {mm(a.pitch)} mm{odd}"),
        ("along the chord", f"front ends {ends(a.along('along_chord'))} mm behind the leading edge, "
         f"{100 * a.chord_station:g} % of the local chord, along the chord line"),
        ("along the skin", skin),
        ("rear check", _rear(a)),
        ("vane", f"height {mm(a.height)} mm, length {mm(a.length)} mm, {math.degrees(abs(a.angle)):.3g} deg; {stands}"),
    ]  # fmt: skip


def _steps(sheet: Sheet) -> list[str]:
    a = sheet.layout
    tile = "Lay each tile with its thick line on the tape reading printed there, its row line on the pencil line."
    if sheet.tiles[0].repeating:
        tile = (
            "Lay the tile with its thick line on the tape reading of a position in the table, its row line on the "
            "pencil line; mark through with a soft pencil. "
            "The marks beside it are for looking only, and only where the table has them."
        )
        if len(sheet.tiles) > 1:
            tile += " A moved position has a tile of its own."
    tile += f" {PAPER_CHANGES}"
    skin = (
        "by square and straightedge from the chord line"
        if a.skin is None
        else "along the skin from the end of the chord line, or by square and straightedge from the chord line: both "
        "must agree within 1 mm"
    )
    return [
        "Measure the bar at the foot of every page. Wash the skin; low-tack tape and soft pencil only: no scriber.",
        f"Mark the first and the last position's distance behind the leading edge ({skin}); three more between "
        "them, and where the chord's taper changes. Join them with a straightedge or a chalk line: the row "
        "line, where the FRONT ends of the vanes stand.",
        "Confirm the row line by the rear check at five places. Where it is off by more than 1 mm, find out why first."
        if a.rear_line_name
        else "No line behind the row was given: measure from a spar or rivet line yourself, at five places, left and "
        "right alike.",
        f"Stick a steel tape down parallel to the row line, {tape_behind(sheet.width):.0f} mm behind it, its zero "
        f"at the {a.datum_name}, and leave it there: all readings count from that one zero. Cut each tile along its "
        "scale.",
        tile,
        f"Count the marks: {a.count}. Do the other side from its own sheet; it is mirrored. Compare both by tape.",
        "Stand back: look along the row for one that is out of line before any adhesive is opened.",
    ]


def _rear(a: DeviceLayout) -> str:
    behind, skin = a.along("to_rear_line"), a.along("to_rear_line_surface")
    if not behind:
        return "no line behind the row was given ([layout] rear_line_inner)"
    words = f"row line to {a.rear_line_name or 'the line behind it'}: {ends(behind)} mm along the chord"
    return f"{words}, {ends(skin)} mm along the skin" if skin else words


def _half(page: Paper, sheet: Sheet, top: float) -> float:
    """The surface from above, forward up, to scale; returns the baseline below it [mm]."""
    a, width = sheet.layout, sheet.width - 2 * EDGE - 12.0
    s, chord, lead = a.stations, a.chord_at, a.lead_at
    span = s[-1, 0] - s[0, 0]
    scale = min(width / span, 34.0 / float(np.max(s[:, 2] + s[:, 1]) - np.min(s[:, 2])))  # mm per m
    out = -1 if (a.side == "left") != a.underneath else 1
    origin = sheet.width - EDGE - 6.0 if out < 0 else EDGE + 6.0
    front = top - 4.0

    def at(y, x):
        return origin + out * scale * (y - s[0, 0]), front - scale * (x - float(np.min(s[:, 2])))

    edge = [at(y, x) for y, x in zip(s[:, 0], s[:, 2])] + [at(y, x + c) for y, c, x in s[::-1]]
    page.line(edge, INK, 1.1, fill="white", closed=True)
    for z in a.keep_out:
        ys = np.clip([z.inner, z.outer], s[0, 0], s[-1, 0])
        corners = [at(y, lead(y) + k * chord(y)) for y, k in
                   ((ys[0], z.front), (ys[1], z.front), (ys[1], z.back), (ys[0], z.back))]  # fmt: skip
        page.line(corners, DATUM, 0.7, fill=PALE, closed=True, layer=3)
    for p in a.positions:
        x = lead(p.span) + p.along_chord
        page.line([at(p.span, x), at(p.span, x + max(a.length, 0.02 * p.chord))], MEASURE, 0.9, layer=4)
    page.line([at(a.datum, lead(a.datum) - 0.05), at(a.datum, lead(a.datum) + chord(a.datum) + 0.05)], GREY, 1.0,
              (0, (6, 3)), layer=4)  # fmt: skip
    low = min(y for _, y in edge)
    root, tip = at(s[0, 0], 0.0)[0], at(s[-1, 0], 0.0)[0]
    page.text(root, low - 4.0, "ROOT", 8, "right" if out < 0 else "left", weight="bold")
    page.text(tip, low - 4.0, "TIP", 8, "left" if out < 0 else "right", weight="bold")
    middle = 0.5 * (root + tip)
    page.text(middle, top - 1.5, "FORWARD", 8, "center", weight="bold")
    page.arrow((middle + 14.0, top - 3.6), (middle + 14.0, top + 1.6), INK)
    words = f"dashed: {a.datum_name}, tape zero; shaded: keep out; to scale"
    page.text(sheet.width - EDGE - 6.0 if out < 0 else EDGE + 6.0, low - 8.2, words, 7, "right" if out < 0 else "left",
              GREY)  # fmt: skip
    return low - 14.0


def readings(sheet: Sheet, page: Callable[[], Paper]) -> None:
    """The table of tape readings, column beside column."""
    a, first = sheet.layout, sheet.layout.positions[0]
    heads = ["no.", "TAPE", "chord", *([] if a.skin is None else ["skin"]),
             *([] if first.to_rear_line is None else ["rear"]), "done"]  # fmt: skip
    words = (
        f"Readings [mm]. TAPE: cumulative, from the {a.datum_name}. chord: leading edge to the front ends, along the "
        f"chord line.{'' if a.skin is None else ' skin: the same along the skin.'} rear: row line to the line behind "
        f"it, along the {'chord' if a.skin is None else 'skin'}. A star: moved clear of a keep-out zone. Missing "
        "numbers were dropped."
    )
    wide, across, top = 12.0 * len(heads), sheet.width - 2 * EDGE, sheet.height - EDGE - 19.0

    def frames() -> Iterator[Frame]:
        while True:
            one = page()
            under = flow([paragraph(words)], iter([(one, EDGE, top, across, EDGE)])) - 2.0
            for k in range(int((across + 4.0) // (wide + 4.0))):
                yield one, EDGE + k * (wide + 4.0), under, wide, EDGE + 12.0

    flow([grid([heads, *map(_reading, a.positions)], [12.0] * len(heads), bold=(1,))], frames())


def _reading(p: Position) -> list[str]:
    rear = p.to_rear_line if p.to_rear_line_surface is None else p.to_rear_line_surface
    star = "" if p.moved_from is None else "*"
    behind = (x for x in (p.along_chord, p.along_surface, rear) if x is not None)
    tenths = (f"{from_si(x, 'mm', 'length'):.1f}" for x in behind)
    return [f"{p.number}{star}", mm(p.tape), *tenths, "\u2610"]


def tile_page(page: Paper, sheet: Sheet, tile: Tile, number: int) -> None:
    """One tile [mm]."""
    a, f = sheet.layout, sheet.forward
    low, length = EDGE + FOOT, tile_length(sheet.height)
    row = 0.5 * sheet.width + f * ROW_ASIDE  # where the row line stands
    aft = 1e3 * a.length * math.cos(a.angle)
    scale_x = row - f * tape_behind(sheet.width)

    leans = {} if tile.repeating else {str(p.number): a.lean(p.span) for p in a.positions}
    lean = a.lean(a.positions[len(a.positions) // 2].span)

    def at(reading):
        return low + reading - tile.start

    head = sheet.height - EDGE - 19.5
    words = (
        "Use this template at every position: thick line on the tape reading of a position in the table"
        if tile.repeating
        else f"Tile {number} of {len(sheet.tiles)}: thick line on TAPE {tile.register:.1f} mm"
    )
    page.text(0.5 * sheet.width, head, words, 10, "center", weight="bold")
    page.text(0.5 * sheet.width, head - 4.6, _tile_distances(a, tile), 7.5, "center")
    page.text(row, low + length + 5.2, "TIP", 9, "center", weight="bold")
    page.text(row, low - 4.6, "ROOT", 9, "center", weight="bold")
    page.arrow((row + 10.0, low - 2.0), (row + 10.0, low - 6.0), INK)
    page.line([(row, low), (row, low + length)], MEASURE, 0.9)
    x = row + f * 70.0
    page.text(x, low + length + 5.2, "FORWARD", 9, "center", weight="bold")
    start = (x - f * 10.0, low + length + 3.2)  # against the flow, which a swept row meets at an angle
    page.arrow(start, (start[0] + f * 22.0 * math.cos(lean), start[1] - 22.0 * math.sin(lean)), INK)
    page.text(row - f * 3.0, low + 2.0, "row line: FRONT ends", 6.5, "right" if f > 0 else "left", MEASURE)
    for name, reading in tile.marks:
        y, thick = at(reading), abs(reading - tile.register) < 1e-6
        page.line([(row - f * (aft + 10.0), y), (row + f * 14.0, y)], INK, 1.6 if thick else 0.5, layer=3)
        if thick:
            page.line([(scale_x, y), (row - f * (aft + 10.0), y)], INK, 1.6, layer=3)
        _vanes(page, a, row, y, f, leans.get(name, lean))
        shown = (f"{reading:+.1f}" if tile.repeating else f"{reading:.1f}").removesuffix(".0")
        label = f"no. {name}" if not tile.repeating else _beside(name)
        page.text(row + f * 17.0, y + 0.6, label, 8, "left" if f > 0 else "right", weight="bold")
        page.text(row + f * 17.0, y - 3.2, f"{shown} mm", 8, "left" if f > 0 else "right")
    _scale(page, tile, scale_x, f, at, length)
    bar = sheet.width - EDGE - 3.0 if f > 0 else EDGE + 3.0
    middle = low + 0.5 * length
    _bar(page, (bar, middle - 50.0), (bar, middle + 50.0))
    page.text(0.5 * sheet.width, EDGE + 9.2, PAPER_CHANGES, 7.5, "center", DATUM)


def _beside(name: str) -> str:
    """'n', 'n + 1', 'n - 2'."""
    k = int(name)
    return "n" if k == 0 else f"n {'+' if k > 0 else '-'} {abs(k)}"


def _tile_distances(a: DeviceLayout, tile: Tile) -> str:
    here = {name for name, _ in tile.marks}
    mine = a if tile.repeating else replace(a, positions=tuple(p for p in a.positions if str(p.number) in here))
    words = f"front ends {ends(mine.along('along_chord'))} mm behind the leading edge along the chord line"
    skin = mine.along("along_surface")
    return f"{words}, {ends(skin)} mm along the skin" if skin else words


def _vanes(page, a: DeviceLayout, row: float, y: float, f: int, lean: float) -> None:
    """The vanes of one position, their front ends on the row line, turned against the flow and not against the row."""
    run, rise = 1e3 * a.length * math.cos(a.angle), 0.5e3 * a.length * math.sin(abs(a.angle))
    if a.gap is None:
        ends = [(-math.copysign(rise, a.angle), math.copysign(2.0 * rise, a.angle))]
    else:
        half = 0.5e3 * a.gap
        ends = [(s * (half - rise), s * 2.0 * rise) for s in (-1, 1)]
    c, s = math.cos(lean), math.sin(lean)
    for front, out in ends:
        back = (row - f * (run * c - out * s), y + front + out * c + run * s)
        page.line([(row, y + front), back], DATUM, 2.0, layer=5)


def _scale(page, tile, x: float, f: int, at, length: float) -> None:
    """The tape as it lies: a tick each 10 mm, numbers each 50."""
    first = math.ceil(tile.start / 10.0 - 1e-9)
    last = math.floor((tile.start + length) / 10.0 + 1e-9)
    page.line([(x, at(tile.start)), (x, at(tile.start + length))], GREY, 0.6)
    for k in range(first, last + 1):
        big = k % 5 == 0
        y = at(10.0 * k)
        page.line([(x, y), (x - f * (3.5 if big else 2.0), y)], GREY, 0.5)
        if big:
            page.text(x - f * 4.4, y, f"{10 * k}", 6, "right" if f > 0 else "left", GREY, level="center")
    page.text(x + f * 2.0, at(tile.start) + 2.0, "tape", 6.5, "left" if f > 0 else "right", GREY)
