"""The card to count devices with before every flight."""

from __future__ import annotations

from aerolib.show.print.drawings import DATUM, INK, Paper, pdf_of
from aerolib.show.print.marking_pages import plainly

A5 = (148.0, 210.0)
EDGE = 8.0
FLIGHTS = 12
LOOK = (
    "Run a finger along every row, root to tip, both sides: loose, bent, cracked or missing?",
    "Frost, ice, rain, bugs, wax or polish on or between the devices: clean first, count again.",
    "Covers off, and no device came off with them. Nobody leans or pulls on a device.",
    "Controls full and free; nothing near a hinge gap, vent, drain, pitot or warning vane.",
)


def preflight_card(
    rows, *, airplane: str = "", modification: str = "", limit: int | None = None, limit_by: str | None = None,
    invented: bool = False, fitted: bool = True,
) -> bytes:  # fmt: skip
    """The preflight count card as a PDF, A5.

    Parameters
    ----------
    rows : sequence of (str, str, int or None) [-]
        Device and surface, side, number of vanes; None where it was not noted.
    airplane, modification : str [-]
        Printed at the top.
    limit : int [-]
        So many missing, and the airplane does not fly; set by the inspector. None leaves a line to fill in.
    limit_by : str [-]
        Who set it.
    invented : bool [-]
        Say so at the top.
    fitted : bool [-]
        The counts are those fitted; else those planned.

    Returns
    -------
    bytes [-]
    """
    page, (width, height) = Paper(*A5), A5
    right, y = width - EDGE, height - EDGE - 5.0
    page.text(EDGE, y, "Count before every flight", 14, weight="bold")
    page.text(EDGE, y - 5.5, plainly(f"{airplane}, '{modification}'", 70), 8)
    if invented:
        page.text(right, y, "INVENTED", 8, "right", DATUM, "bold")
    y -= 12.0
    for words in LOOK:
        page.box(EDGE, y - 0.4, 3.2, 3.2)
        y = page.wrapped(EDGE + 6.0, y, words, right - EDGE - 6.0, 8) - 1.0
    y -= 2.0
    told = f"{limit} or more" if limit is not None else "______ or more"
    page.text(EDGE, y, f"Do not fly with {told} vanes missing, both sides together.", 10, color=DATUM, weight="bold")
    y -= 5.0
    who = plainly(limit_by, 40) if limit_by else "____________________"
    page.text(EDGE, y, f"Number set by the inspector: {who}     Date ____________", 8)
    head = ("vanes, side", "fitted" if fitted else "planned", *[""] * FLIGHTS)
    widths = (46.0, 12.0, *[(right - EDGE - 58.0) / FLIGHTS] * FLIGHTS)
    cells = [(f"{plainly(name, 44)}, {side.upper()}", "?" if n is None else str(n), *[""] * FLIGHTS)
             for name, side, n in rows]  # fmt: skip
    counted = [n for _, _, n in rows if n is not None]
    cells.append(("ALL", str(sum(counted)) if len(counted) == len(rows) else "?", *[""] * FLIGHTS))
    cells += [("date", "", *[""] * FLIGHTS), ("counted by", "", *[""] * FLIGHTS)]
    y = page.table(EDGE, y - 4.0, widths, head, cells, size=7.5, least=8.0)
    y = page.wrapped(
        EDGE, y - 5.0,
        "One column a flight. Count single vanes: a pair is two. "
        + ("The counts are those fitted, not those planned. " if fitted else
           "The counts are those PLANNED: write in what was fitted before the first flight. ")
        + "A device lost on one side only can "
        "drop that wing at the stall: report it, and do not fly until the inspector's number was looked at. Replace "
        "with the same adhesive, by its maker's instructions and with a pull test; note it in the record. This card "
        "replaces no inspection that is required.",
        right - EDGE, 7, INK,
    )  # fmt: skip
    return pdf_of([page], "Preflight count")
