"""Recordings that are tables: a logger's CSV, or what was written down from a film of the panel."""

from __future__ import annotations

import csv
import functools
import io
import re
from dataclasses import dataclass, field

import numpy as np

from aerolib.atmosphere import GRAVITY
from aerolib.case.problems import CaseError, nearest
from aerolib.case.schema import Log
from aerolib.case.tables import THOUSANDS, two_readings
from aerolib.measured.recording.channels import CHANNELS, EVENTS
from aerolib.units import UnitProblem, unit

KINDS = {"ias": "speed", "ground_speed": "speed", "altitude": "altitude", "pitch": "angle", "bank": "angle",
         "heading": "angle", "track": "angle", "normal_g": None, "forward_g": None}  # fmt: skip
_EXAMPLE = {"speed": "kt", "altitude": "ft", "angle": "deg"}
PIECE = 40_000  # rows read at a time: a whole file of text would take many times its size
LONGEST_STEP = 8.0  # [s] between rows: slower shows no stall, so another unit is likelier
HEADER_WITHIN = 40  # rows: loggers write some lines of their own first
TIME_HELP = "written as 14:03:22.5, as minutes:seconds of a film, as an ISO date and time, or in seconds"
_CLOCK = re.compile(r"\s*(?:(\d{1,2}):)?(\d{1,2}):(\d{1,2}(?:[.,]\d*)?)\s*[Zz]?\s*")
_NUMBER = re.compile(r"\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*")
_BRACKET = re.compile(r"\s*(.*?)\s*[\[(]\s*([^\[\]()]*)\s*[\])]\s*")


@dataclass(frozen=True)
class Raw:
    """What a file holds, in the order of its rows: times, SI values, words with their rows."""

    time: np.ndarray
    values: dict[str, np.ndarray]
    events: list[tuple[int, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    of_day: bool = False  # times begin again at midnight
    dated: bool = False  # times are seconds of an epoch
    columns: str = ""
    time_help: str = f"needed is a time {TIME_HELP}"


def read_table_of_times(data: bytes, log: Log, place: str) -> Raw:
    """Times, values and words of a CSV recording (values in SI, rows as they stand); CaseError says what is wrong."""
    import pandas as pd

    headers, skip, separator = _header(data, log, place)
    wanted = _columns(headers, log, place)
    names = [headers[k] for k, _ in wanted.values()]
    text = {headers[wanted[n][0]]: str for n in ("time", "event") if n in wanted}
    parts: dict[str, list[np.ndarray]] = {name: [] for name in wanted}
    odd: dict[str, list[int]] = {}
    events, rows, clock = list[tuple[int, str]](), 0, None
    commas = separator == ";" and re.search(rb"\d,\d", data) is not None
    try:
        # A row with more cells than the header keeps those that have a name.
        pieces = pd.read_csv(io.BytesIO(data), sep=separator, skiprows=skip, header=0, names=headers, usecols=names,
                             index_col=False, dtype=text, decimal="," if separator == ";" else ".",
                             encoding_errors="replace", quoting=_quoting(data), chunksize=PIECE)  # fmt: skip
        for frame in filter(len, pieces):
            times = frame[headers[wanted["time"][0]]].fillna("")
            clock = clock or _Clock(times, wanted["time"][1], place)
            parts["time"].append(clock.seconds(times))
            for name, (k, to_si) in wanted.items():
                if name == "event":
                    events += _events(frame[headers[k]], rows)
                elif name != "time":
                    if commas and not pd.api.types.is_numeric_dtype(frame[headers[k]]):
                        _no_two_readings(frame[headers[k]], headers[k], rows, place)
                    parts[name].append(
                        to_si(_plain(frame[headers[k]], separator, rows, odd.setdefault(headers[k], [])))
                    )
            rows += len(frame)
    except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError) as e:
        raise CaseError(f"{place} cannot be read as a table: {e}; save it as CSV again") from None
    if clock is None:
        raise CaseError(f"{place} has a header and no rows below it; copy it from the recorder again")
    notes = [f"{len(where)} cells of '{header}' are no number, the first in row {where[0] + 1} below the header"
             for header, where in odd.items() if where]  # fmt: skip
    values = {name: np.concatenate(parts.pop(name)) for name in list(parts) if name not in ("time", "event")}
    time = np.concatenate(parts.pop("time"))
    return Raw(
        time, values, events, notes, clock.of_day, clock.dated or clock.epoch, ", ".join(f"'{h}'" for h in headers[:12])
    )


def _no_two_readings(column, header: str, rows: int, place: str) -> None:
    """CaseError where a point may divide thousands, in a file with decimal commas."""
    found = column.fillna("").astype(str).str.strip().str.fullmatch(THOUSANDS).to_numpy()
    if found.any():
        k = int(np.argmax(found))
        raise CaseError(f"{place} row {rows + k + 1} below the header: {two_readings(column.iloc[k].strip(), header)}")


def _plain(column, separator: str, rows: int, odd: list[int]) -> np.ndarray:
    """Numbers of a column, NaN where a cell is empty or none; the rows of those that are none are added to `odd`."""
    import pandas as pd

    if not pd.api.types.is_numeric_dtype(column):
        texts = column.fillna("").astype(str).str.strip()
        if separator == ";":
            texts = texts.str.replace(",", ".", regex=False)
        # A needle below its lowest mark: a unit below it is near enough to find the stall; the card gets '<35'.
        below = texts.str.startswith("<")
        column = pd.to_numeric(texts.str.removeprefix("<"), errors="coerce") - below
        odd += (rows + np.flatnonzero((column.isna() & (texts != "")).to_numpy())).tolist()
    return column.to_numpy(dtype=float)


def _quoting(data: bytes) -> int:
    """A quotation mark that is opened and never closed swallows the rest of the file: then marks are plain letters."""
    return csv.QUOTE_NONE if data.count(b'"') % 2 else csv.QUOTE_MINIMAL


def _header(data: bytes, log: Log, place: str) -> tuple[list[str], int, str]:
    """The header's cells, how many lines come before it, and the separator."""
    lines = data[:65536].decode("utf-8-sig", "replace").splitlines()[:HEADER_WITHIN]
    wanted = log.columns.time
    best: list[str] = []
    for n, row in enumerate(lines):
        separator = max(";,\t", key=row.count)
        cells = [c.strip() for c in next(csv.reader([row], delimiter=separator), [])]
        if len(cells) < 2:
            continue
        best = best or cells
        if _place_of("time", wanted, cells) is not None:
            return _unlike(cells), n, separator
    seen = ", ".join(f"'{c}'" for c in best[:12]) or "none"
    if wanted is None:
        raise CaseError(
            f"{place}: no column is called `time`; name it in [log.columns] of `aircraft.toml`, such as "
            f'time = "UTC". The columns seen are {seen}'
        )
    raise CaseError(
        f"{place}: no column is called '{wanted}' (time); {nearest(wanted, best)} The columns seen are {seen}"
    )


def _unlike(cells: list[str]) -> list[str]:
    """Headers that stand twice get a number: only the first is used."""
    seen: dict[str, int] = {}
    out = []
    for c in cells:
        seen[c] = seen.get(c, 0) + 1
        out.append(c if seen[c] == 1 else f"{c} #{seen[c]}")
    return out


def _split(text: str) -> tuple[str, str | None]:
    match = _BRACKET.fullmatch(text)
    return (match[1], match[2]) if match else (text.strip(), None)


def _place_of(name: str, wanted: str | None, headers: list[str]) -> int | None:
    """Where a quantity stands: by the header that [log.columns] names, or by its own name."""
    if wanted is None:
        return next((k for k, h in enumerate(headers) if _split(h)[0].casefold() == name), None)
    for known in (wanted.strip(), _split(wanted)[0]):
        for k, h in enumerate(headers):
            if known in (h, _split(h)[0]):
                return k
    return None


def _columns(headers: list[str], log: Log, place: str):
    """Name -> place of its column, and the function that turns it into SI."""
    out, problems = {}, []
    for name in ("time", *CHANNELS, "event"):
        wanted = getattr(log.columns, name)
        k = _place_of(name, wanted, headers)
        if k is None:
            if wanted is not None:
                problems.append(
                    f"{place}: no column is called '{wanted}' ({name}); {nearest(_split(wanted)[0], headers)}"
                )
            continue
        of_unit = (wanted and _split(wanted)[1]) or _split(headers[k])[1]
        try:
            out[name] = k, _to_si(name, of_unit)
        except UnitProblem as e:
            problems.append(f"{place}: column '{headers[k]}' ({name}): {e}")
    if problems:
        raise CaseError(problems)
    return out


def _to_si(name: str, of_unit: str | None):
    if name == "event":
        return str
    if name == "time":
        return unit(of_unit, "time").to_si if of_unit in ("s", "ms", "min", "h") else None  # else told by its size
    kind = KINDS[name]
    if kind is None:  # accelerations, in g unless they say otherwise
        if of_unit in (None, "", "g", "G", "-"):
            return lambda x: x
        u = unit(of_unit, "acceleration")
        return lambda x: u.to_si(x) / GRAVITY
    if not of_unit:
        raise UnitProblem(f"has no unit; write it behind the header in [log.columns], such as [{_EXAMPLE[kind]}]")
    return unit(of_unit, kind).to_si


class _Clock:
    """How a file writes its times, told from the first of them."""

    def __init__(self, texts, to_si, place: str):
        probe = [t for t in texts.tolist() if t.strip()][:200]
        if not probe:
            raise CaseError(f"{place}: the column of times is empty; needed is a time {TIME_HELP}")
        numbers, clocks = (sum(bool(p.fullmatch(t)) for t in probe) for p in (_NUMBER, _CLOCK))
        self.to_si, self.epoch = to_si, False
        self.dated = max(numbers, clocks) < 0.5 * len(probe)
        self.plain = not self.dated and numbers >= clocks
        hours = sum(m[1] is not None for t in probe if (m := _CLOCK.fullmatch(t)))
        if self.plain and to_si is None:
            self._told_by_size(np.array([float(t) for t in probe if _NUMBER.fullmatch(t)]), place)
        self.of_day = not self.dated and not self.plain and hours > 0.5 * len(probe)
        if self.dated and not np.isfinite(self.seconds(texts)).any():
            raise CaseError(f"{place}: '{probe[0]}' is no time that can be read; needed is a time {TIME_HELP}")

    def _told_by_size(self, first, place: str) -> None:
        """Numbers without a unit: since 1970 in s, ms or us, or in seconds of their own; steps say what cannot be."""
        size, step = float(np.median(first)), float(np.median(np.diff(first))) if len(first) > 1 else 1.0
        self.epoch, per = next(((True, k) for k, least in ((1e-6, 1e14), (1e-3, 1e11), (1.0, 1e8)) if size > least),
                               (False, 1.0))  # fmt: skip
        self.to_si = functools.partial(np.multiply, per)
        if not self.epoch and step > LONGEST_STEP:
            raise CaseError(
                f"{place}: a row every {step:g} s, taken as seconds; a stall needs several rows a second: is the time "
                'in ms? Write its unit in [log.columns] of `aircraft.toml`, such as time = "time [ms]"'
            )

    def seconds(self, texts) -> np.ndarray:
        """Seconds of a day, of a film, of an epoch or as they are; NaN where a text cannot be read."""
        import pandas as pd

        if self.dated:
            stamps = pd.to_datetime(texts, format="ISO8601", utc=True, errors="coerce")
            return ((stamps - pd.Timestamp(0, tz="UTC")) / pd.Timedelta("1s")).to_numpy(dtype=float)
        if self.plain:
            return self.to_si(pd.to_numeric(texts, errors="coerce").to_numpy(dtype=float))
        parts = texts.str.extract(f"^{_CLOCK.pattern}$")
        parts[0] = parts[0].fillna("0")
        hours, minutes, seconds = (pd.to_numeric(parts[k].str.replace(",", ".")) for k in range(3))
        return (hours * 3600 + minutes * 60 + seconds).to_numpy(dtype=float)


def _events(column, rows: int) -> list[tuple[int, str]]:
    """Rows whose words name an event; other words are remarks."""
    return [(rows + k, word) for k, cell in enumerate(column.fillna("").tolist()) if cell
            for word in re.findall("[a-z]+", cell.lower()) if word in EVENTS]  # fmt: skip
