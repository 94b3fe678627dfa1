"""Thin-aerofoil theory: what the mean line of a section says of its moment."""

from __future__ import annotations

import math

import numpy as np


def moment_of_mean_line(x: np.ndarray, z: np.ndarray) -> float:
    """Moment coefficient about the quarter chord at any incidence.

    cm = -(pi/4) (A1 - A2), A_n = (2/pi) integral of dz/dx cos(n t) dt, x = (1 - cos t)/2

    Parameters
    ----------
    x : [-]
        Stations over the chord, rising from 0 to 1.
    z : [-]
        Mean line over the chord.

    Returns
    -------
    float [-]
        Nose up is positive; -0.106 for a NACA 44xx.

    Source: Glauert's theory, as in any text on thin aerofoils.
    """
    t = np.linspace(0.0, math.pi, 2001)
    edges = 0.5 * (1.0 - np.cos(t))
    heights = np.interp(edges, x, z)
    middle = 0.5 * (t[1:] + t[:-1])
    slope = np.diff(heights) / np.diff(edges)
    step = t[1] - t[0]
    first, second = (2.0 / math.pi * float(np.sum(slope * np.cos(n * middle))) * step for n in (1, 2))
    return -math.pi / 4.0 * (first - second)
