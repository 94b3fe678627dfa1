"""Where the devices go: positions along a row with their tape readings, clear of what must stay free."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace

import numpy as np

from aerolib.predicted.layout.guidance import GuidanceLine, guidance
from aerolib.predicted.layout.row import KeepOut, Row, in_mm

MOVED_AT_MOST = 0.25  # of the spacing; further, and a position is dropped: our judgement
MOST_POSITIONS = 2000
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
METHOD = (
    "positions at constant spacing along the row, chord station projected on the local chord line; distance along the "
    "skin from the section's ordinates; ranges after the sources named, no recommendation"
)


@dataclass(frozen=True)
class Position:
    """One place to mark: a single vane or a pair."""

    number: int  # as planned, counted from the root; a dropped one leaves a gap
    tape: float  # reading of the tape laid along the row from the datum [m]
    span: float  # from the centerline [m]
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
    span: float  # from the centerline [m]
    zone: str


@dataclass(frozen=True, kw_only=True)
class DeviceLayout(Row):
    """A row with its positions on one side of the airplane."""

    positions: tuple[Position, ...]
    dropped: tuple[Dropped, ...]
    guidance: tuple[GuidanceLine, ...]
    notes: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """Positions on this side."""
        return len(self.positions)

    @property
    def vanes(self) -> int:
        """Vanes on this side: two a position where they stand in pairs."""
        return self.count * (1 if self.gap is None else 2)

    @property
    def start(self) -> float:
        """Tape reading of the first position [m]."""
        return self.positions[0].tape

    @property
    def span(self) -> float:
        """First to last position along the tape [m]."""
        return self.positions[-1].tape - self.start

    @property
    def even(self) -> bool:
        """Every position stands where the constant spacing puts it."""
        return all(p.moved_from is None for p in self.positions)

    def along(self, name: str) -> list[float]:
        """A distance of every position by its name in `Position` [m]; empty where it is not known."""
        return [x for p in self.positions if (x := getattr(p, name)) is not None]

    @property
    def from_nose(self) -> list[float]:
        """Distances along the skin from the foremost point of the nose, which a square finds [m]; empty without."""
        at = 0.0 if self.skin is None else self.skin.foremost
        return [p.along_surface - at * p.chord for p in self.positions if p.along_surface is not None]


def device_layout(
    row: Row, *, layer_thickness: float | None = None, ahead: float | None = None, notes: tuple[str, ...] = ()
) -> DeviceLayout:
    """Positions of one row on one side of the airplane, and how the row stands to published guidance.

    tape_i = tape(first) + i p; the row runs through x_LE(y) + k c(y), and the tape is laid along it

    Parameters
    ----------
    row : Row [m]
    layer_thickness : float [m]
        Of the boundary layer at the row at the stall; None where not computed.
    ahead : float [-]
        Row to separation at the stall, in vane heights; None where not computed.
    notes : sequence of str [-]
        What was assumed before.

    Returns
    -------
    DeviceLayout [SI]

    Raises
    ------
    ValueError
        Spacing longer than the row, zones that leave nothing, vanes that overlap.

    Valid range: chords straight between stations; dihedral does not matter where the tape lies on the skin.
    """
    row = replace(row, keep_out=tuple(z for z in row.keep_out if z.side in ("both", row.side)))
    tape_of, span_of = _tape(row)
    planned = float(tape_of(row.first)) + row.pitch * np.arange(_positions_of(row, tape_of))
    positions, dropped = [], []
    for i, tape in enumerate(map(float, planned), start=1):
        found = _clear(row, float(span_of(tape)), tape, tape_of)
        if isinstance(found, KeepOut):
            dropped.append(Dropped(i, tape, float(span_of(tape)), found.name))
        else:
            positions.append(_position(row, i, *found))
    if not positions:
        names = ", ".join(sorted({d.zone for d in dropped}))
        raise ValueError(f"the keep-out zones leave no position at all ({names}); check their inner and outer ends")
    nearest = min((p.to_rear_line for p in positions if p.to_rear_line is not None), default=1.0)
    if nearest <= 0.0:
        raise ValueError(
            f"the line '{row.rear_line_name}' lies {in_mm(-nearest)} ahead of the row; give a line behind it"
        )
    return DeviceLayout(
        **{f.name: getattr(row, f.name) for f in fields(Row)}, positions=tuple(positions), dropped=tuple(dropped),
        guidance=guidance(row, layer_thickness, ahead), notes=tuple(notes),
    )  # fmt: skip


def _positions_of(row: Row, tape_of) -> int:
    """How many positions the row holds; ValueError where they cannot stand."""
    long, turned = float(tape_of(row.last) - tape_of(row.first)), row.length * abs(math.sin(row.angle))
    if row.pitch > long + 1e-9:
        raise ValueError(
            f"a spacing of {in_mm(row.pitch)} is longer than the row, {in_mm(long)}: there would be one position only; "
            "take a shorter spacing or a longer row"
        )
    n = math.floor(long / row.pitch + 1e-6) + 1
    if n > MOST_POSITIONS:
        raise ValueError(f"{n} positions on one side; expected is at most {MOST_POSITIONS}: is the spacing in mm?")
    if row.gap is not None and row.gap <= turned:
        raise ValueError(
            f"the gap of {in_mm(row.gap)} is too narrow: the front ends of a pair of vanes {in_mm(row.length)} long at "
            f"{math.degrees(abs(row.angle)):.3g} degrees would touch; needed is more than {in_mm(turned)}"
        )
    if row.footprint > row.pitch:
        raise ValueError(
            f"one position is {in_mm(row.footprint)} wide (gap and turned vanes), the spacing is {in_mm(row.pitch)}: "
            "neighbors would overlap; take a wider spacing, a narrower gap or shorter vanes"
        )
    return n


def _zone_at(row: Row, y: float) -> KeepOut | None:
    """The zone that a position would stand in."""
    c = float(row.chord_at(y))
    front = row.chord_station * c
    back = front + row.length * math.cos(row.angle)
    for z in row.keep_out:
        inner, outer = _edges(row, z)
        inside = inner < y - 1e-9 and y + 1e-9 < outer
        if inside and front < z.back * c + z.clearance and back > z.front * c - z.clearance:
            return z
    return None


def _edges(row: Row, z: KeepOut) -> tuple[float, float]:
    """The nearest places to a zone where a position may stand [m]."""
    aside = 0.5 * row.footprint + z.clearance
    return z.inner - aside, z.outer + aside


def _clear(row: Row, y: float, tape: float, tape_of):
    """(span, tape, moved from, by which zone) of a position clear of every zone; the zone where it has to go."""
    zone = _zone_at(row, y)
    if zone is None:
        return y, tape, None, ""
    place = min(_edges(row, zone), key=lambda e: abs(e - y))
    there = float(tape_of(place))
    on_row = max(row.stations[0, 0], row.first) <= place <= row.last
    if not on_row or _zone_at(row, place) is not None or abs(there - tape) > MOVED_AT_MOST * row.pitch:
        return zone
    return place, there, tape, zone.name


def _position(row: Row, number: int, y: float, tape: float, moved_from: float | None, moved_by: str) -> Position:
    c, k, behind, skin = float(row.chord_at(y)), row.chord_station, row.behind(y), row.skin
    along = None if skin is None else float(skin.distance(k, c))
    rear = None
    if skin is not None and along is not None and behind is not None:
        rear = float(skin.distance(k + behind / c, c)) - along
    return Position(number, tape, y, c, k * c, along, behind, rear, moved_from=moved_from, moved_by=moved_by)


def _tape(row: Row):
    """Functions from a span station to the tape reading along the row, and back [m]."""
    y = np.unique(np.concatenate([row.stations[:, 0], [row.datum]]))
    x = np.interp(y, row.stations[:, 0], row.edge)
    t = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(y), np.diff(x)))])
    t -= t[np.searchsorted(y, row.datum)]
    return (lambda at: np.interp(at, y, t)), (lambda at: np.interp(at, t, y))
