"""Things to print: the sheet an owner takes to the airplane to measure it."""

from __future__ import annotations

from pathlib import Path

from aerolib.show.drawings import Paper
from aerolib.show.sheet_airframe import side, wing
from aerolib.show.sheet_details import controls, weighing
from aerolib.show.sheet_parts import A4


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
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages

    path = Path(path)
    # Letters stay text in the file (type 42), and a user's own matplotlib style does not change the sheet.
    style = {"pdf.fonttype": 42, "font.family": ["DejaVu Sans"], "text.usetex": False, "path.sketch": None}
    about = {"Title": "Measuring sheet", "CreationDate": None}
    with rc_context(style), PdfPages(path, metadata=about) as pdf:
        for number, draw in enumerate((wing, side, controls, weighing), start=1):
            paper = Paper(*A4)
            draw(paper, number)
            pdf.savefig(paper.figure)
    return path
