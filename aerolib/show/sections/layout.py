"""Layout and fitted record in the report: both sides, what was moved, the sheets to print."""

from __future__ import annotations

from aerolib.case.problems import CaseError
from aerolib.predicted.layout import CAUTIONS, METHOD, SOURCE, DeviceLayout, FittedRecord, FittedRow
from aerolib.show.data import pair
from aerolib.show.figures.layout import layout_picture
from aerolib.show.finding import Column, Finding, Heading, Part, Quantity, Sentence, Steps, Table, quantity
from aerolib.show.layout_words import distances, headline, moved_or_dropped
from aerolib.show.print.marking_sheet import PAPERS, marking_sheet
from aerolib.show.print.preflight_card import preflight_card
from aerolib.study import Study
from aerolib.study.devices import in_pairs
from aerolib.units import from_si

KEYS = ("layout",)
TITLE = "Where the devices go"
COUNT = "preflight-count.pdf"
NO_DEVICE = (
    "Not laid out: write a table [[device]] with its spacing (`pitch`), height, length, angle, chord_station and "
    "span to get the positions and the sheet to mark the airplane with."
)
FITTED = (  # field, kind, words
    ("start", "length_tape", "start {x}"), ("pitch", "length_tape", "spacing {x}"),
    ("chord_distance", "length_tape", "{x} along the chord"), ("height", "length_tape", "height {x}"),
    ("angle", "angle", "angle {x}"), ("count", "count", "{x} positions"),
)  # fmt: skip


def finding(study: Study) -> Finding:
    """Both sides of every row of devices; null where the case has none, or not what it takes."""
    null = dict.fromkeys(KEYS)
    try:
        layouts, records = study.layouts, study.fitted
    except CaseError as e:
        return Finding(KEYS[0], TITLE, parts=(f"Not laid out: {e}",), data=null)
    if not layouts and not records:
        return Finding(KEYS[0], TITLE, parts=(NO_DEVICE,), data=null)
    parts: list[Part] = []
    for left, right in zip(layouts[::2], layouts[1::2]):
        parts += [layout_picture(left, right), *layout_parts(left, right)]
    files, problems = sheets(study, layouts)
    files[COUNT] = card_of(study, layouts, records)
    parts += [*problems, *fitted_parts(records), f"Beside this page, to print at 100 %: {', '.join(files)}."]
    states = {d.name: d.modification for d in study.aircraft.device}
    data = [{"modification": states.get(x.device), **item(x)} for x in layouts]
    return Finding(KEYS[0], TITLE, (), tuple(parts), CAUTIONS, METHOD if layouts else SOURCE, {"layout": data or None},
                   files)  # fmt: skip


def layout_parts(left: DeviceLayout, right: DeviceLayout) -> tuple[Part, ...]:
    """Both sides of a row in words, and the row beside what was published [-]."""
    said = (*moved_or_dropped(left), *moved_or_dropped(right), *left.notes)
    rows = tuple(
        (g.quantity, g.value, g.published, g.verdict, f"{g.source}. {g.note}" if g.note else g.source)
        for g in left.guidance
    )
    heads = ("quantity", "here", "published", "verdict", "source")
    return (headline(left), headline(right), f"{distances(left)}.", Steps(said),
            Table(tuple(map(Column, heads)), rows))  # fmt: skip


def fitted_parts(records: dict[str, FittedRecord]) -> tuple[Part, ...]:
    """What was fitted, by modification [-]."""
    return tuple(
        p for name, r in records.items()
        for p in (Heading(f"As fitted, '{name}': what a comparison takes"), Steps(tuple(map(_row, r.rows))), _sums(r),
                  Steps((*r.warnings, *r.notes)))
    )  # fmt: skip


def _row(r: FittedRow) -> Sentence:
    given = [(f"x{i}", words, quantity(getattr(r, name), kind)) for i, (name, kind, words) in enumerate(FITTED)
             if getattr(r, name) is not None]  # fmt: skip
    words = [text.replace("{x}", f"{{{slot}}}") for slot, text, _ in given]
    slots: dict[str, Quantity | Sentence | str] = {slot: q for slot, _, q in given}
    slots["rest"] = ", ".join(x for x in (
        "" if r.count is not None else "count not noted", f"fitted {r.date}" if r.date else "",
        f"by {r.fitted_by}" if r.fitted_by else "",
        f"adhesive {r.adhesive}, batch {r.batch or 'not noted'}" if r.adhesive else "adhesive not noted",
        f"inspected by {r.inspected_by}" if r.inspected_by else "NOT YET INSPECTED") if x)  # fmt: skip
    slots["who"] = f"{r.device}, {r.surface}, {r.side}, row {r.row}"
    return Sentence("{who}: " + ", ".join([*words, "{rest}"]), slots)


def _sums(r: FittedRecord) -> Sentence:
    words = f"{r.count} positions fitted, {r.spares} spares kept; "
    if r.mass is None:
        return Sentence(words + "mass not known: weigh ten devices with their adhesive, write mass_each")
    slots = {"mass": quantity(r.mass, "mass_small")}
    if r.cg_after is None:
        return Sentence(words + "{mass} in all; its effect on the CG is not computed (see the notes)", slots)
    slots |= {"empty": quantity(r.empty_mass, "mass_weighed"), "before": quantity(r.cg_before, "length_tape"),
              "after": quantity(r.cg_after, "length_tape"), "shift": quantity(r.cg_shift, "length_delta")}  # fmt: skip
    return Sentence(words + "{mass} in all: empty {empty}, CG {before:number} to {after} from the reference datum, "
                    "{shift} (aft is plus)", slots)  # fmt: skip


def item(a: DeviceLayout) -> dict:
    """One item of the JSON list `layout`; lengths in millimeters, unknown is None [-]."""
    p = a.positions
    return {
        "device": a.device, "surface": a.surface, "side": a.side, "count": a.count, "vanes": a.vanes,
        "datum": a.datum_name, "datum_mm": _mm(a.datum), "pitch_mm": _mm(a.pitch),
        "chord_percent": round(100 * a.chord_station, 3), "numbers": [x.number for x in p],
        "positions_mm": pair(a.along("tape"), _mm), "chord_mm": pair(a.along("along_chord"), _mm),
        "surface_mm": pair(a.along("along_surface"), _mm) or None,
        "rear_check_mm": pair(a.along("to_rear_line"), _mm) or None,
        "moved": [{"number": x.number, "from_mm": _mm(x.moved_from), "zone": x.moved_by} for x in p
                  if x.moved_from is not None],
        "dropped": [{"number": x.number, "planned_mm": _mm(x.tape), "zone": x.zone} for x in a.dropped],
        "outside_guidance": [g.text() for g in a.guidance if g.within is False], "notes": list(a.notes),
    }  # fmt: skip


def _mm(length: float) -> float:
    return round(float(from_si(length, "mm", "length")), 2)


def sheets(study: Study, layouts, papers=tuple(PAPERS)) -> tuple[dict[str, bytes], list[str]]:
    """Marking sheets of these layouts by file name [-], and what kept others from being drawn."""
    files, problems, several = {}, [], len({x.device for x in layouts}) > 1
    for one in layouts:
        for paper in papers:
            own = "".join(c if c.isalnum() else "-" for c in one.device.casefold()) + "-" if several else ""
            try:
                files[f"marking-sheet-{own}{one.side}-{paper.casefold()}.pdf"] = sheet_of(one, paper, study)
            except CaseError as e:
                problems.append(str(e))
    return files, problems


def sheet_of(layout: DeviceLayout, paper: str, study: Study) -> bytes:
    """The marking sheet of one side [-], drawn once: the report and the panel ask for the same ones."""
    return study.memo(marking_sheet, layout, paper, airplane=study.name, invented=study.aircraft.invented)


def card_of(study: Study, layouts, records) -> bytes:
    """The preflight card [-]: vanes as fitted where they were noted, else as planned."""
    name, record = list(records.items())[-1] if records else ("", None)
    each = {d.name: 2 if in_pairs(d) else 1 for d in study.aircraft.device}
    if record is not None:
        rows = [(r.device if r.row == 1 else f"{r.device}, row {r.row}", r.side,
                 None if r.count is None else r.count * each.get(r.device, 1)) for r in record.rows]  # fmt: skip
    else:
        rows = [(x.device, x.side, x.vanes) for x in layouts]
    a = study.aircraft
    return preflight_card(
        rows, airplane=study.name, modification=name, limit=a.layout.missing_limit, invented=a.invented,
        limit_by=a.layout.missing_limit_by, fitted=record is not None,
    )  # fmt: skip
