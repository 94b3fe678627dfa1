"""The whole airplane for balance and landing: geometry from `aircraft.toml`, lift from what was measured."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from aerolib.atmosphere import DENSITY_0
from aerolib.case.agreement import airframe_problems
from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.problems import CaseError
from aerolib.consequences.balance import TAB, Airplane, Flap
from aerolib.consequences.draws import draw_together
from aerolib.consequences.landing_attitude import LandingAttitude, landing_attitude
from aerolib.consequences.tail_authority import DRAWS, FLARE, Seen, TailAuthority, drawn, middle, tail_authority, taught
from aerolib.consequences.trim import trim_loss
from aerolib.estimate import Estimate, Source
from aerolib.measured.labels import unique_rows
from aerolib.measured.stalls.record import STALLED

if TYPE_CHECKING:
    from aerolib.predicted.flap import FlapIncrement
    from aerolib.study import Study

MOST_SIGHTS = 100  # of stalls that teach where the stop limits: more would say no more, and each costs time

NEEDED = {  # by question: what to measure, and how
    "tail": {
        "[tail] arm": "quarter chord of the wing to quarter chord of the tailplane",
        "[tail] area": "tailplane with elevator, seen from above",
        "[tail] span": "tip to tip",
        "[tail] chord": "leading to trailing edge, half-way out",
        "[tail] elevator_chord": "hinge line to trailing edge",
        "[tail] elevator_up": "neutral to the upper stop, with a level on the elevator",
        "[tail] incidence": "tailplane against the leveling line, with a level",
        "[tail] height": "tailplane above the leveling line",
        "[wing] incidence": "chord line at the root against the leveling line, digital level on both",
    },
    "gear": {
        "[gear] kind": "tail-wheel or nose-wheel",
        "[gear] ground_angle": "leveling line against the ground in the three-point attitude, gear extended, level",
        "[gear] wing_height": "quarter chord at the root above the ground, standing",
        "[gear] tail_strike_angle": "leveling line against the ground when the tail touches",
    },
    "cg": {
        "[weights] mac": "mean aerodynamic chord (MAC)",
        "[weights] mac_leading_edge": "station of its leading edge",
    },
}
V_TAIL = (
    f"`{AIRCRAFT}` [tail] kind: a V-tail mixes pitch and yaw, and its dihedral is not among the measures; it is not "
    "covered"
)


@dataclass(frozen=True)
class Airframe:
    """An airplane ready for the balance."""

    airplane: Airplane
    flaps: tuple[tuple[str, Flap], ...]  # (modification, flap) in the order flown; arrays of draws inside
    mac: float  # [m]
    mac_leading_edge: float  # station [m]
    wing_area: float  # [m2]
    height_over_span: float | None  # standing
    gear_kind: str | None
    gear_angle: float | None  # tail-wheel: three-point; nose-wheel: tail strike [rad]
    seen: tuple[Seen, ...]
    loadings: tuple[tuple[float, float, str], ...]  # CG share of chord, mass [kg], modification: as flown
    notes: tuple[str, ...]

    def cg_share(self, station: float) -> float:
        """A CG station [m] as a share of the MAC."""
        return (station - self.mac_leading_edge) / self.mac


def missing(study: Study, what: str) -> list[str]:
    """Sentences for the keys that a question needs and the case lacks: 'tail', 'gear' or 'cg'."""
    a = study.aircraft
    spared = {"[gear] ground_angle" if a.gear.kind == "nose-wheel" else "[gear] tail_strike_angle"}
    if a.tail.kind == "all-moving":
        spared.add("[tail] elevator_chord")
    asked = {place: place[1:].split("] ") for place in NEEDED[what] if place not in spared}
    lacks = [place for place, (table, key) in asked.items() if getattr(getattr(a, table), key) is None]
    return [f"`{AIRCRAFT}` {place}: {NEEDED[what][place]}" for place in lacks]


def all_there(study: Study, *questions: str) -> None:
    """CaseError with all that these questions, 'gear' or 'tail' first, lack or cannot be, in one list."""
    if study.aircraft.tail.kind == "V":
        raise CaseError(V_TAIL)
    lacks = [x for q in (*questions, "cg") for x in missing(study, q)]
    words = [f"for this {len(lacks)} measures are missing; the measuring sheet shows how"] if lacks else []
    if problems := [*words, *lacks, *airframe_problems(study), *_flap_lacks(study)]:
        raise CaseError(problems)


def _flap_lacks(study: Study) -> list[str]:
    """What the flap lacks, where a configuration that was flown has one."""
    flown = {i.configuration for i in study.reduction.items if i.power == "idle"}
    if not any(c.flap and c.name in flown for c in study.aircraft.configuration):
        return []
    try:
        _ = study.flap_settings
    except CaseError as e:
        return list(e.problems)
    return []


def airframe_of(study: Study, draws: int = DRAWS) -> Airframe:
    """Everything the balance needs; CaseError names every measure that is missing and how to take it."""
    all_there(study, "tail")
    a, t, w = study.aircraft, study.aircraft.tail, study.aircraft.weights
    airplane, notes = airplane_of(study)
    flaps, more = _flaps(study, draws)
    gear = a.gear
    angle = gear.tail_strike_angle if gear.kind == "nose-wheel" else gear.ground_angle
    seen = [
        Seen(s.configuration, (s.cg - w.mac_leading_edge) / w.mac, s.speed, s.weight, s.elevator,
             s.elevator_within or math.radians(2.0), s.speed_within or 1.0)
        for s in t.seen
    ]  # fmt: skip
    known = {flap.name for _, flap in flaps}
    notes += [f"[[tail.seen]] in '{s.flap}' is not used: no stall of it is in this section"
              for s in seen if s.flap not in known]  # fmt: skip
    seen, flown = ([s for s in each if s.flap in known] for each in (seen, _flown(study, w)))
    for broke, words in ((False, "ended on the stick's stop"), (True, "stalled before the stick reached its stop")):
        if count := sum(s.broke == broke for s in flown):
            notes.append(f"the tail is fitted to {count} flights of stalls that {words}")
    cg, mass, state = study.stalls.si["cg"], study.stalls.weight, study.stalls.text["modification"].tolist()
    rounded = np.round((cg - w.mac_leading_edge) / w.mac, 3).tolist(), (np.round(mass / 5.0) * 5.0).tolist(), state
    loadings = [x for x in dict.fromkeys(zip(*rounded)) if math.isfinite(x[0]) and math.isfinite(x[1])]
    return Airframe(
        airplane=airplane, flaps=tuple(flaps), mac=w.mac, mac_leading_edge=w.mac_leading_edge, wing_area=a.wing.area,
        height_over_span=None if gear.wing_height is None else gear.wing_height / airplane.span, gear_kind=gear.kind,
        gear_angle=angle, seen=(*seen, *flown), loadings=tuple(loadings), notes=(*notes, *more),
    )  # fmt: skip


def airplane_of(study: Study) -> tuple[Airplane, list[str]]:
    """The nominal airplane from its geometry alone, and notes on what was taken for want of a measure."""
    a, t, w = study.aircraft, study.aircraft.tail, study.aircraft.weights
    if t.kind == "V":
        raise CaseError(V_TAIL)
    notes = []
    if t.kind == "T":
        notes.append("T-tail: the wake of a stalled wing can blanket it (deep stall); that is not computed here")
    up = t.elevator_up_reached or t.elevator_up
    if t.elevator_up_reached is None:
        notes.append("[tail] elevator_up_reached is not given: seat, belts and knees are taken not to stop the stick")
    if t.kind == "all-moving":
        tab = "no tab (tab_ratio is not given)" if t.tab_ratio is None else f"its tab counted as {TAB:g} of the tail"
        notes.append(f"all-moving tail: the whole of it turns about its pivot, {tab}")
    if a.wing.height is None:
        notes.append(
            "[wing] height is not given: the tail is taken at the wing's own height, where downwash is largest"
        )
    f = a.fuselage
    airplane = Airplane.from_geometry(
        study.planform, study.sections[0.0], mac=w.mac, wing_incidence=a.wing.incidence, tail_area=t.area,
        tail_span=t.span, tail_arm=t.arm, tail_incidence=t.incidence, elevator_up=up,
        elevator_share=None if t.kind == "all-moving" else t.elevator_chord / t.chord, tab_ratio=t.tab_ratio or 0.0,
        tail_above_wing=0.0 if a.wing.height is None else t.height - a.wing.height,
        fuselage=None if f.width is None or f.length is None else (f.width, f.length),
    )  # fmt: skip
    return airplane, notes


def trim_loss_of(study: Study, flap: FlapIncrement | None, clmax: float) -> Estimate | None:
    """Share of the wing's CLmax [-] lost to the tail with a flap, by the balance; None without tail geometry.

    At the middle of the centers of gravity flown, else a quarter of the chord.
    """
    if study.aircraft.tail.kind == "V" or missing(study, "tail") + missing(study, "cg") + airframe_problems(study):
        return None
    t, w = study.aircraft.tail, study.aircraft.weights
    airplane, _ = airplane_of(study)
    cg = study.stalls.si["cg"]
    share = float(np.median((cg[np.isfinite(cg)] - w.mac_leading_edge) / w.mac)) if np.isfinite(cg).any() else 0.25

    def loss(of: Airplane, lift: float = 0.0, moment: float = 0.0) -> np.ndarray:
        if flap is not None:
            lift, moment = lift + float(flap.lift), moment + float(flap.moment)
        return trim_loss(of, Flap("", lift, moment), clmax, share, w.mac / t.arm)

    many = loss(drawn(airplane, 1000))
    parts = {Source("tail load at trim (balance)", "shared"): float(many.std())}
    if flap is not None:
        still = float(loss(airplane))
        for what in ("lift", "moment"):
            for source, part in flap.estimate(what).parts.items():
                parts[source] = float(loss(airplane, **{what: part})) - still
    return Estimate("share lost to the tail", float(many.mean()), "-", parts)


def asked_cgs(study: Study) -> list[tuple[float, str]]:
    """Forward limit (else the foremost flown), the middle of those flown, aft limit [share of the chord], and names."""
    frame = study.airframe
    w, flown = study.aircraft.weights, [share for share, _, _ in frame.loadings]
    out = []
    if w.cg_forward is not None:
        out.append((frame.cg_share(w.cg_forward), "the forward limit"))
    elif flown:
        out.append((float(min(flown)), "the foremost you flew"))
    else:  # an aft limit alone is no stand-in for a forward one: the approach must not rest on it
        out.append((0.25, "a quarter of the chord, for want of better"))
    if flown and (max(flown) > min(flown) or w.cg_forward is not None):
        out.append((float(np.median(flown)), "the middle of those flown"))
    if w.cg_aft is not None:
        out.append((frame.cg_share(w.cg_aft), "the aft limit"))
    return out


def attitude_of(study: Study, cg: float | None, mass: float | None, gear_angle: float | None = None) -> LandingAttitude:
    """`landing_attitude` at a CG [share of the chord], a mass [kg] and a gear angle [rad]."""
    all_there(study, "gear", "tail")
    found = attitude_with(study, study.airframe.flaps, cg, mass, gear_angle)
    return replace(found, usable=()) if study.case.order_in_doubt else found


def attitude_with(study: Study, flaps, cg: float | None = None, mass: float | None = None,
                  gear_angle: float | None = None) -> LandingAttitude:  # fmt: skip
    """`landing_attitude` of these flap settings [-]; the forward CG, the reference weight, the gear as measured."""
    frame = study.airframe
    return study.memo(
        landing_attitude, frame.airplane, flaps, kind=frame.gear_kind,
        angle=frame.gear_angle if gear_angle is None else gear_angle,
        mass=study.reference_weight if mass is None else mass, wing_area=frame.wing_area,
        height_over_span=frame.height_over_span, cg=asked_cgs(study)[0][0] if cg is None else cg, seen=frame.seen,
    )  # fmt: skip


def cg_limits_of(study: Study) -> tuple[float | None, float | None]:
    """Approved CG limits, forward and aft, shares of the mean chord [-]; None where one is not given."""
    w, frame = study.aircraft.weights, study.airframe
    forward, aft = (None if c is None else frame.cg_share(c) for c in (w.cg_forward, w.cg_aft))
    return forward, aft


def authority_of(study: Study, cg: float | None, mass: float | None, devices=None, only=None) -> TailAuthority:
    """`tail_authority` at a CG [share of the chord] and mass [kg]; `devices`: range of their gain [-]."""
    mass = study.reference_weight if mass is None else mass
    approach = {k: s.approach(mass / study.reference_weight)[0] for k, s in study.slowest[0].items()}
    return authority_with(
        study, cg, mass, notes=study.airframe.notes, tail_devices=devices, approach=None if devices else approach,
        cg_limits=cg_limits_of(study), only=only,
    )  # fmt: skip


def authority_with(study: Study, cg: float | None, mass: float, **more) -> TailAuthority:
    """`tail_authority` with the geometry alone, and what is given by name [as there]; the forward CG where none is."""
    frame = study.airframe
    return study.memo(
        tail_authority, frame.airplane, frame.flaps, mass=mass, wing_area=frame.wing_area,
        cg=asked_cgs(study)[0][0] if cg is None else cg, height_over_span=frame.height_over_span or FLARE,
        gear_alpha=frame.gear_angle, seen=frame.seen, **more,
    )  # fmt: skip


def learnt(study: Study) -> tuple[Airplane, dict[tuple[str, str], Flap]]:
    """The airplane and its flaps by (modification, name), means of the draws that agree with what was seen [-]."""
    frame = study.airframe
    many, flaps, _ = study.memo(taught, frame.airplane, frame.flaps, frame.seen, wing_area=frame.wing_area,
                               density=DENSITY_0)  # fmt: skip
    return middle(many), {(m, f.name): middle(f) for m, f in flaps}


def _flown(study: Study, w) -> list[Seen]:
    """Stalls at idle that ended on the stick's stop, or stalled before it: one sight a state, flap and flight.

    On a card of very many flights those of one hundredth of the chord are one sight.
    """
    t, points = study.stalls.text, study.reduction.points
    cg = (study.stalls.si["cg"] - w.mac_leading_edge) / w.mac
    here = (t["power"] == "idle") & np.isfinite(cg) & ~study.stalls.below_scale
    out = []
    for broke, endings in ((False, ("stop",)), (True, STALLED)):
        at = here & np.isin(t["ended"], endings)
        states, names, flights = (t[k][at] for k in ("modification", "configuration", "flight"))
        labels, index = unique_rows(states, names, flights)
        if len(labels) > MOST_SIGHTS:
            labels, index = unique_rows(states, names, np.round(cg[at], 2).astype(str))
        for k, (state, name, _) in enumerate(labels):
            mine = np.flatnonzero(at)[index == k]
            speed, spread = points.cas[mine], points.standard_uncertainty[mine] / points.cl[mine]
            within = 1.96 * 0.5 * float(np.mean(speed) * np.mean(spread))  # half of the relative error of CL
            out.append(Seen(name, float(cg[mine].mean()), float(speed.mean()), float(study.stalls.weight[mine].mean()),
                            speed_within=within, broke=broke, modification=state))  # fmt: skip
    return out


def _flaps(study: Study, draws: int):
    """One flap for every modification and configuration flown at idle, CLmax drawn with what they share.

    Where a state ended on the stop the wing's CLmax is only bounded: the same configuration's of the other
    modification, times how much the configurations that broke in both have changed; never below the bound.
    """
    best = [(i, i.clmax or i.lowest_reached) for i in study.reduction.items if i.power == "idle"]
    items = [i for i, e in best if e is not None]
    notes, out = [], []
    drawn = dict(zip(((i.modification, i.configuration) for i in items),
                     draw_together([e for _, e in best if e is not None], draws)))  # fmt: skip
    broke = dict.fromkeys((i.modification, i.configuration) for i in items if i.clmax is not None)
    r = np.random.default_rng(5)
    ratio, above = r.uniform(0.90, 1.00, draws), r.uniform(1.0, 1.15, draws)
    gains, problems = study.flap_gains
    z = r.standard_normal((2, draws))  # one flap: what its method is off by is the same in every setting
    for item in items:
        m, name = item.modification, item.configuration
        clmax = drawn[m, name]
        if item.clmax is None:
            other = next((x for x, c in broke if c == name), None)
            both = [c for x, c in broke if x == m and (other, c) in broke] if other else []
            if other is not None and both:
                change = np.mean([drawn[m, c] / drawn[other, c] for c in both], axis=0)
                clmax = np.maximum(clmax, drawn[other, name] * change)
                how = f"taken from '{other}' times what the other configurations changed by, never below the bound"
            else:
                clmax = clmax * above
                how = "taken as the bound to 15 % above it"
            notes.append(f"{item.name}: {item.ending}; its CLmax is {how}")
        lift = moment = 0.0
        if name in problems:
            notes.append(f"{m}, {name} is not in this section: {CaseError(problems[name])}")
            continue
        if name in gains:
            flap = gains[name].increment
            lift = flap.lift + flap.standard_uncertainty("lift") * z[0]
            moment = flap.moment + flap.standard_uncertainty("moment") * z[1]
        out.append((m, Flap(name, lift, moment, clmax, ratio)))
    if items and not out:
        raise CaseError(notes)
    return out, notes
