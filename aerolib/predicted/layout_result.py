"""What `device_layout` gives: every position with its tape reading, what was moved or dropped, and how it is shown."""

from __future__ import annotations

import html
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from aerolib.predicted.layout_guidance import GuidanceLine
from aerolib.predicted.layout_surface import SurfaceLine

CAUTIONS = (
    "Fit both sides before flying: a row on one wing alone rolls the airplane at the stall.",
    "Adhesive: follow its maker's instructions for surface, temperature and cure, and pull-test one device on scrap of "
    "the same finish first.",
    "Frost, rain, bugs, washing, polish, covers and hands loosen or hide devices: count them before every flight.",
    "Weight, balance, control-surface flutter and approval are for a licensed inspector and the local authority to "
    "decide; nothing here replaces them.",
    "A layout is no prediction. After fitting, the stall may be reached at another attitude and may be more abrupt: "
    "height, loading and spins are subjects of the test card. Placards and markings stay unchanged.",
)
TRANSFER = (
    "The section is not known, so no distance along the skin is given. Transfer the position from the chord line: a "
    "straightedge along the chord line, a square standing on it at the chord distance, its blade down to the skin."
)


@dataclass(frozen=True)
class KeepOut:
    """Where no device may stand; distances from the centreline, front and back over the local chord."""

    name: str
    inner: float  # [m]
    outer: float  # [m]
    front: float = 0.0  # [-]
    back: float = 1.0  # [-]
    side: str = "both"  # 'left', 'right' or 'both'
    clearance: float = 0.0  # added on every side [m]


@dataclass(frozen=True)
class Position:
    """One place to mark: a single vane or a pair."""

    number: int  # as planned, counted from the root; a dropped one leaves a gap
    tape: float  # reading of the tape laid along the row from the datum [m]
    span: float  # from the centreline [m]
    chord: float  # local [m]
    along_chord: float  # front end of the vanes behind the leading edge, along the chord line [m]
    along_surface: float | None  # the same along the skin, from the end of the chord line [m]
    to_rear_line: float | None  # along the chord, back to the owner's line [m]
    to_rear_line_surface: float | None  # the same along the skin [m]
    moved_from: float | None = None  # tape reading it was planned at [m]
    moved_by: str = ""  # the zone


@dataclass(frozen=True)
class Dropped:
    """A planned position that no longer exists, and why."""

    number: int
    tape: float  # [m]
    span: float  # from the centreline [m]
    zone: str


@dataclass(frozen=True)
class DeviceLayout:
    """Where the devices of one row go on one side of the airplane."""

    device: str
    surface: str
    side: str  # 'left' or 'right'
    positions: tuple[Position, ...]
    dropped: tuple[Dropped, ...]
    datum: float  # from the centreline [m]
    pitch: float  # [m]
    chord_station: float  # [-]
    height: float  # [m]
    length: float  # [m]
    angle: float  # [rad]
    gap: float | None  # middle to middle of the vanes of a pair; None: single vanes [m]
    part: str  # 'wing', 'flap' or 'tailplane'
    underneath: bool
    stations: np.ndarray = field(repr=False, compare=False)  # (n, 3) span station, chord, leading edge [m]
    skin: SurfaceLine | None = field(repr=False, compare=False)
    keep_out: tuple[KeepOut, ...]
    guidance: tuple[GuidanceLine, ...]
    rear_line: str = ""
    datum_name: str = "wing root rib"
    inputs: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS
    method: str = (
        "positions at constant pitch along the row, chord station projected on the local chord line; distance along "
        "the skin from the section's ordinates; ranges after the sources named, no recommendation"
    )

    @property
    def count(self) -> int:
        """Positions on this side."""
        return len(self.positions)

    @property
    def vanes(self) -> int:
        """Vanes on this side: two a position where they stand in pairs."""
        return self.count * (1 if self.gap is None else 2)

    @property
    def span(self) -> float:
        """First to last position along the tape [m]."""
        return self.positions[-1].tape - self.positions[0].tape

    @property
    def even(self) -> bool:
        """Every position stands where the constant pitch puts it."""
        return all(p.moved_from is None for p in self.positions)

    def lean(self, span: float) -> float:
        """Angle of the row, its tip end aft positive [rad], at a distance from the centreline [m]."""
        s = self.stations
        x = s[:, 2] + self.chord_station * s[:, 1]
        i = int(np.clip(np.searchsorted(s[:, 0], span, side="right") - 1, 0, len(s) - 2))
        return math.atan2(x[i + 1] - x[i], s[i + 1, 0] - s[i, 0])

    @property
    def footprint(self) -> float:
        """Width of one position along the row [m]."""
        return (self.gap or 0.0) + self.length * abs(math.sin(self.angle))

    def headline(self) -> str:
        """The row in one line."""
        first, last = self.positions[0], self.positions[-1]
        what = "positions" if self.gap is None else f"pairs ({self.vanes} vanes)"
        return (
            f"{self.device}, {self.surface}, {self.side.upper()}: {self.count} {what}, {_mm(self.pitch)} mm pitch, "
            f"tape {_mm(first.tape)} to {_mm(last.tape)} mm from the {self.datum_name}, a span of {_mm(self.span)} mm"
        )

    def from_nose(self) -> list[float]:
        """Distances along the skin from the foremost point of the nose, which a square finds [m]; skin known."""
        return [p.along_surface - self.skin.foremost * p.chord for p in self.positions]

    def said(self) -> list[str]:
        """What was moved or dropped, and every note."""
        out = [
            f"{self.side}: position {p.number} moved from {_mm(p.moved_from)} to {_mm(p.tape)} mm, clear of "
            f"{p.moved_by}"
            for p in self.positions if p.moved_from is not None
        ]  # fmt: skip
        by_zone: dict[str, list[Dropped]] = {}
        for d in self.dropped:
            by_zone.setdefault(d.zone, []).append(d)
        for zone, rows in by_zone.items():
            numbers = ", ".join(f"{d.number} ({_mm(d.tape)} mm)" for d in rows)
            out.append(f"{self.side}: dropped at {zone}: {'position' if len(rows) == 1 else 'positions'} {numbers}")
        return out + list(self.notes)

    def distances(self) -> str:
        """How far behind the leading edge the front ends stand, first to last."""
        c = [p.along_chord for p in self.positions]
        words = f"{100 * self.chord_station:g} % of the local chord: {_range(c)} mm along the chord line"
        if self.skin is None:
            return f"{words}. {TRANSFER}"
        s = [p.along_surface for p in self.positions]
        return (
            f"{words}, {_range(s)} mm along the skin of {self.skin.section} from the end of the chord line"
            + (f", {_range(self.from_nose())} mm from the foremost point of the nose" if self.skin.foremost > 0 else "")
        )  # fmt: skip

    def __str__(self) -> str:
        return "\n  ".join([self.headline(), self.distances(), *self.said(), *(g.text() for g in self.guidance)])

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td>{html.escape(g.quantity)}</td><td>{html.escape(g.value)}</td><td>{html.escape(g.published)}</td>"
            f"<td>{_WITHIN[g.within]}</td><td style='white-space:normal;min-width:16em'>{html.escape(g.source)}"
            f"{html.escape('. ' + g.note if g.note else '')}</td></tr>"
            for g in self.guidance
        )
        notes = "".join(f"<li>{html.escape(n)}</li>" for n in self.said())
        return (
            f"<p><b class='layout-headline'>{html.escape(self.headline())}</b></p>"
            f"<p>{html.escape(self.distances())}.</p><ul class='layout-said'>{notes}</ul>"
            "<table><tr><th>quantity</th><th>here</th><th>published</th><th></th><th>source</th></tr>"
            f"{rows}</table><p class='small'>{html.escape(self.method)}.</p>"
        )

    def as_dict(self) -> dict:
        """One item of the JSON list `layout`; lengths in millimetres, unknown is None."""
        return {
            "device": self.device, "surface": self.surface, "side": self.side, "count": self.count, "vanes": self.vanes,
            "datum": self.datum_name, "datum_mm": round(1e3 * self.datum, 2), "pitch_mm": round(1e3 * self.pitch, 2),
            "chord_percent": round(100 * self.chord_station, 3),
            "numbers": [p.number for p in self.positions],
            "positions_mm": [round(1e3 * p.tape, 2) for p in self.positions],
            "chord_mm": [round(1e3 * p.along_chord, 2) for p in self.positions],
            "surface_mm": None if self.skin is None else [round(1e3 * p.along_surface, 2) for p in self.positions],
            "rear_check_mm": (None if self.positions[0].to_rear_line is None
                              else [round(1e3 * p.to_rear_line, 2) for p in self.positions]),
            "moved": [{"number": p.number, "from_mm": round(1e3 * p.moved_from, 2), "zone": p.moved_by}
                      for p in self.positions if p.moved_from is not None],
            "dropped": [{"number": d.number, "planned_mm": round(1e3 * d.tape, 2), "zone": d.zone}
                        for d in self.dropped],
            "outside_guidance": [g.text() for g in self.guidance if g.within is False], "notes": list(self.notes),
        }  # fmt: skip


_WITHIN = {True: "within", False: "<b>outside</b>", None: "not judged"}


def _mm(metres: float) -> str:
    """Millimetres as a tape is read: '1230' or '31.5'."""
    text = f"{1e3 * metres:.1f}"
    return text.removesuffix(".0")


def _range(values) -> str:
    first, last = _mm(values[0]), _mm(values[-1])
    return first if first == last else f"{first} (first) to {last} (last)"


def cautions_list() -> str:
    """The cautions as HTML."""
    return "<ul class='cautions'>" + "".join(f"<li>{html.escape(c)}</li>" for c in CAUTIONS) + "</ul>"
