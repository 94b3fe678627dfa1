"""Before and after in detail: what each flight and stall does to the answer, what it cannot say, and all checks."""

from __future__ import annotations

import html

import numpy as np

from aerolib.show.change_table import change_table
from aerolib.show.checks_figure import checks_picture
from aerolib.show.sections.base import Section
from aerolib.study import Study

TITLE = "Before and after in detail"
KEYS = ()  # `comparison` and `checks` stand in the JSON already


def section(study: Study) -> Section | None:
    """The section, None where there are not two states.

    Parameters
    ----------
    study : Study [-]
    result : StallReduction [-]

    Returns
    -------
    Section [-]
    """
    comparison, checks = study.comparison, study.checks
    if comparison is None and checks is None:
        return None
    parts = []
    if comparison is not None:
        states = (comparison.before, comparison.after)
        rows = study.stalls.row[np.isin(study.stalls.text["modification"], states)]
        parts += [change_table(comparison, rows), _list(comparison.notes)]
    if checks is not None:
        parts.append("<h3>Everything else that was compared</h3>")
        if any(i.difference is not None for i in checks.items):
            parts.append(checks_picture(checks).figure_html())
        parts.append(_list([*(f"{i.name}: {n}" for i in checks.items for n in i.notes), *checks.notes]))
    return Section(TITLE, "\n".join(parts))


def _list(sentences) -> str:
    items = "".join(f"<li>{html.escape(s)}</li>" for s in sentences)
    return f"<ul>{items}</ul>" if items else ""
