"""From a distance along the chord line to a distance along the skin, which near the nose is quite another number."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from aerolib.predicted.section.shapes import shape_of

FINE = 6000  # points of the curve through the ordinates


@dataclass(frozen=True)
class SurfaceLine:
    """One side of a section from the forward end of its chord line to the trailing edge, over the chord."""

    section: str
    side: str  # 'upper' or 'lower'
    x: np.ndarray = field(repr=False, compare=False)  # along the chord line, from the foremost point on [-]
    s: np.ndarray = field(repr=False, compare=False)  # along the skin, from the end of the chord line [-]
    points: np.ndarray = field(repr=False, compare=False)  # (n, 2) of this side, for drawing [-]
    foremost: float  # along the skin from the end of the chord line to the foremost point of this side; 0: none [-]
    origin: str

    def distance(self, station, chord):
        """Distance [m] along the skin from the end of the chord line to a station [-] of a chord [m]."""
        return np.interp(station, self.x, self.s) * chord


def surface_line(section: str | np.ndarray, side: str = "upper") -> SurfaceLine:
    """The skin of one side of a section, measured along.

    s(x) = integral of sqrt(dx^2 + dy^2) from the forward end of the chord line, along a cubic spline through the
    ordinates; x is the distance along the chord line, square to which the position is projected

    Parameters
    ----------
    section : str or array [-]
        A name ('NACA 4412'), or points over the chord, as `shape_of` takes them.
    side : str [-]
        'upper' or 'lower'.

    Returns
    -------
    SurfaceLine [-]

    Raises
    ------
    ValueError
        The section is not known, or there is no such side.
    """
    from scipy.interpolate import CubicSpline

    if side not in ("upper", "lower"):
        raise ValueError(f"side '{side}' is not known; write 'upper' or 'lower'")
    shape = shape_of(section)
    p = shape.coordinates if side == "lower" else shape.coordinates[::-1]
    keep = np.concatenate([[True], np.hypot(*np.diff(p, axis=0).T) > 1e-9])
    p = p[keep]
    t = np.concatenate([[0.0], np.cumsum(np.sqrt(np.hypot(*np.diff(p, axis=0).T)))])  # close to the nose's own scale
    fine = CubicSpline(t, p)(np.linspace(0.0, t[-1], FINE))
    nose = int(np.argmin(np.abs(fine[:, 1]) + 1e3 * (fine[:, 0] > 0.02)))  # where the chord line meets the skin
    mine = fine[nose:]
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(mine, axis=0).T))])
    first = int(np.argmin(mine[:, 0]))
    return SurfaceLine(shape.name, side, mine[first:, 0], s[first:], mine, float(s[first]), shape.origin)
