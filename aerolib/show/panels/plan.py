"""Plan the test: how many stalls on how many flights, before anybody flies."""

from __future__ import annotations

import math

import ipywidgets as w

from aerolib.case.aircraft import error_sizes
from aerolib.case.problems import CaseError
from aerolib.estimate import K95
from aerolib.measured.plan import TestPlan, plan_test, two_sample_power
from aerolib.measured.plan.programme import CALIBRATED, DEFAULTS
from aerolib.show.comparing import plan_finding
from aerolib.show.figures.plan import plan_picture
from aerolib.show.finding import Quantity, Sentence, quantity
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded, slider
from aerolib.show.render import body_html, listed, tag
from aerolib.study import Study
from aerolib.study.plan import flown_of
from aerolib.units import knots, to_si

SLIDERS = ("change", "stall_speed", "stall_scatter", "day_scatter")  # what `plan_test` calls them
COMES_OFF = (("not decided", None), ("yes", True), ("no, it is bonded", False))
BY_HAND = (3, 2)  # stalls a flight, flights in each state: what the hand formula is shown for


class PlanPanel(Panel):
    """Sliders for the change, the speed and the two scatters: the table of programmes and its picture."""

    def __init__(self, study: Study | None = None):
        super().__init__()
        self.study = study
        self.plan: TestPlan | None = None
        self.origin, self.by_hand, self.result = w.HTML(), w.HTML(), w.HTML()
        self.by_hand.add_class("plan-by-hand")
        self.result.add_class("plan-result")
        self.picture = PictureBox("plan", 820, 400)
        self.more: dict = {"position_uncertainty": DEFAULTS.position}  # what the case knows beside the sliders
        self.change = slider("Change worth seeing [kt]", 1.0, 0.0, 8.0, 0.1, 2)
        self.stall_speed = self.speed = slider("Stall speed [kt]", 45.0, 20.0, 120.0, 0.5, 2)
        self.stall_scatter = slider("Scatter between stalls of one flight [kt]", 0.5, 0.05, 3.0, 0.05, 2)
        self.day_scatter = slider("Scatter between days [kt]", 0.3, 0.0, 3.0, 0.05, 2)
        self.within = slider("A calibration is good within (95 %) [kt]", knots(K95 * CALIBRATED), 0.05, 3.0, 0.05, 2)
        self.calibrated = w.Checkbox(False, description="airspeed calibrated in both states", indent=False)
        self.removable = choice("Comes off between flights", COMES_OFF)
        self._defaults()
        controls = (self.change, self.speed, self.stall_scatter, self.day_scatter, self.within, self.calibrated,
                    self.removable)  # fmt: skip
        self.assemble(self.origin, *controls, self.by_hand, self.picture, self.result)
        self.watch(*controls)
        self._update()

    def _defaults(self):
        """The sliders from the case's own stalls, and where each number came from."""
        where: list[Sentence | str] = [
            "The numbers to start from are ours, for an airspeed indicator read by eye: set your own."
        ]
        if self.study is not None:
            self.more["flown"] = flown_of(self.study.case)
            try:
                where = self._from_case(self.study)
            except CaseError as e:
                where = [f"The case cannot be reduced, so the numbers to start from are ours: {e}"]
        self.origin.value = listed(where, class_="plan-origin")

    def _from_case(self, study: Study) -> list[Sentence | str]:
        found = study.own_scatter
        if found is None:
            self.more["position_uncertainty"] = error_sizes(study.aircraft).position
            return [f"No stall of {study.name} at idle ended in a break: the numbers to start from are ours."]
        self.more |= {"position_uncertainty": found.position, "errors": study.reduction.model.card.errors,
                      "weight": study.reference_weight}  # fmt: skip
        self.speed.value = round(2.0 * knots(found.speed)) / 2.0
        self.stall_scatter.value = round(knots(found.stalls), 2)
        self.day_scatter.value = round(knots(found.days), 2)
        slots: dict[str, Quantity | Sentence | str] = {
            "speed": quantity(found.speed, "speed_cas"), "stalls": quantity(found.stalls, "speed_small"),
            "own": f"{100 * found.share_of_a_stall:.1f}", "ratio": quantity(study.reduction.scatter_ratio, "factor"),
            "days": quantity(found.days, "speed_small"), "day": f"{100 * study.reduction.day_scatter:.1f}",
            "flights": str(study.case.flights), "position": quantity(K95 * found.position, "speed_small"),
            "name": found.item.name,
        }  # fmt: skip
        return [Sentence(x, slots) for x in (
            "Stall speed {speed}: the 1-g stall speed of '{name}'.",
            "Between stalls {stalls}: what the sources of one stall explain there ({own} % of CL, half of it in "
            "speed), times {ratio}, by which your stalls scatter more or less than that.",
            "Between days {days}: {day} % of CL between your {flights} flights, half of it in speed. From few flights "
            "it is mostly the prior.",
            "Position error as it stands ± {position} (95 %): from the error budget of '{name}'.",
        )]  # fmt: skip

    @guarded
    def _update(self, *_):
        speeds = {n: to_si(getattr(self, n).value, "kt", "speed") for n in SLIDERS}
        known = to_si(self.within.value, "kt", "speed") / K95
        more = {**self.more, **({"position_uncertainty": known} if self.calibrated.value else {})}
        try:
            plan = plan_test(**speeds, calibrated_uncertainty=known, removable=self.removable.value, **more)
        except ValueError as e:
            raise CaseError(f"no plan can be made of these numbers: {e}") from None
        self.plan = plan
        self.by_hand.value = self._hand()
        self.result.value = body_html(plan_finding(plan))
        self.picture.show((plan.cells, plan.calibrated_cells), lambda: plan_picture(plan))

    def _hand(self) -> str:
        s, f = BY_HAND
        day, stall = self.day_scatter.value, self.stall_scatter.value
        of_flight = math.hypot(day, stall / math.sqrt(s))
        power = two_sample_power(self.change.value / of_flight, f)
        half, test = tag("b", f"{K95 * of_flight * math.sqrt(2.0 / f):.2f}", class_="plan-half"), f"{100 * power:.0f}"
        return tag("p", (
            f"By hand, {s} stalls on each of {f} flights in each state, no position error. If both scatters were "
            f"known, the 95 % interval of the change would be ± 1.96 √(2 (day² + stall²/s) / f) = ± {half} kt. The "
            "comparison does not know the scatter of days: it holds its prior (about "
            f"{0.5 * DEFAULTS.day * self.speed.value:.2f} kt at this speed, within a factor of 1.6) and what the "
            "flights say. A t test on the flights' means, which knows nothing of days beforehand, would show the "
            f"change {tag('b', test, class_='plan-t-test')} % of the time."
        ))  # fmt: skip
