"""Things to print: the sheet an owner takes to the airplane to measure it."""

from __future__ import annotations

from pathlib import Path

from aerolib.show.print.drawings import Paper, pdf_of
from aerolib.show.print.sheet_airframe import side, wing
from aerolib.show.print.sheet_details import controls, weighing
from aerolib.show.print.sheet_parts import A4


def measuring_sheet(path: str | Path) -> Path:
    """Write the measuring sheet: four pages of drawings and tables to fill in by hand.

    Parameters
    ----------
    path : path [-]
        The PDF to write; its folder must exist. A file there is replaced.

    Returns
    -------
    Path [-]
        The file written: A4, printed within 195 x 265 mm.
    """
    pages = []
    for number, draw in enumerate((wing, side, controls, weighing), start=1):
        pages.append(Paper(*A4))
        draw(pages[-1], number)
    path = Path(path)
    path.write_bytes(pdf_of(pages, "Measuring sheet"))
    return path
