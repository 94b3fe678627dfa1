"""Recordings of a case: what was found in each, and how many of its stalls stand on the card."""

from __future__ import annotations

import html

from aerolib.case.problems import CaseError
from aerolib.case.recordings.logs import FOLDER, calibrated_of, corrections_of, load_log
from aerolib.case.recordings.rows import from_file
from aerolib.measured.recording.results import CAUTIONS
from aerolib.measured.recording.stalls import find_stalls
from aerolib.show.sections.base import Section
from aerolib.study import Study

KEYS = ("recordings",)
TITLE = "Recordings"
HEAD = ("recording", "state", "stalls found", "refused, and why", "on the card")


def section(study: Study) -> Section | None:
    """One row for each [[log]]; None where the case has none. A file that cannot be read is said so, not a failure."""
    logs = [log for log in study.aircraft.log if log.goes_with is None]
    if not logs:
        return None
    data, rows, told = [], [], []
    for log in logs:
        there = from_file(study.stalls.frame, study.stalls.columns, log.file)
        try:
            recording = load_log(study.case, log.file)
            found = find_stalls(recording, corrections_of(log, study.aircraft), calibrated_of(log, study.aircraft))
        except (CaseError, ValueError) as e:
            told.append(f"{FOLDER}/{log.file} was not read: {e}")
            continue
        refused = [s.refused.split(":")[0] for s in found.items if s.refused]
        state = ", ".join(x for x in (log.modification, log.configuration, log.flight) if x)
        rows.append((log.file, state, str(len(found.stalls)), ", ".join(refused) or "-", str(there)))
        data.append({"recording": log.file, "modification": log.modification, "configuration": log.configuration,
                     "found": len(found.stalls), "refused": len(refused), "on_the_card": there})  # fmt: skip
    table = "".join("<tr>" + "".join(f"<td>{html.escape(c)}</td>" for c in row) + "</tr>" for row in rows)
    notes = "".join(f"<p>{html.escape(t)}</p>" for t in told)
    text = (
        f"<table><thead><tr>{''.join(f'<th>{h}</th>' for h in HEAD)}</tr></thead><tbody>{table}</tbody></table>{notes}"
        "<p>Found by the rules of workbook 05; a stall counts only once it was looked at there and accepted.</p>"
        f"<ul class='cautions'>{''.join(f'<li>{html.escape(c)}</li>' for c in CAUTIONS)}</ul>"
    )
    return Section(TITLE, text, {"recordings": data or None})
