"""Angles and signs, with a wing to try them on."""

from __future__ import annotations

import math

import ipywidgets as w

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.show.figures.angles import angles_picture
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.study import Study
from aerolib.units import to_si


class AnglesPanel(Panel):
    """Sliders for pitch, flight path and speed: incidence and lift coefficient of a steady glide."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        style, layout = {"description_width": "210px"}, w.Layout(width="620px")
        common = {"continuous_update": False, "style": style, "layout": layout}
        self.pitch = w.FloatSlider(9.0, min=-10, max=20, step=0.5, description="Pitch attitude [deg]", **common)
        self.path = w.FloatSlider(-6.0, min=-15, max=10, step=0.5, description="Flight path [deg]", **common)
        self.speed = w.FloatSlider(55.0, min=25, max=120, step=1, description="Calibrated airspeed [kt]", **common)
        self.result = w.HTMLMath()
        self.result.add_class("angles-result")
        self.picture = PictureBox("angles", 820, 420)
        for slider in (self.pitch, self.path, self.speed):
            slider.observe(self._update, "value")
        self.assemble(w.VBox([self.pitch, self.path, self.speed]), self.result, self.picture.box)
        self._update()

    @guarded
    def _update(self, *_):
        a = self.study.aircraft
        pitch, path = math.radians(self.pitch.value), math.radians(self.path.value)
        incidence = a.wing.incidence if a.wing.incidence is not None else 0.0
        thrust = a.power.thrust_angle or 0.0
        q = 0.5 * DENSITY_0 * to_si(self.speed.value, "kt", "speed") ** 2
        weight, area = self.study.reference_weight, a.wing.area
        cl = weight * GRAVITY * math.cos(path) / (q * area)
        self.result.value = (
            f"<p>alpha = {self.pitch.value:.1f}° − ({self.path.value:.1f}°) = "
            f"<b class='alpha'>{self.pitch.value - self.path.value:.1f}</b>°. "
            f"At {self.speed.value:.0f} kt calibrated, {weight:.0f} kg and {area:.2f} m² a steady flight on this path "
            f"needs <b>C<sub>L</sub> = <span class='cl'>{cl:.3f}</span></b> "
            "(W cos γ / ½ρ₀V²S: this is what the path asks for, whether the wing can give it or not)."
            + ("" if a.wing.incidence is not None else " The wing's incidence is not given; it is drawn as 0°.")
            + "</p>"
        )
        self.picture.show((pitch, path, incidence, thrust), lambda: angles_picture(pitch, path, incidence, thrust))


def angles_panel(study: Study) -> AnglesPanel:
    """Angles and signs of an airplane.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    AnglesPanel [-]
    """
    return AnglesPanel(study)
