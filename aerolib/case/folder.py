"""A case: a folder of plain text about one airplane, read and checked, ready for the estimates."""

from __future__ import annotations

import contextlib
import functools
import math
import os
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from aerolib.answers import absurd
from aerolib.case.aircraft import (
    AIRCRAFT,
    error_sizes,
    flaps_of,
    instrument_of,
    parse_aircraft,
    thrust_of,
    wing_areas_of,
)
from aerolib.case.checks import FILE as CHECKS
from aerolib.case.inside import inside
from aerolib.case.legs import calibration_of, cautions_of, corrections_of
from aerolib.case.optional import PARSERS
from aerolib.case.plausible import apart, apparent, doubtful, implausible, set_aside, unusual
from aerolib.case.problems import CaseError
from aerolib.case.saving import sha256
from aerolib.case.schema import Aircraft
from aerolib.case.shipped import demo_folder
from aerolib.case.stalls import FILE, HIGHEST_LIFT, NONE_YET, StallTable, parse_frame, parse_stalls
from aerolib.case.states import State, as_read, doubt, flown_states, in_order, look_alikes
from aerolib.case.tables import read_bytes
from aerolib.measured.calibration_results import AirspeedCalibration
from aerolib.measured.changes import Comparison
from aerolib.measured.checks import ChecksComparison, compare_checks
from aerolib.measured.comparison import compare
from aerolib.measured.loadfactor import from_floor_meter, of_steady_flight
from aerolib.measured.results import StallReduction
from aerolib.measured.stall import reduce_stalls
from aerolib.units import from_si

DRAWS = 100_000  # of the Monte Carlo check in a report
DRAWN_AT_MOST = 50_000_000  # stalls times draws: some ten seconds
FEWEST_DRAWS = 10_000  # fewer say too little about an interval's ends


@dataclass(frozen=True)
class Case:
    """One airplane and its stalls, read and checked."""

    folder: Path
    aircraft: Aircraft
    stalls: StallTable
    digests: dict[str, str]  # file name -> sha256 of what was read
    tables: dict[str, object] = field(default_factory=dict)  # file name -> what was parsed, where the file exists

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

    def with_stalls(self, frame) -> Case:
        """The same case with an edited frame of stalls (text, index: the row in the file)."""
        return set_aside(replace(self, stalls=parse_frame(frame, self.aircraft, dialect=self.stalls.dialect)))

    def warnings(self) -> list[str]:
        """What the owner should know and the reduction can live with."""
        out = [*([self.order_in_doubt] if self.order_in_doubt else []), *self.stalls.warnings, *cautions_of(self)]
        recorded = np.isfinite(self.stalls.si["load_factor"])
        if (recorded & self._belongs).any() and self.aircraft.indicator.load_factor_axis is None:
            out.append(
                f"`{AIRCRAFT}` [indicator] load_factor_axis is not given: the recorded load factor is taken as "
                "normal to the cabin floor, at idle only"
            )
        if (recorded & ~self._belongs).any():
            at = self.stalls.row[recorded & ~self._belongs]
            rows = ", ".join(str(r) for r in at[:5]) + (" and more" if len(at) > 5 else "")
            out.append(
                f"`{FILE}` row {rows}: the load factor is not used. The wing gives its most before the lowest speed: "
                "a meter read there makes CLmax several percent too low, the table by entry rate is better. Workbook "
                f"05 takes the right one from a recording and writes '{HIGHEST_LIFT}' into column `load_factor_at`"
            )
        used = set(self.stalls.text["configuration"].tolist())
        idle = [c.name for c in self.aircraft.configuration if c.name not in used]
        if idle:
            out.append(f"`{AIRCRAFT}`: no stall yet of configuration {', '.join(repr(n) for n in idle)}")
        return out

    @property
    def _belongs(self) -> np.ndarray:
        """Whether a load factor (N,) would belong to the lift coefficient asked for: of highest lift, or held."""
        t = self.stalls.text
        return (t["load_factor_at"] == HIGHEST_LIFT) | (t["speed_kind"] == "steady")

    def reduce(self, check: bool = True, draws: int = 0, progress=None) -> StallReduction:
        """CLmax of everything on the card; CaseError where a row cannot be what its header says.

        `draws` Monte Carlo draws check the intervals; a card of thousands of stalls gets fewer or none.
        """
        if len(self.stalls.row) == 0:
            raise CaseError(NONE_YET)
        affordable = DRAWN_AT_MOST // len(self.stalls.row)
        draws = min(draws, affordable) if affordable >= FEWEST_DRAWS else 0
        try:
            result = reduce_stalls(**self.arguments(), draws=draws, progress=progress)
        except ValueError as e:
            raise CaseError(f"the stalls of `{AIRCRAFT}` and `{FILE}` cannot be reduced: {e}") from None
        if check:
            problems = implausible(self.stalls, result.points, self.aircraft, FILE, self.reference_weight)
            if problems := problems or absurd(result.as_list(), "clmax"):
                raise CaseError(problems)
        order = {c.name: i for i, c in enumerate(self.aircraft.configuration)}
        ranks = [
            (self.states.index(i.modification), order.get(i.configuration, 99), i.power != "idle", k)
            for k, i in enumerate(result.items)
        ]
        sequence = sorted(range(len(ranks)), key=ranks.__getitem__)
        place = np.empty(len(sequence), dtype=int)
        place[sequence] = np.arange(len(sequence))
        return replace(
            result,
            speed_unit=self.dial_unit,
            items=tuple(result.items[k] for k in sequence),
            points=replace(result.points, group=place[result.points.group]),
            notes=result.notes
            + tuple(unusual(result))
            + tuple(doubtful(self.stalls, result.points, self.aircraft, FILE, self.reference_weight))
            + tuple(apart(result, self.stalls.row, FILE))
            + tuple(apparent(self.stalls, result.points, FILE))
            + tuple(self.warnings()),
        )

    def comparison(self) -> Comparison | None:
        """First against last state of the case; None where there is only one, or where their order is in doubt."""
        if len(self.flown) < 2 or self.order_in_doubt:
            return None
        return compare(self.compare_arguments(), self.flown[0].name, self.flown[-1].name)

    def compare_arguments(self) -> dict:
        """What `compare` takes: the stalls, and what else may differ between two states."""
        return {**self.arguments(), "cg": self.stalls.si["cg"], "calibration": self.calibrate_airspeed()}

    def compare_checks(self) -> ChecksComparison | None:
        """First against last state that has checks; None where there is one or none, or the order is in doubt."""
        names = self.states_in(CHECKS)
        if len(names) < 2 or self.order_in_doubt:
            return None
        return compare_checks(**self.optional(CHECKS).arguments(), before=names[0], after=names[-1])

    def calibrate_airspeed(self) -> AirspeedCalibration | None:
        """The airspeed system from `airspeed_legs.csv`; None where there are no legs."""
        return calibration_of(self)

    def arguments(self) -> dict:
        """What `reduce_stalls` takes, in SI."""
        a, s = self.aircraft, self.stalls
        errors = error_sizes(a)
        flaps = flaps_of(a)
        si = s.si
        n = np.where(self._belongs, si["load_factor"], np.nan)
        moving = s.text["speed_kind"] != "steady"
        steady, lag = of_steady_flight(np.where(moving, n, np.nan), si["entry_rate"])
        n = np.where(moving, steady, n)
        if a.indicator.load_factor_axis != "flight path" and np.isfinite(n).any():
            known = np.isfinite(n)
            turned, u = from_floor_meter(
                np.where(known, n, 1.0), errors.stall_incidence, errors.stall_incidence_uncertainty
            )
            # The conversion takes the drag of an idle glide; with power the recorded n is not used.
            n = np.where(known & np.isin(s.text["power"], ("idle", "off")), turned, np.nan)
            errors = replace(errors, recorded_load_factor=u)
        errors = replace(errors, recorded_load_factor=math.hypot(errors.recorded_load_factor, lag))
        configuration = s.text["configuration"]
        return {
            "ias": si["ias"],
            **wing_areas_of(a, s.text["modification"]),
            "weight": s.weight,
            "weight_uncertainty": s.weight_uncertainty,
            "reference_weight": self.reference_weight,
            "speed_kind": s.text["speed_kind"],
            "ended": s.text["ended"],
            "modification": s.text["modification"],
            "configuration": configuration,
            "power": s.text["power"],
            "flight": s.text["flight"],
            "pilot": s.text["pilot"],
            "below_scale": s.below_scale,
            "flap": np.array([flaps.get(c, c) for c in configuration.tolist()]),
            "pressure_altitude": si["pressure_altitude"],
            "temperature": si["temperature"],
            "entry_rate": si["entry_rate"],
            "load_factor": n,
            "sink_rate": si["sink_rate"],
            "warning_ias": si["warning_ias"],
            "buffet_ias": si["buffet_ias"],
            "instrument": instrument_of(a),
            "position": corrections_of(self),
            "thrust": thrust_of(a),
            "thrust_angle": a.power.thrust_angle or 0.0,
            "errors": errors,
            "inputs": self.inputs(),
        }

    def inputs(self) -> dict[str, str]:
        """The inputs shown beside every answer."""
        a, e = self.aircraft, error_sizes(self.aircraft)
        others = "".join(f", {m.wing_area:.4g} m2 in '{m.name}'" for m in a.modification if m.wing_area is not None)
        return {
            "wing area": f"{a.wing.area:.4g} m2 within {196 * e.wing_area:.2g} % (95 %){others}",
            "reference weight": f"{self.reference_weight:.4g} kg ({self.reference_weight / 0.45359237:.4g} lb)",
            "IAS read within": f"{from_si(1.96 * e.reading, self.dial_unit, 'speed'):.2g} {self.dial_unit} (95 %)",
            "stalls": f"{len(self.stalls.row)} used, {len(self.stalls.left_out)} left out"
            + (f", {len(self.stalls.set_aside)} set aside as impossible" if self.stalls.set_aside else ""),
        }


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
    return set_aside(Case(folder, aircraft, stalls, {k: sha256(v) for k, v in raw.items()}, tables))
