"""The case at a glance: which airplane, what is known of it, what comes out."""

from __future__ import annotations

import html

import ipywidgets as w

from aerolib.case.folder import Case
from aerolib.show.panels.base import Panel, guarded


class GlancePanel(Panel):
    """The airplane and its results in one table."""

    def __init__(self, case: Case):
        super().__init__()
        self.case = case
        self.summary = w.HTML()
        self.result = w.HTML()
        self.result.add_class("glance-result")
        self.assemble(self.summary, self.result)
        self._fill()

    @guarded
    def _fill(self):
        a, stalls = self.case.aircraft, self.case.stalls
        where = "the demonstration (invented, read-only)" if a.invented else str(self.case.folder)
        flights = f"{self.case.flights} flight{'' if self.case.flights == 1 else 's'}"
        self.summary.value = (
            f"<p><b>{html.escape(self.case.name)}</b>, from {html.escape(where)}: {len(stalls.row)} stalls on "
            f"{flights}, wing area {a.wing.area:.2f} m², reference weight "
            f"{self.case.reference_weight:.0f} kg.</p>"
        )
        self.result.value = self.case.reduce()._repr_html_()


def glance_panel(case: Case) -> GlancePanel:
    """The case at a glance.

    Parameters
    ----------
    case : Case [-]

    Returns
    -------
    GlancePanel [-]
    """
    return GlancePanel(case)
