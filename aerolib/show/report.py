"""The report: one self-contained HTML file, readable printed, and the reduced points as CSV."""

from __future__ import annotations

import csv
import io
import json
import platform
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from aerolib.case.problems import CaseError
from aerolib.case.saving import write_folder
from aerolib.measured.checks import ChecksComparison
from aerolib.measured.comparison import Comparison
from aerolib.measured.stalls.results import CAUTIONS
from aerolib.show.comparing import check_line, comparison_lines
from aerolib.show.figures.change import change_picture
from aerolib.show.finding import Finding, Heading, Steps
from aerolib.show.media import cell
from aerolib.show.render import body_html, reader_of, tag
from aerolib.show.sections.base import Door, Section, quiet
from aerolib.show.style import STYLE
from aerolib.show.words import WORDS
from aerolib.study import Study
from aerolib.units import from_si, knots

REPORT, POINTS, DATA = "report.html", "reduced-stalls.csv", "report.json"
SHOWN = (
    "A gain or loss is shown when its probability is at least 0.975 and no single flight decides its sign, suggested "
    "from 0.80. A lower stall speed is a number, not a judgment of the airplane: warning, spin and handling may have "
    "changed with it."
)


@dataclass(frozen=True)
class Written:
    """What a report wrote, and what stands beside it that no report wrote."""

    html: Path
    points: Path
    foreign: list[str]


def default_folder(study: Study) -> Path:
    """`report-<case>/` in the current folder."""
    return Path.cwd() / f"report-{study.folder.resolve().name}"


def write_report(folder: Path, page: str, data: dict, files: Mapping[str, str | bytes]) -> Written:
    """Write page, JSON and the files beside them: the folder holds the old report or the new one, never half of each.

    What an earlier report wrote there goes with it. A folder that holds something and no report is refused: it is
    somebody's own.
    """
    whole: dict[str, str | bytes | Path] = {REPORT: page, **files}
    data["files"] = sorted([*whole, DATA])
    whole[DATA] = json.dumps(data, indent=1, allow_nan=False) + "\n"
    return Written(folder / REPORT, folder / POINTS, write_folder(folder, whole, own_files(folder, data["files"])))


def own_files(folder: Path, new: Iterable[str] = ()) -> list[str]:
    """Names that an earlier report wrote into a folder; CaseError where it holds something that is no report."""
    there = sorted(p.name for p in folder.iterdir()) if folder.is_dir() else []
    if not there:
        return []
    try:
        earlier = json.loads((folder / DATA).read_text(encoding="utf-8"))
        if {"aerolib", "inputs_sha256"} <= earlier.keys():
            return [str(n) for n in earlier.get("files", new)]  # before 0.3 no report named its files
    except (OSError, ValueError, AttributeError):
        pass
    named = ", ".join(f"`{n}`" for n in there[:3]) + (f" and {len(there) - 3} more" if len(there) > 3 else "")
    raise CaseError(
        f"{folder} holds {named} and no report; nothing was written. A report has a folder of its own: name a new or "
        "an empty one with --out"
    )


def report_html(study: Study, sections: Sequence[Section] = (), door: Door | None = None) -> str:
    """The report as one HTML text; the door was told what could not be computed, and is told what cannot be drawn."""
    door, case = door or Door(), study.case
    first = ledger(study, sections, door)
    if first is not None:
        sections = [
            Section(first.question, tag("div", body_html(first, reader_of(study.dial_unit)), class_="ledger")),
            *sections,
        ]
    return page("What the wing does today", study, sections, door.told, (
        f"Largest lift coefficient of the trimmed airplane, from {len(study.stalls.row)} stalls in {case.flights} "
        f"flight{'' if case.flights == 1 else 's'}."
    ), case.read)  # fmt: skip


def page(heading: str, study: Study, sections, told: Iterable[str], lead: str, read: str = "") -> str:
    """The frame of every report around its parts: what was read, what failed, words, cautions, versions."""
    import jinja2

    from aerolib import __version__

    frame = Path(__file__).with_name("report.html.jinja").read_text(encoding="utf-8")
    versions = f"aerolib {__version__}, Python {platform.python_version()}, numpy {np.__version__}"
    return jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined).from_string(frame).render(
        heading=heading, name=study.name, invented=study.aircraft.invented, style=STYLE, read=read, lead=lead,
        told=told, sections=sections, words=WORDS, cautions=CAUTIONS, versions=versions, sha=study.case.inputs_sha256,
    )  # fmt: skip


def ledger(study: Study, sections: Iterable[Section], door: Door) -> Finding | None:
    """What was gained, what else changed and what nobody measured; None without two states."""
    comparison, checks = quiet(study, "comparison"), quiet(study, "checks")
    if comparison is None:
        return None
    parts = [Heading("What was gained or lost"), Steps(comparison_lines(comparison)),
             door.picture("change", change_picture, comparison, study.dial_unit)]  # fmt: skip
    if checks is not None:
        parts += [Heading("What else changed"), Steps(tuple(map(check_line, checks.items)))]
    for s in sections:
        parts += [Heading(s.title), Steps(s.ledger)] if s.ledger else []
    parts += [Heading("What was not measured"), Steps(tuple(unmeasured(study, comparison, checks))), SHOWN]
    return Finding("ledger", f"Summary of changes: {comparison.before} to {comparison.after}", parts=tuple(parts))


def unmeasured(study: Study, comparison: Comparison, checks: ChecksComparison | None) -> list[str]:
    """What these files do not say, of what a change usually touches."""
    result, both = study.reduction, {(c.configuration, c.power) for c in comparison.changes}
    out = [f"CLmax of {i.name}: {i.ending}, so a lower limit only" for i in result.items if i.clmax is None]
    out += [
        f"{i.configuration}, {i.power}: flown in one state only"
        for i in result.items
        if i.modification in (comparison.before, comparison.after) and (i.configuration, i.power) not in both
    ]
    if checks is None:
        out.append("everything else the change may have touched (speed, climb, sink, roll): there is no `checks.csv`")
    if not any(i.margins for i in result.items):
        out.append("warning and buffet before the stall")
    if not np.isfinite(study.stalls.si["cg"]).any():
        out.append("center of gravity")
    return [*out, "spin entry and recovery, control forces, and loads: not the subject of this report"]


def points_csv(study: Study) -> str:
    """The reduced stalls as CSV text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["row", "modification", "configuration", "power", "flight", "outcome", "cas [kt]",
                     "cas at reference weight [kt]", "entry rate [kt/s CAS]", "load factor", "load factor from",
                     "lift coefficient", "standard uncertainty", "of this stall alone"])  # fmt: skip
    p, t = study.reduction.points, study.stalls.text
    for k, row in enumerate(study.stalls.row):
        rate = p.entry_rate[k]
        writer.writerow([
            int(row), *(cell(t[name][k]) for name in ("modification", "configuration", "power", "flight")),
            p.outcome[k],
            f"{knots(p.cas[k]):.2f}", f"{knots(p.cas_at_reference_weight[k]):.2f}",
            f"{from_si(rate, 'kt/s', 'acceleration'):.2f}" if np.isfinite(rate) else "", f"{p.load_factor[k]:.4f}",
            p.load_factor_origin[k], f"{p.cl[k]:.4f}", f"{p.standard_uncertainty[k]:.4f}",
            f"{p.own_uncertainty[k]:.4f}",
        ])  # fmt: skip
    return out.getvalue()
