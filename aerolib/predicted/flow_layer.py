"""Vanes in the layer: their circulation becomes entrainment, the layer lets go later, the section lifts more.

    CE(s) = CE_Head(s) + K Gamma_0 / (ue D) exp(-(s - s_v) / (50 h)),   s >= s_v

Gamma_0 is Wendt's at the thickness the layer has at the vane, at each incidence; D is the pitch. K is one number, set
on one recalled test (NACA 4412, +0.34): the computation explains and ranks layouts, it is no proof of their size.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aerolib.physics.boundary_layer import march
from aerolib.predicted.flow_section import LET_GO, MOST_SHIFT, StallingSection
from aerolib.predicted.vanes import DECAY_HEIGHTS, circulation

# K [-]: NACA 4412, Re 2e6, vanes 0.5 % of the chord high at 12 % of it, 1.49 to about 1.83 (Storms and Jang 1994, from
# memory), their proportions taken as l/h 3, 15 degrees, pitch 7 h.
MIXING = 0.19
CO_ROTATING = 0.25  # of K: at the same number of vanes a co-rotating row does half as much (Godard and Stanislas 2006)
CHUNK = 400  # layouts marched together: more would not fit the processor's cache


@dataclass(frozen=True)
class LayerResult:
    """What vanes do to a section, computed; leading axes are layouts."""

    shift: np.ndarray  # (...) of the incidence at which the flow lets go [rad]
    delta_clmax: np.ndarray  # (...) [-]
    thickness: np.ndarray  # (...) delta of the clean layer at the vane at the stall [chords]
    height_ratio: np.ndarray  # (...) h / delta there [-]
    ahead: np.ndarray  # (...) vane to clean separation at the stall, in vane heights [-]


def vanes_in_layer(
    section: StallingSection, station, height, length, angle, pitch, counter=True, mixing: float = MIXING
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
    mixing : float [-]
        K.

    Returns
    -------
    LayerResult [chords, rad]
    """
    arrays = np.broadcast_arrays(*(np.asarray(a, float) for a in (station, height, length, angle, pitch, counter)))
    lead = arrays[0].shape
    rows = [a.reshape(-1) for a in arrays]
    parts = [_shift(section, mixing, *(r[i : i + CHUNK] for r in rows)) for i in range(0, len(rows[0]), CHUNK)]
    shift, thickness = (np.concatenate(p).reshape(lead) for p in zip(*parts))
    gain = section.stall(shift)[0] - section.stall()[0]
    return LayerResult(shift, gain, thickness, arrays[1] / thickness, (LET_GO - arrays[0]) / arrays[1])


def _shift(section, mixing, station, height, length, angle, pitch, counter):
    arc, _, speed = section.upper
    place = section.at(station, arc)  # (layouts, incidences) along the surface
    edge, thick = section.at(station, speed), section.at(station, section.clean.thickness)
    h, l, b, d = (a[:, None] for a in (height, length, angle, pitch))
    strength = mixing * np.where(counter > 0.5, 1.0, CO_ROTATING)[:, None] * circulation(h, l, b, edge, thick) / d
    behind = arc[None] - place[..., None]
    fade = np.where(behind >= 0.0, np.exp(-np.maximum(behind, 0.0) / (DECAY_HEIGHTS * h[..., None])), 0.0)
    layer = march(arc, speed, section.reynolds, added=strength[..., None] * fade / np.maximum(speed, 0.1), trip=place)
    shift = np.minimum(section.crossing(layer), MOST_SHIFT)
    # A vane where the flow has already let go does nothing.
    shift = np.where(station >= LET_GO, 0.0, shift)
    return shift, thick[:, 1]
