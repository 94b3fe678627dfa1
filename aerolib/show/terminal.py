"""The report in a terminal."""

from __future__ import annotations

import textwrap

from aerolib.measured.stalls.results import CAUTIONS
from aerolib.show.render import columns_of
from aerolib.show.report import steps_of
from aerolib.show.sections import Door
from aerolib.study import Study

WIDTH = 100


def report_text(study: Study) -> str:
    """Table, what the uncertainty is made of, notes and cautions, as text."""
    result, quiet = study.reduction, Door()  # what failed was told where the report was made
    comparison, checks = (quiet.through(n, getattr, study, n) for n in ("comparison", "checks"))
    lines = [study.name, *_wrapped(study.case.read), "  ".join(f"{k}: {v}." for k, v in result.inputs.items()), ""]
    rows = result.table()
    lines += columns_of([list(rows[0]), *(list(r.values()) for r in rows)])
    lines.append("")
    lines += ["What to do next"]
    for step in steps_of(result, comparison):
        lines += _wrapped("- " + step)
    lines.append("")
    for item in result.items:
        of = item.clmax or item.lowest_reached
        if item.power == "idle":
            shares = ", ".join(f"{b.name} {b.share:.0%}" for b in of.budget()[:4])
            lines += _wrapped(f"uncertainty of {item.name}: {shares}")
    lines.append("")
    if comparison is not None:
        lines.append(f"{comparison.before} to {comparison.after}")
        for line in (*comparison.lines(), *comparison.notes):
            lines += _wrapped("- " + line)
        for item in checks.items if checks is not None else ():
            lines += _wrapped("- " + item.headline())
        lines.append("")
    notes = [f"{i.name}: {n}" for i in result.items for n in i.notes] + [*result.notes, *study.left_out]
    for note in notes:
        lines += _wrapped("- " + note)
    lines += ["", "Cautions"]
    for caution in CAUTIONS:
        lines += _wrapped("- " + caution)
    return "\n".join(lines)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent="  ")
