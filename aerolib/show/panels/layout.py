"""Lay it out: spacing, height and place of a row of devices, the positions, and the sheet to mark the airplane with."""

from __future__ import annotations

import base64

import ipywidgets as w

from aerolib.case.problems import CaseError
from aerolib.predicted.layout import CAUTIONS, METHOD, DeviceLayout
from aerolib.show.figures.layout import layout_picture
from aerolib.show.finding import Finding
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded, slider
from aerolib.show.print.marking_sheet import PAPERS
from aerolib.show.render import body_html, tag
from aerolib.show.sections.layout import COUNT, card_of, fitted_parts, layout_parts, sheets
from aerolib.study import Study
from aerolib.study.layout import plan_layouts
from aerolib.units import from_si, to_si

# key of [[device]]: text, unit, its kind, low, high, step, digits
SLIDERS = {
    "pitch": ("Spacing [mm]", "mm", "length", 10.0, 300.0, 1.0, 1),
    "chord_station": ("Front ends, of the local chord [%]", "%", "ratio", 1.0, 80.0, 0.5, 1),
    "height": ("Height [mm]", "mm", "length", 2.0, 60.0, 0.5, 1),
    "length": ("Length [mm]", "mm", "length", 4.0, 200.0, 1.0, 1),
    "angle": ("Vane angle [deg]", "deg", "angle", 5.0, 40.0, 0.5, 1),
    "span_inner": ("First, from the centerline [m]", "m", "length", 0.0, 8.0, 0.01, 2),
    "span_outer": ("At most out to [m]", "m", "length", 0.2, 12.0, 0.01, 2),
}


class LayoutPanel(Panel):
    """Sliders for the first row of the case; nothing is written to the case."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.layouts: tuple[DeviceLayout, ...] = ()
        self.controls: dict[str, w.FloatSlider] = {}
        self.links, self.result, self.fitted = w.HTML(), w.HTML(), w.HTML()
        for box, name in ((self.links, "links"), (self.result, "result"), (self.fitted, "fitted")):
            box.add_class(f"layout-{name}")
        self.picture = PictureBox("layout", 820, 440)
        device = self._first()
        if device is None:
            return
        for key, (text, unit, kind, low, high, step, digits) in SLIDERS.items():
            shown = round(from_si(getattr(device, key), unit, kind), 6)
            self.controls[key] = slider(text, shown, low, high, step, digits, 240)
        self.paper = choice("Paper", list(PAPERS), wide=240)
        self.make = w.Button(description="Make the sheets", icon="file", layout=w.Layout(width="auto"))
        self.make.on_click(self._make)
        self.watch(*self.controls.values())
        self.watch(self.paper, update=self._stale)
        self.assemble(*self.controls.values(), self.picture, w.HBox([self.paper, self.make]), self.links, self.result,
                      self.fitted)  # fmt: skip
        self._update()
        self._records()

    @guarded
    def _first(self):
        """The device whose row stands first."""
        first = next(iter(self.study.layouts), None)
        if first is None:
            raise CaseError(
                "the case has no [[device]] with a spacing (`pitch`): write one into `aircraft.toml`, see the template"
            )
        return next(d for d in self.study.aircraft.device if d.name == first.device)

    @guarded
    def _update(self, *_):
        changes = {key: to_si(self.controls[key].value, s[1], s[2]) for key, s in SLIDERS.items()}
        self.layouts = left, right = plan_layouts(self.study, **changes)[:2]
        self._stale()
        counts = " ".join(f"{x.side.upper()} {tag('b', str(x.count), class_=f'layout-count-{x.side}')}"
                          for x in self.layouts)  # fmt: skip
        shown = Finding("layout", "", parts=layout_parts(left, right), cautions=CAUTIONS, source=METHOD)
        self.result.value = tag("p", f"Positions: {counts}") + body_html(shown)
        self.picture.show(tuple(changes.items()), lambda: layout_picture(left, right))

    @guarded(clears=False)
    def _records(self):
        self.fitted.value = body_html(Finding("layout", "", parts=fitted_parts(self.study.fitted)))

    @guarded(clears=False)
    def _stale(self, *_):
        """Sheets of an earlier layout are not offered."""
        self.links.value = ""

    @guarded
    def _make(self, *_):
        files, problems = sheets(self.study, self.layouts, (self.paper.value,))
        if problems:
            raise CaseError(problems)
        files[COUNT] = card_of(self.study, self.layouts, self.study.fitted)
        links = (
            tag("a", name, download=name, href=f"data:application/pdf;base64,{base64.b64encode(data).decode()}")
            for name, data in files.items()
        )
        self.links.value = tag("p", f"Print at 100 %, 'actual size': {', '.join(links)}")
