"""The case at a glance: which airplane, what is known of it, what comes out."""

from __future__ import annotations

import ipywidgets as w

from aerolib.measured.stalls.results import CAUTIONS
from aerolib.show.finding import Finding, Quantity, Sentence
from aerolib.show.panels.base import Panel
from aerolib.show.render import body_html, reader_of
from aerolib.show.sections.clmax import result_table
from aerolib.study import Study


class GlancePanel(Panel):
    """The airplane and its results in one table."""

    def __init__(self, study: Study):
        super().__init__()
        self.result = w.HTML()
        self.result.add_class("glance-result")
        self.assemble(self.result)
        a, count = study.aircraft, study.case.flights
        airplane = Sentence(
            "{name}, from {where}: {stalls} stalls on {flights}, wing area {area}, reference weight {weight}.",
            {"name": study.name,
             "where": "the demonstration (invented, read-only)" if a.invented else str(study.folder),
             "stalls": str(len(study.stalls.row)), "flights": f"{count} flight{'' if count == 1 else 's'}",
             "area": Quantity(a.wing.area, "area"), "weight": Quantity(study.reference_weight, "mass")},
        )  # fmt: skip
        found = Finding("glance", "", parts=(airplane, result_table(study.reduction)), cautions=CAUTIONS)
        self.result.value = body_html(found, reader_of(study.dial_unit))
