"""What a change means for approach, landing, take-off and V_O."""

from __future__ import annotations

import math

from aerolib.case.problems import CaseError
from aerolib.consequences.maneuver import CAUTIONS as STRUCTURE
from aerolib.consequences.maneuver import CODE
from aerolib.consequences.operating_results import OperatingSpeeds, Speeds
from aerolib.estimate import Estimate
from aerolib.show.data import decimals, kt
from aerolib.show.figures.operating import distances_picture, maneuvering_picture
from aerolib.show.finding import Column, Finding, Part, Quantity, Sentence, Steps, Table, quantity
from aerolib.show.pictures import Picture
from aerolib.show.sections.base import measure_first
from aerolib.study import Study
from aerolib.study.speeds import SPAN_EFFICIENCY, Operating
from aerolib.units import on_dial

KEYS = ("operating_speeds",)
TITLE = "What changes for the pilot and the structure"
FIELD = "Calm, level, dry asphalt, sea level"
DISTANCES = ("landing_roll", "landing_over_obstacle", "take_off_roll", "take_off_over_obstacle")
V_A_STAYS = "V_A in the approved data and its placard stay"
SINKS_LEAST = "{least}, where a glide also sinks least"
BELOW = "below the stall"  # no speed is printed that cannot be flown


def finding(study: Study) -> Finding:
    """Table at two weights, the diagram of the light one, distances; else what to measure."""
    try:
        ready = study.speeds
    except CaseError as e:
        return measure_first(KEYS[0], TITLE, e)
    found = [ready.at(mass) for _, mass in ready.masses]
    page = "A page to print with the formulae by hand and their sources: methods-by-hand.html."
    return finding_of(ready, found, FIELD, (_diagram(ready, found[0]), distances_picture(found[-1].items, FIELD), page))


def finding_of(ready: Operating, founds: list[OperatingSpeeds], field: str, more: tuple[Part, ...] = ()) -> Finding:
    """The answer at some weights, on a field in words: the change is that of the last; `more` parts follow it."""
    last, roles, dial = founds[-1], ready.roles, ready.study.dial_unit
    changed = () if ready.study.case.order_in_doubt else changes(last)
    about = (
        f"{field}. The approach is {last.factor:g} times the calibrated speed named beside it, its uncertainty added: "
        "the landing stall speed, or the slowest speed the tail can hold. It is not the rule's V_REF. Configurations: "
        f"{roles.clean} flown as clean, {roles.take_off} for take-off, {roles.landing} for landing; span efficiency "
        f"{SPAN_EFFICIENCY:g} (a judgment of ours)."
    )
    table = Table(columns_of(last), tuple(_row(f, i, dial) for f in founds for i in f.items))
    notes: tuple[Sentence | str, ...] = (*last.notes, *map(_side, last.items), *last.cautions, *STRUCTURE)
    data = [{"configuration": roles.landing, **row} for f in founds for row in data_of(f)]
    return Finding(KEYS[0], TITLE, changed[:1], (about, table, Steps(changed), *more), notes, f"{last.source}; {CODE}",
                   {KEYS[0]: data})  # fmt: skip


def data_of(found: OperatingSpeeds) -> list[dict]:
    """Rows of the JSON: knots CAS unless the name says indicated, meters; unknown or without end is null."""
    rows = []
    for i in found.items:
        ratio = found.maneuvering_ratio if i is found.items[-1] else None
        rows.append({
            "modification": i.modification, "weight_kg": decimals(i.mass, 1), "stall_speed_kt": kt(i.stall_speed),
            "approach_kt": _pair(i.approach, kt), "approach_indicated_kt": kt(i.approach_indicated),
            "approach_set_by_tail": i.tail_sets_it, "approach_stands_on": i.approach_stands_on,
            "manoeuvring_kt": _pair(i.maneuvering, kt), "calibrated_flaps_up": i.clean_calibrated,
            "manoeuvring_indicated_kt": kt(i.maneuvering_indicated),
            **{f"{name}_m": _pair(getattr(i, name), lambda x: decimals(x, 1)) for name in DISTANCES},
            "climb_speed_kt": kt(i.climb_speed),
            "climb_gradient_percent": _pair(i.climb_gradient, lambda x: decimals(100.0 * x, 2)),
            "manoeuvring_ratio": ratio and decimals(ratio.value, 4),
            "manoeuvring_ratio_interval95": ratio and [decimals(x, 4) for x in ratio.interval95],
        })  # fmt: skip
    return rows


def _pair(e: Estimate | None, of) -> dict:
    ends = None if e is None or e.interval95 is None else [of(x) for x in e.interval95]
    return {"value": e and of(e.value), "interval95": None if ends is None or None in ends else ends}


def columns_of(found: OperatingSpeeds) -> tuple[Column, ...]:
    """Heads of the table; what is read off the dial is in the dial's unit."""
    return (
        Column("weight", "mass"), Column("modification"), Column("stall, landing", "speed_cas"),
        Column("approach", "speed_cas", "number"), Column("approach, indicated"),
        Column(f"approach is {found.factor:g} times the"), Column("least power", "speed_cas"),
        Column("V_O, its uncertainty taken off", "speed_cas"), Column("V_O, indicated"),
        Column("landing roll", "distance"), Column("landing from 15 m (50 ft)", "distance"),
        Column("take-off roll", "distance"), Column("take-off to 15 m (50 ft)", "distance"),
        Column("best angle of climb", "share"), Column("V_X", "speed_cas"),
    )  # fmt: skip


def _row(found: OperatingSpeeds, i: Speeds, dial: str) -> tuple:
    least = _least_power(i, ":number")
    return (
        Quantity(i.mass, "mass"), i.modification, Quantity(i.stall_speed, "speed_cas"),
        quantity(i.approach, "speed_cas"), _on_dial(i.approach_indicated, dial), i.approach_stands_on, least,
        _maneuvering(found, i), "-" if i.maneuvering is None else _on_dial(i.maneuvering_indicated, dial),
        *(_finite(getattr(i, name), "distance") for name in DISTANCES), _finite(i.climb_gradient, "share"),
        Quantity(i.climb_speed, "speed_cas"),
    )  # fmt: skip


def _least_power(i: Speeds, how: str = "") -> Sentence:
    """The speeds of least power that lie above the stall of that row; `how` the faster one is shown."""
    low, high = (Quantity(v, "speed_cas") for v in i.minimum_power)
    if i.minimum_power[1] <= i.stall_speed:
        return Sentence(BELOW)
    slow = BELOW if i.minimum_power[0] < i.stall_speed else "{low:number}"
    return Sentence(f"{slow} to {{high{how}}}", {"low": low, "high": high})


def _finite(e: Estimate | None, kind: str) -> Quantity:
    if e is not None and not all(map(math.isfinite, (e.value, *(e.interval95 or ())))):
        return Quantity(None, kind, unknown="the low thrust does not get it off the ground")
    return quantity(e, kind)


def _on_dial(reading: float | None, unit: str) -> str:
    return "not calibrated that far" if reading is None else on_dial(reading, unit)


def _maneuvering(found: OperatingSpeeds, i: Speeds) -> Quantity | Sentence:
    """V_O of one state; beside a calibrated state the other's is not to be compared, and says so."""
    speed = quantity(i.maneuvering, "speed_cas")
    if i.clean_calibrated or found.one_calibrated is None:
        return speed
    return Sentence("{speed}, airspeed not calibrated: not to be compared", {"speed": speed})


def _side(i: Speeds) -> Sentence:
    """What it means where the approach lies against the speeds of least power and least sink."""
    low, high = i.minimum_power
    least = _least_power(i)
    if high <= i.stall_speed:
        rest = "lies above the speed of least power, which is below the stall"
    elif i.approach.value < low:
        rest = (
            f"lies below the speed of least power ({SINKS_LEAST}): slower sinks faster and steeper, and arresting it "
            "takes power, not pull"
        )
    elif i.approach.value < high:
        rest = f"may lie below the speed of least power ({SINKS_LEAST}), where slower sinks faster"
    else:
        rest = f"lies above the speed of least power ({SINKS_LEAST})"
    return Sentence("{state}: the approach " + rest, {"state": i.modification, "least": least})


def changes(found: OperatingSpeeds) -> tuple[Sentence | str, ...]:
    """What changes from first to last modification: V_O first, then the distances."""
    v_o = maneuvering(found)
    out: list[Sentence | str] = [] if v_o is None else [v_o]
    for name, ratio in (("landing roll", found.roll_ratio), ("take-off roll", found.take_off_ratio)):
        if ratio is not None and max(abs(x - 1.0) for x in ratio.interval95) < 0.005:
            out.append(f"the {name} stays the same")
        elif ratio is not None:
            words = f"the {name} gets {{way}} by {{change}}, if flown at the same factor of the stall speed"
            out.append(_by(words, ratio, ("shorter", "longer")))
    ends = (found.items[0], found.items[-1])
    if all(i.tail_sets_it for i in ends):
        out.append("the tail sets the approach speed before and after, by what it holds aloft at the forward CG")
    if all(i.touchdown_limit == "tail" for i in ends):
        out.append(
            "near the ground the tail limits the touchdown before and after: at the forward CG the gain of the wing "
            "cannot be used in the landing"
        )
    return tuple(out)


def _by(words: str, ratio: Estimate, ways: tuple[str, str], **slots: Quantity | str) -> Sentence:
    """What falls or rises by a share: ways are the words for less and more."""
    sign = -1.0 if ratio.value < 1.0 else 1.0
    low, high = sorted(sign * (x - 1.0) for x in ratio.interval95 or (ratio.value, ratio.value))
    change = Quantity(sign * (ratio.value - 1.0), "share", (low, high))
    return Sentence(words, {"way": ways[0 if sign < 0.0 else 1], "change": change, **slots})


def maneuvering(found: OperatingSpeeds) -> Sentence | None:
    """What becomes of V_O; None where there is nothing to say it from."""
    first, last = found.items[0], found.items[-1]
    if len(found.items) < 2 or first.maneuvering is None or last.maneuvering is None:
        return None
    what, mass = "V_O, the operating maneuvering speed at {mass}", Quantity(last.mass, "mass")
    if found.one_calibrated is not None:
        return Sentence(
            f"{what}: no change is given, because only '{{state}}' has its airspeed calibrated flaps up; it falls when "
            f"CLmax rises. {V_A_STAYS}", {"mass": mass, "state": found.one_calibrated},
        )  # fmt: skip
    if found.maneuvering_ratio is None or found.lift_change is None:
        return None
    old = ""
    if found.maneuvering_ratio.value < 1.0:
        old = ": between the new and the old one full back stick can now overload the wing"
    words = f"{what}, {{way}} by {{change}}, from the ratio of CLmax (flaps up: {{verdict}}){old}. {V_A_STAYS}"
    return _by(words, found.maneuvering_ratio, ("falls", "rises"), mass=mass, verdict=found.lift_change[1])


def diagram_of(ready: Operating, found: OperatingSpeeds) -> Picture:
    """The maneuvering diagram of first and last modification at the mass of an answer."""
    names, mass = [s.modification for s in ready.states], found.items[0].mass
    one = found.one_calibrated  # beside a calibrated state the other's curve is not to be compared
    names = names[:1] + names[1:][-1:] if one is None else [one]
    diagrams = {m: ready.diagram(m, mass) for m in names}
    limit = ready.study.aircraft.limits.load_factor
    return maneuvering_picture(diagrams, {i.modification: i for i in found.items}, limit, ready.study.dial_unit)


def _diagram(ready: Operating, found: OperatingSpeeds) -> Picture | str:
    try:
        return diagram_of(ready, found)
    except CaseError as e:
        return f"No maneuvering diagram: {e}."
