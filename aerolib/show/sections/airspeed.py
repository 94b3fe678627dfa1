"""The airspeed system in the report: legs, corrections, and what has none."""

from __future__ import annotations

from aerolib.case.aircraft import flaps_of
from aerolib.measured.stalls.advice import next_steps
from aerolib.show.calibration_figure import correction_picture
from aerolib.show.sections.base import Section
from aerolib.study import Study

KEYS = ("airspeed",)
TITLE = "Airspeed calibration (position error)"


def section(study: Study) -> Section | None:
    """Corrections of every state; without legs, one sentence and what an hour of them would buy."""
    found = study.calibration
    if found is None:
        items = [i for i in study.reduction.items if i.clmax is not None and i.power == "idle"]
        worst = max(items, key=lambda i: i.clmax.standard_uncertainty / i.clmax.value, default=None)
        steps = [] if worst is None else [s for s in map(str, next_steps(worst)) if "airspeed" in s or "calibrat" in s]
        text = (
            "<p>No <code>airspeed_legs.csv</code>: the instrument and position correction is the owner's table, or "
            "none, within an assumed error. "
            f"Workbook 04 tells how an hour of legs is flown.{' It would pay: ' + steps[0] + '.' if steps else ''}</p>"
        )
        return Section(TITLE, text, {"airspeed": None})
    flaps = flaps_of(study.aircraft)
    data = []
    for s in found.as_list():
        for configuration in [c for c, flap in flaps.items() if flap == s["flap"]] or [s["flap"]]:
            data.append({**s, "configuration": configuration})
    return Section(TITLE, correction_picture(found).figure_html() + found._repr_html_(), {"airspeed": data})
