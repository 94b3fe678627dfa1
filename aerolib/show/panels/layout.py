"""Lay it out: pitch, height and place of a row of devices, the positions, and the sheet to mark the airplane with."""

from __future__ import annotations

import base64
import html
import math

import ipywidgets as w

from aerolib.case.problems import CaseError
from aerolib.predicted.layout_result import cautions_list
from aerolib.show.layout_figure import layout_picture
from aerolib.show.marking_sheet import PAPERS
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.show.sections.layout import card_of, sheet_name, sheet_of
from aerolib.study import Study
from aerolib.study.layout import plan_layouts

# key of [[device]], text, low, high, step, shown per SI unit
SLIDERS = (
    ("pitch", "Pitch [mm]", 10.0, 300.0, 1.0, 1e3),
    ("chord_station", "Front ends, of the local chord [%]", 1.0, 80.0, 0.5, 1e2),
    ("height", "Height [mm]", 2.0, 60.0, 0.5, 1e3),
    ("length", "Length [mm]", 4.0, 200.0, 1.0, 1e3),
    ("angle", "Vane angle [deg]", 5.0, 40.0, 0.5, 180.0 / math.pi),
    ("span_inner", "First, from the centreline [m]", 0.0, 8.0, 0.01, 1.0),
    ("span_outer", "At most out to [m]", 0.2, 12.0, 0.01, 1.0),
)


class LayoutPanel(Panel):
    """Sliders for one row of the case; nothing is written to the case."""

    def __init__(self, study: Study):
        super().__init__()
        self.study, self.layouts = study, ()
        style, layout = {"description_width": "240px"}, w.Layout(width="640px")
        self.controls = {
            key: w.FloatSlider(low, min=low, max=high, step=step, description=text, continuous_update=False,
                               style=style, layout=layout, readout_format=".2f" if factor == 1.0 else ".1f")
            for key, text, low, high, step, factor in SLIDERS
        }  # fmt: skip
        narrow = w.Layout(width="400px")
        self.paper = w.Dropdown(options=list(PAPERS), description="Paper", style=style, layout=narrow)
        self.make = w.Button(description="Make the sheets", icon="file", layout=w.Layout(width="auto"))
        self.make.on_click(self._make)
        self.links, self.result, self.fitted = w.HTML(), w.HTML(), w.HTML()
        for box, name in ((self.links, "links"), (self.result, "result"), (self.fitted, "fitted")):
            box.add_class(f"layout-{name}")
        self.picture = PictureBox("layout", 820, 440)
        self._start()
        for control in self.controls.values():
            control.observe(self._update, "value")
        self.paper.observe(self._stale, "value")
        self.assemble(w.VBox(list(self.controls.values())), self.picture.box, w.HBox([self.paper, self.make]),
                      self.links, self.result, self.fitted)  # fmt: skip
        self._update()
        self._records()

    @guarded
    def _start(self):
        """Sliders from the first row of the case; a widget holds a value outside its range at the nearer end."""
        first = next(iter(self.study.layouts), None)
        if first is None:
            raise CaseError("the case has no [[device]] with a pitch: write one into `aircraft.toml`, see the template")
        device = next(d for d in self.study.aircraft.device if d.name == first.device)
        for key, _, low, high, _, factor in SLIDERS:
            value, control = round(factor * getattr(device, key), 6), self.controls[key]
            control.min, control.max = min(low, value), max(high, value)
            control.value = value

    @guarded
    def _update(self, *_):
        changes = {key: self.controls[key].value / factor for key, *_, factor in SLIDERS}
        layouts = plan_layouts(self.study, **changes)[:2]
        if not layouts:
            raise CaseError("the case has no [[device]] with a pitch: write one into `aircraft.toml`, see the template")
        self.layouts = left, right = layouts
        self._stale()
        counts = " ".join(f"{x.side.upper()} <b class='layout-count-{x.side}'>{x.count}</b>" for x in layouts)
        said = "".join(f"<li>{html.escape(n)}</li>" for n in right.said() if n not in left.said())
        self.result.value = f"<p>Positions: {counts}</p>{left._repr_html_()}<ul>{said}</ul>{cautions_list()}"
        self.picture.show(tuple(changes.items()), lambda: layout_picture(left, right))

    @guarded(clears=False)
    def _records(self):
        records = self.study.fitted
        self.fitted.value = "".join(
            f"<h4>As fitted, '{html.escape(m)}': what a comparison takes</h4>{r._repr_html_()}"
            for m, r in records.items()
        )

    @guarded(clears=False)
    def _stale(self, *_):
        """Sheets of an earlier layout are not offered."""
        self.links.value = ""

    @guarded
    def _make(self, *_):
        paper = self.paper.value
        files = {sheet_name(x, paper): sheet_of(x, paper, self.study) for x in self.layouts}
        files["preflight-count.pdf"] = card_of(self.study, self.layouts, self.study.fitted)
        self.links.value = "<p>Print at 100 %, 'actual size': " + ", ".join(
            f"<a download='{name}' href='data:application/pdf;base64,{base64.b64encode(data).decode()}'>{name}</a>"
            for name, data in files.items()
        ) + "</p>"  # fmt: skip


def layout_panel(study: Study) -> LayoutPanel:
    """Lay out the first row of devices of a case.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    LayoutPanel [-]
    """
    return LayoutPanel(study)
