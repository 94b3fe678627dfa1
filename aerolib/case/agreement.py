"""The airplane agrees with itself: one table of which measures must fit which, and by how much.

A row of `RULES` is all a new check needs. Those of scope 'case' refuse the whole case, since every answer stands on
wing and weights; the others refuse the estimates that use them, and the rest is reported. The limits are judgments of
ours, wide enough for any light airplane: a value beyond them is a slip, a unit, a sign or another datum.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from aerolib.case.problems import not_defined
from aerolib.units import from_si

AIRCRAFT = "aircraft.toml"
CASE, WING, CHORD, AIRFRAME = "case", "wing", "chord", "airframe"
_TABLES = ("wing", "weights", "power", "gear", "tail", "fuselage")
_SHOWN = {  # the unit a value is shown in, and the other one an owner may have written it in
    "length": ("m", "in"), "mass": ("kg", "lb"), "area": ("m2", "sq ft"), "angle": ("deg", None),
}  # fmt: skip


@dataclass(frozen=True)
class Rule:
    """`left` lies between `low` and `high` times `right`; in units of `kind` where there is no `right`."""

    scope: str
    left: str
    right: str | None
    low: float
    high: float
    remedy: str
    kind: str = "length"
    right_kind: str | None = None  # where it differs from that of `left`


@dataclass(frozen=True)
class _Measure:
    called: str
    value: float  # SI
    along: float | None = None  # of a station: its distance behind the leading edge of the mean chord [m]


_UNIT = "is one of them in another unit?"
_LEVEL = "lay a digital level on it and measure again"
_DATUM = "stations count aft from one datum, in one unit: is a sign, a unit or the datum wrong?"
_TRAVEL = "a travel is counted from neutral and written positive: measure it with a level on the elevator"
_GROUND = "needed is the leveling line against the ground, nose up positive: lay a digital level on the leveling line"
_ARM = "needed is quarter chord of the wing to quarter chord of the tailplane; is the unit right?"
_STANDING = "needed is the quarter chord at the root above the ground, standing; "
_BOTH_SIDES = "is area that of tailplane and elevator, both sides, and chord taken half-way out?"

RULES = (
    Rule(CASE, "[weights] maximum", "[weights] empty", 1.02, 3.0, _UNIT, "mass"),
    Rule(CASE, "[weights] reference", "[weights] maximum", 0.2, 1.15, _UNIT, "mass"),
    Rule(CASE, "[weights] reference", "[weights] empty", 0.9, 3.5, _UNIT, "mass"),
    Rule(CASE, "[weights] empty_within", "[weights] empty", 0.0, 0.25, _UNIT, "mass"),
    Rule(CASE, "[weights] maximum", "[wing] area", 8.0, 250.0, "a wing carries 8 to 250 kg on each m2; " + _UNIT,
         "mass", "area"),
    Rule(CASE, "[wing] area_within", "[wing] area", 0.0, 0.25, _UNIT, "area"),
    Rule(CASE, "[wing] span", "[wing] area over span", 2.0, 45.0, "the quotient is the aspect ratio; " + _UNIT),
    Rule(CASE, "[wing] span times its chords", "[wing] area", 0.6, 1.6, "span is from tip to tip, chords along the "
         "flight direction; " + _UNIT, "area"),
    Rule(WING, "[wing] incidence", None, -10.0, 15.0, _LEVEL, "angle"),
    Rule(WING, "[wing] twist", None, -12.0, 8.0, "tip against root, less at the tip is negative: " + _LEVEL, "angle"),
    Rule(WING, "[wing] sweep", None, -35.0, 45.0, "it is that of the quarter-chord line: measure again", "angle"),
    Rule(WING, "[fuselage] width", "[wing] span", 0.02, 0.4, _UNIT),
    Rule(CHORD, "[weights] mac", "[wing] area over span", 0.8, 1.5, "the mean aerodynamic chord is 1 to 1.2 times the "
         "standard mean chord of most wings; " + _UNIT),
    Rule(CHORD, "[tail] arm", "[wing] area over span", 1.0, 12.0, _ARM),
    Rule(CHORD, "[tail] arm", "[wing] span", 0.1, 1.5, _ARM),
    Rule(CHORD, "[tail] arm", "[fuselage] length", 0.2, 1.0, _ARM),
    Rule(AIRFRAME, "[weights] cg_forward", "[weights] mac", -0.3, 0.8, _DATUM),
    Rule(AIRFRAME, "[weights] cg_aft", "[weights] mac", -0.3, 0.9, _DATUM),
    Rule(AIRFRAME, "[weights] empty_cg", "[weights] mac", -0.6, 1.2, _DATUM),
    Rule(AIRFRAME, "the foremost CG flown", "[weights] mac", -0.4, 1.0, _DATUM),
    Rule(AIRFRAME, "the aftmost CG flown", "[weights] mac", -0.4, 1.0, _DATUM),
    Rule(AIRFRAME, "[weights] cg_aft from cg_forward", "[weights] mac", 0.0, 0.6, "the aft limit lies behind the "
         "forward one; " + _DATUM),
    Rule(AIRFRAME, "[tail] height above [wing] height", "[wing] span", -0.3, 0.4, "both are heights above the "
         "leveling line, below is negative; " + _UNIT),
    Rule(AIRFRAME, "[tail] height", None, -2.0, 4.0, "it is counted from the leveling line; is the unit right?"),
    Rule(AIRFRAME, "[wing] height", None, -2.0, 3.0, "it is counted from the leveling line; is the unit right?"),
    Rule(AIRFRAME, "[tail] area", "[wing] area", 0.04, 0.6, _UNIT, "area"),
    Rule(AIRFRAME, "[tail] span", "[wing] span", 0.1, 0.8, _UNIT),
    Rule(AIRFRAME, "[tail] span times chord", "[tail] area", 0.7, 1.3, _BOTH_SIDES, "area"),
    Rule(AIRFRAME, "[tail] elevator_chord", "[tail] chord", 0.05, 0.999, "chord is that of tailplane and elevator "
         'together; a tail that moves as a whole is kind = "all-moving"'),
    Rule(AIRFRAME, "[tail] incidence", None, -12.0, 10.0, _LEVEL, "angle"),
    Rule(AIRFRAME, "[tail] elevator_up", None, 0.1, 45.0, _TRAVEL, "angle"),
    Rule(AIRFRAME, "[tail] elevator_down", None, 0.1, 45.0, _TRAVEL, "angle"),
    Rule(AIRFRAME, "[tail] elevator_up_reached", None, 0.1, 45.0, _TRAVEL, "angle"),
    Rule(AIRFRAME, "[tail] elevator_up_reached", "[tail] elevator_up", 0.0, 1.0, "the stick cannot go beyond the stop: "
         "measure both again", "angle"),
    Rule(AIRFRAME, "[gear] wing_height", None, 0.2, 4.0, _STANDING + "is the unit right?"),
    Rule(AIRFRAME, "[gear] wing_height", "[wing] span", 0.03, 0.5, _STANDING + _UNIT),
    Rule(AIRFRAME, "[gear] wing_height", "[fuselage] height", 0.15, 2.5, _STANDING + _UNIT),
    Rule(AIRFRAME, "[gear] main_wheel_diameter", "[wing] area over span", 0.08, 1.2, _UNIT),
    Rule(AIRFRAME, "[gear] other_wheel_station from main_wheel_station", "[fuselage] length", -1.0, 1.0, _DATUM),
    Rule(AIRFRAME, "[gear] ground_angle, tail-wheel", None, 0.1, 25.0, _GROUND, "angle"),
    Rule(AIRFRAME, "[gear] ground_angle_loaded, tail-wheel", None, 0.1, 25.0, _GROUND, "angle"),
    Rule(AIRFRAME, "[gear] tail_strike_angle, nose-wheel", None, 0.1, 25.0, _GROUND, "angle"),
    Rule(AIRFRAME, "[fuselage] length", "[wing] span", 0.25, 2.0, _UNIT),
    Rule(AIRFRAME, "[fuselage] width", "[fuselage] length", 0.03, 0.5, _UNIT),
    Rule(AIRFRAME, "[fuselage] height", "[fuselage] length", 0.05, 0.6, _UNIT),
)  # fmt: skip


def disagreements(aircraft, scopes: Iterable[str], cg_flown=()) -> list[str]:
    """A sentence for every rule of the scopes that the airplane breaks, with both values.

    Parameters
    ----------
    aircraft : Aircraft [-]
    scopes : text [-]
        Of `RULES`.
    cg_flown : array [m]
        Stations flown; NaN where not noted.

    Returns
    -------
    list of text [-]
    """
    values = _measures(aircraft, cg_flown)
    scopes, out, told = set(scopes), [], set()
    for rule in RULES:
        left, right = values.get(rule.left), values.get(rule.right or "")
        if rule.scope not in scopes or rule.left in told or left is None or (rule.right and right is None):
            continue
        said = f"`{AIRCRAFT}` {left.called} {_text(left.value, rule.kind)}"
        if right is None:
            unit = _SHOWN[rule.kind][0]
            compared, over, of = from_si(left.value, unit, rule.kind), 1.0, unit
        else:
            compared, over = left.value if left.along is None else left.along, right.value
            of = "times it" if left.along is None else "times it behind its leading edge"
            of = of if rule.right_kind is None else "kg on each m2"
            said += f" beside {right.called} {_text(over, rule.right_kind or rule.kind)}"
            said += f", {compared / over:.3g} {of}" if over else ""
        if not rule.low * over <= compared <= rule.high * over:
            told.add(rule.left)
            out.append(f"{said}; needed is {rule.low:g} to {rule.high:g} {of}: {rule.remedy}")
    return out


def _text(value: float, kind: str) -> str:
    unit, other = _SHOWN[kind]
    shown = f"{from_si(value, unit, kind):.4g} {unit}"
    return shown if other is None else f"{shown} ({from_si(value, other, kind):.4g} {other})"


def _measures(a, cg_flown) -> dict[str, _Measure]:
    """What the rules name, where the airplane has it."""
    w, t, g, weights = a.wing, a.tail, a.gear, a.weights
    out = {f"[{table}] {k}": _Measure(f"[{table}] {k}", v) for table in _TABLES for k, v in getattr(a, table)
           if isinstance(v, float)}  # fmt: skip

    def derived(name, function, *of, called=None):
        if None not in of:
            out[name] = _Measure(called or name, function(*of))

    flown = np.asarray(cg_flown, float)
    flown = flown[np.isfinite(flown)]
    if flown.size:
        out["the foremost CG flown"] = _Measure("and `stalls.csv`: the foremost CG flown", float(flown.min()))
        out["the aftmost CG flown"] = _Measure("and `stalls.csv`: the aftmost CG flown", float(flown.max()))
    for name in [n for n in out if "cg" in n.lower()]:
        m, edge = out.pop(name), weights.mac_leading_edge
        if edge is not None:  # without it nothing can be said of where on the chord a station is
            out[name] = _Measure(f"[weights] mac_leading_edge {_text(edge, 'length')}, {m.called}", m.value,
                                 m.value - edge)  # fmt: skip
    if weights.cg_forward is not None and weights.cg_aft is not None:
        ends = (_text(x, "length") for x in (weights.cg_forward, weights.cg_aft))
        called = "[weights] cg_forward {}, cg_aft {}: aft of it by".format(*ends)
        derived("[weights] cg_aft from cg_forward", float.__sub__, weights.cg_aft, weights.cg_forward, called=called)
    if w.span:
        derived("[wing] area over span", float.__truediv__, w.area, w.span)
        chords = [w.chord_root, *((w.chord_middle,) * 2 if w.chord_middle is not None else ()), w.chord_tip]
        derived("[wing] span times its chords", lambda b, *c: b * sum(c) / len(c), w.span, *chords)
    derived("[tail] height above [wing] height", float.__sub__, t.height, w.height)
    derived("[tail] span times chord", float.__mul__, t.span, t.chord)
    derived("[gear] other_wheel_station from main_wheel_station", float.__sub__, g.other_wheel_station,
            g.main_wheel_station)  # fmt: skip
    for key in ("ground_angle", "ground_angle_loaded", "tail_strike_angle"):
        derived(f"[gear] {key}, {g.kind}", float, getattr(g, key), called=f"[gear] {key}")
    return out


def airframe_problems(case) -> list[str]:
    """Everything about chord, tail, gear and center of gravity that cannot be [-]."""
    found = disagreements(case.aircraft, (WING, CHORD, AIRFRAME), case.stalls.si["cg"])
    return [*found, *_seen(case.aircraft), *_wheels(case)]


def _seen(a) -> list[str]:
    names, out = {c.name for c in a.configuration}, []
    travel = math.radians(next(r.high for r in RULES if r.left == "[tail] elevator_up"))
    for k, s in enumerate(a.tail.seen, 1):
        place = f"`{AIRCRAFT}` [[tail.seen]] number {k}"
        if names and s.configuration not in names:
            out.append(f"{place}: {not_defined('configuration', s.configuration, sorted(names))}")
        if s.elevator is None:
            continue
        low, high = -(a.tail.elevator_up or travel), a.tail.elevator_down or travel
        if not low - 1e-9 <= s.elevator <= high + 1e-9:
            out.append(
                f"{place}: elevator {math.degrees(s.elevator):+.1f} deg is beyond its travel, {math.degrees(low):.1f} "
                f"to {math.degrees(high):+.1f} deg; trailing edge up is negative: is the sign right?"
            )
    return out


def _wheels(case) -> list[str]:
    """Sentences where a center of gravity does not lie between the wheels that carry the airplane."""
    gear, w = case.aircraft.gear, case.aircraft.weights
    main, other = gear.main_wheel_station, gear.other_wheel_station
    if None in (gear.kind, main, other):
        return []
    place = f"`{AIRCRAFT}` [gear]"
    if (other > main) != (gear.kind == "tail-wheel"):
        where = "behind" if gear.kind == "tail-wheel" else "ahead of"
        return [
            f"{place} other_wheel_station {other:.2f} m must lie {where} main_wheel_station {main:.2f} m on a "
            f"{gear.kind} airplane; stations count aft from one datum: is a sign wrong?"
        ]
    low, high = min(main, other), max(main, other)
    out = []
    given = {f"[weights] {k}": getattr(w, k) for k in ("empty_cg", "cg_forward", "cg_aft")}
    flown = case.stalls.si["cg"]
    flown = flown[np.isfinite(flown)]
    if flown.size:
        given |= {"the foremost flown": float(flown.min()), "the aftmost flown": float(flown.max())}
    for name, station in given.items():
        if station is not None and not low < station < high:
            out.append(
                f"{place}: the center of gravity {station:.2f} m ({name}) is not between the wheels at {low:.2f} m and "
                f"{high:.2f} m: it could not stand on them; are all stations from the same datum?"
            )
    return out
