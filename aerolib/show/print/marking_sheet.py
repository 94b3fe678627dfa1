"""The sheet to mark the airplane with: tape readings from one datum, and tiles at true scale laid on the skin.

Paper grows and shrinks by some 0.3 %, so no tile is ever laid against the one before: each is set on its own tape
reading, in its middle.
"""

from __future__ import annotations

from aerolib.case.problems import CaseError
from aerolib.predicted.layout import DeviceLayout, Position
from aerolib.show.print import marking_pages as pages
from aerolib.show.print.drawings import Paper, pdf_of
from aerolib.show.print.marking_pages import Tile

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # [mm], portrait
STRAIGHT = 0.005  # [rad] by which a row may bend and still share one tile: 0.2 mm over a vane of 40 mm


def tiles_of(layout: DeviceLayout, paper: str = "A4", every: bool = False) -> list[Tile]:
    """The tiles of one side: one that repeats where the spacing is constant, and one for each position that was moved.

    A row that bends by more than `STRAIGHT` gets a tile for every stretch.

    Parameters
    ----------
    layout : DeviceLayout [SI]
    paper : str [-]
        'A4' or 'Letter', portrait.
    every : bool [-]
        A tile for every stretch of the row although the spacing is constant.

    Returns
    -------
    list of Tile [mm]

    Raises
    ------
    CaseError
        There is no such paper, or it is too small for one spacing.
    """
    if paper not in PAPERS:
        raise CaseError(f"there is no marking sheet on {paper!r}; write {' or '.join(repr(p) for p in PAPERS)}")
    length, foot, pitch = pages.tile_length(PAPERS[paper][1]), 1e3 * layout.footprint, 1e3 * layout.pitch
    if pitch + foot > length:
        raise CaseError(
            f"{paper} paper is too small for one spacing: {pitch:g} mm and one position {foot:.0f} mm wide need "
            f"{pitch + foot:.0f} mm, a tile has {length:.0f} mm; mark these positions from the tape and the table "
            "alone, or take a shorter spacing"
        )
    room = length - foot
    leans = [layout.lean(p.span) for p in layout.positions]
    if not every and max(leans) - min(leans) <= STRAIGHT:
        beside = int(0.5 * room // pitch)  # marks on either side of the middle one
        n = int(room // pitch) + 1
        first = -beside if 2 * beside + 1 == n else -beside - (n - 2 * beside - 1)
        marks = tuple((str(i), i * pitch) for i in range(first, first + n))
        middle = 0.5 * (marks[0][1] + marks[-1][1])
        moved = [_tile([p], length) for p in layout.positions if p.moved_from is not None]
        return [Tile(0.0, marks, middle - 0.5 * length, True), *moved]
    tiles, rest = [], list(layout.positions)
    while rest:
        start = 1e3 * rest[0].tape
        mine = [p for p in rest if 1e3 * p.tape - start <= room + 1e-6]
        rest = rest[len(mine) :]
        tiles.append(_tile(mine, length))
    return tiles


def _tile(mine: list[Position], length: float) -> Tile:
    marks = tuple((str(p.number), 1e3 * p.tape) for p in mine)
    middle = 0.5 * (marks[0][1] + marks[-1][1])
    register = min((t for _, t in marks), key=lambda t: abs(t - middle))
    return Tile(register, marks, middle - 0.5 * length)


def marking_sheet(
    layout: DeviceLayout,
    paper: str = "A4",
    *,
    every: bool = False,
    airplane: str = "",
    invented: bool = False,
    progress=None,
) -> bytes:
    """The marking sheet of one side as a PDF at true scale.

    Parameters
    ----------
    layout : DeviceLayout [SI]
        One side of one row.
    paper : str [-]
        'A4' or 'Letter', portrait.
    every : bool [-]
        A tile for every stretch of the row although the spacing is constant.
    airplane : str [-]
        Its name, printed at the top.
    invented : bool [-]
        Say so at the top.
    progress : callable [-]
        Called with the pages drawn and the pages in all; what it raises ends the work.

    Returns
    -------
    bytes [-]
        The PDF: how to mark, the readings, the tiles.

    Raises
    ------
    CaseError
        There is no such paper, or it is too small for one spacing.
    """
    tiles = tiles_of(layout, paper, every)
    sheet, papers = pages.Sheet(layout, *PAPERS[paper], paper, airplane, invented, tuple(tiles)), []

    def page() -> Paper:
        papers.append(Paper(*PAPERS[paper]))
        return papers[-1]

    pages.how_to(sheet, page)
    pages.readings(sheet, page)
    for number, tile in enumerate(tiles, start=1):
        pages.tile_page(page(), sheet, tile, number)
    for number, one in enumerate(papers, start=1):
        pages.head_and_foot(one, sheet, number, len(papers))
    return pdf_of(papers, f"Marking sheet, {layout.side.upper()}", progress)
