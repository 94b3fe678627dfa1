"""Vortex generators and other devices on a wing: the change to expect, before anything is bought.

section increment ~ N(m, (0.52 m)^2): the trivial rule, 'every section gains the table's mean', its 95 % reaching zero
dCLmax = g(increment) (1 + 0.2 e1) + s e2,   g by the critical section along the span
dV / V = (1 + dCLmax / CLmax)^(-1/2) - 1
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from aerolib.estimate import Estimate, Source
from aerolib.physics.boundary_layer import SOURCE as LAYER_SOURCE
from aerolib.physics.lifting_line import Planform
from aerolib.predicted.devices.kinds import ALONE, OnWing, SectionChange, movable
from aerolib.predicted.devices.layer import CIRCULATION_SOURCE
from aerolib.predicted.devices.rule import WITHIN, Contest, contest_of
from aerolib.predicted.devices.wing import WingCurve, top_speed_change, wing_curve
from aerolib.predicted.section import STALL_WORDS, SectionLift
from aerolib.ranges import check
from aerolib.units import to_si

KNOT = to_si(1.0, "kt", "speed")
ZERO_LIFT_DRAG = (0.035, 0.050)  # CD0 of light airplanes with fixed gear: common practice, no source
METHOD_SHARE = 0.2  # of the gain: wing against section, our judgement
ELSEWHERE = 0.25  # of what the whole span would gain more: where the stall starts is not sure without tufts
OBSERVED = 0.10  # the same with tufts
NOT_FIRST = "the treated span does not stall first: what is not treated stalls as before, and nothing is gained"
NO_WING = (
    "ahead of a control surface or under the tailplane vanes keep the flow attached at large deflections; no measured "
    "number for a light airplane is known. Count on nothing; compare stick position and control power in flight"
)
ON_FLAP = (
    "on a flap vanes keep its flow attached (a three-element section gained 10 % of cl at one angle of attack, "
    "Lin 1994, from memory); no gain of CLmax is known, and none is counted"
)
DEVICE = Source("what the device adds to a section", "shared")
WING = Source("wing from section", "shared")
START = Source("where the stall starts", "shared")
GRID = ndtri((np.arange(199) + 0.5) / 199)  # standard normal in equal shares
_COARSE = ndtri((np.arange(25) + 0.5) / 25)
CAUTIONS = (
    "A prediction made before anything was fitted: no approach speed, placard, marking or weight follows from it. "
    "Only flights before and after, within the permit and with a licensed instructor or inspector consulted, show what "
    "it does.",
    "Anything on wing or tail can change how the airplane stalls, enters and leaves a spin, and what its stall "
    "warning is worth. Nothing here plans a spin; stalls are flown with height to spare and inside the loading limits.",
    "Fitting it may need approval: local rules decide. Loads, balance and flutter are not the subject here.",
)
METHOD = (
    "section increment by the trivial rule (every section gains the table's mean); wing by the critical section along "
    f"the span; trimmed airplane. Explanation only: {LAYER_SOURCE}; {CIRCULATION_SOURCE}"
)


@dataclass(frozen=True)
class CleanWing:
    """What a device meets: the clean wing before anything was fitted."""

    planform: Planform
    sections: Mapping[float, SectionLift]  # by share of the half span
    stall_speed: float  # 1-g, CAS at the reference weight [m/s]
    measured: bool = False  # whether that speed was
    surfaces: tuple[str, ...] = ()  # of the tail: elevator, rudder, tailplane
    first_stall: float | None = None  # where tufts first stalled, from the centerline [m]; None: computed
    let_go: float | None = None  # chord station of the separation line that tufts show at the stall [-]; None: 0.7
    skin: str | None = None  # fabric, metal, composite, wood: a laminar run is counted unless it is fabric
    anchor: float = 1.0  # what the section limits were multiplied by, from the owner's own clean CLmax [-]
    zero_lift_drag: tuple[float, float] = ZERO_LIFT_DRAG  # least and largest CD0 of the airplane [-]

    def __post_init__(self):
        check("zero_lift_drag", self.zero_lift_drag, 0.001, 1.0, "-")
        check("first_stall", self.first_stall, 0.0, 100.0, "m")
        check("let_go", self.let_go, 0.0, 1.0, "-")
        check("stall_speed", self.stall_speed, 1.0, 340.0, "m/s")

    @property
    def seen(self) -> bool:
        """Tufts showed where the stall starts."""
        return self.first_stall is not None

    def section_at(self, inner: float, outer: float) -> SectionLift:
        """The section nearest to the middle of a span [m]."""
        share = (inner + outer) / self.planform.span
        return self.sections[min(self.sections, key=lambda e: abs(e - share))]

    def chord_at(self, inner: float, outer: float) -> float:
        """Chord in the middle of a span [m]."""
        return float(self.planform.chord_at(0.5 * (inner + outer)))

    def curve(self, inner: float, outer: float) -> WingCurve:
        """What increments of the section over a span [m] do to the wing."""
        return wing_curve(self.planform, self.sections, inner, outer, self.first_stall)

    @property
    def whole(self) -> WingCurve:
        """The same over the whole span."""
        return self.curve(0.0, 0.5 * self.planform.span)


@dataclass(frozen=True)
class FlowControl:
    """What one device is expected to do, with its interval; None where no change of the wing is expected."""

    device: OnWing
    contest: Contest
    inputs: Mapping[str, str]
    notes: tuple[str, ...]
    mass: float | None  # [kg]
    weighed: bool = False  # the mass is that of what was fitted
    on_section: SectionChange | None = None
    section: Estimate | None = None  # change of the section's clmax [-]
    gain: Estimate | None = None  # change of the trimmed airplane's CLmax [-]
    speed: Estimate | None = None  # change of the 1-g stall speed at the reference weight, CAS [m/s]
    probability_one_knot: float | None = None  # that it falls by a knot or more
    full_span: float | None = None  # gain of trimmed CLmax if the whole span were treated alike [-]
    touch: tuple[float, float] | None = None  # where the stall starts before and after [m]
    aileron: tuple[float, float] | None = None  # margin over the ailerons when the stall starts, before and after [-]
    drag: Estimate | None = None  # change of CD in cruise, on the wing area [-]
    top_speed: tuple[float, float] | None = None  # relative change at fixed power: worst and best of the band [-]
    suddenness: str = ""  # of the stall, in words

    @property
    def name(self) -> str:
        """'vortex generators, wing'."""
        return f"{self.device.name or self.device.kind}, {self.device.surface}"

    @property
    def explained(self):
        """The boundary layer at the vanes; None for other devices."""
        return self.on_section and self.on_section.explained

    @property
    def outside(self) -> tuple[str, ...]:
        """In what way it lies outside the tested range."""
        return self.on_section.outside if self.on_section else ()


def flow_control_increment(
    device: OnWing, wing: CleanWing, beside: Sequence[str] = (), contest: Contest | None = None
) -> FlowControl:
    """What a device changes: section, trimmed CLmax, stall speed, drag, top speed, aileron margin.

    Parameters
    ----------
    device : OnWing [SI]
    wing : CleanWing [SI]
    beside : sequence of str [-]
        Kinds of other devices on the same span.
    contest : Contest [-]
        Why no model takes the place of the rule.

    Returns
    -------
    FlowControl [SI]

    Raises
    ------
    ValueError
        A span beyond the tip, a surface the airplane has not, a movable surface without a clearance, a vane taller than
        a tenth of the chord.

    Valid range: unswept wings of light airplanes; vanes of 0.1 to 3 layers, 5 to 60 % of the chord.
    """
    _checked(device, wing)
    contest = contest or contest_of()
    chord = wing.chord_at(device.inner, device.outer)
    inputs = {"treated span": f"{device.inner:.2f} to {device.outer:.2f} m from the centerline",
              "chord there": f"{chord:.3g} m"}  # fmt: skip
    if not device.surface.startswith("wing") and "aileron" not in device.surface:
        why = ON_FLAP if "flap" in device.surface else NO_WING
        return FlowControl(device, contest, inputs, (why,), device.mass)
    section = wing.section_at(device.inner, device.outer)
    change = device.on_section(section, chord, wing.let_go, wing.skin)
    stall = STALL_WORDS.get(section.stall_type, section.stall_type)
    inputs["section"] = f"{section.name}, clmax {section.clmax.value:.2f}, stall: {stall}"
    inputs["1-g stall speed before"] = f"{wing.stall_speed / KNOT:.1f} kt"
    inputs["where the stall starts"] = f"tufts, {wing.first_stall:.2f} m out" if wing.seen else "computed"
    notes = list(change.notes)
    if both := [b for b in beside if b in ALONE or (b == "vortex generators" and device.kind in ALONE)]:
        notes.append(
            f"with {', '.join(both)} on the same span: no test of both is known, and their gains are not added"
        )
    return _on_wing(device, wing, change, contest, inputs, notes)


def outcome(gain, spread, before: float, stall_speed: float):
    """Gain of CLmax and change of stall speed over a grid of equal shares.

    dCL = gain (1 + 0.2 e1) + spread e2;  dV = V ((1 + dCL / CL)^-1/2 - 1)

    Parameters
    ----------
    gain : array (..., n) [-]
        Of trimmed CLmax, at equal shares of the section increment.
    spread : float or array (...) [-]
    before : float [-]
        Trimmed CLmax.
    stall_speed : float [m/s]

    Returns
    -------
    gain : array (..., n * 25) [-]
    change : array (..., n * 25) [m/s]
    """
    gain = np.asarray(gain, dtype=float)
    spread = np.asarray(spread, dtype=float)[..., None, None]
    # The two lesser sources share one grid, turned against each other: 25 pairs that are uncorrelated.
    e1, e2 = _COARSE, _COARSE[(7 * np.arange(25) + 3) % 25]
    all_ = gain[..., None] * (1.0 + METHOD_SHARE * e1) + spread * e2
    all_ = all_.reshape(*gain.shape[:-1], -1)
    return all_, stall_speed * ((1.0 + np.maximum(all_ / before, -0.9)) ** -0.5 - 1.0)


def spread_of(gains, more, observed: bool, doubted: bool = True):
    """Standard deviation (...) [-] of trimmed CLmax beside that of the increment.

    Where the stall starts is not sure; and what the wing does not pass on makes nothing surer: where the increment is
    doubted the whole is never less than 0.52 of the gain.

    Parameters
    ----------
    gains : array (..., n) [-]
        Trimmed gains at equal shares of the increment.
    more : float or array (...) [-]
        What the whole span would gain beyond this one.
    observed : bool [-]
        Whether tufts were filmed.
    doubted : bool [-]

    Returns
    -------
    array (...) [-]
    """
    elsewhere = (OBSERVED if observed else ELSEWHERE) * more
    lacking = (WITHIN * np.mean(gains, axis=-1)) ** 2 - np.var(gains, axis=-1)
    return np.maximum(elsewhere, np.sqrt(np.maximum(lacking, 0.0))) if doubted else elsewhere


def _on_wing(device, wing: CleanWing, change: SectionChange, contest, inputs, notes: list[str]) -> FlowControl:
    """From the section's change to the trimmed airplane."""
    planform, curve, whole = wing.planform, wing.curve(device.inner, device.outer), wing.whole
    gains = curve.at(change.gain + change.within * GRID)
    more = max(0.0, float(whole.at(change.gain) - curve.at(change.gain)))
    spread = spread_of(gains, more, wing.seen, device.reaches_zero)
    gain, speed = outcome(gains, spread, curve.before, wing.stall_speed)
    parts = {DEVICE: float(np.std(gains)), WING: METHOD_SHARE * abs(float(np.mean(gains))), START: float(spread)}
    mean = float(np.mean(speed))
    slope = mean / float(np.mean(gain)) if abs(np.mean(gain)) > 1e-6 else -0.5 * wing.stall_speed / curve.before
    touch, margin = (_before_after(curve, values, change.gain) for values in (curve.touch, curve.margin))
    if wing.first_stall is not None:  # what was seen takes the place of what was computed
        near = abs(touch[1] - touch[0]) < 0.02 * planform.span
        touch = (wing.first_stall, wing.first_stall if near else touch[1])
    if float(np.mean(gains)) < 0.1 * change.gain and change.gain > 0.05:
        notes.insert(0, NOT_FIRST)
    share = planform.area_between(device.inner, device.outer) / planform.area
    drag = Estimate("change of drag", change.drag * share, "-",
                    {Source("drag of the device", "shared"): change.drag_within * share})  # fmt: skip
    low, high = drag.interval95
    speeds = [float(top_speed_change(x, cd0)) for x, cd0 in zip((high, low), wing.zero_lift_drag)]
    sudden = [change.suddenness] if change.suddenness else []
    if planform.aileron and touch[1] > max(touch[0] + 0.05 * planform.span, planform.aileron[0] - 0.3):
        sudden.append("it starts further out, near the ailerons: a wing may drop more readily than before")
    return FlowControl(
        device, contest, inputs, tuple(notes), device.mass, on_section=change,
        section=Estimate("change of section clmax", change.gain, "-", {DEVICE: change.within}),
        gain=Estimate("change of trimmed CLmax", float(np.mean(gain)), "-", parts, _ends(gain, device)),
        speed=Estimate("change of 1-g stall speed", mean, "m/s", {s: slope * p for s, p in parts.items()},
                       _ends(speed, device)),
        # where nothing is expected the spread goes both ways alike: a chance read from it would be a coin's
        probability_one_knot=float(np.mean(speed <= -KNOT)) if change.gain != 0.0 else None,
        full_span=float(whole.at(change.gain)), touch=touch, aileron=None if math.isnan(margin[0]) else margin,
        drag=drag, top_speed=(speeds[0], speeds[1]), suddenness="; ".join(sudden),
    )  # fmt: skip


def _before_after(curve: WingCurve, values, gain: float) -> tuple[float, float]:
    """Something along the curve without the device, and with it."""
    return float(np.interp(0.0, curve.increment, values)), float(np.interp(gain, curve.increment, values))


def _ends(values, device: OnWing) -> tuple[float, float]:
    """The 95 % interval; that of vanes reaches zero, as long as no test says that it need not."""
    low, high = (float(x) for x in np.quantile(values, (0.025, 0.975)))
    return (min(low, 0.0), max(high, 0.0)) if device.reaches_zero else (low, high)


def _checked(device: OnWing, wing: CleanWing) -> None:
    name, surface, planform = device.name or device.kind, device.surface, wing.planform
    if movable(surface) and not device.cleared.strip():
        raise ValueError(
            f"{name}: surface '{surface}' moves; a device on a movable surface, tab or balance horn can bring flutter. "
            "It is estimated only with a note in `cleared` that a licensed person has cleared balance and flutter"
        )
    has = ["wing", *(k for k in ("flap", "aileron") if getattr(planform, k) is not None), *wing.surfaces]
    wanted = next((s for s in ("elevator", "rudder", "tailplane", "aileron", "flap", "wing") if s in surface), None)
    if wanted not in has:
        raise ValueError(
            f"{name}: surface '{surface}': the airplane described has {', '.join(has)}; describe it, or mend this"
        )
    if wanted in ("wing", "flap", "aileron") and device.outer > 0.5 * planform.span * (1.0 + 1e-6):
        raise ValueError(
            f"{name}: span_outer {device.outer:g} m is beyond the tip, {0.5 * planform.span:g} m from the centerline"
        )
