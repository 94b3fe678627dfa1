"""What is wrong with an owner's file, said so that the owner can mend it."""

from __future__ import annotations

import difflib
import dis
import re
from collections.abc import Iterable, Mapping
from pathlib import Path

SHOWN = 6  # problems printed before '... and N more'
ECHOED = 60  # characters of what was given that a message repeats
LONGEST = 1200  # characters of one problem
_MANY = f"{{{ECHOED + 1},}}?"
_LONG = re.compile(  # quoted, apostrophes inside; or one endless word
    rf"""(?<!\w)'((?:[^']|'(?=\w)){_MANY})'(?!\w)|(?<!\w)"([^"]{_MANY})"(?!\w)|(\S{{256,}})"""
)


class CaseError(Exception):
    """One or more problems, each a sentence with file, place, what was given, what is needed, what to do."""

    def __init__(self, problems: str | Iterable[str]):
        self.problems = [_short(p) for p in ([problems] if isinstance(problems, str) else problems)]
        more = len(self.problems) - SHOWN
        super().__init__("\n".join(self.problems[:SHOWN] + ([f"... and {more} more like these"] if more > 0 else [])))

    def _render_traceback_(self):
        """In a workbook: the message alone, since the way through the code helps no owner."""
        return str(self).split("\n")


def needed(table: object, place: str, keys: Mapping[str, str], by: str) -> list[float]:
    """What a table holds at keys that may be left out; CaseError names every missing one and what it is."""
    lacks = [(k, what and f": {what}") for k, what in keys.items() if getattr(table, k) is None]
    if lacks:
        raise CaseError(f"{place} {k} is missing; {by} needs it{what}" for k, what in lacks)
    return [getattr(table, k) for k in keys]


def folded(name: str) -> str:
    """A name without what nobody tells apart by ear: capitals, blanks, hyphens, underscores.

    A mark between two figures stays as a blank (flight 1-1 is not flight 11), and a minus sign stays.
    """
    name = re.sub(r"(?:(?<=\s)|^)[-\u2212](?=\d)", "\0", name.casefold().strip())
    name = re.sub(r"(?<=\d)[\s_\-\u2010-\u2015]+(?=\d)", "\1", name)
    return re.sub(r"[\s_\-\u2010-\u2015]+", "", name)


def _short(problem: str) -> str:
    """A sentence with what it quotes cut to `ECHOED` characters: a cell may hold megabytes."""
    if len(problem) > 20 * LONGEST:
        problem = problem[: 10 * LONGEST].rstrip("'\"") + " ... " + problem[-10 * LONGEST :].lstrip("'\"")
    problem = _LONG.sub(lambda m: f"'{(m[1] or m[2] or m[3])[: ECHOED - 3]}...'", problem)
    if len(problem) > LONGEST:
        problem = f"{problem[: LONGEST // 2]} ... {problem[-LONGEST // 2 :]}"
    return problem


def reason_of(error: BaseException) -> str | None:
    """Why something could not be done, for its owner; None where the program is at fault.

    A `ValueError` that a line of the library raised says what it was given; one that numpy or Python raised is a fault.
    """
    if isinstance(error, CaseError):
        return str(error)
    if isinstance(error, OSError) and error.strerror:
        return f"{error.strerror}: {Path(str(error.filename)).name}" if error.filename else error.strerror
    if isinstance(error, ValueError) and _raised_by_the_library(error):
        return f"{error}; correct the measure in `aircraft.toml` or the tables that this comes from, or take it out"
    return None


def _raised_by_the_library(error: BaseException) -> bool:
    """Whether the innermost place of an error is a `raise` of this library, and no call into another."""
    inner = error.__traceback__
    while inner is not None and inner.tb_next is not None:
        inner = inner.tb_next
    if inner is None or not inner.tb_frame.f_globals.get("__name__", "").startswith("aerolib."):
        return False
    return inner.tb_frame.f_code.co_code[inner.tb_lasti] == dis.opmap["RAISE_VARARGS"]


def nearest(name: str, known: Iterable[str]) -> str:
    """ "; did you mean 'area'?" or the list of what is known, as a clause."""
    known = [str(k) for k in known]
    alike = [k for k in known if folded(k) == folded(str(name))]
    near = alike or difflib.get_close_matches(str(name)[:ECHOED], known, n=1, cutoff=0.6)
    if near:
        return f"did you mean '{near[0]}'?"
    return f"known here: {', '.join(known)}" if known else "none is defined"


def not_defined(kind: str, name: str, known: Iterable[str]) -> str:
    """That a modification or configuration is not defined, and the name likely meant, as a clause."""
    return (
        f"{kind} '{name}' is not in `aircraft.toml`; {nearest(name, known)} (or add a table [[{kind}]] with this name)"
    )
