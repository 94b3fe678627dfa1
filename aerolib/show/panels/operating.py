"""What changes for the pilot and the structure: weight, factor, ground and wind, before and after."""

from __future__ import annotations

import html
import math

import ipywidgets as w

from aerolib.case.problems import CaseError
from aerolib.consequences.distances import PUBLISHED_FACTORS, SURFACES, Ground, drift_angle, wind_addition
from aerolib.consequences.maneuver import CAUTIONS as STRUCTURE
from aerolib.consequences.operating_results import OperatingSpeeds
from aerolib.show.finding import Finding
from aerolib.show.operating_figure import distances_picture
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.show.sections.base import sensible
from aerolib.show.sections.operating_speeds import changes, diagram_of, head_of, rows_of
from aerolib.study import Study
from aerolib.study.speeds import DENSITY_0, Operating
from aerolib.units import knots, to_si

KNOT = to_si(1.0, "kt", "speed")
WARMER = 0.0065  # standard lapse [K/m]


class OperatingPanel(Panel):
    """Sliders for weight, factor and the field; speeds in a table, distances and the diagram as pictures."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.ready: Operating | None = None
        self.found: OperatingSpeeds | None = None
        style, layout = {"description_width": "270px"}, w.Layout(width="620px")

        def slider(value, low, high, step, text, shown=".0f"):
            return w.FloatSlider(value, min=low, max=high, step=step, description=text, readout_format=shown,
                                 continuous_update=False, style=style, layout=layout)  # fmt: skip

        heavy = study.aircraft.weights.maximum
        light = min(study.aircraft.weights.empty + 50.0, 0.9 * heavy)  # a light pilot, little fuel
        self.mass = slider(heavy, light, heavy, 1.0, "Weight [kg]")
        self.factor = slider(1.3, 1.1, 1.6, 0.01, "Approach over landing stall speed", ".2f")
        self.surface = w.Dropdown(options=list(SURFACES), description="Surface", style=style, layout=layout)
        self.slope = slider(0.0, -8.0, 8.0, 0.5, "Runway slope, uphill positive [%]", ".1f")
        self.headwind = slider(0.0, -15.0, 30.0, 1.0, "Mean headwind [kt]")
        self.crosswind = slider(0.0, 0.0, 25.0, 1.0, "Crosswind [kt]")
        self.gusts = slider(0.0, 0.0, 20.0, 1.0, "Gusts above the mean wind [kt]")
        self.altitude = slider(0.0, -500.0, 8000.0, 100.0, "Density altitude [ft]")
        self.result, self.wind, self.by_hand = w.HTML(), w.HTML(), w.HTML()
        self.by_hand.add_class("operating-by-hand")
        self.result.add_class("operating-result")
        self.wind.add_class("operating-wind")
        self.distances = PictureBox("operating-distances", 820, 290)
        self.diagram = PictureBox("operating-diagram", 820, 430)
        self.lacks = w.HTML()
        self.controls = (self.mass, self.factor, self.surface, self.slope, self.headwind, self.crosswind, self.gusts,
                         self.altitude)  # fmt: skip
        for control in self.controls:
            control.observe(self._update, "value")
        self.assemble(
            w.VBox(self.controls),
            self.wind,
            self.by_hand,
            self.result,
            self.distances.box,
            self.diagram.box,
            self.lacks,
        )
        self._update()

    @guarded
    def _update(self, *_):
        if self.ready is None:
            self.ready = self.study.speeds
        wind = math.hypot(self.headwind.value, self.crosswind.value) * KNOT
        gust = wind_addition(wind, wind + self.gusts.value * KNOT)
        try:
            ground = Ground(
                self.surface.value, math.atan(0.01 * self.slope.value), self.headwind.value * KNOT
            )  # fmt: skip
        except ValueError as e:
            raise CaseError(str(e)) from None
        height = to_si(self.altitude.value, "ft", "altitude")
        density = DENSITY_0 * (1.0 - WARMER * height / 288.15) ** 4.2559
        found = self.ready.at(self.mass.value, factor=self.factor.value, ground=ground, density=density, gust=gust)
        sensible(Finding("", "", data={"": found.as_list()}))
        self.found = found
        self.wind.value = self._wind(found, gust, density)
        self.by_hand.value = self._hand(gust)
        self.result.value = _table(found, self.surface.value)
        where = (
            f"{self.surface.value}, runway slope {self.slope.value:+.1f} %, headwind {self.headwind.value:+.0f} kt, "
            f"density altitude {self.altitude.value:.0f} ft"
        )
        self.distances.show((found.items, where), lambda: distances_picture(found.items, where))
        try:
            self.diagram.show(self.mass.value, lambda: diagram_of(self.ready, self.mass.value))
            self.lacks.value = ""
        except CaseError as e:
            self.lacks.value = f"<p>No maneuvering diagram: {html.escape(str(e))}.</p>"

    def _hand(self, gust: float) -> str:
        """The approach of every state, as a pocket calculator would do it."""
        k, lines = self.factor.value, []
        for s, i in zip((self.ready.at_mass(s, self.mass.value) for s in self.ready.states), self.found.items):
            wing = f"wing {k:g} · ({knots(s.stall_speed):.1f} + 1.645 · {knots(s.stall_uncertainty):.2f}) kt"
            tail = "" if s.slowest_tail_speed is None else (
                f", tail {k:g} · ({knots(s.slowest_tail_speed):.1f} + 1.645 · {knots(s.tail_uncertainty):.2f}) kt"
            )  # fmt: skip
            lines.append(
                f"<li>{html.escape(i.modification)}: the larger of {wing}{tail}; plus {knots(gust):.1f} kt for wind: "
                f"{knots(i.approach):.1f} kt calibrated, not the rule's V_REF</li>"
            )
        return f"<p>The approach by hand:</p><ul>{''.join(lines)}</ul>"

    def _wind(self, found: OperatingSpeeds, gust: float, density: float) -> str:
        true = math.sqrt(DENSITY_0 / density)
        drift = [math.degrees(drift_angle(self.crosswind.value * KNOT, i.approach * true)) for i in found.items]
        angles = ", ".join(f"{i.modification} {d:.0f}°" for i, d in zip(found.items, drift))
        side = f" Across the approach the nose points into the wind by {html.escape(angles)}." if any(drift) else ""
        return (
            f"<p>Added for wind: <b class='operating-gust'>{knots(gust):.1f}</b> kt (the larger of half the gusts and "
            f"a quarter of a mean wind above 16 kt; on the calibrated speed).{side}</p>"
        )


def _table(found: OperatingSpeeds, surface: str) -> str:
    rows = "".join(
        "<tr>" + "".join(f"<td{_mark(k, i)}>{html.escape(c)}</td>" for k, c in enumerate(r)) + "</tr>"
        for i, r in zip(found.items, rows_of(found))
    )
    lines = "".join(f"<li>{html.escape(x)}</li>" for x in changes(found))
    factor = PUBLISHED_FACTORS.get(surface)
    grass = "" if factor is None else (
        f"<p>A published factor on dry paved distances over the obstacle for this surface: landing {factor[0]:g}, "
        f"take-off {factor[1]:g}. Where it asks for more than the table, it decides.</p>"
    )  # fmt: skip
    notes = "".join(f"<li>{html.escape(x)}</li>" for x in (*found.notes, *found.cautions, *STRUCTURE))
    head = "".join(f"<th>{h}</th>" for h in head_of(found))
    return (
        f"<ul>{lines}</ul><table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>{grass}"
        f"<ul class='cautions'>{notes}</ul><p class='small'>{html.escape(found.source)}.</p>"
    )


def _mark(column: int, item) -> str:
    """A class on the numbers a test reads: stall and approach."""
    name = {2: "stall", 3: "approach"}.get(column)
    return f" class='operating-{name}' data-modification='{html.escape(item.modification)}'" if name else ""


def operating_panel(study: Study) -> OperatingPanel:
    """Operating speeds and distances of a case.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    OperatingPanel [-]
    """
    return OperatingPanel(study)
