"""`aircraft.toml`: read, every wrong key explained, and turned into what the estimates take."""

from __future__ import annotations

import difflib
import tomllib
from typing import Any

import numpy as np
from pydantic import BaseModel, ValidationError

from aerolib.atmosphere import GRAVITY
from aerolib.case.agreement import AIRCRAFT, CASE, disagreements
from aerolib.case.problems import CaseError, not_defined
from aerolib.case.schema import NOT_USED, Aircraft
from aerolib.case.tables import decode
from aerolib.measured.airspeed.correction import SpeedCorrection, airspeed_of_pressure
from aerolib.measured.assumptions import ErrorSizes, Thrust
from aerolib.units import knots

LONGEST, LONGEST_LINE, DEEPEST = 2_000_000, 6_000, 12  # characters, characters of a line, tables inside tables
WATER = 998.2  # [kg/m3] at 20 deg C, from memory; 30 deg is 0.26 % lighter
WITHIN_TO_STANDARD = 1 / 1.96  # '..._within' is nineteen times in twenty


def parse_aircraft(data: bytes) -> Aircraft:
    """The airplane of an `aircraft.toml`, or CaseError naming every key that is wrong."""
    text = decode(data, AIRCRAFT)
    longest = max(map(len, text.split("\n")))
    if len(text) > LONGEST or longest > LONGEST_LINE:
        raise CaseError(
            f"`{AIRCRAFT}` has {len(text):,} characters, {longest:,} in its longest line; needed are at most "
            f"{LONGEST:,}, and {LONGEST_LINE:,} in a line: see the template"
        )
    try:
        tree = tomllib.loads(text)
    except RecursionError:
        raise CaseError(f"`{AIRCRAFT}`: brackets inside brackets too deep to read; see the template") from None
    except ValueError as e:  # TOMLDecodeError, and what Python says of a number too long to read
        raise CaseError(
            f'`{AIRCRAFT}` is not valid TOML: {e}; every text stands in quotation marks, such as area = "14.2 m2"'
        ) from None
    level: list[Any] = [tree]
    deep = 0
    while level := [v for t in level for v in (t.values() if isinstance(t, dict) else t) if isinstance(v, dict | list)]:
        deep += 1
        if deep > DEEPEST:
            raise CaseError(f"`{AIRCRAFT}`: tables inside tables too deep to read; see the template")
    unused = tuple(
        f"[{table}] {key}"
        for table, keys in NOT_USED.items()
        for key in keys
        if isinstance(tree.get(table), dict) and tree[table].pop(key, None) is not None
    )
    try:
        aircraft = Aircraft.model_validate(tree)
        aircraft._not_used = unused
    except ValidationError as e:
        raise CaseError(_sentences(e.errors())) from None
    if problems := disagreements(aircraft, (CASE,)):
        raise CaseError(problems)
    _position_names(aircraft)
    position_of(aircraft, {})
    instrument_of(aircraft)
    return aircraft


def _sentences(errors) -> list[str]:
    """One sentence for each error; a key is not called missing beside a misspelling of it."""
    meant = {(*e["loc"][:-1], *_near(e["loc"])) for e in errors if e["type"] == "extra_forbidden"}
    return [_sentence(e) for e in errors if not (e["type"] == "missing" and e["loc"] in meant)]


def _near(loc) -> list[str]:
    return difflib.get_close_matches(str(loc[-1]), _known_keys(loc), n=1, cutoff=0.6)


def _shown(given) -> str:
    """What was given, as it stands in the file."""
    try:
        return repr(given) if isinstance(given, (str, list, dict)) else str(given)
    except ValueError:  # Python writes no number of thousands of digits
        return "a number of thousands of digits"


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
        return f"`{AIRCRAFT}` {place}: {_shown(error['input'])} is not what is known here; write {needed}"
    given, context = error["input"], error.get("ctx", {})
    if kind == "value_error":  # a sentence of ours
        message = str(context["error"])
    elif kind == "string_type":
        message = f"{_shown(given)} is not a text; write it in quotation marks"
    elif kind == "tuple_type":
        what = f"a table [[{path[-1]}]] with two brackets" if isinstance(given, dict) else "a list in brackets"
        message = f"{_shown(given)} is not a list; write {what}"
    elif kind in ("model_type", "dict_type"):
        message = f"{_shown(given)} is not a table; write {place} on a line of its own, its keys below"
    elif kind in ("too_short", "too_long"):
        needed = context.get("min_length", context.get("max_length"))
        message = f"the list holds {context['actual_length']} values; needed {'is' if needed == 1 else 'are'} {needed}"
    elif kind == "string_too_short":
        message = "the text is empty; write a name in the quotation marks"
    elif kind.startswith("int_"):
        message = f"{_shown(given)} is not a whole number; write it without quotation marks, such as 5"
    elif kind.startswith("bool_"):
        message = f"{_shown(given)} is neither true nor false; write one of them, without quotation marks"
    elif kind in ("greater_than_equal", "less_than_equal"):
        side, limit = ("at least", context["ge"]) if "ge" in context else ("at most", context["le"])
        message = f"{_shown(given)} cannot be; needed is {side} {limit}"
    else:
        message = f"{_shown(given)} is not what is needed here; the file that `aerolib new FOLDER` writes shows how"
    return f"`{AIRCRAFT}` {place}: {message}" if path else f"`{AIRCRAFT}`: {message}"


def _place(loc) -> str:
    """'[wing] area', '[[configuration]] number 2, flap', '[[power.setting]] number 1, thrust'."""
    table: list[str] = []
    words: list[str] = []
    rest = list(loc)
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
    model: type[BaseModel] = Aircraft
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
    for i, row in enumerate(a.indicator.position, 1):
        place = f"`{AIRCRAFT}` [[indicator.position]] number {i}: "
        pair = (row.modification, row.configuration)
        if pair in seen:
            raise CaseError(
                f"{place}'{row.modification}' with '{row.configuration}' stands twice; put all points into one table, "
                "or remove one"
            )
        seen.add(pair)
        for (kind, names), name in zip(known.items(), pair):
            if names and name not in names:
                raise CaseError(place + not_defined(kind, name, names))


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
    if "reading" in sizes:  # who reads more finely does so all flight long
        sizes["reading_flight"] = ErrorSizes().reading_flight * sizes["reading"] / ErrorSizes().reading
    if a.indicator.lag is not None:
        sizes["lag"] = a.indicator.lag
    return ErrorSizes(**sizes)


def wing_areas_of(a: Aircraft, modification) -> dict:
    """Wing area and its uncertainty as `reduce_stalls` takes them: one, or one for each stall where they differ."""
    own = {m.name: m for m in a.modification if m.wing_area is not None}
    if not own:
        return {"wing_area": a.wing.area}
    names, code = np.unique(modification.astype(str), return_inverse=True)
    areas = np.array([own[n].wing_area if n in own else a.wing.area for n in names.tolist()])
    within = [own[n].wing_area_within if n in own else None for n in names.tolist()]
    u = np.array([np.nan if x is None else x * WITHIN_TO_STANDARD for x in within])
    return {"wing_area": areas[code], "wing_area_uncertainty": u[code]}


def flaps_of(a: Aircraft) -> dict[str, str]:
    """What shares one position error, by configuration: the flap angle, unless two of that angle were calibrated."""
    angles = {c.name: f"flap {np.degrees(c.flap):.4g} deg" for c in a.configuration if c.flap is not None}
    calibrated = [(row.modification, angles.get(row.configuration)) for row in a.indicator.position]
    own = {angle for modification, angle in calibrated if calibrated.count((modification, angle)) > 1}
    return {c.name: c.name if angles.get(c.name) in own else angles.get(c.name, c.name) for c in a.configuration}


def instrument_of(a: Aircraft) -> SpeedCorrection:
    """The bench check of the indicator alone: speeds as given, and heights of water by q_c = rho g h."""
    i = a.indicator
    points, within = list(i.instrument), i.instrument_within or 0.0
    for reading, height in i.manometer:
        if height <= 0.0:
            raise CaseError(f"`{AIRCRAFT}` [indicator] manometer: heights of water must be above zero; correct it")
        speed = float(airspeed_of_pressure(WATER * GRAVITY * height))
        points.append((reading, speed))
        # The slowest point decides: there a millimeter is the most knots.
        within = max(within, 0.5 * speed * (0.001 if i.manometer_within is None else i.manometer_within) / height)
    if not points:
        return SpeedCorrection(standard_uncertainty=within * WITHIN_TO_STANDARD, origin="none given")
    origin = "bench check by water" if i.manometer else "bench check"
    place = "[indicator] manometer" if i.manometer else "[indicator] instrument"
    return _correction(points, within * WITHIN_TO_STANDARD, origin, place)


def position_of(a: Aircraft, flaps: dict[str, str]) -> dict[tuple[str, str], SpeedCorrection]:
    return {
        (row.modification, flaps.get(row.configuration, row.configuration)): _correction(
            row.points, row.within * WITHIN_TO_STANDARD, row.origin, f"[[indicator.position]] number {i + 1}, points"
        )
        for i, row in enumerate(a.indicator.position)
    }


def _correction(points, within: float, origin: str, place: str) -> SpeedCorrection:
    reading, calibrated = np.array(points, dtype=float).T
    try:
        return SpeedCorrection(reading, calibrated - reading, within, origin=origin)
    except ValueError as e:
        listed = ", ".join(f"{knots(a):.4g} -> {knots(b):.4g}" for a, b in points)
        raise CaseError(f"`{AIRCRAFT}` {place}: {e}; given is {listed} kt: correct or remove a point") from None


def thrust_of(a: Aircraft) -> dict[str, Thrust]:
    return {
        s.name: Thrust(s.thrust, None if s.thrust_within is None else s.thrust_within * WITHIN_TO_STANDARD)
        for s in a.power.setting
    }
