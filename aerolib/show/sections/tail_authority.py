"""What the tail can hold: by flap, modification and CG, aloft and near the ground."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from aerolib.case.problems import CaseError
from aerolib.consequences.balance import Airplane, Loading, elevator_needed, lift_limits
from aerolib.consequences.tail_authority import Answer, TailAuthority
from aerolib.consequences.trim import measured_at_reference_cg
from aerolib.show.data import decimals, kt, pair
from aerolib.show.figures.tail import authority_picture
from aerolib.show.finding import Column, Finding, Heading, Part, Quantity, Sentence, Table, quantity
from aerolib.show.pictures import Picture
from aerolib.show.sections.base import measure_first
from aerolib.study import Study
from aerolib.study.airframe import asked_cgs, learnt

KEYS = ("tail_authority",)
TITLE = "Does the tail hold the nose up?"
DEVICES = (0.1, 0.3)  # of the tail's largest download coefficient: from memory, no test of a light airplane's tail
COLUMNS = (
    Column("modification"), Column("flap"), Column("where"), Column("slowest", "speed_cas"),
    Column("limiting factor, and how surely"), Column("forward CG limit to use all the lift"),
    Column("elevator at the approach speed", "angle"), Column("elevator at the limit", "angle"),
)  # fmt: skip
WITH_DEVICES = Column("slowest with devices under the tail", "speed_cas", "number")


def finding(study: Study) -> Finding:
    """Tables by CG, map, and CLmax at one CG; else what to measure."""
    try:
        frame, places = study.airframe, asked_cgs(study)
        founds = [study.tail(share) for share, _ in places]
        helped = [study.tail(share, devices=DEVICES) for share, _ in places]
    except CaseError as e:
        return measure_first(KEYS[0], TITLE, e)
    names = [name for _, name in places]
    modification, flap = frame.flaps[-1]
    words = why(founds, names)
    more = (
        f"Devices under the tail: +{DEVICES[0]:g} to +{DEVICES[1]:g} of its largest download and half as much of the "
        "elevator's effectiveness at large angles, a range from memory; nobody has tested it on this tail.",
        Heading("The limiting factor, by center of gravity"), by_cg(founds, names), words,
        map_picture(study, modification, flap.name, near=True), *_same_cg(study),
    )  # fmt: skip
    data = [row | {"slowest_speed_with_tail_devices_kt": kt(i.slowest_speed.value)}
            for a, b in zip(founds, helped) for row, i in zip(data_of(a), b.items)]  # fmt: skip
    return finding_of(founds[0], names[0], helped[0], more, (words,), data)


def finding_of(
    found: TailAuthority, where: str, helped: TailAuthority | None = None, more: tuple[Part, ...] = (),
    answer: tuple[Sentence, ...] = (), data: list[dict] | None = None,
) -> Finding:  # fmt: skip
    """The answer at one CG, `helped` beside it with devices under the tail; `more` parts follow the table."""
    rows: list[tuple[Quantity | Sentence | str, ...]] = [
        (i.modification, i.flap, place(i), quantity(i.slowest_speed, "speed_cas"),
         Sentence("{limit}, {chance}", {"limit": i.limit, "chance": chance(i)}), forward_cg(found, i),
         deflection(i.elevator_at_approach), deflection(i.elevator_at_limit))
        for i in found.items
    ]  # fmt: skip
    columns: tuple[Column, ...] = COLUMNS
    if helped is not None:
        columns = (*COLUMNS, WITH_DEVICES)
        rows = [(*row, quantity(i.slowest_speed, "speed_cas")) for row, i in zip(rows, helped.items)]
    at = Sentence("At {mass}, CG at {cg} ({where}), idle, steady.", {
        "mass": Quantity(found.mass, "mass"), "cg": Quantity(found.cg, "share_of_chord"), "where": where})  # fmt: skip
    table = Table(columns, tuple(rows))
    return Finding(KEYS[0], TITLE, answer, (at, table, *more), (*found.notes, *found.cautions), found.source,
                   {KEYS[0]: data or data_of(found)})  # fmt: skip


def data_of(found: TailAuthority) -> list[dict]:
    """Rows of the JSON: speeds in knots, CG in percent of the MAC."""

    def percent(share: float) -> float | None:
        return decimals(100 * share, 2)

    return [
        {
            "modification": i.modification, "configuration": i.flap, "in_ground_effect": i.in_ground_effect,
            "cg_percent_mac": percent(found.cg), "slowest_speed_kt": kt(i.slowest_speed.value),
            "interval95_kt": pair(i.slowest_speed.interval95, kt),
            "forward_cg_limit_percent_mac": percent(i.forward_cg_limit.value),
            "forward_cg_limit_usable": found.usable(i),
            "forward_cg_interval95": pair(i.forward_cg_limit.interval95, percent), "binding_limit": i.limit,
            "probabilities": {name: decimals(p) for name, p in i.probabilities.items()},
        }
        for i in found.items
    ]  # fmt: skip


def place(item: Answer) -> str:
    """Aloft or near the ground."""
    return "near the ground" if item.in_ground_effect else "aloft"


def chance(item: Answer) -> Quantity:
    """How surely its limit is the one."""
    return Quantity(item.probabilities[item.limit], "probability")


def deflection(angle: float) -> Quantity:
    """An elevator angle [rad]; not a number where none is enough."""
    return Quantity(angle if np.isfinite(angle) else None, "angle", unknown="none is enough")


def forward_cg(found: TailAuthority, item: Answer) -> Sentence:
    """The most forward CG at which the tail allows all the lift, beside the approved limits."""
    forward, aft = found.cg_limits
    slots = {"at": quantity(item.forward_cg_limit, "share_of_chord"), "aft": Quantity(aft, "share_of_chord"),
             "forward": Quantity(forward, "share_of_chord")}  # fmt: skip
    if found.usable(item) is False:
        return Sentence("outside your limits: not usable (it would be {at:value}, your aft limit is {aft})", slots)
    if forward is not None and item.forward_cg_limit.value <= forward:
        return Sentence("ahead of your forward limit, {forward}: usable within all your limits ({at:value})", slots)
    return Sentence("{at}", slots)


def by_cg(founds: list[TailAuthority], names: list[str]) -> Table:
    """The limiting factor and the slowest speed, a column for each CG."""
    heads = [Sentence("{cg}, {name}", {"cg": Quantity(f.cg, "share_of_chord"), "name": n})
             for f, n in zip(founds, names)]  # fmt: skip
    flaps = list(dict.fromkeys(i.flap for i in founds[0].items))
    rows = [
        (at[0].flap, at[0].modification, place(at[0]),
         *(Sentence("{limit}, {speed:value}", {"limit": i.limit, "speed": quantity(i.slowest_speed, "speed_cas")})
           for i in at))
        for at in zip(*(f.items for f in founds))
    ]  # fmt: skip
    rows.sort(key=lambda row: (row[2], flaps.index(row[0])))
    return Table((*map(Column, ("flap", "modification", "where")), *map(Column, heads)), tuple(rows))


def _same_cg(study: Study) -> tuple[Part, ...]:
    """Measured CLmax at the middle of the CGs flown: what a change of loading between flights did, taken out."""
    frame = study.airframe
    flown = [share for share, _, _ in frame.loadings]
    cg = (study.stalls.si["cg"] - frame.mac_leading_edge) / frame.mac
    reference = float(np.median(flown)) if flown else 0.25
    moved = measured_at_reference_cg(study.reduction, cg, reference, frame.mac / study.aircraft.tail.arm)
    if not flown or not moved:
        return ()
    head = Sentence("CLmax with the CG at {cg}", {"cg": Quantity(reference, "share_of_chord")})
    columns = (Column("modification"), Column("flap"), Column("power"), Column("CG flown", "share_of_chord"),
               Column("CLmax as flown", "cl", "number"), Column(head, "cl"))  # fmt: skip
    rows = tuple((m.modification, m.configuration, m.power, Quantity(m.cg, "share_of_chord"),
                  quantity(m.flown, "cl"), quantity(m.clmax, "cl")) for m in moved)  # fmt: skip
    return (
        Heading("CLmax at one center of gravity"), Table(columns, rows),
        "A CG further aft asks the tail for less download, so the same wing shows a higher CLmax: each is moved by "
        "(h_ref - h) c/l_t of itself. Stalls on the stop are not in it: there the tail is the limit, and CG counts for "
        "far more.",
    )  # fmt: skip


def why(founds: list[TailAuthority], names: Sequence[str]) -> Sentence:
    """What makes the limiting factor change with CG, flap, modification and ground, in a few sentences."""
    held = [[i for i in f.items if i.limit in ("elevator stop", "tail stall")] for f in founds]
    slots: dict[str, Quantity | Sentence | str] = {"mass": Quantity(founds[0].mass, "mass")}
    counts = []
    for k, (f, h) in enumerate(zip(founds, held)):
        slots |= {f"cg{k}": Quantity(f.cg, "share_of_chord"), f"name{k}": names[k]}
        how_many = f"{len(h) or 'none'} of {len(f.items)} cases"
        counts.append(f"with the CG at {{cg{k}}} ({{name{k}}}) the tail is the limit in {how_many}")
    out = [f"At {{mass}} {'; '.join(counts)}."]
    if not any(held):
        out.append("The tail is strong enough: wing or gear is the limit, and more lift of the wing can be used.")
        return Sentence(" ".join(out), slots)
    if len(held[0]) > len(held[-1]):
        out.append("A forward CG asks the tail for more download, so the elevator reaches its stop sooner.")
    every, all_items = [i for h in held for i in h], founds[0].items

    def first_and_last(of: str) -> tuple[int, int]:
        kinds = list(dict.fromkeys(getattr(i, of) for i in all_items))
        first, last = (sum(getattr(i, of) == kind for i in every) for kind in (kinds[0], kinds[-1]))
        return first, last

    few, many = first_and_last("flap")
    if many > few:
        out.append("A flap turns the nose down and lets the wing carry more: with more flap the tail limits first.")
    before, after = first_and_last("modification")
    if after > before:
        slots["after"] = all_items[-1].modification
        out.append(f"'{{after}}' raises what the wing can carry and leaves the tail as it was, so in {after - before} "
                   "more cases the tail is the limit: there the gain cannot be used.")  # fmt: skip
    near = {(i.flap, i.modification) for i in every if i.in_ground_effect}
    if len(near) > len({(i.flap, i.modification) for i in every if not i.in_ground_effect}):
        out.append("Near the ground the downwash that pushes the tail down is straightened, and the stop comes sooner.")
    out.append("Where the tail limits, an aft CG within the limits or more elevator would help; more lift would not.")
    return Sentence(" ".join(out), slots)


def map_picture(study: Study, modification: str, flap_name: str, near: bool, mass: float | None = None,
                helped: Airplane | None = None) -> Picture:  # fmt: skip
    """The map of elevator left over CG and speed for one flap; `helped`: with devices on its tail [-]."""
    frame, mass = study.airframe, study.reference_weight if mass is None else mass
    a, flaps = learnt(study)
    flap, loading, w = flaps[modification, flap_name], Loading(mass, frame.wing_area), study.aircraft.weights
    at = {"height_over_span": frame.height_over_span or 0.15, "gear_alpha": frame.gear_angle} if near else {}
    ends = [frame.cg_share(c) for c in (w.cg_forward, w.cg_aft) if c is not None]
    shares = [s for s, _, _ in frame.loadings] + ends or [0.15, 0.35]
    cg = np.linspace(min(shares) - 0.05, max(shares) + 0.05, 50)

    def slowest_by(airplane: Airplane) -> dict[str, np.ndarray]:
        found = lift_limits(airplane, flap, cg, **at)
        return {k: np.broadcast_to(loading.speed(np.maximum(v, 0.05)), cg.shape) for k, v in found.items()}

    limits = slowest_by(a)
    stall = float(limits["wing"].min())
    limits = {k: v for k, v in limits.items() if k != "tail stall" or v.max() > 0.85 * stall}
    v = np.linspace(0.85 * stall, 1.75 * stall, 50)
    with np.errstate(invalid="ignore"):
        needed = elevator_needed(a, flap, loading.lift(v)[:, None], cg[None, :], at.get("height_over_span", np.inf))
    slowest = np.max(list(limits.values()), axis=0)
    flown = sorted({s for s, _, state in frame.loadings if state == modification})
    where = "wheels touching" if near else "aloft"
    return authority_picture(
        cg, v, needed - a.stop_up, limits, title=f"{flap_name}, {modification}, {where}, {mass:.0f} kg",
        loadings=[(s, float(np.interp(s, cg, slowest))) for s in flown],
        helped=None if helped is None else np.max(list(slowest_by(helped).values()), axis=0),
        band=(ends[0], ends[-1]) if len(ends) == 2 else None,
    )  # fmt: skip
