"""Layout and fitted record in the report: both sides, what was moved, the sheets to print."""

from __future__ import annotations

import html

from aerolib.case.problems import CaseError
from aerolib.predicted.layout_result import DeviceLayout, cautions_list
from aerolib.show.layout_figure import layout_picture
from aerolib.show.marking_sheet import PAPERS, marking_sheet
from aerolib.show.preflight_card import preflight_card
from aerolib.show.sections.base import Section
from aerolib.study import Study

KEYS = ("layout",)
TITLE = "Where the devices go"
_SHEETS: dict[tuple, bytes] = {}  # drawn once for the same layout: a sheet costs about a second


def section(study: Study) -> Section | None:
    """Both sides of every row of devices [mm]; null where the case has none, or not what it takes."""
    null = dict.fromkeys(KEYS)
    try:
        layouts, records = study.layouts, study.fitted
    except CaseError as e:
        return Section(TITLE, f"<p>Not laid out: {html.escape(str(e))}</p>", null)
    if not layouts and not records:
        return Section(
            TITLE, "<p>Not laid out: write a table [[device]] with its pitch, height, length, angle, chord_station and "
            "span to get the positions and the sheet to mark the airplane with.</p>", null,
        )  # fmt: skip
    parts, files = [], {}
    for left, right in zip(layouts[::2], layouts[1::2]):
        own = "".join(f"<li>{html.escape(n)}</li>" for n in right.said() if n not in left.notes)
        other = f"<p><b>{html.escape(right.headline())}</b></p><ul>{own}</ul>"
        parts += [layout_picture(left, right).figure_html(), left._repr_html_(), other]
        for one in (left, right):
            for paper in PAPERS:
                name = sheet_name(one, paper, several=len(layouts) > 2)
                try:
                    files[name] = sheet_of(one, paper, study)
                except CaseError as e:
                    parts.append(f"<p>{html.escape(str(e))}</p>")
    for modification, record in records.items():
        parts.append(
            f"<h3>As fitted, '{html.escape(modification)}': what a comparison takes</h3>{record._repr_html_()}"
        )
    files["preflight-count.pdf"] = card_of(study, layouts, records)
    names = ", ".join(html.escape(n) for n in files)
    parts.append(f"<p>Beside this page, to print at 100 %: {names}.</p>{cautions_list()}")
    data = [{**_modification(study, x), **x.as_dict()} for x in layouts]
    return Section(TITLE, "".join(parts), {"layout": data or None}, files=files)


def _modification(study, layout: DeviceLayout) -> dict:
    device = next((d for d in study.aircraft.device if d.name == layout.device), None)
    return {"modification": device and device.modification}


def sheet_name(layout: DeviceLayout, paper: str, several: bool = False) -> str:
    """'marking-sheet-left-a4.pdf'; with the device's name where there are several.

    Parameters
    ----------
    layout : DeviceLayout [SI]
    paper : str [-]
    several : bool [-]

    Returns
    -------
    str [-]
    """
    device = "".join(c if c.isalnum() else "-" for c in layout.device.casefold()) + "-" if several else ""
    return f"marking-sheet-{device}{layout.side}-{paper.casefold()}.pdf"


def sheet_of(layout: DeviceLayout, paper: str, study) -> bytes:
    """The PDF of one side [-], drawn once."""
    key = (str(layout.as_dict()), layout.height, layout.length, layout.angle, layout.gap, paper, study.name)
    if key not in _SHEETS:
        if len(_SHEETS) > 16:
            _SHEETS.clear()
        _SHEETS[key] = marking_sheet(layout, paper, airplane=study.name, invented=study.aircraft.invented)
    return _SHEETS[key]


def card_of(study, layouts, records) -> bytes:
    """The preflight card [-]: counts as fitted where they were noted, else as planned."""
    name, record = list(records.items())[-1] if records else ("", None)
    if record is not None:
        rows = [(r.device if r.row == 1 else f"{r.device}, row {r.row}", r.side, r.count) for r in record.rows]
    else:
        rows = [(f"{x.device} (as planned)", x.side, x.count) for x in layouts]
    a = study.aircraft
    return preflight_card(rows, airplane=study.name, modification=name, limit=a.layout.missing_limit,
                          limit_by=a.layout.missing_limit_by, invented=a.invented)  # fmt: skip
