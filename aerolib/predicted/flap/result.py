"""What the flap estimate gives back, and the span a flap covers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from aerolib.estimate import Estimate, Source

# Increment: its name, and the uncertainty it goes with; the stall angle has that of lift and of CLmax.
INCREMENTS = {
    "lift": ("lift coefficient at fixed angle of attack", "lift"),
    "clmax": ("CLmax", "clmax"),
    "zero_lift_angle": ("zero-lift angle", "lift"),
    "stall_angle": ("stall angle", None),
    "moment": ("pitching moment about the quarter chord", "moment"),
    "drag": ("profile drag coefficient", "drag"),
}


@dataclass(frozen=True)
class FlapSpan:
    """The part of a wing that a flap covers, cut-outs taken away."""

    parts: tuple[tuple[float, float], ...]  # from, to, out along each half [m]
    area_share: float  # wing area in front of and with the flap over wing area [-]
    lift_factor: float  # lift of the part-span flap over that of a full-span one, from the lifting line [-]
    slope: float  # lift slope of the wing [1/rad]
    aspect_ratio: float


@dataclass(frozen=True)
class FlapIncrement:
    """What a flap adds, scalars or arrays alike, each with a standard uncertainty."""

    kind: str
    level: str  # section or wing: the tail's download is not in it
    lift: float | np.ndarray  # [-] at fixed angle of attack
    clmax: float | np.ndarray  # [-]
    zero_lift_angle: float | np.ndarray  # [rad]
    stall_angle: float | np.ndarray  # [rad]
    moment: float | np.ndarray  # [-] about the quarter chord
    drag: float | np.ndarray  # [-] profile drag
    relative: Mapping[str, float | np.ndarray]  # standard uncertainties over the value [-]
    slope: float  # lift slope used [1/rad]
    span: FlapSpan | None = None
    notes: tuple[str, ...] = ()
    grounds: str = ""
    source: str = ""
    cautions: tuple[str, ...] = ()
    inputs: Mapping[str, object] = field(default_factory=dict)

    def standard_uncertainty(self, name: str) -> float | np.ndarray:
        """Standard uncertainty of one of `INCREMENTS`, in the unit of the increment."""
        part = INCREMENTS[name][1]
        if part is None:
            return np.hypot(self.standard_uncertainty("lift"), self.standard_uncertainty("clmax")) / self.slope
        wing = self.relative["wing"] if name == "clmax" else 0.0
        return np.abs(getattr(self, name)) * np.hypot(self.relative[part], wing)

    def estimate(self, name: str = "clmax") -> Estimate:
        """One of `INCREMENTS` [- or rad] with its sources by name, so that it can be combined with others; scalars."""
        value = getattr(self, name)
        if np.ndim(value):
            raise ValueError(f"an estimate is one number; {name} holds {np.size(value)} settings: take one of them")
        words, part = INCREMENTS[name]
        if part is None:
            parts = {Source("method of the flap's stall", "shared", self.kind): float(self.standard_uncertainty(name))}
        else:
            parts = {Source(f"method of the flap's {part}", "shared", self.kind): float(value * self.relative[part])}
            if self.relative["wing"] and part == "clmax":
                parts[Source("flap on part of a wing", "shared")] = float(value * self.relative["wing"])
        unit = "rad" if name.endswith("angle") else "-"
        return Estimate(f"increment of {words}, {self.kind} flap", float(value), unit, parts)
