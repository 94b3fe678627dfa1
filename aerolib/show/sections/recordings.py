"""Recordings of a case: what was found in each, and how many of its stalls stand in the stall table."""

from __future__ import annotations

import math
from collections.abc import Iterable

from aerolib.case.problems import CaseError
from aerolib.case.recordings import FOLDER, from_file
from aerolib.estimate import K95
from aerolib.measured.recording.ground import GroundStallSpeed
from aerolib.measured.recording.results import FoundStall
from aerolib.show.finding import Column, Finding, Part, Quantity, Sentence, Table
from aerolib.study import Study
from aerolib.study.recordings import recorded

KEYS = ("recordings",)
TITLE = "Recordings"
CAUTIONS = (
    "A stall found by a program is a proposal: look at each picture before it is accepted.",
    "Film and log so that a pilot alone writes nothing and looks at no screen near the stall.",
    "Never turn at the stall to get another heading. Turn at a faster speed, at stall-test height, then slow down.",
    "Stalls need height, an airplane inside its weight and balance limits, and the consent of whoever licenses the "
    "flight. Placards, markings and approach speeds are not changed from this output.",
)
METHOD = (
    "Lowest speed: a cubic through the readings around it; the bias of a minimum of noise, -var(slope)/(2 v''), is "
    "taken out. Entry rate: speed lost over the seconds of the last 10 % of it, as indicated: from 1.1 times the speed "
    "at the stall, which is the first moment within 0.25 m/s of the lowest. Definition of the rate: common practice of "
    "certification guidance, from memory"
)
HEAD = tuple(map(Column, ("recording", "state", "stalls found", "refused, and why", "in the stall table")))


def finding(study: Study) -> Finding | None:
    """One row for each [[log]]; None where the case has none. A file that cannot be read is said so, not a failure."""
    logs = [log for log in study.aircraft.log if log.goes_with is None]
    if not logs:
        return None
    data, rows, told = [], [], list[str]()
    for log in logs:
        try:
            found = recorded(study, log.file).found
        except CaseError as e:
            told.append(f"{FOLDER}/{log.file} was not read: {e}")
            continue
        there = from_file(study.stalls.frame, study.stalls.columns, log.file)
        refused = [s.refused.split(":")[0] for s in found.items if s.refused]
        state = ", ".join(x for x in (log.modification, log.configuration, log.flight) if x)
        rows.append((log.file, state, str(len(found.stalls)), ", ".join(refused) or "-", str(there)))
        data.append({"recording": log.file, "modification": log.modification, "configuration": log.configuration,
                     "found": len(found.stalls), "refused": len(refused), "on_the_card": there})  # fmt: skip
    rule = "Found by the rules of workbook 05; a stall counts only once it was looked at there and accepted."
    parts: tuple[Part, ...] = (Table(HEAD, tuple(rows)), *told, rule)
    return Finding("recordings", TITLE, (), parts, CAUTIONS, data={"recordings": data or None})


def stalls_table(rows: Iterable[tuple[str, str, FoundStall]], has_airspeed: bool) -> Table:
    """Approaches of one recording: verdict, time as its clock has it, and what was measured."""
    what, kind = ("lowest speed", "speed_on_dial") if has_airspeed else ("lowest ground speed", "speed_change")
    heads = (
        Column("no."), Column("verdict"), Column("time"), Column(f"{what} (95 % interval)", kind),
        Column("entry rate", "rate"), Column("load factor", "factor"), Column("height lost", "height"),
        Column("ended"), Column("seen by, or refused because"),
    )  # fmt: skip
    cells = ((str(k), verdict, time, *_measured(s, kind)) for k, (verdict, time, s) in enumerate(rows, 1))
    return Table(heads, tuple(cells))


def _measured(s: FoundStall, kind: str) -> tuple:
    return (
        _known(s.ias, kind, s.standard_uncertainty), _known(s.entry_rate, "rate"),
        _known(s.load_factor, "factor", s.load_factor_uncertainty), _known(s.height_lost, "height"), s.ended,
        s.refused or ", ".join((*s.signs, *s.notes)) or "speed only",
    )  # fmt: skip


def _known(x: float, kind: str, u: float | None = None) -> Quantity:
    ends = None if u is None else (x - K95 * u, x + K95 * u)
    return Quantity(x, kind, ends) if math.isfinite(x) else Quantity(None, kind, unknown="-")


def ground_speed_sentence(found: GroundStallSpeed) -> Sentence:
    """What several stalls say together of the true airspeed, without an airspeed indicator."""
    off = {f"leg{k}": Quantity(x, "speed_change") for k, x in enumerate(found.residuals)}
    return Sentence(
        "From ground velocities alone: true airspeed at the stall {speed} from {stalls} stalls, {method}; wind {wind} "
        f"from {{from}}, sink rate {{sink}}; off the circle by {', '.join(f'{{{n}:number}}' for n in off)} kt. It is "
        "the mean of these stalls, in true airspeed: weight, density and load factor are not in it.",
        {**off, "speed": Quantity(found.true_airspeed, "speed_true", found.interval95), "stalls": str(found.stalls),
         "method": found.method, "wind": Quantity(found.wind_speed, "speed_change"),
         "from": Quantity(found.wind_from, "angle"), "sink": Quantity(found.sink_rate, "speed_vertical")},
    )  # fmt: skip
