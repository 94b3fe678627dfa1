"""One schema for every CSV file of a case: what a column may hold, and the one reader that says what is wrong with it.

Every file may have a column `left_out`: a row with a reason in it takes no part.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from aerolib.case.dates import iso_dates
from aerolib.case.problems import CaseError, nearest, not_defined
from aerolib.case.schema import Aircraft
from aerolib.case.tables import CARD_UNITS, Dialect, Header, distinct, numbers, point_for_comma, read_header, read_table
from aerolib.units import PLAIN, UnitProblem, parse_quantity, unit

if TYPE_CHECKING:
    import pandas as pd

DEFINED = ("modification", "configuration")  # their names may be defined by tables of `aircraft.toml`
TOLD = 20  # problems told of one column


@dataclass(frozen=True)
class Column:
    """What one column may hold: text where it has no kind of quantity, else numbers with the unit in the header."""

    name: str
    kind: str | None = None  # a key of `aerolib.units.SPELLINGS`; '' is a plain number
    between: tuple[float, float] | None = None  # lowest and highest of a light airplane, SI
    words: tuple[str, ...] = ()  # what a text is one of; capitals and blanks do not matter
    required: bool = False  # the column
    write: str = ""  # into an empty cell, where none may be
    empty: str = ""  # what an empty text means
    unit: str = ""  # in a new file, where it is not that of a card
    bound: bool = False  # '<35' is a reading too
    in_cells: bool = False  # the unit may stand in every cell instead of the header

    @property
    def usual_unit(self) -> str:
        """The unit in the header of a new file; empty for text and plain numbers."""
        return self.unit or CARD_UNITS.get(self.kind or "", "")

    @property
    def header(self) -> str:
        """The header in a new file."""
        return f"{self.name} [{self.usual_unit}]" if self.usual_unit else self.name


@dataclass(frozen=True)
class Table:
    """A file as read: the text untouched, and the N rows that take part as arrays."""

    frame: pd.DataFrame  # text, every row of the file
    columns: dict[str, Header]
    used: np.ndarray  # bool, over the rows of the frame: not left out by the owner
    row: np.ndarray  # (N,) row in the file, the header being row 1
    text: dict[str, np.ndarray]  # (N,) by column name
    si: dict[str, np.ndarray]  # (N,) by column name, NaN where not known
    below_scale: np.ndarray  # (N,) whether a reading is a bound
    left_out: tuple[tuple[int, str], ...] = ()  # row and the owner's reason
    dialect: Dialect = field(default_factory=Dialect)
    warnings: tuple[str, ...] = ()

    def cells(self, name: str) -> list[str]:
        """(N,) the texts of a column as written; empty ones where it is absent."""
        return _cells(self.frame[self.used], self.columns, name).tolist()


@dataclass(frozen=True)
class Schema:
    """One file of a case: its name, and its columns by name."""

    file: str
    columns: dict[str, Column]
    optional: bool = True

    @property
    def header(self) -> str:
        """The header of a new file, its units as examples."""
        return ",".join(c.header for c in self.columns.values())

    def read(self, data: bytes, aircraft: Aircraft) -> tuple[Table, list[str]]:
        """The bytes of a file as a table, and what is wrong with its cells; CaseError where it is no such table."""
        hint = ", or remove the file: it is not required" * self.optional
        frame, dialect = read_table(data, self.file, f"a header such as `{self.header}`{hint}")
        return self.check(frame, dialect, aircraft)

    def check(self, frame: pd.DataFrame, dialect: Dialect, aircraft: Aircraft) -> tuple[Table, list[str]]:
        """The same from a frame of text (index: the row in the file)."""
        headers = read_header(frame.columns, self.columns, self.file)
        needed = [c.header for c in self.columns.values() if c.required]
        missing = [c for c in self.columns.values() if c.required and c.name not in headers]
        if missing:
            raise CaseError(
                f"`{self.file}` row 1: column `{missing[0].header}` is missing; needed are `{','.join(needed)}`"
            )
        skip = _cells(frame, headers, "left_out")
        used = skip == ""
        reader = _Reader(self.file, frame, used, headers, dialect.separator == ";", aircraft)
        text = {c.name: reader.words(c) for c in self.columns.values() if c.kind is None and c.name != "left_out"}
        si = {c.name: reader.numbers(c) for c in self.columns.values() if c.kind is not None}
        left_out = tuple((int(r), str(t)) for r, t in zip(frame.index[~used], skip[~used]))
        row = np.asarray(frame.index[used])
        return Table(frame, headers, used, row, text, si, reader.below, left_out, dialect), reader.problems


def by_name(*columns: Column) -> dict[str, Column]:
    """Columns of a file by their names, with the one that every file may have."""
    return {c.name: c for c in (*columns, Column("left_out"))}


def _cells(frame, headers: dict[str, Header], name: str) -> np.ndarray:
    if name not in headers:
        return np.full(len(frame), "", dtype=object)
    return frame[headers[name].header].to_numpy(dtype=object)


class _Reader:
    """The cells of the rows that take part, one column after the other; what is wrong is gathered."""

    def __init__(self, file: str, frame, used: np.ndarray, headers: dict[str, Header], commas: bool, aircraft):
        self.file, self.all, self.frame, self.headers = file, frame, frame[used], headers
        self.commas, self.aircraft = commas, aircraft
        self.below = np.zeros(len(self.frame), dtype=bool)
        self.problems: list[str] = []

    def tell(self, i, problem: str) -> None:
        """What is wrong with a cell of place `i`."""
        self.problems.append(f"`{self.file}` row {self.frame.index[i]}: {problem}")

    def words(self, c: Column) -> np.ndarray:
        """(N,) texts of a column: names as defined, words as known, flights with their dates."""
        cells = _cells(self.frame, self.headers, c.name)
        spelled = {w.casefold(): w for w in c.words}
        if spelled:
            cells = np.array([spelled.get(" ".join(t.split()).casefold(), t) for t in cells], dtype=object)
        defined = c.name in DEFINED
        known = [row.name for row in getattr(self.aircraft, c.name)] if defined else list(c.words)
        for value in dict.fromkeys(cells.tolist()) if known else ():
            if value and value not in known:
                wrong = f"{c.name} '{value}' is not one of {', '.join(known)}; {nearest(value, known)}"
                self.tell(np.argmax(cells == value), not_defined(c.name, value, known) if defined else wrong)
        if c.write:
            such = f"{c.write}, such as '{known[0]}'" if known else c.write
            for i in np.flatnonzero(cells == "")[:TOLD]:
                self.tell(i, f"no {c.name}; write {such}")
        if c.name == "flight":
            beside = _cells(self.all, self.headers, c.name)
            cells = iso_dates(cells, self.frame.index, self.file, self.problems, beside)
        return np.where(cells == "", c.empty, cells) if c.empty else cells

    def numbers(self, c: Column) -> np.ndarray:
        """(N,) SI values of a column, NaN where not known."""
        head = self.headers.get(c.name)
        if head is None:
            return np.full(len(self.frame), np.nan)
        cells = self.frame[head.header]
        if c.bound:
            stripped = distinct(cells, lambda t: t.removeprefix("<").strip())
            self.below |= (stripped != cells).to_numpy(dtype=bool)
            cells = stripped
        if c.write:
            for i in np.flatnonzero(cells == "")[:TOLD]:
                self.tell(i, f"no {c.name}; write {c.write}, or give a reason in column `left_out`")
        if c.in_cells and head.unit is PLAIN:
            values = self._quantities(c, cells)
        else:
            values = head.unit.to_si(numbers(cells, head, self.file, self.problems))
        if c.between is not None:
            self._within(values, c, c.between, cells)
        return values

    def _quantities(self, c: Column, cells) -> np.ndarray:
        """(N,) SI values of cells that have their unit each."""
        values = np.full(len(cells), np.nan)
        for i in np.flatnonzero(cells != ""):
            try:
                values[i] = parse_quantity(point_for_comma(cells.iloc[i], self.commas), c.kind or "")
            except UnitProblem as e:
                hint = f"or give it for all rows in the header, such as `{c.header}`, with plain numbers below"
                self.tell(i, f"{c.name}: {e}; {hint}")
                break  # every cell below would say the same
        return values

    def _within(self, values: np.ndarray, c: Column, between: tuple[float, float], cells) -> None:
        head = self.headers[c.name]
        shown = unit(c.usual_unit, c.kind) if c.kind and head.unit is PLAIN else head.unit
        low, high = (round(shown.from_si(x), 1) for x in between)
        span = f"{low:g} to {high:g} {shown.text}".rstrip()
        for i in np.flatnonzero((values < between[0]) | (values > between[1]))[:TOLD]:
            self.tell(
                i,
                f"{cells.iloc[i]} in column `{head.header}` is outside {span}: a slip, or a column in another unit?",
            )
