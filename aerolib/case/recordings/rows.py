"""Accepted stalls of a recording as rows of `stalls.csv`, each with its origin."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerolib.case.aircraft import error_sizes
from aerolib.case.recordings.logs import FOLDER, corrections_of
from aerolib.case.schema import Log
from aerolib.case.stalls import COLUMNS, HIGHEST_LIFT
from aerolib.measured.recording.channels import Recording
from aerolib.measured.recording.results import FoundStall
from aerolib.measured.stalls.each import LAG_SHARE
from aerolib.measured.stalls.loadfactor import from_floor_meter
from aerolib.units import unit

_DIGITS = {
    "ias": 1, "warning_ias": 0, "buffet_ias": 0, "pressure_altitude": -1, "temperature": 0, "weight": 0, "crew": 0,
    "fuel": 0, "entry_rate": 1, "load_factor": 2, "sink_rate": -1, "height_lost": -1,
}  # fmt: skip


@dataclass(frozen=True)
class Accepted:
    """A stall the reader accepted, and what the reader said of it."""

    stall: FoundStall
    configuration: str
    ended: str


def origin(log: Log, recording: Recording, stall: FoundStall) -> str:
    """Where a row comes from, as it stands in its remarks."""
    moved = ", moved by hand" if stall.speed_kind == "break" else ""
    return f"{FOLDER}/{log.file} at {recording.when(stall.time)}{moved}"


def from_file(frame, columns, file: str) -> int:
    """How many rows of a card came from this recording."""
    if "remarks" not in columns:
        return 0
    return int(frame[columns["remarks"].header].str.startswith(f"{FOLDER}/{file} at ").sum())


def below_scale(case, log: Log, stall: FoundStall) -> bool:
    """The needle was filmed, and it was below its lowest mark: the speed is only known to be less than that [m/s]."""
    start = case.aircraft.indicator.scale_starts
    return log.format == "panel" and start is not None and stall.ias < start


def with_rows(case, frame, log: Log, recording: Recording, accepted) -> tuple[object, int]:
    """A card (frame of text) with a row for each accepted stall, and how many were there already.

    The needle's own lag is taken out later, with every other row: a recorded airspeed with another lag is put back to
    what the needle would have shown.

    Parameters
    ----------
    case : Case [-]
        Its columns give the units.
    frame : pandas frame of text [-]
    log : Log [-]
    recording : Recording [-]
    accepted : sequence of Accepted [SI]

    Returns
    -------
    frame : pandas frame of text [-]
    there : int [-]
    """
    import pandas as pd

    headers = {name: c.header for name, c in case.stalls.columns.items()}
    units = {name: c.unit for name, c in case.stalls.columns.items()}
    remarks = set(frame[headers["remarks"]].tolist()) if "remarks" in headers else set()
    rows, told = [], [(a, origin(log, recording, a.stall)) for a in accepted]
    new = [(a, remark) for a, remark in told if remark not in remarks]
    for a, remark in new:
        cells = {}
        for name, value in {**_words(log, a), **_numbers(case, log, a.stall), "remarks": remark}.items():
            if isinstance(value, float):
                if not math.isfinite(value):
                    continue
                c = COLUMNS[name]
                u = units.get(name) or (unit(c.usual_unit, c.kind) if c.kind else None)
                if name not in headers:
                    headers[name], units[name] = f"{name} [{u.text}]" if u else name, u
                hidden = name == "ias" and below_scale(case, log, a.stall)
                number = case.aircraft.indicator.scale_starts if hidden else value
                value = "<" * hidden + _text(u.from_si(number) if u else number, 0 if hidden else _DIGITS[name])
            elif name not in headers:
                headers[name] = name
            cells[headers[name]] = value
        rows.append(cells)
    if not rows:
        return frame, len(told)
    columns = list(dict.fromkeys([*frame.columns, *(header for row in rows for header in row)]))
    both = pd.concat([frame, pd.DataFrame(rows)], ignore_index=True).reindex(columns=columns).fillna("")
    both.index = range(2, len(both) + 2)
    return both, len(told) - len(new)


def _words(log: Log, a: Accepted) -> dict[str, str]:
    return {
        "modification": log.modification or "", "configuration": a.configuration, "flight": log.flight or "",
        "power": log.power or "", "pilot": log.pilot or "", "speed_kind": a.stall.speed_kind, "ended": a.ended,
        **({"load_factor_at": HIGHEST_LIFT} if math.isfinite(a.stall.load_factor) else {}),
    }  # fmt: skip


def _numbers(case, log: Log, s: FoundStall) -> dict[str, float]:
    errors = error_sizes(case.aircraft)
    later = corrections_of(log, case.aircraft).pitot_lag - errors.lag
    rate = s.entry_rate if math.isfinite(s.entry_rate) else 0.0
    n = s.load_factor
    if case.aircraft.indicator.load_factor_axis == "flight path" and math.isfinite(n):
        n = float(from_floor_meter(n, errors.stall_incidence, errors.stall_incidence_uncertainty)[0])
    given = {"temperature": log.temperature, "weight": log.weight, "crew": log.crew, "fuel": log.fuel}
    return {
        "ias": s.ias - LAG_SHARE[s.speed_kind] * later * rate, "warning_ias": s.warning_ias, "buffet_ias": s.buffet_ias,
        "pressure_altitude": s.altitude, **{k: v for k, v in given.items() if v is not None},
        "entry_rate": s.entry_rate, "load_factor": n, "sink_rate": s.sink_rate, "height_lost": max(s.height_lost, 0.0),
    }  # fmt: skip


def _text(value: float, digits: int) -> str:
    return f"{round(value, digits) + 0.0:.{max(digits, 0)}f}"
