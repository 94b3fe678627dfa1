"""Measured beside predicted: the ratio of each pair, how far apart they are, and what that usually means."""

from __future__ import annotations

from dataclasses import replace

from aerolib.case.problems import CaseError
from aerolib.show.data import pair, plain
from aerolib.show.finding import Column, Finding, Sentence, Steps, Table, quantity
from aerolib.study import Study
from aerolib.study.flaps import GAIN
from aerolib.together.reconcile import SOURCE, Reconciliation

KEYS = ("reconciled",)
TITLE = "Measured beside predicted"
COLUMNS = (
    Column("modification"), Column("configuration"), Column("quantity"), Column("measured", "cl"),
    Column("predicted", "cl"), Column("measured / predicted", "factor"), Column("standard uncertainties apart"),
)  # fmt: skip
HOW = (
    "Both values are of the trimmed airplane. CLmax is compared as built only: what was fitted later is not in the "
    f"prediction. '{GAIN}' is flap down minus flap up, measured and predicted alike, so what the two share cancels."
)
CAUTIONS = (
    "A ratio near 1 does not make a prediction good: two errors can meet. A ratio far from 1 is a question to the "
    "airplane, the indicator and the drawing, in that order.",
    "No stall speed, approach speed, placard or marking follows from it.",
)


def finding(study: Study) -> Finding:
    """Every pair of values; null, with a sentence on what to measure, where nothing can be compared."""
    empty = Finding("reconciled", TITLE, data={"reconciled": None})
    try:
        found, problems = study.reconciled
    except CaseError as e:
        found, problems = [], e.problems
    if not found:
        return replace(empty, parts=tuple(problems) or (
            "Nothing to compare yet: needed is a configuration whose stalls at idle ended in a break.",
        ))  # fmt: skip
    rows = tuple(
        (m, c, p.what, quantity(p.measured, "cl"), quantity(p.predicted, "cl"), quantity(p.ratio, "factor"),
         f"{p.sigmas:+.1f}")
        for m, c, _, p in found
    )  # fmt: skip
    words = tuple(
        Sentence("{m}, {c}, {what}: {words}", {"m": m, "c": c, "what": p.what, "words": p.words()})
        for m, c, _, p in found
    )
    data = [{"modification": m, "configuration": c, "power": power, **_data(p)} for m, c, power, p in found]
    return replace(
        empty, parts=(HOW, Table(COLUMNS, rows), Steps(words), *problems), cautions=CAUTIONS,
        source=f"Method: {SOURCE}", data={"reconciled": data},
    )  # fmt: skip


def _data(of: Reconciliation) -> dict:
    return {
        "quantity": of.what, "kind": of.kind, "measured": plain(of.measured.value),
        "predicted": plain(of.predicted.value), "difference": plain(of.difference.value),
        "ratio": plain(of.ratio.value), "interval95": pair(of.ratio.interval95), "sigmas": plain(of.sigmas),
        "words": of.words(),
    }  # fmt: skip
