"""The report of a case without a stall yet: what can be known before anything is flown or bought."""

from __future__ import annotations

from pathlib import Path

from aerolib.show.jsonform import head_of_data
from aerolib.show.report import Written, page, write_report
from aerolib.show.sections import Door, sections_of
from aerolib.study import Study

NEED_NO_STALL = ("predicted", "flow_control", "layout")
NOT_YET = (
    "No stall is on the card yet. Everything below is predicted from the airplane's shape, with wide intervals: fly "
    "the stalls first (workbook 02 plans them and prints the card), then run the report again."
)


def report_before_flying(study: Study, folder: Path, door: Door) -> tuple[Written, dict]:
    """Write page, data and files of the estimates that need no stall; returns what was written and the data."""
    sections, keys = sections_of(study, door, NEED_NO_STALL)
    data = {**head_of_data(study, study.reference_weight), "comparison": None, "checks": None, **keys, "clmax": [],
            "notes": [NOT_YET, *door.told]}  # fmt: skip
    files = {name: content for s in sections for name, content in s.files.items()}
    html = page("Before anything is flown", study, sections, door.told, NOT_YET)
    return write_report(folder, html, data, files), data
