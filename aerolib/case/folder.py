"""A case: a folder of plain text about one airplane, read and checked, ready for the estimates."""

from __future__ import annotations

import difflib
import os
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from pydantic import BaseModel, ValidationError

from aerolib.case.checks import FILE as CHECKS
from aerolib.case.checks import ChecksTable, parse_checks
from aerolib.case.plausible import implausible, unusual
from aerolib.case.problems import CaseError
from aerolib.case.saving import sha256
from aerolib.case.schema import Aircraft
from aerolib.case.shipped import demo_folder
from aerolib.case.stalls import FILE, StallTable, parse_frame, parse_stalls
from aerolib.case.tables import decode, read_bytes
from aerolib.measured.airspeed import SpeedCorrection
from aerolib.measured.changes import Comparison
from aerolib.measured.checks import ChecksComparison, compare_checks
from aerolib.measured.comparison import compare
from aerolib.measured.loadfactor import from_floor_meter
from aerolib.measured.results import StallReduction
from aerolib.measured.stall import ErrorSizes, Thrust, reduce_stalls
from aerolib.units import knots

AIRCRAFT = "aircraft.toml"
DRAWS = 100_000  # of the Monte Carlo check in a report
DRAWN_AT_MOST = 50_000_000  # stalls times draws: some ten seconds
FEWEST_DRAWS = 10_000  # fewer say too little about an interval's ends
WITHIN_TO_STANDARD = 1 / 1.96  # '..._within' is nineteen times in twenty


@dataclass(frozen=True)
class Case:
    """One airplane and its stalls, read and checked."""

    folder: Path
    aircraft: Aircraft
    stalls: StallTable
    digests: dict[str, str]  # file name -> sha256 of what was read
    checks: ChecksTable | None = None  # where the case has a `checks.csv`

    @property
    def name(self) -> str:
        """The airplane's name."""
        return self.aircraft.name

    @property
    def flights(self) -> int:
        """How many flights were used: flight 1 before and flight 1 after are two."""
        return len(set(zip(self.stalls.text["modification"].tolist(), self.stalls.text["flight"].tolist())))

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
        return replace(self, stalls=parse_frame(frame, self.aircraft, dialect=self.stalls.dialect))

    def warnings(self) -> list[str]:
        """What the owner should know and the reduction can live with."""
        out = list(self.stalls.warnings)
        if np.isfinite(self.stalls.si["load_factor"]).any() and self.aircraft.indicator.load_factor_axis is None:
            out.append(
                f"`{AIRCRAFT}` [indicator] load_factor_axis is not given: the recorded load factor is taken as "
                "normal to the cabin floor, at idle only"
            )
        used = set(self.stalls.text["configuration"].tolist())
        idle = [c.name for c in self.aircraft.configuration if c.name not in used]
        if idle:
            out.append(f"`{AIRCRAFT}`: no stall yet of configuration {', '.join(repr(n) for n in idle)}")
        return out

    def reduce(self, check: bool = True, draws: int = 0, progress=None) -> StallReduction:
        """CLmax of everything on the card; CaseError where a row cannot be what its header says.

        `draws` Monte Carlo draws check the intervals; a card of thousands of stalls gets fewer or none.
        """
        affordable = DRAWN_AT_MOST // len(self.stalls.row)
        draws = min(draws, affordable) if affordable >= FEWEST_DRAWS else 0
        try:
            result = reduce_stalls(**self.arguments(), draws=draws, progress=progress)
        except ValueError as e:
            raise CaseError(f"the stalls of `{AIRCRAFT}` and `{FILE}` cannot be reduced: {e}") from None
        if check:
            problems = implausible(self.stalls, result.points, self.aircraft, FILE, self.reference_weight)
            if problems:
                raise CaseError(problems)
        order = {c.name: i for i, c in enumerate(self.aircraft.configuration)}
        order_m = {m.name: i for i, m in enumerate(self.aircraft.modification)}
        ranks = [
            (order_m.get(i.modification, 99), order.get(i.configuration, 99), i.power != "idle", k)
            for k, i in enumerate(result.items)
        ]
        sequence = sorted(range(len(ranks)), key=ranks.__getitem__)
        place = np.empty(len(sequence), dtype=int)
        place[sequence] = np.arange(len(sequence))
        return replace(
            result,
            speed_unit=self.stalls.columns["ias"].unit.text,
            items=tuple(result.items[k] for k in sequence),
            points=replace(result.points, group=place[result.points.group]),
            notes=result.notes + tuple(unusual(result)) + tuple(self.warnings()),
        )

    def comparison(self) -> Comparison | None:
        """First against last modification of the case; None where there is only one."""
        flown = set(self.stalls.text["modification"].tolist())
        names = [m.name for m in self.aircraft.modification if m.name in flown] or sorted(flown)
        return compare(self.arguments(), names[0], names[-1]) if len(names) > 1 else None

    def compare_checks(self) -> ChecksComparison | None:
        """First against last modification that has checks; None where there is only one, or none."""
        have = set() if self.checks is None else set(self.checks.text["modification"].tolist())
        names = [m.name for m in self.aircraft.modification if m.name in have]
        return compare_checks(**self.checks.arguments(), before=names[0], after=names[-1]) if len(names) > 1 else None

    def arguments(self) -> dict:
        """What `reduce_stalls` takes, in SI."""
        a, s = self.aircraft, self.stalls
        errors = error_sizes(a)
        flaps = _flaps(a)
        si = s.si
        n = si["load_factor"]
        if a.indicator.load_factor_axis != "flight path" and np.isfinite(n).any():
            n, u = from_floor_meter(n, errors.stall_incidence, errors.stall_incidence_uncertainty)
            # The conversion takes the drag of an idle glide; with power the recorded n is not used.
            n = np.where(np.isin(s.text["power"], ("idle", "off")), n, np.nan)
            errors = replace(errors, recorded_load_factor=u)
        configuration = s.text["configuration"]
        return {
            "ias": si["ias"],
            "wing_area": a.wing.area,
            "weight": s.weight,
            "weight_uncertainty": s.weight_uncertainty,
            "reference_weight": self.reference_weight,
            "speed_kind": s.text["speed_kind"],
            "ended": s.text["ended"],
            "modification": s.text["modification"],
            "configuration": configuration,
            "power": s.text["power"],
            "flight": s.text["flight"],
            "below_scale": s.below_scale,
            "flap": [flaps.get(c, c) for c in configuration.tolist()],
            "pressure_altitude": si["pressure_altitude"],
            "temperature": si["temperature"],
            "entry_rate": si["entry_rate"],
            "load_factor": n,
            "sink_rate": si["sink_rate"],
            "warning_ias": si["warning_ias"],
            "buffet_ias": si["buffet_ias"],
            "instrument": _instrument(a),
            "position": _position(a, flaps),
            "thrust": _thrust(a),
            "thrust_angle": a.power.thrust_angle or 0.0,
            "errors": errors,
            "inputs": self.inputs(),
        }

    def inputs(self) -> dict[str, str]:
        """The inputs shown beside every answer."""
        a, e = self.aircraft, error_sizes(self.aircraft)
        return {
            "wing area": f"{a.wing.area:.4g} m2 within {196 * e.wing_area:.2g} % (95 %)",
            "reference weight": f"{self.reference_weight:.4g} kg ({self.reference_weight / 0.45359237:.4g} lb)",
            "needle read within": f"{knots(1.96 * e.reading):.2g} kt (95 %)",
            "stalls": f"{len(self.stalls.row)} used, {len(self.stalls.left_out)} left out",
        }


def error_sizes(a: Aircraft) -> ErrorSizes:
    """The error sizes of an airplane: the owner's where given, the library's elsewhere."""
    given = {
        "wing_area": a.wing.area_within and a.wing.area_within / a.wing.area,
        "empty_weight": a.weights.empty_within,
        "loading": a.weights.loading_within,
        "fuel": a.weights.fuel_within,
        "indicator_scale": a.indicator.scale_within,
        "position": a.indicator.position_within,
        "reading": a.indicator.reading_within,
        "lag_uncertainty": a.indicator.lag_within,
    }
    sizes = {k: v * WITHIN_TO_STANDARD for k, v in given.items() if v is not None}
    if a.indicator.lag is not None:
        sizes["lag"] = a.indicator.lag
    return ErrorSizes(**sizes)


def _flaps(a: Aircraft) -> dict[str, str]:
    """What shares one position error, by configuration: the flap angle, unless two of that angle were calibrated."""
    angles = {c.name: f"flap {np.degrees(c.flap):.4g} deg" for c in a.configuration if c.flap is not None}
    calibrated = [(row.modification, angles.get(row.configuration)) for row in a.indicator.position]
    own = {angle for modification, angle in calibrated if calibrated.count((modification, angle)) > 1}
    return {c.name: c.name if angles.get(c.name) in own else angles.get(c.name, c.name) for c in a.configuration}


def _instrument(a: Aircraft) -> SpeedCorrection:
    points = a.indicator.instrument
    within = (a.indicator.instrument_within or 0.0) * WITHIN_TO_STANDARD
    if not points:
        return SpeedCorrection(standard_uncertainty=within, origin="none given")
    return _correction(points, within, "bench check", "[indicator] instrument")


def _position(a: Aircraft, flaps: dict[str, str]) -> dict[tuple[str, str], SpeedCorrection]:
    return {
        (row.modification, flaps.get(row.configuration, row.configuration)): _correction(
            row.points, row.within * WITHIN_TO_STANDARD, row.origin, f"[[indicator.position]] number {i + 1}, points"
        )
        for i, row in enumerate(a.indicator.position)
    }


def _correction(points, within: float, origin: str, place: str) -> SpeedCorrection:
    try:
        return SpeedCorrection([p[0] for p in points], [p[1] - p[0] for p in points], within, origin=origin)
    except ValueError as e:
        listed = ", ".join(f"{knots(a):.4g} -> {knots(b):.4g}" for a, b in points)
        raise CaseError(f"`{AIRCRAFT}` {place}: {e}; given is {listed} kt: correct or remove a point") from None


def _thrust(a: Aircraft) -> dict[str, Thrust]:
    return {
        s.name: Thrust(s.thrust, None if s.thrust_within is None else s.thrust_within * WITHIN_TO_STANDARD)
        for s in a.power.setting
    }


def opened_case() -> Case:
    """The case a workbook was opened with (`aerolib open`, through AEROLIB_CASE), else the demonstration."""
    return read_case(os.environ.get("AEROLIB_CASE") or demo_folder())


def read_case(folder: str | Path) -> Case:
    """Read and check a case folder; CaseError says everything that is wrong in one go."""
    folder = Path(folder)
    if not folder.is_dir():
        what = "is a file, not a folder" if folder.exists() else "does not exist"
        raise CaseError(
            f"the folder {folder} {what}; `aerolib new FOLDER` starts one, `data/demo` is the demonstration"
        )
    names = (AIRCRAFT, FILE, *([CHECKS] if (folder / CHECKS).exists() else []))
    raw = {name: read_bytes(folder / name) for name in names}
    aircraft = parse_aircraft(raw[AIRCRAFT])
    stalls = parse_stalls(raw[FILE], aircraft)
    checks = parse_checks(raw[CHECKS], aircraft) if CHECKS in raw else None
    return Case(folder, aircraft, stalls, {k: sha256(v) for k, v in raw.items()}, checks)


def parse_aircraft(data: bytes) -> Aircraft:
    """The airplane of an `aircraft.toml`, or CaseError naming every key that is wrong."""
    try:
        tree = tomllib.loads(decode(data, AIRCRAFT))
    except RecursionError:
        raise CaseError(f"`{AIRCRAFT}`: brackets inside brackets too deep to read; see the template") from None
    except ValueError as e:  # TOMLDecodeError, and what Python says of a number too long to read
        raise CaseError(
            f'`{AIRCRAFT}` is not valid TOML: {e}; every text stands in quotation marks, such as area = "14.2 m2"'
        ) from None
    try:
        aircraft = Aircraft.model_validate(tree)
    except ValidationError as e:
        raise CaseError(_sentences(e.errors())) from None
    _position_names(aircraft)
    _position(aircraft, {})
    _instrument(aircraft)
    return aircraft


def _sentences(errors) -> list[str]:
    """One sentence for each error; a key is not called missing beside a misspelling of it."""
    meant = {(*e["loc"][:-1], *_near(e["loc"])) for e in errors if e["type"] == "extra_forbidden"}
    return [_sentence(e) for e in errors if not (e["type"] == "missing" and e["loc"] in meant)]


def _near(loc) -> list[str]:
    return difflib.get_close_matches(str(loc[-1]), _known_keys(loc), n=1, cutoff=0.6)


def _sentence(error) -> str:
    path = [str(p) for p in error["loc"]]
    place = _place(error["loc"])
    kind = error["type"]
    if kind == "missing":
        if len(path) == 1:
            return (
                f"`{AIRCRAFT}`: {'`format = 1`' if path[0] == 'format' else f'the table [{path[0]}]'} is missing; "
                "needed are format = 1, [wing] and [weights]"
            )
        what = "key" if isinstance(error["loc"][-1], str) else "value"
        return f"`{AIRCRAFT}` {place}: this {what} is missing; write it, with its unit"
    if kind == "extra_forbidden":
        known = _known_keys(error["loc"])
        near = _near(error["loc"])
        hint = f"did you mean '{near[0]}'?" if near else f"known there: {', '.join(known)}"
        return f"`{AIRCRAFT}` {place}: this key is not known; {hint}"
    if kind == "literal_error":
        needed = error["ctx"]["expected"]
        return f"`{AIRCRAFT}` {place}: {error['input']!r} is not what is known here; write {needed}"
    message = error["msg"].removeprefix("Value error, ")
    if kind == "string_type":
        message = f"{error['input']} is not a text; write it in quotation marks"
    elif kind == "tuple_type":
        what = f"a table [[{path[-1]}]] with two brackets" if isinstance(error["input"], dict) else "a list in brackets"
        message = f"{error['input']!r} is not a list; write {what}"
    elif kind in ("model_type", "dict_type"):
        message = f"{error['input']!r} is not a table; write {place} on a line of its own, its keys below"
    return f"`{AIRCRAFT}` {place}: {message}" if path else f"`{AIRCRAFT}`: {message}"


def _place(loc) -> str:
    """'[wing] area', '[[configuration]] number 2, flap', '[[power.setting]] number 1, thrust'."""
    table, words, rest = [], [], list(loc)
    while rest and (not table or (len(rest) > 1 and isinstance(rest[1], int) and not isinstance(rest[0], int))):
        table.append(str(rest.pop(0)))
        if rest and isinstance(rest[0], int):
            words = [f"number {rest.pop(0) + 1},"]
            break
    name = ".".join(table)
    if name in ("format", "name", "invented"):
        return name
    name = f"[[{name}]]" if words else f"[{name}]"
    words += [f"value {part + 1}" if isinstance(part, int) else str(part) for part in rest]
    return " ".join([name, *words]).rstrip(",")


def _known_keys(loc) -> list[str]:
    model = Aircraft
    for part in loc[:-1]:
        if isinstance(part, int):
            continue
        inner = model.model_fields[part].annotation
        for candidate in (inner, *getattr(inner, "__args__", ())):
            if isinstance(candidate, type) and issubclass(candidate, BaseModel):
                model = candidate
    return list(model.model_fields)


def _position_names(a: Aircraft) -> None:
    known = {"modification": [m.name for m in a.modification], "configuration": [c.name for c in a.configuration]}
    seen = set()
    for i, row in enumerate(a.indicator.position):
        pair = (row.modification, row.configuration)
        if pair in seen:
            raise CaseError(
                f"`{AIRCRAFT}` [[indicator.position]] number {i + 1}: '{row.modification}' with '{row.configuration}' "
                "stands twice; put all points into one table, or remove one"
            )
        seen.add(pair)
        for key, names in known.items():
            if names and getattr(row, key) not in names:
                near = difflib.get_close_matches(getattr(row, key), names, n=1)
                raise CaseError(
                    f"`{AIRCRAFT}` [[indicator.position]] number {i + 1}: {key} '{getattr(row, key)}' is not "
                    f"defined; " + (f"did you mean '{near[0]}'?" if near else f"known: {', '.join(names)}")
                )
