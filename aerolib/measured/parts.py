"""Weights over stalls turned into named parts: how every estimate gets its error budget."""

from __future__ import annotations

import math

import numpy as np

from aerolib.estimate import Source


class Parts:
    """Turns weights over stalls into named parts of ln CL, one table for all groups."""

    def __init__(self, effects, flight_index, flight_names):
        self.effects, self.flight_names = effects, flight_names
        self.stall_variance = sum(e.per_stall**2 for e in effects if e.scope == "stall")
        per_flight = np.maximum(np.bincount(flight_index), 1)
        self.flight_effects = {
            e.name: np.bincount(flight_index, e.per_stall) / per_flight for e in effects if e.scope == "flight"
        }
        self.flight_variance = sum(v**2 for v in self.flight_effects.values())

    def of(self, weights, loading, tau, kappa, who) -> dict[Source, float]:
        """Parts of a weighted sum of ln CL: weights (N,), what each flight's effect does to it (F,), whose it is."""
        out: dict[Source, float] = {}
        for e in self.effects:
            if e.scope == "stall":
                part = kappa * math.sqrt(float(np.sum((weights * e.per_stall) ** 2)))
                _put(out, Source(e.name, e.scope, who), part)
            elif e.scope == "flight":
                for f in np.flatnonzero(loading):
                    part = loading[f] * self.flight_effects[e.name][f]
                    _put(out, Source(e.name, e.scope, self.flight_names[f]), part)
            elif isinstance(e.label, str):
                _put(out, Source(e.name, e.scope, e.label), float(weights @ e.per_stall))
            else:
                active = np.abs(weights) > 1e-12
                for label in np.unique(e.label[active]).tolist():
                    mask = active & (e.label == label)
                    _put(out, Source(e.name, e.scope, label), float(weights[mask] @ e.per_stall[mask]))
        for f in np.flatnonzero(loading):
            _put(out, Source("day", "flight", self.flight_names[f]), loading[f] * tau)
        return out


def _put(parts, source, value):
    if abs(value) > 1e-9:
        parts[source] = parts.get(source, 0.0) + float(value)
