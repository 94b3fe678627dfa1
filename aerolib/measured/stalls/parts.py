"""Weights over stalls turned into named parts: how every estimate gets its error budget."""

from __future__ import annotations

import math

import numpy as np

from aerolib.estimate import Source
from aerolib.measured.labels import coded

NEGLIGIBLE = 1e-9  # parts of ln CL smaller than this are not listed


class Parts:
    """Sources as rows over the stalls, one row for each label, so that a budget is a matrix times weights."""

    def __init__(self, effects, flight_index, flight_names, day):
        self.flight_names = flight_names
        own = [e for e in effects if e.scope == "stall"]
        self.own_names = [e.name for e in own]
        self.own_via = [e.via for e in own]
        self.own_squares = np.array([e.per_stall**2 for e in own])  # (K, N)
        self.stall_variance = np.maximum(self.own_squares.sum(axis=0), NEGLIGIBLE**2)
        self.shared, self.shared_via, rows = [], [], []
        for e in effects:
            if e.scope in ("shared", "state"):
                for label, row in _by_label(e):
                    self.shared.append(Source(e.name, e.scope, label))
                    self.shared_via.append(e.via)
                    rows.append(row)
        self.shared_rows = np.array(rows).reshape(len(rows), len(flight_index))  # (K, N)
        counts = np.maximum(np.bincount(flight_index), 1)
        flown = [(e, np.bincount(flight_index, e.per_stall) / counts) for e in effects if e.scope == "flight"]
        self.flight_effects = {e.name: x for e, x in flown if not e.seen}
        self.flight_variance = sum((v**2 for v in self.flight_effects.values()), np.zeros(len(counts)))
        # What flights differ by beyond that: one unknown scale for all of it, whose prior begins at the stated sizes.
        self.among = {"day to day": np.full(len(counts), day), **{e.name: x for e, x in flown if e.seen}}
        self.flight_sources = {
            name: [Source(name, "flight", f) for f in flight_names] for name in (*self.flight_effects, *self.among)
        }

    def flight_median(self, flights=slice(None)) -> float:
        """Prior median of what differs among flights (all, or those of an index) beyond what is known of them [-]."""
        return math.hypot(*(_rms(x[flights]) for x in self.among.values()))

    def of(self, weights, loading, tau, kappa, who) -> dict[Source, float]:
        """Parts of a weighted sum of ln CL: weights (N,), what each flight's effect does to it (F,), whose it is."""
        out = dict(zip(self.shared, (self.shared_rows @ weights).tolist()))
        own = kappa * np.sqrt(self.own_squares @ weights**2)
        out |= {Source(name, "stall", who): part for name, part in zip(self.own_names, own.tolist())}
        flights = np.flatnonzero(loading)
        whole = self.flight_median()
        among = {name: np.full(len(loading), tau * _rms(x) / whole) for name, x in self.among.items()}
        sizes = {**self.flight_effects, **among}
        for name, size in sizes.items():
            sources = self.flight_sources[name]
            out |= zip((sources[f] for f in flights), (loading * size)[flights].tolist())
        return {source: part for source, part in out.items() if abs(part) > NEGLIGIBLE}


def _by_label(effect):
    """(label, row over all stalls) for each label of an effect, zero where another label holds."""
    if isinstance(effect.label, str):
        if np.any(effect.per_stall):
            yield effect.label, effect.per_stall
        return
    labels, code = coded(effect.label)
    for k, label in enumerate(labels.tolist()):
        row = np.where(code == k, effect.per_stall, 0.0)
        if np.any(row):
            yield label, row


def _rms(x) -> float:
    return float(np.sqrt(np.mean(x**2)))


def root_sum(parts) -> float:
    """Root sum of squares of the parts of an estimate [in their unit]."""
    return math.sqrt(sum(p * p for p in parts.values()))
