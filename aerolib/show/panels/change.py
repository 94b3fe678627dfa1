"""Before and after: the change, what decides it, and what leaving a flight out does."""

from __future__ import annotations

import ipywidgets as w
import numpy as np

from aerolib.case.problems import CaseError
from aerolib.case.stalls import NONE_YET
from aerolib.measured.comparison import Comparison, compare
from aerolib.show.comparing import change_table, comparison_finding
from aerolib.show.figures.change import change_picture
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded
from aerolib.show.render import body_html, part_html, reader_of, tag, words
from aerolib.study import Study
from aerolib.study.stalls import stalls_of

ONE_STATE_TWICE = "choose two different modifications: there is nothing to compare one with itself"


class ChangePanel(Panel):
    """Two modifications to choose, the changes in words and as a picture, and one flight to leave out."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        if len(study.stalls.row) == 0:
            raise CaseError(NONE_YET)
        self.comparison: Comparison | None = None
        text, names = study.stalls.text, [s.name for s in study.case.flown]
        flights = dict.fromkeys(zip(text["modification"].tolist(), text["flight"].tolist()))
        self.before, self.after = choice("Before", names, names[0], 60), choice("After", names, names[-1], 60)
        self.leave_out = choice("Leave out one flight", [("none", None), *((f"{m}, {f}", (m, f)) for m, f in flights)],
                                wide=150)  # fmt: skip
        self.read = w.HTML(tag("p", words(study.case.read), class_="change-read"))
        self.answer, self.detail = w.HTML(), w.HTML()
        self.answer.add_class("change-result")
        self.detail.add_class("change-detail")
        self.picture = PictureBox("change", 820, 150 + 45 * (len(study.aircraft.configuration or names) + 3))
        menus = w.HBox([self.before, self.after, self.leave_out], layout=w.Layout(flex_flow="row wrap"))
        self.assemble(self.read, menus, self.answer, self.picture, self.detail)
        self.watch(self.before, self.after, self.leave_out)
        self._update()

    @guarded
    def _update(self, *_):
        states = self.before.value, self.after.value
        if self.study.case.order_in_doubt or states[0] == states[1]:
            raise CaseError(self.study.case.order_in_doubt or ONE_STATE_TWICE)
        text, rows = self.study.stalls.text, self.study.stalls.row
        m, f = self.leave_out.value or (None, None)
        keep = ~((text["modification"] == m) & (text["flight"] == f))
        try:
            self.comparison = c = compare(stalls_of(self.study).chosen(keep), *states, self.study.calibration)
        except ValueError as e:
            raise CaseError(str(e)) from None
        finding = comparison_finding(c)
        self.answer.value = tag("h4", words(finding.question)) + body_html(finding, reader_of(self.study.dial_unit))
        self.detail.value = part_html(change_table(c, rows[keep & np.isin(text["modification"], states)]))
        self.picture.show(finding.answer, lambda: change_picture(c, self.study.dial_unit))
        self.picture.image.layout.height = f"{self.picture.size[1]}px"
