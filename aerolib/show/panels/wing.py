"""A wing near its stall: by hand with the short forms, then by the lifting line, and where the stall starts."""

from __future__ import annotations

import math
from dataclasses import replace

import ipywidgets as w
import numpy as np

from aerolib.case.problems import CaseError
from aerolib.case.published import section_table
from aerolib.physics.lifting_line import Planform, straight_taper
from aerolib.predicted.flap import KINDS, WING_FACTOR
from aerolib.predicted.section import SectionLift, section_lift
from aerolib.predicted.wing import CAUTIONS, SpanIncrement, WingClmax, wing_clmax
from aerolib.show.figures.wing import wing_picture
from aerolib.show.finding import Finding, Sentence, quantity
from aerolib.show.panels.base import Panel, PictureBox, guarded, slider
from aerolib.show.render import body_html, marked, tag, words
from aerolib.show.sections.predicted import wing_parts
from aerolib.study import Study
from aerolib.study.airframe import trim_loss_of
from aerolib.study.flaps import FlapSettings

OURS = straight_taper(10.0, 15.0, 1.0, washout=0.0, aileron=(2.9, 4.7), side=0.5)  # an invented rectangular wing
OUR_SECTION = ("NACA 2412", 2.5e6)
SHORT = 0.9  # CLmax of an unswept wing over clmax of its section: common practice; aspect ratio above 5


class WingPanel(Panel):
    """Span, taper, washout, flap and section limits: CLmax by hand and by the lifting line, and the picture."""

    def __init__(self, study: Study | None = None):
        super().__init__()
        self.study: Study | None = None
        self.result: WingClmax | None = None
        self.settings: FlapSettings | None = None
        self.origin = self._from_case(study)
        origin = w.HTML(tag("p", words(self.origin), class_="wing-origin"))
        root, tip = (s.clmax.value for s in self.sections.values())
        plan, most = self.planform, 0.0
        if self.settings is not None:
            most = float(round(math.degrees(KINDS[self.settings.kind].highest)))
        low, high = round(0.75 * plan.span, 1), round(1.4 * plan.span, 1)
        self.span = slider("Span, the area kept [m]", round(plan.span, 3), low, high, 0.05, 2)
        taper, washout = round(plan.chord[-1] / plan.chord[0], 3), round(-math.degrees(plan.twist[-1]), 3)
        self.taper = slider("Tip chord over root chord [-]", taper, 0.2, 1.2, 0.01, 2)
        self.washout = slider("Washout of the tip [deg]", washout, -4.0, 8.0, 0.1, 1)
        self.clmax_root = slider("Section limit at the root [-]", round(root, 3), 0.6, 2.4, 0.01, 2)
        self.clmax_tip = slider("Section limit at the tip [-]", round(tip, 3), 0.6, 2.4, 0.01, 2)
        self.flap = slider("Flap down [deg]", 0.0, 0.0, most, 1.0, 0)
        self.flap.disabled = most == 0.0
        self.by_hand, self.answer = w.HTML(), w.HTML()
        self.by_hand.add_class("wing-by-hand")
        self.answer.add_class("wing-result")
        self.picture = PictureBox("wing", 820, 712)
        controls = (self.span, self.taper, self.washout, self.clmax_root, self.clmax_tip, self.flap)
        # A slider shows fewer digits than the case gives: until it is moved, the case's own value counts.
        self.start = {c: c.value for c in controls}
        self.watch(*controls)
        self.assemble(origin, w.VBox(controls), self.by_hand, self.picture, self.answer)
        self._update()

    def _from_case(self, study: Study | None) -> str:
        """Planform, sections and flap; a sentence on where they came from."""
        try:
            if study is None:
                raise CaseError("no case was given")
            self.planform, self.sections = study.planform, study.sections
        except CaseError as e:
            name, reynolds = OUR_SECTION
            section = section_lift(name, reynolds, table=section_table())
            self.planform, self.sections = OURS, {0.0: section, 1.0: section}
            return f"An invented rectangular wing of 10 m span with section {name}, because {e}"
        self.study, told = study, ""
        try:
            self.settings = study.flap_settings
        except CaseError as e:
            told = f" No flap: {e}."
        names = sorted({s.name for s in self.sections.values()})
        return (
            f"The wing of {study.name}, section {' and '.join(names)}, as `aircraft.toml` has it.{told} Move a slider "
            "to try another."
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
        chord *= own.area / (np.trapezoid(chord, y) * span)
        shape = np.array(own.twist) / own.twist[-1] if own.twist[-1] else y
        stretch = span / own.span
        flap, aileron = (ends and (stretch * ends[0], stretch * ends[1]) for ends in (own.flap, own.aileron))
        plan = replace(own, span=span, station=(*(0.5 * span * y[:-1]), 0.5 * span), chord=tuple(chord),
                       twist=tuple(washout * shape), flap=flap, aileron=aileron)  # fmt: skip
        sections = {}
        for control, (share, s) in zip((self.clmax_root, self.clmax_tip), self.sections.items()):
            limit = self._value(control, s.clmax.value)
            sections[share] = replace(s, clmax=s.clmax.scaled(limit / s.clmax.value, "-"))
        return plan, sections

    def found(self, plan: Planform, sections: dict[float, SectionLift]) -> WingClmax:
        """The wing as the sliders have it, the ends of the flap moved with the span; the study's own until one moves.

        The tail's share is that of the airplane as it stands.
        """
        angle = math.radians(self.flap.value)
        if self.study is not None and all(c.value == x for c, x in self.start.items() if c is not self.flap):
            for c in self.study.aircraft.configuration:
                if c.flap is not None and abs(c.flap - angle) < 1e-9 and c.name in self.study.wings[0]:
                    return self.study.wings[0][c.name]
        found = wing_clmax(plan, sections, increments=self.devices(plan, sections[0.0]))
        flap = self.settings.increment(angle) if self.settings is not None and angle else None
        loss = self.study and trim_loss_of(self.study, flap, found.clmax.value)
        return found.trimmed_by(loss) if loss else found

    def devices(self, plan: Planform, section: SectionLift) -> list[SpanIncrement]:
        """The flap of the case, its ends moved with the span."""
        if self.settings is None or not self.flap.value:
            return []
        own = replace(self.settings, clmax_clean=section.clmax.value).devices(math.radians(self.flap.value))
        stretch = plan.span / self.planform.span
        return [replace(i, inner=stretch * i.inner, outer=stretch * i.outer) for i in own]

    @guarded
    def _update(self, *_):
        try:
            plan, sections = self.wing()
            increments = self.devices(plan, sections[0.0])
            result = self.found(plan, sections)
        except ValueError as e:
            raise CaseError(str(e)) from None
        self.result = result
        self.by_hand.value = self._hand(result, sections, increments)
        self.answer.value = body_html(Finding("wing", "", parts=wing_parts(result), cautions=CAUTIONS))
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
        by_hand = Sentence(
            f" CLmax = {SHORT:g} × {mean:.2f} (mean of the section's limits){flaps} = {{wing-short}}. Lift slope "
            f"2πA / (2 + √(4 + A²/κ²)), A = {{wing-aspect}}, κ = {kappa:.3f} (section slope over 2π): "
            "{wing-helmbold} per radian.",
            {"wing-short": quantity(short, "cl"), "wing-aspect": quantity(a, "factor"),
             "wing-helmbold": quantity(helmbold, "factor")},
        )  # fmt: skip
        by_line = Sentence(
            " The stall starts at CL {wing-touch}, {wing-at} from the centerline; quoted, the stall having spread: "
            "{wing-quoted:value}; trimmed, to hold beside a flight: {wing-trimmed:value}. Lift slope {wing-slope} per "
            "radian, induced drag {wing-drag} times the least.",
            {"wing-touch": f"{result.first_touch:.3f}", "wing-at": quantity(result.first_touch_at, "length"),
             "wing-quoted": quantity(result.clmax.value, "cl"), "wing-trimmed": quantity(result.trimmed.value, "cl"),
             "wing-slope": f"{result.slope:.3f}", "wing-drag": f"{1.0 + result.drag_factor:.3f}"},
        )  # fmt: skip
        named = (("By hand, the short forms.", by_hand), ("By the lifting line.", by_line))
        return "".join(tag("p", tag("b", head) + marked(told)) for head, told in named)
