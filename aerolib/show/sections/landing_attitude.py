"""What the gear lets the airplane use, in the report."""

from __future__ import annotations

import html
import math

from aerolib.case.problems import CaseError
from aerolib.consequences.landing_attitude import MARGINS, LandingAttitude
from aerolib.show.landing_figure import SideView, landing_picture, side_view
from aerolib.show.sections.base import Section
from aerolib.study import Study
from aerolib.study.airframe import asked_cgs, attitude_of
from aerolib.units import knots

KEYS = ("landing_attitude",)
TITLE = "Can the gear reach the attitude?"


def section(study: Study) -> Section | None:
    """Table and side view; else what to measure."""
    try:
        places = asked_cgs(study)
        founds = [study.attitude(share) for share, _ in places]
    except CaseError as e:
        return Section(TITLE, f"<p>Not known: {html.escape('; '.join(e.problems))}.</p>", {"landing_attitude": None})
    found = founds[0]
    head = ("modification", "flap", "gear angle", "1-g stall near the ground [kt CAS]",
            *(f"first at {k:g} V_S1g near the ground" for k in MARGINS))  # fmt: skip
    rows = "".join("<tr>" + "".join(f"<td>{html.escape(c)}</td>" for c in r) + "</tr>" for r in rows_of(found))
    shares = "".join(
        f"<li>CG at {100 * share:.1f} % MAC ({html.escape(where)}):<ul>"
        f"{''.join(f'<li>{html.escape(u.headline())}</li>' for u in f.usable)}</ul></li>"
        for (share, where), f in zip(places, founds) if f.usable
    )  # fmt: skip
    last = found.items[-1]
    picture = picture_of(study, found, last.flap, last.body_alpha[1.1], 0.3, "1.1 times the stall speed",
                         f"First to touch: {last.first_contact[1.1]}.")  # fmt: skip
    cautions = "".join(f"<li>{html.escape(n)}</li>" for n in found.cautions)
    text = (
        f"<table class='wide'><thead><tr>{''.join(f'<th>{h}</th>' for h in head)}</tr></thead><tbody>{rows}</tbody>"
        f"</table>{_loaded(study, found)}"
        f"<p>Of the fall of the stall speed, what a touchdown can use, gear, wing and tail together (the section "
        f"below says when the tail limits):</p><ul>{shares or '<li>one modification only</li>'}</ul>"
        f"{picture.figure_html()}<ul class='cautions'>{cautions}</ul><p class='small'>{html.escape(found.source)}.</p>"
    )
    ledger = tuple(f"CG at {places[0][1]}: {u.headline()}" for u in found.usable)
    return Section(TITLE, text, {"landing_attitude": found.as_list()}, ledger)


def _loaded(study: Study, found: LandingAttitude) -> str:
    """What the gear's give does: the three-point speed standing at the loaded angle beside that with gear extended."""
    angle, frame = study.aircraft.gear.ground_angle_loaded, study.airframe
    if angle is None or frame.gear_kind != "tail-wheel":
        return ""
    stands = attitude_of(study, None, None, gear_angle=angle).items[-1]
    last = found.items[-1]
    return (
        f"<p>The table is for the gear extended, {math.degrees(frame.gear_angle):.1f}&deg;. Loaded it stands at "
        f"{math.degrees(angle):.1f}&deg;. {html.escape(last.flap)}, {html.escape(last.modification)}: loaded, "
        f"{html.escape(stands.gear_words())}; extended, {html.escape(last.gear_words())}.</p>"
    )


def rows_of(found: LandingAttitude) -> list[tuple[str, ...]]:
    """Rows of text for the table."""
    return [
        (i.modification, i.flap, i.gear_words(), f"{knots(i.stall_speed):.1f}", *(i.first_contact[k] for k in MARGINS))
        for i in found.items
    ]  # fmt: skip


def view_of(study: Study) -> SideView:
    """The airplane from the side; what the case lacks is drawn from the rest."""
    frame = study.airframe
    a, g, t, f = study.aircraft, study.aircraft.gear, study.aircraft.tail, study.aircraft.fuselage
    quarter = frame.mac_leading_edge + 0.25 * frame.mac
    main = (g.main_wheel_station if g.main_wheel_station is not None else quarter + 0.1) - quarter
    nose_wheel = g.kind == "nose-wheel"
    other = t.arm + 0.25 * t.chord if nose_wheel or g.other_wheel_station is None else g.other_wheel_station - quarter
    loaded = g.ground_angle_loaded if g.ground_angle_loaded is not None else g.ground_angle or 0.0
    return side_view(
        chord=a.wing.chord_root or frame.mac, incidence=a.wing.incidence, length=f.length or 0.7 * a.wing.span,
        height=f.height or 1.2, tail_arm=t.arm, tail_chord=t.chord, tail_height=t.height - (a.wing.height or 0.0),
        main_aft=main, other_aft=other, ground_angle=frame.gear_angle, wing_height=g.wing_height, loaded_angle=loaded,
        wheel_radius=0.5 * (g.main_wheel_diameter or 0.45), other_touches="tail" if nose_wheel else "tail wheel",
        nose_aft=g.other_wheel_station - quarter if nose_wheel and g.other_wheel_station is not None else None,
    )  # fmt: skip


def picture_of(
    study: Study, found: LandingAttitude, flap: str, pitch: float, clearance: float, speed: str, contact: str
):
    """The side view at a pitch [rad] and wheel clearance [m], with the stall's attitude before and after."""
    stalls = {i.modification: i.body_alpha[1.0] for i in found.items if i.flap == flap}
    few = dict(list(stalls.items())[:1] + list(stalls.items())[1:][-1:])
    pitch = max(min(pitch, math.radians(25.0)), math.radians(-10.0))
    return landing_picture(view_of(study), pitch, clearance, stalls=few, flap=flap, speed=speed, contact=contact)
