"""Owner's CSV files as text: encoding, separator, decimal mark and header sorted out, nothing converted yet."""

from __future__ import annotations

import io
import re
import stat
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from aerolib.case.problems import CaseError, nearest
from aerolib.units import PLAIN, Unit, UnitProblem, dash_hint, unit

# What an owner's card usually has, for templates and for messages.
CARD_UNITS = {
    "speed": "kt",
    "mass": "lb",
    "altitude": "ft",
    "temperature": "deg C",
    "acceleration": "kt/s",
    "length": "in",
    "volume": "l",
    "angle": "deg",
}
THOUSANDS = r"[<+\-]?\s*[1-9]\d{0,2}(?:\.\d{3})+(?:,\d+)?"  # a number whose points may divide thousands
DECIMAL_COMMA = r"^([<+\-]?\s*\d+),(\d+)$"
_HEADER = re.compile(r"\s*([^\[\]]+?)\s*(?:\[\s*(.*?)\s*\])?\s*$")


MOST_BYTES = 60_000_000  # of any file of a case
MOST_ROWS = 100_000  # of a table of a case: what a report of one was measured to take half a minute and a gigabyte for
LONGEST_HEADER = 5_000  # characters


@dataclass(frozen=True)
class Header:
    """The header of one column: its name, the text as written, and its unit."""

    name: str
    header: str
    unit: Unit


def decode(data: bytes, file: str) -> str:
    """Text of a file's bytes: UTF-8 with or without byte-order mark."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise CaseError(f"`{file}` is saved as UTF-16; save it as UTF-8 (in a spreadsheet: 'CSV UTF-8')")
    if b"\x00" in data:
        raise CaseError(f"`{file}` is not a text file; needed is a table of text, saved as CSV")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as e:
        line = data[: e.start].count(b"\n") + 1
        raise CaseError(f"`{file}` line {line}: a character that is not UTF-8; save the file as 'CSV UTF-8'") from None


def read_bytes(path: Path) -> bytes:
    """The bytes of a file, or CaseError saying what is needed; its kind and size are looked at before it is read."""
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise CaseError(f"`{path.name}` in {path.parent} is not a file with text in it; put the table itself there")
        if found.st_size > MOST_BYTES:
            raise CaseError(
                f"`{path.name}` has {found.st_size / 1e6:.0f} MB; up to {MOST_BYTES / 1e6:.0f} MB can be read, and "
                f"{MOST_ROWS:,} rows of a table: split it, or leave out what is not needed"
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise CaseError(f"`{path.name}` is missing in {path.parent}; `aerolib new FOLDER` writes a template") from None
    except OSError as e:
        raise CaseError(f"`{path.name}` cannot be read: {e.strerror}") from None


@dataclass(frozen=True)
class Dialect:
    """How a file writes its table, so that it can be written back the same way."""

    separator: str = ","
    decimal_comma: bool = False
    newline: str = "\n"
    mark: str = ""  # the byte-order mark some spreadsheets need


def write_table(frame, dialect: Dialect) -> str:
    """CSV text of a frame of text, in the way the file was written."""
    if dialect.decimal_comma:
        frame = frame.copy()
        for c in filter(_holds_numbers, frame.columns):
            frame[c] = frame[c].str.replace(r"^([<+\-]?\s*\d+)\.(\d+)$", r"\1,\2", regex=True)
    return dialect.mark + frame.to_csv(index=False, sep=dialect.separator, lineterminator=dialect.newline)


def _holds_numbers(header: str) -> bool:
    """Only these columns have their decimal mark changed: a flight named 11.5 is no number."""
    return "[" in header or header == "load_factor"


def read_table(data: bytes, file: str, needed: str = "a table with a header"):
    """Text frame (pandas, every cell text, index = row as a spreadsheet counts it) of a CSV file, and its dialect.

    A semicolon file may use decimal commas; they are turned into points here.
    """
    import pandas as pd

    text = decode(data, file)
    first = text.split("\n", 1)[0]
    if not first.strip():
        raise CaseError(f"`{file}` row 1 is empty; needed is {needed}")
    if len(first) > LONGEST_HEADER:
        raise CaseError(f"`{file}` row 1 has {len(first):,} characters; no header is longer than {LONGEST_HEADER:,}")
    if (rows := text.rstrip().count("\n")) > MOST_ROWS:
        raise CaseError(
            f"`{file}` has {rows:,} rows below its header; up to {MOST_ROWS:,} can be read: split the table, or thin "
            "it out evenly"
        )
    separator = ";" if first.count(";") > first.count(",") else "," if "," in first or "\t" not in first else "\t"
    cells = _cells(text, separator, file)
    columns: dict[str, pd.Series] = {}
    for header, column in zip(cells.iloc[0].fillna("").str.strip(), cells.columns):
        below = distinct(cells[column].iloc[1:].fillna(""), str.strip)
        if header in columns:
            raise CaseError(f"`{file}` row 1: column '{header}' stands twice; keep one")
        if header or (below != "").any():  # a spreadsheet may leave empty columns at the right
            columns[header] = below
    frame = pd.DataFrame(columns, index=cells.index[1:])
    frame = frame[~(frame == "").all(axis=1)]
    comma = False
    if separator == ";":
        numeric = list(filter(_holds_numbers, frame.columns))
        _no_two_readings(frame, numeric, file)
        for c in numeric:
            comma = comma or bool(frame[c].str.fullmatch(DECIMAL_COMMA).any())
            frame[c] = frame[c].str.replace(DECIMAL_COMMA, r"\1.\2", regex=True)
    mark = "\ufeff" if data.startswith(b"\xef\xbb\xbf") else ""
    return frame, Dialect(separator, comma, "\r\n" if "\r\n" in text else "\n", mark)


def _cells(text: str, separator: str, file: str):
    """Every cell of a table as text, the header among them: pandas then refuses a row that has more cells."""
    import pandas as pd

    how = {"header": None, "dtype": str, "keep_default_na": False, "skip_blank_lines": False, "on_bad_lines": "error"}
    try:
        cells = pd.read_csv(io.StringIO(text), sep=separator, quotechar='"', **how)
    except (pd.errors.ParserError, pd.errors.EmptyDataError) as e:
        if found := re.search(r"Expected (\d+) fields in line (\d+), saw (\d+)", str(e)):
            want, line, saw = found.groups()
            decimal = "; a comma file uses decimal points, a semicolon file may use decimal commas" * (separator == ",")
            raise CaseError(
                f"`{file}` row {line}: {saw} cells where the header has {want}; quote a text that holds "
                f"the separator '{separator}'{decimal}"
            ) from None
        if opened := re.search(r"EOF inside string starting at row (\d+)", str(e)):
            raise CaseError(
                f"`{file}` row {int(opened[1]) + 1}: a quotation mark is opened and never closed; close or remove it"
            ) from None
        raise CaseError(f"`{file}` cannot be read as CSV: {e}; save it as CSV again") from None
    cells.index = cells.index + 1  # as a spreadsheet counts: the header is row 1
    return cells


def _no_two_readings(frame, numeric, file: str) -> None:
    """CaseError where a point may divide thousands: beside decimal commas, or where nothing shows it to be decimal."""
    cells = [(c, frame[c][frame[c].str.contains(".", regex=False)]) for c in numeric]
    odd = {c: with_point[with_point.str.fullmatch(THOUSANDS)] for c, with_point in cells}
    commas = any(frame[c].str.contains(r"\d,\d").any() for c in numeric)
    if commas or not any(len(with_point) > len(odd[c]) for c, with_point in cells):
        problems = [f"`{file}` row {i}: {two_readings(cell, c)}" for c in odd for i, cell in odd[c].items()]
        if problems:
            raise CaseError(problems)


def point_for_comma(cell: str, commas: bool) -> str:
    """A quantity with its unit, the decimal comma that a semicolon file may use turned into a point."""
    return re.sub(r"^([+\-\u2212]?\s*\d+),(\d+)(?![\d,.])", r"\1.\2", cell) if commas else cell


def two_readings(cell: str, column: str) -> str:
    """What a number with a point before three digits may be, and how to write either."""
    whole = cell.replace(".", "")
    if "," in cell or cell.count(".") > 1:
        return f"'{cell}' in column `{column}` has a point between thousands; write {whole}"
    small = cell.rstrip("0").rstrip(".")
    return (
        f"'{cell}' in column `{column}` can be read as {whole} or as {small}: a file with semicolons may have decimal "
        f"commas, and points between thousands; write {whole}, or {small.replace('.', ',')} with a comma"
    )


def distinct(cells, function):
    """`function` of every text of a pandas Series, worked out once for each distinct text: a card repeats itself."""
    import pandas as pd

    codes, texts = pd.factorize(cells)
    return pd.Series(pd.Series([function(t) for t in texts], dtype=cells.dtype).array.take(codes), index=cells.index)


def read_header(headers, columns: Mapping[str, Any], file: str) -> dict[str, Header]:
    """Headers by the names of their columns, each as its `Column` asks; CaseError says what is wrong with any."""
    found: dict[str, Header] = {}
    problems = []
    for header in map(str, headers):
        match = _HEADER.fullmatch(header)
        name, unit_text = match.groups() if match else (header, None)
        c = columns.get(name)
        of_unit = PLAIN
        wrong = ""
        if not name:
            wrong = f"a column has no name; write one of {', '.join(columns)}, or remove it"
        elif c is None:
            wrong = f"column '{header}' is not known; {nearest(name, columns)}"
        elif name in found:
            wrong = f"column '{name}' stands twice; keep one"
        elif not c.kind:
            wrong = f"column '{header}' takes no unit; write `{name}`" if unit_text else ""
        elif unit_text:
            try:
                of_unit = unit(unit_text, c.kind)
            except UnitProblem as e:
                wrong = f"column '{header}': {e}"
        elif not c.in_cells:
            wrong = f"column '{header}' has no unit; write for example `{c.header}`"
        if wrong:
            problems.append(f"`{file}` row 1: {wrong}")
        else:
            found[name] = Header(name, header, of_unit)
    if problems:
        raise CaseError(problems)
    return found


def numbers(text, column: Header, file: str, problems: list[str]):
    """Cells as floats in the unit of their column, NaN where empty; those that are no finite number become problems."""
    import numpy as np
    import pandas as pd

    codes, texts = pd.factorize(text)  # each distinct text is read once
    # Python reads 'inf', 'nan' and '1_0' too; none of these is something an owner reads off an instrument.
    plain = [re.fullmatch(r"[+\-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+\-]?[0-9]+)?", t) for t in texts]
    value = np.array([float(t) if p else np.nan for t, p in zip(texts, plain)])
    values = value[codes]
    odd = ((texts != "") & ~np.isfinite(value))[codes]
    for i in np.flatnonzero(odd)[:20]:
        cell = text.iloc[i]
        hint = dash_hint(cell) or (
            "a comma file uses decimal points"
            if "," in cell
            else "the unit belongs in the header"
            if re.fullmatch(r"[+\-]?[\d.]+\s*[A-Za-z°%][A-Za-z°%/ ]*", cell)
            else "write a plain number, or leave the cell empty if it is not known"
        )
        problems.append(
            f"`{file}` row {text.index[i]}: '{cell}' in column `{column.header}` is not a finite number; {hint}"
        )
    return np.where(odd, np.nan, values)
