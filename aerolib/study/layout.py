"""Layout of the devices of a case, and what was fitted: from `aircraft.toml` to the arrays of the floor below."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.problems import CaseError, nearest
from aerolib.case.schema import Aircraft, Device
from aerolib.predicted.flow_control import stalling
from aerolib.predicted.flow_section import LET_GO
from aerolib.predicted.layout import device_layout
from aerolib.predicted.layout_fitted import FittedRecord, FittedRow, Planned, fitted_record
from aerolib.predicted.layout_result import DeviceLayout, KeepOut
from aerolib.predicted.layout_surface import surface_line

if TYPE_CHECKING:
    from aerolib.study import Study

SIDES = ("left", "right")
NEEDED = {
    "height": "above the skin", "length": "along the foot", "chord_station": "in percent of the chord",
    "span_inner": "centreline to the first one", "span_outer": "centreline to the last one",
    "pitch": "from one to the next", "angle": "to the flow",
}  # fmt: skip
GAP = 3.0  # heights between the vanes of a pair where the case gives none: middle of the published 2.5 to 3.5


def is_laid_out(device: Device) -> bool:
    """A row of many alike, as vanes are: only these have positions."""
    words = f"{device.kind or ''} {device.name}".casefold()
    return device.pitch is not None or "vane" in words or "vortex generator" in words


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


def layout_of(study: Study, device: Device) -> tuple[DeviceLayout, DeviceLayout]:
    """Left and right of one device."""
    a, place = study.aircraft, f"`{AIRCRAFT}` [[device]] '{device.name}'"
    missing = [k for k in NEEDED if getattr(device, k) is None]
    if missing:
        raise CaseError([f"{place}: {k} is missing; the layout needs it: {NEEDED[k]}" for k in missing])
    surface = device.surface or "wing, upper side"
    part, underneath = part_of(surface)
    stations, datum, datum_name, notes = _stations(a, part)
    gap, gap_note = _gap(device)
    skin, skin_note = _skin(a, part, underneath)
    thickness, separation, layer_note = _layer(study, device, part, underneath)
    rear = _rear_line(a, part, datum, stations)
    zones = [
        KeepOut(z.name, z.inner, z.outer, z.front, z.back, z.side, z.clearance)
        for z in a.keep_out
        if z.surface is None or " ".join(z.surface.casefold().split()) == " ".join(surface.casefold().split())
    ]
    common = {
        "first": device.span_inner, "last": device.span_outer, "pitch": device.pitch, "gap": gap, "datum": datum,
        "chord_station": device.chord_station, "height": device.height, "length": device.length, "angle": device.angle,
        "part": part, "underneath": underneath, "skin": skin, "keep_out": zones, "layer_thickness": thickness,
        "separation": separation, "rear_line": rear, "rear_line_name": (rear and a.layout.rear_line) or "",
        "device": device.name, "surface": surface, "datum_name": datum_name, "inputs": _inputs(device),
        "notes": [n for n in (*notes, gap_note, skin_note, layer_note) if n],
    }  # fmt: skip
    try:
        left, right = (study.memo(device_layout, stations, side=side, **common) for side in SIDES)
    except ValueError as e:
        raise CaseError(f"{place}: {e}") from None
    return left, right


def _inputs(d: Device) -> dict[str, str]:
    return {
        "row": f"{d.span_inner:.3f} to {d.span_outer:.3f} m from the centreline", "pitch": f"{1e3 * d.pitch:g} mm",
        "chord station": f"{100 * d.chord_station:g} %", "height": f"{1e3 * d.height:g} mm",
        "length": f"{1e3 * d.length:g} mm", "angle": f"{math.degrees(d.angle):.3g} deg",
    }  # fmt: skip


def _stations(a: Aircraft, part: str):
    """(stations, datum, its name, notes) of a surface, in metres, chords as measured."""
    wing, tail, notes = a.wing, a.tail, []
    if part == "flap":
        _need(wing, "[wing]", "flap_chord", "flap_inner", "flap_outer")
        rows = [(wing.flap_inner, wing.flap_chord, 0.0), (wing.flap_outer, wing.flap_chord, 0.0)]
        notes.append("the leading edge of the flap is taken at its hinge line; check clearance over the full travel")
        return np.array(rows), wing.flap_inner, "inner end of the flap", notes
    if part == "tailplane":
        _need(tail, "[tail]", "span", "chord")
        notes.append("the tailplane is taken as rectangular, its chord that half-way out")
        return np.array([(0.0, tail.chord, 0.0), (0.5 * tail.span, tail.chord, 0.0)]), 0.0, "centreline", notes
    _need(wing, "[wing]", "span", "chord_root")
    half, root = 0.5 * wing.span, wing.chord_root
    datum = a.layout.datum
    if datum is None:
        datum = 0.5 * (a.fuselage.width or 0.0)
        notes.append(
            f"[layout] datum is not given: the {a.layout.datum_name} is taken {1e3 * datum:.0f} mm from the "
            "centreline, " + ("at the side of the fuselage" if datum else "on the centreline itself")
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


def _need(table, name, *keys):
    missing = [k for k in keys if getattr(table, k) is None]
    if missing:
        raise CaseError([f"`{AIRCRAFT}` {name} {k} is missing; the layout needs it" for k in missing])


def _gap(device: Device):
    words = f"{device.kind or ''} {getattr(device, 'arrangement', None) or ''}".casefold()
    if "pair" not in words and "counter" not in words:
        return None, ""
    gap = getattr(device, "gap", None)
    if gap is not None:
        return gap, ""
    gap = GAP * device.height
    return (
        gap,
        f"the gap within a pair is taken as {GAP:g} heights, {1e3 * gap:g} mm: middle of the published 2.5 to 3.5",
    )


def _skin(a: Aircraft, part: str, underneath: bool):
    if part != "wing":
        return None, ""
    if a.wing.section is None:
        return None, ""
    tip = a.wing.section_tip
    if tip is not None and tip.casefold() != a.wing.section.casefold():
        return None, f"the section changes from {a.wing.section} to {tip}: no distance along the skin is given"
    try:
        return surface_line(a.wing.section, "lower" if underneath else "upper"), ""
    except ValueError as e:
        return None, f"no distance along the skin: {e}"


def _rear_line(a: Aircraft, part: str, datum: float, stations):
    t = a.layout
    if part != "wing" or t.rear_line_inner is None:
        return None
    tip = float(stations[-1, 0])
    return (datum, t.rear_line_inner), (tip, t.rear_line_inner if t.rear_line_outer is None else t.rear_line_outer)


def _layer(study: Study, device: Device, part: str, underneath: bool):
    """(thickness [m], separation over the chord, note) at the stall, clean: by the flow-control estimate."""
    if part != "wing" or underneath:
        return None, None, "layer thickness not computed: it is computed for the wing's upper side only"
    try:
        thickness, let_go, seen = _layer_of(study, device)
    except (CaseError, ValueError) as e:
        return None, None, f"layer thickness not computed: {e}"
    where = "as the tufts showed" if seen else "as the computation of the layer takes it"
    return (
        thickness,
        let_go,
        f"before fitting, the flow lets go at {100 * let_go:.0f} % of the chord at the stall, {where}",
    )


def _layer_of(study: Study, device: Device):
    airplane = study.clean_wing
    middle = 0.5 * (device.span_inner + device.span_outer)
    share = 2.0 * middle / airplane.planform.span
    nearest_share = min(airplane.sections, key=lambda e: abs(e - share))
    layer = study.memo(stalling, airplane.sections[nearest_share])
    chord = float(airplane.planform.chord_at(middle))
    thickness = float(layer.thickness_at(device.chord_station)) * chord
    return thickness, LET_GO if airplane.let_go is None else airplane.let_go, airplane.let_go is not None


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
    a, planned = study.aircraft, []
    try:
        layouts = study.layouts
    except CaseError:
        layouts = ()
    for x in layouts:
        planned.append(Planned(x.device, x.side, x.count, x.positions[0].tape, x.pitch))
    out = {}
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
    """Station of a row [m]: as given, else on the mean chord of the wing."""
    if r.station is not None:
        return r.station
    device = next((d for d in a.device if d.name == r.device), None)
    if part_of(r.surface)[0] != "wing" or a.weights.mac_leading_edge is None or device is None:
        return None
    if a.weights.mac is None or device.chord_station is None:
        return None
    return a.weights.mac_leading_edge + device.chord_station * a.weights.mac
