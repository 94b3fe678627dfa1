"""The report in a terminal."""

from __future__ import annotations

from aerolib.measured.stalls.results import CAUTIONS
from aerolib.show.comparing import check_line, comparison_lines
from aerolib.show.finding import Finding, Heading, Steps
from aerolib.show.render import as_text, reader_of
from aerolib.show.sections.base import quiet
from aerolib.show.sections.clmax import notes_of, summary
from aerolib.study import Study


def report_text(study: Study) -> str:
    """Results, what to do next, what changed, notes and cautions, as text."""
    result, comparison, checks = study.reduction, quiet(study, "comparison"), quiet(study, "checks")
    parts = [study.case.read, "  ".join(f"{k}: {v}." for k, v in result.inputs.items()), *summary(study).parts]
    if comparison is not None:
        also = () if checks is None else map(check_line, checks.items)
        changed = (*comparison_lines(comparison), *comparison.notes, *also)
        parts += [Heading(f"{comparison.before} to {comparison.after}"), Steps(changed)]
    parts += [Heading("What these numbers cannot say"), Steps((*notes_of(result), *study.left_out)),
              Heading("Cautions")]  # fmt: skip
    return as_text(Finding("report", study.name, parts=tuple(parts), cautions=CAUTIONS), reader_of(study.dial_unit))
