"""Measures of tail, gear and loading that cannot be together: each a sentence with file, place, what is needed."""

from __future__ import annotations

import math

import numpy as np

from aerolib.case.aircraft import AIRCRAFT

TRAVEL = 45.0  # degrees: beyond, the flow has left any elevator
STEEPEST = 25.0  # degrees of gear angle: our judgement
TAIL_AREA_OFF = 0.30  # of the tail's area, between it and span times chord: our judgement


def airframe_problems(case) -> list[str]:
    """Everything about tail, gear and centre of gravity that cannot be [-]."""
    return [*_tail(case.aircraft), *_seen(case.aircraft), *_angles(case.aircraft.gear), *_wheels(case)]


def _tail(a) -> list[str]:
    t, out = a.tail, []
    place = f"`{AIRCRAFT}` [tail]"
    for key in ("elevator_up", "elevator_down", "elevator_up_reached"):
        angle = getattr(t, key)
        if angle is not None and not 0.0 < math.degrees(angle) <= TRAVEL:
            out.append(
                f"{place} {key} is {math.degrees(angle):.1f} deg; a travel is counted from neutral and written "
                f"positive, above 0 and at most {TRAVEL:g} deg: measure it with a level on the elevator"
            )
    if t.arm is not None and a.wing.span is not None and t.arm < a.wing.area / a.wing.span:
        out.append(
            f"{place} arm is {t.arm:.2f} m, less than one chord of the wing: quarter chord of the wing to that "
            "of the tailplane is needed, counted aft; is the unit right?"
        )
    if t.elevator_up_reached is not None and t.elevator_up is not None and t.elevator_up_reached > t.elevator_up:
        out.append(
            f"{place} elevator_up_reached is {math.degrees(t.elevator_up_reached):.1f} deg, more than elevator_up "
            f"{math.degrees(t.elevator_up):.1f} deg: the stick cannot go beyond the stop; measure both again"
        )
    if t.chord is not None and t.elevator_chord is not None and t.elevator_chord >= t.chord:
        out.append(
            f"{place} elevator_chord {t.elevator_chord:.2f} m is not less than chord {t.chord:.2f} m, which is that of "
            'tailplane and elevator together; a tail that moves as a whole is kind = "all-moving"'
        )
    if None not in (t.area, t.span, t.chord) and abs(t.span * t.chord / t.area - 1.0) > TAIL_AREA_OFF:
        out.append(
            f"{place} span times chord is {t.span * t.chord:.2f} m2, area {t.area:.2f} m2: is area that of tailplane "
            "and elevator, both sides, and chord taken half-way out?"
        )
    return out


def _seen(a) -> list[str]:
    names, out = {c.name for c in a.configuration}, []
    for k, s in enumerate(a.tail.seen, 1):
        place = f"`{AIRCRAFT}` [[tail.seen]] number {k}"
        if names and s.configuration not in names:
            out.append(f"{place}: configuration '{s.configuration}' is not known; known: {', '.join(sorted(names))}")
        if s.elevator is None:
            continue
        low, high = -(a.tail.elevator_up or math.radians(TRAVEL)), a.tail.elevator_down or math.radians(TRAVEL)
        if not low - 1e-9 <= s.elevator <= high + 1e-9:
            out.append(
                f"{place}: elevator {math.degrees(s.elevator):+.1f} deg is beyond its travel, {math.degrees(low):.1f} "
                f"to {math.degrees(high):+.1f} deg; trailing edge up is negative: is the sign right?"
            )
    return out


def _angles(gear) -> list[str]:
    out = []
    needed = {"tail_strike_angle": gear.kind == "nose-wheel", "ground_angle": gear.kind == "tail-wheel",
              "ground_angle_loaded": gear.kind == "tail-wheel"}  # fmt: skip
    for key, asked in needed.items():
        angle = getattr(gear, key)
        if asked and angle is not None and not 0.0 < math.degrees(angle) <= STEEPEST:
            out.append(
                f"`{AIRCRAFT}` [gear] {key} is {math.degrees(angle):.1f} deg; needed is the datum line against the "
                f"ground, nose up positive, above 0 and at most {STEEPEST:g} deg on a {gear.kind} airplane: lay a "
                "digital level on the datum line"
            )
    return out


def _wheels(case) -> list[str]:
    """Sentences where a centre of gravity does not lie between the wheels that carry the airplane."""
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
                f"{place}: the centre of gravity {station:.2f} m ({name}) is not between the wheels at {low:.2f} m and "
                f"{high:.2f} m: it could not stand on them; are all stations from the same datum?"
            )
    return out
