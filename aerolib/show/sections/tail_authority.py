"""What the tail can hold, in the report: by flap, modification and CG, aloft and near the ground."""

from __future__ import annotations

import html

import numpy as np

from aerolib.case.airframe import Airframe, airframe_of
from aerolib.case.problems import CaseError
from aerolib.consequences.balance import Airplane, elevator_needed, lift_limits
from aerolib.consequences.tail_authority import GRAVITY, TailAuthority, middle, tail_authority, taught
from aerolib.show.sections.base import Section
from aerolib.show.tail_figure import authority_picture
from aerolib.units import knots

KEYS = ("tail_authority",)
TITLE = "Does the tail hold the nose up?"
DENSITY = 1.225  # of calibrated airspeed [kg/m3]
HEAD = ("modification", "flap", "where", "slowest [kt CAS]", "95 % interval", "what binds, and how surely",
        "forward CG limit [% chord]", "elevator at 1.3 Vs, at the limit [deg]")  # fmt: skip


def section(case, result, comparison) -> Section | None:
    """Table and map at the forward CG limit, else at the foremost CG flown; else what to measure."""
    try:
        frame = airframe_of(case, result)
    except CaseError as e:
        words = "; ".join(html.escape(p) for p in e.problems)
        return Section(TITLE, f"<p>{words}.</p>", {"tail_authority": None})
    cg, where = asked_cg(case, frame)
    found = authority_of(case, frame, cg)
    rows = "".join("<tr>" + "".join(f"<td>{html.escape(c)}</td>" for c in r) + "</tr>" for r in rows_of(found))
    head = "".join(f"<th>{h}</th>" for h in HEAD)
    modification, flap = frame.flaps[-1]
    picture = map_picture(case, frame, modification, flap.name, near=True)
    notes = "".join(f"<li>{html.escape(n)}</li>" for n in (*found.notes, *found.cautions))
    text = (
        f"<p>At {case.reference_weight:.0f} kg, CG at {100 * cg:.1f} % of the mean chord ({where}), idle, steady.</p>"
        f"<table class='wide'><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
        f"<p>{html.escape(why(found))}</p>{picture.figure_html()}<ul class='cautions'>{notes}</ul>"
        f"<p class='small'>{html.escape(found.source)}.</p>"
    )
    return Section(TITLE, text, {"tail_authority": found.as_list()}, (why(found),))


def asked_cg(case, frame: Airframe) -> tuple[float, str]:
    """CG the table is made for, as a share of the chord [-], and what it is."""
    if case.aircraft.weights.cg_forward is not None:
        return frame.cg_share(case.aircraft.weights.cg_forward), "the forward limit"
    if frame.loadings:
        return min(share for share, _, _ in frame.loadings), "the foremost you flew"
    return 0.25, "a quarter of the chord, for want of better"


def authority_of(case, frame: Airframe, cg: float, mass: float | None = None) -> TailAuthority:
    """`tail_authority` of a case at a CG [share of the chord] and mass [kg]."""
    return tail_authority(
        frame.airplane, frame.flaps, mass=case.reference_weight if mass is None else mass, wing_area=frame.wing_area,
        cg=cg, density=DENSITY, height_over_span=frame.height_over_span or 0.15, gear_alpha=frame.gear_angle,
        seen=frame.seen, notes=frame.notes,
    )  # fmt: skip


def rows_of(found: TailAuthority) -> list[tuple[str, ...]]:
    """Rows of text for the table."""
    return [
        (i.modification, i.flap, "near the ground" if i.in_ground_effect else "aloft", f"{knots(i.slowest_speed):.1f}",
         f"{knots(i.slowest_speed_interval95[0]):.1f} to {knots(i.slowest_speed_interval95[1]):.1f}",
         f"{i.binding_limit}, {i.probabilities[i.binding_limit]:.0%}",
         f"{100 * i.forward_cg_limit:.0f} ({100 * i.forward_cg_interval95[0]:.0f} to "
         f"{100 * i.forward_cg_interval95[1]:.0f})", f"{_deg(i.elevator_at_approach)}, {_deg(i.elevator_at_limit)}")
        for i in found.items
    ]  # fmt: skip


def why(found: TailAuthority) -> str:
    """Why the binding limit changes, in a sentence."""
    aloft = {i.binding_limit for i in found.items if not i.in_ground_effect}
    near = [i for i in found.items if i.in_ground_effect]
    held = [i for i in near if i.binding_limit in ("elevator stop", "tail stall")]
    if not held:
        limits = " or ".join(sorted({i.binding_limit for i in near}))
        return f"At this CG the tail is strong enough: {limits} binds near the ground."
    names = ", ".join(dict.fromkeys(f"{i.flap} {i.modification}" for i in held))
    then = "" if aloft == {"elevator stop"} else " (aloft it is otherwise)"
    return (
        f"At this CG the tail binds near the ground with {names}{then}: there the downwash that helps push the tail "
        "down is straightened by the ground, a flap turns the nose down, and a forward CG asks for more. Whatever the "
        "wing could carry beyond that cannot be used; an aft CG or more elevator would change it, more lift would not."
    )


def map_picture(case, frame: Airframe, modification: str, flap_name: str, near: bool, mass: float | None = None,
                helped: Airplane | None = None):  # fmt: skip
    """The map of elevator left over CG and speed for one flap; `helped`: with devices on its tail [-]."""
    mass = case.reference_weight if mass is None else mass
    a, flaps = learnt(frame)
    flap = flaps[modification, flap_name]
    x = (frame.height_over_span or 0.15) if near else np.inf
    gear = frame.gear_angle if near else None
    w = case.aircraft.weights
    ends = [frame.cg_share(c) for c in (w.cg_forward, w.cg_aft) if c is not None]
    shares = [s for s, _, _ in frame.loadings] + ends or [0.15, 0.35]
    cg = np.linspace(min(shares) - 0.05, max(shares) + 0.05, 50)

    def speed(cl, m=mass):
        return np.sqrt(2.0 * m * GRAVITY / (DENSITY * frame.wing_area * np.maximum(cl, 0.05)))

    limits = {k: speed(v) for k, v in lift_limits(a, flap, cg, x, gear).items()}
    limits = {k: v for k, v in limits.items() if k != "tail stall" or v.max() > 5.0}
    slowest = float(limits["wing"].min())
    v = np.linspace(0.85 * slowest, 1.75 * slowest, 50)
    cl = 2.0 * mass * GRAVITY / (DENSITY * frame.wing_area * v**2)
    with np.errstate(invalid="ignore"):
        left = elevator_needed(a, flap, cl[:, None], cg[None, :], x) - a.stop_up
    loadings = [(s, float(speed(flap.clmax, m)), "") for s, m, state in frame.loadings if state == modification]
    better = None if helped is None else np.max([speed(c) for c in lift_limits(helped, flap, cg, x, gear).values()], 0)
    where = "wheels touching" if near else "aloft"
    return authority_picture(
        cg, v, left, limits, title=f"{flap_name}, {modification}, {where}, {mass:.0f} kg", loadings=loadings,
        helped=better, band=(ends[0], ends[-1]) if len(ends) == 2 else None,
    )  # fmt: skip


def learnt(frame: Airframe) -> tuple[Airplane, dict]:
    """The airplane and its flaps by (modification, name), means of the draws that agree with what was seen [-]."""
    many, flaps, _ = taught(frame.airplane, frame.flaps, frame.seen, wing_area=frame.wing_area, density=DENSITY)
    return middle(many), {(m, f.name): middle(f) for m, f in flaps}


def _deg(angle: float) -> str:
    return f"{np.degrees(angle):.0f}" if np.isfinite(angle) else "none is enough"
