"""What a change means for approach, landing, take-off and the limit load, in the report."""

from __future__ import annotations

import html

from aerolib.case.operating import Operating, operating_of
from aerolib.case.problems import CaseError
from aerolib.consequences.manoeuvre import CAUTIONS as STRUCTURE
from aerolib.consequences.manoeuvre import CODE
from aerolib.consequences.operating_results import OperatingSpeeds
from aerolib.show.method_summary import method_summary
from aerolib.show.operating_figure import distances_picture, manoeuvring_picture
from aerolib.show.sections.base import Section
from aerolib.units import knots

KEYS = ("operating_speeds",)
TITLE = "What changes for the pilot and the structure"
HEAD = ("weight [kg]", "modification", "stall, landing [kt CAS]", "approach [kt CAS]", "approach on the needle [kt]",
        "least power [kt CAS]", "one full input reaches the limit at [kt CAS]", "landing roll [m]", "over 15 m [m]",
        "take-off roll [m]", "over 15 m [m]", "steepest climb [%], speed in kt CAS")  # fmt: skip


def section(case, result, comparison) -> Section | None:
    """Table at two weights, the diagram of the light one, distances; else what to measure."""
    try:
        ready = operating_of(case, result)
    except CaseError as e:
        return Section(TITLE, f"<p>{html.escape(str(e))}</p>", {"operating_speeds": None})
    found = [ready.at(mass) for _, mass in ready.masses]
    heavy = found[-1]
    rows = "".join(
        "<tr>" + "".join(f"<td>{html.escape(c)}</td>" for c in r) + "</tr>" for f in found for r in rows_of(f)
    )
    head = "".join(f"<th>{h}</th>" for h in HEAD)
    notes = "".join(f"<li>{html.escape(n)}</li>" for n in (*heavy.notes, *heavy.cautions, *STRUCTURE))
    changed = [] if case.order_in_doubt else changes(heavy)
    change = "".join(f"<li>{html.escape(x)}</li>" for x in changed)
    inputs = "; ".join(f"{k}: {v}" for k, v in heavy.inputs.items() if k != "mass")
    text = (
        f"<p>Calm, level, dry asphalt, sea level. The approach is {heavy.factor:g} times the calibrated landing stall "
        f"speed, its uncertainty added, and no less than that of what the tail can hold. {html.escape(inputs)}.</p>"
        f"<table class='wide'><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table><ul>{change}</ul>"
        f"{_diagram(ready)}{distances_picture(heavy.items, 'Calm, level, dry asphalt, sea level').figure_html()}"
        f"<ul class='cautions'>{notes}</ul><p class='small'>{html.escape(heavy.source)}; {html.escape(CODE)}.</p>"
    )
    text += "<p>A page to print with the formulae by hand and their sources: methods-by-hand.html.</p>"
    data = {"operating_speeds": [{"configuration": ready.roles.landing, **x} for f in found for x in f.as_list()]}
    return Section(TITLE, text, data, tuple(changed[:1]), {"methods-by-hand.html": method_summary()})


def diagram_of(ready: Operating, mass: float):
    """The manoeuvring diagram of first and last modification at a mass [kg]."""
    names = [s.modification for s in ready.states]
    names = names[:1] + names[1:][-1:]
    limit = ready.case.aircraft.limits.load_factor
    diagrams = {m: ready.diagram(m, mass) for m in names}
    return manoeuvring_picture(diagrams, {i.modification: i for i in ready.at(mass).items}, limit)


def _diagram(ready: Operating) -> str:
    try:
        return diagram_of(ready, ready.masses[0][1]).figure_html()
    except CaseError as e:
        return f"<p>No manoeuvring diagram: {html.escape(str(e))}.</p>"


def changes(found: OperatingSpeeds) -> list[str]:
    """What changes from first to last modification, the relative change first."""
    out = [x for x in found.lines() if "changes by" in x]
    first, last = found.items[0], found.items[-1]
    if len(found.items) > 1 and None not in (first.manoeuvring, last.manoeuvring):
        before, after = knots(first.manoeuvring), knots(last.manoeuvring)
        if after < before:
            out.insert(0, (
                f"the speed below which one full pitch input cannot exceed the limit load falls from {before:.0f} to "
                f"{after:.0f} kt CAS at {last.mass:.0f} kg: the old manoeuvring speed no longer protects the structure "
                "(both with their uncertainty taken off)"
            ))  # fmt: skip
        else:
            out.insert(0, f"the limit-load speed goes from {before:.0f} to {after:.0f} kt CAS at {last.mass:.0f} kg")
    if found.items[0].tail_sets_it and found.items[-1].tail_sets_it:
        out.append(
            "the tail sets the approach speed before and after: at this CG the wing's gain cannot be landed with"
        )
    return out


def rows_of(found: OperatingSpeeds) -> list[tuple[str, ...]]:
    """Rows of text for the table."""
    return [
        (f"{i.mass:.0f}", i.modification, f"{knots(i.stall_speed):.1f}",
         f"{knots(i.approach):.0f}{' (tail)' if i.tail_sets_it else ''}", _kt(i.approach_indicated),
         f"{knots(i.minimum_power[0]):.0f} to {knots(i.minimum_power[1]):.0f}", _range(i, "manoeuvring", knots),
         _range(i, "landing_roll"), _range(i, "landing_over_obstacle"), _range(i, "take_off_roll"),
         _range(i, "take_off_over_obstacle"), _climb(i))
        for i in found.items
    ]  # fmt: skip


def _kt(speed) -> str:
    return "not calibrated that far" if speed is None else f"{knots(speed):.0f}"


def _climb(item) -> str:
    if item.climb_speed is None:
        return "not known"
    return f"{_range(item, 'climb_gradient', lambda x: 100.0 * x)} at {knots(item.climb_speed):.0f} kt"


def _range(item, name: str, unit=float) -> str:
    value, ends = getattr(item, name), getattr(item, f"{name}_interval95")
    if value is None:
        return "not known"
    return f"{unit(value):.0f} ({unit(ends[0]):.0f} to {unit(ends[1]):.0f})"
