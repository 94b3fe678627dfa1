"""`checks.csv`: everything else worth comparing before and after, checked, and turned into arrays.

Every value stands with its unit in its cell, since one column holds speeds, times and angles. Weight, altitude and
temperature may have their unit in the header, as in `stalls.csv`, or in every cell.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from aerolib.case.dates import iso_dates
from aerolib.case.problems import CaseError, nearest
from aerolib.case.schema import Aircraft
from aerolib.case.tables import Column, Dialect, decode, numbers, read_header, read_table
from aerolib.measured.quantities import NOT_NOTED, QUANTITIES, Reading
from aerolib.units import SPELLINGS, UnitProblem, from_si, parse_number, parse_quantity

FILE = "checks.csv"
COLUMNS: dict[str, str | None] = {
    "modification": None,
    "configuration": None,
    "quantity": None,
    "value": None,  # with its unit in the cell
    "no_worse_than": None,  # a difference the owner would put up with, unit in the cell
    "weight": "mass",
    "pressure_altitude": "altitude",
    "temperature": "temperature",
    "power": None,
    "flight": None,
    "remarks": None,
}
REQUIRED = ("modification", "configuration", "quantity", "value")
_PLAUSIBLE = {  # lowest, highest of a light airplane, SI
    "weight": (50.0, 10000.0, "kg"),
    "pressure_altitude": (-500.0, 6000.0, "m"),
    "temperature": (220.0, 325.0, "K"),
}
_HEADER_UNITS = {"weight": "lb", "pressure_altitude": "ft", "temperature": "deg C"}
_EXAMPLES = {"speed": "96", "time": "12.5", "length": "150", "angle": "10", "force": "20", "ratio": "30"}
_CELL = re.compile(r"([+\-\u2212]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(.*)")


@dataclass(frozen=True)
class ChecksTable:
    """Checks as read: the text frame untouched, and arrays in SI."""

    frame: object  # pandas frame of text, every row of the file
    row: np.ndarray  # (N,) row in the file, the header being row 1
    text: dict[str, np.ndarray]  # (N,) modification, configuration, quantity, power, flight, remarks, kind, unit
    si: dict[str, np.ndarray]  # (N,) value, no_worse_than, weight, pressure_altitude, temperature; NaN where not known
    dialect: Dialect = Dialect()

    def arguments(self) -> dict:
        """What `compare_checks` takes, in SI."""
        return {**{k: v.astype(str) for k, v in self.text.items() if k != "remarks"}, **self.si}


def parse_checks(data: bytes, aircraft: Aircraft, file: str = FILE) -> ChecksTable:
    """Read the bytes of a `checks.csv`; CaseError lists everything wrong. A header alone is a table of no rows."""
    if not decode(data, file).split("\n", 1)[0].strip():
        raise CaseError(
            f"`{file}` row 1 is empty; needed is a header such as `modification,configuration,quantity,value`, or "
            "remove the file: it is not required"
        )
    frame, dialect = read_table(data, file)
    kinds = {n: k if any(re.match(rf"\s*{n}\s*\[", h) for h in frame.columns) else None for n, k in COLUMNS.items()}
    columns = read_header(frame.columns, kinds, file)
    for name in REQUIRED:
        if name not in columns:
            raise CaseError(f"`{file}` row 1: column `{name}` is missing; needed are {', '.join(REQUIRED)}")
    problems: list[str] = []

    def cells(name) -> list[str]:
        return frame[columns[name].header].tolist() if name in columns else [""] * len(frame)

    text = {n: np.array(cells(n), dtype=object) for n in REQUIRED[:3] + ("power", "flight", "remarks")}
    rows = np.asarray(frame.index)
    _names(text, rows, aircraft, file, problems)
    text["flight"] = iso_dates(text["flight"], rows, file, problems)
    for name in ("power", "flight"):
        text[name] = np.where(text[name] == "", NOT_NOTED, text[name])
    comma = dialect.separator == ";"
    si = {n: np.full(len(frame), np.nan) for n in ("value", "no_worse_than")}
    kind, unit = np.full(len(frame), "", dtype=object), np.full(len(frame), "", dtype=object)
    seen: dict[str, tuple[int, str, str]] = {}  # quantity -> row, cell, kind of its first reading
    for i, (row, value, limit) in enumerate(zip(rows, cells("value"), cells("no_worse_than"))):
        quantity = text["quantity"][i]
        if quantity not in QUANTITIES:
            continue
        place = f"`{file}` row {row}: {quantity} "
        try:
            si["value"][i], reading, unit[i] = _quantity(_point(value, comma), QUANTITIES[quantity])
        except UnitProblem as e:
            problems.append(f"{place}{e}")
            continue
        kind[i] = reading.kind
        first = seen.setdefault(quantity, (row, value, reading.kind))
        if first[2] != reading.kind:
            problems.append(
                f"{place}'{value}' is of kind {reading.kind}, but row {first[0]} has '{first[1]}', of kind {first[2]}; "
                "give all readings of one quantity in one kind of unit"
            )
        usual = float(from_si(si["value"][i], reading.unit, reading.kind))
        if not reading.lowest <= usual <= reading.highest:
            problems.append(
                f"{place}'{value}' is {usual:.4g} {reading.unit}; expected is {reading.lowest:g} to "
                f"{reading.highest:g} {reading.unit}: a slip, another unit, or a sign too many?"
            )
        if limit:
            si["no_worse_than"][i] = _limit(_point(limit, comma), reading, place, problems)
    _one_limit(text, si["no_worse_than"], rows, file, problems)
    for name in ("weight", "pressure_altitude", "temperature"):
        si[name] = _condition(name, frame, columns, cells(name), comma, file, problems)
    if problems:
        raise CaseError(problems)
    return ChecksTable(frame, rows, {**text, "kind": kind, "unit": unit}, si, dialect)


def _names(text, rows, aircraft, file, problems):
    """Modification and configuration defined, quantity known (capitals and blanks do not matter)."""
    folded = {n.casefold(): n for n in QUANTITIES}
    text["quantity"] = np.array(
        [folded.get(" ".join(t.split()).casefold(), t) for t in text["quantity"].tolist()], dtype=object
    )
    for name in ("modification", "configuration", "quantity"):
        defined = list(QUANTITIES) if name == "quantity" else [row.name for row in getattr(aircraft, name)]
        told = set()
        for row, value in zip(rows, text[name].tolist()):
            if value in defined or value in told or (value and not defined):
                continue
            told.add(value)
            if not value:
                problems.append(
                    f"`{file}` row {row}: no {name}; write its name, such as '{defined[0] if defined else 'before'}'"
                )
            elif name == "quantity":
                problems.append(f"`{file}` row {row}: the quantity '{value}' is not known; {nearest(value, defined)}")
            else:
                problems.append(
                    f"`{file}` row {row}: {name} '{value}' is not in `aircraft.toml`; {nearest(value, defined)} "
                    f"(or add a table [[{name}]] with this name)"
                )


def _point(cell: str, comma: bool) -> str:
    """A semicolon file may use decimal commas."""
    return re.sub(r"^([+\-\u2212]?\s*\d+),(\d+)(?![\d,.])", r"\1.\2", cell) if comma else cell


def _quantity(cell: str, readings: tuple[Reading, ...]) -> tuple[float, Reading, str]:
    """SI value, the way of reading it, and the unit as the owner spells it."""
    usual = readings[0]
    example = f'"{_EXAMPLES[usual.kind]} {usual.unit}"'
    if not cell:
        raise UnitProblem(f"has no value; write it with its unit, such as {example}, or remove the row")
    match = _CELL.fullmatch(cell)
    if not match:
        raise UnitProblem(f"'{cell}' is not a number with a unit; write for example {example}")
    number, name = match.groups()
    parse_number(number)
    if not name:
        offered = " or ".join(f'"{number} {r.unit}"' for r in readings)
        raise UnitProblem(f"'{cell}' has no unit; write {offered} if that is what was read")
    name = " ".join(name.split())
    spelled = {r.kind: {s.lower(): s for s in SPELLINGS[r.kind]} | {s: s for s in SPELLINGS[r.kind]} for r in readings}
    reading = next((r for r in readings if name in spelled[r.kind] or name.lower() in spelled[r.kind]), usual)
    try:
        value = parse_quantity(cell, reading.kind)
    except UnitProblem as e:
        others = " or ".join(f'"{number} {r.unit}"' for r in readings)
        raise UnitProblem(
            f"'{cell}': {e if len(readings) == 1 else f'not a unit it is read in; write {others}'}"
        ) from None
    known = spelled[reading.kind]
    return value, reading, known.get(name) or known[name.lower()]


def _limit(cell, reading, place, problems) -> float:
    """The owner's 'no worse than', a difference in the same kind of unit."""
    try:
        value = _quantity(cell, (reading,))[0]
    except UnitProblem as e:
        problems.append(f"{place}in column `no_worse_than`: {e}")
        return np.nan
    if value < 0.0:
        problems.append(f"{place}in column `no_worse_than`: '{cell}' is below zero; write the difference as it is")
        return np.nan
    return value


def _one_limit(text, limits, rows, file, problems):
    first: dict[tuple, tuple[int, float]] = {}
    for i in np.flatnonzero(np.isfinite(limits)):
        key = tuple(text[n][i] for n in ("quantity", "configuration", "power"))
        row, value = first.setdefault(key, (rows[i], limits[i]))
        if abs(value - limits[i]) > 1e-9 * max(value, limits[i]):
            problems.append(
                f"`{file}` row {rows[i]}: `no_worse_than` of {', '.join(key)} is not what row {row} says; "
                "write it once, or the same in every row"
            )


def _condition(name, frame, columns: dict[str, Column], cells, comma, file, problems) -> np.ndarray:
    """Weight, altitude or temperature in SI, NaN where not noted."""
    column = columns.get(name)
    if column is not None and column.unit is not None:
        out = column.unit.to_si(numbers(frame, column, file, problems))
    else:
        out = np.full(len(cells), np.nan)
        for i, cell in enumerate(cells):
            if not cell:
                continue
            try:
                out[i] = parse_quantity(_point(cell, comma), COLUMNS[name])
            except UnitProblem as e:
                problems.append(
                    f"`{file}` row {frame.index[i]}: {name}: {e}; or give it for all rows in the header, such as "
                    f"`{name} [{_HEADER_UNITS[name]}]`, with plain numbers below"
                )
                break  # every cell below would say the same
    low, high, unit = _PLAUSIBLE[name]
    for i in np.flatnonzero(np.isfinite(out) & ((out < low) | (out > high)))[:20]:
        problems.append(
            f"`{file}` row {frame.index[i]}: {cells[i]} in column `{column.header}` is {out[i]:.4g} {unit}; expected "
            f"is {low:g} to {high:g}: a slip, or another unit?"
        )
    return out
