"""What else changed: the checks of a case before and after, against what the owner would put up with."""

from __future__ import annotations

import ipywidgets as w
import numpy as np

from aerolib.case.checks import FILE
from aerolib.case.problems import CaseError
from aerolib.measured.checks import ChecksComparison, compare_checks
from aerolib.show.comparing import checks_finding
from aerolib.show.figures.checks import checks_picture, height_for
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded
from aerolib.show.panels.change import ONE_STATE_TWICE
from aerolib.show.pictures import DPI
from aerolib.show.render import body_html, tag, words
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
        self.limits: dict[tuple[str, str, str], float] = {}  # what the owner set here [SI]
        self.before = choice("Before", states, states[0] if states else None, 60)
        self.after = choice("After", states, states[-1] if states else None, 60)
        self.check = choice("Check", [], wide=60)
        self.check.layout.width = "480px"
        self.limit = w.FloatText(0.0, description="no worse than", style={"description_width": "initial"},
                                 layout=w.Layout(width="220px"))  # fmt: skip
        self.unit, self.result = w.HTML(), w.HTML()
        self.result.add_class("checks-result")
        self.picture = PictureBox("checks", 820, round(DPI * height_for(3)))
        wrap = w.Layout(flex_flow="row wrap")
        self.assemble(w.HBox([self.before, self.after], layout=wrap), self.picture,
                      w.HBox([self.check, self.limit, self.unit], layout=wrap), self.result)  # fmt: skip
        if len(states) < 2 or study.case.order_in_doubt:
            raise CaseError(study.case.order_in_doubt or NOTHING_YET)
        self._update()
        self.watch(self.before, self.after)
        self.watch(self.check, update=self._choose)
        self.watch(self.limit, update=self._set_limit)

    @guarded
    def _update(self, *_):
        if self.before.value == self.after.value:
            raise CaseError(ONE_STATE_TWICE)
        given = dict(self.given)
        limits = given["no_worse_than"].copy()
        for (quantity, configuration, power), value in self.limits.items():
            mine = (given["quantity"] == quantity) & (given["configuration"] == configuration)
            limits[mine & (given["power"] == power)] = value
        given["no_worse_than"] = limits
        self.comparison = c = compare_checks(**given, before=self.before.value, after=self.after.value)
        finding = checks_finding(c)
        self.picture.show((finding.answer, *(i.no_worse_than for i in c.items)), lambda: checks_picture(c))
        self.picture.image.layout.height = f"{self.picture.size[1]}px"
        self.result.value = tag("h4", words(finding.question)) + body_html(finding)
        keys = [(i.name, (i.quantity, i.configuration, i.power)) for i in c.items if i.difference is not None]
        if tuple(keys) != tuple(self.check.options):
            self.check.options = keys
            self.check.value = keys[0][1] if keys else None
        self._choose()

    def _item(self):
        return None if self.check.value is None or self.comparison is None else self.comparison[self.check.value]

    def _choose(self, *_):
        item = self._item()
        if item is not None:
            self.limit.unobserve(self._set_limit, "value")
            self.limit.value = float(f"{item.no_worse_than or 0.0:.6g}")
            self.limit.observe(self._set_limit, "value")
            self.unit.value = words(f"{item.unit} (0: none). Your file is not changed.")

    @guarded
    def _set_limit(self, *_):
        item, value = self._item(), self.limit.value
        if item is None:
            return
        if not (np.isfinite(value) and value >= 0.0):
            raise CaseError(f"'no worse than' is a difference, zero or more, in {item.unit}; {value} is not")
        kind = next(str(k) for k, q in zip(self.given["kind"], self.given["quantity"]) if q == item.quantity)
        self.limits[self.check.value] = to_si(value, item.unit, kind) if value > 0.0 else np.nan
        self._update()
