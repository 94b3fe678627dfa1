"""The airplane near its wheels: attitude, what touches first, what the pilot sees, how much of a gain is usable."""

from __future__ import annotations

import math

import ipywidgets as w

from aerolib.case.problems import CaseError
from aerolib.consequences.balance import Loading, flow
from aerolib.consequences.landing_attitude import over_the_nose
from aerolib.show.finding import Quantity, Sentence
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded, slider
from aerolib.show.render import body_html, marked, tag
from aerolib.show.sections import landing_attitude as page
from aerolib.show.sections.base import measure_first, sensible
from aerolib.study import Study
from aerolib.study.airframe import asked_cgs, learnt
from aerolib.units import to_si


class LandingPanel(Panel):
    """Sliders for weight, speed and height, flap and modification: the side view and the answers."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.result, self.table, self.picture = w.HTML(), w.HTML(), PictureBox("landing", 820, 390)
        self.result.add_class("landing-result")
        self.table.add_class("landing-table")
        try:
            self.gear = study.attitude().ground_angle
        except CaseError as e:
            self.result.value = body_html(measure_first(page.KEYS[0], page.TITLE, e))
            self.assemble(self.result)
            return
        self.frame, (self.airplane, self.flaps) = study.airframe, learnt(study)
        names, states = (list(dict.fromkeys(key[k] for key in self.flaps)) for k in (1, 0))
        limits = study.aircraft.weights
        self.mass = slider("Weight [kg]", round(study.reference_weight), round(limits.empty), round(limits.maximum), 5,
                           digits=0)  # fmt: skip
        self.speed = slider("Calibrated airspeed [kt]", 50.0, 30, 90, 0.5)
        self.height = slider("Wheels above the ground [m]", 0.3, 0.0, 8.0, 0.1)
        self.flap, self.modification = choice("Flap", names, names[-1]), choice("Modification", states, states[-1])
        self.watch(self.mass, self.speed, self.height, self.flap, self.modification)
        self.assemble(w.HBox([self.flap, self.modification]), self.mass, self.speed, self.height, self.result,
                      self.picture, self.table)  # fmt: skip
        self._update()

    @guarded
    def _update(self, *_):
        key = (self.modification.value, self.flap.value)
        if key not in self.flaps:
            raise CaseError(f"{self.flap.value} was not flown in '{self.modification.value}': choose another")
        flap, frame, study = self.flaps[key], self.frame, self.study
        cl = Loading(self.mass.value, frame.wing_area).lift(to_si(self.speed.value, "kt", "speed"))
        height = frame.height_over_span + self.height.value / frame.airplane.span
        most = float(flap.clmax * flap.clmax_ground_ratio)
        pitch = float(flow(self.airplane, flap, min(cl, most), height).alpha)
        contact = self._contact(pitch, cl > most)
        self.result.value = tag("p", marked(Sentence(
            "CL = {cl}. The leveling line must stand {pitch} up; {gear} is the gear's. {contact} {view}",
            {"cl": f"{cl:.3f}", "pitch": Quantity(pitch, "angle"), "gear": Quantity(self.gear, "angle"),
             "contact": contact, "view": self._view(pitch)},
        )))  # fmt: skip
        places = asked_cgs(study)[:1]
        founds = [study.attitude(places[0][0], self.mass.value)]
        drawn = (key, round(pitch, 4), self.height.value, self.mass.value, cl > most)
        self.picture.show(drawn, lambda: page.picture_of(study, founds[0], self.flap.value, pitch, self.height.value,
                                                         f"{self.speed.value:.0f} kt", contact))  # fmt: skip
        self.table.value = body_html(sensible(page.finding_of(founds, places)))

    def _contact(self, pitch: float, stalled: bool) -> str:
        if stalled:
            return "The wing cannot carry this weight so slowly near the ground: it has stalled."
        above = math.degrees(pitch - self.gear)
        tail_wheel = self.frame.gear_kind == "tail-wheel"
        if abs(above) <= 0.5:
            return "All wheels touch together." if tail_wheel else "The tail just clears."
        if above < 0:
            return "First the main wheels touch."
        return "First the tail wheel touches." if tail_wheel else "First the tail strikes."

    def _view(self, pitch: float) -> Sentence | str:
        f, g = self.study.aircraft.fuselage, self.study.aircraft.gear
        if None in (f.eye_height, f.cowl_height, f.cowl_ahead):
            return "The view over the nose needs [fuselage] eye_height, cowl_height and cowl_ahead."
        standing = g.ground_angle_loaded if g.ground_angle_loaded is not None else g.ground_angle or 0.0
        down = pitch - (0.0 if g.kind == "nose-wheel" else standing)
        hidden = over_the_nose(f.eye_height + self.height.value, f.eye_height - f.cowl_height, f.cowl_ahead, down)
        if math.isinf(hidden):
            return "The nose hides the horizon."
        return Sentence("The nose hides the ground for {hidden} ahead.", {"hidden": Quantity(hidden, "distance")})
