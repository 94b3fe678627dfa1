"""`airspeed_legs.csv`: legs flown for the airspeed calibration, checked, and turned into arrays.

Three or more legs at one needle reading, height and place are a run. Tracks may be magnetic or true: one constant angle
turns the wind that is found and leaves the airspeed as it is.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from aerolib.case.aircraft import error_sizes, flaps_of, instrument_of, position_of, thrust_of
from aerolib.case.problems import CaseError, nearest
from aerolib.case.schema import Aircraft
from aerolib.case.tables import Column, Dialect, decode, numbers, read_header, read_table
from aerolib.measured.calibration import calibrate_airspeed
from aerolib.measured.calibration_results import AirspeedCalibration
from aerolib.measured.labels import joined
from aerolib.units import on_dial

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


def calibration_of(case) -> AirspeedCalibration | None:
    """What the legs of a case say of its airspeed system [SI]; None where it has no legs."""
    legs: LegsTable | None = case.optional(FILE)
    if legs is None or len(legs.row) == 0:
        return None
    a, flaps = case.aircraft, flaps_of(case.aircraft)
    stalls = _stalls(case, flaps)
    weight, notes = _weights(legs, stalls, case.reference_weight)
    notes += list(legs.warnings)
    if a.indicator.leak is not None and a.indicator.leak > LEAK:
        notes.append(
            f"the airspeed falls {on_dial(a.indicator.leak, case.dial_unit, 1)} a minute with the tube "
            "closed: a leak that large reads differently from day to day; mend it and fly the legs again"
        )
    names = ("run", "modification", "power")
    try:
        found = calibrate_airspeed(
            **{n: legs.si[n] for n in ("ias", "ground_speed", "track", "heading", "sink_rate", "pressure_altitude",
                                       "temperature")},
            **{n: legs.text[n].astype(str) for n in names}, weight=weight, wing_area=a.wing.area, stalls=stalls,
            flap=[flaps.get(c, c) for c in legs.text["configuration"].tolist()], instrument=instrument_of(a),
            thrust=thrust_of(a), thrust_angle=a.power.thrust_angle or 0.0, errors=error_sizes(a),
            speed_unit=case.dial_unit,
        )  # fmt: skip
    except ValueError as e:
        raise CaseError(f"`{FILE}`: {e}") from None
    if found.doubt is not None and found.doubt.sure:
        raise CaseError(_wrong_unit(legs, found.doubt))
    refused = (*(_with_rows(legs, flaps, r) for r in found.refused), *(_misread(legs, leg) for leg in found.misread))
    states = sorted(found.states, key=lambda s: case.states.index(s.modification))
    return replace(found, states=tuple(states), refused=refused, misread=(), notes=tuple(notes),
                   inputs=_inputs(a, legs, case.dial_unit))  # fmt: skip


def _wrong_unit(legs: LegsTable, doubt) -> str:
    """Which column is in which other unit, and what to do."""
    gs, ias = legs.columns["ground_speed"], legs.columns["ias"]
    asked = [f"is column `{gs.header}` in {u}" for u in doubt.read_as(gs.unit.text, +1)]
    asked += [f"is column `{ias.header}` in {u}" for u in doubt.read_as(ias.unit.text, -1)]
    i = legs.row[0]
    cells = " and ".join(f"{legs.frame[c.header].loc[i]} in `{c.header}`" for c in (ias, gs))
    return (
        f"`{FILE}` rows {i} to {legs.row[-1]} (row {i}: {cells}): {doubt}. "
        f"{(' or '.join(asked) or 'is a column in another unit').capitalize()}? Write the right unit into its header. "
        "If both are right, give a reason in `left_out` for every leg and write the correction as "
        "[[indicator.position]] in `aircraft.toml`"
    )


def _with_rows(legs: LegsTable, flaps, refused: str) -> str:
    """A refused run with its rows."""
    t = legs.text
    names = [
        f"{joined(m, flaps.get(c, c))}, run {r}:"
        for m, c, r in zip(*(t[n].tolist() for n in ("modification", "configuration", "run")))
    ]
    rows = [int(row) for row, name in zip(legs.row, names) if refused.startswith(name)]
    return f"rows {', '.join(map(str, rows))}: {refused}" if rows else refused


def _misread(legs: LegsTable, leg) -> str:
    """The row of a leg that was set aside, and what the others of its run make of it."""
    c = legs.columns["ground_speed"]
    row = legs.row[leg.leg]
    return (
        f"row {row}: {legs.frame[c.header].loc[row]} in column `{c.header}`, set aside: the other legs of {leg.run} "
        f"make it about {c.unit.from_si(leg.expected):.0f} {c.unit.text} on that track. Correct speed or track, or "
        "give a reason in `left_out`"
    )


def corrections_of(case) -> dict:
    """(modification, flap) -> correction: from its legs, else the owner's table, else another state's legs."""
    flaps = flaps_of(case.aircraft)
    given, found = position_of(case.aircraft, flaps), calibration_of(case)
    if found is None:
        return given
    own = {(s.modification, s.flap) for s in found.states if s.origin == "legs"}
    return {**found.corrections, **given, **{k: v for k, v in found.corrections.items() if k in own}}


def cautions_of(case) -> list[str]:
    """What a reader of the stalls must know of the calibration, one sentence a state without legs of its own."""
    found = calibration_of(case)
    if found is None:
        return []
    tables = position_of(case.aircraft, flaps_of(case.aircraft))
    out = [f"`{FILE}`, left out: {r}" for r in found.refused] + [f"`{FILE}`: {a}" for a in found.asked()]
    out += [f"airspeed, {u}" for u in found.unlike()]
    return out + [f"airspeed, {s.name}: {s.notes[0] if s.notes else s.headline()}" for s in found.states
                  if s.origin != "legs" and (s.modification, s.flap) not in tables]  # fmt: skip


def _stalls(case, flaps) -> dict[tuple[str, str], tuple[float, float]]:
    """(modification, flap) -> middle reading [m/s] and weight [kg] of its stalls, those at idle where there are any."""
    s, out = case.stalls, {}
    flap = np.array([flaps.get(c, c) for c in s.text["configuration"].tolist()], dtype=object)
    idle = np.isin(s.text["power"].astype(str), ("idle", "off"))
    ended = np.isin(s.text["ended"].astype(str), TELLS)
    for state in dict.fromkeys(zip(s.text["modification"].tolist(), flap.tolist())):
        here = (s.text["modification"] == state[0]) & (flap == state[1])
        best = next(m for m in (here & idle & ended, here & ended, here) if m.any())
        out[state] = (float(np.median(s.si["ias"][best])), float(np.median(s.weight[best])))
    return out


def _weights(legs, stalls, reference) -> tuple[np.ndarray, list[str]]:
    """Weight of every leg: as noted, else the middle of the stalls of that modification."""
    weight, guessed = legs.si["weight"].copy(), set()
    for i in np.flatnonzero(~np.isfinite(weight)):
        mine = [w for (m, _), (_, w) in stalls.items() if m == legs.text["modification"][i]]
        weight[i] = float(np.median(mine)) if mine else reference
        guessed.add(str(legs.text["modification"][i]))
    if not guessed:
        return weight, []
    return weight, [f"weight of the legs not noted ({', '.join(sorted(guessed))}): taken as that of the stalls; it "
                    "only moves the ratio of lift coefficients"]  # fmt: skip


def _inputs(a: Aircraft, legs: LegsTable, dial: str) -> dict[str, str]:
    i = a.indicator
    out = {"legs": f"{len(legs.row)} used, {len(legs.left_out)} left out", "indicator alone": instrument_of(a).origin}
    for name in ("static_source", "pitot_kind", "doors_and_windows"):
        out[name.replace("_", " ")] = getattr(i, name) or "not noted"
    if i.leak is not None:
        out["leak"] = f"{on_dial(i.leak, dial, 1)} in a minute"
    return out
