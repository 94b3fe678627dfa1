"""What the tail can hold, in the report: by flap, modification and CG, aloft and near the ground."""

from __future__ import annotations

import html

import numpy as np

from aerolib.case.problems import CaseError
from aerolib.consequences.balance import Airplane, elevator_needed, lift_limits
from aerolib.consequences.tail_authority import GRAVITY, TailAuthority
from aerolib.consequences.trim import measured_at_reference_cg
from aerolib.show.sections.base import Section
from aerolib.show.tail_figure import authority_picture
from aerolib.study import Study
from aerolib.study.airframe import asked_cgs, learnt
from aerolib.units import knots

KEYS = ("tail_authority",)
TITLE = "Does the tail hold the nose up?"
DENSITY = 1.225  # of calibrated airspeed [kg/m3]
DEVICES = (0.1, 0.3)  # of the tail's largest download coefficient: from memory, no test of a light airplane's tail
HEAD = ("modification", "flap", "where", "slowest [kt CAS]", "95 % interval", "limiting factor, and how surely",
        "forward CG limit to use all the lift [% MAC]", "elevator at the approach speed, at the limit [deg]",
        "slowest with devices under the tail [kt CAS]")  # fmt: skip


def section(study: Study) -> Section | None:
    """Tables by CG, map, and CLmax at one CG; else what to measure."""
    try:
        frame, places = study.airframe, asked_cgs(study)
        founds = [study.tail(share) for share, _ in places]
        helped = [study.tail(share, devices=DEVICES) for share, _ in places]
    except CaseError as e:
        words = "; ".join(html.escape(p) for p in e.problems)
        return Section(TITLE, f"<p>{words}.</p>", {"tail_authority": None})
    found, where = founds[0], places[0][1]
    modification, flap = frame.flaps[-1]
    picture = map_picture(study, modification, flap.name, near=True)
    notes = "".join(f"<li>{html.escape(n)}</li>" for n in (*found.notes, *found.cautions))
    words = why(founds, [w for _, w in places])
    text = (
        f"<p>At {study.reference_weight:.0f} kg, CG at {100 * found.cg:.1f} % of the MAC ({where}), idle, "
        f"steady.</p>{_table(HEAD, rows_of(found, helped[0]))}"
        f"<p>Devices under the tail: +{DEVICES[0]:g} to +{DEVICES[1]:g} of its largest download and half as much of "
        "the elevator's effectiveness at large angles, a range from memory; nobody has tested it on this tail.</p>"
        f"<h4>The limiting factor, by center of gravity</h4>{_table(*by_cg(founds, [w for _, w in places]))}"
        f"<p>{html.escape(words)}</p>{picture.figure_html()}{_same_cg(study)}"
        f"<ul class='cautions'>{notes}</ul><p class='small'>{html.escape(found.source)}.</p>"
    )
    data = [
        item | {"slowest_speed_with_tail_devices_kt": round(knots(i.slowest_speed), 2)}
        for a, b in zip(founds, helped) for item, i in zip(a.as_list(), b.items)
    ]  # fmt: skip
    return Section(TITLE, text, {"tail_authority": data}, (words,))


def by_cg(founds: list[TailAuthority], names: list[str]) -> tuple[list[str], list[list[str]]]:
    """Head and rows of the limiting factor and the slowest speed [kt], a column for each CG."""
    head = ["flap", "modification", "where", *(f"{100 * f.cg:.1f} %, {n}" for f, n in zip(founds, names))]
    rows = [
        [at[0].flap, at[0].modification, "near the ground" if at[0].in_ground_effect else "aloft",
         *(f"{i.binding_limit}, {knots(i.slowest_speed):.1f} kt" for i in at)]
        for at in zip(*(f.items for f in founds))
    ]  # fmt: skip
    order = list(dict.fromkeys(i.flap for i in founds[0].items))
    return head, sorted(rows, key=lambda r: (r[2], order.index(r[0])))


def _same_cg(study: Study) -> str:
    """Measured CLmax at the middle of the CGs flown: what a change of loading between flights did, taken out."""
    frame = study.airframe
    flown = [share for share, _, _ in frame.loadings]
    if not flown:
        return ""
    cg = (study.stalls.si["cg"] - frame.mac_leading_edge) / frame.mac
    reference = float(np.median(flown))
    moved = measured_at_reference_cg(study.reduction, cg, reference, frame.mac / study.aircraft.tail.arm)
    rows = [
        (m.modification, m.configuration, m.power, f"{100 * m.cg:.1f}", f"{m.flown.value:.3f}", m.clmax.text())
        for m in moved
    ]
    head = ("modification", "flap", "power", "CG flown [% MAC]", "CLmax as flown",
            f"CLmax with the CG at {100 * reference:.1f} %")  # fmt: skip
    return (
        f"<h4>CLmax at one center of gravity</h4>{_table(head, rows)}<p>A CG further aft asks the tail for less "
        "download, so the same wing shows a higher CLmax: each is moved by (h<sub>ref</sub> - h) c/l<sub>t</sub> of "
        "itself. Stalls on the stop are not in it: there the tail is the limit, and CG counts for far more.</p>"
        if rows
        else ""
    )


def _table(head, rows) -> str:
    body = "".join("<tr>" + "".join(f"<td>{html.escape(c)}</td>" for c in r) + "</tr>" for r in rows)
    top = "".join(f"<th>{html.escape(h)}</th>" for h in head)
    return f"<table class='wide'><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def rows_of(found: TailAuthority, helped: TailAuthority) -> list[tuple[str, ...]]:
    """Rows of text for the table."""
    return [
        (i.modification, i.flap, "near the ground" if i.in_ground_effect else "aloft", f"{knots(i.slowest_speed):.1f}",
         f"{knots(i.slowest_speed_interval95[0]):.1f} to {knots(i.slowest_speed_interval95[1]):.1f}",
         f"{i.binding_limit}, {i.probabilities[i.binding_limit]:.0%}",
         found.forward_cg_words(i), f"{_deg(i.elevator_at_approach)}, {_deg(i.elevator_at_limit)}",
         f"{knots(h.slowest_speed):.1f}")
        for i, h in zip(found.items, helped.items)
    ]  # fmt: skip


def why(founds: list[TailAuthority], names: list[str]) -> str:
    """What makes the limiting factor change with CG, flap, modification and ground, in a few sentences."""
    tail = ("elevator stop", "tail stall")
    held = [{(i.flap, i.modification, i.in_ground_effect) for i in f.items if i.binding_limit in tail} for f in founds]
    every = len(founds[0].items)
    out = [
        f"with the CG at {100 * f.cg:.1f} % ({n}) the tail is the limit in {len(h) or 'none'} of {every} cases"
        for f, n, h in zip(founds, names, held)
    ]
    out = [f"At {founds[0].mass:.0f} kg " + "; ".join(out) + "."]
    if not any(held):
        return out[0] + " The tail is strong enough: wing or gear is the limit, and more lift of the wing can be used."
    if len(founds) > 1 and len(held[0]) > len(held[-1]):
        out.append("A forward CG asks the tail for more download, so the elevator reaches its stop sooner.")
    seen = set.union(*held)
    states = list(dict.fromkeys(i.modification for i in founds[0].items))
    by_flap = [sum(len([1 for k in h if k[0] == name]) for h in held)
               for name in dict.fromkeys(i.flap for i in founds[0].items)]  # fmt: skip
    if by_flap[-1] > by_flap[0]:
        out.append("A flap turns the nose down and lets the wing carry more: with more flap the tail limits first.")
    counts = [sum(len([1 for k in h if k[1] == m]) for h in held) for m in states]
    if len(states) > 1 and counts[-1] > counts[0]:
        out.append(
            f"'{states[-1]}' raises what the wing can carry and leaves the tail as it was, so in "
            f"{counts[-1] - counts[0]} more cases the tail is the limit: there the gain cannot be used."
        )
    if len([k for k in seen if k[2]]) > len([k for k in seen if not k[2]]):
        out.append("Near the ground the downwash that pushes the tail down is straightened, and the stop comes sooner.")
    out.append("Where the tail limits, an aft CG within the limits or more elevator would help; more lift would not.")
    return " ".join(out)


def map_picture(study: Study, modification: str, flap_name: str, near: bool, mass: float | None = None,
                helped: Airplane | None = None):  # fmt: skip
    """The map of elevator left over CG and speed for one flap; `helped`: with devices on its tail [-]."""
    frame, mass = study.airframe, study.reference_weight if mass is None else mass
    a, flaps = learnt(study)
    flap = flaps[modification, flap_name]
    x = (frame.height_over_span or 0.15) if near else np.inf
    gear = frame.gear_angle if near else None
    w = study.aircraft.weights
    ends = [frame.cg_share(c) for c in (w.cg_forward, w.cg_aft) if c is not None]
    shares = [s for s, _, _ in frame.loadings] + ends or [0.15, 0.35]
    cg = np.linspace(min(shares) - 0.05, max(shares) + 0.05, 50)

    def speed(cl):
        return np.sqrt(2.0 * mass * GRAVITY / (DENSITY * frame.wing_area * np.maximum(cl, 0.05)))

    limits = {k: speed(v) for k, v in lift_limits(a, flap, cg, x, gear).items()}
    slowest = float(limits["wing"].min())
    limits = {k: v for k, v in limits.items() if k != "tail stall" or v.max() > 0.85 * slowest}
    v = np.linspace(0.85 * slowest, 1.75 * slowest, 50)
    cl = 2.0 * mass * GRAVITY / (DENSITY * frame.wing_area * v**2)
    with np.errstate(invalid="ignore"):
        left = elevator_needed(a, flap, cl[:, None], cg[None, :], x) - a.stop_up
    slowest_at = np.max([np.broadcast_to(line, cg.shape) for line in limits.values()], axis=0)
    flown = sorted({s for s, _, state in frame.loadings if state == modification})
    loadings = [(s, float(np.interp(s, cg, slowest_at))) for s in flown]
    better = None if helped is None else np.max([speed(c) for c in lift_limits(helped, flap, cg, x, gear).values()], 0)
    where = "wheels touching" if near else "aloft"
    return authority_picture(
        cg, v, left, limits, title=f"{flap_name}, {modification}, {where}, {mass:.0f} kg", loadings=loadings,
        helped=better, band=(ends[0], ends[-1]) if len(ends) == 2 else None,
    )  # fmt: skip


def _deg(angle: float) -> str:
    return f"{np.degrees(angle):.0f}" if np.isfinite(angle) else "none is enough"
