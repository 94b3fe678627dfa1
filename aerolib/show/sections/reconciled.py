"""Measured beside predicted: the ratio of each pair, how far apart they are, and what that usually means."""

from __future__ import annotations

import html

from aerolib.case.problems import CaseError
from aerolib.show.sections.base import Section
from aerolib.study import Study
from aerolib.study.flaps import GAIN
from aerolib.together.reconcile import SOURCE

KEYS = ("reconciled",)
TITLE = "Measured beside predicted"
HEAD = ("modification", "configuration", "quantity", "measured", "predicted", "measured / predicted", "sigmas")
CAUTIONS = (
    "A ratio near 1 does not make a prediction good: two errors can meet. A ratio far from 1 is a question to the "
    "airplane, the indicator and the drawing, in that order.",
    "No stall speed, approach speed, placard or marking follows from it.",
)


def section(study: Study) -> Section:
    """The section of a case: null, with a sentence on what to measure, where nothing can be compared."""
    try:
        found, problems = study.reconciled
    except (CaseError, ValueError) as e:
        found, problems = [], [str(e)]
    told = "".join(f"<p>{html.escape(p)}</p>" for p in problems)
    if not found:
        told = told or "<p>Nothing to compare yet: needed is a configuration whose stalls at idle ended in a break.</p>"
        return Section(TITLE, told, {"reconciled": None})
    rows = "".join(_row(m, c, pair) for m, c, _, pair in found)
    words = "".join(f"<li>{html.escape(f'{m}, {c}, {p.what}')}: {html.escape(p.words())}</li>" for m, c, _, p in found)
    text = (
        "<p>Both values are of the trimmed airplane. CLmax is compared as built only: what was fitted later is not in "
        f"the prediction. '{GAIN}' is flap down minus flap up, both measured alike, so what the two share cancels.</p>"
        f"<table class='aerolib'><thead><tr>{''.join(f'<th>{h}</th>' for h in HEAD)}</tr></thead><tbody>{rows}</tbody>"
        f"</table><ul>{words}</ul><p>Method: {html.escape(SOURCE)}.</p><ul class='cautions'>"
        f"{''.join(f'<li>{html.escape(c)}</li>' for c in CAUTIONS)}</ul>{told}"
    )
    data = [{"modification": m, "configuration": c, "power": p, **pair.as_dict()} for m, c, p, pair in found]
    return Section(TITLE, text, {"reconciled": data})


def _row(modification, configuration, pair) -> str:
    cells = (modification, configuration, pair.what, pair.measured.text(), pair.predicted.text(), pair.ratio.text(),
             f"{pair.sigmas:+.1f}")  # fmt: skip
    return "<tr>" + "".join(f"<td>{html.escape(x)}</td>" for x in cells) + "</tr>"
