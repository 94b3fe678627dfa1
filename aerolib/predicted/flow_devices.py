"""Devices at the leading edge and elsewhere, as tests and handbooks have them: ranges, not computations."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from aerolib.predicted.vanes import MOVABLE


@dataclass(frozen=True)
class Kind:
    """What a kind of device does to the section under it."""

    gain: float  # of clmax [-]
    within: float  # standard deviation [-]
    stall: float  # change of the stall angle [rad]
    drag: float  # of the section [-]
    drag_within: float
    note: str
    source: str


_DEG = math.radians(1.0)
KINDS: Mapping[str, Kind] = {
    "fixed slot": Kind(
        0.45, 0.18, 9 * _DEG, 0.005, 0.003,
        "Its drag stays in cruise. A slot ahead of the ailerons only keeps them working and adds little to the wing.",
        "Clark Y: 1.30 (inferred from a garbled figure) to 1.75 (NACA TR 427, abstract seen); "
        "stall +9 deg and drag from memory, medium",
    ),
    "slat": Kind(
        0.55, 0.22, 10 * _DEG, 0.001, 0.001, "Without a stop on both sides together it can open on one wing alone.",
        "Clark Y: 1.29 to 1.84 (NACA slot reports of about 1932; from memory, medium)",
    ),
    "drooped leading edge": Kind(
        0.25, 0.15, 4 * _DEG, 0.0005, 0.0005,
        "On the outer part only it is fitted for control beyond the stall; its gain of CLmax is then small.",
        "range 0.2 to 0.4 full span (from memory, low)",
    ),
    "stall strip": Kind(
        -0.06, 0.05, -2 * _DEG, 0.0003, 0.0003,
        "It is there to lose lift: the inner wing lets go first. Sharp and full span it costs a quarter.",
        "0 to -0.1 under the strip; a sharp nose over the full span -26 % (NACA TN 416, abstract seen)",
    ),
    "fence": Kind(0.02, 0.02, 0.5 * _DEG, 0.00125, 0.0006, "It changes where the stall spreads more than CLmax.",
                  "handbook practice, no source (0 to +0.05)"),
    "gap seal": Kind(0.03, 0.02, 0.0, -0.0005, 0.0005, "The gain is mostly in control power and drag.",
                     "handbook practice, no source (+0.02 to 0.05)"),
    "tip": Kind(0.0, 0.02, 0.0, 0.0, 0.0003, "It changes induced drag by 1 to 3 %; no gain of CLmax is well founded.",
                "Hoerner, from memory, low"),
}  # fmt: skip
# These work on the same air as vanes: no test of both together is known.
ALONE = ("fixed slot", "slat", "drooped leading edge")


@dataclass(frozen=True)
class Device:
    """One device other than vanes, over part of the span, both halves alike."""

    kind: str
    inner: float  # from the centreline [m]
    outer: float  # [m]
    surface: str = "wing"
    cleared: str = ""  # who cleared balance and flutter, where it sits on a movable surface
    name: str = ""

    def __post_init__(self):
        if self.kind not in KINDS:
            raise ValueError(f"'{self.kind}' is not a known device; known are vortex generators, {', '.join(KINDS)}")
        if not (math.isfinite(self.inner) and math.isfinite(self.outer) and 0.0 <= self.inner < self.outer):
            raise ValueError(
                f"{self.kind}: from {self.inner:g} to {self.outer:g} m is no span; needed is inner below outer, in "
                "metres from the centreline"
            )


def movable(surface: str) -> str | None:
    """The movable surface that a device on `surface` sits on; None where it is fixed ('ahead of aileron' is)."""
    text = surface.casefold()
    if text.startswith(("ahead of", "under the")):
        return None
    return next((m for m in MOVABLE if m in text), None)
