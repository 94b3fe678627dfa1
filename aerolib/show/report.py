"""The report: one self-contained HTML file, readable printed, and the reduced points as CSV."""

from __future__ import annotations

import csv
import io
import json
import platform
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from aerolib.case.problems import CaseError
from aerolib.case.saving import write_folder
from aerolib.estimate import SCOPES, digits
from aerolib.measured.airspeed.correction import BORROWED
from aerolib.measured.changes import Comparison
from aerolib.measured.stalls.advice import next_steps
from aerolib.measured.stalls.record import STALLED
from aerolib.measured.stalls.results import BELOW_SCALE, CAUTIONS, StallReduction
from aerolib.show.change_figure import change_picture
from aerolib.show.figures import budgets_picture, stalls_picture
from aerolib.show.media import cell
from aerolib.show.sections.base import Door
from aerolib.show.style import STYLE
from aerolib.show.words import WORDS
from aerolib.study import Study
from aerolib.units import from_si, knots

REPORT, POINTS, DATA = "report.html", "reduced-stalls.csv", "report.json"


@dataclass(frozen=True)
class Written:
    """What a report wrote, and what stands beside it that no report wrote."""

    html: Path
    points: Path
    foreign: list[str]


def default_folder(study: Study) -> Path:
    """`report-<case>/` in the current folder."""
    return Path.cwd() / f"report-{study.folder.resolve().name}"


def write_report(folder: Path, page: str, data: dict, files: dict[str, str | bytes]) -> Written:
    """Write page, JSON and the files beside them: the folder holds the old report or the new one, never half of each.

    What an earlier report wrote there goes with it. A folder that holds something and no report is refused: it is
    somebody's own.
    """
    files = {REPORT: page, **files}
    data["files"] = sorted([*files, DATA])
    files[DATA] = json.dumps(data, indent=1, allow_nan=False) + "\n"
    return Written(folder / REPORT, folder / POINTS, write_folder(folder, files, own_files(folder, data["files"])))


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


def report_html(study: Study, sections=(), door: Door | None = None) -> str:
    """The report as one HTML text; the door was told what could not be computed, and is told what cannot be drawn."""
    import jinja2

    from aerolib import __version__
    from aerolib.measured.stalls.loadfactor import TABLE_SOURCE

    page = Path(__file__).with_name("report.html.jinja").read_text(encoding="utf-8")
    template = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined).from_string(page)
    door, quiet, result = door or Door(), Door(), study.reduction  # what failed was told where the data were made
    comparison, checks, plan = (quiet.through(n, getattr, study, n) for n in ("comparison", "checks", "plan"))
    figure = {
        draw: (picture := door.through(f"The picture of the {name}", draw, of)) and picture.figure_html()
        for draw, name, of in ((stalls_picture, "stalls", result), (budgets_picture, "uncertainty", result),
                               (change_picture, "change", comparison)) if of is not None
    }  # fmt: skip
    with_value = [i for i in result.items if i.clmax]
    slope = ""
    if result.rate_slope is not None:
        per_knot, u = (100 * from_si(1.0, "m/s2", "acceleration") * x * 0.514444 for x in
                       (result.rate_slope, result.rate_slope_uncertainty))  # fmt: skip
        slope = f"; CL changes by {per_knot:+.1f} ± {u:.1f} % per kt/s of entry rate (recorded n only, 1 sigma)"
    return template.render(
        name=study.name, read=study.case.read, invented=study.aircraft.invented, style=STYLE, table=result.table(),
        weight=result.inputs.get("reference weight", ""), used=len(study.stalls.row),
        flights=study.case.flights, stalls_picture=figure[stalls_picture] or '',
        notes=[f"{i.name}: {n}" for i in result.items for n in i.notes] + [*result.notes, *door.told],
        budgets_picture=figure[budgets_picture] or '',
        budgets=[(i.name, (i.clmax or i.lowest_reached).budget()) for i in result.items], scopes=SCOPES,
        n1=[(i.name, f"{i.clmax.value:.2f}", f"{i.with_n_equal_1:.2f}", f"{i.with_n_equal_1 / i.clmax.value - 1:+.1%}")
            for i in with_value],
        origins=", ".join(sorted(set(result.points.load_factor_origin.tolist()))), table_source=TABLE_SOURCE,
        comparison=comparison, change_picture=figure.get(change_picture) or '',
        steps=steps_of(result, comparison), words=WORDS, gained=gained(comparison), checks=checks, plan=plan,
        unmeasured=unmeasured(study, comparison, checks),
        drawn=drawn_rows(result), margins=margin_rows(result), speeds=speed_rows(result),
        stated=stated_rows(study),
        left_out=study.left_out, cautions=CAUTIONS, source=result.source,
        day=f"{100 * result.day_scatter:.1f}", ratio=f"{result.scatter_ratio:.1f}", slope=slope, inputs=result.inputs,
        version=__version__, python=platform.python_version(), numpy=np.__version__, sha=study.case.inputs_sha256,
        points=POINTS, sections=sections,
    )  # fmt: skip


def steps_of(result: StallReduction, comparison: Comparison | None = None, most: int = 3) -> list[str]:
    """What to do next: legs that a comparison lacks, then what buys most for the least sure of the results at idle."""
    items = [i for i in result.items if i.clmax is not None and i.power == "idle"]
    if not items:
        if any(i.ending == BELOW_SCALE for i in result.items):
            return [f"{BELOW_SCALE}, so there are lower limits only: film an instrument that reads lower"]
        return ["fly to a stall break (nose or wing drops), if that can be done within the limits: so far there are "
                "lower limits only"]  # fmt: skip
    worst = max(items, key=lambda i: i.clmax.standard_uncertainty / i.clmax.value)
    steps = [] if comparison is None else comparison.legs_wanted()
    steps += [f"{s} ({worst.name})" for s in next_steps(worst)[:most] if not (steps and s.source == BORROWED)]
    if any(i.flights == 1 for i in items):
        steps.append("fly a second day: one flight cannot show how much days differ")
    return steps


def gained(comparison: Comparison | None) -> list[str]:
    """What the change brought, in words: the first entry of the ledger."""
    return [] if comparison is None else comparison.lines()


def unmeasured(study: Study, comparison: Comparison | None, checks=None) -> list[str]:
    """What these files do not say, of what a change usually touches."""
    out: list[str] = []
    result = study.reduction
    for item in result.items:
        if item.clmax is None:
            out.append(f"CLmax of {item.name}: {item.ending}, so a lower limit only")
    if comparison is not None:
        both = {(c.configuration, c.power) for c in comparison.changes}
        for item in result.items:
            if (
                item.modification in (comparison.before, comparison.after)
                and (item.configuration, item.power) not in both
            ):
                out.append(f"{item.configuration}, {item.power}: flown in one state only")
    if comparison is not None and checks is None:
        out.append("everything else the change may have touched (speed, climb, sink, roll): there is no `checks.csv`")
    if not any(i.margins for i in result.items):
        out.append("warning and buffet before the stall")
    if not np.isfinite(study.stalls.si["cg"]).any():
        out.append("centre of gravity")
    out.append("spin entry and recovery, control forces, and loads: not the subject of this report")
    return out


def drawn_rows(result: StallReduction) -> list[tuple[str, ...]]:
    """Rows of text: intervals by the linear route and by drawing."""
    rows = []
    for i in result.items:
        if i.clmax and i.interval95_by_draws:
            d = digits(i.clmax.standard_uncertainty)
            ends = (i.clmax.interval95, i.interval95_by_draws)
            rows.append((i.name, *(f"{low:.{d}f} to {high:.{d}f}" for low, high in ends)))
    return rows


def margin_rows(result: StallReduction) -> list[tuple[str, ...]]:
    """Rows of text: how far above the stall each warning came."""
    return [
        (i.name, m.of, f"{knots(m.mean):.1f} kt ({m.percent:.0f} %)",
         f"{knots(m.lowest):.1f} to {knots(m.highest):.1f} kt", str(m.stalls))
        for i in result.items for m in i.margins
    ]  # fmt: skip


def speed_rows(result: StallReduction) -> list[tuple[str, ...]]:
    """Rows of text: lowest speeds as flown, by kind and by how the stall ended."""
    rows = []
    for i in result.items:
        for s in i.speeds_seen:
            bound = "below " if s.ended == "below scale" else ""
            needle = f"{bound}{from_si(s.needle, result.speed_unit, 'speed'):.1f} {result.speed_unit}"
            rows.append((i.name, s.kind, s.ended, f"{bound}{knots(s.speed.value):.1f}", needle, str(s.stalls)))
    return rows


def stated_rows(study: Study) -> list[tuple[str, ...]]:
    """Rows of text: the owner's stated stall speeds beside the measured speed of the same definition."""
    rows, result = [], study.reduction
    first, unit = result.items[0].modification, result.speed_unit
    definition = {"1-g": "1-g stall speed", "minimum": "lowest speed seen", "unknown": "not known: both shown"}
    for c in study.aircraft.configuration:
        if c.stated_stall_speed is None:
            continue
        stated = c.stated_stall_speed
        if c.stated_weight:
            stated = stated * (result.reference_weight / c.stated_weight) ** 0.5
        measured = "not flown"
        for item in result.items:
            if (item.modification, item.configuration, item.power) != (first, c.name, "idle"):
                continue
            indicated = c.stated_airspeed == "IAS"
            one_g = None
            if item.stall_speed_1g:
                one_g = item.stall_speed_1g_needle if indicated else item.stall_speed_1g.value
            seen = [s.needle if indicated else s.speed.value for s in item.speeds_seen if s.ended in STALLED]
            parts = []
            if one_g and c.stated_definition in ("1-g", "unknown"):
                parts.append(f"{from_si(one_g, unit, 'speed'):.1f} {unit} (1-g)")
            if seen and c.stated_definition in ("minimum", "unknown"):
                parts.append(f"{from_si(seen[0], unit, 'speed'):.1f} {unit} (lowest seen)")
            measured = " or ".join(parts) or item.ending
        airspeed = "" if c.stated_airspeed == "unknown" else f" {c.stated_airspeed}"
        told = f"{from_si(stated, unit, 'speed'):.1f} {unit}{airspeed} ({c.stated_source or 'source not noted'})"
        rows.append((c.name, told, definition[c.stated_definition], f"{measured}, {first}"))
    return rows


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
