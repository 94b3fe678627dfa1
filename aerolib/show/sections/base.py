"""What one estimate gives to the report: a title, HTML, its keys of the JSON, and files to write."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import dataclass, field

from aerolib.answers import absurd
from aerolib.case.problems import CaseError, reason_of
from aerolib.show.fault import words_of
from aerolib.show.finding import Finding, Steps


@dataclass(frozen=True)
class Section:
    """One estimate's part of the report; `data` holds plain values under the estimate's keys, null where unknown.

    An answer beyond its bounds takes the place of the whole part: what stands beside it comes from the same measures.
    """

    title: str
    html: str
    data: dict = field(default_factory=dict)
    ledger: tuple[str, ...] = ()  # sentences for the ledger at the top
    files: dict[str, bytes] = field(default_factory=dict)  # file name -> what to write beside the report

    def __post_init__(self):
        if problems := absurd(self.data):
            words = "".join(f"<li>{html.escape(p)}</li>" for p in problems)
            instead = {"html": f"<ul>{words}</ul>", "data": dict.fromkeys(self.data), "ledger": (), "files": {}}
            for name, value in instead.items():
                object.__setattr__(self, name, value)


def sensible(found: Finding) -> Finding:
    """The answer as it came; CaseError where a number of it lies beyond its bounds."""
    if problems := absurd(found.data):
        raise CaseError(problems)
    return found


def measure_first(key: str, title: str, e: CaseError) -> Finding:
    """In place of an answer: what has to be measured, or mended, before it can be given."""
    return Finding(key, title, parts=("Not known:", Steps(tuple(e.problems))), data={key: None})


class Door:
    """Lets every part of a report stand alone: a part that fails leaves a sentence, and the others go on."""

    def __init__(self):
        self.told: list[str] = []  # one sentence for each part that failed
        self.faults: list[str] = []  # those of them that the program is to blame for

    def picture(self, name: str, draw: Callable, *arguments):
        """A picture, or the sentence that says why it could not be drawn."""
        made = self.through(f"The picture of the {name}", draw, *arguments)
        return self.told[-1] if made is None else made

    def through(self, title: str, part: Callable, *arguments):
        """What `part` gives; None where it fails, the reason being told under this title."""
        try:
            return part(*arguments)
        except Exception as e:
            self.told.append(f"{title}: not computed: {words_of(e)}")
            if reason_of(e) is None:
                self.faults.append(self.told[-1])
            return None


def quiet(study, name: str):
    """A property of a study, None where it fails: said where its own part of the report is made."""
    return Door().through(name, getattr, study, name)
