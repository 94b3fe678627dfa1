"""What the wing does today: CLmax and stall speeds from the card, what they stand on, and what to do next."""

from __future__ import annotations

from aerolib.case.stalls import FILE, NOT_NOTED
from aerolib.estimate import SCOPES
from aerolib.measured.airspeed.correction import BORROWED
from aerolib.measured.comparison.results import Comparison
from aerolib.measured.stalls.advice import next_steps
from aerolib.measured.stalls.loadfactor import KNOT_PER_SECOND, TABLE_SOURCE
from aerolib.measured.stalls.record import STALLED
from aerolib.measured.stalls.results import BELOW, BELOW_SCALE, Clmax, SpeedSeen, StallReduction
from aerolib.show.comparing import legs_wanted
from aerolib.show.data import pair, plain
from aerolib.show.figures.stalls import budgets_picture, stalls_picture
from aerolib.show.finding import Column, Finding, Heading, Part, Quantity, Sentence, Steps, Table, quantity
from aerolib.show.sections.base import Door, quiet
from aerolib.study import Study
from aerolib.units import knots

KEYS = ("clmax",)
TITLE = "CLmax from stalls"
TWO_SPEEDS = (
    "The 1-g stall speed comes from CLmax at load factor 1, idle, at the reference weight: compare it with a rule or a "
    "handbook that says so. The lowest speed seen is what was flown, corrected for weight and indicator only, and is "
    "lower because the airplane is already falling. Never compare one with the other."
)
SHARED = (
    "Sources that every stall shares do not shrink with more stalls. They cancel, wholly or in part, when two results "
    "of the same airplane are compared."
)
BY_DRAWS = (
    "The intervals above add squares of small effects. As a check, many random sets of errors were tried and CL formed "
    "from each. Where the two differ by more than a tenth of the interval, a note above says so."
)
FALLING = (
    "At the lowest speed seen the airplane is already falling, so the wing carries less than the weight. Taking the "
    "load factor as 1 would read:"
)
AS_FLOWN = "At the reference weight, corrected for weight and indicator, by kind and by how the stall ended."
DEFINITIONS = {"1-g": "1-g stall speed", "minimum": "lowest speed seen", "unknown": "not known: both shown"}


def finding(study: Study, door: Door | None = None) -> Finding:
    """Everything the card of stalls says."""
    door, result = door or Door(), study.reduction

    return Finding(
        "clmax", TITLE,
        parts=(
            result_table(result), TWO_SPEEDS, door.picture("stalls", stalls_picture, result),
            *next_of(study),
            *_headed("What these numbers cannot say", notes_of(result)),
            Heading("What the uncertainty is made of"), SHARED, door.picture("uncertainty", budgets_picture, result),
            *map(budget_table, result.items),
            *_table("The same by Monte Carlo", BY_DRAWS, draws_table(result)),
            *_table("The load factor nobody wrote down", FALLING, _one_g_table(result)),
            f"Load factors used: {', '.join(sorted(set(result.points.load_factor_origin.tolist())))}. {TABLE_SOURCE}",
            *_table("Warning before the stall", "", _margins_table(result)),
            *_table("Lowest speeds as flown", AS_FLOWN, _speeds_table(result)),
            *_table("Beside the stated stall speeds", "", stated_table(study)),
            *_headed("Rows left out", study.left_out),
            Heading("How it was done"), method_of(result),
            Table((Column("given"), Column("value")), tuple(result.inputs.items())),
        ),
        data={"clmax": clmax_data(result)},
    )  # fmt: skip


def summary(study: Study) -> Finding:
    """The results, what to do next, and what the largest doubts are: what fits a terminal or a panel."""
    result = study.reduction
    largest = []
    for i in result.items:
        if i.power == "idle":
            four = ", ".join(f"{b.name} {{{k}}}" for k, b in zip("abcd", i.estimate.budget()))
            shares = {k: Quantity(b.share, "share") for k, b in zip("abcd", i.estimate.budget())}
            largest.append(Sentence(f"uncertainty of {{name}}: {four}", {"name": i.name, **shares}))
    return Finding(
        "clmax", TITLE,
        parts=(result_table(result), *next_of(study), Heading("What the uncertainty is made of"),
               Steps(tuple(largest))),
    )  # fmt: skip


def next_of(study: Study) -> tuple[Heading, Steps]:
    """What to do next, with its heading."""
    return Heading("What to do next"), Steps(tuple(steps_of(study.reduction, quiet(study, "comparison"))), ordered=True)


def _headed(words: str, sentences) -> list[Part]:
    return [Heading(words), Steps(tuple(sentences))] if sentences else []


def _table(words: str, before: str, table: Table) -> list[Part]:
    return [Heading(words), *([before] if before else []), table] if table.rows else []


def result_table(result: StallReduction) -> Table:
    """CLmax and stall speed of every configuration."""
    columns = (
        Column("modification"), Column("configuration"), Column("power"), Column("CLmax", "cl", "number"),
        Column("95 % interval", "cl", "interval number"), Column("1-g stall speed", "speed_cas", "number"),
        Column("95 % interval", "speed_cas", "interval number"), Column("indicated", "speed_on_dial", "number"),
        Column("lowest seen", "speed_cas"), Column("limit"), Column("stalls / flights"),
    )  # fmt: skip
    weight = result.inputs.get("reference weight", "")
    title = f"CLmax and stall speed of the trimmed airplane at {weight}; intervals are built to hold 95 %."
    return Table(columns, tuple(map(_result_row, result.items)), title)


def _result_row(i: Clmax):
    of = (i.modification, i.configuration, i.power)
    found = quantity(i.clmax, "cl", ("CLmax", *of))
    cl: Quantity | Sentence = Sentence("{cl:number} (apparent)", {"cl": found}) if i.apparent else found
    if i.clmax is None:
        cl = Sentence("at least {cl:number}", {"cl": quantity(i.at_least, "cl")})
    speed: Quantity | str = "-" if i.stall_speed_1g is None else quantity(i.stall_speed_1g, "speed_cas", ("V1g", *of))
    needle = "-" if i.stall_speed_1g_needle is None else quantity(i.stall_speed_1g_needle, "speed_on_dial")
    return (
        *of, cl, "a bound" if i.clmax is None else found, speed, speed,
        needle, _seen(_lowest(i), "{v:number} ({kind})") if i.speeds_seen else "-",
        i.limit + (", below the scale" if i.ending == BELOW_SCALE else ""),
        _count(i),
    )  # fmt: skip


def _count(i: Clmax) -> str:
    if i.breaks and i.below_scale:
        return f"{i.breaks} + {i.below_scale} below scale / {i.flights}"
    return f"{i.breaks} / {i.flights}" if i.clmax else f"{i.bounds} bounds"


def _lowest(i: Clmax) -> SpeedSeen:
    """The first way of seeing one, or the end of the scale where stalls lie below both."""
    first = i.speeds_seen[0]
    return min((first, *(s for s in i.speeds_seen if s.ended == BELOW)), key=lambda s: s.speed.value)


def _seen(s, words: str, on_dial: bool = False) -> Sentence:
    bound = "below " if s.ended == BELOW else ""
    v = Quantity(s.needle, "speed_on_dial") if on_dial else Quantity(s.speed.value, "speed_cas")
    return Sentence(bound + words, {"v": v, "kind": s.kind})


def notes_of(result: StallReduction) -> list[str]:
    """What every result, and all of them, cannot say."""
    return [f"{i.name}: {n}" for i in result.items for n in i.notes] + list(result.notes)


def budget_table(i: Clmax) -> Table:
    """Every source of one result's uncertainty."""
    columns = (Column("source of error"), Column("what shares it"),
               Column("standard-uncertainty contribution to CL", "cl_part"), Column("share", "share"))  # fmt: skip
    rows = tuple((b.name, SCOPES[b.scope], Quantity(b.contribution, "cl_part"), Quantity(b.share, "share"))
                 for b in i.estimate.budget())  # fmt: skip
    return Table(columns, rows, f"Every source: {i.name}", folded=True)


def draws_table(result: StallReduction) -> Table:
    """Intervals by the linear route and by drawing."""
    columns = (Column("group"), Column("95 % interval, as shown", "cl", "interval number"),
               Column("by Monte Carlo", "cl", "interval number"))  # fmt: skip
    return Table(columns, tuple(
        (i.name, quantity(i.clmax, "cl"), Quantity(i.clmax.value, "cl", i.interval95_by_draws))
        for i in result.items if i.clmax and i.interval95_by_draws
    ))  # fmt: skip


def _one_g_table(result: StallReduction) -> Table:
    columns = (Column("group"), Column("CLmax as reduced", "cl", "number"), Column("CLmax with n = 1", "cl"),
               Column("difference", "share"))  # fmt: skip
    return Table(columns, tuple(
        (i.name, quantity(i.clmax, "cl"), quantity(i.with_n_equal_1, "cl"),
         Quantity(i.with_n_equal_1 / i.clmax.value - 1.0, "share"))
        for i in result.items if i.clmax and i.with_n_equal_1
    ))  # fmt: skip


def _margins_table(result: StallReduction) -> Table:
    columns = (Column("group"), Column("what"), Column("mean margin", "margin"),
               Column("of the stall speed", "share"), Column("smallest", "margin"),
               Column("largest", "margin"), Column("stalls"))  # fmt: skip
    return Table(columns, tuple(
        (i.name, m.of, Quantity(m.mean, "margin"), Quantity(0.01 * m.percent, "share"),
         Quantity(m.lowest, "margin"), Quantity(m.highest, "margin"), str(m.stalls))
        for i in result.items for m in i.margins
    ))  # fmt: skip


def _speeds_table(result: StallReduction) -> Table:
    columns = (Column("group"), Column("kind"), Column("ended"), Column("lowest speed", "speed_cas"),
               Column("indicated", "speed_on_dial"), Column("stalls"))  # fmt: skip
    return Table(columns, tuple(
        (i.name, s.kind, s.ended, _seen(s, "{v:number}"), _seen(s, "{v:number}", on_dial=True), str(s.stalls))
        for i in result.items for s in i.speeds_seen
    ))  # fmt: skip


def stated_table(study: Study) -> Table:
    """The owner's stated stall speeds beside the measured speed of the same definition."""
    columns = tuple(map(Column, ("configuration", "stated", "which definition", "measured, same definition")))
    result, rows = study.reduction, []
    first = result.items[0].modification
    for c in study.aircraft.configuration:
        if c.stated_stall_speed is None:
            continue
        stated = c.stated_stall_speed * ((result.reference_weight / c.stated_weight) ** 0.5 if c.stated_weight else 1.0)
        airspeed = "" if c.stated_airspeed == "unknown" else f" {c.stated_airspeed}"
        told = Sentence("{v}" + airspeed + " ({source})", {
            "v": Quantity(stated, "speed_stated"), "source": c.stated_source or "source not noted"})  # fmt: skip
        flown = [i for i in result.items if (i.modification, i.configuration, i.power) == (first, c.name, "idle")]
        measured = _as_stated(flown[0], c) if flown else Sentence("not flown")
        where = Sentence(f"{measured.words}, {{first}}", {**measured.slots, "first": first})
        rows.append((c.name, told, DEFINITIONS[c.stated_definition], where))
    return Table(columns, tuple(rows))


def _as_stated(i: Clmax, c) -> Sentence:
    """What was measured of the definition an owner's stated speed has, or how the stalls ended."""
    on_dial = c.stated_airspeed == "IAS"
    one_g = i.stall_speed_1g_needle if on_dial else i.stall_speed_1g and i.stall_speed_1g.value
    seen = [s.needle if on_dial else s.speed.value for s in i.speeds_seen
            if s.ended in STALLED and i.ending != BELOW_SCALE]  # fmt: skip
    parts, slots = [], {}
    if one_g and c.stated_definition in ("1-g", "unknown"):
        parts.append("{one_g} (1-g)")
        slots["one_g"] = Quantity(one_g, "speed_stated")
    if seen and c.stated_definition in ("minimum", "unknown"):
        parts.append("{seen} (lowest seen)")
        slots["seen"] = Quantity(seen[0], "speed_stated")
    return Sentence(" or ".join(parts), slots) if parts else Sentence("{ending}", {"ending": i.ending})


def method_of(result: StallReduction) -> Sentence:
    """How it was done."""
    words = (
        f"{result.source}. Airspeed: indicated, corrected for instrument, position and lag to calibrated, then "
        "equivalent. Day scatter and stall scatter have a stated prior that the flights update: between days now {day} "
        "of CL, between stalls {ratio} times what the stated sources explain"
    )
    slots = {"day": Quantity(result.day_scatter, "share_fine"), "ratio": Quantity(result.scatter_ratio, "factor")}
    if result.rate_slope is not None:
        words += "; CL changes by {slope} ± {u} per kt/s of entry rate (recorded n only, standard uncertainty)"
        slots["slope"] = Quantity(result.rate_slope * KNOT_PER_SECOND, "share_fine")
        slots["u"] = Quantity(result.rate_slope_uncertainty * KNOT_PER_SECOND, "share_fine")
    return Sentence(words + ".", slots)


def steps_of(result: StallReduction, comparison: Comparison | None = None, most: int = 3) -> list[str]:
    """What to do next: legs that a comparison lacks, then what buys most for the least sure of the results at idle."""
    items = [i for i in result.items if i.clmax is not None and i.power == "idle"]
    if not items:
        broke = {i.power for i in result.items if i.clmax is not None}
        if NOT_NOTED in broke:
            return [f"write the power of each stall into column `power` of `{FILE}` ('idle' where the throttle was "
                    "closed): without it no stall speed at idle follows"]  # fmt: skip
        if broke:
            return ["fly the same stalls with the throttle closed: with power, thrust holds up part of the weight"]
        if any(i.ending == BELOW_SCALE for i in result.items):
            return [f"{BELOW_SCALE}, so there are lower limits only: film an instrument that reads lower"]
        return ["fly to a stall break (nose or wing drops), if that can be done within the limits: so far there are "
                "lower limits only"]  # fmt: skip
    worst = max(items, key=lambda i: i.estimate.standard_uncertainty / i.estimate.value)
    steps = [] if comparison is None else legs_wanted(comparison)
    steps += [f"{s} ({worst.name})" for s in next_steps(worst)[:most] if not (steps and s.source == BORROWED)]
    if any(i.flights == 1 for i in items):
        steps.append("fly a second day: one flight cannot show how much days differ")
    return steps


def clmax_data(result: StallReduction) -> list[dict]:
    """The JSON list `clmax`: speeds in knots CAS at the reference weight."""
    return [_item_data(i) for i in result.items]


def _item_data(i: Clmax) -> dict:
    v, cl, reached = i.stall_speed_1g, i.clmax, i.lowest_reached
    return {
        "modification": i.modification, "configuration": i.configuration, "power": i.power, "limit": i.limit,
        "apparent": i.apparent, "kind": "trimmed", "value": plain(cl.value if cl else None),
        "standard_uncertainty": plain(cl.standard_uncertainty if cl else None),
        "interval95": pair(cl.interval95 if cl else None), "interval95_by_draws": pair(i.interval95_by_draws),
        "at_least": plain(i.at_least),
        "at_lowest_speed_reached": plain(reached.value if reached else None),
        "with_n_equal_1": plain(i.with_n_equal_1), "stall_speed_1g_kt": _kt(v.value if v else None),
        "stall_speed_1g_interval95_kt": pair(v.interval95 if v else None, _kt),
        "stall_speed_1g_indicated_kt": _kt(i.stall_speed_1g_needle),
        "minimum_speed_kt": [
            {"kind": s.kind, "ended": s.ended, "value": _kt(s.speed.value),
             "interval95": None if s.ended == BELOW else pair(s.speed.interval95, _kt),
             "indicated": _kt(s.needle), "stalls": s.stalls} for s in i.speeds_seen
        ],
        "margins": [
            {"of": m.of, "mean_kt": _kt(m.mean), "lowest_kt": _kt(m.lowest), "highest_kt": _kt(m.highest),
             "percent": plain(m.percent), "stalls": m.stalls} for m in i.margins
        ],
        "budget": [
            {"source": b.name, "scope": b.scope, "contribution": plain(b.contribution), "share": plain(b.share)}
            for b in i.estimate.budget()
        ],
        "breaks": i.breaks, "flights": i.flights, "bounds": i.bounds, "notes": list(i.notes),
    }  # fmt: skip


def _kt(speed: float | None) -> float | None:
    return None if speed is None else plain(knots(speed))
