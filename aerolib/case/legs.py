"""`airspeed_legs.csv`: legs flown for the airspeed calibration, checked, and turned into arrays.

Three or more legs at one needle reading, height and place are a run. Tracks may be magnetic or true: one constant angle
turns the wind that is found and leaves the airspeed as it is.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from aerolib.case.problems import CaseError, nearest
from aerolib.case.schema import Aircraft
from aerolib.case.tables import Column, Dialect, decode, numbers, read_header, read_table

FILE = "airspeed_legs.csv"
COLUMNS: dict[str, str | None] = {
    "modification": None,
    "configuration": None,
    "run": None,
    "power": None,
    "ias": "speed",
    "ground_speed": "speed",
    "track": "angle",
    "heading": "angle",
    "sink_rate": "speed",
    "pressure_altitude": "altitude",
    "temperature": "temperature",
    "weight": "mass",
    "place": None,
    "remarks": None,
    "left_out": None,
}
REQUIRED = ("modification", "configuration", "run", "ias", "ground_speed", "pressure_altitude")
USUAL_HEADER = (
    "modification,configuration,run,power,ias [kt],ground_speed [kt],track [deg],sink_rate [ft/min],"
    "pressure_altitude [ft],temperature [deg C]"
)
_PLAUSIBLE = {  # lowest, highest of a light airplane, SI
    "ias": (5.0, 120.0),
    "ground_speed": (0.5, 180.0),
    "track": (-2.0 * np.pi, 2.0 * np.pi),
    "heading": (-2.0 * np.pi, 2.0 * np.pi),
    "sink_rate": (-10.0, 25.0),
    "pressure_altitude": (-500.0, 6000.0),
    "temperature": (220.0, 325.0),
    "weight": (50.0, 10000.0),
}
NOT_NOTED = "level"  # power of a leg that names none
LEAK = 1.03  # [m/s] the needle may fall in a minute, 2 kt: our judgement
TELLS = ("break", "mush", "stop")  # how a stall must have ended to say where the stall is


@dataclass(frozen=True)
class LegsTable:
    """Legs as read: the text frame untouched, and arrays in SI of the rows that take part."""

    frame: object  # pandas frame of text, every row of the file
    row: np.ndarray  # (N,) row in the file, the header being row 1
    text: dict[str, np.ndarray]  # (N,) modification, configuration, run, power, place
    si: dict[str, np.ndarray]  # (N,) by column name, NaN where not known
    left_out: tuple[tuple[int, str], ...] = ()
    warnings: tuple[str, ...] = ()
    dialect: Dialect = Dialect()
    columns: dict[str, Column] = field(default_factory=dict)


def parse_legs(data: bytes, aircraft: Aircraft, file: str = FILE) -> LegsTable:
    """Read the bytes of an `airspeed_legs.csv`; CaseError lists everything wrong."""
    if not decode(data, file).split("\n", 1)[0].strip():
        raise CaseError(
            f"`{file}` row 1 is empty; needed is a header such as `{USUAL_HEADER}`, or remove the file: it is not "
            "required"
        )
    frame, dialect = read_table(data, file)
    columns = read_header(frame.columns, COLUMNS, file)
    missing = [c for c in REQUIRED if c not in columns]
    if missing or not {"track", "heading"} & set(columns):
        what = missing[0] if missing else "track [deg]` (or `heading [deg]"
        raise CaseError(f"`{file}` row 1: column `{what}` is missing; needed are `{USUAL_HEADER}`")
    skip = _cells(frame, columns, "left_out")
    left_out = tuple((int(r), str(t)) for r, t in zip(frame.index, skip) if t)
    used = frame[skip == ""]
    problems: list[str] = []
    text = {n: _cells(used, columns, n) for n in ("modification", "configuration", "run", "power", "place")}
    text["power"] = np.where(text["power"] == "", NOT_NOTED, text["power"])
    _names(text, used, aircraft, file, problems)
    si = {}
    for name, kind in COLUMNS.items():
        if kind is None:
            continue
        si[name] = np.full(len(used), np.nan)
        if name in columns:
            si[name] = columns[name].unit.to_si(numbers(used, columns[name], file, problems))
            _plausible(name, si[name], used, columns[name], file, problems)
    _complete(si, text, used, file, problems)
    if problems:
        raise CaseError(problems)
    return LegsTable(frame, np.asarray(used.index), text, si, left_out, tuple(_places(text, file)), dialect, columns)


def _cells(frame, columns, name) -> np.ndarray:
    if name not in columns:
        return np.full(len(frame), "", dtype=object)
    return frame[columns[name].header].to_numpy(dtype=object)


def _names(text, frame, aircraft, file, problems):
    for name in ("modification", "configuration"):
        known = [row.name for row in getattr(aircraft, name)]
        for value in dict.fromkeys(text[name].tolist()):
            row = frame.index[int(np.argmax(text[name] == value))]
            if not value:
                problems.append(
                    f"`{file}` row {row}: no {name}; write its name, such as '{known[0] if known else 'before'}'"
                )
            elif known and value not in known:
                problems.append(
                    f"`{file}` row {row}: {name} '{value}' is not in `aircraft.toml`; {nearest(value, known)} (or add "
                    f"a table [[{name}]] with this name)"
                )
    for i in np.flatnonzero(text["run"] == "")[:5]:
        problems.append(
            f"`{file}` row {frame.index[i]}: no run; give all legs at one reading the same number, such as 1"
        )


def _plausible(name, values, frame, column, file, problems):
    low, high = _PLAUSIBLE[name]
    for i in np.flatnonzero(np.isfinite(values) & ((values < low) | (values > high)))[:10]:
        u = column.unit
        problems.append(
            f"`{file}` row {frame.index[i]}: {frame[column.header].iloc[i]} in column `{column.header}`; expected is "
            f"{u.from_si(low):.3g} to {u.from_si(high):.3g} {u.text}: a slip, or another unit?"
        )


def _complete(si, text, frame, file, problems):
    needed = {"ias": "what the needle showed", "ground_speed": "what the receiver showed",
              "pressure_altitude": "with the altimeter at 1013 hPa or 29.92 inHg"}  # fmt: skip
    for name, what in needed.items():
        for i in np.flatnonzero(~np.isfinite(si[name]))[:5]:
            problems.append(f"`{file}` row {frame.index[i]}: no {name}; write {what}, or give a reason in `left_out`")
    told = set()
    for i in np.flatnonzero(~np.isfinite(si["track"])):
        run = tuple(str(text[n][i]) for n in ("modification", "configuration", "run"))
        mine = np.all([text[n] == v for n, v in zip(("modification", "configuration", "run"), run)], axis=0)
        if run not in told and not np.all(np.isfinite(si["heading"][mine])):
            told.add(run)
            problems.append(
                f"`{file}` row {frame.index[i]}: run {run[2]} of {run[0]}, {run[1]} has a leg without track; write the "
                "track of every leg, or instead the heading of every leg of that run"
            )


def _places(text, file):
    """A warning for every run flown at more than one place."""
    runs: dict[tuple, set] = {}
    for m, c, r, place in zip(*(text[n].tolist() for n in ("modification", "configuration", "run", "place"))):
        runs.setdefault((m, c, r), set()).add(place)
    for (m, c, r), places in runs.items():
        if len(places - {""}) > 1:
            yield (f"`{file}`: run {r} of {m}, {c} was flown at {' and '.join(sorted(places))}; the wind differs "
                   "between places, so fly the legs of one run within a few miles")  # fmt: skip
