"""What a comparison, its checks and a test plan say: findings with slots, and plain numbers for the JSON."""

from __future__ import annotations

import math
from collections.abc import Iterable

from aerolib.estimate import K95, Estimate
from aerolib.measured.airspeed.correction import BORROWED
from aerolib.measured.checks import CheckResult, ChecksComparison
from aerolib.measured.comparison import Change, Comparison
from aerolib.measured.plan import PlanCell, TestPlan
from aerolib.measured.stalls.results import CAUTIONS
from aerolib.show.data import pair, plain
from aerolib.show.finding import Column, Finding, Heading, Part, Quantity, Sentence, Steps, Table, quantity
from aerolib.units import knots

Slots = dict[str, Quantity | Sentence | str]
REMEDIES = {  # source of error: what narrows a change most where that is its largest part
    "position error": "airspeed calibration (GPS legs) in both states, down to near the stall",
    "day to day": "fly on another day in each state; more stalls on the same days add little",
    "loading": "weigh crew and baggage before each flight",
    "reading": "more stalls, or film the indicator",
    "load factor, each stall": "more stalls at the same entry rate",
    "load factor, shared": "enter at the same rate in both states, or record the load factor",
    "entry rate not noted": "note the entry rate of every stall",
    "weight not noted": "note crew and fuel of every stall",
    "entry rate": "time the entry: it is judged by eye now",
    "entry rate, each flight": "time the entry: it is judged by eye now",
    "entry rate, pilot's habit": "fly both states with one pilot, at one rate",
    "reading, each flight": "film the indicator square on; or fly on more days",
}


def _joined(words: Iterable[str], slots: Slots, more: Iterable[Sentence | str]) -> Sentence:
    """Parts of one line: words with slots, then whole pieces, an owner's own words among them."""
    pieces = {f"piece{k}": x for k, x in enumerate(more)}
    return Sentence("; ".join([*words, *(f"{{{k}}}" for k in pieces)]), {**slots, **pieces})


def _changed(ratio: Estimate | None) -> Quantity:
    """By how much a ratio differs from one."""
    if ratio is None:
        return Quantity(None, "ratio_change")
    low, high = ratio.interval95 or (ratio.value, ratio.value)
    return Quantity(ratio.value - 1.0, "ratio_change", (low - 1.0, high - 1.0))


def _by(logarithm: float) -> Quantity:
    return Quantity(math.expm1(logarithm), "ratio_change")


# --- before and after ------------------------------------------------------------------------------------


def change_line(c: Change) -> Sentence:
    """One configuration and power in one line: what was judged, the verdict, and what that leans on."""
    words = ["{name}: {of} {judged}"]
    if c.ratio is None:
        words = ["{name}: no CLmax to compare: {why}"]
        if c.ratio_at_least is not None:
            words = ["{name}: a lower limit only, since {why}: {of} is at least {least} times what it was (one-sided "
                     "95 % limit)"]  # fmt: skip
    else:
        words += ["1-g stall speed {speed}"] if c.delta_stall_speed_1g else []
        if c.delta_on_dial is not None:
            way = "less" if c.delta_on_dial < 0.0 else "more"
            words[-1] += f", on your dial about {{dial}} {way}{'' if c.interval_on_dial else ' (not calibrated)'}"
        words += ["{verdict}", *(["CLmax alone {alone}, with another wing area"] if c.areas else [])]
    slots: Slots = {
        "name": c.name, "of": c.of, "why": c.bounded or "", "verdict": str(c.verdict), "judged": _changed(c.judged),
        "alone": _changed(c.ratio), "least": quantity(c.ratio_at_least, "factor"),
        "speed": quantity(c.delta_stall_speed_1g, "speed_delta"), "dial": _on_dial(c),
    }  # fmt: skip
    return _joined(words, slots, c.leans_on)


def _on_dial(c: Change) -> Quantity:
    """By how much the indicated stall speed differs, without its sign."""
    if c.delta_on_dial is None:
        return Quantity(None, "change_on_dial")
    sign = -1.0 if c.delta_on_dial < 0.0 else 1.0
    ends = sorted(sign * x for x in c.interval_on_dial or ())
    return Quantity(abs(c.delta_on_dial), "change_on_dial", (ends[0], ends[1]) if ends else None)


def comparison_lines(c: Comparison) -> tuple[Sentence, ...]:
    """All changes: the common answer first, then each setting as such."""
    each = tuple(map(change_line, c.changes))
    if c.common is None:
        return each
    names = [x.configuration for x in c.changes if x.judged is not None and not x.apparent]
    left = [x.configuration for x in c.changes if x.judged is None]
    agree = "the settings agree" if c.agree else "the settings do not agree, and one number for all hides that"
    slots: Slots = {"names": ", ".join(names), "of": c.of, "ratio": _changed(c.common), "verdict": str(c.verdict)}
    more = [agree, *([f"{', '.join(left)} not included"] if left else []), *c.leans_on()]
    together = _joined(["all settings together ({names}): {of} {ratio}", "{verdict}"], slots, more)
    chance = Sentence(
        "each setting for itself (with nothing changed at all, at least one of these {count} would say 'shown' in "
        "{chance} of such tests, by drawing the errors; the common answer in 5 %):",
        {"count": str(len(names)), "chance": quantity(c.by_chance, "probability")},
    )
    return (together, chance, *each)


def settled_by(c: Change) -> str | None:
    """What would narrow the answer most."""
    if c.judged is None:
        return None
    top = c.judged.budget()[0]
    remedy = REMEDIES.get(top.name, "measure it better")
    if top.name == BORROWED:
        remedy = f"fly airspeed legs in '{next((who for who, *_ in c.borrowed), '')}', down to near the stall"
    return f"{top.name} ({top.share:.0%} of the variance): {remedy}"


def legs_wanted(c: Comparison, least: float = 0.1) -> list[str]:
    """Which legs would settle a comparison with borrowed corrections, from a share [-] of the variance."""
    wanted: dict[tuple[str, str], list[tuple[float, str]]] = {}
    for x in c.changes:
        for who, whose, share in x.borrowed:
            if share >= least:
                wanted.setdefault((who, whose), []).append((share, x.configuration))
    return [
        f"fly airspeed legs in '{who}' ({', '.join(dict.fromkeys(x for _, x in found))}), down to near the stall: "
        f"its correction is borrowed from '{whose}', and that is {max(found)[0]:.0%} of the variance of the change"
        for (who, whose), found in wanted.items()
    ]


def comparison_finding(c: Comparison) -> Finding:
    """Before and after: the answer, and what it cannot say."""
    data = {"comparison": comparison_data(c)}
    return Finding(
        "comparison", f"{c.before} to {c.after}", comparison_lines(c), (Steps(c.notes),), CAUTIONS, data=data
    )


def change_table(c: Comparison, rows) -> Table:
    """What would settle each change, its lowest speeds, and what each flight and each stall does to it.

    Parameters
    ----------
    c : [-]
    rows : (N,) [-]
        Row in `stalls.csv` of every stall of the two states.

    Returns
    -------
    Table [-]
    """
    heads = ("configuration", "what would settle it", "lowest speeds as flown, CAS", "change without one flight",
             "change without one stall")  # fmt: skip
    body = []
    for x in c.changes:
        speeds = [Sentence("{of}: {by}", {"of": e.name, "by": quantity(e, "speed_delta")}) for e in x.delta_speeds_seen]
        flights = [Sentence("{f}: {by}", {"f": f, "by": _by(v)}) for f, v in x.without.items() if v is not None]
        stall: Sentence | str = "-"
        if (s := x.stalls) is not None:
            slots: Slots = {"low": _by(s.low), "high": _by(s.high), "most": _by(s.value), "name": s.name}
            stall = Sentence("{low:number} to {high}; row {row} of stalls.csv moves it most ({name}): {most} without",
                             {**slots, "row": str(rows[s.stall])})  # fmt: skip
        body.append(
            (x.name, settled_by(x) or "-", _joined((), {}, speeds or "-"), _joined((), {}, flights or "-"), stall)
        )
    return Table(tuple(map(Column, heads)), tuple(body))


def _kt(speed: float | None) -> float | None:
    return None if speed is None else plain(knots(speed))


def _value(e: Estimate | None, of=plain) -> float | None:
    return None if e is None else of(e.value)


def _ends(e: Estimate | None, of=plain):
    return None if e is None else pair(e.interval95, of)


def change_data(c: Change) -> dict:
    """One item of the JSON list `comparison`."""
    v = c.delta_stall_speed_1g
    return {
        "configuration": c.configuration, "power": c.power, "apparent": c.apparent,
        "delta_clmax": _value(c.delta_clmax), "delta_clmax_interval95": _ends(c.delta_clmax),
        "ratio": _value(c.ratio), "interval95": _ends(c.ratio), "ratio_at_least": plain(c.ratio_at_least),
        "delta_stall_speed_1g_kt": _value(v, _kt), "interval95_kt": _ends(v, _kt),
        "delta_speeds_seen_kt": [{"of": e.name, "value": _kt(e.value), "interval95": _ends(e, _kt)}
                                 for e in c.delta_speeds_seen],
        "probability_improved": plain(c.probability_improved), "verdict": None if c.verdict is None else str(c.verdict),
        "settled_by": settled_by(c),
        "without_one_stall": None if c.stalls is None else pair((c.stalls.low, c.stalls.high),
                                                                lambda x: plain(math.exp(x))),
        "wing_area_m2": pair(c.areas), "lift_ratio": _value(c.lift_ratio), "lift_ratio_interval95": _ends(c.lift_ratio),
        "agree": None, "one_setting_shown_by_chance": None, "leans_on": list(c.leans_on),
    }  # fmt: skip


def comparison_data(c: Comparison | None) -> list[dict] | None:
    """The JSON list `comparison`; the first item, of configuration null, is the common ratio where there is one."""
    if c is None:
        return None
    states = {"before": c.before, "after": c.after}
    items = [{**states, **change_data(x)} for x in c.changes]
    if c.common is not None:
        keys = ("ratio", "interval95") if c.of == "CLmax" else ("lift_ratio", "lift_ratio_interval95")
        items.insert(0, {
            **dict.fromkeys(items[0]), **states, "apparent": False, keys[0]: plain(c.common.value),
            keys[1]: _ends(c.common), "probability_improved": plain(c.probability_improved), "verdict": str(c.verdict),
            "delta_speeds_seen_kt": [], "agree": c.agree, "leans_on": c.leans_on(),
            "one_setting_shown_by_chance": plain(c.by_chance),
        })  # fmt: skip
    return items


# --- checks ----------------------------------------------------------------------------------------------


def _as_read(e: Estimate | None, unit: str, kind: str = "as_read") -> Quantity:
    return Quantity(None, kind, unit=unit) if e is None else Quantity(e.value, kind, e.interval95, unit=unit)


def check_change(item: CheckResult) -> Quantity:
    """The difference of one check, in the unit it was read in."""
    return _as_read(item.difference, item.unit, "as_read_change")


def check_line(item: CheckResult) -> Sentence:
    """One check in one line."""
    slots: Slots = {"name": item.name, "verdict": item.verdict, "difference": check_change(item)}
    if item.difference is None:
        only = _as_read(item.before or item.after, item.unit)
        return Sentence("{name}: {only} in one state only; {verdict}", {**slots, "only": only})
    slots |= {state: _as_read(getattr(item, state), item.unit) for state in ("before", "after")}
    return Sentence("{name}: {before:number} to {after:value}, {difference}; {verdict}", slots)


def checks_notes(c: ChecksComparison) -> Steps:
    """What a reader of the checks must know, each with its check."""
    return Steps(tuple([*(f"{i.name}: {n}" for i in c.items for n in i.notes), *c.notes]))


def checks_finding(c: ChecksComparison) -> Finding:
    """Everything else before and after."""
    lines = tuple(map(check_line, c.items))
    return Finding("checks", f"{c.before} to {c.after}", lines, (checks_notes(c),), CAUTIONS,
                   data={"checks": checks_data(c)})  # fmt: skip


def checks_data(c: ChecksComparison | None) -> list[dict] | None:
    """The JSON list `checks`, each item in its own unit."""
    return None if c is None else [
        {
            "quantity": i.quantity, "configuration": i.configuration, "power": i.power, "before": _value(i.before),
            "after": _value(i.after), "unit": i.unit, "difference": _value(i.difference),
            "interval95": _ends(i.difference), "probability_better": plain(i.probability_better), "verdict": i.verdict,
            "decided_by": i.decided_by, "notes": list(i.notes),
        }
        for i in c.items
    ]  # fmt: skip


# --- the test plan ---------------------------------------------------------------------------------------


def cell_words(c: PlanCell) -> Sentence:
    """'83 % (± 0.71 kt)'."""
    return Sentence("{shown} (± {half})", {"shown": quantity(c.probability_shown, "probability"),
                                           "half": quantity(c.half_width, "speed_small")})  # fmt: skip


def _of_100(chance: float) -> Quantity:
    return Quantity(100.0 * chance, "count")


def _programme(p: TestPlan, c: PlanCell) -> Sentence:
    each = "" if p.configurations == 1 else f" in each of {p.configurations} configurations"
    total = 2 * p.configurations * c.stalls * c.flights
    return Sentence(
        f"{c.stalls} stalls{each} on each of {c.flights} flights in each state ({total} stalls in all) show it "
        "in {many} of 100 such tests, with an interval of ± {half}",
        {**cell_words(c).slots, "many": _of_100(c.probability_shown)},
    )


def plan_answer(p: TestPlan) -> tuple[Sentence | str, ...]:
    """What to fly; what was flown already first."""
    counted = p.flown.words(p.chosen.flights, p.removable)
    worth: Slots = {"change": quantity(p.change, "speed_small"), "speed": quantity(p.stall_speed, "speed_cas")}
    out: list[Sentence | str] = [counted] if counted else []
    for c, airspeed in (
        (p.recommended, ""),
        (p.recommended_calibrated, "With the airspeed calibrated in both states: "),
    ):
        if c is not None:
            programme = {**worth, "programme": _programme(p, c)}
            return (*out, Sentence(airspeed + "To see a change of {change} at {speed}: {programme}.", programme))
        if not p.able:
            return tuple(out)
        if not airspeed:
            best = _of_100(max(x.probability_shown for x in p.able))
            out.append(Sentence("A change as small as {change} at {speed} would be 'shown' in {best} of 100 such tests "
                                "by the best test program that can be flown; 80 of 100 are asked for.",
                                {**worth, "best": best}))  # fmt: skip
    return tuple(out)


def already_shown(c: Comparison | None, p: TestPlan) -> tuple[Sentence, ...]:
    """That the card shows its own change already, and that the plan is for another one; nothing where it does not."""
    shown = [x.name for x in c.changes if x.verdict is not None and x.verdict.words == "shown"] if c else []
    words = ("The change on your card is already shown ({names}). What follows is for another one: a change of "
             "{change}.")  # fmt: skip
    slots: Slots = {"names": "; ".join(shown), "change": quantity(p.change, "speed_small")}
    return (Sentence(words, slots),) if shown else ()


def plan_advice(p: TestPlan) -> tuple[Sentence | str, ...]:
    """What buys most, what calibration does, and in which order to fly."""
    false = [quantity(x, "probability") for x in p.false_alarm]
    wild = Sentence(
        "These days differ more than the comparison expects: with no change at all it would say 'shown' in {few} of "
        "test programs of one flight in each state, in {many} of {most}. Fly more days.",
        {"few": false[0], "many": false[1], "most": str(max(c.flights for c in p.cells))},
    )
    order = () if p.flown.over(p.removable) else (_order(p.removable),)
    return (_flight_or_stall(p), _calibration(p), *order, *((wild,) if max(p.false_alarm) > 0.07 else ()))


def _flight_or_stall(p: TestPlan) -> Sentence:
    c, unsure = p.nearby[0], p.position_uncertainty > p.calibrated_uncertainty
    now, flight, stall = map(cell_words, p.nearby)
    return Sentence(
        f"Another flight or another stall? With {c.stalls} stalls on each of {c.flights} flights in each state"
        f"{', once the airspeed is calibrated' * unsure}: {{now}}. One more flight in each state "
        f"({2 * p.configurations * c.stalls} stalls): {{flight}}; one more stall on every flight "
        f"({2 * p.configurations * c.flights} stalls): {{stall}}.",
        {"now": now, "flight": flight, "stall": stall},
    )


def _half(position: float, of: float = K95 * math.sqrt(2.0)) -> Quantity:
    return quantity(of * position, "speed_small")


def _calibration(p: TestPlan) -> Sentence:
    now, then = p.most
    most = f"{now.stalls} stalls on {now.flights} flights in each state"
    slots: Slots = {
        "first": _half(p.position_uncertainty), "last": _half(p.calibrated_uncertainty),
        "needed": _half(p.position_needed or 0.0, K95), "change": quantity(p.change, "speed_small"),
        "now": cell_words(now), "then": cell_words(then),
    }  # fmt: skip
    words = "The airspeed counts as calibrated in both states: ± {first} (95 %) on the change, however much is flown."
    if p.position_uncertainty > p.calibrated_uncertainty:
        words = ("Calibrate the airspeed in both states: a device that raises the angle of attack at the stall may "
                 "change the position error too. As it stands that alone is ± {first} on the change, however much is "
                 f"flown. Calibrated, it is ± {{last}}. With {most}: {{now}} as it stands, {{then}} then.")  # fmt: skip
    if p.position_needed == 0.0:
        words += (f" Even with no position error {most} would show a change of {{change}} in fewer than 80 of 100 such "
                  "tests: that takes more days.")  # fmt: skip
    elif p.position_needed is not None:
        words += f" For four times in five with {most} it must be known within ± {{needed}} in each."
    return Sentence(words, slots)


def _order(removable: bool | None) -> str:
    alternate = (
        "fly both states on one day, alternately, and begin the next day with the other one. What the day does is then "
        "in both, and a drift shows. The numbers above claim no credit for that."
    )
    bonded = (
        "'before' can never be repeated: it is flown on two days at least, everything in the list recorded and looked "
        "through, before the first device goes on. There is no going back for a forgotten number."
    )
    if removable is None:
        return f"Not said whether it comes off between flights. If it does: {alternate} If it is bonded: {bonded}"
    return f"It comes off: {alternate}" if removable else f"Bonded: {bonded}"


def _cells(cells: tuple[PlanCell, ...], best: PlanCell | None) -> Table:
    flights = sorted({c.flights for c in cells})
    at = {(c.stalls, c.flights): c for c in cells}

    def one(c):
        words = cell_words(c)
        return Sentence(f"{words.words} - the fewest stalls", words.slots) if c == best else words

    heads = [f"{f} flight{'s' if f > 1 else ''} in each state" for f in flights]
    return Table(
        tuple(map(Column, ["stalls per configuration and flight", *heads])),
        tuple((str(s), *(one(at[s, f]) for f in flights)) for s in sorted({c.stalls for c in cells})),
    )


def _flights(p: TestPlan) -> Table | str:
    rows = p.programme()
    if not rows:
        return "None: the test program is flown."
    many = " in each configuration" if p.configurations > 1 else ""
    columns = (*map(Column, ("day", "state", "loading")), Column("weight", "mass"), Column("CG", "station"),
               Column("stalls"))  # fmt: skip
    return Table(columns, tuple(
        (str(day), state, name, quantity(weight, "mass", unknown="weigh"), quantity(cg, "station", unknown="measure"),
         f"{p.chosen.stalls}{many}") for day, state, name, weight, cg in rows))  # fmt: skip


def plan_finding(p: TestPlan) -> Finding:
    """The test plan: what to fly, how often it shows the change, what decides that, and the flights left."""
    tables = [
        ("as it stands", p.cells, p.position_uncertainty, p.recommended),
        ("calibrated in both states", p.calibrated_cells, p.calibrated_uncertainty, p.recommended_calibrated),
    ]
    if p.position_uncertainty <= p.calibrated_uncertainty:
        tables = [("calibrated", *tables[0][1:])]
    parts: list[Part] = []
    for title, cells, error, best in tables:
        words = f"Shown how often, with the 95 % interval: airspeed {title}, ± {{error}} in each state."
        parts += [Sentence(words, {"error": _half(error, K95)}), _cells(cells, best)]
    parts.append(Steps(plan_advice(p)))
    if p.record_first:
        parts += [Heading("Recorded before the first device is bonded"), Steps(p.record_first)]
    parts += [
        Heading("The flights still to be flown"),
        "Each loading is flown alike in both states and is a comparison of its own: weight is allowed for, the CG is "
        "not.",
        _flights(p),
    ]
    return Finding("test_plan", "How many stalls on how many flights?", plan_answer(p), tuple(parts), CAUTIONS,
                   f"Method: {p.source}", {"test_plan": plan_data(p)})  # fmt: skip


def _cell_data(c: PlanCell) -> dict:
    return {"stalls": c.stalls, "flights": c.flights, "probability_shown": plain(c.probability_shown),
            "interval_half_width_kt": _kt(c.half_width)}  # fmt: skip


def plan_data(p: TestPlan | None) -> dict | None:
    """The JSON key `test_plan`: the recommended programme, null where none reaches four in five, and all cells."""
    if p is None:
        return None
    cells, calibrated = ([_cell_data(c) for c in x] for x in (p.cells, p.calibrated_cells))
    best = _cell_data(p.recommended) if p.recommended else dict.fromkeys(cells[0])
    return {
        "change_kt": _kt(p.change), "stall_speed_kt": _kt(p.stall_speed), **best,
        "flown": [p.flown.before, p.flown.after], "still_to_fly": list(p.still_to_fly), "cells": cells,
        "calibrated_cells": calibrated,
    }  # fmt: skip
