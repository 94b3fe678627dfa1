"""A flap on the wing: by hand with the short form, step by step, by the lifting line, and beside the owner's stalls."""

from __future__ import annotations

import html
import math
from dataclasses import replace

import ipywidgets as w
import numpy as np

from aerolib.case.problems import CaseError
from aerolib.case.published import published
from aerolib.physics.lifting_line import straight_taper
from aerolib.predicted.flap.increment import KINDS, WING_FACTOR, effectiveness, flap_theory
from aerolib.predicted.flap.span import flap_span
from aerolib.predicted.wing import SpanIncrement, wing_clmax
from aerolib.show.flap_figure import CleanWing, GainPoint, flap_picture
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.study import Study
from aerolib.study.flaps import FlapSettings, measured_gains

DEG = math.pi / 180.0
OURS = straight_taper(10.0, 15.0, 1.0)  # where the case says too little: an invented rectangular wing


class FlapPanel(Panel):
    """Kind, chord ratio, deflection and span of a flap: what it adds, three ways, and the picture."""

    def __init__(self, study: Study | None = None):
        super().__init__()
        self.study = study
        self.planform, self.sections, self.points = OURS, None, ()
        self.clean = CleanWing(-4.0 * DEG, 4.8, 1.45, "invented")
        self.settings = FlapSettings("slotted", 0.25, flap_span(OURS, 0.6, 2.75), 0.12, 1.5, 2e6)
        self.origin = w.HTML()
        style, layout = {"description_width": "230px"}, w.Layout(width="640px")

        def slider(value, low, high, step, text, digits=".2f"):
            return w.FloatSlider(value, min=low, max=high, step=step, description=text, readout_format=digits,
                                 continuous_update=False, style=style, layout=layout)  # fmt: skip

        where = self._from_case()
        s, half = self.settings, 0.5 * self.planform.span
        self.kind = w.Dropdown(options=tuple(KINDS), value=s.kind, description="Kind of flap", style=style,
                               layout=w.Layout(width="420px"))  # fmt: skip
        self.chord_ratio = slider(round(s.chord_ratio, 3), 0.10, 0.50, 0.005, "Flap chord over wing chord [-]", ".3f")
        self.deflection = slider(self._deflection(), 0.0, 70.0, 1.0, "Deflection [deg]", ".0f")
        self.inner = slider(s.span.parts[0][0], 0.0, round(half, 2), 0.05, "Inner end from the centreline [m]")
        self.outer = slider(s.span.parts[-1][1], 0.0, round(half, 2), 0.05, "Outer end from the centreline [m]")
        self.by_hand, self.result = w.HTML(), w.HTML()
        self.by_hand.add_class("flap-by-hand")
        self.result.add_class("flap-result")
        self.picture = PictureBox("flap", 840, 390)
        controls = (self.kind, self.chord_ratio, self.deflection, self.inner, self.outer)
        for control in controls:
            control.observe(self._update, "value")
        self.assemble(self.origin, w.VBox(controls), self.picture.box, self.by_hand, self.result)
        self.origin.value = f"<p class='flap-origin'>{html.escape(where)}</p>"
        self._update()

    def _from_case(self) -> str:
        """Settings, clean wing and points of the case; a sentence on where they came from."""
        if self.study is None:
            return "An invented wing of 10 m span and 1.5 m chord: nothing here belongs to an airplane."
        try:
            settings = self.study.flap_settings
            if settings is None:
                raise CaseError(f"{self.study.name} has no flap")
            planform, sections = self.study.planform, self.study.sections
            clean = wing_clmax(planform, sections)
        except CaseError as e:
            return f"An invented wing of 10 m span and 1.5 m chord, because the case says too little: {e}"
        self.settings, self.planform, self.sections = settings, planform, sections
        self.clean = CleanWing(sections[0.0].alpha0, clean.slope, clean.clmax.value, "predicted")
        if len(self.study.stalls.row):
            self._stalls()
        return f"The flap and wing of {self.study.name}, as `aircraft.toml` has them. Move a slider to try another."

    def _stalls(self) -> None:
        """What the owner's stalls say of the flap."""
        gains = measured_gains(self.study)
        first = self.study.reduction.items[0].modification
        self.points = tuple(GainPoint(m, c, d, e.value, e.interval95, m == first) for m, c, d, e in gains)

    def _deflection(self) -> float:
        down = [c.flap / DEG for c in self.study.aircraft.configuration if c.flap] if self.study else []
        return round(max(down, default=30.0))

    @guarded
    def _update(self, *_):
        try:
            key = (round(self.inner.value, 4), round(self.outer.value, 4))
            span = flap_span(self.planform, *key)
            settings = replace(self.settings, kind=self.kind.value, chord_ratio=self.chord_ratio.value, span=span,
                               extension=self.settings.extension if self.kind.value not in ("plain", "split") else 0.0,
                               gap=self.settings.gap if self.kind.value == "plain" else 0.0)  # fmt: skip
            deflection = self.deflection.value * DEG
            wing, section = settings.increment(deflection), settings.increment(deflection, wing=False)
            lifting_line = self._lifting_line(section)
        except ValueError as e:
            raise CaseError(str(e)) from None
        self.by_hand.value = self._hand(settings, section, wing, lifting_line)
        self.result.value = wing._repr_html_()
        self.picture.show(
            (settings, deflection), lambda: flap_picture(settings, deflection, self.clean, self.points)
        )  # fmt: skip

    def _lifting_line(self, section) -> float | None:
        """CLmax the wing gains by the lifting line, the flap as a step; None where the case names no section."""
        if self.sections is None or not self.deflection.value:
            return None
        step = SpanIncrement(self.inner.value, self.outer.value, float(section.clmax), float(section.zero_lift_angle))
        return wing_clmax(self.planform, self.sections, increments=(step,)).clmax.value - self.clean.clmax

    def _hand(self, settings, section, wing, lifting_line) -> str:
        table = {r["kind"]: r["increment_of_clmax"] for r in published("flap_handbook")}[settings.kind]
        share, d = settings.span.area_share, self.deflection.value * DEG
        ratio = settings.chord_ratio / (1.0 + settings.extension)
        theory = float(flap_theory(ratio)[0])
        kept = float(effectiveness(settings.kind, ratio, d))
        stall = float(np.divide(section.clmax, section.lift, out=np.zeros(()), where=section.lift != 0.0))
        trimmed = settings.trimmed(d)

        def b(name, value, form=".2f"):
            return f"<b class='flap-{name}'>{value:{form}}</b>"

        lines = [
            f"<b>By hand, the short form.</b> {WING_FACTOR:g} × {table:g} (a textbook's round number for a "
            f"{settings.kind} flap, fully down) × {b('area', share, '.3f')} (flapped area over wing area) = "
            f"{b('short', WING_FACTOR * table * share)}.",
            f"<b>Step by step.</b> A hinged plate gives {b('theory', theory, '.3f')} per radian, times "
            f"{d:.3f} rad; of that a real flap keeps {b('kept', kept)}: lift at fixed incidence "
            f"{b('lift', float(section.lift))}. At the stall {100 * stall:.0f} % of it is still there: clmax of the "
            f"section rises by {b('section', float(section.clmax))}; of the wing, {WING_FACTOR:g} × {share:.3f} "
            f"times that, by {b('wing', float(wing.clmax))}; of the trimmed airplane, whose tail pays for the "
            f"nose-down moment, by {b('trimmed', trimmed.value)}.",
        ]
        if lifting_line is not None:
            lines.append(
                "<b>By the lifting line</b>, the flap as a step in incidence and in limit along the span: CLmax of the "
                f"wing rises by {b('line', lifting_line)}."
            )
        return "".join(f"<p>{x}</p>" for x in lines)


def flap_panel(study: Study | None = None) -> FlapPanel:
    """Try a flap on a wing.

    Parameters
    ----------
    case : Study or None [-]
        Whose flap, wing and stalls to start from.

    Returns
    -------
    FlapPanel [-]
    """
    return FlapPanel(study)
