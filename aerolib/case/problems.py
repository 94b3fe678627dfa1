"""What is wrong with an owner's file, said so that the owner can mend it."""

from __future__ import annotations

import difflib
import re
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


def folded(name: str) -> str:
    """A name without what nobody tells apart by ear: capitals, blanks, hyphens, underscores.

    A mark between two figures stays as a blank (flight 1-1 is not flight 11), and a minus sign stays.
    """
    name = re.sub(r"(?:(?<=\s)|^)[-\u2212](?=\d)", "\0", name.casefold().strip())
    name = re.sub(r"(?<=\d)[\s_\-\u2010-\u2015]+(?=\d)", "\1", name)
    return re.sub(r"[\s_\-\u2010-\u2015]+", "", name)


def nearest(name: str, known: Iterable[str]) -> str:
    """ "; did you mean 'area'?" or the list of what is known, as a clause."""
    known = [str(k) for k in known]
    alike = [k for k in known if folded(k) == folded(str(name))]
    near = alike or difflib.get_close_matches(str(name), known, n=1, cutoff=0.6)
    if near:
        return f"did you mean '{near[0]}'?"
    return f"known here: {', '.join(known)}" if known else "none is defined"
