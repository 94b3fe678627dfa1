"""The states of a case: their names, their order, and what was read of them, in words."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import zip_longest

from pydantic import BaseModel

from aerolib.case.dates import day_of, days_in_words, listed
from aerolib.case.problems import folded
from aerolib.case.schema import Aircraft

KINDS = ("modification", "configuration", "power", "flight", "pilot")
RARE = 0.25  # of the rows of a state: fewer, and a name one letter off is a slip: our judgement
LONG_ENOUGH = 4  # letters of a word in which one may be a slip
TOLD = 6  # rows named
FEW = 4  # flights that are listed by their names
LISTED = "[[modification]]"
POWERS = ("idle", "off")  # the names the reduction knows


@dataclass(frozen=True)
class State:
    """One state as it was flown."""

    name: str
    flights: tuple[str, ...]
    days: tuple[date, ...]  # of the flights that are named by a date

    def words(self) -> str:
        """'2 flights, 26 and 27 April 2026'."""
        n = len(self.flights)
        text = f"{n} flight{'' if n == 1 else 's'}"
        if len(self.days) == n:
            return f"{text}, {days_in_words(self.days)}"
        return f"{text}, {listed(self.flights)}" if n <= FEW else text


def in_order(aircraft: Aircraft, tables: Mapping) -> tuple[str, ...]:
    """Names of the states, first state first: as `[[modification]]` lists them, else as the files first name them.

    'before' where nothing is named yet.
    """
    named = [m.name for m in aircraft.modification]
    found = dict.fromkeys([*named, *(m for t in tables.values() for m in t.text["modification"].tolist())])
    return tuple(found) or ("before",)


def flown_states(names, text: Mapping) -> tuple[State, ...]:
    """The states that were stalled, in the order of `names`."""
    pairs = dict.fromkeys(zip(text["modification"].tolist(), text["flight"].tolist()))
    flights = {m: tuple(f for n, f in pairs if n == m) for m in names}
    return tuple(State(m, f, tuple(d for d in map(day_of, f) if d)) for m, f in flights.items() if f)


def doubt(aircraft: Aircraft, flown: tuple[State, ...], file: str) -> str | None:
    """Why the order of the states has to be asked for: the file has one first that was flown later; else None."""
    if aircraft.modification:
        return None
    dated = [s for s in flown if s.days]
    for one, other in zip(dated, dated[1:]):
        if min(other.days) < min(one.days):
            return (
                f'which state came first? `{file}` begins with "{one.name}" ({days_in_words(one.days)}), but '
                f'"{other.name}" ({days_in_words(other.days)}) was flown earlier: list the states in '
                f"`{LISTED}` of `aircraft.toml`, the first one first; until then they are not compared"
            )
    return None


def as_read(aircraft: Aircraft, flown: tuple[State, ...], asked: str | None) -> str:
    """What was read, in a sentence that an owner can say no to."""
    if not flown:
        return "No stall was read yet."
    if asked:
        return asked[0].upper() + asked[1:] + "."
    told = [f'"{s.name}", {s.words()}' for s in flown]
    if len(told) == 1:
        return f"One state was flown: {told[0]}. There is nothing to compare it with yet."
    between = "".join(f"; then {x}" for x in told[1:-1])
    mend = f"mend the order of `{LISTED}`" if aircraft.modification else f"list the states in `{LISTED}`"
    return f"Before = {told[0]}{between}; after = {told[-1]}. If that is wrong, {mend}."


def look_alikes(aircraft: Aircraft, tables: Mapping) -> list[str]:
    """Names that differ by capitals, blanks, hyphens, underscores or one letter, each with the name likely meant."""
    first: dict[tuple[str, str], tuple[str, str]] = {}
    problems: list[str] = []
    for kind, name, place in _names(aircraft, tables):
        known, where = first.setdefault((kind, folded(name)), (name, place))
        if known != name and not any(p.startswith(f"{place}: {kind} '{name}'") for p in problems):
            problems.append(
                f"{place}: {kind} '{name}' differs from '{known}' ({where}) only by capitals, blanks or hyphens; write "
                f"'{known}' in both, or two names that nobody takes for one"
            )
    return problems if problems or aircraft.modification else _misspelled(tables)


def _misspelled(tables: Mapping) -> list[str]:
    """States with few rows whose name is one letter off that of a state with many."""
    rows: dict[str, dict[str, list[int]]] = {}
    for file, table in tables.items():
        for name, row in zip(table.text["modification"].tolist(), table.row.tolist()):
            rows.setdefault(name, {}).setdefault(file, []).append(row)
    count = {name: sum(map(len, of.values())) for name, of in rows.items()}
    problems = []
    for name, of in rows.items():
        others = [n for n in count if count[name] <= RARE * count[n] and _one_letter_apart(name, n)]
        if others:
            places = "; ".join(
                f"`{file}` row{'s' * (len(r) > 1)} {', '.join(map(str, r[:TOLD]))}" for file, r in of.items()
            )
            near = max(others, key=lambda n: count[n])
            problems.append(
                f"{places}: modification '{name}' is one letter off '{near}' ({count[near]} rows): did you mean "
                f"'{near}'? If they are two states, list both in `{LISTED}` of `aircraft.toml`"
            )
    return problems


def _one_letter_apart(one: str, other: str) -> bool:
    """Whether two names differ by one letter in a word of four or more, or by the s at the end of a shorter one.

    A letter that is a word, and a figure, is a name of its own: 'kit A' and 'kit B', 'VG 1' and 'VG 2'.
    """
    differing = [w for w in zip_longest(one.casefold().split(), other.casefold().split(), fillvalue="") if w[0] != w[1]]
    if len(differing) != 1:
        return False
    a, b = sorted(differing[0], key=len)
    k = len(os.path.commonprefix((a, b)))
    apart = a[k:] == b[k + 1 :] if len(a) < len(b) else a[k + 1 :] == b[k + 1 :]
    plural = len(a) > 1 and b == a + "s"
    return plural or (apart and len(a) >= LONG_ENOUGH and (a[k : k + 1] + b[k]).isalpha())


def _names(aircraft: Aircraft, tables: Mapping):
    """(kind, name, where it stands) of every name in `aircraft.toml` and in the tables, each once a file."""
    toml = "`aircraft.toml`"
    yield from (("power", p, "a name that the reduction knows") for p in POWERS)
    for kind in ("modification", "configuration"):
        yield from ((kind, row.name, f"{toml} [[{kind}]]") for row in getattr(aircraft, kind))
    yield from (("power", s.name, f"{toml} [[power.setting]]") for s in aircraft.power.setting)
    tables_of: dict[str, Iterable[BaseModel]] = {
        "[[indicator.position]]": aircraft.indicator.position,
        "[[tail.seen]]": aircraft.tail.seen,
        "[[device]]": aircraft.device,
        "[[log]]": aircraft.log,
    }
    for place, rows in tables_of.items():
        for row in rows:
            yield from ((k, name, f"{toml} {place}") for k in KINDS if (name := getattr(row, k, None)))
    for file, table in tables.items():
        for kind in KINDS:
            if kind not in table.text:
                continue
            first: dict[str, int] = {}
            for name, row in zip(table.text[kind].tolist(), table.row.tolist()):
                first.setdefault(name, row)
            yield from ((kind, name, f"`{file}` row {row}") for name, row in first.items() if name)
