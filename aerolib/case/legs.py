"""`airspeed_legs.csv`: legs flown for the airspeed calibration, checked, and turned into arrays.

Three or more legs at one needle reading, height and place are a run. Tracks may be magnetic or true: one constant angle
turns the wind that is found and leaves the airspeed as it is.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from aerolib.case.columns import Column, Schema, Table, by_name
from aerolib.case.problems import CaseError
from aerolib.case.schema import Aircraft
from aerolib.case.stalls import ALTITUDE, TEMPERATURE

FILE = "airspeed_legs.csv"
TURN = (-2.0 * np.pi, 2.0 * np.pi)
SCHEMA = Schema(FILE, by_name(
    Column("modification", required=True, write="its name"),
    Column("configuration", required=True, write="its name"),
    Column("run", required=True, write="the same number for all legs at one reading, such as 1"),
    Column("power", empty="level"),
    Column("ias", "speed", (5.0, 120.0), required=True, write="the indicated airspeed"),
    Column("ground_speed", "speed", (0.5, 180.0), required=True, write="what the receiver showed"),
    Column("track", "angle", TURN),
    Column("heading", "angle", TURN),
    Column("sink_rate", "speed", (-10.0, 25.0), unit="ft/min"),
    Column("pressure_altitude", "altitude", ALTITUDE, required=True,
           write="it with the altimeter at 1013 hPa or 29.92 inHg"),
    Column("temperature", "temperature", TEMPERATURE),
    Column("weight", "mass", (50.0, 10000.0)),
    Column("place"),
    Column("remarks"),
))  # fmt: skip
_SELDOM = ("heading", "weight", "place", "remarks", "left_out")
USUAL_HEADER = ",".join(c.header for c in SCHEMA.columns.values() if c.name not in _SELDOM)
LEAK = 1.03  # [m/s] the needle may fall in a minute, 2 kt: our judgement
TELLS = ("break", "mush", "stop")  # how a stall must have ended to say where the stall is
LegsTable = Table


def parse_legs(data: bytes, aircraft: Aircraft) -> LegsTable:
    """Read the bytes of an `airspeed_legs.csv`; CaseError lists everything wrong."""
    table, problems = SCHEMA.read(data, aircraft)
    if not {"track", "heading"} & set(table.columns):
        raise CaseError(
            f"`{FILE}` row 1: column `track [deg]` (or `heading [deg]`) is missing; needed are `{USUAL_HEADER}`"
        )
    problems += _tracks(table)
    if problems:
        raise CaseError(problems)
    return replace(table, warnings=tuple(_places(table)))


def _runs(table: Table) -> list[tuple[str, str, str]]:
    """(N,) the run of every leg: modification, configuration, run."""
    return list(zip(*(table.text[n].tolist() for n in ("modification", "configuration", "run"))))


def _tracks(table: Table) -> list[str]:
    """A sentence for every run with a leg without track, unless all its legs have a heading."""
    runs = _runs(table)
    first: dict[tuple[str, str, str], int] = {}
    blind = {run for run, known in zip(runs, np.isfinite(table.si["heading"])) if not known}
    for i in np.flatnonzero(~np.isfinite(table.si["track"])):
        if runs[i] in blind:
            first.setdefault(runs[i], table.row[i])
    return [
        f"`{FILE}` row {row}: run {run} of {m}, {c} has a leg without track; write the track of every leg, or instead "
        "the heading of every leg of that run"
        for (m, c, run), row in first.items()
    ]


def _places(table: Table):
    """A warning for every run flown at more than one place."""
    runs: dict[tuple, set] = {}
    for run, place in zip(_runs(table), table.text["place"].tolist()):
        runs.setdefault(run, set()).add(place)
    for (m, c, r), places in runs.items():
        if len(places - {""}) > 1:
            told = " and ".join(sorted(places - {""}))
            yield (
                f"`{FILE}`: run {r} of {m}, {c} was flown at {told}; the wind differs between places, so fly the legs "
                "of one run within a few miles"
            )
