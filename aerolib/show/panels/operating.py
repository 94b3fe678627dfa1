"""What changes for the pilot and the structure: weight, factor, ground and wind, before and after."""

from __future__ import annotations

import math

import ipywidgets as w

from aerolib.atmosphere import DENSITY_0
from aerolib.case.problems import CaseError
from aerolib.consequences.distances import PUBLISHED_FACTORS, SURFACES, Ground, drift_angle, wind_addition
from aerolib.consequences.operating_results import OperatingSpeeds
from aerolib.show.figures.operating import distances_picture
from aerolib.show.finding import Finding, Quantity, Sentence, Steps
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded, slider
from aerolib.show.render import body_html, marked, part_html, tag
from aerolib.show.sections import operating_speeds as page
from aerolib.show.sections.base import sensible
from aerolib.study import Study
from aerolib.units import to_si

WARMER = 0.0065  # standard lapse [K/m]


class OperatingPanel(Panel):
    """Sliders for weight, factor and the field; speeds in a table, distances and the diagram as pictures."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.told: Finding | None = None  # what is shown
        limits = study.aircraft.weights
        heavy = limits.maximum
        light = min(limits.empty + 50.0, 0.9 * heavy)  # a light pilot, little fuel
        self.mass = slider("Weight [kg]", heavy, light, heavy, 1.0, digits=0)
        self.factor = slider("Approach over landing stall speed", 1.3, 1.1, 1.6, 0.01, digits=2)
        self.surface = choice("Surface", list(SURFACES))
        self.slope = slider("Runway slope, climbing positive [%]", 0.0, -8.0, 8.0, 0.5)
        self.headwind = slider("Mean headwind [kt]", 0.0, -15.0, 30.0, 1.0, digits=0)
        self.crosswind = slider("Crosswind [kt]", 0.0, 0.0, 25.0, 1.0, digits=0)
        self.gusts = slider("Gusts above the mean wind [kt]", 0.0, 0.0, 20.0, 1.0, digits=0)
        self.altitude = slider("Density altitude [ft]", 0.0, -500.0, 8000.0, 100.0, digits=0)
        self.result, self.wind, self.by_hand, self.lacks = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self.by_hand.add_class("operating-by-hand")
        self.result.add_class("operating-result")
        self.wind.add_class("operating-wind")
        self.distances = PictureBox("operating-distances", 820, 290)
        self.diagram = PictureBox("operating-diagram", 820, 430)
        controls = (self.mass, self.factor, self.surface, self.slope, self.headwind, self.crosswind, self.gusts,
                    self.altitude)  # fmt: skip
        self.watch(*controls)
        self.assemble(*controls, self.wind, self.by_hand, self.result, self.distances, self.diagram, self.lacks)
        self._update()

    @guarded
    def _update(self, *_):
        ready, mass = self.study.speeds, self.mass.value
        head, side, more = (to_si(x.value, "kt", "speed") for x in (self.headwind, self.crosswind, self.gusts))
        wind = math.hypot(head, side)
        gust = wind_addition(wind, wind + more)
        try:
            ground = Ground(self.surface.value, math.atan(0.01 * self.slope.value), head)
        except ValueError as e:
            raise CaseError(str(e)) from None
        height = to_si(self.altitude.value, "ft", "altitude")
        density = DENSITY_0 * (1.0 - WARMER * height / 288.15) ** 4.2559
        found = ready.at(mass, factor=self.factor.value, ground=ground, density=density, gust=gust)
        where = (
            f"{self.surface.value}, runway slope {self.slope.value:+.1f} %, headwind {self.headwind.value:+.0f} kt, "
            f"density altitude {self.altitude.value:.0f} ft"
        )
        self.told = told = sensible(page.finding_of(ready, [found], where, self._grass()))
        self.wind.value = self._wind(found, gust, side * math.sqrt(density / DENSITY_0))
        self.by_hand.value = part_html("The approach by hand:") + part_html(self._hand(found, gust))
        self.result.value = body_html(told)
        self.distances.show((found.items, where), lambda: distances_picture(found.items, where))
        self.lacks.value = ""
        try:
            self.diagram.show(mass, lambda: page.diagram_of(ready, found))
        except CaseError as e:
            self.lacks.value = part_html(f"No maneuvering diagram: {e}.")

    def _hand(self, found: OperatingSpeeds, gust: float) -> Steps:
        """The approach of every state, as a pocket calculator would do it."""
        lines = []
        for s, i in zip((self.study.speeds.at_mass(s, found.items[0].mass) for s in self.study.speeds.states),
                        found.items):  # fmt: skip
            tail = s.slowest_tail_speed
            words = "{state}: the larger of wing {k} · ({v:number} + 1.645 · {u:number}) kt"
            words += "" if tail is None else ", tail {k} · ({v_tail:number} + 1.645 · {u_tail:number}) kt"
            speeds = {"v": s.stall_speed, "v_tail": tail, "gust": gust, "sum": i.approach.value}
            small = {"u": s.stall_uncertainty, "u_tail": s.tail_uncertainty}
            lines.append(Sentence(
                words + "; plus {gust} for wind: {sum}, not the rule's V_REF",
                {"state": i.modification, "k": f"{found.factor:g}",
                 **{k: Quantity(x, "speed_cas") for k, x in speeds.items()},
                 **{k: Quantity(x, "speed_small") for k, x in small.items()}},
            ))  # fmt: skip
        return Steps(tuple(lines))

    def _wind(self, found: OperatingSpeeds, gust: float, side: float) -> str:
        """What wind adds, and the drift angles at a crosswind [m/s, as calibrated airspeed]."""
        added = tag("p", marked(Sentence(
            "Added for wind: {operating-gust} (the larger of half the gusts and a quarter of a mean wind above 16 kt; "
            "on the calibrated speed).", {"operating-gust": Quantity(gust, "speed_change")},
        )))  # fmt: skip
        drift = [
            Sentence("{state}: across the approach the nose points into the wind by {angle}.",
                     {"state": i.modification, "angle": Quantity(drift_angle(side, i.approach.value), "angle")})
            for i in found.items if side
        ]  # fmt: skip
        return added + part_html(Steps(tuple(drift)))

    def _grass(self) -> tuple[str, ...]:
        if self.surface.value not in PUBLISHED_FACTORS:
            return ()
        landing, take_off = PUBLISHED_FACTORS[self.surface.value]
        return (
            f"A published factor on dry paved distances over the obstacle for this surface: landing {landing:g}, "
            f"take-off {take_off:g}. Where it asks for more than the table, it decides.",
        )
