"""What a change means for approach, landing, take-off and V_O, in the report."""

from __future__ import annotations

import html

from aerolib.case.problems import CaseError
from aerolib.consequences.maneuver import CAUTIONS as STRUCTURE
from aerolib.consequences.maneuver import CODE
from aerolib.consequences.operating_results import OperatingSpeeds
from aerolib.show.operating_figure import distances_picture, maneuvering_picture
from aerolib.show.sections.base import Section
from aerolib.study import Study
from aerolib.study.speeds import Operating
from aerolib.units import knots, on_dial

KEYS = ("operating_speeds",)
TITLE = "What changes for the pilot and the structure"


def head_of(found: OperatingSpeeds) -> tuple[str, ...]:
    """Heads of the table; what is read off the dial is in the dial's unit."""
    return (
        "weight [kg]", "modification", "stall, landing [kt CAS]", "approach [kt CAS]",
        "approach, indicated", f"approach is {found.factor:g} times the",
        "least power [kt CAS]", "V_O, its uncertainty taken off [kt CAS]", "V_O, indicated",
        "landing roll [m]", "landing from 15 m (50 ft) [m]", "take-off roll [m]", "take-off to 15 m (50 ft) [m]",
        "best angle of climb [%], V_X [kt CAS]",
    )  # fmt: skip


def section(study: Study) -> Section | None:
    """Table at two weights, the diagram of the light one, distances; else what to measure."""
    try:
        ready = study.speeds
    except CaseError as e:
        return Section(TITLE, f"<p>{html.escape(str(e))}</p>", {"operating_speeds": None})
    found = [ready.at(mass) for _, mass in ready.masses]
    heavy = found[-1]
    rows = "".join(
        "<tr>" + "".join(f"<td>{html.escape(c)}</td>" for c in r) + "</tr>" for f in found for r in rows_of(f)
    )
    head = "".join(f"<th>{html.escape(h)}</th>" for h in head_of(heavy))
    notes = "".join(f"<li>{html.escape(n)}</li>" for n in (*heavy.notes, *heavy.cautions, *STRUCTURE))
    changed = [] if study.case.order_in_doubt else changes(heavy)
    change = "".join(f"<li>{html.escape(x)}</li>" for x in changed)
    inputs = "; ".join(f"{k}: {v}" for k, v in heavy.inputs.items() if k != "mass")
    text = (
        f"<p>Calm, level, dry asphalt, sea level. The approach is {heavy.factor:g} times the calibrated speed named "
        "beside it, its uncertainty added: the landing stall speed, or the slowest speed the tail can hold. It is not "
        f"the rule's V<sub>REF</sub>. {html.escape(inputs)}.</p>"
        f"<table class='wide'><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table><ul>{change}</ul>"
        f"{_diagram(ready)}{distances_picture(heavy.items, 'Calm, level, dry asphalt, sea level').figure_html()}"
        f"<ul class='cautions'>{notes}</ul><p class='small'>{html.escape(heavy.source)}; {html.escape(CODE)}.</p>"
    )
    text += "<p>A page to print with the formulae by hand and their sources: methods-by-hand.html.</p>"
    data = {"operating_speeds": [{"configuration": ready.roles.landing, **x} for f in found for x in f.as_list()]}
    return Section(TITLE, text, data, tuple(changed[:1]))


def diagram_of(ready: Operating, mass: float):
    """The maneuvering diagram of first and last modification at a mass [kg]."""
    names = [s.modification for s in ready.states]
    found = ready.at(mass)
    one = found.one_calibrated  # beside a calibrated state the other's curve is not to be compared
    names = names[:1] + names[1:][-1:] if one is None else [one]
    limit = ready.study.aircraft.limits.load_factor
    diagrams = {m: ready.diagram(m, mass) for m in names}
    return maneuvering_picture(diagrams, {i.modification: i for i in found.items}, limit, ready.dial_unit)


def _diagram(ready: Operating) -> str:
    try:
        return diagram_of(ready, ready.masses[0][1]).figure_html()
    except CaseError as e:
        return f"<p>No maneuvering diagram: {html.escape(str(e))}.</p>"


def changes(found: OperatingSpeeds) -> list[str]:
    """What changes from first to last modification, the relative change first."""
    out = [x for x in found.lines() if "changes by" in x]
    words = found.maneuvering_words()
    if words is not None:
        out.insert(0, words)
    if found.items[0].tail_sets_it and found.items[-1].tail_sets_it:
        out.append(
            "the tail sets the approach speed before and after: at the forward CG the gain of the wing cannot be used "
            "in the landing"
        )
    return out


def rows_of(found: OperatingSpeeds) -> list[tuple[str, ...]]:
    """Rows of text for the table."""
    return [
        (f"{i.mass:.0f}", i.modification, f"{knots(i.stall_speed):.1f}",
         f"{knots(i.approach):.0f}", _dial(i.approach_indicated, found.dial_unit), i.approach_stands_on,
         f"{knots(i.minimum_power[0]):.0f} to {knots(i.minimum_power[1]):.0f}", _maneuvering(found, i),
         "-" if i.maneuvering is None else _dial(i.maneuvering_indicated, found.dial_unit),
         _range(i, "landing_roll"), _range(i, "landing_over_obstacle"), _range(i, "take_off_roll"),
         _range(i, "take_off_over_obstacle"), _climb(i))
        for i in found.items
    ]  # fmt: skip


def _dial(reading, unit: str) -> str:
    return "not calibrated that far" if reading is None else on_dial(reading, unit)


def _maneuvering(found: OperatingSpeeds, item) -> str:
    """V_O of one state; beside a calibrated state the other's is not to be compared, and says so."""
    apart = found.one_calibrated is not None and not item.clean_calibrated
    return _range(item, "maneuvering", knots) + (", airspeed not calibrated: not to be compared" if apart else "")


def _climb(item) -> str:
    if item.climb_speed is None:
        return "not known"
    return f"{_range(item, 'climb_gradient', lambda x: 100.0 * x)} at {knots(item.climb_speed):.0f} kt"


def _range(item, name: str, unit=float) -> str:
    value, ends = getattr(item, name), getattr(item, f"{name}_interval95")
    if value is None:
        return "not known"
    return f"{unit(value):.0f} ({unit(ends[0]):.0f} to {unit(ends[1]):.0f})"
