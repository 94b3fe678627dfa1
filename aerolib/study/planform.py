"""The wing seen from above, from the measures in `aircraft.toml`."""

from __future__ import annotations

from aerolib.case.agreement import WING, disagreements
from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.problems import CaseError, needed
from aerolib.case.schema import Aircraft
from aerolib.physics.lifting_line import Planform

NEEDED = {
    "span": 'tip to tip, plumb lines to the floor, such as "10.0 m"',
    "chord_root": 'the chord at the side of the fuselage, such as "1.50 m"',
    "chord_tip": 'the chord just before the tip rounds off, such as "1.10 m"',
}
AREA_NOTED, AREA_REFUSED = 0.02, 0.12  # of the area, between the chords and [wing] area: our judgement


def planform_of(aircraft: Aircraft) -> Planform:
    """The planform of a case; CaseError says what to measure, or which measures do not agree.

    The root chord goes through the fuselage unchanged; chords are scaled so that they give [wing] area, to which
    every coefficient refers.
    """
    wing = aircraft.wing
    place = f"`{AIRCRAFT}` [wing]"
    span, root, tip = needed(wing, place, NEEDED, "the wing's maximum lift")
    if problems := disagreements(aircraft, (WING,)):
        raise CaseError(problems)
    half = 0.5 * span
    side = min(0.5 * (aircraft.fuselage.width or 0.0), 0.3 * half)
    stations, chords = [0.0, half], [root, tip]
    if side > 0.0:
        stations[1:1], chords[1:1] = [side], [root]
    if wing.chord_middle is not None:
        stations[-1:-1], chords[-1:-1] = [0.5 * half], [wing.chord_middle]
    twist = wing.twist or 0.0
    turned = [twist * max(0.0, y - side) / (half - side) for y in stations]
    from_chords = sum((b - a) * (c + d) for a, b, c, d in zip(stations, stations[1:], chords, chords[1:]))
    off = wing.area / from_chords - 1.0
    if abs(off) > AREA_REFUSED:
        raise CaseError(
            f"{place}: span and chords give {from_chords:.2f} m2, but area is {wing.area:.2f} m2, {100 * off:+.0f} %; "
            "measure again whichever is wrong: is span from tip to tip, and are chords along the flight direction?"
        )
    notes = []
    if abs(off) > AREA_NOTED:
        notes.append(
            f"span and chords give {from_chords:.2f} m2; the chords are scaled to the area of {wing.area:.2f} m2, to "
            "which the measured coefficients refer"
        )
    if wing.twist is None:
        notes.append("[wing] twist is not given and taken as 0; a digital level at root and tip gives it")
    try:
        return Planform(
            span,
            tuple(stations),
            tuple(c * (1.0 + off) for c in chords),
            tuple(turned),
            wing.sweep or 0.0,
            _ends(wing, "flap"),
            _ends(wing, "aileron"),
            side,
            tuple(notes),
        )
    except ValueError as e:
        raise CaseError(f"{place}: {e}") from None


def _ends(wing, name: str) -> tuple[float, float] | None:
    inner, outer = getattr(wing, f"{name}_inner"), getattr(wing, f"{name}_outer")
    if name == "flap" and wing.flap_kind == "none":
        return None
    if (inner is None) != (outer is None):
        lacks = f"{name}_inner" if inner is None else f"{name}_outer"
        raise CaseError(
            f"`{AIRCRAFT}` [wing] {lacks} is missing beside its other end; give both ends of the {name}, from the "
            "centerline, or neither"
        )
    return None if inner is None else (inner, outer)
