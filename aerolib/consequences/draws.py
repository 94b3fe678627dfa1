"""Draws of several estimates at once: a source that two of them share moves both."""

from __future__ import annotations

import zlib
from collections.abc import Sequence

import numpy as np

from aerolib.estimate import K95, Estimate


def draw_together(estimates: Sequence[Estimate], draws: int, seed: int = 3) -> list[np.ndarray]:
    """Draws of each estimate; sources are one normal each, by name, so what is shared is shared.

    x_k = x + sum of parts times z, stretched where the 95 % interval is wider than the parts say

    Parameters
    ----------
    estimates : sequence of Estimate [any one unit]
    draws : int [-]
    seed : int [-]

    Returns
    -------
    list of array [unit of the estimates]
    """
    z = {}
    out = []
    for e in estimates:
        total = np.zeros(draws)
        for source, part in e.parts.items():
            if source not in z:  # a stream of its own, whatever else is drawn: before and after see the same one
                key = zlib.crc32(f"{source.name}|{source.scope}|{source.label}".encode())
                z[source] = np.random.default_rng([seed, key]).standard_normal(draws)
            total += part * z[source]
        half = 0.5 * (e.interval95[1] - e.interval95[0])
        wider = half / (K95 * e.standard_uncertainty) if e.standard_uncertainty > 0.0 else 1.0
        out.append(e.value + wider * total)
    return out
