"""The airplane near its wheels: attitude, what touches first, what the pilot sees, how much of a gain is usable."""

from __future__ import annotations

import html
import math

import ipywidgets as w

from aerolib.case.problems import CaseError
from aerolib.consequences.balance import flow
from aerolib.consequences.landing_attitude import over_the_nose
from aerolib.consequences.tail_authority import GRAVITY
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.show.sections.base import sensible
from aerolib.show.sections.landing_attitude import picture_of
from aerolib.show.sections.tail_authority import DENSITY
from aerolib.study import Study
from aerolib.study.airframe import asked_cgs, learnt, missing
from aerolib.units import to_si


class LandingPanel(Panel):
    """Sliders for weight, speed and height, flap and modification: the side view and the answers."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.result, self.table = w.HTML(), w.HTML()
        self.result.add_class("landing-result")
        self.table.add_class("landing-table")
        self.picture = PictureBox("landing", 820, 390)
        self.frame = self._frame()
        if self.frame is None:
            self.assemble(self.result)
            return
        self.airplane, self.flaps = learnt(study)
        self.cg, self.where = asked_cgs(study)[0]
        names = list(dict.fromkeys(name for _, name in self.flaps))
        states = list(dict.fromkeys(m for m, _ in self.flaps))
        style = {"description_width": "210px"}
        common = {"continuous_update": False, "style": style, "layout": w.Layout(width="620px")}
        a = study.aircraft.weights
        self.mass = w.FloatSlider(round(study.reference_weight), min=round(a.empty), max=round(a.maximum), step=5,
                                  description="Weight [kg]", readout_format=".0f", **common)  # fmt: skip
        self.speed = w.FloatSlider(50.0, min=30, max=90, step=0.5, description="Calibrated airspeed [kt]",
                                   readout_format=".1f", **common)  # fmt: skip
        self.height = w.FloatSlider(0.3, min=0.0, max=8.0, step=0.1, description="Wheels above the ground [m]",
                                    readout_format=".1f", **common)  # fmt: skip
        self.flap = w.Dropdown(options=names, value=names[-1], description="Flap", style=style)
        self.modification = w.Dropdown(options=states, value=states[-1], description="Modification", style=style)
        for control in (self.mass, self.speed, self.height, self.flap, self.modification):
            control.observe(self._update, "value")
        self.assemble(w.HBox([self.flap, self.modification]), w.VBox([self.mass, self.speed, self.height]), self.result,
                      self.picture.box, self.table)  # fmt: skip
        self._update()

    def _frame(self):
        lacks = missing(self.study, "gear")
        try:
            frame = self.study.airframe if not lacks else None
        except CaseError as e:
            frame, lacks = None, list(e.problems)
        if frame is None:
            rows = "".join(f"<li>{html.escape(x)}</li>" for x in lacks)
            self.result.value = (
                f"<p>Measure first; the measuring sheet of `aerolib new` has the drawings:</p><ul>{rows}</ul>"
            )
        return frame

    @guarded
    def _update(self, *_):
        key = (self.modification.value, self.flap.value)
        if key not in self.flaps:
            raise CaseError(f"{self.flap.value} was not flown in '{self.modification.value}': choose another")
        flap, frame = self.flaps[key], self.frame
        v = to_si(self.speed.value, "kt", "speed")
        cl = 2.0 * self.mass.value * GRAVITY / (DENSITY * v * v * frame.wing_area)
        x = frame.height_over_span + self.height.value / frame.airplane.span
        most = flap.clmax * flap.clmax_ground_ratio
        pitch = float(flow(self.airplane, flap, min(cl, most), x).alpha)
        contact = self._contact(pitch, cl > most)
        self.result.value = (
            f"<p>C<sub>L</sub> = <b class='cl'>{cl:.3f}</b>; the datum line must stand "
            f"<b class='pitch'>{math.degrees(pitch):.1f}</b>° up ({math.degrees(frame.gear_angle):.1f}° is the "
            f"gear's). {html.escape(contact)} {self._view(pitch)}</p>"
        )
        found = sensible(self.study.attitude(self.cg, self.mass.value))
        drawn = (key, round(pitch, 4), self.height.value, self.mass.value, cl > most)
        self.picture.show(drawn, lambda: picture_of(self.study, found, self.flap.value, pitch, self.height.value,
                                                    f"{self.speed.value:.0f} kt", contact))  # fmt: skip
        self.table.value = (
            f"<p>Usable with the CG at {100 * self.cg:.1f} % MAC ({self.where}):</p>{found._repr_html_()}"
        )

    def _contact(self, pitch: float, stalled: bool) -> str:
        if stalled:
            return "The wing cannot carry this weight so slowly near the ground: it has stalled."
        above = math.degrees(pitch - self.frame.gear_angle)
        other = "the tail strikes" if self.frame.gear_kind == "nose-wheel" else "the tail wheel touches"
        if abs(above) <= 0.5:
            return "All wheels touch together." if self.frame.gear_kind == "tail-wheel" else "The tail just clears."
        return f"First {other}." if above > 0 else "First the main wheels touch."

    def _view(self, pitch: float) -> str:
        f, g = self.study.aircraft.fuselage, self.study.aircraft.gear
        if None in (f.eye_height, f.cowl_height, f.cowl_ahead):
            return "The view over the nose needs [fuselage] eye_height, cowl_height and cowl_ahead."
        standing = g.ground_angle_loaded if g.ground_angle_loaded is not None else g.ground_angle or 0.0
        if g.kind == "nose-wheel":
            standing = 0.0
        hidden = over_the_nose(f.eye_height + self.height.value, f.eye_height - f.cowl_height, f.cowl_ahead,
                               pitch - standing)  # fmt: skip
        if math.isinf(hidden):
            return "The nose hides the horizon."
        return f"The nose hides the ground for <b class='hidden'>{hidden:.0f}</b> m ahead."


def landing_panel(study: Study) -> LandingPanel:
    """Attitude, gear and view of a case.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    LandingPanel [-]
    """
    return LandingPanel(study)
