"""The estimates of a report beside the stalls themselves, in the order in which they are read.

A module here has `KEYS`, its keys of the JSON, and `finding(study)`, which gives a `Finding`, or None where the case
holds nothing for it (`section`, which gives a `Section`, where it is not yet one). Modules are named, not imported: a
report pays only for what it prints.
"""

from __future__ import annotations

import html
from dataclasses import replace
from importlib import import_module

from aerolib.show.finding import Finding
from aerolib.show.render import body_html, reader_of, said
from aerolib.show.sections.base import Door, Section

ORDER: tuple[str, ...] = (
    "airspeed",
    "change",
    "predicted",
    "reconciled",
    "flow_control",
    "layout",
    "landing_attitude",
    "tail_authority",
    "operating_speeds",
    "recordings",
)

__all__ = ["ORDER", "Door", "Section", "sections_of"]


def sections_of(study, door: Door | None = None, names=ORDER) -> tuple[list[Section], dict]:
    """All sections of a case and the JSON keys of every estimate; one that fails says so and stops no other.

    Parameters
    ----------
    study : Study [-]
    door : Door [-]
        Where it is told what failed.
    names : sequence of str [-]
        Those of `ORDER` to compute; the keys of the others are null.

    Returns
    -------
    sections : list of Section [-]
    data : dict [-]
        Every key of every estimate; None where the case holds nothing for it.
    """
    sections, data, door, reader = [], {}, door or Door(), reader_of(study.dial_unit)
    for name in ORDER:
        module = import_module(f"{__name__}.{name}")
        data.update(dict.fromkeys(module.KEYS))
        if name not in names:
            continue
        failed = len(door.told)
        one = door.through(module.TITLE, getattr(module, "finding", None) or module.section, study)
        if isinstance(one, Finding):
            ledger = tuple(said(x, reader) for x in one.answer)
            one = Section(one.question, body_html(replace(one, answer=()), reader), one.data, ledger, one.files)
        if told := door.told[failed:]:
            one = Section(module.TITLE, f"<p>{html.escape(told[0])}</p>")
        if one is not None:
            sections.append(one)
            data.update(one.data)
    return sections, data
