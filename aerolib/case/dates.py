"""Flights named by their date: one date is one flight, whatever its spelling."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime

import numpy as np
from dateutil import parser

_YEAR_FIRST = re.compile(r"(\d{4})([./-])(\d{1,2})\2(\d{1,2})")
_NUMBERS = re.compile(r"(\d{1,2})\s*([./-])\s*(\d{1,2})\s*\2\s*(?:\d{2}|\d{4})")
_WORD = re.compile(r"[^\W\d_]+")
_INFO = parser.parserinfo()
# Two dates to fill in what a text does not say: what differs between the two results was not said.
_FILL = datetime(2000, 1, 1), datetime(2004, 3, 29)


def iso_dates(labels, row, file: str, problems: list[str], beside=()) -> np.ndarray:
    """Names of flights (N,) with every date among them as 2026-04-26; one that can be two days is asked for.

    Parameters
    ----------
    labels : sequence of text (N,) [-]
    row : sequence of int (N,) [-]
        Row in the file, for the question.
    file : str [-]
    problems : list of str [-]
        Takes the questions.
    beside : sequence of text (M,) [-]
        Other flights of the file, which may tell whether it writes the day or the month first, and the year.

    Returns
    -------
    object array (N,) of text [-]
    """
    labels = [str(t) for t in labels]
    read = {t: days for t in dict.fromkeys([*labels, *map(str, beside)]) if (days := _days(t))}
    # Whether this file writes the day or the month first is told by the dates that leave no choice.
    orders = {order for t, days in read.items() if (order := _order(t, days))}
    for t, days in read.items():
        if len(orders) == 1 and len(days) > 1 and (told := days.get(next(iter(orders)))):
            read[t] = {"told": told}
    sure = {next(iter(days.values())) for days in read.values() if len(set(days.values())) == 1}
    years = {d.year for d in sure if d.year != _FILL[0].year}
    spelled: dict[str, str] = {}
    for t in dict.fromkeys(labels):
        if t not in read:
            continue
        found = sorted(set(read[t].values()))
        if all(d.year == _FILL[0].year for d in found):  # no year was given
            found = [d.replace(year=y) for d in found for y in sorted(years)] or found
        if len(found) > 1:
            problems.append(
                f"`{file}` row {row[labels.index(t)]}: flight '{t}' can be {' or '.join(map(in_words, found))}; write "
                f"{' or '.join(d.isoformat() for d in found)}"
            )
        spelled[t] = found[0].isoformat() if found[0].year != _FILL[0].year else in_words(found[0])
    return np.array([spelled.get(t, t) for t in labels], dtype=object)


def day_of(flight: str) -> date | None:
    """The date of a flight that `iso_dates` named; None where it is no date, or one without a year."""
    return date.fromisoformat(flight) if re.fullmatch(r"\d{4}-\d\d-\d\d", flight) else None


def in_words(day: date, year: bool = True) -> str:
    """'26 April 2026'; without the year where it is not known or not asked for."""
    return f"{day.day} {day:%B}" + (f" {day.year}" if year and day.year != _FILL[0].year else "")


def days_in_words(days: Sequence[date]) -> str:
    """Days in few words: '26 and 27 April 2026', '4 days in May 2026', '3 April 2026 to 2 June 2026'."""
    days = sorted(set(days))
    first, last = days[0], days[-1]
    if first == last:
        return in_words(first)
    if (first.year, first.month) != (last.year, last.month):
        return f"{in_words(first, first.year != last.year)} to {in_words(last)}"
    if len(days) > 3:
        return f"in {last:%B} {last.year}"
    return listed([*(str(d.day) for d in days[:-1]), in_words(last)])


def listed(texts: Sequence[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    return " and ".join([", ".join(texts[:-1])] * (len(texts) > 1) + [texts[-1]])


def _order(text: str, days: dict[str, date]) -> str | None:
    """Whether a date in figures shows that the day, or the month, is written first."""
    found = _NUMBERS.fullmatch(text.strip())
    if not found or len(set(days.values())) > 1:
        return None
    return next((o for o, k in (("day first", 1), ("month first", 3)) if int(found[k]) > 12), None)


def _days(text: str) -> dict[str, date]:
    """Every day a name may mean, by how it is read; empty where it is no date. No year given: that of `_FILL`."""
    text = text.strip()
    if found := _YEAR_FIRST.fullmatch(text):
        return _only("year first", *(int(found[k]) for k in (1, 3, 4)))
    if found := _NUMBERS.fullmatch(text):
        ways = {"day first": {"dayfirst": True}, "month first": {"dayfirst": False}}
        if found[2] == "-":
            ways["year first"] = {"yearfirst": True}
    else:
        words = [w for w in _WORD.findall(text) if w.casefold() not in ("st", "nd", "rd", "th", "of")]
        months = [w for w in words if _INFO.month(w) is not None]
        if len(months) != 1 or not all(w in months or _INFO.weekday(w) is not None for w in words):
            return {}
        ways = {"month named": {}}
    out = {}
    for name, how in ways.items():
        try:
            one, other = (parser.parse(text, default=d, **how).date() for d in _FILL)
        except (ValueError, OverflowError):
            continue
        if (one.month, one.day) == (other.month, other.day):  # else the day was not given
            out[name] = one
    return out


def _only(how: str, *day: int) -> dict[str, date]:
    try:
        return {how: date(*day)}
    except ValueError:
        return {}
