"""What else changed: the checks of a case before and after, against what the owner would put up with."""

from __future__ import annotations

import html

import ipywidgets as w
import numpy as np

from aerolib.case.checks import FILE
from aerolib.measured.checkresults import ChecksComparison
from aerolib.measured.checks import compare_checks
from aerolib.show.checks_figure import checks_picture, height_for
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.show.pictures import DPI
from aerolib.study import Study
from aerolib.units import to_si

NOTHING_YET = (
    f"this case has no `{FILE}` with readings in two states: note what else the change may have touched, one row a "
    "reading, its value with its unit, before and after"
)


class ChecksPanel(Panel):
    """Two states, one check at a time to set a limit for, the picture, and every check with its notes."""

    def __init__(self, study: Study):
        super().__init__()
        table = study.case.optional(FILE)
        self.given = {} if table is None else table.arguments()
        states = study.case.states_in(FILE)
        self.comparison: ChecksComparison | None = None
        self.limits: dict[tuple[str, str, str], float] = {}  # what the owner set here, in the check's unit
        self.before = w.Dropdown(options=states, value=states[0] if states else None, description="Before")
        self.after = w.Dropdown(options=states, value=states[-1] if states else None, description="After")
        style = {"description_width": "initial"}
        self.check = w.Dropdown(description="Check", layout=w.Layout(width="400px"))
        self.limit = w.FloatText(0.0, description="no worse than", style=style, layout=w.Layout(width="220px"))
        self.unit, self.result = w.HTML(), w.HTML()
        self.result.add_class("checks-result")
        self.picture = PictureBox("checks", 820, round(DPI * height_for(3)))
        self.assemble(w.HBox([self.before, self.after]), self.picture.box, w.HBox([self.check, self.limit, self.unit]),
                      self.result)  # fmt: skip
        if len(states) < 2 or study.case.order_in_doubt:
            self.say(NOTHING_YET if len(states) < 2 else study.case.order_in_doubt)
            return
        self._update()
        for box in (self.before, self.after):
            box.observe(self._states, "value")
        self.check.observe(self._choose, "value")
        self.limit.observe(self._set_limit, "value")

    @guarded
    def _states(self, *_):
        self._update()

    def _update(self):
        if self.before.value == self.after.value:
            self.say("choose two different modifications: there is nothing to compare one with itself")
            return
        given = dict(self.given)
        limits = given["no_worse_than"].copy()
        for (quantity, configuration, power), value in self.limits.items():
            mine = (given["quantity"] == quantity) & (given["configuration"] == configuration)
            limits[mine & (given["power"] == power)] = value
        given["no_worse_than"] = limits
        self.comparison = c = compare_checks(**given, before=self.before.value, after=self.after.value)
        self.picture.show(tuple((i.headline(), i.no_worse_than) for i in c.items), lambda: checks_picture(c))
        self.picture.image.layout.height = f"{self.picture.size[1]}px"
        self.result.value = c._repr_html_()
        keys = [(i.name, (i.quantity, i.configuration, i.power)) for i in c.items if i.difference is not None]
        if tuple(keys) != tuple(self.check.options):
            self.check.options = keys
            self.check.value = keys[0][1] if keys else None
        self._show_limit()

    def _item(self):
        return None if self.check.value is None else self.comparison[self.check.value]

    def _show_limit(self):
        item = self._item()
        if item is not None:
            self.limit.unobserve(self._set_limit, "value")
            self.limit.value = float(f"{item.no_worse_than or 0.0:.6g}")
            self.limit.observe(self._set_limit, "value")
            self.unit.value = f"{html.escape(item.unit)} (0: none); your file is not changed"

    @guarded
    def _choose(self, *_):
        self._show_limit()

    @guarded
    def _set_limit(self, *_):
        item, value = self._item(), self.limit.value
        if item is None:
            return
        if not (np.isfinite(value) and value >= 0.0):
            self.say(f"'no worse than' is a difference, zero or more, in {item.unit}; {value} is not")
            return
        kind = next(str(k) for k, q in zip(self.given["kind"], self.given["quantity"]) if q == item.quantity)
        self.limits[self.check.value] = to_si(value, item.unit, kind) if value > 0.0 else np.nan
        self._update()


def checks_panel(study: Study) -> ChecksPanel:
    """What else changed in a case.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    ChecksPanel [-]
    """
    return ChecksPanel(study)
