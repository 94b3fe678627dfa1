"""What the tail can hold: over CG, flap, ground, with and without devices; and what power explains of a stall speed."""

from __future__ import annotations

import html
import math

import ipywidgets as w
import numpy as np

from aerolib.case.problems import CaseError
from aerolib.consequences.balance import elevator_needed, lift_limits, with_tail_devices
from aerolib.consequences.tail_authority import GRAVITY
from aerolib.physics.thrust import power_on_stall
from aerolib.show.finding import Finding
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.show.sections.base import sensible
from aerolib.show.sections.tail_authority import (
    DENSITY,
    DEVICES,
    map_picture,
)
from aerolib.study import Study
from aerolib.study.airframe import asked_cgs, learnt
from aerolib.units import knots


class TailPanel(Panel):
    """Sliders for CG and weight, flap, modification, ground and tail devices: the answer, a table, the map."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.result, self.table = w.HTML(), w.HTML()
        self.result.add_class("tail-result")
        self.table.add_class("tail-table")
        self.picture = PictureBox("tail", 820, 430)
        try:
            self.frame = study.airframe
        except CaseError as e:
            self.frame = None
            rows = "".join(f"<li>{html.escape(p)}</li>" for p in e.problems)
            self.result.value = f"<ul>{rows}</ul>"
            self.assemble(self.result)
            return
        self.airplane, self.flaps = learnt(study)
        self.slowest, _ = study.slowest
        cg, _ = asked_cgs(study)[0]
        names = list(dict.fromkeys(name for _, name in self.flaps))
        states = list(dict.fromkeys(m for m, _ in self.flaps))
        style = {"description_width": "230px"}
        common = {"continuous_update": False, "style": style, "layout": w.Layout(width="640px")}
        limits = study.aircraft.weights
        self.cg = w.FloatSlider(round(100 * cg, 1), min=5, max=45, step=0.1, readout_format=".1f",
                                description="Center of gravity [% MAC]", **common)  # fmt: skip
        self.mass = w.FloatSlider(round(study.reference_weight), min=round(limits.empty),
                                  max=round(limits.maximum), step=5,
                                  description="Weight [kg]", readout_format=".0f", **common)  # fmt: skip
        self.flap = w.Dropdown(options=names, value=names[-1], description="Flap", style=style)
        self.modification = w.Dropdown(options=states, value=states[-1], description="Modification", style=style)
        self.near = w.Checkbox(True, description="wheels just above the ground", indent=False)
        self.devices = w.Checkbox(False, description="devices under the tail", indent=False)
        for control in (self.cg, self.mass, self.flap, self.modification, self.near, self.devices):
            control.observe(self._update, "value")
        self.assemble(w.HBox([self.flap, self.modification]), w.VBox([self.cg, self.mass]),
                      w.HBox([self.near, self.devices]), self.result, self.picture.box, self.table)  # fmt: skip
        self._update()

    @guarded
    def _update(self, *_):
        key = (self.modification.value, self.flap.value)
        if key not in self.flaps:
            raise CaseError(f"{self.flap.value} was not flown in '{self.modification.value}': choose another")
        share, mass = self.cg.value / 100.0, self.mass.value
        helped = self._helped(self.airplane) if self.devices.value else None
        found = self.study.tail(share, mass, DEVICES if helped else None, key)
        sensible(Finding("", "", data={"": found.as_list()}))
        at = found.items[1 if self.near.value else 0]
        self.result.value = (
            f"<p><b class='slowest'>{knots(at.slowest_speed):.1f}</b> kt is the slowest steady speed "
            f"({knots(at.slowest_speed_interval95[0]):.1f} to {knots(at.slowest_speed_interval95[1]):.1f} kt); "
            f"limiting factor: <b class='limits'>{at.binding_limit}</b> (chance "
            f"{at.probabilities[at.binding_limit]:.0%}). Forward CG limit to use all the lift: "
            f"{html.escape(found.forward_cg_words(at))}.</p>"
        )
        drawn = (key, mass, self.near.value, self.devices.value)
        self.picture.show(drawn, lambda: map_picture(self.study, *key, self.near.value, mass, helped))
        self.table.value = self._needed(key, share, mass) + found._repr_html_()

    def _helped(self, airplane):
        """With devices on the tail: the middle of the recalled range on its limit, half as much on effectiveness."""
        gain = sum(DEVICES) / 2
        return with_tail_devices(airplane, gain, 0.5 * gain)

    def _needed(self, key, share, mass) -> str:
        """Elevator needed at the approach speed and at the stall, aloft and near the ground, beside what there is."""
        flap, a, f = self.flaps[key], self.airplane, self.frame
        x = f.height_over_span or 0.15
        rows = ""
        flown, stands_on = self.slowest[key].approach(mass / self.study.reference_weight)
        full = 2 * mass * GRAVITY / (DENSITY * f.wing_area)  # lift coefficient at 1 m/s
        stalled = {h: float(lift_limits(a, flap, share, h)["wing"]) for h in (math.inf, x)}
        places = (
            (f"approach, 1.3 times the {stands_on}", math.inf, full / flown**2),
            ("the same speed, wheels just above the ground", x, full / flown**2),
            ("at the wing's stall, aloft", math.inf, stalled[math.inf]),
            ("at the wing's stall, just above the ground", x, stalled[x]),
        )
        for words, height, cl in places:
            with np.errstate(invalid="ignore"):
                d = float(elevator_needed(a, flap, cl, share, height))
            speed = knots(math.sqrt(full / cl))
            needed = f"{math.degrees(d):.1f}" if math.isfinite(d) else "more than there is"
            rows += (
                f"<tr><td>{words}</td><td>{speed:.1f}</td><td>{needed}</td><td>{math.degrees(a.stop_up):.1f}</td></tr>"
            )
        return (
            "<table><tr><th>where</th><th>speed [kt CAS]</th><th>elevator needed [deg, up is negative]</th>"
            f"<th>stop, as reached in flight [deg]</th></tr>{rows}</table><p>The approach is that of workbook 12, with "
            "the CG forward and the uncertainty added; it is not the rule's V<sub>REF</sub>, which takes the minimum "
            "speed V<sub>S0</sub>.</p>"
        )


class PowerPanel(Panel):
    """What power explains of a power-on stall speed: thrust that points up, and the slipstream."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.result = w.HTML()
        self.result.add_class("power-result")
        self.share = w.FloatSlider(50.0, min=10, max=100, step=5, description="Shaft power [% of rated]",
                                   readout_format=".0f", continuous_update=False, layout=w.Layout(width="620px"),
                                   style={"description_width": "230px"})  # fmt: skip
        self.share.observe(self._update, "value")
        self.reduced = study.reduction
        self.assemble(self.share, self.result)
        self._update()

    @guarded
    def _update(self, *_):
        a = self.study.aircraft
        needed = {"[power] rated_power": a.power.rated_power, "[power] propeller_diameter": a.power.propeller_diameter}
        lacks = [k for k, v in needed.items() if v is None]
        idle = [i for i in self.reduced.items if i.power == "idle" and i.clmax is not None]
        if lacks or not idle:
            self.result.value = f"<p>Needed are {html.escape(', '.join(lacks) or 'a break at idle')}.</p>"
            return
        first = idle[0]
        chord = a.wing.chord_root or a.wing.area / a.wing.span
        found = power_on_stall(
            weight=self.study.reference_weight * GRAVITY, wing_area=a.wing.area, chord=chord, clmax=first.clmax.value,
            density=DENSITY, power=self.share.value / 100 * a.power.rated_power, diameter=a.power.propeller_diameter,
            incidence=math.radians(15.0) + (a.power.thrust_angle or 0.0),
        )  # fmt: skip
        low, high = (knots(v) for v in found.speed_on)
        with_power = [i for i in self.reduced.items if i.power not in ("idle", "off")]
        same = [i for i in with_power if (i.modification, i.configuration) == (first.modification, first.configuration)]
        beside = [f"{knots(s.speed.value):.1f} kt lowest seen at '{i.power}'" for i in same for s in i.speeds_seen]
        self.result.value = (
            f"<p>{html.escape(first.name)}: 1-g stall <b class='off'>{knots(found.speed_off):.1f}</b> kt without "
            f"power; with it <b class='on'>{low:.1f}</b> to {high:.1f} kt, of which thrust that points up explains "
            f"{knots(found.speed_off - found.thrust_only):.1f} kt and the slipstream the rest. CLmax of the wing is "
            f"the same. {html.escape('Measured: ' + '; '.join(beside) + '.' if beside else '')}</p>"
        )


def tail_panel(study: Study) -> TailPanel:
    """What the tail of a case can hold.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    TailPanel [-]
    """
    return TailPanel(study)


def power_panel(study: Study) -> PowerPanel:
    """What power explains of the stall speed of a case.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    PowerPanel [-]
    """
    return PowerPanel(study)
