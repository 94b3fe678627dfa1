"""A device before buying: what it should do to section, wing and stall speed, how sure that is, and what it costs."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import ipywidgets as w

from aerolib.case.aircraft import error_sizes
from aerolib.case.problems import CaseError
from aerolib.case.published import section_table
from aerolib.case.schema import Device as Row
from aerolib.case.tufts import FILE as TUFTS
from aerolib.measured.plan.programme import DEFAULTS
from aerolib.physics.lifting_line import straight_taper
from aerolib.predicted.devices import (
    CAUTIONS,
    KINDS,
    METHOD,
    SURFACES,
    VANE_DRAG,
    CleanWing,
    Device,
    FlowControl,
    OnWing,
    Vanes,
    drag_increment,
    wing_curve,
)  # fmt: skip
from aerolib.predicted.section import section_lift
from aerolib.show.figures.devices import layer_picture, lift_picture, posterior_picture, wing_picture
from aerolib.show.finding import Finding, Sentence, quantity
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded, slider
from aerolib.show.render import body_html, shown, tag, words
from aerolib.show.sections.flow_control import device_parts, posterior_parts, worth
from aerolib.study import Study
from aerolib.study.devices import device_of, estimate, posterior_of, weighed
from aerolib.together.worth import Program
from aerolib.units import from_si, to_si

if TYPE_CHECKING:
    from aerolib.measured.comparison import Comparison
    from aerolib.measured.stalls.results import StallReduction

START = Vanes(0.010, 0.030, to_si(15.0, "deg", "angle"), 0.070, 0.15, 1.0, 4.8)
LOCAL = 2.0  # (ue / V)^2 where vanes usually stand: assumed
# field of `Vanes`: text, unit, its kind, low, high, step, digits
SLIDERS = {
    "height": ("Height above the skin [mm]", "mm", "length", 1.0, 60.0, 0.5, 1),
    "length": ("Length along the foot [mm]", "mm", "length", 3.0, 150.0, 1.0, 0),
    "angle": ("Angle to the flow [deg]", "deg", "angle", 5.0, 35.0, 1.0, 0),
    "pitch": ("Spacing, pair to pair or vane to vane [mm]", "mm", "length", 10.0, 300.0, 1.0, 0),
    "station": ("Behind the leading edge [% of the chord]", "%", "ratio", 2.0, 90.0, 1.0, 0),
}


class FlowPanel(Panel):
    """One device: sliders for what can be chosen, the expected change, four pictures and the page 'Worth buying?'.

    Without a study, and where a case says too little, the wing is an invented one.
    """

    def __init__(self, study: Study | None = None):
        super().__init__()
        self.study = study
        self.result: FlowControl | None = None
        self.reduced: StallReduction | None = None
        self.compared: Comparison | None = None
        self.row: Row | None = None
        self.origin, self.answer, self.by_hand, self.page, self.both = parts = [w.HTML() for _ in range(5)]
        for part, name in zip(parts, ("origin", "result", "by-hand", "worth", "posterior")):
            part.add_class(f"flow-{name}")
        self.airplane = self._airplane()
        half = round(0.5 * self.airplane.planform.span, 2)
        first = self._first(half)
        self.kind = choice("Device", (Vanes.kind, *KINDS), Vanes.kind)
        self.surface = choice("On", SURFACES, "wing")
        self.cleared = w.Text(description="Balance and flutter cleared by", placeholder="where it moves: name, date",
                              continuous_update=False, style={"description_width": "270px"})  # fmt: skip
        self.arrangement = choice("Vanes stand", ("counter-rotating", "co-rotating"), first.arrangement)
        self.sliders = {
            name: slider(text, round(from_si(getattr(first, name), unit, kind), 6), low, high, step, digits)
            for name, (text, unit, kind, low, high, step, digits) in SLIDERS.items()
        }
        self.span = w.FloatRangeSlider(
            value=(round(first.inner, 2), round(first.outer, 2)), min=0.0, max=half, step=0.05, readout_format=".2f",
            description="Treated, from the centerline [m]", continuous_update=False,
            style={"description_width": "270px"}, layout=w.Layout(width="670px"),
        )  # fmt: skip
        self.use_prior = w.Checkbox(True, description="use the prediction beside the measurement", indent=False)
        self.stalls = choice("Stalls on each flight", range(2, 9), 4)
        self.flights = choice("Flights in each state", range(1, 5), 2)
        self.lift, self.layer = PictureBox("lift", 820, 360), PictureBox("layer", 820, 290)
        self.wing, self.posterior = PictureBox("flow-wing", 820, 260), PictureBox("posterior", 820, 270)
        chosen = (self.kind, self.surface, self.cleared, self.arrangement, *self.sliders.values(), self.span)
        self.watch(*chosen, self.stalls, self.flights)
        self.watch(self.use_prior, update=self._together)
        self.assemble(self.origin, *chosen, self.answer, self.lift, self.by_hand, self.layer, self.wing, self.use_prior,
                      self.both, self.posterior, self.stalls, self.flights, self.page)  # fmt: skip
        self._update()

    def _airplane(self) -> CleanWing:
        """The case's own wing, else an invented one, and where each came from."""
        why = "No case: the wing below is an invented one."
        if self.study is not None:
            try:
                self.reduced, self.compared = self.study.reduction, self.study.comparison
                found = self.study.clean_wing
                self.origin.value = tag("p", words(_origin(self.study, found)))
                return found
            except CaseError as e:
                why = f"The case does not say enough, so the wing below is an invented one: {e}"
        self.origin.value = tag("p", words(why))
        section = section_lift("NACA 4412", 2.2e6, table=section_table())
        plan = straight_taper(10.0, 15.0, 0.8, aileron=(2.9, 4.7), flap=(0.5, 2.8))
        return CleanWing(plan, {0.0: section, 1.0: section}, to_si(45.0, "kt", "speed"),
                         surfaces=("tailplane", "elevator", "rudder"), skin="metal")  # fmt: skip

    def _first(self, half: float) -> Vanes:
        """The first row of vanes of the case, else a usual one."""
        if self.study is None:
            return START
        for row in self.study.aircraft.device:
            try:
                device = device_of(row, self.study.aircraft)
            except CaseError:
                continue
            if isinstance(device, Vanes) and device.surface.startswith("wing") and device.outer <= half:
                self.row = row
                return device
        return START

    def device(self) -> OnWing:
        """What the controls describe."""
        inner, outer = self.span.value
        common = {"inner": inner, "outer": outer, "surface": self.surface.value, "cleared": self.cleared.value}
        if self.kind.value != Vanes.kind:
            return Device(self.kind.value, **common)
        given = {name: to_si(self.sliders[name].value, s[1], s[2]) for name, s in SLIDERS.items()}
        return Vanes(**given, arrangement=self.arrangement.value, **common)

    @guarded
    def _update(self, *_):
        for control in (self.arrangement, *self.sliders.values()):
            control.disabled = self.kind.value != Vanes.kind
        try:
            self.result = result = estimate(self.device(), self.airplane)
        except ValueError as e:
            raise CaseError(str(e)) from None
        if self.study is not None and self.row is not None:
            planned = device_of(self.row, self.study.aircraft).mass or 0.0
            if math.isclose(result.mass or -1.0, planned):  # the vanes that were fitted
                self.result = result = weighed(self.study, self.row.name, result)
        self.answer.value = body_html(
            Finding("flow_control", "", parts=device_parts(result), cautions=CAUTIONS, source=METHOD)
        )
        device, layer = result.device, result.explained
        chord = self.airplane.chord_at(device.inner, device.outer)
        self._by_hand(result, chord)
        for picture, there in ((self.lift, layer), (self.layer, layer), (self.wing, result.section)):
            picture.box.layout.display = "none" if there is None else ""
        if layer is not None and (s := result.section) is not None:
            known = (layer.section.reynolds, layer.section.clmax)
            self.lift.show((s.value, s.interval95, *known), lambda: lift_picture(result))
            key = tuple(c.value for c in (*self.sliders.values(), self.arrangement))
            self.layer.show((*key, round(chord, 2)), lambda: layer_picture(result, chord))
        if result.section is not None:
            drawn = (device.inner, device.outer, device.station, result.section.value)
            self.wing.show(drawn, lambda: self._wing(result))
        self.page.value = body_html(worth(self.study, result, self._program()))
        self._together()

    def _wing(self, result: FlowControl):
        plan, d = self.airplane.planform, result.device
        computed = wing_curve(plan, self.airplane.sections, d.inner, d.outer)
        return wing_picture(result, plan, computed, self._tufts())

    def _tufts(self):
        """Separation lines of the clean wing at the slowest speed filmed, by state."""
        if self.study is None or (table := self.study.case.optional(TUFTS)) is None:
            return ()
        out = []
        for name in self.study.case.states_in(TUFTS):
            here = (table.text["modification"] == name) & (table.text["surface"] == "wing")
            here &= table.text["configuration"] == table.text["configuration"][here][0] if here.any() else here
            if here.any():
                here &= table.ias == table.ias[here].min()
                out.append((name, table.span_station[here], table.chord_station[here]))
        return tuple(out[:2])

    def _by_hand(self, result: FlowControl, chord: float):
        device, layer = result.device, result.explained
        if layer is None or not isinstance(device, Vanes):
            self.by_hand.value = ""
            return
        n, shape = device.vanes_per_pitch, "half" if device.shape == "triangle" else "all"
        said = (
            f"By hand. Drag that the vanes add to the section: {n} in every spacing, each with the area A, {shape} of "
            f"length times height; coefficient {VANE_DRAG:g} on {LOCAL:g} times the dynamic pressure: {n} A x "
            f"{VANE_DRAG:g} x {LOCAL:g} / (spacing x chord {chord:.3f} m) = "
        )
        drag = tag("b", f"{drag_increment(device, chord):.5f}", class_="flow-drag")
        ratio = tag("b", shown(quantity(layer.height_ratio, "factor")), class_="flow-ratio")
        over = " of the boundary layer it stands in at the stall."
        self.by_hand.value = tag("p", f"{words(said)}{drag}. The vane is {ratio}{words(over)}")

    def _program(self) -> Program:
        own = None if self.reduced is None or self.study is None else self.study.own_scatter
        if own is not None:
            sizes = (own.speed, own.stalls, own.days, own.position)
        else:
            position = DEFAULTS.position if self.study is None else error_sizes(self.study.aircraft).position
            sizes = (self.airplane.stall_speed, to_si(0.5, "kt", "speed"), to_si(0.3, "kt", "speed"), position)
        return Program(*sizes, self.stalls.value, self.flights.value)

    @guarded(clears=False)
    def _together(self, *_):
        found = None
        if self.study is not None and self.result is not None:
            prior = self.use_prior.value
            found = posterior_of(self.study, self.result, self.compared, device=self.row, use_prior=prior)
        if found is None or found.measured is None:
            self.use_prior.layout.display = self.posterior.box.layout.display = "none"
            self.both.value = tag("p", "Nothing was measured yet: prediction and measurement are not compared.")
            return
        self.use_prior.layout.display = self.posterior.box.layout.display = ""
        self.both.value = body_html(Finding("posterior", "", parts=posterior_parts(found)))
        key = (found.best.value, found.best.interval95, found.prior and found.prior.value, found.prior_used)
        self.posterior.show(key, lambda: posterior_picture(found))


def _origin(study: Study, wing: CleanWing) -> Sentence:
    seen = Sentence("as tufts showed it, {at} from the centerline", {"at": quantity(wing.first_stall, "length")})
    return Sentence(
        "{name} as it was '{state}', flaps up: 1-g stall speed {speed}, {how}; section limits times {anchor}, from "
        "its own clean CLmax; where the stall starts: {seen}.",
        {"name": study.name, "state": study.states[0], "speed": quantity(wing.stall_speed, "speed_cas"),
         "how": "measured" if wing.measured else "of CL 1.5", "anchor": quantity(wing.anchor, "factor"),
         "seen": seen if wing.seen else "computed; film tufts first"},
    )  # fmt: skip
