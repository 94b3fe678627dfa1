"""Before and after in detail: what each flight and stall does to the answer, what it cannot say, and all checks."""

from __future__ import annotations

import numpy as np

from aerolib.show.comparing import change_table, checks_notes
from aerolib.show.figures.checks import checks_picture
from aerolib.show.finding import Finding, Heading, Part, Steps
from aerolib.study import Study

TITLE = "Before and after in detail"
KEYS = ()  # `comparison` and `checks` stand in the JSON already


def finding(study: Study) -> Finding | None:
    """The details; None where there are not two states. The answer itself stands at the top of the report."""
    comparison, checks = study.comparison, study.checks
    parts: list[Part] = []
    if comparison is not None:
        of_states = np.isin(study.stalls.text["modification"], (comparison.before, comparison.after))
        parts += [change_table(comparison, study.stalls.row[of_states]), Steps(comparison.notes)]
    if checks is not None:
        parts.append(Heading("Everything else that was compared"))
        if any(i.difference is not None for i in checks.items):
            parts.append(checks_picture(checks))
        parts.append(checks_notes(checks))
    return Finding("change", TITLE, parts=tuple(parts)) if parts else None
