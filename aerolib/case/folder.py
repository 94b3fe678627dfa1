"""A case: a folder of plain text about one airplane, read and checked, ready for the estimates."""

from __future__ import annotations

import contextlib
import functools
import os
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from aerolib.case import checks, legs, tufts
from aerolib.case.aircraft import AIRCRAFT, parse_aircraft
from aerolib.case.columns import Table
from aerolib.case.inside import inside
from aerolib.case.problems import CaseError
from aerolib.case.saving import sha256
from aerolib.case.schema import Aircraft
from aerolib.case.shipped import demo_folder
from aerolib.case.stalls import FILE, StallTable, parse_frame, parse_stalls
from aerolib.case.states import State, as_read, doubt, flown_states, in_order, look_alikes
from aerolib.case.tables import read_bytes

# What a case may have beside its stalls: file name -> the function that reads and checks it.
PARSERS: dict[str, Callable[[bytes, Aircraft], Table]] = {
    checks.FILE: checks.parse_checks,
    legs.FILE: legs.parse_legs,
    tufts.FILE: tufts.parse_tufts,
}


@dataclass(frozen=True)
class Case:
    """One airplane and its stalls, read and checked."""

    folder: Path
    aircraft: Aircraft
    stalls: StallTable
    digests: dict[str, str]  # file name -> sha256 of what was read
    tables: dict[str, Table] = field(default_factory=dict)  # file name -> what was parsed, where the file exists

    def __post_init__(self):
        if problems := look_alikes(self.aircraft, self._all_tables()):
            raise CaseError(problems)

    def _all_tables(self) -> dict:
        return {FILE: self.stalls, **self.tables}

    @property
    def name(self) -> str:
        """The airplane's name."""
        return self.aircraft.name

    def optional(self, file: str):
        """The parsed table of an optional file, None where the case has no such file."""
        return self.tables.get(file)

    @functools.cached_property
    def states(self) -> tuple[str, ...]:
        """Names of all states, first state first: the one order that everything follows."""
        return in_order(self.aircraft, self._all_tables())

    def states_in(self, file: str) -> list[str]:
        """Names of the states that have a row in a file, first state first."""
        table = self._all_tables().get(file)
        have = set() if table is None else set(table.text["modification"].tolist())
        return [m for m in self.states if m in have]

    @functools.cached_property
    def flown(self) -> tuple[State, ...]:
        """The states that were stalled, with their flights, first state first."""
        return flown_states(self.states, self.stalls.text)

    @functools.cached_property
    def order_in_doubt(self) -> str | None:
        """The question to the owner where the dates of the flights contradict the order of the states; else None."""
        return doubt(self.aircraft, self.flown, FILE)

    @property
    def read(self) -> str:
        """What was read, in one sentence: which state came before, which after, flown when."""
        return as_read(self.aircraft, self.flown, self.order_in_doubt)

    def as_read(self) -> dict:
        """The JSON key `read`."""
        states = [{"modification": s.name, "flights": len(s.flights), "dates": [d.isoformat() for d in sorted(s.days)]}
                  for s in self.flown]  # fmt: skip
        return {"text": self.read, "order_in_doubt": self.order_in_doubt is not None, "states": states}

    @property
    def flights(self) -> int:
        """How many flights were used: flight 1 before and flight 1 after are two."""
        return sum(len(s.flights) for s in self.flown)

    @property
    def dial_unit(self) -> str:
        """The unit of the airspeed indicator's dial: that of the readings in `stalls.csv`."""
        return self.stalls.columns["ias"].unit.text

    @property
    def inputs_sha256(self) -> str:
        """One digest of all input files."""
        return sha256("\n".join(f"{k} {v}" for k, v in sorted(self.digests.items())).encode())

    @property
    def reference_weight(self) -> float:
        """The weight that stall speeds are given at [kg]."""
        w = self.aircraft.weights
        return w.reference if w.reference is not None else w.maximum

    def with_aircraft(self, **tables) -> Case:
        """The same case with tables of `aircraft.toml` replaced; nothing is written."""
        return replace(self, aircraft=self.aircraft.model_copy(update=tables))

    def with_stalls(self, frame) -> Case:
        """The same case with an edited frame of stalls (text, index: the row in the file)."""
        return replace(self, stalls=parse_frame(frame, self.aircraft, self.stalls.dialect))


def opened_case() -> Case:
    """The case a workbook was opened with (`aerolib open`, through AEROLIB_CASE), else the demonstration."""
    return read_case(os.environ.get("AEROLIB_CASE") or demo_folder(), before_flying=True)


def read_case(folder: str | Path, before_flying: bool = False) -> Case:
    """Read and check a case folder; CaseError says everything that is wrong in one go.

    `before_flying` allows a `stalls.csv` without a row: predictions and layouts need none.
    """
    folder = Path(folder)
    try:
        found = folder.is_dir()
    except OSError as e:  # no right to look, a name too long
        raise CaseError(f"the folder {folder} cannot be opened: {e.strerror}; check its name and permissions") from None
    if not found:
        what = "is a file, not a folder" if folder.exists() else "does not exist"
        raise CaseError(
            f"the folder {folder} {what}; `aerolib new FOLDER` starts one, `data/demo` is the demonstration"
        )
    raw = {name: read_bytes(inside(folder, name)) for name in (AIRCRAFT, FILE)}
    raw |= {name: read_bytes(inside(folder, name)) for name in PARSERS if os.path.lexists(folder / name)}
    aircraft = parse_aircraft(raw[AIRCRAFT])
    section = aircraft.wing.section_file
    if section is not None:
        with contextlib.suppress(CaseError):  # complained of where the section is needed
            raw[section] = read_bytes(inside(folder, section))
    stalls = parse_stalls(raw[FILE], aircraft, none_yet=before_flying)
    tables = {name: parse(raw[name], aircraft) for name, parse in PARSERS.items() if name in raw}
    return Case(folder, aircraft, stalls, {k: sha256(v) for k, v in raw.items()}, tables)
