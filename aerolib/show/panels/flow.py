"""A device before buying: what it should do to section, wing and stall speed, how sure that is, and what it costs."""

from __future__ import annotations

import html
import math

import ipywidgets as w

from aerolib.case.aircraft import error_sizes
from aerolib.case.problems import CaseError
from aerolib.case.published import section_table
from aerolib.case.tufts import FILE as TUFTS
from aerolib.measured.assumptions import KNOT
from aerolib.measured.plan import DEFAULTS
from aerolib.physics.lifting_line import straight_taper
from aerolib.predicted.flow_devices import KINDS, Device
from aerolib.predicted.flow_results import FlowControl
from aerolib.predicted.flow_wing import wing_curve
from aerolib.predicted.section import section_lift
from aerolib.predicted.vanes import SURFACES, VANE_DRAG, Vanes, drag_increment
from aerolib.show.flow_figure import layer_picture, lift_picture, posterior_picture, wing_picture
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.study import Study
from aerolib.study.devices import CleanWing, device_of, estimate, posterior_of
from aerolib.study.usable import usable_words
from aerolib.together.worth import UNKNOWN, worth_buying

VANES = "vortex generators"
START = {"height": 10.0, "length": 30.0, "angle": 15.0, "pitch": 70.0, "station": 15.0}  # mm, mm, deg, mm, %
LOCAL = 2.0  # (ue / V)^2 where vanes usually stand: assumed


class FlowPanel(Panel):
    """One device: sliders for what can be chosen, the expected change, four pictures and the page 'worth buying?'."""

    def __init__(self, study: Study | None = None):
        super().__init__()
        self.study = study
        self.result: FlowControl | None = None
        self.reduced = self.compared = None
        self.origin, self.answer, self.by_hand, self.page, self.both = (w.HTML() for _ in range(5))
        for part, name in ((self.answer, "flow-result"), (self.by_hand, "flow-by-hand"), (self.page, "flow-worth"),
                           (self.both, "flow-posterior")):  # fmt: skip
            part.add_class(name)
        self.airplane = self._airplane()
        half = 0.5 * self.airplane.planform.span
        style, layout = {"description_width": "270px"}, w.Layout(width="680px")

        def slider(value, low, high, step, text, form=".1f"):
            return w.FloatSlider(value, min=low, max=high, step=step, description=text, readout_format=form,
                                 continuous_update=False, style=style, layout=layout)  # fmt: skip

        first = self._first()
        self.kind = w.Dropdown(options=(VANES, *KINDS), value=VANES, description="Device", style=style, layout=layout)
        self.surface = w.Dropdown(options=SURFACES, value="wing", description="On", style=style, layout=layout)
        self.cleared = w.Text("", description="Balance and flutter cleared by", style=style, layout=layout,
                              placeholder="where it moves: name, date", continuous_update=False)  # fmt: skip
        self.arrangement = w.Dropdown(options=("counter-rotating", "co-rotating"), description="Vanes stand",
                                      value=first.arrangement, style=style, layout=layout)  # fmt: skip
        self.height = slider(1e3 * first.height, 1.0, 60.0, 0.5, "Height above the skin [mm]")
        self.length = slider(1e3 * first.length, 3.0, 150.0, 1.0, "Length along the foot [mm]", ".0f")
        self.angle = slider(math.degrees(first.angle), 5.0, 35.0, 1.0, "Angle to the flow [deg]", ".0f")
        self.pitch = slider(1e3 * first.pitch, 10.0, 300.0, 1.0, "From pair to pair, or vane to vane [mm]", ".0f")
        self.station = slider(100.0 * first.station, 2.0, 90.0, 1.0, "Behind the leading edge [% of the chord]", ".0f")
        ends = (round(first.inner, 2), round(first.outer, 2))
        self.span = w.FloatRangeSlider(value=ends, min=0.0, max=round(half, 2), step=0.05,
                                       description="Treated, from the centreline [m]", readout_format=".2f",
                                       continuous_update=False, style=style, layout=layout)  # fmt: skip
        self.vane_controls = (self.arrangement, self.height, self.length, self.angle, self.pitch, self.station)
        self.use_prior = w.Checkbox(
            True, description="use the prediction beside the measurement", indent=False, layout=layout
        )
        self.stalls = w.IntSlider(4, min=2, max=8, description="Stalls on each flight", style=style, layout=layout,
                                  continuous_update=False)  # fmt: skip
        self.flights = w.IntSlider(2, min=1, max=4, description="Flights in each state", style=style, layout=layout,
                                   continuous_update=False)  # fmt: skip
        self.lift, self.layer = PictureBox("lift", 820, 360), PictureBox("layer", 820, 290)
        self.wing, self.posterior = PictureBox("flow-wing", 820, 260), PictureBox("posterior", 820, 270)
        self._page_key = None
        controls = (self.kind, self.surface, self.cleared, *self.vane_controls, self.span, self.stalls, self.flights)
        for control in controls:
            control.observe(self._update, "value")
        self.use_prior.observe(self._together, "value")
        self.assemble(
            self.origin, w.VBox([self.kind, self.surface, self.cleared, *self.vane_controls, self.span]), self.answer,
            self.lift.box, self.by_hand, self.layer.box, self.wing.box, self.use_prior, self.both, self.posterior.box,
            w.VBox([self.stalls, self.flights]), self.page,
        )  # fmt: skip
        self._update()

    def _airplane(self) -> CleanWing:
        """The case's own wing, else an invented one, and where each came from."""
        if self.study is not None:
            try:
                self.reduced = self.study.reduction
                self.compared = self.study.comparison
                found = self.study.clean_wing
                speed = f"{found.stall_speed / KNOT:.1f} kt, {'measured' if found.measured else 'of CL 1.5'}"
                seen = (
                    "computed; film tufts first" if found.first_stall is None
                    else f"as tufts showed it, {found.first_stall:.2f} m from the centreline"
                )  # fmt: skip
                self.origin.value = (
                    f"<p class='flow-origin'>{html.escape(self.study.name)} as it was "
                    f"'{html.escape(self.study.states[0])}'"
                    f", flaps up: 1-g stall speed {html.escape(speed)}; section limits times "
                    f"{found.anchor:.2f}, from its own clean CLmax; where the stall starts: "
                    f"{html.escape(seen)}.</p>"
                )
                return found
            except CaseError as e:
                why = f"The case does not say enough, so the wing below is an invented one: {e}"
        else:
            why = "No case: the wing below is an invented one."
        self.origin.value = f"<p class='flow-origin'>{html.escape(why)}</p>"
        section = section_lift("NACA 4412", 2.2e6, table=section_table())
        plan = straight_taper(10.0, 15.0, 0.8, aileron=(2.9, 4.7), flap=(0.5, 2.8))
        tail = ("tailplane", "elevator", "rudder")
        return CleanWing(plan, {0.0: section, 1.0: section}, 45.0 * KNOT, False, tail, None, None, "metal")

    def _first(self) -> Vanes:
        """The first row of vanes of the case, else a usual one."""
        half = 0.5 * self.airplane.planform.span
        mm, deg = 1e-3, math.radians(1.0)
        usual = Vanes(mm * START["height"], mm * START["length"], deg * START["angle"], mm * START["pitch"],
                      0.01 * START["station"], round(0.2 * half, 2), round(0.96 * half, 2))  # fmt: skip
        self.row = None
        for row in self.study.aircraft.device if self.study is not None else ():
            try:
                device = device_of(row, self.study.aircraft)
            except CaseError:
                continue
            if isinstance(device, Vanes) and device.surface.startswith("wing") and device.outer <= half:
                self.row = row
                return device
        return usual

    def device(self) -> Vanes | Device:
        """What the controls describe."""
        inner, outer = self.span.value
        common = {"inner": inner, "outer": outer, "surface": self.surface.value, "cleared": self.cleared.value}
        try:
            if self.kind.value != VANES:
                return Device(self.kind.value, **common)
            return Vanes(1e-3 * self.height.value, 1e-3 * self.length.value, math.radians(self.angle.value),
                         1e-3 * self.pitch.value, 0.01 * self.station.value, arrangement=self.arrangement.value,
                         **common)  # fmt: skip
        except ValueError as e:
            raise CaseError(str(e)) from None

    @guarded
    def _update(self, *_):
        vanes = self.kind.value == VANES
        for control in self.vane_controls:
            control.disabled = not vanes
        device = self.device()
        try:
            result = estimate(device, self.airplane)
        except ValueError as e:
            raise CaseError(str(e)) from None
        self.result = result
        self.answer.value = result._repr_html_()
        chord = float(self.airplane.planform.chord_at(0.5 * (device.inner + device.outer)))
        self._by_hand(device, chord)
        for picture in (self.lift, self.layer, self.wing):
            picture.box.layout.display = "none" if result.section is None else ""
        if result.section is not None:
            shown = vanes and result.explained is not None
            for picture in (self.lift, self.layer):
                picture.box.layout.display = "" if shown else "none"
            if shown:
                s, base = result.section, result.explained.section
                self.lift.show((s.value, s.interval95, base.reynolds, base.clmax), lambda: lift_picture(result))
                key = (device.height, device.length, device.angle, device.pitch, device.station, device.arrangement,
                       round(chord, 2))  # fmt: skip
                self.layer.show(key, lambda: layer_picture(device, result, chord))
            self.wing.show((device.inner, device.outer, getattr(device, "station", None), result.section.value),
                           lambda: self._wing(result))  # fmt: skip
        self._worth()
        self._together()

    def _wing(self, result):
        a, d = self.airplane, result.device
        return wing_picture(result, a.planform, wing_curve(a.planform, a.sections, d.inner, d.outer), self._tufts())

    def _tufts(self):
        """Separation lines of the clean wing at the slowest speed filmed, by state."""
        table = self.study.case.optional(TUFTS) if self.study is not None else None
        if table is None:
            return ()
        out = []
        for name in self.study.case.states_in(TUFTS):
            here = (table.text["modification"] == name) & (table.text["surface"] == "wing")
            here &= table.text["configuration"] == table.text["configuration"][here][0] if here.any() else here
            if here.any():
                here &= table.ias == table.ias[here].min()
                out.append((name, table.span_station[here], table.chord_station[here]))
        return tuple(out[:2])

    def _by_hand(self, device, chord):
        if not isinstance(device, Vanes) or self.result.explained is None:
            self.by_hand.value = ""
            return
        drag = drag_increment(device, chord)
        e = self.result.explained
        n, shape = device.vanes_per_pitch, "half" if device.shape == "triangle" else "all"
        self.by_hand.value = (
            f"<p>By hand. Drag that the vanes add to the section: {n} in every pitch, each with the area A, {shape} of "
            f"length times height; coefficient {VANE_DRAG:g} on {LOCAL:g} times the dynamic pressure: "
            f"{n} A x {VANE_DRAG:g} x {LOCAL:g} / (pitch x chord {chord:.3f} m) "
            f"= <b class='flow-drag'>{drag:.5f}</b>. The vane is "
            f"<b class='flow-ratio'>{e.height_ratio:.2f}</b> of the layer it stands in at the stall.</p>"
        )

    def _worth(self):
        own = None if self.reduced is None else self.study.own_scatter
        if own is None:
            speed, position = self.airplane.stall_speed, DEFAULTS.position
            if self.study is not None:
                position = error_sizes(self.study.aircraft).position
            sizes = (speed, 0.5 * KNOT, 0.3 * KNOT, position)
        else:
            sizes = (own.speed, own.stalls, own.days, own.position)
        speed = self.result.speed
        key = (None if speed is None else (speed.value, speed.interval95), self.result.name, self.result.mass,
               self.result.top_speed, self.stalls.value, self.flights.value)  # fmt: skip
        if key == self._page_key:
            return
        usable = UNKNOWN
        if self.study is not None and speed is not None:
            usable = usable_words(self.study, 1.0 + speed.value / sizes[0])
        names = ("stall_speed", "stall_scatter", "day_scatter", "position_uncertainty")
        self.page.value = worth_buying(self.result, **dict(zip(names, sizes)), stalls=self.stalls.value,
                                       flights=self.flights.value, usable=usable)._repr_html_()  # fmt: skip
        self._page_key = key

    @guarded(clears=False)
    def _together(self, *_):
        found = None
        if self.study is not None and self.result is not None:
            prior = self.use_prior.value
            found = posterior_of(self.study, self.result, self.compared, device=self.row, use_prior=prior)
        shown = found is not None and found.measured is not None
        self.use_prior.layout.display = self.posterior.box.layout.display = "" if shown else "none"
        if not shown:
            self.both.value = "<p>Nothing was measured yet: prediction and measurement are not compared.</p>"
            return
        self.both.value = found._repr_html_()
        key = (found.best.value, found.best.interval95, found.prior and found.prior.value, found.prior_used)
        self.posterior.show(key, lambda: posterior_picture(found))


def flow_panel(study: Study | None = None) -> FlowPanel:
    """A device on a wing, before buying.

    Parameters
    ----------
    case : Study or None [-]
        Whose wing, stalls and first device the panel starts from.

    Returns
    -------
    FlowPanel [-]
    """
    return FlowPanel(study)
