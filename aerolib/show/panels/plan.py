"""Plan the test: how many stalls on how many flights, before anybody flies."""

from __future__ import annotations

import html
import math

import ipywidgets as w

from aerolib.case.aircraft import error_sizes
from aerolib.case.problems import CaseError
from aerolib.estimate import K95
from aerolib.measured.assumptions import KNOT
from aerolib.measured.flown import NONE
from aerolib.measured.plan import CALIBRATED, DEFAULTS, TestPlan, plan_test
from aerolib.measured.power import two_sample_power
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.show.plan_figure import plan_picture
from aerolib.study import Study
from aerolib.study.plan import flown_of
from aerolib.units import knots

COMES_OFF = (("not decided", None), ("yes", True), ("no, it is bonded", False))
BY_HAND = (3, 2)  # stalls a flight, flights in each state: what the hand formula is shown for


class PlanPanel(Panel):
    """Sliders for the change, the speed and the two scatters: the table of programmes and its picture."""

    def __init__(self, study: Study | None = None):
        super().__init__()
        self.study = study
        self.plan: TestPlan | None = None
        self.position = DEFAULTS.position
        self.origin = w.HTML()
        style, layout = {"description_width": "270px"}, w.Layout(width="680px")

        def slider(value, low, high, step, text):
            return w.FloatSlider(value, min=low, max=high, step=step, description=text, readout_format=".2f",
                                 continuous_update=False, style=style, layout=layout)  # fmt: skip

        self.change = slider(1.0, 0.0, 8.0, 0.1, "Change worth seeing [kt]")
        self.speed = slider(45.0, 20.0, 120.0, 0.5, "Stall speed [kt]")
        self.stall_scatter = slider(0.5, 0.05, 3.0, 0.05, "Scatter between stalls of one flight [kt]")
        self.day_scatter = slider(0.3, 0.0, 3.0, 0.05, "Scatter between days [kt]")
        self.within = slider(K95 * CALIBRATED / KNOT, 0.05, 3.0, 0.05, "A calibration is good within (95 %) [kt]")
        self.calibrated = w.Checkbox(False, description="airspeed calibrated in both states", indent=False)
        self.removable = w.Dropdown(options=COMES_OFF, value=None, description="Comes off between flights", style=style,
                                    layout=w.Layout(width="480px"))  # fmt: skip
        self.by_hand, self.result = w.HTML(), w.HTML()
        self.by_hand.add_class("plan-by-hand")
        self.result.add_class("plan-result")
        self.picture = PictureBox("plan", 820, 400)
        self._defaults()
        sliders = (self.change, self.speed, self.stall_scatter, self.day_scatter, self.within)
        for control in (*sliders, self.calibrated, self.removable):
            control.observe(self._update, "value")
        self.assemble(self.origin, w.VBox([*sliders, self.calibrated, self.removable]), self.by_hand, self.picture.box,
                      self.result)  # fmt: skip
        self._update()

    @guarded
    def _defaults(self):
        """The sliders from the case's own stalls, and where each number came from."""
        where = ["The numbers to start from are ours, for a needle read by eye: set your own."]
        if self.study is not None:
            try:
                where = self._from_case()
            except CaseError as e:
                where = [f"The case cannot be reduced, so the numbers to start from are ours: {e}"]
        self.origin.value = "<ul class='plan-origin'>" + "".join(f"<li>{html.escape(x)}</li>" for x in where) + "</ul>"

    def _from_case(self) -> list[str]:
        result = self.study.reduction
        found = self.study.own_scatter
        if found is None:
            self.position = error_sizes(self.study.aircraft).position
            return [f"No stall of {self.study.name} at idle ended in a break: the numbers to start from are ours."]
        item, own, self.position = found.item, found.share_of_a_stall, found.position
        self.speed.value = round(2.0 * knots(found.speed)) / 2.0
        self.stall_scatter.value = round(knots(found.stalls), 2)
        self.day_scatter.value = round(knots(found.days), 2)
        return [
            f"Stall speed {self.speed.value:.1f} kt: the 1-g stall speed of '{item.name}'.",
            f"Between stalls {self.stall_scatter.value:.2f} kt: what the sources of one stall explain there "
            f"({100 * own:.1f} % of CL, half of it in speed), times {result.scatter_ratio:.2f}: by how much your "
            "stalls scatter more or less than that.",
            f"Between days {self.day_scatter.value:.2f} kt: {100 * result.day_scatter:.1f} % of CL between your "
            f"{self.study.case.flights} flights, half of it in speed; from few flights it is mostly the prior.",
            f"Position error as it stands ± {knots(K95 * self.position):.1f} kt (95 %): from the error budget of "
            f"'{item.name}'.",
        ]

    @guarded
    def _update(self, *_):
        known = self.within.value * KNOT / K95
        flown = NONE if self.study is None else flown_of(self.study.case)
        speeds = {n: getattr(self, n).value * KNOT for n in ("change", "speed", "stall_scatter", "day_scatter")}
        try:
            plan = plan_test(speeds["change"], speeds["speed"], stall_scatter=speeds["stall_scatter"],
                             day_scatter=speeds["day_scatter"], calibrated_uncertainty=known,
                             position_uncertainty=known if self.calibrated.value else self.position,
                             removable=self.removable.value, flown=flown)  # fmt: skip
        except ValueError as e:
            raise CaseError(f"no plan can be made of these numbers: {e}") from None
        self.plan = plan
        self.by_hand.value = self._hand()
        self.result.value = plan._repr_html_()
        self.picture.show((plan.cells, plan.calibrated_cells), lambda: plan_picture(plan))

    def _hand(self) -> str:
        s, f = BY_HAND
        day, stall = self.day_scatter.value, self.stall_scatter.value
        of_flight = math.hypot(day, stall / math.sqrt(s))
        half = K95 * of_flight * math.sqrt(2.0 / f)
        power = two_sample_power(self.change.value / of_flight, f)
        return (
            f"<p>By hand, {s} stalls on each of {f} flights in each state, no position error. If both scatters were "
            "known, the 95 % interval of the change would be ± 1.96 √(2 (day² + stall²/s) / f) = ± "
            f"<b class='plan-half'>{half:.2f}</b> kt. The comparison does not know the scatter of days: it holds "
            f"its prior (about {0.5 * DEFAULTS.day * self.speed.value:.2f} kt at this speed, within a factor of 1.6) "
            "and what the flights say. A t test on the flights' means, which knows nothing of days beforehand, would "
            f"show the change <b class='plan-t-test'>{100 * power:.0f}</b> % of the time.</p>"
        )


def plan_panel(study: Study | None = None) -> PlanPanel:
    """Plan a test programme.

    Parameters
    ----------
    study : Study or None [-]
        Whose stalls give the scatter to start from.

    Returns
    -------
    PlanPanel [-]
    """
    return PlanPanel(study)
