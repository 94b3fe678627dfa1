"""The kneeboard card from the workbook: no height, no card."""

from __future__ import annotations

import warnings
from pathlib import Path

import ipywidgets as w

from aerolib.case.problems import CaseError
from aerolib.show.panels.base import Panel, choice, guarded
from aerolib.show.print.card import kneeboard_card
from aerolib.show.render import tag, words
from aerolib.study import Study
from aerolib.units import UnitProblem, parse_quantity


class KneeboardPanel(Panel):
    """Heights and choices for one card, and a button that writes it beside the workbook."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        style, layout = {"description_width": "330px"}, w.Layout(width="580px")
        common = {"style": style, "layout": layout}
        self.recovery = w.Text(description="Recovered at, above ground", placeholder="5000 ft", **common)
        self.ground = w.Text(
            description="Ground elevation (empty: QNH heights by hand)", placeholder="1240 ft", **common
        )
        self.lost = w.Text(description="Largest height loss expected (empty: as recorded)", **common)
        states = study.states
        self.modification = choice("Modification", states, states[-1], 330)
        self.paper = choice("Paper", ["A5", "half Letter"], wide=330)
        self.done = w.Checkbox(
            description="every box of the build-up is ticked and signed", layout=layout, indent=False
        )
        self.power = w.Checkbox(description="power-on stalls too", layout=layout, indent=False)
        self.write = w.Button(description="Write the card", icon="file", layout=w.Layout(width="auto"))
        self.write.on_click(self._write)
        self.told = w.HTML()
        self.told.add_class("kneeboard-told")
        self.assemble(self.recovery, self.ground, self.lost, self.modification, self.paper, self.power, self.done,
                      self.write, self.told)  # fmt: skip

    @guarded
    def _write(self, *_):
        path = Path.cwd() / f"kneeboard-{self.modification.value}.pdf".replace("/", "-").replace(" ", "-")
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always")
            kneeboard_card(self.study, path, recovery_height=self._height("recovered at", self.recovery.value),
                           ground_elevation=self._height("ground elevation", self.ground.value), paper=self.paper.value,
                           height_lost=self._height("height loss", self.lost.value), power_stalls=self.power.value,
                           modification=self.modification.value, build_up_done=self.done.value)  # fmt: skip
        notes = [tag("b", words(str(c.message))) for c in caught if c.category is UserWarning]
        self.told.value = "".join(tag("p", x) for x in (words(f"Written: {path}"), *notes))

    @staticmethod
    def _height(name: str, text: str) -> float | None:
        if not text.strip():
            return None
        try:
            return parse_quantity(text, "altitude")
        except UnitProblem as e:
            raise CaseError(f"{name}: {e}") from None
