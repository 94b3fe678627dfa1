"""Findings for a reader: text for a terminal, HTML for a page, both in the units the reader chose."""

from __future__ import annotations

import html
import string
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from aerolib.estimate import K95, digits
from aerolib.show.finding import Column, Finding, Heading, Part, Quantity, Sentence, Steps, Table
from aerolib.show.pictures import Picture
from aerolib.units import from_si

WIDTH = 100  # of a line in a terminal
LONGEST = 60  # letters in a cell that is not folded


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: what it measures, its unit, what stands behind the unit, digits where no interval says."""

    measure: str  # a key of `units.SPELLINGS`
    unit: str  # the unit where the reader has not chosen another
    also: str = ""  # 'CAS', 'of the chord', ...
    digits: int = 1
    signed: bool = False  # a change: '+' stands before it


KINDS: dict[str, Kind] = {
    "speed_cas": Kind("speed", "kt", "CAS"),
    "speed_true": Kind("speed", "kt", "TAS"),
    "speed_on_dial": Kind("speed", "kt", "IAS"),
    "change_on_dial": Kind("speed", "kt"),
    "speed_change": Kind("speed", "kt"),
    "speed_small": Kind("speed", "kt", digits=2),
    "speed_delta": Kind("speed", "kt", signed=True),
    "speed_vertical": Kind("speed", "ft/min", digits=0),
    "rate": Kind("acceleration", "kt/s"),
    "angle": Kind("angle", "deg"),
    "angle_delta": Kind("angle", "deg", digits=0, signed=True),
    "length": Kind("length", "m", digits=2),
    "length_small": Kind("length", "mm", digits=0),
    "station": Kind("length", "m", digits=3),
    "length_tape": Kind("length", "mm"),  # as a tape is read
    "length_delta": Kind("length", "mm", digits=2, signed=True),
    "height": Kind("altitude", "ft", digits=0),
    "distance": Kind("length", "m", digits=0),
    "mass": Kind("mass", "kg", digits=0),
    "mass_weighed": Kind("mass", "kg", digits=2),
    "mass_small": Kind("mass", "g", digits=0),
    "force": Kind("force", "N", digits=0),
    "area": Kind("area", "m2", digits=2),
    "speed_stated": Kind("speed", "kt"),
    "margin": Kind("speed", "kt"),
    "cl": Kind("ratio", "-", digits=2),
    "cl_delta": Kind("ratio", "-", digits=2, signed=True),
    "drag_delta": Kind("ratio", "-", digits=4, signed=True),
    "count": Kind("ratio", "-", digits=0),
    "factor": Kind("ratio", "-", digits=2),
    "share": Kind("ratio", "%", digits=0),
    "share_delta": Kind("ratio", "%", signed=True),
    "cl_part": Kind("ratio", "-", digits=4),
    "share_fine": Kind("ratio", "%", digits=1),
    "share_of_chord": Kind("ratio", "%", "MAC", digits=1),
    "probability": Kind("ratio", "%", digits=0),
    "ratio_change": Kind("ratio", "%", digits=0, signed=True),
    "as_read": Kind("ratio", "-", digits=2),
    "as_read_change": Kind("ratio", "-", digits=2, signed=True),
}


@dataclass(frozen=True)
class Reader:
    """The units one reader sees, by kind of quantity; a kind that is not named keeps the unit of `KINDS`."""

    units: tuple[tuple[str, str], ...] = ()

    def unit(self, kind: str) -> str:
        """Unit of a kind for this reader."""
        return dict(self.units).get(kind, KINDS[kind].unit)


ANYBODY = Reader()


def reader_of(dial_unit: str) -> Reader:
    """A reader of a dial marked in this unit."""
    return Reader((("speed_on_dial", dial_unit), ("speed_stated", dial_unit), ("change_on_dial", dial_unit)))


def _number(q: Quantity, value: float, reader: Reader) -> str:
    kind, unit = KINDS[q.kind], reader.unit(q.kind)
    value, *ends = (x if q.unit else from_si(x, unit, kind.measure) for x in (value, *(q.interval95 or ())))
    places = kind.digits
    if ends and ends[1] > ends[0]:
        places = min(digits((ends[1] - ends[0]) / (2.0 * K95)), max(kind.digits, 1) + 1)
    return f"{value:{'+' if kind.signed else ''}z.{places}f}"  # z: no minus before a zero


def unit_of(kind: str, reader: Reader = ANYBODY) -> str:
    """'kt CAS', '% MAC', or nothing for a plain number."""
    unit = reader.unit(kind)
    return " ".join(x for x in ("" if unit == "-" else unit, KINDS[kind].also) if x)


def shown(q: Quantity | Sentence | str | None, reader: Reader = ANYBODY, how: str = "") -> str:
    """A quantity, a sentence or plain words as text, `how` as in a slot."""
    if q is None:
        return "not known"
    if isinstance(q, str):
        return q
    if isinstance(q, Sentence):
        return said(q, reader)
    if q.value is None:
        return q.unknown
    unit = "" if how.endswith("number") else q.unit or unit_of(q.kind, reader)
    unit = unit and f" {unit}"
    ends = None if q.interval95 is None else [_number(q, x, reader) for x in q.interval95]
    value = _number(q, q.value, reader)
    if how.startswith("interval"):
        return value + unit if ends is None else f"{ends[0]} to {ends[1]}{unit}"
    if ends is None or how in ("value", "number"):
        return value + unit
    return f"{value}{unit} ({ends[0]} to {ends[1]})"


class _Slots(string.Formatter):
    """'{name:how}' filled in one reader's units."""

    def __init__(self, reader: Reader):
        self.reader = reader

    def format_field(self, value, spec):
        return shown(value, self.reader, spec)


def said(sentence: Sentence | str, reader: Reader = ANYBODY) -> str:
    """A sentence with its slots filled."""
    if isinstance(sentence, str):
        return sentence
    return _Slots(reader).vformat(sentence.words, (), dict(sentence.slots))


def head_of(column: Column, reader: Reader = ANYBODY) -> str:
    """'slowest [kt CAS]'."""
    unit = unit_of(column.kind, reader) if column.kind else ""
    head = said(column.head, reader)
    return f"{head} [{unit}]" if unit else head


def cells(table: Table, reader: Reader = ANYBODY) -> list[list[str]]:
    """The rows of a table as text, heads first; a quantity in a column with a unit is a bare number."""
    rows = [[head_of(c, reader) for c in table.columns]]
    for row in table.rows:
        rows.append([
            shown(x, reader, _bare(c, x) if isinstance(x, Quantity) else "") for c, x in zip(table.columns, row)
        ])  # fmt: skip
    return rows


def _bare(column: Column, q: Quantity) -> str:
    if column.show:
        return column.show
    return "and number" if column.kind else ""


# --- text ------------------------------------------------------------------------------------------------


def as_text(finding: Finding, reader: Reader = ANYBODY) -> str:
    """A finding for a terminal."""
    lines = [finding.question, *_wrapped(finding.answer, reader)]
    for part in finding.parts:
        lines += _text_of(part, reader)
    return "\n".join([*lines, *_wrapped(finding.cautions, reader)])


def _wrapped(items: Sequence, reader: Reader, start: str = "- ") -> list[str]:
    return [line for x in items for line in textwrap.wrap(start + said(x, reader), WIDTH, subsequent_indent="  ")]


def _text_of(part: Part, reader: Reader) -> list[str]:
    if isinstance(part, Picture):
        return _wrapped([part.alternative], reader)
    if isinstance(part, Heading):
        return ["", part.words]
    if isinstance(part, Steps):
        return _wrapped(part.items, reader)
    if isinstance(part, Table):
        return [*(["", part.title, ""] if part.title else []), *columns_of(cells(part, reader))]
    return _wrapped([part], reader, "")


def columns_of(rows: list[list[str]], narrow: int = 13) -> list[str]:
    """Rows of text in aligned columns under heads folded to keep the table narrow, the heads first [text]."""
    heads = [textwrap.wrap(k, narrow) or [""] for k in rows[0]]
    deep = max(map(len, heads))
    heads = [[""] * (deep - len(h)) + h for h in heads]
    widths = [max(len(x) for x in [*head, *(r[c] for r in rows[1:])]) for c, head in enumerate(heads)]
    lines = ["  ".join(h[level].ljust(w) for h, w in zip(heads, widths)).rstrip() for level in range(deep)]
    lines.append("  ".join("-" * w for w in widths))
    return lines + ["  ".join(v.ljust(w) for v, w in zip(r, widths)).rstrip() for r in rows[1:]]


# --- HTML ------------------------------------------------------------------------------------------------


def tag(name: str, inside: str, **attributes: str) -> str:
    """An element around HTML that is already escaped."""
    given = "".join(f' {k.rstrip("_")}="{html.escape(v, quote=True)}"' for k, v in attributes.items() if v)
    return f"<{name}{given}>{inside}</{name}>"


def words(sentence: Sentence | str, reader: Reader = ANYBODY) -> str:
    """A sentence as escaped HTML: the one place where an owner's text meets a page."""
    return html.escape(said(sentence, reader))


def marked(sentence: Sentence, reader: Reader = ANYBODY) -> str:
    """A sentence as escaped HTML in which every slot stands out, its name as a class: what a control moves."""
    out = ""
    for text, name, how, _ in string.Formatter().parse(sentence.words):
        out += html.escape(text)
        if name is not None:
            slot = sentence.slots[name]
            if isinstance(slot, Sentence):
                out += marked(slot, reader)
            else:
                out += tag("b", html.escape(shown(slot, reader, how or "")), class_=name)
    return out


def listed(items: Sequence[Sentence | str], reader: Reader = ANYBODY, ordered: bool = False, class_: str = "") -> str:
    """Sentences as an HTML list; nothing where there are none."""
    inside = "".join(tag("li", words(x, reader)) for x in items)
    return tag("ol" if ordered else "ul", inside, class_=class_) if inside else ""


def table_html(table: Table, reader: Reader = ANYBODY) -> str:
    """A table as HTML."""
    head, *body = cells(table, reader)
    caption = tag("caption", html.escape(table.title)) if table.title and not table.folded else ""
    top = tag("thead", tag("tr", "".join(tag("th", html.escape(h), scope="col") for h in head)))
    rows = "".join(tag("tr", "".join(tag("td", html.escape(x)) for x in r)) for r in body)
    wide = len(head) > 6 or any(len(x) > LONGEST for r in body for x in r)
    made = tag("table", caption + top + tag("tbody", rows), class_="wide" if wide else "aerolib")
    return tag("details", tag("summary", html.escape(table.title)) + made) if table.folded else made


def part_html(part: Part, reader: Reader = ANYBODY) -> str:
    """One part of a finding as HTML."""
    if isinstance(part, Picture):
        return part.figure_html()
    if isinstance(part, Heading):
        return tag("h3", html.escape(part.words))
    if isinstance(part, Steps):
        return listed(part.items, reader, part.ordered)
    if isinstance(part, Table):
        return table_html(part, reader) if part.rows else ""
    return tag("p", words(part, reader))


def body_html(finding: Finding, reader: Reader = ANYBODY) -> str:
    """All of a finding below its question."""
    source = tag("p", html.escape(f"{finding.source}."), class_="small") if finding.source else ""
    return (
        listed(finding.answer, reader) + "".join(part_html(p, reader) for p in finding.parts)
        + listed(finding.cautions, reader, class_="cautions") + source
    )  # fmt: skip
