"""Draws of several estimates at once: a source that two of them share moves both."""

from __future__ import annotations

import zlib
from collections.abc import Sequence

import numpy as np

from aerolib.estimate import K95, Estimate, Source

MOST_STREAMS = 500  # sources drawn one by one: those of thousands of flights are small, and drawn by their covariance


def draw_together(estimates: Sequence[Estimate], draws: int, seed: int = 3) -> list[np.ndarray]:
    """Draws of each estimate; sources are one normal each, by name, so what is shared is shared.

    x_k = x + sum of parts times z, stretched where the 95 % interval is wider than the parts say

    Parameters
    ----------
    estimates : sequence of Estimate [any one unit]
    draws, seed : [-]

    Returns
    -------
    list of array [unit of the estimates]
    """

    def stream(name: str) -> np.ndarray:
        return np.random.default_rng([seed, zlib.crc32(name.encode())]).standard_normal(draws)

    largest: dict[Source, float] = {}
    for e in estimates:
        for source, part in e.parts.items():
            largest[source] = max(largest.get(source, 0.0), abs(part))
    many = sorted(largest, key=largest.__getitem__, reverse=True)[MOST_STREAMS:]
    rest = [np.zeros(draws)] * len(estimates)
    if many:
        rest = _together(estimates, {s: k for k, s in enumerate(many)}, stream)
    few = largest.keys() - set(many)
    z: dict[Source, np.ndarray] = {}
    out = []
    for e, small in zip(estimates, rest):
        total = small.copy()
        for source, part in e.parts.items():
            if source not in few:
                continue
            if source not in z:  # a stream of its own, whatever else is drawn: before and after see the same one
                z[source] = stream(f"{source.name}|{source.scope}|{source.label}")
            total += part * z[source]
        half = 0.5 * (e.interval95[1] - e.interval95[0])
        wider = half / (K95 * e.standard_uncertainty) if e.standard_uncertainty > 0.0 else 1.0
        out.append(e.value + wider * total)
    return out


def ends(values) -> tuple[float, float]:
    """Both ends of what nineteen of twenty draws hold [the unit of the draws]."""
    low, high = np.quantile(values, [0.025, 0.975])
    return float(low), float(high)


def _together(estimates, index: dict, stream) -> list[np.ndarray]:
    """What very many small sources do to each estimate [its unit], drawn from their joint normal distribution."""
    parts = np.zeros((len(estimates), len(index)))
    for row, e in zip(parts, estimates):
        mine = [(index[s], p) for s, p in e.parts.items() if s in index]
        row[[k for k, _ in mine]] = [p for _, p in mine]
    size, axes = np.linalg.eigh(parts @ parts.T)
    streams = np.array([stream(f"the rest, {k}, {estimates[k].name}") for k in range(len(estimates))])
    return list(axes @ (np.sqrt(np.maximum(size, 0.0))[:, None] * streams))
