"""Devices of a case: from `aircraft.toml` and `tufts.csv` to what they are expected to do, and to what was measured."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.problems import CaseError, nearest, needed
from aerolib.case.published import published
from aerolib.case.schema import Aircraft
from aerolib.case.schema import Device as Row
from aerolib.case.tufts import first_stall_seen
from aerolib.memo import MEMO
from aerolib.predicted.devices.flow_control import CleanWing, FlowControl, flow_control_increment
from aerolib.predicted.devices.kinds import KINDS, Device, OnWing
from aerolib.predicted.devices.rule import Contest, contest_of
from aerolib.predicted.devices.vanes import Vanes
from aerolib.predicted.devices.wing import wing_curve
from aerolib.study.section import stall_speed
from aerolib.together.posterior import Posterior, posterior

if TYPE_CHECKING:
    from aerolib.study import Study

NEEDED = {
    "height": "above the skin", "length": "along the foot", "chord_station": "in percent of the chord",
    "angle": "to the flow",
}  # fmt: skip
SPACING = {"pitch": "the spacing from one to the next; or count, on both wings"}
SPAN = {"span_inner": "centerline to its inner end", "span_outer": "centerline to its outer end"}
VANE_WORDS = ("vane", "vortex generator")
ANCHOR = (0.8, 1.25)  # beyond it a measured clean CLmax is a finding, no calibration: as in `together/reconcile.py`
OF = "change of 1-g stall speed"


def clean_wing_of(study: Study) -> CleanWing:
    """The clean wing of a case before anything was fitted; CaseError names what to measure."""
    planform, sections, result = study.planform, study.sections, study.flown
    before, own = study.states[0], None
    if result is not None:
        own = replace(result, items=tuple(i for i in result.items if i.modification == before))
        if not any(i.stall_speed_1g is not None for i in own.items):
            own = None
    clean = clean_configuration(study)
    seen = first_stall_seen(study.case, clean)
    tail = study.aircraft.tail
    anchor = _anchor(own, clean, planform, sections, seen and seen[0])
    sections = {e: replace(s, clmax=s.clmax.scaled(anchor, "-")) for e, s in sections.items()}
    return CleanWing(
        planform, sections, stall_speed(study, own), own is not None,
        ("tailplane", "elevator", "rudder") if tail.area or tail.span else (), seen and seen[0], seen and seen[1],
        study.aircraft.wing.surface, anchor,
    )  # fmt: skip


def _anchor(own, clean, planform, sections, first_stall) -> float:
    """Measured over predicted clean CLmax before: what the section limits are multiplied by, so that it is theirs."""
    if own is None:
        return 1.0
    item = next((i for i in own.items if i.configuration == clean and i.power in ("idle", "off") and i.clmax), None)
    if item is None:
        return 1.0
    return min(max(item.clmax.value / wing_curve(planform, sections, 0.0, 0.5 * planform.span, first_stall).before,
                   ANCHOR[0]), ANCHOR[1])  # fmt: skip


def clean_configuration(study: Study) -> str | None:
    """The name of the configuration with the flap up."""
    return next((c.name for c in study.aircraft.configuration if not c.flap), None)


def is_vanes(row: Row) -> bool:
    """Whether a row of [[device]] describes vanes."""
    return any(w in f"{row.kind or ''} {row.name}".casefold() for w in VANE_WORDS)


def in_pairs(row: Row) -> bool:
    """Whether the vanes of a row stand in counter-rotating pairs."""
    words = (row.arrangement or row.kind or row.name).casefold()
    return "single" not in words and "co-rotating" not in words


def device_of(row: Row, aircraft: Aircraft) -> OnWing:
    """A row of [[device]] as the estimate takes it; CaseError names the key."""
    place = f"`{AIRCRAFT}` [[device]] '{row.name}'"
    kind = " ".join((row.kind or row.name).casefold().split())
    vanes = any(w in kind for w in VANE_WORDS)
    if not vanes and kind not in KINDS:
        known = ("vane pair", "single vane", "vortex generators", *KINDS)
        raise CaseError(f"{place}: kind '{row.kind or row.name}' is not known; {nearest(kind, known)}")
    own = NEEDED | (SPACING if row.count is None else {"count": "on both wings"}) if vanes else {}
    *sizes, inner, outer = needed(row, f"{place}:", own | SPAN, "its effect")
    common = {"cleared": row.cleared or "", "name": row.name,
              "surface": " ".join((row.surface or "wing, upper side").casefold().split())}  # fmt: skip
    try:
        return _vanes(row, sizes, inner, outer, common) if vanes else Device(kind, inner, outer, **common)
    except ValueError as e:
        raise CaseError(f"{place}: {e}") from None


def _vanes(row: Row, sizes: list[float], inner: float, outer: float, common: dict[str, str]) -> Vanes:
    pairs, (height, length, station, angle, pitch) = in_pairs(row), sizes
    if row.count is not None and row.count < 1:
        raise ValueError(f"count is {row.count}; no vanes, no change: write how many stand on both wings")
    if row.count is not None:  # then that is the last of `sizes`
        pitch = row.pitch if row.pitch is not None else 2.0 * (2 if pairs else 1) * (outer - inner) / row.count
    return Vanes(height, length, angle, pitch, station, inner, outer, shape=row.shape or "triangle",
                 arrangement="counter-rotating" if pairs else "co-rotating", **common)  # fmt: skip


def known_contest() -> Contest:
    """Why no model takes the place of the rule, from the published table; only rows that were read count."""
    return contest_of([
        {**r, "thickness": 0.01 * r["thickness [%]"], "read": str(r["read"]).startswith(("table", "figure"))}
        for r in published("vg_pairs")
    ])  # fmt: skip


def estimate(device: OnWing, wing: CleanWing, beside: tuple[str, ...] = ()) -> FlowControl:
    """What a device is expected to do on this airplane; ValueError says what is wrong with it."""
    return MEMO(flow_control_increment, device, wing, beside, known_contest())


def devices_of(study: Study) -> tuple[list[FlowControl], list[str]]:
    """Every device of a case with what it is expected to do, and what kept the others out; empty without devices."""
    rows, found, problems = study.aircraft.device, [], []
    for row in rows:
        try:
            one = estimate(device_of(row, study.aircraft), study.clean_wing, _beside(row, rows))
            found.append(weighed(study, row.name, one))
        except CaseError as e:
            problems += [p for p in e.problems if p not in problems]
        except ValueError as e:
            problems.append(f"`{AIRCRAFT}` [[device]] '{row.name}': {e}")
    return found, problems


def weighed(study: Study, name: str, found: FlowControl) -> FlowControl:
    """The estimate with the mass of what was fitted, where that was weighed."""
    rows = [f for m in study.aircraft.modification for f in m.fitted if f.device == name]
    masses = [f.count * f.mass_each for f in rows if f.count is not None and f.mass_each is not None]
    return replace(found, mass=sum(masses), weighed=True) if rows and len(masses) == len(rows) else found


def _beside(row: Row, rows) -> tuple[str, ...]:
    """Kinds of other devices of the same state on the same span."""
    out = []
    for other in rows:
        ends = (row.span_inner, row.span_outer, other.span_inner, other.span_outer)
        if other is row or None in ends or other.modification != row.modification:
            continue
        if other.span_inner < row.span_outer and row.span_inner < other.span_outer:
            out.append(Vanes.kind if is_vanes(other) else (other.kind or other.name).casefold())
    return tuple(out)


def posterior_of(
    study: Study, predicted: FlowControl | None, comparison, *, device: Row | None = None, use_prior: bool = True
) -> Posterior | None:
    """Predicted and measured change of the clean stall speed; None where there is neither, or no change of the wing."""
    clean = clean_configuration(study)
    measured = None
    mine = device is None or comparison is None or device.modification in (None, comparison.after)
    if comparison is not None and mine:
        for change in comparison.changes:
            if change.configuration == clean and change.power in ("idle", "off"):
                measured = change.delta_stall_speed_1g
                break
    prior = None if predicted is None else predicted.speed
    if prior is None and measured is None:
        return None
    return posterior(prior, measured, name=f"{OF}, {clean or 'clean'}, idle", use_prior=use_prior)
