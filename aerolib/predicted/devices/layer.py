"""Vanes in the layer: their circulation becomes entrainment, the layer separates later, the section lifts more.

    CE(s) = CE_Head(s) + K Gamma_0 / (ue D) exp(-(s - s_v) / (50 h)),   s >= s_v

Gamma_0 is Wendt's at the thickness the layer has at the vane, at each angle of attack; D is the spacing. K is one
number, set on one recalled test (NACA 4412, +0.34): the computation explains and ranks layouts, it is no proof of
their size.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aerolib.physics.boundary_layer import march
from aerolib.predicted.devices.stalling import LET_GO, MOST_SHIFT, StallingSection
from aerolib.ranges import ANGLE, in_range

# K [-]: NACA 4412, Re 2e6, vanes 0.5 % of the chord high at 12 % of it, 1.49 to about 1.83 (Storms and Jang 1994, from
# memory), their proportions taken as l/h 3, 15 degrees, pitch 7 h.
MIXING = 0.19
CO_ROTATING = 0.25  # of K: at the same number of vanes a co-rotating row does half as much (Godard and Stanislas 2006)
WENDT = (1.61, 0.48, 1.41, 1.00)  # k1 to k4, from memory
DECAY_HEIGHTS = 50.0  # e-folding length of the circulation in vane heights; 30 to 80 is as good
CIRCULATION_SOURCE = (
    "Wendt's fit of circulation behind vanes in a turbulent boundary layer (NASA/CR-2001-211144; constants from memory)"
)
CHUNK = 400  # layouts marched together: more would not fit the processor's cache


@in_range(height=(1e-4, 0.5, "m"), length=(1e-4, 2.0, "m"), angle=ANGLE, layer=(1e-5, 1.0, "m"))
def circulation(height, length, angle, speed, layer):
    """Circulation shed by one vane.

    Gamma = k1 alpha U l / (1 + k2 / AR) tanh(k3 (h / delta)^k4),  AR = 8 h / (pi l)

    Parameters
    ----------
    height, length : float or array [m]
    angle : float or array [rad]
    speed : float or array [m/s]
        At the layer's edge.
    layer : float or array [m]
        Thickness delta of the layer at the vane.

    Returns
    -------
    float or array [m2/s]

    Valid range: vanes in an attached turbulent layer, up to about 20 degrees for thin plates.
    Source: Wendt, NASA/CR-2001-211144 (form and constants from memory); measured on vanes of section NACA 0012.
    """
    k1, k2, k3, k4 = WENDT
    height, length = np.asarray(height, dtype=float), np.asarray(length, dtype=float)
    aspect = 8.0 * height / (np.pi * length)
    return k1 * angle * speed * length / (1.0 + k2 / aspect) * np.tanh(k3 * (height / layer) ** k4)


@in_range(height=(1e-4, 0.5, "m"), length=(1e-4, 2.0, "m"), angle=ANGLE, layer=(1e-5, 1.0, "m"))
def plain_circulation(height, length, angle, speed):
    """Circulation of an elliptic half wing and its image, no layer.

    Gamma = pi alpha U l / (1 + 2 / AR),  AR = 8 h / (pi l)

    Parameters
    ----------
    height, length : float or array [m]
    angle : float or array [rad]
    speed : float or array [m/s]

    Returns
    -------
    float or array [m2/s]

    Source: Prandtl's lifting line, in any textbook.
    """
    aspect = 8.0 * np.asarray(height, dtype=float) / (np.pi * np.asarray(length, dtype=float))
    return np.pi * angle * speed * length / (1.0 + 2.0 / aspect)


@dataclass(frozen=True)
class LayerResult:
    """What vanes do to a section, computed; leading axes are layouts."""

    shift: np.ndarray  # (...) of the angle of attack at which the flow separates [rad]
    delta_clmax: np.ndarray  # (...) [-]
    thickness: np.ndarray  # (...) delta of the clean layer at the vane at the stall [chords]
    height_ratio: np.ndarray  # (...) h / delta there [-]
    ahead: np.ndarray  # (...) vane to separation without vanes at the stall, in vane heights [-]


def vanes_in_layer(
    section: StallingSection, station, height, length, angle, pitch, counter=True, separation: float | None = None
) -> LayerResult:
    """Change of a section's stall by one row of vanes, for any number of layouts at once.

    Parameters
    ----------
    section : StallingSection [-]
    station : array (...) [-]
        Of the vanes, over the chord.
    height, length, pitch : array (...) [chords]
    angle : array (...) [rad]
    counter : array (...) of bool [-]
        Counter-rotating pairs.
    separation : float [-]
        Chord station of the separation line at the stall that tufts show; None: 0.7.

    Returns
    -------
    LayerResult [chords, rad]
    """
    arrays = np.broadcast_arrays(*(np.asarray(a, float) for a in (station, height, length, angle, pitch, counter)))
    lead = arrays[0].shape
    rows = [a.reshape(-1) for a in arrays]
    parts = [_shift(section, *(r[i : i + CHUNK] for r in rows)) for i in range(0, len(rows[0]), CHUNK)]
    shift, thickness = (np.concatenate(p).reshape(lead) for p in zip(*parts))
    gain = section.stall(shift)[0] - section.stall()[0]
    edge = LET_GO if separation is None else separation
    return LayerResult(shift, gain, thickness, arrays[1] / thickness, (edge - arrays[0]) / arrays[1])


def _shift(section, station, height, length, angle, pitch, counter):
    arc, _, speed = section.upper
    place = section.at(station, arc)  # (layouts, angles of attack) along the surface
    edge, thick = section.at(station, speed), section.at(station, section.clean.thickness)
    h, l, b, d = (a[:, None] for a in (height, length, angle, pitch))
    strength = MIXING * np.where(counter > 0.5, 1.0, CO_ROTATING)[:, None] * circulation(h, l, b, edge, thick) / d
    behind = arc[None] - place[..., None]
    fade = np.where(behind >= 0.0, np.exp(-np.maximum(behind, 0.0) / (DECAY_HEIGHTS * h[..., None])), 0.0)
    layer = march(arc, speed, section.reynolds, added=strength[..., None] * fade / np.maximum(speed, 0.1), trip=place)
    shift = np.minimum(section.crossing(layer), MOST_SHIFT)
    # A vane where the flow has already separated does nothing.
    shift = np.where(station >= LET_GO, 0.0, shift)
    return shift, thick[:, 1]
