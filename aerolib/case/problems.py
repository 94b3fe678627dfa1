"""What is wrong with an owner's file, said so that the owner can mend it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

SHOWN = 6  # problems printed before '... and N more'


class CaseError(Exception):
    """One or more problems, each a sentence with file, place, what was given, what is needed, what to do."""

    def __init__(self, problems: str | Iterable[str]):
        self.problems = [problems] if isinstance(problems, str) else list(problems)
        more = len(self.problems) - SHOWN
        super().__init__("\n".join(self.problems[:SHOWN] + ([f"... and {more} more like these"] if more > 0 else [])))

    def _render_traceback_(self):
        """In a workbook: the message alone, since the way through the code helps no owner."""
        return str(self).split("\n")


def nearest(name: str, known: Iterable[str]) -> str:
    """ "; did you mean 'area'?" or the list of what is known, as a clause."""
    known = [str(k) for k in known]
    near = difflib.get_close_matches(str(name), known, n=1, cutoff=0.6)
    if near:
        return f"did you mean '{near[0]}'?"
    return f"known here: {', '.join(known)}" if known else "none is defined"
