"""The report of a case without a stall yet: what can be known before anything is flown or bought."""

from __future__ import annotations

import html
from pathlib import Path

from aerolib.measured.stalls.results import CAUTIONS
from aerolib.show.report import Written, write_report
from aerolib.show.sections import Door, sections_of
from aerolib.show.style import STYLE
from aerolib.study import Study

NEED_NO_STALL = ("predicted", "flow_control", "layout")
NOT_YET = (
    "No stall is on the card yet. Everything below is predicted from the airplane's shape, with wide intervals: fly "
    "the stalls first (workbook 02 plans them and prints the card), then run the report again."
)


def report_before_flying(study: Study, folder: Path, door: Door) -> tuple[Written, dict]:
    """Write page, data and files of the estimates that need no stall; returns what was written and the data."""
    from aerolib import __version__

    sections, keys = sections_of(study, door, NEED_NO_STALL)
    data = {
        "format": 1, "case": study.name, "aerolib": __version__, "inputs_sha256": study.case.inputs_sha256,
        "reference_weight_kg": round(study.reference_weight, 3), "read": study.case.as_read(), "clmax": [],
        "comparison": None, "checks": None,
        "test_plan": None, **keys, "notes": [NOT_YET, *door.told],
    }  # fmt: skip
    body = "".join(f"<h2>{html.escape(s.title)}</h2>{s.html}" for s in sections)
    cautions = "".join(f"<li>{html.escape(c)}</li>" for c in CAUTIONS)
    invented = " <b>(invented: no such airplane exists)</b>" if study.aircraft.invented else ""
    page = (
        f"<!doctype html><html lang='en'><head><meta charset='utf-8'><title>{html.escape(study.name)}</title>"
        f"<style>{STYLE}</style></head><body><h1>Before anything is flown</h1><p class='lead'>{html.escape(study.name)}"
        f"{invented}. {NOT_YET}</p>{body}<h2>Cautions</h2><ul class='cautions'>{cautions}</ul>"
        f"<p class='small'>aerolib {__version__}. Inputs sha256 {study.case.inputs_sha256}.</p></body></html>"
    )
    files = {name: content for s in sections for name, content in s.files.items()}
    return write_report(folder, page, data, files), data
