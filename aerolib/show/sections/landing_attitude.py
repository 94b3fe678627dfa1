"""What the gear lets the airplane use."""

from __future__ import annotations

import math

from aerolib.case.problems import CaseError
from aerolib.consequences.landing_attitude import MARGINS, LandingAttitude, Touchdown
from aerolib.show.data import decimals, kt, pair
from aerolib.show.figures.landing import SideView, feet, landing_picture
from aerolib.show.finding import Column, Finding, Part, Quantity, Sentence, Steps, Table, quantity
from aerolib.show.pictures import Picture
from aerolib.show.sections.base import measure_first
from aerolib.study import Study
from aerolib.study.airframe import all_there, asked_cgs, attitude_of

KEYS = ("landing_attitude",)
TITLE = "Can the gear reach the attitude?"
COLUMNS = (Column("modification"), Column("flap"), Column("gear"), Column("1-g stall near the ground", "speed_cas"),
           *(Column(f"first at {k:g} V_S1g near the ground") for k in MARGINS))  # fmt: skip


def finding(study: Study) -> Finding:
    """Table, usable share at every CG asked for, and side view; else what to measure."""
    try:
        all_there(study, "gear", "tail")
        places = asked_cgs(study)
        founds = [study.attitude(share) for share, _ in places]
    except CaseError as e:
        return measure_first(KEYS[0], TITLE, e)
    last = founds[0].items[-1]
    picture = picture_of(study, founds[0], last.flap, last.body_alpha[1.1], 0.3, "1.1 times the stall speed",
                         f"First to touch: {last.first_contact[1.1]}.")  # fmt: skip
    return finding_of(founds, places, (*_loaded(study, last),), (picture,))


def finding_of(
    founds: list[LandingAttitude], places: list[tuple[float, str]], before: tuple[Part, ...] = (),
    after: tuple[Part, ...] = (),
) -> Finding:  # fmt: skip
    """The answer at some CGs [share of the MAC and its name]: the table is that of the first."""
    found = founds[0]
    usable = tuple(
        Sentence("CG at {cg}, {where}: {share}", {"cg": Quantity(at, "share_of_chord"), "where": name,
                                                   "share": u.headline()})
        for (at, name), f in zip(places, founds) for u in f.usable
    )  # fmt: skip
    rows: tuple[tuple[Quantity | Sentence | str, ...], ...] = tuple(
        (i.modification, i.flap, gear_words(i), quantity(i.stall_speed, "speed_cas"), *i.first_contact.values())
        for i in found.items
    )
    share = (
        "Of the fall of the stall speed, what a touchdown can use, gear, wing and tail together (the section on the "
        "tail says when it is the limit):"
    )
    parts = (Table(COLUMNS, rows), *before, share, Steps(usable or ("one modification only",)), *after)
    return Finding(KEYS[0], TITLE, usable[: len(found.usable)], parts, found.cautions, found.source,
                   {KEYS[0]: data_of(found)})  # fmt: skip


def data_of(found: LandingAttitude) -> list[dict]:
    """Rows of the JSON; the usable share stands with the later modification."""
    shares = {u.flap: u for u in found.usable}
    out = []
    for i in found.items:
        u = shares.get(i.flap) if i.modification == found.items[-1].modification else None
        out.append({
            "modification": i.modification, "configuration": i.flap,
            "three_point_speed_kt": kt(i.gear_speed.value), "interval95_kt": pair(i.gear_speed.interval95, kt),
            "stall_speed_ige_kt": kt(i.stall_speed.value),
            "stall_speed_ige_interval95_kt": pair(i.stall_speed.interval95, kt),
            "first_contact": {f"{k:g}": v for k, v in i.first_contact.items()},
            "wing_stalls_first": i.wing_first, "touchdown_limited_by": u and u.limited_by,
            "usable_share_by_gear_alone": u and decimals(u.by_gear), "usable_share_of_gain": u and decimals(u.value),
            "usable_share_interval95": u and pair(u.interval95, decimals),
        })  # fmt: skip
    return out


def gear_words(item: Touchdown) -> Sentence:
    """The speed at which the gear's angle is reached, or that the wing stalls before."""
    if item.wing_first:
        angles = {"at": item.body_alpha[1.0], "gear": item.gear_alpha}
        return Sentence("the wing stalls first, at {at}; the gear allows {gear}",
                        {k: Quantity(v, "angle") for k, v in angles.items()})  # fmt: skip
    return Sentence("gear angle reached at {speed}", {"speed": quantity(item.gear_speed, "speed_cas")})


def _loaded(study: Study, last: Touchdown) -> list[Sentence]:
    """What the gear's give does: the airplane standing at the loaded angle beside that with gear extended."""
    angle, frame = study.aircraft.gear.ground_angle_loaded, study.airframe
    if angle is None or frame.gear_kind != "tail-wheel":
        return []
    stands = attitude_of(study, None, None, gear_angle=angle).items[-1]
    return [Sentence(
        "The table is for the gear extended, {extended}. Loaded it stands at {loaded}. {flap}, {state}: loaded, "
        "{stands}; extended, {hangs}.",
        {"extended": Quantity(frame.gear_angle, "angle"), "loaded": Quantity(angle, "angle"), "flap": last.flap,
         "state": last.modification, "stands": gear_words(stands), "hangs": gear_words(last)},
    )]  # fmt: skip


def view_of(study: Study, ground_angle: float) -> SideView:
    """The airplane from the side, by its angle on the gear [rad]; what the case lacks is drawn from the rest."""
    frame = study.airframe
    a, g, t, f = study.aircraft, study.aircraft.gear, study.aircraft.tail, study.aircraft.fuselage
    quarter = frame.mac_leading_edge + 0.25 * frame.mac
    main = (g.main_wheel_station if g.main_wheel_station is not None else quarter + 0.1) - quarter
    nose_wheel = g.kind == "nose-wheel"
    other = t.arm + 0.25 * t.chord if nose_wheel or g.other_wheel_station is None else g.other_wheel_station - quarter
    loaded = g.ground_angle_loaded if g.ground_angle_loaded is not None else g.ground_angle or 0.0
    nose = g.other_wheel_station - quarter if nose_wheel and g.other_wheel_station is not None else None
    main_wheel, other_wheel, nose_at = feet(
        main, other, nose, ground_angle=ground_angle, wing_height=g.wing_height, loaded_angle=loaded
    )
    return SideView(
        chord=a.wing.chord_root or frame.mac, incidence=a.wing.incidence, length=f.length or 0.7 * a.wing.span,
        height=f.height or 1.2, tail_arm=t.arm, tail_chord=t.chord, tail_height=t.height - (a.wing.height or 0.0),
        main_wheel=main_wheel, other_wheel=other_wheel, wheel_radius=0.5 * (g.main_wheel_diameter or 0.45),
        tail_strikes=nose_wheel, nose_wheel=nose_at,
    )  # fmt: skip


def picture_of(
    study: Study, found: LandingAttitude, flap: str, pitch: float, clearance: float, speed: str, contact: str
) -> Picture:
    """The side view at a pitch [rad] and wheel clearance [m], with the stall's attitude before and after."""
    stalls = {i.modification: i.body_alpha[1.0] for i in found.items if i.flap == flap}
    few = {k: stalls[k] for k in (list(stalls)[:1] + list(stalls)[1:][-1:])}
    pitch = max(min(pitch, math.radians(25.0)), math.radians(-10.0))
    return landing_picture(
        view_of(study, found.ground_angle), pitch, clearance, stalls=few, flap=flap, speed=speed, contact=contact
    )
