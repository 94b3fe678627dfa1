"""Angles and signs, with a wing to try them on."""

from __future__ import annotations

import math

import ipywidgets as w

from aerolib.consequences.balance import Loading
from aerolib.show.figures.angles import angles_picture
from aerolib.show.finding import Quantity, Sentence
from aerolib.show.panels.base import Panel, PictureBox, guarded, slider
from aerolib.show.render import marked, tag
from aerolib.study import Study
from aerolib.units import to_si


class AnglesPanel(Panel):
    """Sliders for pitch, flight path and speed: angle of attack and lift coefficient of a steady glide."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.pitch = slider("Pitch attitude [deg]", 9.0, -10, 20, 0.5)
        self.path = slider("Flight path [deg]", -6.0, -15, 10, 0.5)
        self.speed = slider("Calibrated airspeed [kt]", 55.0, 25, 120, 1, digits=0)
        self.result, self.picture = w.HTML(), PictureBox("angles", 820, 420)
        self.result.add_class("angles-result")
        self.watch(self.pitch, self.path, self.speed)
        self.assemble(self.pitch, self.path, self.speed, self.result, self.picture)
        self._update()

    @guarded
    def _update(self, *_):
        a, weight = self.study.aircraft, self.study.reference_weight
        pitch, path = math.radians(self.pitch.value), math.radians(self.path.value)
        speed = to_si(self.speed.value, "kt", "speed")
        cl = Loading(weight, a.wing.area).lift(speed) * math.cos(path)
        unknown = "" if a.wing.incidence is not None else " The wing's incidence is not given; it is drawn as 0 deg."
        self.result.value = tag("p", marked(Sentence(
            "alpha = pitch less flight path = {alpha}. At {speed}, {weight} and {area} a steady flight on this path "
            "needs CL = {cl} (W cos γ / ½ρ₀V²S: this is what the path asks for, whether the wing can give it or not)."
            + unknown,
            {"alpha": Quantity(pitch - path, "angle"), "speed": Quantity(speed, "speed_cas"), "cl": f"{cl:.3f}",
             "weight": Quantity(weight, "mass"), "area": Quantity(a.wing.area, "area")},
        )))  # fmt: skip
        drawn = (pitch, path, a.wing.incidence or 0.0, a.power.thrust_angle or 0.0)
        self.picture.show(drawn, lambda: angles_picture(*drawn))
