"""Devices of a case: from `aircraft.toml` and `tufts.csv` to what they are expected to do, and to what was measured."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.problems import CaseError, nearest
from aerolib.case.published import published
from aerolib.case.schema import Aircraft
from aerolib.case.schema import Device as Row
from aerolib.case.tufts import first_stall_seen
from aerolib.estimate import Estimate
from aerolib.memo import MEMO
from aerolib.physics.lifting_line import Planform
from aerolib.predicted.flow_contest import Pair
from aerolib.predicted.flow_control import flow_control_increment
from aerolib.predicted.flow_devices import KINDS, Device
from aerolib.predicted.flow_results import FlowControl
from aerolib.predicted.flow_wing import wing_curve
from aerolib.predicted.section import SectionLift
from aerolib.predicted.vanes import Vanes
from aerolib.study.section import stall_speed
from aerolib.together.posterior import Posterior, posterior

if TYPE_CHECKING:
    from aerolib.study import Study

NEEDED = {
    "height": "above the skin", "length": "along the foot", "chord_station": "in percent of the chord",
    "angle": "to the flow",
}  # fmt: skip
SPAN = {"span_inner": "centreline to its inner end", "span_outer": "centreline to its outer end"}
VANE_WORDS = ("vane", "vortex generator")
ANCHOR = (0.8, 1.25)  # beyond it a measured clean CLmax is a finding, no calibration: as in `together/reconcile.py`
OF = "change of 1-g stall speed"


@dataclass(frozen=True)
class CleanWing:
    """What the estimate needs of a case: the clean wing, before."""

    planform: Planform
    sections: dict[float, SectionLift]
    stall_speed: float  # 1-g, CAS at the reference weight [m/s]
    measured: bool  # whether that speed was
    surfaces: tuple[str, ...]
    first_stall: float | None  # [m]
    let_go: float | None  # chord station [-]
    skin: str | None
    anchor: float = 1.0  # what the section limits were multiplied by, from the owner's own clean CLmax


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


def device_of(row: Row, aircraft: Aircraft) -> Vanes | Device:
    """A row of [[device]] as the estimate takes it; CaseError names the key."""
    place = f"`{AIRCRAFT}` [[device]] '{row.name}'"
    kind = " ".join((row.kind or row.name).casefold().split())
    surface = " ".join((row.surface or "wing, upper side").casefold().split())
    vanes = any(w in kind for w in VANE_WORDS)
    if not vanes and kind not in KINDS:
        known = ("vane pair", "single vane", "vortex generators", *KINDS)
        raise CaseError(f"{place}: kind '{row.kind or row.name}' is not known; {nearest(kind, known)}")
    needed = {**(NEEDED if vanes else {}), **SPAN}
    missing = [f"{place}: {k} is missing: {why}" for k, why in needed.items() if getattr(row, k) is None]
    if vanes and row.pitch is None and row.count is None:
        missing.append(f"{place}: pitch is missing: from one to the next; or count, on both wings")
    if missing:
        raise CaseError(missing)
    common = {"inner": row.span_inner, "outer": row.span_outer, "surface": surface, "cleared": row.cleared or "",
              "name": row.name}  # fmt: skip
    try:
        if not vanes:
            return Device(kind, **common)
        arrangement = row.arrangement or ("co-rotating" if "single" in kind or "co-rotating" in kind else
                                          "counter-rotating")  # fmt: skip
        pitch = row.pitch
        if row.count is not None and row.count < 1:
            raise ValueError(f"count is {row.count}; no vanes, no change: write how many stand on both wings")
        if pitch is None:
            each = 2 if arrangement == "counter-rotating" else 1
            pitch = 2.0 * each * (row.span_outer - row.span_inner) / row.count
        return Vanes(row.height, row.length, row.angle, pitch, row.chord_station, arrangement=arrangement,
                     shape=row.shape or "triangle", **common)  # fmt: skip
    except ValueError as e:
        raise CaseError(f"{place}: {e}") from None


def known_pairs() -> tuple[Pair, ...]:
    """The published pairs without and with vanes, those recalled marked so."""
    return tuple(
        Pair(str(r["source"]), r["clean"], r["treated"], r["reynolds"], 0.01 * r["thickness [%]"],
             str(r["read"]).startswith("table") or str(r["read"]).startswith("figure"))
        for r in published("vg_pairs")
    )  # fmt: skip


def estimate(device: Vanes | Device, airplane: CleanWing, beside: tuple[str, ...] = ()) -> FlowControl:
    """What a device is expected to do on this airplane; ValueError says what is wrong with it."""
    return MEMO(
        flow_control_increment, device, airplane.planform, airplane.sections, stall_speed=airplane.stall_speed,
        surfaces=airplane.surfaces, first_stall=airplane.first_stall, let_go=airplane.let_go, surface=airplane.skin,
        beside=beside, pairs=known_pairs(),
    )  # fmt: skip


def devices_of(study: Study) -> tuple[list[FlowControl], list[str]]:
    """Every device of a case with what it is expected to do, and what kept the others out; empty without devices."""
    rows = study.aircraft.device
    if not rows:
        return [], []
    airplane = study.clean_wing
    found, problems = [], []
    for row in rows:
        try:
            device = device_of(row, study.aircraft)
            found.append(estimate(device, airplane, _beside(row, rows)))
        except CaseError as e:
            problems += e.problems
        except ValueError as e:
            problems.append(f"`{AIRCRAFT}` [[device]] '{row.name}': {e}")
    return found, problems


def _beside(row: Row, rows) -> tuple[str, ...]:
    """Kinds of other devices of the same state on the same span."""
    out = []
    for other in rows:
        ends = (row.span_inner, row.span_outer, other.span_inner, other.span_outer)
        if other is row or None in ends or other.modification != row.modification:
            continue
        if other.span_inner < row.span_outer and row.span_inner < other.span_outer:
            kind = (other.kind or other.name).casefold()
            out.append("vortex generators" if any(w in kind for w in VANE_WORDS) else kind)
    return tuple(out)


def posterior_of(
    study: Study, predicted: FlowControl | None, comparison, *, device: Row | None = None, use_prior: bool = True
) -> Posterior | None:
    """Predicted and measured change of the clean stall speed; None where there is neither, or no change of the wing."""
    clean = clean_configuration(study)
    measured: Estimate | None = None
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
