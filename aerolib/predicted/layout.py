"""Where the devices go: positions along a row with their tape readings, clear of what must stay free."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from aerolib.predicted.layout_guidance import guidance
from aerolib.predicted.layout_result import DeviceLayout, Dropped, KeepOut, Position
from aerolib.predicted.layout_surface import SurfaceLine

MOVED_AT_MOST = 0.25  # of the pitch; further, and a position is dropped: our judgement
MOST_POSITIONS = 2000
PARTS = ("wing", "flap", "tailplane")


def device_layout(
    stations,
    *,
    first: float,
    last: float,
    pitch: float,
    chord_station: float,
    height: float,
    length: float,
    angle: float,
    datum: float,
    gap: float | None = None,
    side: str = "left",
    part: str = "wing",
    underneath: bool = False,
    skin: SurfaceLine | None = None,
    keep_out: Sequence[KeepOut] = (),
    layer_thickness: float | None = None,
    separation: float | None = None,
    rear_line: tuple[tuple[float, float], tuple[float, float]] | None = None,
    rear_line_name: str = "",
    device: str = "devices",
    surface: str = "wing, upper side",
    datum_name: str = "wing root rib",
    inputs: Mapping[str, str] | None = None,
    notes: Sequence[str] = (),
) -> DeviceLayout:
    """Positions of one row on one side of the airplane, and how the row stands to published guidance.

    tape_i = tape(first) + i p; the row runs through x_LE(y) + k c(y), and the tape is laid along it

    Parameters
    ----------
    stations : array [m]
        (n, 3), n at least 2, going outward: distance from the centreline, chord there, leading edge behind a straight
        line square to the airplane. Straight between them.
    first, last : float [m]
        First position, and where the row may reach at most, from the centreline.
    pitch : float [m]
        From one position to the next, along the tape.
    chord_station : float [-]
        k: front end of the vanes over the local chord, on the chord line.
    height, length : float [m]
        Of one vane.
    angle : float [rad]
        Vane to the flow. Of a pair the front ends are closer together; a single vane's front end is turned to the root
        where positive, on either side of the airplane.
    datum : float [m]
        Where the tape reads zero, from the centreline.
    gap : float [m]
        Between the two vanes of a pair, middle to middle; None for single vanes.
    side : str [-]
        'left' or 'right'.
    part : str [-]
        'wing', 'flap' or 'tailplane'.
    underneath : bool [-]
        The lower side is marked.
    skin : SurfaceLine [-]
        Of the section, for the distance along the skin; None where the section is not known.
    keep_out : sequence of KeepOut [m]
        Zones no device may stand in.
    layer_thickness : float [m]
        Of the boundary layer at the row at the stall; None where not computed.
    separation : float [-]
        Chord station where the flow lets go at the stall; None where not computed.
    rear_line : pair of pairs [m]
        Two points of a line behind the row that can be seen (spar, rivets): distance from the centreline, and behind
        the leading edge along the chord.
    rear_line_name, device, surface, datum_name : str [-]
        As they are called on the sheet.
    inputs : mapping of str [-]
        The inputs shown beside the answer.
    notes : sequence of str [-]
        What was assumed before.

    Returns
    -------
    DeviceLayout [SI]

    Raises
    ------
    ValueError
        Pitch longer than the row, datum beyond the tip, zones that leave nothing, vanes that overlap, wrong values.

    Valid range: chords straight between stations; dihedral does not matter where the tape lies on the skin.
    """
    s = _checked_stations(stations)
    k = chord_station
    _checked_values(height, length, pitch, k, angle, gap, side, part)
    tip = s[-1, 0]
    if not s[0, 0] - 1e-9 <= datum < tip:
        raise ValueError(
            f"the datum, {datum_name}, lies {datum:g} m from the centreline; the surface runs from {s[0, 0]:g} to "
            f"{tip:g} m: the tape's zero must be on it, inboard of the tip"
        )
    if not first < last:
        raise ValueError(f"the row starts at {first:g} m and ends at {last:g} m from the centreline; start it inboard")
    if first < datum - 1e-9:
        raise ValueError(
            f"the first position, {first:g} m from the centreline, is inboard of the {datum_name} at {datum:g} m; "
            "start the row outboard of it, or name a datum further in"
        )
    if last > tip + 1e-9:
        raise ValueError(
            f"the row ends {last:g} m from the centreline, the surface at {tip:g} m; end it inboard of that"
        )
    tape_of, span_of = _tape(s, k, datum)
    start, end = float(tape_of(first)), float(tape_of(last))
    if pitch > end - start + 1e-9:
        raise ValueError(
            f"a pitch of {1e3 * pitch:g} mm is longer than the row, {1e3 * (end - start):.0f} mm: there would be one "
            "position only; take a shorter pitch or a longer row"
        )
    n = math.floor((end - start) / pitch + 1e-6) + 1
    if n > MOST_POSITIONS:
        raise ValueError(f"{n} positions on one side; expected is at most {MOST_POSITIONS}: is the pitch in mm?")
    width = (gap or 0.0) + length * abs(math.sin(angle))
    if gap is not None and gap <= length * abs(math.sin(angle)):
        raise ValueError(
            f"the gap of {1e3 * gap:g} mm is too narrow: the front ends of a pair of vanes {1e3 * length:g} mm long at "
            f"{math.degrees(abs(angle)):.3g} degrees would touch; needed is more than {1e3 * (width - gap):.1f} mm"
        )
    if width > pitch:
        raise ValueError(
            f"one position is {1e3 * width:.1f} mm wide (gap and turned vanes), the pitch is {1e3 * pitch:g} mm: "
            "neighbours would overlap; take a wider pitch, a narrower gap or shorter vanes"
        )

    def chord_at(y):
        return float(np.interp(y, s[:, 0], s[:, 1]))

    zones = [z for z in keep_out if z.side in ("both", side)]

    def zone_at(y):
        c = chord_at(y)
        front, back = k * c, k * c + length * math.cos(angle)
        for z in zones:
            aside = 0.5 * width + z.clearance
            inside = z.inner - aside < y - 1e-9 and y + 1e-9 < z.outer + aside
            if inside and front < z.back * c + z.clearance and back > z.front * c - z.clearance:
                return z, (z.inner - aside, z.outer + aside)
        return None

    positions, dropped = [], []
    for i in range(n):
        tape = start + i * pitch
        y = float(span_of(tape))
        hit, moved_from, moved_by = zone_at(y), None, ""
        if hit is not None:
            zone, edges = hit
            place = min(edges, key=lambda e: abs(e - y))
            clear = max(s[0, 0], first) <= place <= last and zone_at(place) is None
            if not clear or abs(float(tape_of(place)) - tape) > MOVED_AT_MOST * pitch:
                dropped.append(Dropped(i + 1, tape, y, zone.name))
                continue
            moved_from, moved_by, y = tape, zone.name, place
            tape = float(tape_of(place))
        c = chord_at(y)
        behind = None if rear_line is None else _line_at(rear_line, y) - k * c
        along = None if skin is None else float(skin.distance(k, c))
        skin_behind = None
        if skin is not None and behind is not None:
            skin_behind = float(skin.distance(k + behind / c, c)) - along
        positions.append(Position(i + 1, tape, y, c, k * c, along, behind, skin_behind, moved_from, moved_by))
    if not positions:
        names = ", ".join(sorted({d.zone for d in dropped}))
        raise ValueError(f"the keep-out zones leave no position at all ({names}); check their inner and outer ends")
    mean = float(np.mean([p.chord for p in positions]))
    behind = [p.to_rear_line for p in positions if p.to_rear_line is not None]
    if behind and min(behind) <= 0.0:
        raise ValueError(
            f"the line '{rear_line_name}' lies {-1e3 * min(behind):.0f} mm ahead of the row; give a line behind it"
        )
    return DeviceLayout(
        device=device, surface=surface, side=side, positions=tuple(positions), dropped=tuple(dropped), datum=datum,
        pitch=pitch, chord_station=k, height=height, length=length, angle=angle, gap=gap, part=part, stations=s,
        underneath=underneath, skin=skin, keep_out=tuple(zones), rear_line=rear_line_name, datum_name=datum_name,
        guidance=guidance(part=part, height=height, length=length, angle=angle, pitch=pitch, gap=gap, chord_station=k,
                          chord=mean, layer_thickness=layer_thickness, separation=separation),
        inputs=dict(inputs or {}), notes=tuple(notes),
    )  # fmt: skip


def _checked_stations(stations) -> np.ndarray:
    s = np.asarray(stations, dtype=float)
    if s.ndim != 2 or s.shape[1] != 3 or len(s) < 2 or not np.isfinite(s).all():
        raise ValueError(
            f"stations have shape {s.shape}; needed are at least two rows of distance from the centreline, chord and "
            "leading edge, all known"
        )
    if np.any(np.diff(s[:, 0]) <= 0.0) or np.any(s[:, 1] <= 0.0):
        raise ValueError("stations must go outward, each chord above zero")
    return s


def _checked_values(height, length, pitch, chord_station, angle, gap, side, part) -> None:
    for name, value in (("height", height), ("length", length), ("pitch", pitch)):
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} is {value!r} m; needed is a length above zero")
    if not 0.0 <= chord_station < 1.0:
        raise ValueError(f"chord_station is {chord_station!r}; needed is a share of the chord, 0 to 1")
    if not abs(angle) < 0.5 * math.pi:
        raise ValueError(f"angle is {angle!r} rad; needed is less than a right angle: is it in degrees?")
    if gap is not None and not (math.isfinite(gap) and gap > 0.0):
        raise ValueError(f"gap is {gap!r} m; needed is a length above zero, or None for single vanes")
    if side not in ("left", "right"):
        raise ValueError(f"side '{side}' is not known; write 'left' or 'right'")
    if part not in PARTS:
        raise ValueError(f"part '{part}' is not known; write one of {', '.join(PARTS)}")


def _tape(s, k, datum):
    """Functions from a span station to the tape reading along the row, and back [m]."""
    y = np.unique(np.concatenate([s[:, 0], [datum]]))
    x = np.interp(y, s[:, 0], s[:, 2] + k * s[:, 1])
    t = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(y), np.diff(x)))])
    t -= t[np.searchsorted(y, datum)]
    return (lambda at: np.interp(at, y, t)), (lambda at: np.interp(at, t, y))


def _line_at(line, y) -> float:
    (y1, d1), (y2, d2) = line
    return d1 + (d2 - d1) * (y - y1) / (y2 - y1)
