"""Tables that somebody else published, as the estimates take them: read once from data/published, SI afterwards."""

from __future__ import annotations

import csv
import math
from functools import cache, wraps
from typing import Any

import aerolib.predicted.section as predicted
from aerolib.case.shipped import shipped

_TO_SI = {"deg": math.radians(1.0), "1/deg": math.degrees(1.0), "%": 0.01, "-": 1.0}


@cache
def published(name: str) -> tuple[dict[str, Any], ...]:
    """Rows of data/published/NAME.csv as they stand: numbers as floats, text as text, empty cells None."""
    with (shipped("data") / "published" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple({key: _cell(text) for key, text in row.items()} for row in csv.DictReader(file))


@cache
def section_table() -> tuple[dict[str, Any], ...]:
    """Rows of naca_tr824.csv as `section_lift` takes them: no unit in a key, values in SI (rad, 1/rad, fractions)."""
    return tuple(_si(row) for row in published("naca_tr824"))


@wraps(predicted.section_lift)
def section_lift(section, reynolds, **sizes) -> predicted.SectionLift:
    return predicted.section_lift(section, reynolds, **{"table": section_table(), **sizes})


@cache
def measured_lift(section: str) -> dict[str, tuple[tuple[float, float], ...]]:
    """Measured lift curves of a section of TR 824 by condition: (alpha [rad], cl) points; empty where none is held."""
    curves: dict[str, list[tuple[float, float]]] = {}
    for row in map(_si, published("naca_tr824_lift")):
        if row["section"] == section:
            curves.setdefault(str(row["condition"]), []).append((row["alpha"], row["cl"]))
    return {condition: tuple(points) for condition, points in curves.items()}


def _cell(text: str) -> float | str | None:
    try:
        return float(text)
    except ValueError:
        return text or None


def _si(row: dict[str, Any]) -> dict[str, Any]:
    """The same row with its units taken out of the keys."""
    out = {}
    for key, value in row.items():
        name, _, unit = key.partition(" [")
        out[name] = value * _TO_SI[unit.rstrip("]")] if unit and value is not None else value
    return out
