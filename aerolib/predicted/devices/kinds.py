"""What a device does to the section under it; devices other than vanes as tests and handbooks have them: ranges."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Protocol

from aerolib.predicted.devices.stalling import StallingSection
from aerolib.predicted.section import SectionLift

SURFACES = ("wing", "flap", "ahead of aileron", "ahead of elevator", "ahead of rudder", "under the tailplane")
MOVABLE = ("flap", "aileron", "elevator", "rudder", "tab", "balance horn")
_DEG = math.radians(1.0)


@dataclass(frozen=True)
class Explained:
    """The boundary layer where the vanes stand, computed: it explains and ranks layouts, and is not the estimate."""

    section: StallingSection
    thickness: float  # delta at the vanes at the stall [m]
    height_ratio: float  # h / delta [-]
    ahead: float  # vane to separation at the stall, in vane heights [-]
    separation: float  # at the stall, over the chord [-]
    seen: bool  # separation as tufts showed it
    computed: float  # section gain [-]
    relative: float  # to the same computation for the usual layout on this section [-]


@dataclass(frozen=True)
class SectionChange:
    """What a device does to the section under it."""

    gain: float  # of clmax [-]
    within: float  # one standard deviation [-]
    stall: float  # change of the stall angle [rad]
    drag: float  # of the section [-]
    drag_within: float  # one standard deviation [-]
    notes: tuple[str, ...] = ()
    outside: tuple[str, ...] = ()  # in what way it lies outside the tested range
    suddenness: str = ""  # of the stall, in words
    explained: Explained | None = None


class OnWing(Protocol):
    """A device over part of the span, both halves alike: what the estimate asks of one."""

    @property
    def kind(self) -> str:
        """As the owner calls it."""

    @property
    def name(self) -> str:
        """Of this one."""

    @property
    def surface(self) -> str:
        """What it stands on."""

    @property
    def cleared(self) -> str:
        """Who cleared balance and flutter, where it sits on a movable surface."""

    @property
    def inner(self) -> float:
        """Inner end, from the centerline [m]."""

    @property
    def outer(self) -> float:
        """Outer end [m]."""

    @property
    def station(self) -> float:
        """Over the local chord [-]."""

    @property
    def reaches_zero(self) -> bool:
        """No test says that the gain is above zero."""

    @property
    def mass(self) -> float | None:
        """Estimated [kg]."""

    def on_section(
        self, section: SectionLift, chord: float, separation: float | None, skin: str | None
    ) -> SectionChange:
        """What it does to a section on a chord [m]; separation over the chord as tufts show it [-]."""


def _known(gain, within, stall, drag, drag_within, note, source, suddenness="") -> SectionChange:
    return SectionChange(gain, within, stall * _DEG, drag, drag_within, (note, f"from {source}"), (), suddenness)


KINDS: Mapping[str, SectionChange] = {
    "fixed slot": _known(
        0.45, 0.18, 9, 0.005, 0.003,
        "Its drag stays in cruise. A slot ahead of the ailerons only keeps them working and adds little to the wing.",
        "Clark Y: 1.30 (inferred from a garbled figure) to 1.75 (NACA TR 427, abstract seen); "
        "stall +9 deg and drag from memory, medium",
    ),
    "slat": _known(
        0.55, 0.22, 10, 0.001, 0.001, "Without a stop on both sides together it can open on one wing alone.",
        "Clark Y: 1.29 to 1.84 (NACA slot reports of about 1932; from memory, medium)",
    ),
    "drooped leading edge": _known(
        0.25, 0.15, 4, 0.0005, 0.0005,
        "On the outer part only it is fitted for control beyond the stall; its gain of CLmax is then small.",
        "range 0.2 to 0.4 full span (from memory, low)",
    ),
    "stall strip": _known(
        -0.06, 0.05, -2, 0.0003, 0.0003,
        "It is there to lose lift: the inner wing stalls first. Sharp and full span it costs a quarter.",
        "0 to -0.1 under the strip; a sharp nose over the full span -26 % (NACA TN 416, abstract seen)",
        "earlier and, where the strip stands, at once: the outer wing keeps working",
    ),
    "fence": _known(0.02, 0.02, 0.5, 0.00125, 0.0006, "It changes where the stall spreads more than CLmax.",
                    "handbook practice, no source (0 to +0.05)"),
    "gap seal": _known(0.03, 0.02, 0.0, -0.0005, 0.0005, "The gain is mostly in control power and drag.",
                       "handbook practice, no source (+0.02 to 0.05)"),
    "tip": _known(0.0, 0.02, 0.0, 0.0, 0.0003, "It changes induced drag by 1 to 3 %; no gain of CLmax is well founded.",
                  "Hoerner, from memory, low"),
}  # fmt: skip
# These work on the same air as vanes: no test of both together is known.
ALONE = ("fixed slot", "slat", "drooped leading edge")


@dataclass(frozen=True)
class Device:
    """One device other than vanes, over part of the span, both halves alike."""

    kind: str
    inner: float  # from the centerline [m]
    outer: float  # [m]
    surface: str = "wing"
    cleared: str = ""
    name: str = ""
    station: ClassVar[float] = 0.02
    reaches_zero: ClassVar[bool] = False
    mass: ClassVar[float | None] = None

    def __post_init__(self):
        if self.kind not in KINDS:
            raise ValueError(f"'{self.kind}' is not a known device; known are vortex generators, {', '.join(KINDS)}")
        if not (math.isfinite(self.inner) and math.isfinite(self.outer) and 0.0 <= self.inner < self.outer):
            raise ValueError(
                f"{self.kind}: from {self.inner:g} to {self.outer:g} m is no span; needed is inner below outer, in "
                "meters from the centerline"
            )

    def on_section(self, section: SectionLift, chord: float, separation: float | None, skin: str | None):
        """What tests and handbooks have; the same on every section."""
        return KINDS[self.kind]


def movable(surface: str) -> str | None:
    """The movable surface that a device on `surface` sits on; None where it is fixed ('ahead of aileron' is)."""
    text = surface.casefold()
    if text.startswith(("ahead of", "under the")):
        return None
    return next((m for m in MOVABLE if m in text), None)
