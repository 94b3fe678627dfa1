"""What devices should do, and what prediction and measurement leave together: keys `flow_control` and `posterior`."""

from __future__ import annotations

import html

from aerolib.case.problems import CaseError
from aerolib.predicted.vanes import Vanes
from aerolib.show.flow_figure import layer_picture, lift_picture, posterior_picture
from aerolib.show.sections.base import Section
from aerolib.show.tuft_plan import tuft_plan
from aerolib.study import Study
from aerolib.study.devices import posterior_of
from aerolib.study.usable import usable_words
from aerolib.together.worth import worth_buying

KEYS = ("flow_control", "posterior")
TITLE = "What the devices should do"
PLAN = "tuft-plan.pdf"


def section(study: Study) -> Section:
    """Every device of the case: expected change with its interval, cost, and prediction beside measurement."""
    empty = {"flow_control": None, "posterior": None}
    try:
        planform = study.planform
        files = {PLAN: tuft_plan(planform, study.name, study.aircraft.tail.span)}
        found, problems = study.devices
    except CaseError as e:
        return Section(TITLE, "".join(f"<p>Not predicted: {html.escape(p)}</p>" for p in e.problems), empty)
    if not found and not problems:
        text = (
            "<p>No [[device]] is described in `aircraft.toml`: describe the one you think of; workbook 08 says what "
            f"to expect of it. Before anything is bought: {PLAN}, beside this report, shows where to stick tufts.</p>"
        )
        return Section(TITLE, text, empty, (), files)
    text, ledger, together = "", [], []
    comparison = study.comparison if study.flown is not None else None
    for k, one in enumerate(found):
        text += f"<h3>{html.escape(one.name)}</h3>" + one._repr_html_()
        if isinstance(one.device, Vanes) and one.explained is not None:
            chord = float(planform.chord_at(0.5 * (one.device.inner + one.device.outer)))
            text += lift_picture(one).figure_html() + layer_picture(one.device, one, chord).figure_html()
        ledger.append(f"Expected before it was fitted, {one.headline()}")
        row = next((d for d in study.aircraft.device if d.name == one.device.name), None)
        after = comparison is not None and row is not None and row.modification in (None, comparison.after)
        if one.speed is not None and (after or comparison is None):
            both = posterior_of(study, one, comparison if after else None, device=row)
            if both is not None:
                together.append({"device": one.device.name, **both.as_dict("kt", "speed")})
                text += both._repr_html_() + posterior_picture(both).figure_html()
        own = None if study.flown is None else study.own_scatter
        if k == 0 and own is not None and one.speed is not None:
            text += worth_buying(
                one, stall_speed=own.speed, stall_scatter=own.stalls, day_scatter=own.days,
                position_uncertainty=own.position,
                usable=usable_words(study, 1.0 + one.speed.value / own.speed),
            ).body_html()  # fmt: skip
    text += "".join(f"<p>Not predicted: {html.escape(p)}</p>" for p in problems)
    data = {"flow_control": [f.as_dict() for f in found] or None, "posterior": together or None}
    return Section(TITLE, text, data, tuple(ledger), files)
