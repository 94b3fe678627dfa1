"""Layout of the devices of a case, and what was fitted: from `aircraft.toml` to the arrays of the floor below."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.problems import CaseError, nearest, needed
from aerolib.case.schema import Aircraft, Device
from aerolib.predicted.devices.kinds import Explained
from aerolib.predicted.layout.fitted import FittedRecord, FittedRow, fitted_record
from aerolib.predicted.layout.positions import DeviceLayout, device_layout
from aerolib.predicted.layout.row import KeepOut, Row, in_mm
from aerolib.predicted.layout.skin import surface_line
from aerolib.study.devices import device_of, in_pairs, is_vanes

if TYPE_CHECKING:
    from aerolib.study import Study

NEEDED = {
    "height": "above the skin", "length": "along the foot", "chord_station": "in percent of the chord",
    "span_inner": "centerline to the first one", "span_outer": "centerline to the last one",
    "pitch": "from one to the next", "angle": "to the flow",
}  # fmt: skip
GAP = 3.0  # heights between the vanes of a pair where the case gives none: middle of the published 2.5 to 3.5


def is_laid_out(device: Device) -> bool:
    """A row of many alike, as vanes are: only these have positions."""
    return device.pitch is not None or is_vanes(device)


def part_of(surface: str | None) -> tuple[str, bool]:
    """'wing', 'flap', 'tailplane' or 'fin', and whether the lower side is meant, from the owner's words."""
    words = (surface or "wing, upper side").casefold()
    part = "wing"
    if "flap" in words:
        part = "flap"
    elif "tail" in words or "elevator" in words:
        part = "tailplane"
    elif "fin" in words.split() or "rudder" in words:
        part = "fin"
    return part, any(w in words for w in ("under", "lower", "below"))


def plan_layouts(study: Study, **changes) -> tuple[DeviceLayout, ...]:
    """Both sides of every row of devices of a case; CaseError says what is missing or wrong.

    `changes`, in SI, replace keys of the first device's table (pitch, height, ...); nothing is written.
    """
    devices = [d for d in study.aircraft.device if is_laid_out(d) and part_of(d.surface)[0] != "fin"]
    if devices and changes:
        devices[0] = devices[0].model_copy(update=changes)
    return tuple(x for d in devices for x in layout_of(study, d))


def layout_of(study: Study, device: Device) -> tuple[DeviceLayout, ...]:
    """Left and right of one device."""
    a, place = study.aircraft, f"`{AIRCRAFT}` [[device]] '{device.name}'"
    height, length, chord_station, first, last, pitch, angle = needed(device, f"{place}:", NEEDED, "the layout")
    surface = device.surface or "wing, upper side"
    part, underneath = part_of(surface)
    stations, datum, datum_name, notes = STATIONS[part](a)
    skin, skin_note = _skin(a, part, underneath)
    layer, layer_note = _layer(study, device, part, underneath)
    gap, gap_note = None, ""
    if in_pairs(device):
        gap = GAP * height
        gap_note = (
            f"the gap within a pair is taken as {GAP:g} heights, {in_mm(gap)}: middle of the published 2.5 to 3.5"
        )
    rear = _rear_line(a, part, datum, stations)
    zones = tuple(
        KeepOut(z.name, z.inner, z.outer, z.front, z.back, z.side, z.clearance)
        for z in a.keep_out
        if z.surface is None or " ".join(z.surface.casefold().split()) == " ".join(surface.casefold().split())
    )
    try:
        left = Row(
            stations=stations, first=first, last=last, pitch=pitch, gap=gap,
            chord_station=chord_station, height=height, length=length, angle=angle,
            datum=datum, datum_name=datum_name, part=part, underneath=underneath, skin=skin, keep_out=zones,
            rear_line=rear, rear_line_name=(rear and a.layout.rear_line) or "", device=device.name, surface=surface,
        )  # fmt: skip
        said = tuple(n for n in (*notes, gap_note, skin_note, layer_note) if n)
        known = {"layer_thickness": layer.thickness, "ahead": layer.ahead} if layer else {}
        right = replace(left, side="right")
        return tuple(study.memo(device_layout, row, notes=said, **known) for row in (left, right))
    except ValueError as e:
        raise CaseError(f"{place}: {e}") from None


Place = tuple[np.ndarray, float, str, list[str]]  # stations, datum, its name, notes


def wing_stations(a: Aircraft) -> Place:
    """The wing as it was measured, not scaled to its area: what is marked on it counts from its own edges.

    Stations (n, 3): distance from the centerline, chord, leading edge [m]; the tape's zero [m], its name, notes.
    """
    wing, datum, notes = a.wing, a.layout.datum, []
    span, root = _measures(wing, "[wing]", "span", "chord_root")
    half = 0.5 * span
    if datum is None:
        datum = 0.5 * (a.fuselage.width or 0.0)
        notes.append(
            f"[layout] datum is not given: the {a.layout.datum_name} is taken {1e3 * datum:.0f} mm from the "
            "centerline, " + ("at the side of the fuselage" if datum else "on the centerline itself")
        )
    inner = min(max(0.0, datum), 0.45 * half)
    y, c = [0.0, half], [root, wing.chord_tip if wing.chord_tip is not None else root]
    if wing.chord_tip is None:
        notes.append("[wing] chord_tip is not given: the chord is taken as constant")
    if wing.chord_middle is not None:
        y.insert(1, 0.5 * half)
        c.insert(1, wing.chord_middle)
    if 0.0 < inner < y[1]:
        y.insert(1, inner)
        c.insert(1, root)
    lean = math.tan(wing.sweep or 0.0)
    edge = [lean * yy - 0.25 * (cc - root) for yy, cc in zip(y, c)]
    return np.column_stack([y, c, edge]), datum, a.layout.datum_name, notes


def _flap_stations(a: Aircraft) -> Place:
    chord, inner, outer = _measures(a.wing, "[wing]", "flap_chord", "flap_inner", "flap_outer")
    rows = [(y, chord, 0.0) for y in (inner, outer)]
    note = "the leading edge of the flap is taken at its hinge line; check clearance over the full travel"
    return np.array(rows), inner, "inner end of the flap", [note]


def _tail_stations(a: Aircraft) -> Place:
    span, chord = _measures(a.tail, "[tail]", "span", "chord")
    rows = [(y, chord, 0.0) for y in (0.0, 0.5 * span)]
    note = "the tailplane is taken as rectangular, its chord that half-way out"
    return np.array(rows), 0.0, "centerline", [note]


STATIONS = {"wing": wing_stations, "flap": _flap_stations, "tailplane": _tail_stations}


def _measures(table: object, name: str, *keys: str) -> list[float]:
    return needed(table, f"`{AIRCRAFT}` {name}", dict.fromkeys(keys, ""), "the layout")


def _skin(a: Aircraft, part: str, underneath: bool):
    section, tip = a.wing.section, a.wing.section_tip
    if part != "wing" or section is None:
        return None, ""
    if tip is not None and tip.casefold() != section.casefold():
        return None, f"the section changes from {section} to {tip}: no distance along the skin is given"
    try:
        return surface_line(section, "lower" if underneath else "upper"), ""
    except ValueError as e:
        return None, f"no distance along the skin: {e}"


def _rear_line(a: Aircraft, part: str, datum: float, stations):
    t = a.layout
    if part != "wing" or t.rear_line_inner is None:
        return None
    tip = float(stations[-1, 0])
    return (datum, t.rear_line_inner), (tip, t.rear_line_inner if t.rear_line_outer is None else t.rear_line_outer)


def _layer(study: Study, device: Device, part: str, underneath: bool) -> tuple[Explained | None, str]:
    """The boundary layer at the row at the stall, clean: that of the flow-control estimate; and a note."""
    if part != "wing" or underneath:
        return None, "boundary-layer thickness not computed: it is computed for the wing's upper side only"
    try:
        wing, row = study.clean_wing, device_of(device, study.aircraft)
        ends = row.inner, row.outer
        found = row.on_section(wing.section_at(*ends), wing.chord_at(*ends), wing.let_go, wing.skin)
    except (CaseError, ValueError) as e:
        return None, f"boundary-layer thickness not computed: {e}"
    layer = found.explained
    if layer is None:
        return None, "boundary-layer thickness not computed: it is computed for vanes only"
    where = "as the tufts showed" if layer.seen else "as the computation of the boundary layer takes it"
    return (
        layer,
        f"before fitting, the flow separates at {100 * layer.separation:.0f} % of the chord at the stall, {where}",
    )


def fitted_devices(study: Study, modification: str | None = None) -> tuple[FittedRow, ...]:
    """What was fitted, measured afterwards: what a later comparison takes, never the plan.

    All modifications, or the one named; empty where nothing was noted as fitted.
    """
    a = study.aircraft
    surfaces = {d.name: d.surface for d in a.device}
    known, rows = list(surfaces), []
    for m in a.modification:
        for f in m.fitted:
            if known and f.device not in surfaces:
                raise CaseError(
                    f"`{AIRCRAFT}` [[modification.fitted]] of '{m.name}': there is no [[device]] '{f.device}'; "
                    f"{nearest(f.device, known)}"
                )
            if modification not in (None, m.name):
                continue
            given = {k: v for k, v in f.model_dump().items() if v is not None}
            given.setdefault("surface", surfaces.get(f.device) or "wing, upper side")
            rows.append(FittedRow(modification=m.name, **given))
    return tuple(rows)


def fitted_records(study: Study) -> dict[str, FittedRecord]:
    """The record of every modification that has one; a plan that cannot be laid out is left out of the comparison."""
    a, out = study.aircraft, {}
    try:
        planned = study.layouts
    except CaseError:
        planned = ()
    for m in a.modification:
        rows = [replace(r, station=_station(a, r)) for r in fitted_devices(study, m.name)]
        if not rows:
            continue
        try:
            out[m.name] = fitted_record(rows, planned=planned, empty_mass=a.weights.empty, empty_cg=a.weights.empty_cg)
        except ValueError as e:
            raise CaseError(f"`{AIRCRAFT}` [[modification.fitted]] of '{m.name}': {e}") from None
    return out


def _station(a: Aircraft, r: FittedRow) -> float | None:
    """Station of a row [m]: as given, else on the MAC of the wing."""
    device = next((d for d in a.device if d.name == r.device), None)
    share, edge, mac = device.chord_station if device else None, a.weights.mac_leading_edge, a.weights.mac
    if r.station is not None or part_of(r.surface)[0] != "wing" or share is None or edge is None or mac is None:
        return r.station
    return edge + share * mac
