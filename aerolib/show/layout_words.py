"""A layout in words, as a tape is read: millimeters, to a tenth where there is one."""

from __future__ import annotations

from collections.abc import Sequence

from aerolib.predicted.layout import DeviceLayout
from aerolib.units import from_si

TRANSFER = (
    "The section is not known, so no distance along the skin is given. Transfer the position from the chord line: a "
    "straightedge along the chord line, a square standing on it at the chord distance, its blade down to the skin."
)


def mm(length: float) -> str:
    """'1230' or '31.5' of a length [m]."""
    return f"{from_si(length, 'mm', 'length'):.1f}".removesuffix(".0")


def ends(lengths: Sequence[float]) -> str:
    """First and last of lengths [m]; one where they agree."""
    first, last = mm(lengths[0]), mm(lengths[-1])
    return first if first == last else f"{first} (first) to {last} (last)"


def headline(a: DeviceLayout) -> str:
    """The row in one line [-]."""
    what = "positions" if a.gap is None else f"pairs ({a.vanes} vanes)"
    return (
        f"{a.device}, {a.surface}, {a.side.upper()}: {a.count} {what}, {mm(a.pitch)} mm spacing, tape {mm(a.start)} to "
        f"{mm(a.positions[-1].tape)} mm from the {a.datum_name}, a span of {mm(a.span)} mm"
    )


def distances(a: DeviceLayout) -> str:
    """How far behind the leading edge the front ends stand, first to last [-]."""
    chord = ends(a.along("along_chord"))
    words = f"{100 * a.chord_station:g} % of the local chord: {chord} mm along the chord line"
    if a.skin is None:
        return f"{words}. {TRANSFER.removesuffix('.')}"
    along = ends(a.along("along_surface"))
    words += f", {along} mm along the skin of {a.skin.section} from the end of the chord line"
    return words + (f", {ends(a.from_nose)} mm from the foremost point of the nose" if a.skin.foremost > 0 else "")


def moved_or_dropped(a: DeviceLayout) -> list[str]:
    """What keep-out zones did to the row [-]."""
    out = [
        f"{a.side}: position {p.number} moved from {mm(p.moved_from)} to {mm(p.tape)} mm, clear of {p.moved_by}"
        for p in a.positions if p.moved_from is not None
    ]  # fmt: skip
    for zone in dict.fromkeys(d.zone for d in a.dropped):
        gone = [f"{d.number} ({mm(d.tape)} mm)" for d in a.dropped if d.zone == zone]
        out.append(f"{a.side}: dropped at {zone}: {'position' if len(gone) == 1 else 'positions'} {', '.join(gone)}")
    return out
