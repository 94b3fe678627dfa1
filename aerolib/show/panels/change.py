"""Before and after: the change, what decides it, and what leaving a flight out does."""

from __future__ import annotations

import html

import ipywidgets as w
import numpy as np

from aerolib.case.problems import CaseError
from aerolib.case.stalls import NONE_YET
from aerolib.measured.changes import Comparison
from aerolib.measured.comparison import chosen, compare
from aerolib.show.change_figure import change_picture
from aerolib.show.change_table import change_table
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.study import Study
from aerolib.study.stalls import compare_arguments


class ChangePanel(Panel):
    """Two modifications to choose, the changes in words and as a picture, and one flight to leave out."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        if len(study.stalls.row) == 0:
            raise CaseError(NONE_YET)
        self.comparison: Comparison | None = None
        names = [s.name for s in study.case.flown]
        self.before = w.Dropdown(options=names, value=names[0], description="Before")
        self.after = w.Dropdown(options=names, value=names[-1], description="After")
        flights = [("none", None)] + [(f"{m}, {f}", (m, f)) for m, f in self._flights()]
        self.leave_out = w.Dropdown(
            options=flights, value=None, description="Leave out", layout=w.Layout(width="320px")
        )
        for box in (self.before, self.after, self.leave_out):
            box.observe(self._update, "value")
        self.read = w.HTML(f"<p class='change-read'>{html.escape(study.case.read)}</p>")
        self.answer = w.HTML()
        self.answer.add_class("change-result")
        height = 150 + 45 * (len(study.aircraft.configuration or names) + 3)
        self.picture = PictureBox("change", 820, height)
        self.detail = w.HTML()
        self.detail.add_class("change-detail")
        self.assemble(
            self.read, w.HBox([self.before, self.after, self.leave_out]), self.answer, self.picture.box, self.detail
        )
        self._update()

    def _flights(self):
        text = self.study.stalls.text
        return dict.fromkeys(zip(text["modification"].tolist(), text["flight"].tolist()))

    @guarded
    def _update(self, *_):
        if self.study.case.order_in_doubt:
            self.say(self.study.case.order_in_doubt)
            return
        if self.before.value == self.after.value:
            self.say("choose two different modifications: there is nothing to compare one with itself")
            return
        arguments = compare_arguments(self.study)
        text, rows = self.study.stalls.text, self.study.stalls.row
        used = np.isin(text["modification"], (self.before.value, self.after.value))
        if self.leave_out.value is not None:
            m, f = self.leave_out.value
            keep = ~((text["modification"] == m) & (text["flight"] == f))
            arguments, rows, used = chosen(arguments, keep), rows[keep], used[keep]
        try:
            self.comparison = c = compare(arguments, self.before.value, self.after.value)
        except ValueError as e:
            self.say(str(e))
            return
        self.answer.value = c._repr_html_()
        self.detail.value = change_table(c, rows[used])
        key = tuple((x.name, x.headline()) for x in c.changes)
        self.picture.show(key, lambda: change_picture(c))
        self.picture.image.layout.height = f"{self.picture.size[1]}px"


def change_panel(study: Study) -> ChangePanel:
    """Before and after of a case.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    ChangePanel [-]
    """
    return ChangePanel(study)
