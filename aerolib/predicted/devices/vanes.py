"""Vane vortex generators: what they drag and weigh, which can be judged at all, and what they do to a section."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar

import numpy as np

from aerolib.physics.boundary_layer import laminar_end, skin_friction, thwaites
from aerolib.predicted.devices.kinds import Explained, SectionChange
from aerolib.predicted.devices.layer import vanes_in_layer
from aerolib.predicted.devices.rule import AHEAD, HEIGHTS, outside_tests, plain_rule
from aerolib.predicted.devices.stalling import LET_GO, StallingSection
from aerolib.predicted.section import SectionLift
from aerolib.predicted.section.shapes import shape_of
from aerolib.ranges import in_range

VANE_DRAG = 0.25  # of the vane's own area, on the local speed: assumed
DRAG_WITHIN = 0.5  # relative, one standard deviation: our judgement
SHEET = 2700.0 * 1.0e-3  # [kg/m2] aluminum of 1 mm
FOOT = 2.0  # vane and foot over vane alone
PER_DEGREE = 0.095 / math.radians(1.0)  # of clmax per radian that the stall is delayed
MOST_OF_CHORD = 0.1  # a vane taller than this is no vane
USUAL = {"station": 0.15, "length": 3.0, "angle": math.radians(15.0), "pitch": 7.0}  # h = delta
CRUISE_CL = 0.3
CRUISE_REYNOLDS = 2.0  # of the Reynolds number at the stall: twice the speed
TURBULENT_SHAPE = 1.35  # of a plate's boundary layer


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
    inner: float  # first vane, from the centerline [m]
    outer: float  # last vane [m]
    arrangement: str = "counter-rotating"  # or co-rotating
    shape: str = "triangle"  # or rectangle
    surface: str = "wing"
    cleared: str = ""
    name: str = "vortex generators"
    kind: ClassVar[str] = "vortex generators"
    reaches_zero: ClassVar[bool] = True

    def __post_init__(self):
        _finite("height", self.height, 1e-4, 0.2)
        _finite("length", self.length, 1e-4, 1.0)
        _finite("spacing", self.pitch, 1e-4, 2.0)
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
                f"vortex generators: spacing {1e3 * self.pitch:.3g} mm is below the {1e3 * own:.3g} mm that "
                f"{'a pair' if self.vanes_per_pitch == 2 else 'a vane'} of this size takes; give a larger spacing"
            )
        if self.count < 1:
            raise ValueError(
                f"vortex generators: no vane fits between {self.inner:g} and {self.outer:g} m at a spacing of "
                f"{self.pitch:g} m; give a smaller spacing or a longer span"
            )

    @property
    def vanes_per_pitch(self) -> int:
        """Two where vanes stand in pairs."""
        return 2 if self.arrangement == "counter-rotating" else 1

    @property
    def across(self) -> float:
        """Span that the vanes of one spacing take up, feet touching [m]."""
        return self.vanes_per_pitch * self.length * math.sin(self.angle)

    @property
    def count(self) -> int:
        """Vanes on both halves of the span."""
        return 2 * self.vanes_per_pitch * int((self.outer - self.inner) / self.pitch + 1e-9)

    @property
    def area(self) -> float:
        """Of one vane, one side [m2]."""
        return self.height * self.length * (0.5 if self.shape == "triangle" else 1.0)

    @property
    def mass(self) -> float:
        """Of all vanes with their feet, 1 mm of aluminum [kg]."""
        return self.count * self.area * FOOT * SHEET

    def explained(self, section: SectionLift, chord: float, separation: float | None = None) -> Explained:
        """The boundary layer at the vanes, and what the computation makes of them."""
        base = stalling(section)
        got = vanes_in_layer(base, self.station, self.height / chord, self.length / chord, self.angle,
                             self.pitch / chord, self.vanes_per_pitch == 2, separation)  # fmt: skip
        gain = float(got.delta_clmax)
        return Explained(
            base, float(got.thickness) * chord, float(got.height_ratio), float(got.ahead),
            LET_GO if separation is None else separation, separation is not None, gain,
            gain / max(_usual(*_key(section)), 1e-3),
        )  # fmt: skip

    def on_section(self, section: SectionLift, chord: float, separation: float | None, skin: str | None):
        """The rule's increment, the drag, and the computation as explanation; ValueError where it is no vane."""
        if self.height > MOST_OF_CHORD * chord:
            raise ValueError(
                f"vortex generators: height {1e3 * self.height:.3g} mm is more than a tenth of the chord there, "
                f"{1e3 * chord:.0f} mm; give the height above the skin"
            )
        e, kind = self.explained(section, chord, separation), section.stall_type
        place = (self.station, e.height_ratio, e.ahead, self.angle)
        tested = outside_tests(*place)
        gain, within = (float(x) for x in plain_rule(kind, *place, separation))
        trip, transition = (0.0, 0.0) if skin == "fabric" else trip_cost(e.section, self.station)
        own, notes = drag_increment(self, chord), self._notes(kind, gain, e)
        if trip > 0.0:
            notes.append(
                f"the vanes stand ahead of natural transition in cruise ({transition:.0%} of the chord): a laminar run "
                f"would be lost, up to {trip:.4f} of section drag; half of that is counted"
            )
        return SectionChange(
            gain, within, gain / PER_DEGREE, own + 0.5 * trip, math.hypot(DRAG_WITHIN * own, 0.3 * trip), tuple(notes),
            tuple(self._outside(k, e) for k, broken in tested.items() if broken), self._suddenness(kind), e,
        )  # fmt: skip

    def _outside(self, limit: str, e: Explained) -> str:
        return {
            "tall": f"the vane is {e.height_ratio:.1f} of the boundary layer's thickness; tests go to {HEIGHTS[1]:g}",
            "low": f"the vane is {e.height_ratio:.2f} of the boundary layer's thickness; tests start at {HEIGHTS[0]:g}",
            "ahead": f"the vanes stand {e.ahead:.0f} heights ahead of separation; tests go to {AHEAD:.0f}",
            "station": f"the vanes stand at {self.station:.0%} of the chord; tests lie between 5 and 60 %",
            "angle": f"the vanes stand at {math.degrees(self.angle):.0f} deg to the flow; tests end at 25",
        }[limit]

    def _notes(self, stall_type: str, gain: float, e: Explained) -> list[str]:
        notes = []
        if self.station >= e.separation:
            origin = "as the tufts show it" if e.seen else "as computed"
            where = f"{e.separation:.0%} of the chord, {origin}"
            notes.append(f"the vanes stand behind separation ({where}): nothing is expected")
        elif stall_type in ("leading edge", "thin"):
            notes.append(
                f"this section stalls from its nose ({stall_type}): "
                + ("nothing is expected of vanes" if gain == 0.0 else "half of the mean is expected, no test is known")
            )
        if self.vanes_per_pitch == 1 and self.pitch < 3.0 * self.height:
            notes.append("co-rotating vanes closer than three heights cancel one another (Pearcey 1961, from memory)")
        if self.station > 0.35 and gain > 0.0:
            notes.append("so far aft vanes are cheap and weak (trend of the tests); the table's mean does not know it")
        return notes

    def _suddenness(self, stall_type: str) -> str:
        if stall_type in ("leading edge", "thin"):
            return "a section that stalls from its nose stays abrupt, and may become more so"
        if self.station < 0.12:
            return "vanes so far forward gain most and end most abruptly (trend of the tests, from memory)"
        return "likely as before up to the break, later and perhaps more abrupt (trend of the tests, from memory)"


def stalling(section: SectionLift) -> StallingSection:
    """A SectionLift as the boundary layer takes it [-]: its outline, and its stall fitted to its clmax."""
    return _stalling(*_key(section))


def _key(section: SectionLift) -> tuple:
    points = section.coordinates if section.coordinates is not None else shape_of(section.name).coordinates
    return (
        np.ascontiguousarray(points, dtype=float).tobytes(),
        section.reynolds,
        section.alpha0,
        section.slope,
        section.clmax.value,
    )


@lru_cache(maxsize=32)  # the clean layer of a section serves every layout on it
def _stalling(points: bytes, reynolds, alpha0, slope, clmax) -> StallingSection:
    return StallingSection(np.frombuffer(points).reshape(-1, 2), reynolds, alpha0, slope, clmax)


@lru_cache(maxsize=32)
def _usual(*key) -> float:
    """What the usual layout gains on this section, computed."""
    base = _stalling(*key)
    h = float(base.thickness_at(USUAL["station"]))
    got = vanes_in_layer(base, USUAL["station"], h, USUAL["length"] * h, USUAL["angle"], USUAL["pitch"] * h)
    return float(got.delta_clmax)


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


def trip_cost(section: StallingSection, station: float) -> tuple[float, float]:
    """Section drag of a laminar run that vanes trip, in cruise: at most this much, nothing on a rough surface.

    dcd = int (cf turbulent - cf laminar) (ue / V)^2 dx from the vane to natural transition

    Parameters
    ----------
    section : StallingSection [-]
    station : float [-]
        Of the vanes, over the chord.

    Returns
    -------
    drag : float [-]
    transition : float [-]
        Natural transition on the upper side, over the chord.
    """
    flow, reynolds = section.flow, CRUISE_REYNOLDS * section.reynolds
    alpha = section.alpha0 + CRUISE_CL / section.slope
    speed = flow.speed(alpha)
    start = np.flatnonzero(speed[: len(speed) - 3] <= 0.0)[-1] + 1
    arc, x, u = flow.arc[start:] - flow.arc[start - 1], flow.x[start:], speed[start:]
    theta, shape, pressure = thwaites(arc, u, reynolds)
    transition = float(np.interp(laminar_end(arc, u, reynolds, theta, pressure), np.arange(len(x)), x))
    if station >= transition:
        return 0.0, transition
    here = np.linspace(station, transition, 20)
    ue = np.interp(here, x, u)
    re_x = reynolds * ue * np.maximum(here, 1e-3)
    turbulent = skin_friction(TURBULENT_SHAPE, 0.036 * re_x**0.8)
    return float(np.trapezoid((turbulent - 0.664 / np.sqrt(re_x)) * ue**2, here)), transition
