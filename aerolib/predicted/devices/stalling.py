"""A section near its stall: its lift curve from one separation curve, and the layer where that separation sits.

    cl = a (alpha - alpha_0) ((1 + sqrt f) / 2)^2                                  (Kirchhoff and Helmholtz)
    f = 1 - 0.3 exp((alpha - alpha_1) / S1), alpha <= alpha_1;   0.04 + 0.66 exp((alpha_1 - alpha) / S2) beyond it

f is the attached share of the upper surface; at alpha_1 it is 0.7. alpha_1 is set so that the section has the clmax it
is known to have. The layer is then computed on the speeds of attached flow, at and beyond alpha_1: the shape factor it
has at 0.7 of the chord at alpha_1 is taken as the one at which this flow separates there. Attached speeds are too kind
to the layer, but the same kindness is in both: what is asked of the computation is only by how many degrees that shape
factor *moves* when something is added to the layer.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from scipy.interpolate import PchipInterpolator

from aerolib.physics.boundary_layer import Layer, march
from aerolib.physics.panel import SectionFlow, section_flow

STATIONS = 100  # along the upper surface, from the stagnation point to where the flow separates
LET_GO = 0.7  # of the chord: separation at alpha_1
SUDDEN, SLOW = np.deg2rad(3.0), np.deg2rad(4.0)  # S1, S2: typical, from memory
CURVE = np.deg2rad(np.arange(-4.0, 34.01, 0.25))  # [rad] angles of attack of the lift curve
BEYOND = np.deg2rad(np.arange(-1.0, 12.1, 1.0))  # [rad] angles of attack beyond alpha_1 at which the layer is computed
MOST_SHIFT = np.deg2rad(8.0)  # no test has shown more: from memory


def kirchhoff_factor(attached):
    """Lift left over when only the first part of the upper surface is attached.

    ((1 + sqrt f) / 2)^2

    Parameters
    ----------
    attached : float or array [-]
        f, separation point over the chord, 0 to 1.

    Returns
    -------
    float or array [-]

    Source: Kirchhoff and Helmholtz' free streamlines behind a plate, as used in OpenFAST's unsteady airfoil theory.
    """
    return (0.5 * (1.0 + np.sqrt(np.asarray(attached, dtype=float)))) ** 2


def first_maximum(alpha, cl):
    """The first local maximum of a lift curve, by a parabola through three points.

    Parameters
    ----------
    alpha : array (n,) [rad]
        Evenly spaced.
    cl : array (..., n) [-]

    Returns
    -------
    clmax : array (...) [-]
    alpha_stall : array (...) [rad]

    Valid range: curves that rise first. The Kirchhoff form rises again at 30 degrees and more, where it holds no
    longer: that is why the first one is taken. A curve that never falls gives its last point.
    """
    alpha, cl = np.asarray(alpha, dtype=float), np.asarray(cl, dtype=float)
    top = (cl[..., 1:-2] >= cl[..., 2:-1]) & (cl[..., 1:-2] > cl[..., 3:]) & (cl[..., 1:-2] >= cl[..., :-3])
    found = top.any(axis=-1)
    k = np.where(found, np.argmax(top, axis=-1) + 1, len(alpha) - 2)
    a, b, c = (np.take_along_axis(cl, (k + j)[..., None], -1)[..., 0] for j in (-1, 0, 1))
    bend = a - 2.0 * b + c
    shift = np.where(bend < 0.0, 0.5 * (a - c) / np.where(bend < 0.0, bend, -1.0), 0.0)
    shift = np.where(found, np.clip(shift, -1.0, 1.0), 1.0)
    value = np.where(found, b - 0.25 * (a - c) * shift, c)
    return value, alpha[k] + shift * (alpha[1] - alpha[0])


def attached_share(alpha, alpha_1):
    """Attached share of the upper surface.

    f = 1 - 0.3 exp((alpha - alpha_1) / S1), alpha <= alpha_1;  0.04 + 0.66 exp((alpha_1 - alpha) / S2) beyond

    Parameters
    ----------
    alpha, alpha_1 : float or array [rad]

    Returns
    -------
    float or array [-]

    Source: the form of Leishman and Beddoes (from memory); S1 = 3 degrees, S2 = 4 degrees.
    """
    d = np.asarray(alpha, dtype=float) - alpha_1
    return np.where(d <= 0.0, 1.0 - 0.3 * np.exp(np.minimum(d, 0.0) / SUDDEN),
                    0.04 + 0.66 * np.exp(-np.maximum(d, 0.0) / SLOW))  # fmt: skip


def kirchhoff_lift(alpha, alpha_1, alpha0, slope):
    """Lift of a section whose separation follows `attached_share`.

    cl = a (alpha - alpha_0) ((1 + sqrt f) / 2)^2

    Parameters
    ----------
    alpha, alpha_1, alpha0 : float or array [rad]
    slope : float [1/rad]

    Returns
    -------
    float or array [-]
    """
    return slope * (np.asarray(alpha, dtype=float) - alpha0) * kirchhoff_factor(attached_share(alpha, alpha_1))


@dataclass(frozen=True)
class StallingSection:
    """One clean section at one Reynolds number, its stall fitted to a known clmax."""

    coordinates: np.ndarray = field(repr=False)  # (n, 2) over the chord
    reynolds: float
    alpha0: float  # [rad]
    slope: float  # [1/rad]
    clmax: float  # known, clean [-]

    def __post_init__(self):
        if not (2e5 <= self.reynolds <= 3e7):
            raise ValueError(f"Reynolds number {self.reynolds:.3g}: the boundary layer is computed from 2e5 to 3e7")
        if not 0.5 <= self.clmax <= 2.6:
            raise ValueError(
                f"clean section clmax {self.clmax:.3g}: expected 0.5 to 2.6; is it that of a wing with flap?"
            )

    @cached_property
    def alpha_1(self) -> float:
        """Angle of attack [rad] at which the flow has separated at 0.7 of the chord, from the known clmax."""
        tried = np.deg2rad(np.linspace(5.0, 28.0, 93)) + self.alpha0
        value, stall = first_maximum(CURVE, kirchhoff_lift(CURVE, tried[:, None], self.alpha0, self.slope))
        value = np.where(stall < tried + np.deg2rad(5.0), value, 0.0)  # a low alpha_1 leaves no local maximum
        return float(np.interp(self.clmax, np.maximum.accumulate(value), tried))

    def stall(self, shift=0.0) -> tuple[np.ndarray, np.ndarray]:
        """clmax [-] and its angle of attack [rad] once alpha_1 is moved by `shift` (...,) [rad]."""
        moved = self.alpha_1 + np.asarray(shift, dtype=float)[..., None]
        return first_maximum(CURVE, kirchhoff_lift(CURVE, moved, self.alpha0, self.slope))

    @cached_property
    def flow(self) -> SectionFlow:
        """Attached flow about the section."""
        return section_flow(self.coordinates)

    @cached_property
    def alpha(self) -> np.ndarray:
        """Angles of attack [rad] at which the layer is computed."""
        return self.alpha_1 + BEYOND

    @cached_property
    def upper(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Arc from the stagnation point, chord station (below the nose negative), speed; (angles, STATIONS)."""
        flow, alpha = self.flow, self.alpha
        speed = flow.speed(alpha)
        last = speed.shape[1] - 2 - np.argmax((speed[:, 1:-1] <= 0.0)[:, ::-1], axis=1)  # last corner of the lower side
        rows = np.arange(len(alpha))
        low, high = speed[rows, last], speed[rows, last + 1]
        start = flow.arc[last] - low * (flow.arc[last + 1] - flow.arc[last]) / (high - low)
        nose = int(np.argmin(flow.x))
        end = np.interp(LET_GO, flow.x[nose:], flow.arc[nose:])
        share = np.linspace(0.0, 1.0, STATIONS)
        share = 0.15 * share + 0.85 * share**2.2  # closer where the speed changes fast
        s = start[:, None] + share * (end - start)[:, None]
        along, across = np.moveaxis(PchipInterpolator(flow.arc, np.stack([flow.along, flow.across], axis=1))(s), -1, 0)
        u = np.maximum(np.cos(alpha)[:, None] * along + np.sin(alpha)[:, None] * across, 0.0)
        u[:, 0] = 0.0
        x = PchipInterpolator(flow.arc, flow.x)(s)
        return s - start[:, None], np.where(s < flow.arc[nose], -x, x), u

    @cached_property
    def clean(self) -> Layer:
        """The layer with nothing on the surface."""
        arc, _, speed = self.upper
        return march(arc, speed, self.reynolds)

    def crossing(self, layer: Layer) -> np.ndarray:
        """Move (...,) [rad] of the angle at which the layer has the fitted shape factor at 0.7 of the chord."""
        limit = np.interp(0.0, BEYOND, np.maximum.accumulate(self.clean.shape[:, -1]))
        shape = np.maximum.accumulate(layer.shape[..., -1], axis=-1)  # (..., angles of attack)
        over = shape >= limit
        k = np.where(over.any(axis=-1), np.argmax(over, axis=-1), len(BEYOND) - 1)[..., None]
        j = np.maximum(k - 1, 0)
        h0, h1 = np.take_along_axis(shape, j, -1), np.take_along_axis(shape, k, -1)
        part = np.where(h1 > h0, np.clip((limit - h0) / np.where(h1 > h0, h1 - h0, 1.0), 0.0, 1.0), 1.0)
        return (BEYOND[j] + part * (BEYOND[k] - BEYOND[j]))[..., 0]

    def at(self, station, values) -> np.ndarray:
        """`values` (angles of attack, STATIONS) at chord stations (...,) of the upper side: (..., angles of attack)."""
        _, x, _ = self.upper
        station = np.asarray(station, dtype=float)
        flat = np.stack([np.interp(station.ravel(), x[k], values[k]) for k in range(len(self.alpha))], axis=-1)
        return flat.reshape(*station.shape, len(self.alpha))

    def thickness_at(self, station) -> np.ndarray:
        """Thickness delta (...,) [chords] of the clean layer at chord stations, at alpha_1."""
        return self.at(station, self.clean.thickness)[..., 1]
