"""A flap on the wing: by hand with the short form, step by step, by the lifting line, and beside the owner's stalls."""

from __future__ import annotations

import math
from dataclasses import replace

import ipywidgets as w
import numpy as np

from aerolib.case.problems import CaseError
from aerolib.case.published import published
from aerolib.case.schema import Configuration
from aerolib.physics.lifting_line import straight_taper
from aerolib.predicted.flap import (
    INCREMENTS,
    KINDS,
    WING_FACTOR,
    FlapIncrement,
    effectiveness,
    flap_span,
    flap_theory,
    trimmed_clmax,
)
from aerolib.show.figures.flap import CleanWing, GainPoint, flap_picture
from aerolib.show.finding import Column, Finding, Quantity, Sentence, Table
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded, slider
from aerolib.show.render import body_html, marked, tag, words
from aerolib.study import Study
from aerolib.study.flaps import FlapGain, FlapSettings, flap_gain, measured_gains
from aerolib.study.wing import wing_of

OURS = straight_taper(10.0, 15.0, 1.0)  # where the case says too little: an invented rectangular wing
INVENTED = "An invented wing of 10 m span and 1.5 m chord, of which only the flapped area counts: "
NODES = 7  # deflections that the picture's line goes through


class FlapPanel(Panel):
    """Kind, chord, deflection and span of a flap: what it adds, three ways, and the picture."""

    def __init__(self, study: Study | None = None):
        super().__init__()
        self.study: Study | None = None
        self.planform = OURS
        self.points: tuple[GainPoint, ...] = ()
        self.clean = CleanWing(math.radians(-4.0), 4.8, 1.45, "invented")
        self.own = FlapSettings("slotted", 0.25, flap_span(OURS, 0.6, 2.75), 0.12, 1.5, 2e6)
        self.deflections: dict[str, float] = {}
        self._nodes: tuple[FlapSettings | None, list[FlapGain]] = (None, [])  # of the line last drawn
        self.origin = self._from_case(study)
        origin = w.HTML(tag("p", words(self.origin), class_="flap-origin"))
        s, half = self.own, 0.5 * self.planform.span
        largest = math.degrees(max(self.deflections.values(), default=math.radians(30.0)))
        self.kind = choice("Kind of flap", tuple(KINDS), s.kind, 230)
        self.chord_ratio = slider("Flap chord over wing chord [-]", round(s.chord_ratio, 3), 0.10, 0.50, 0.005, 3, 230)
        self.extension = slider("Chord it adds when down [-]", round(s.extension, 3), 0.0, 0.50, 0.005, 3, 230)
        self.deflection = slider("Deflection [deg]", round(largest), 0.0, 70.0, 1.0, 0, 230)
        self.inner = slider("Inner end from the centerline [m]", s.span.parts[0][0], 0.0, round(half, 2), 0.05, 2, 230)
        self.outer = slider("Outer end from the centerline [m]", s.span.parts[-1][1], 0.0, round(half, 2), 0.05, 2, 230)
        self.by_hand, self.result = w.HTML(), w.HTML()
        self.by_hand.add_class("flap-by-hand")
        self.result.add_class("flap-result")
        self.picture = PictureBox("flap", 840, 390)
        controls = (self.kind, self.chord_ratio, self.extension, self.deflection, self.inner, self.outer)
        self.start = [c.value for c in controls if c is not self.deflection]
        self.controls = controls
        self.watch(*controls)
        self.assemble(origin, w.VBox(controls), self.picture, self.by_hand, self.result)
        self._update()

    def _from_case(self, study: Study | None) -> str:
        """Settings, clean airplane and points of the case; a sentence on where they came from."""
        if study is None:
            return INVENTED + "nothing here belongs to an airplane."
        self.deflections = {c.name: c.flap for c in study.aircraft.configuration if c.flap}
        try:
            settings = study.flap_settings
            if settings is None:
                raise CaseError(f"{study.name} has no flap")
            up = next((x for n, x in study.wings[0].items() if n not in self.deflections), None) or wing_of(study)
        except CaseError as e:
            return f"{INVENTED}the case says too little. {e}"
        self.study, self.own, self.planform = study, settings, study.planform
        self.clean = CleanWing(study.sections[0.0].alpha0, up.slope, up.trimmed.value, "predicted")
        if len(study.stalls.row):
            first = study.reduction.items[0].modification
            self.points = tuple(
                GainPoint(m, c, d, e.value, e.interval95, m == first) for m, c, d, e in measured_gains(study)
            )
        return f"The flap and wing of {study.name}, as `aircraft.toml` has them. Move a slider to try another."

    def settings(self) -> FlapSettings:
        """The flap as the sliders have it; the case's own values, and its cut-outs, until one is moved."""
        if [c.value for c in self.controls if c is not self.deflection] == self.start:
            return self.own
        kind, longer = self.kind.value, self.kind.value not in ("plain", "split")
        span = flap_span(self.planform, round(self.inner.value, 4), round(self.outer.value, 4))
        return replace(self.own, kind=kind, chord_ratio=self.chord_ratio.value, span=span,
                       extension=self.extension.value if longer else 0.0,
                       gap=self.own.gap if kind == "plain" else 0.0)  # fmt: skip

    def gain(self, settings: FlapSettings, deflection: float) -> FlapGain:
        """What it adds at a deflection [rad]: that of the study where this is the flap as it stands."""
        if self.study is None:
            increment = settings.increment(deflection)
            return FlapGain(deflection, trimmed_clmax(increment, settings.tail_arm), increment, False)
        same = (n for n, x in self.deflections.items() if settings is self.own and abs(x - deflection) < 1e-9)
        if (name := next(same, None)) in self.study.flap_gains[0]:
            return self.study.flap_gains[0][name]
        return flap_gain(self.study, Configuration.model_construct(name="this flap", flap=deflection), settings)

    @guarded
    def _update(self, *_):
        try:
            settings, deflection = self.settings(), math.radians(self.deflection.value)
            section = settings.increment(deflection, wing=False)
            gain = self.gain(settings, deflection)
        except ValueError as e:
            raise CaseError(str(e)) from None
        self.by_hand.value = self._hand(settings, section, gain)
        self.result.value = body_html(increments(gain.increment))
        self.picture.show((settings, deflection), lambda: flap_picture(self._line(settings, gain), gain, self.clean,
                                                                       self.points))  # fmt: skip

    def _line(self, settings: FlapSettings, gain: FlapGain) -> list[FlapGain]:
        """The same flap at deflections from none to the largest, found by the same method, this one among them."""
        if self._nodes[0] != settings:
            angles = np.linspace(0.0, KINDS[settings.kind].highest, NODES)
            self._nodes = (settings, [self.gain(settings, float(a)) for a in angles])
        nodes = [g for g in self._nodes[1] if g.whole_wing == gain.whole_wing and g.deflection != gain.deflection]
        return sorted([gain, *nodes], key=lambda g: g.deflection)

    def _hand(self, settings: FlapSettings, section: FlapIncrement, gain: FlapGain) -> str:
        table = next(
            float(str(r["increment_of_clmax"])) for r in published("flap_handbook") if r["kind"] == settings.kind
        )
        share, d = settings.span.area_share, gain.deflection
        ratio = settings.chord_ratio / (1.0 + settings.extension)
        stall = float(np.divide(section.clmax, section.lift, out=np.zeros(()), where=section.lift != 0.0))

        how = "by the whole wing, the flap as a step in angle of attack and in limit along the span"
        told = (
            ("By hand, the short form.", f" {WING_FACTOR:g} × {table:g} (a textbook's round number for a "
             f"{settings.kind} flap, fully down) × {{flap-area}} (flapped area over wing area) = {{flap-short}}."),
            ("Step by step.", f" A hinged plate gives {{flap-theory}} per radian, times {d:.3f} rad; of that a real "
             "flap keeps {flap-kept}: lift at fixed angle of attack {flap-lift}. At the stall "
             f"{100 * stall:.0f} % of it is still there: clmax of the section rises by {{flap-section}}. On its share "
             f"of the area, {WING_FACTOR:g} × {share:.3f}, that would be {{flap-wing}} of the wing."),
            ("The answer:", " CLmax of the trimmed airplane rises by {flap-trimmed} ({flap-low} to {flap-high}), "
             f"{how if gain.whole_wing else 'by the flapped area: the whole wing is not predicted here'}."),
        )  # fmt: skip
        two: dict[str, float | np.ndarray] = {
            "short": WING_FACTOR * table * share, "kept": effectiveness(settings.kind, ratio, d),
            "lift": section.lift, "section": section.clmax, "wing": gain.increment.clmax, "trimmed": gain.clmax.value,
            "low": gain.clmax.interval95[0], "high": gain.clmax.interval95[1],
        }  # fmt: skip
        slots = {f"flap-{name}": f"{float(x):.2f}" for name, x in two.items()}
        slots |= {"flap-area": f"{share:.3f}", "flap-theory": f"{float(flap_theory(ratio)[0]):.3f}"}
        return "".join(tag("p", tag("b", head) + marked(Sentence(text, slots))) for head, text in told)


def increments(found: FlapIncrement) -> Finding:
    """What a flap adds to lift, angles, moment and drag of the wing; CLmax is that of the answer above."""
    rows = []
    for name, (what, _) in INCREMENTS.items():
        value, u = float(getattr(found, name)), 1.96 * float(found.standard_uncertainty(name))
        if name not in ("clmax", "stall_angle"):
            rows.append((what, Quantity(value, "angle" if "angle" in name else "cl", (value - u, value + u))))
    given = "; ".join(f"{k} {v:.4g}" if isinstance(v, float) else f"{k} {v}" for k, v in found.inputs.items())
    return Finding(
        "flap", "What does a flap add?",
        parts=(Table((Column("increment, wing without tail"), Column("value")), tuple(rows)),
               f"Given: {given}. This kind: {found.grounds}.", *found.notes),
        cautions=found.cautions, source=f"Method: {found.source}",
    )  # fmt: skip
