"""The report in a terminal."""

from __future__ import annotations

import textwrap

from aerolib.case.folder import Case
from aerolib.measured.changes import Comparison
from aerolib.measured.results import CAUTIONS, StallReduction
from aerolib.show.report import steps_of

WIDTH = 100


def report_text(
    case: Case, result: StallReduction, left_out: list[str], comparison: Comparison | None = None, checks=None
) -> str:
    """Table, what the uncertainty is made of, notes and cautions, as text."""
    lines = [case.name, *_wrapped(case.read), "  ".join(f"{k}: {v}." for k, v in result.inputs.items()), ""]
    lines += _table(result.table())
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
    notes = [f"{i.name}: {n}" for i in result.items for n in i.notes] + [*result.notes, *left_out]
    for note in notes:
        lines += _wrapped("- " + note)
    lines += ["", "Cautions"]
    for caution in CAUTIONS:
        lines += _wrapped("- " + caution)
    return "\n".join(lines)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent="  ")


def _table(rows: list[dict[str, str]]) -> list[str]:
    """Columns aligned, the two words of every row first; headers folded to keep the table narrow."""
    heads = [textwrap.wrap(k, 13) for k in rows[0]]
    deep = max(map(len, heads))
    heads = [[""] * (deep - len(h)) + h for h in heads]
    widths = [max(len(part) for part in [*head, *(list(r.values())[c] for r in rows)]) for c, head in enumerate(heads)]
    lines = ["  ".join(h[level].ljust(w) for h, w in zip(heads, widths)).rstrip() for level in range(deep)]
    lines.append("  ".join("-" * w for w in widths))
    lines += ["  ".join(v.ljust(w) for v, w in zip(r.values(), widths)).rstrip() for r in rows]
    return lines
