"""Inviscid flow about a section: vortex panels whose strength varies linearly along each panel.

The section's outline carries a vortex sheet; its strength at a corner of the outline is the air's speed there. The
stream function is the same at all corners, and the speeds of upper and lower side at the trailing edge are equal
(Kutta's condition). The unknowns are linear in cos(alpha) and sin(alpha), so one solution serves every incidence.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

PANELS = 140  # of the whole outline
LEAST_POINTS = 20  # of an outline that can be read as a section


@dataclass(frozen=True)
class SectionFlow:
    """A section's outline and its speeds in a stream along the chord and in one across it.

    Speeds are positive along the outline from the lower trailing edge round the nose to the upper one.
    """

    x: np.ndarray  # (N + 1,) of corners, in chords, lower trailing edge first
    y: np.ndarray
    arc: np.ndarray  # (N + 1,) length along the outline, in chords
    along: np.ndarray  # (N + 1,) speed over free stream for a free stream along the chord
    across: np.ndarray  # (N + 1,) for a free stream at right angles to it

    def speed(self, alpha) -> np.ndarray:
        """Speed over free stream at the corners, (..., N + 1) [-], at incidences (...) [rad] from the chord."""
        alpha = np.asarray(alpha, dtype=float)[..., None]
        return np.cos(alpha) * self.along + np.sin(alpha) * self.across

    def lift(self, alpha) -> np.ndarray:
        """Lift coefficient [-] of the sheet's circulation, cl = 2 Gamma / (V c), at incidences [rad]."""
        speed = self.speed(alpha)
        ends = np.diff(self.arc)
        return np.sum((speed[..., 1:] + speed[..., :-1]) * ends, axis=-1)


def section_flow(coordinates, panels: int = PANELS) -> SectionFlow:
    """Solve a section once for all incidences.

    y cos(alpha) - x sin(alpha) + (1/2 pi) int gamma ln r ds = psi_0 at every corner,  gamma_1 + gamma_(N+1) = 0

    Parameters
    ----------
    coordinates : [chords]
        x from the nose, y up; from the trailing edge along the upper side round the nose and back along the lower.
    panels : [-]
        Of the whole outline, closer at nose and trailing edge.

    Returns
    -------
    SectionFlow [-]

    Raises
    ------
    ValueError
        Fewer than 20 points, values that are not finite, or an outline with no thickness.

    Valid range: attached flow without friction, sections from 6 to 30 % thick.
    Source: linear vortex sheet with a constant stream function, Drela, Lecture Notes in Engineering 54 (1989), 1-12
    (formulation from memory; the integrals of ln r are elementary).
    """
    x, y = _corners(coordinates, panels)
    length = np.hypot(np.diff(x), np.diff(y))
    tangent = np.stack([np.diff(x), np.diff(y)]) / length
    # Every corner seen from panel j: distances along it from its two ends, and across it.
    ahead_x, ahead_y = x[:, None] - x[None, :-1], y[:, None] - y[None, :-1]
    first = ahead_x * tangent[0] + ahead_y * tangent[1]
    second = first - length
    aside = np.abs(ahead_y * tangent[0] - ahead_x * tangent[1])  # the integrals are even in it
    log1, log2 = _log_squared(first, aside), _log_squared(second, aside)
    turn = np.arctan2(first, aside) - np.arctan2(second, aside)
    mean = 0.5 * (first * log1 - second * log2) - length + aside * turn  # of ln r, times the length
    r1, r2 = first**2 + aside**2, second**2 + aside**2
    slope = ((first + second) * mean + 0.5 * (r2 * log2 - r1 * log1 + first**2 - second**2)) / length
    n = panels + 1
    matrix = np.zeros((n + 1, n + 1))
    matrix[:n, :panels] += (mean - slope) / (4.0 * np.pi)
    matrix[:n, 1:n] += (mean + slope) / (4.0 * np.pi)
    matrix[:n, n] = -1.0  # the outline's own stream function
    right = np.zeros((n + 1, 2))
    right[:n] = np.stack([-y, x], axis=1)
    # The two corners at the trailing edge coincide: the second's equation gives way to a smooth end of the sheet.
    matrix[n - 1] = 0.0
    matrix[n - 1, :3] += (1.0, -2.0, 1.0)
    matrix[n - 1, n - 3 : n] -= (1.0, -2.0, 1.0)
    right[n - 1] = 0.0
    matrix[n, [0, n - 1]] = 1.0  # Kutta's condition
    strength = np.linalg.solve(matrix, right)[:n]
    return SectionFlow(x, y, np.append(0.0, np.cumsum(length)), strength[:, 0], strength[:, 1])


def _log_squared(along, across) -> np.ndarray:
    """ln r^2, zero where r is: there it is only ever multiplied by zero."""
    squared = along**2 + across**2
    return np.log(np.where(squared > 1e-20, squared, 1.0))


def _corners(coordinates, panels) -> tuple[np.ndarray, np.ndarray]:
    """The outline resampled, lower trailing edge first, corners closest at nose and trailing edge."""
    points = np.asarray(coordinates, dtype=float)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < LEAST_POINTS or not np.all(np.isfinite(points)):
        raise ValueError(
            f"section coordinates of shape {points.shape}: needed are at least {LEAST_POINTS} pairs x, y, all finite"
        )
    points = points[np.append(True, np.hypot(*np.diff(points, axis=0).T) > 1e-9)]
    nose = int(np.argmin(points[:, 0]))
    if np.mean(points[: nose + 1, 1]) < np.mean(points[nose:, 1]):
        points = points[::-1]
        nose = len(points) - 1 - nose
    chord = points[:, 0].max() - points[nose, 0]
    if chord <= 0.0 or np.ptp(points[:, 1]) < 0.03 * chord or not 2 < nose < len(points) - 3:
        raise ValueError("section coordinates have no thickness; needed is a closed outline in x, y")
    points = (points - points[nose]) / chord
    # A sheet needs a closed trailing edge: half the opening is taken out on each side, in proportion to x.
    side = np.where(np.arange(len(points)) <= nose, -0.5, 0.5) * np.clip(points[:, 0], 0.0, 1.0)
    points = points + side[:, None] * (points[0] - points[-1])
    points /= points[0, 0]
    arc = np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))
    spline = CubicSpline(arc, points)
    station = 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, panels // 2 + 1)))
    upper = spline(arc[nose] * (1.0 - station))  # from the nose to the trailing edge
    lower = spline(arc[nose] + (arc[-1] - arc[nose]) * station)
    x, y = np.concatenate([lower[::-1], upper[1:]]).T
    return x, y
