"""The case at a glance: which airplane, what is known of it, what comes out."""

from __future__ import annotations

import html

import ipywidgets as w

from aerolib.show.panels.base import Panel, guarded
from aerolib.study import Study


class GlancePanel(Panel):
    """The airplane and its results in one table."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.summary = w.HTML()
        self.result = w.HTML()
        self.result.add_class("glance-result")
        self.assemble(self.summary, self.result)
        self._fill()

    @guarded
    def _fill(self):
        a, stalls = self.study.aircraft, self.study.stalls
        where = "the demonstration (invented, read-only)" if a.invented else str(self.study.folder)
        flights = f"{self.study.case.flights} flight{'' if self.study.case.flights == 1 else 's'}"
        self.summary.value = (
            f"<p><b>{html.escape(self.study.name)}</b>, from {html.escape(where)}: {len(stalls.row)} stalls on "
            f"{flights}, wing area {a.wing.area:.2f} m², reference weight "
            f"{self.study.reference_weight:.0f} kg.</p>"
        )
        self.result.value = self.study.reduction._repr_html_()


def glance_panel(study: Study) -> GlancePanel:
    """The case at a glance.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    GlancePanel [-]
    """
    return GlancePanel(study)
