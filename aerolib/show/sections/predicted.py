"""What section, wing and flaps should give: the report's part, and the key `predicted` of the JSON."""

from __future__ import annotations

import html

from aerolib.case.problems import CaseError
from aerolib.predicted.wing.result import wing_cautions_html
from aerolib.show.sections.base import Section
from aerolib.show.wing_figure import wing_picture
from aerolib.study import Study
from aerolib.study.flaps import flap_html, flap_items
from aerolib.study.section import predicted_items

KEYS = ("predicted",)
PLACES = ("root", "tip")
TITLE = "What the wing should give"


def section(study: Study) -> Section:
    """Predicted maximum lift of section, wing and trimmed airplane in every configuration, and what flaps add."""
    try:
        sections = study.sections
    except CaseError as e:
        return Section(
            TITLE, "".join(f"<p>Not predicted: {html.escape(p)}</p>" for p in e.problems), {"predicted": None}
        )
    wings, problems = study.wings
    items = [{"modification": None, "configuration": None, **item} for item in predicted_items(study)]
    text = "".join(
        f"<p>{place.capitalize()}: {html.escape(s.text())}.</p>" for place, s in zip(PLACES, sections.values())
    )
    for name, wing in wings.items():
        text += f"<h3>{html.escape(name)}</h3>{wing.body_html()}"
        items += wing.as_items(name)
    picture = wing_picture(next(iter(wings.values()))).figure_html() if wings else ""
    text += (
        flap_html(study) + "".join(f"<p>Not predicted: {html.escape(p)}</p>" for p in problems) + wing_cautions_html()
    )
    ledger = tuple(
        f"Predicted from the shape of the wing, {name}: CLmax of the trimmed airplane {wing.trimmed.text()}"
        for name, wing in wings.items()
    )
    return Section(TITLE, picture + text, {"predicted": items + flap_items(study)}, ledger)
