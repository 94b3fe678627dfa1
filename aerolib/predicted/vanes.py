"""Vane vortex generators: what one vane sheds, how it fades, what it drags, and which layouts can be judged at all."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.ranges import ANGLE, in_range

WENDT = (1.61, 0.48, 1.41, 1.00)  # k1 to k4, from memory
DECAY_HEIGHTS = 50.0  # e-folding length of the circulation in vane heights; 30 to 80 is as good
VANE_DRAG = 0.25  # of the vane's own area, on the local speed: assumed
DRAG_WITHIN = 0.5  # relative, one standard deviation: our judgement
SURFACES = ("wing", "flap", "ahead of aileron", "ahead of elevator", "ahead of rudder", "under the tailplane")
MOVABLE = ("flap", "aileron", "elevator", "rudder", "tab", "balance horn")
CIRCULATION_SOURCE = (
    "Wendt's fit of circulation behind vanes in a turbulent layer (NASA/CR-2001-211144; constants from memory)"
)


def _finite(name: str, value: float, low: float, high: float, unit: str = "m", to: float = 1.0) -> None:
    if not (isinstance(value, int | float) and math.isfinite(value) and low <= value <= high):
        raise ValueError(
            f"vortex generators: {name} {value!r} is not a number from {to * low:g} to {to * high:g} {unit}"
            + (": is the unit right?" if isinstance(value, int | float) and math.isfinite(value) else "")
        )


@dataclass(frozen=True)
class Vanes:
    """One row of vanes: all alike, evenly spaced."""

    height: float  # above the skin [m]
    length: float  # along the foot [m]
    angle: float  # to the flow [rad]
    pitch: float  # counter-rotating: from pair to pair; co-rotating: from vane to vane [m]
    station: float  # behind the leading edge, over the local chord [-]
    inner: float  # first vane, from the centreline [m]
    outer: float  # last vane [m]
    arrangement: str = "counter-rotating"  # or co-rotating
    shape: str = "triangle"  # or rectangle
    surface: str = "wing"
    cleared: str = ""  # who cleared balance and flutter, where it sits on a movable surface
    name: str = "vortex generators"

    def __post_init__(self):
        _finite("height", self.height, 1e-4, 0.2)
        _finite("length", self.length, 1e-4, 1.0)
        _finite("pitch", self.pitch, 1e-4, 2.0)
        _finite("angle", self.angle, math.radians(2.0), math.radians(45.0), "deg", math.degrees(1.0))
        _finite("chord station", self.station, 0.005, 0.95, "of the chord")
        _finite("span_inner", self.inner, 0.0, 50.0)
        _finite("span_outer", self.outer, 0.0, 50.0)
        if self.arrangement not in ("counter-rotating", "co-rotating"):
            raise ValueError(f"vortex generators: '{self.arrangement}' is not counter-rotating or co-rotating")
        if self.shape not in ("triangle", "rectangle"):
            raise ValueError(f"vortex generators: '{self.shape}' is not triangle or rectangle")
        if self.outer <= self.inner:
            raise ValueError(
                f"vortex generators: from {self.inner:g} to {self.outer:g} m is no span; needed is inner below outer"
            )
        own = self.across
        if self.pitch < own:
            raise ValueError(
                f"vortex generators: pitch {1e3 * self.pitch:.3g} mm is below the {1e3 * own:.3g} mm that "
                f"{'a pair' if self.vanes_per_pitch == 2 else 'a vane'} of this size takes; give a larger pitch"
            )
        if self.count < 1:
            raise ValueError(
                f"vortex generators: no vane fits between {self.inner:g} and {self.outer:g} m at a pitch of "
                f"{self.pitch:g} m; give a smaller pitch or a longer span"
            )

    @property
    def vanes_per_pitch(self) -> int:
        """Two where vanes stand in pairs."""
        return 2 if self.arrangement == "counter-rotating" else 1

    @property
    def across(self) -> float:
        """Span that the vanes of one pitch take up, feet touching [m]."""
        return self.vanes_per_pitch * self.length * math.sin(self.angle)

    @property
    def count(self) -> int:
        """Vanes on both halves of the span."""
        return 2 * self.vanes_per_pitch * int((self.outer - self.inner) / self.pitch + 1e-9)

    @property
    def area(self) -> float:
        """Of one vane, one side [m2]."""
        return self.height * self.length * (0.5 if self.shape == "triangle" else 1.0)


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


@in_range(speed_ratio=(0.1, 5.0, "-"))
def drag_increment(vanes: Vanes, chord: float, speed_ratio: float = math.sqrt(2.0)) -> float:
    """Section drag that the vanes themselves add.

    dcd = n A CD (ue / V)^2 / (pitch c), n vanes of area A in every pitch

    Parameters
    ----------
    vanes : Vanes [m]
    chord : float [m]
    speed_ratio : float [-]
        Speed at the vane over the free stream, in cruise.

    Returns
    -------
    float [-]

    Source: CD 0.25 of the vane's area is assumed; it gives the order of the measured 0.002 to 0.003 of a 30 % section.
    """
    return vanes.vanes_per_pitch * vanes.area * VANE_DRAG * speed_ratio**2 / (vanes.pitch * chord)
