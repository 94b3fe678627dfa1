"""A wing near its stall: by hand with the short forms, then by the lifting line, and where the stall starts."""

from __future__ import annotations

import html
import math
from dataclasses import replace

import ipywidgets as w
import numpy as np

from aerolib.case.problems import CaseError
from aerolib.case.published import section_table
from aerolib.physics.lifting_line import Planform, straight_taper
from aerolib.predicted.flap.increment import KINDS, WING_FACTOR
from aerolib.predicted.section import SectionLift, section_lift
from aerolib.predicted.wing import wing_clmax
from aerolib.predicted.wing.result import WingClmax
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.show.wing_figure import wing_picture
from aerolib.study import Study
from aerolib.study.wing import flap_of

OURS = straight_taper(10.0, 15.0, 1.0, washout=0.0, aileron=(2.9, 4.7), side=0.5)  # an invented rectangular wing
OUR_SECTION = ("NACA 2412", 2.5e6)
SHORT = 0.9  # CLmax of an unswept wing over clmax of its section: common practice; aspect ratio above 5


class WingPanel(Panel):
    """Span, taper, washout, flap and section limits: CLmax by hand and by the lifting line, and the picture."""

    def __init__(self, study: Study | None = None):
        super().__init__()
        self.study = study
        self.result: WingClmax | None = None
        self.origin = w.HTML()
        where = self._from_case()
        root, tip = (s.clmax.value for s in self.sections.values())
        plan = self.planform
        style, layout = {"description_width": "270px"}, w.Layout(width="680px")

        def slider(value, low, high, step, text, form=".2f"):
            return w.FloatSlider(round(value, 3), min=low, max=high, step=step, description=text, readout_format=form,
                                 continuous_update=False, style=style, layout=layout)  # fmt: skip

        self.span = slider(plan.span, round(0.75 * plan.span, 1), round(1.4 * plan.span, 1), 0.05,
                           "Span, the area kept [m]")  # fmt: skip
        self.taper = slider(plan.chord[-1] / plan.chord[0], 0.2, 1.2, 0.01, "Tip chord over root chord [-]")
        self.washout = slider(-math.degrees(plan.twist[-1]), -4.0, 8.0, 0.1, "Washout of the tip [deg]", ".1f")
        self.clmax_root = slider(root, 0.6, 2.4, 0.01, "Section limit at the root [-]")
        self.clmax_tip = slider(tip, 0.6, 2.4, 0.01, "Section limit at the tip [-]")
        self.flap = slider(0.0, 0.0, self.most, 1.0, "Flap down [deg]", ".0f")
        self.flap.disabled = self.most == 0.0
        self.by_hand, self.answer = w.HTML(), w.HTML()
        self.by_hand.add_class("wing-by-hand")
        self.answer.add_class("wing-result")
        self.picture = PictureBox("wing", 820, 712)
        controls = (self.span, self.taper, self.washout, self.clmax_root, self.clmax_tip, self.flap)
        # A slider shows fewer digits than the case gives: until it is moved, the case's own value counts.
        self.start = {c: c.value for c in controls}
        for control in controls:
            control.observe(self._update, "value")
        self.assemble(self.origin, w.VBox(controls), self.by_hand, self.picture.box, self.answer)
        self.origin.value = f"<p class='wing-origin'>{html.escape(where)}</p>"
        self._update()

    def _from_case(self) -> str:
        """Planform, sections and the flap's largest deflection; a sentence on where they came from."""
        self.most = 0.0
        try:
            if self.study is None:
                raise CaseError("no case was given")
            self.planform, self.sections = self.study.planform, self.study.sections
        except CaseError as e:
            name, reynolds = OUR_SECTION
            section = section_lift(name, reynolds, table=section_table())
            self.planform, self.sections = OURS, {0.0: section, 1.0: section}
            return f"An invented rectangular wing of 10 m span with section {name}, because {e}"
        wing = self.study.aircraft.wing
        ready = None not in (wing.flap_kind, wing.flap_chord, wing.flap_inner, wing.flap_outer)
        if ready and wing.flap_kind != "none":
            self.most = float(round(math.degrees(KINDS[wing.flap_kind].highest)))
        told = "" if self.most else " No flap: its kind, its chord and both ends are not all given."
        names = {s.name for s in self.sections.values()}
        return (
            f"The wing of {self.study.name}, section {' and '.join(sorted(names))}, as `aircraft.toml` has it.{told} "
            "Move a slider to try another."
        )

    def _value(self, control, own: float) -> float:
        return own if control.value == self.start[control] else control.value

    def wing(self) -> tuple[Planform, dict[float, SectionLift]]:
        """Planform and sections as the sliders have them."""
        own = self.planform
        y = np.array(own.station) / (0.5 * own.span)
        own_taper = own.chord[-1] / own.chord[0]
        span = self._value(self.span, own.span)
        taper = self._value(self.taper, own_taper)
        washout = -math.radians(self._value(self.washout, -math.degrees(own.twist[-1])))
        chord = np.array(own.chord) * (1.0 + (taper / own_taper - 1.0) * y)
        shape = np.array(own.twist) / own.twist[-1] if own.twist[-1] else y
        stretch = span / own.span
        chord *= own.area / (np.trapezoid(chord, y) * span)
        moved = {n: ends and tuple(stretch * e for e in ends) for n, ends in (("flap", own.flap),
                                                                             ("aileron", own.aileron))}  # fmt: skip
        station = (*(0.5 * span * y[:-1]), 0.5 * span)
        plan = replace(own, span=span, station=station, chord=tuple(chord), twist=tuple(washout * shape), **moved)
        limits = [self._value(c, s.clmax.value) for c, s in zip((self.clmax_root, self.clmax_tip),
                                                               self.sections.values())]  # fmt: skip
        sections = {
            share: replace(s, clmax=s.clmax.scaled(limit / s.clmax.value, "-"))
            for (share, s), limit in zip(self.sections.items(), limits)
        }
        return plan, sections

    @guarded
    def _update(self, *_):
        try:
            plan, sections = self.wing()
            increments = []
            if self.flap.value:
                own = flap_of(self.study, math.radians(self.flap.value), sections[0.0])
                stretch = plan.span / self.planform.span
                increments = [replace(i, inner=stretch * i.inner, outer=stretch * i.outer) for i in own]
            result = wing_clmax(plan, sections, increments=increments)
        except ValueError as e:
            raise CaseError(str(e)) from None
        self.result = result
        self.by_hand.value = self._hand(result, sections, increments)
        self.answer.value = result._repr_html_()
        key = (plan, result.limit.tobytes(), result.loading.tobytes(), result.spread)
        self.picture.show(key, lambda: wing_picture(result))

    def _hand(self, result: WingClmax, sections, increments) -> str:
        plan = result.planform
        a, mean = plan.aspect_ratio, float(np.mean([s.clmax.value for s in sections.values()]))
        kappa = float(np.mean([s.slope for s in sections.values()])) / (2.0 * math.pi)
        helmbold = 2.0 * math.pi * a / (2.0 + math.sqrt(4.0 + (a / kappa) ** 2))
        short, flaps = SHORT * mean, ""
        if increments:
            gain = increments[0].delta_clmax.value
            area = sum(plan.area_between(i.inner, i.outer) for i in increments) / plan.area
            short += WING_FACTOR * gain * area
            flaps = f" + {WING_FACTOR:g} × {gain:.2f} × {area:.3f} (the flap, on its share of the area)"

        def b(name, value, form=".2f"):
            return f"<b class='wing-{name}'>{value:{form}}</b>"

        return (
            f"<p><b>By hand, the short forms.</b> CLmax = {SHORT:g} × {mean:.2f} (mean of the section's limits){flaps} "
            f"= {b('short', short)}. Lift slope 2πA / (2 + √(4 + A²/κ²)), A = {b('aspect', a)}, κ = {kappa:.3f} "
            f"(section slope over 2π): {b('helmbold', helmbold)} per radian.</p>"
            f"<p><b>By the lifting line.</b> The stall starts at CL {b('touch', result.first_touch, '.3f')}, "
            f"{b('at', result.first_touch_at)} m out; quoted, the stall having spread: "
            f"{b('quoted', result.clmax.value)}; trimmed, to hold beside a flight: "
            f"{b('trimmed', result.trimmed.value)}. Lift slope {b('slope', result.slope, '.3f')} per radian, "
            f"induced drag {b('drag', 1.0 + result.drag_factor, '.3f')} times the least.</p>"
        )


def wing_panel(study: Study | None = None) -> WingPanel:
    """Try a wing.

    Parameters
    ----------
    case : Study or None [-]
        Whose wing to start from.

    Returns
    -------
    WingPanel [-]
    """
    return WingPanel(study)
