"""One form for an answer: sentences with slots, tables of quantities, pictures, cautions, source and data.

Nothing here formats a number. A `Quantity` holds an SI value and what kind of thing it is; `show/render.py` writes it
in the reader's units, with as many digits as its uncertainty deserves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from aerolib.estimate import Estimate
from aerolib.show.pictures import Picture


@dataclass(frozen=True)
class Quantity:
    """A value [SI] of a kind of `render.KINDS`; `identity` says whose: what, state, configuration, place."""

    value: float | None
    kind: str
    interval95: tuple[float, float] | None = None
    identity: tuple[str, ...] = ()
    unknown: str = "not known"  # what is said where there is no value
    unit: str = ""  # the unit it stands in already and is shown in, whoever reads: what an owner wrote down


def quantity(given: Estimate | float | None, kind: str, identity: tuple[str, ...] = (), **more) -> Quantity:
    """A quantity of an estimate, its interval with it, or of a plain number [SI]."""
    if isinstance(given, Estimate):
        return Quantity(given.value, kind, given.interval95, identity, **more)
    return Quantity(None if given is None else float(given), kind, identity=identity, **more)


@dataclass(frozen=True)
class Sentence:
    """Words with slots: '{fall} slower', filled by the renderer.

    A slot may end in `:value` (number and unit), `:number` (no unit), `:interval` (both ends), or nothing (value, and
    the interval in brackets where there is one). Slots hold quantities, sentences or plain words.
    """

    words: str
    slots: Mapping[str, Quantity | Sentence | str] = field(default_factory=dict)


@dataclass(frozen=True)
class Column:
    """Head of a column, and the kind of quantity in it, so that its unit stands in the head once."""

    head: Sentence | str
    kind: str | None = None
    show: str = ""  # as in a slot: '', 'number', 'interval'


@dataclass(frozen=True)
class Table:
    """Rows of quantities, sentences and words under columns."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Quantity | Sentence | str | None, ...], ...]
    title: str = ""
    folded: bool = False  # on a page only its title is seen until it is clicked


@dataclass(frozen=True)
class Heading:
    """A heading between the parts of a finding."""

    words: str


@dataclass(frozen=True)
class Steps:
    """Sentences as a list: what changed, what to do next, or notes that belong to one part."""

    items: tuple[Sentence | str, ...]
    ordered: bool = False


Part = Sentence | Table | Picture | Heading | Steps | str


@dataclass(frozen=True)
class Finding:
    """The answer to one question of the report, the workbook of the same name, and its keys of the JSON."""

    key: str
    question: str
    answer: tuple[Sentence | str, ...] = ()  # what stands at the top of the page
    parts: tuple[Part, ...] = ()  # in the order in which they are read
    cautions: tuple[Sentence | str, ...] = ()
    source: str = ""
    data: dict = field(default_factory=dict)
    files: dict[str, bytes] = field(default_factory=dict)  # file name -> what to write beside the report
