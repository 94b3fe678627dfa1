"""One row of devices as it is planned: the surface it stands on, its tape, its vanes, what must stay free."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from aerolib.predicted.layout.skin import SurfaceLine
from aerolib.units import from_si

PARTS = ("wing", "flap", "tailplane")


@dataclass(frozen=True)
class KeepOut:
    """Where no device may stand; distances from the centerline, front and back over the local chord."""

    name: str
    inner: float  # [m]
    outer: float  # [m]
    front: float = 0.0  # [-]
    back: float = 1.0  # [-]
    side: str = "both"  # 'left', 'right' or 'both'
    clearance: float = 0.0  # added on every side [m]


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row on one side of the airplane; ValueError says what cannot be.

    `stations` (n, 3), n at least 2, go outward: distance from the centerline, chord there, leading edge behind a
    straight line square to the airplane [m]; straight between them.
    """

    stations: np.ndarray = field(repr=False, compare=False)
    first: float  # first position, from the centerline [m]
    last: float  # where the row may reach at most [m]
    pitch: float  # from one position to the next, along the tape [m]
    chord_station: float  # front end of the vanes over the local chord, on the chord line [-]
    height: float  # of one vane [m]
    length: float  # [m]
    # Vane to the flow [rad]. Of a pair the front ends are closer together; a single vane's front end is turned to the
    # root where positive, on either side of the airplane.
    angle: float
    datum: float  # where the tape reads zero, from the centerline [m]
    gap: float | None = None  # between the vanes of a pair, middle to middle [m]; None: single vanes
    side: str = "left"
    part: str = "wing"
    underneath: bool = False  # the lower side is marked
    skin: SurfaceLine | None = field(default=None, repr=False, compare=False)  # None: section not known
    keep_out: tuple[KeepOut, ...] = ()
    # Two points of a line behind the row that can be seen (spar, rivets): from the centerline, and behind the leading
    # edge along the chord [m].
    rear_line: tuple[tuple[float, float], tuple[float, float]] | None = None
    rear_line_name: str = ""
    device: str = "devices"
    surface: str = "wing, upper side"
    datum_name: str = "wing root rib"

    def __post_init__(self):
        s = np.asarray(self.stations, dtype=float)
        if s.ndim != 2 or s.shape[1] != 3 or len(s) < 2 or not np.isfinite(s).all():
            raise ValueError(
                f"stations have shape {s.shape}; needed are at least two rows of distance from the centerline, chord "
                "and leading edge, all known"
            )
        if np.any(np.diff(s[:, 0]) <= 0.0) or np.any(s[:, 1] <= 0.0):
            raise ValueError("stations must go outward, each chord above zero")
        object.__setattr__(self, "stations", s)
        self._check_vanes()
        self._check_span(s[0, 0], s[-1, 0])

    def _check_vanes(self) -> None:
        for name in ("height", "length", "pitch", "gap"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value > 0.0):
                also = ", or None for single vanes" if name == "gap" else ""
                raise ValueError(f"{name} is {value!r} m; needed is a length above zero{also}")
        if not 0.0 <= self.chord_station < 1.0:
            raise ValueError(f"chord_station is {self.chord_station!r}; needed is a share of the chord, 0 to 1")
        if not abs(self.angle) < 0.5 * math.pi:
            raise ValueError(f"angle is {self.angle!r} rad; needed is less than a right angle: is it in degrees?")
        if self.side not in ("left", "right"):
            raise ValueError(f"side '{self.side}' is not known; write 'left' or 'right'")
        if self.part not in PARTS:
            raise ValueError(f"part '{self.part}' is not known; write one of {', '.join(PARTS)}")

    def _check_span(self, root: float, tip: float) -> None:
        if not root - 1e-9 <= self.datum < tip:
            raise ValueError(
                f"the datum, {self.datum_name}, lies {self.datum:g} m from the centerline; the surface runs from "
                f"{root:g} to {tip:g} m: the tape's zero must be on it, inboard of the tip"
            )
        if not self.first < self.last:
            raise ValueError(
                f"the row starts at {self.first:g} m and ends at {self.last:g} m from the centerline; start it inboard"
            )
        if self.first < self.datum - 1e-9:
            raise ValueError(
                f"the first position, {self.first:g} m from the centerline, is inboard of the {self.datum_name} at "
                f"{self.datum:g} m; start the row outboard of it, or name a datum further in"
            )
        if self.last > tip + 1e-9:
            raise ValueError(
                f"the row ends {self.last:g} m from the centerline, the surface at {tip:g} m; end it inboard of that"
            )

    @property
    def footprint(self) -> float:
        """Width of one position along the row [m]."""
        return (self.gap or 0.0) + self.length * abs(math.sin(self.angle))

    @property
    def edge(self) -> np.ndarray:
        """The row line behind the straight line of `stations`, at each of them (n,) [m]."""
        return self.stations[:, 2] + self.chord_station * self.stations[:, 1]

    def chord_at(self, span):
        """Chord [m] at distances from the centerline [m]."""
        return np.interp(span, self.stations[:, 0], self.stations[:, 1])

    def lead_at(self, span):
        """Leading edge behind the straight line of `stations` [m] at distances from the centerline [m]."""
        return np.interp(span, self.stations[:, 0], self.stations[:, 2])

    def lean(self, span: float) -> float:
        """Angle of the row, its tip end aft positive [rad], at a distance from the centerline [m]."""
        y, x = self.stations[:, 0], self.edge
        i = int(np.clip(np.searchsorted(y, span, side="right") - 1, 0, len(y) - 2))
        return math.atan2(x[i + 1] - x[i], y[i + 1] - y[i])

    def behind(self, span: float) -> float | None:
        """The owner's line behind the row [m], along the chord; None without one."""
        if self.rear_line is None:
            return None
        (y1, d1), (y2, d2) = self.rear_line
        return d1 + (d2 - d1) * (span - y1) / (y2 - y1) - self.chord_station * float(self.chord_at(span))


def in_mm(length: float) -> str:
    """Millimeters of a length [m] in a message."""
    return f"{from_si(length, 'mm', 'length'):.4g} mm"
