"""What the tail can hold: over CG, flap, ground, with and without devices; and what power explains of a stall speed."""

from __future__ import annotations

import math

import ipywidgets as w
import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.case.problems import CaseError
from aerolib.consequences.balance import Loading, elevator_needed, lift_limits, with_tail_devices
from aerolib.consequences.tail_authority import FLARE
from aerolib.physics.thrust import power_on_stall
from aerolib.show.finding import Column, Quantity, Sentence, Table, quantity
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded, slider
from aerolib.show.render import body_html, marked, part_html, tag
from aerolib.show.sections import tail_authority as page
from aerolib.show.sections.base import measure_first, sensible
from aerolib.study import Study
from aerolib.study.airframe import asked_cgs, learnt

NEEDED = (Column("where"), Column("speed", "speed_cas"), Column("elevator needed, up is negative", "angle"),
          Column("stop, as reached in flight", "angle"))  # fmt: skip
SAME_APPROACH = (
    "The approach is that of workbook 12, with the CG forward and the uncertainty added; it is not the rule's V_REF, "
    "which takes the minimum speed V_S0."
)


class TailPanel(Panel):
    """Sliders for CG and weight, flap, modification, ground and tail devices: the answer, a table, the map."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.result, self.table, self.picture = w.HTML(), w.HTML(), PictureBox("tail", 820, 430)
        self.result.add_class("tail-result")
        self.table.add_class("tail-table")
        try:
            self.frame, (self.airplane, self.flaps) = study.airframe, learnt(study)
        except CaseError as e:
            self.result.value = body_html(measure_first(page.KEYS[0], page.TITLE, e))
            self.assemble(self.result)
            return
        self.slowest, limits = study.slowest[0], study.aircraft.weights
        names, states = (list(dict.fromkeys(key[k] for key in self.flaps)) for k in (1, 0))
        self.cg = slider("Center of gravity [% MAC]", round(100 * asked_cgs(study)[0][0], 1), 5, 45, 0.1)
        self.mass = slider("Weight [kg]", round(study.reference_weight), round(limits.empty), round(limits.maximum), 5,
                           digits=0)  # fmt: skip
        self.flap, self.modification = choice("Flap", names, names[-1]), choice("Modification", states, states[-1])
        self.near = w.Checkbox(True, description="wheels just above the ground", indent=False)
        self.devices = w.Checkbox(False, description="devices under the tail", indent=False)
        self.watch(self.cg, self.mass, self.flap, self.modification, self.near, self.devices)
        self.assemble(w.HBox([self.flap, self.modification]), self.cg, self.mass, w.HBox([self.near, self.devices]),
                      self.result, self.picture, self.table)  # fmt: skip
        self._update()

    @guarded
    def _update(self, *_):
        key = (self.modification.value, self.flap.value)
        if key not in self.flaps:
            raise CaseError(f"{self.flap.value} was not flown in '{self.modification.value}': choose another")
        share, mass, devices = self.cg.value / 100.0, self.mass.value, self.devices.value
        found = self.study.tail(share, mass, page.DEVICES if devices else None, key)
        told = sensible(page.finding_of(found, "the slider's"))
        at = found.items[1 if self.near.value else 0]
        self.result.value = tag("p", marked(Sentence(
            "{slowest} is the slowest steady speed. Limiting factor: {limits} (chance {chance}). Forward CG limit to "
            "use all the lift: {forward}.",
            {"slowest": quantity(at.slowest_speed, "speed_cas"), "limits": at.limit, "chance": page.chance(at),
             "forward": page.forward_cg(found, at)},
        )))  # fmt: skip
        gain = sum(page.DEVICES) / 2  # the middle of the recalled range
        helped = with_tail_devices(self.airplane, gain, 0.5 * gain) if devices else None
        self.picture.show((key, mass, self.near.value, devices),
                          lambda: page.map_picture(self.study, *key, self.near.value, mass, helped))  # fmt: skip
        self.table.value = part_html(self._needed(key, share, mass)) + part_html(SAME_APPROACH) + body_html(told)

    def _needed(self, key, share: float, mass: float) -> Table:
        """Elevator needed at the approach speed and at the stall, aloft and near the ground, beside what there is."""
        flap, a, loading = self.flaps[key], self.airplane, Loading(mass, self.frame.wing_area)
        low = self.frame.height_over_span or FLARE
        flown, stands_on = self.slowest[key].approach(mass / self.study.reference_weight)
        stalled = {h: float(lift_limits(a, flap, share, h)["wing"]) for h in (math.inf, low)}
        rows = []
        places: tuple[tuple[str, float, float], ...] = (
            (f"approach, 1.3 times the {stands_on}", math.inf, float(loading.lift(flown))),
            ("the same speed, wheels just above the ground", low, float(loading.lift(flown))),
            ("at the wing's stall, aloft", math.inf, stalled[math.inf]),
            ("at the wing's stall, just above the ground", low, stalled[low]),
        )
        for words, height, cl in places:
            with np.errstate(invalid="ignore"):
                needed = page.deflection(float(elevator_needed(a, flap, cl, share, height)))
            speed = Quantity(float(loading.speed(cl)), "speed_cas")
            rows.append((words, speed, needed, Quantity(float(a.stop_up), "angle")))
        return Table(NEEDED, tuple(rows))


class PowerPanel(Panel):
    """What power explains of a power-on stall speed: thrust that points up, and the slipstream."""

    def __init__(self, study: Study):
        super().__init__()
        self.study, self.reduced, self.result = study, study.reduction, w.HTML()
        self.result.add_class("power-result")
        self.share = slider("Shaft power [% of rated]", 50.0, 10, 100, 5, digits=0)
        self.watch(self.share)
        self.assemble(self.share, self.result)
        self._update()

    @guarded
    def _update(self, *_):
        a, power = self.study.aircraft, self.study.aircraft.power
        lacks = [f"[power] {k}" for k in ("rated_power", "propeller_diameter") if getattr(power, k) is None]
        first = next((i for i in self.reduced.items if i.power == "idle" and i.clmax is not None), None)
        if lacks or first is None or first.clmax is None:
            self.result.value = part_html(f"Needed are {', '.join(lacks) or 'a break at idle'}.")
            return
        found = power_on_stall(
            weight=self.study.reference_weight * GRAVITY, wing_area=a.wing.area,
            chord=a.wing.chord_root or a.wing.area / a.wing.span, clmax=first.clmax.value, density=DENSITY_0,
            power=self.share.value / 100 * power.rated_power, diameter=power.propeller_diameter,
            incidence=math.radians(15.0) + (power.thrust_angle or 0.0),
        )  # fmt: skip
        speeds = {"off": found.speed_off, "on": found.speed_on[0], "high": found.speed_on[1]}
        beside = [
            Sentence("Measured: {speed:value} lowest seen at '{power}'.",
                     {"speed": quantity(s.speed, "speed_cas"), "power": i.power})
            for i in self.reduced.items if i.power not in ("idle", "off")
            and (i.modification, i.configuration) == (first.modification, first.configuration) for s in i.speeds_seen
        ]  # fmt: skip
        self.result.value = tag("p", marked(Sentence(
            "{name}: 1-g stall {off} without power; with it {on} to {high}, of which thrust that points up explains "
            "{thrust} and the slipstream the rest. CLmax of the wing is the same.",
            {"name": first.name, **{k: Quantity(v, "speed_cas") for k, v in speeds.items()},
             "thrust": Quantity(found.speed_off - found.thrust_only, "speed_change")},
        ))) + "".join(map(part_html, beside))  # fmt: skip
