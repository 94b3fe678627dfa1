"""`checks.csv`: everything else worth comparing before and after, checked, and turned into arrays.

Every value stands with its unit in its cell, since one column holds speeds, times and angles. Weight, altitude and
temperature may have their unit in the header, as in `stalls.csv`, or in every cell.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from aerolib.case.columns import Column, Schema, Table, by_name
from aerolib.case.problems import CaseError
from aerolib.case.schema import Aircraft
from aerolib.case.stalls import ALTITUDE, TEMPERATURE
from aerolib.case.tables import point_for_comma
from aerolib.measured.checks.quantities import NOT_NOTED, QUANTITIES, Reading
from aerolib.units import SPELLINGS, UnitProblem, from_si, parse_number, parse_quantity

FILE = "checks.csv"
SCHEMA = Schema(FILE, by_name(
    Column("modification", required=True, write="its name"),
    Column("configuration", required=True, write="its name"),
    Column("quantity", words=tuple(QUANTITIES), required=True, write="its name"),
    Column("value", required=True),  # with its unit in the cell
    Column("no_worse_than"),  # a difference the owner would put up with, unit in the cell
    Column("weight", "mass", (50.0, 10000.0), in_cells=True),
    Column("pressure_altitude", "altitude", ALTITUDE, in_cells=True),
    Column("temperature", "temperature", TEMPERATURE, in_cells=True),
    Column("power", empty=NOT_NOTED),
    Column("flight", empty=NOT_NOTED),
    Column("remarks"),
))  # fmt: skip
_IN_CELL = ("value", "no_worse_than")
_EXAMPLES = {"speed": "96", "time": "12.5", "length": "150", "angle": "10", "force": "20", "ratio": "30"}
_CELL = re.compile(r"([+\-\u2212]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(.*)")


@dataclass(frozen=True)
class ChecksTable(Table):
    """Checks as read; `text` has kind and unit of every value, `si` value and no_worse_than too."""

    def arguments(self) -> dict:
        """What `compare_checks` takes, in SI."""
        return {**{k: v.astype(str) for k, v in self.text.items() if k != "remarks"}, **self.si}


def parse_checks(data: bytes, aircraft: Aircraft) -> ChecksTable:
    """Read the bytes of a `checks.csv`; CaseError lists everything wrong. A header alone is a table of no rows."""
    table, problems = SCHEMA.read(data, aircraft)
    comma = table.dialect.separator == ";"
    n = len(table.row)
    si = {name: np.full(n, np.nan) for name in _IN_CELL} | table.si
    own = {name: np.full(n, "", dtype=object) for name in ("kind", "unit")}
    first: dict[str, tuple[int, str, str]] = {}  # quantity -> row, cell, kind of its first reading
    for i, quantity in enumerate(table.text["quantity"].tolist()):
        if quantity not in QUANTITIES:
            continue
        value, limit = (table.text[name][i] for name in _IN_CELL)
        place = f"`{FILE}` row {table.row[i]}: {quantity} "
        try:
            si["value"][i], reading, own["unit"][i] = _quantity(point_for_comma(value, comma), QUANTITIES[quantity])
        except UnitProblem as e:
            problems.append(f"{place}{e}")
            continue
        own["kind"][i] = reading.kind
        row, cell, kind = first.setdefault(quantity, (table.row[i], value, reading.kind))
        if kind != reading.kind:
            problems.append(
                f"{place}'{value}' is of kind {reading.kind}, but row {row} has '{cell}', of kind {kind}; "
                "give all readings of one quantity in one kind of unit"
            )
        usual = float(from_si(si["value"][i], reading.unit, reading.kind))
        if not reading.lowest <= usual <= reading.highest:
            problems.append(
                f"{place}'{value}' is {usual:.4g} {reading.unit}; expected is {reading.lowest:g} to "
                f"{reading.highest:g} {reading.unit}: a slip, another unit, or a sign too many?"
            )
        if limit:
            si["no_worse_than"][i] = _limit(point_for_comma(limit, comma), reading, place, problems)
    problems += _two_limits(table, si["no_worse_than"])
    if problems:
        raise CaseError(problems)
    text = {name: v for name, v in table.text.items() if name not in _IN_CELL}
    return ChecksTable(**{**vars(table), "text": text | own, "si": si})


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


def _two_limits(table: Table, limits: np.ndarray):
    """A sentence for every limit that is not what an earlier row says."""
    first: dict[tuple, tuple[int, float]] = {}
    for i in np.flatnonzero(np.isfinite(limits)):
        key = tuple(table.text[n][i] for n in ("quantity", "configuration", "power"))
        row, value = first.setdefault(key, (table.row[i], limits[i]))
        if abs(value - limits[i]) > 1e-9 * max(value, limits[i]):
            yield (
                f"`{FILE}` row {table.row[i]}: `no_worse_than` of {', '.join(key)} is not what row {row} says; "
                "write it once, or the same in every row"
            )
