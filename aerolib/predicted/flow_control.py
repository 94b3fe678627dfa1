"""Vortex generators and other devices on a wing: the change to expect, before anything is bought.

section increment ~ N(m, (0.52 m)^2): the trivial rule, 'every section gains the table's mean', its 95 % reaching zero
dCLmax = g(increment) (1 + 0.2 e1) + s e2,   g by the critical section along the span
dV / V = (1 + dCLmax / CLmax)^(-1/2) - 1
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
from scipy.special import ndtri

from aerolib.estimate import Estimate, Source
from aerolib.physics.lifting_line import Planform
from aerolib.predicted.flow_contest import WITHIN, Contest, Pair, hold_contest
from aerolib.predicted.flow_devices import ALONE, KINDS, Device, movable
from aerolib.predicted.flow_layer import vanes_in_layer
from aerolib.predicted.flow_results import Explained, FlowControl
from aerolib.predicted.flow_rule import AHEAD, HEIGHTS, outside_tests, plain_rule
from aerolib.predicted.flow_section import LET_GO, StallingSection
from aerolib.predicted.flow_wing import top_speed_change, trip_cost, vane_mass, wing_curve
from aerolib.predicted.section.shapes import shape_of
from aerolib.predicted.vanes import DRAG_WITHIN, Vanes, drag_increment
from aerolib.ranges import in_range
from aerolib.units import to_si

KNOT = to_si(1.0, "kt", "speed")
ZERO_LIFT_DRAG = (0.035, 0.050)  # CD0 of light airplanes with fixed gear: common practice, no source
METHOD_SHARE = 0.2  # of the gain: wing against section, our judgement
ELSEWHERE = 0.25  # of what the whole span would gain more: where the stall starts is not sure without tufts
OBSERVED = 0.10  # the same with tufts
PER_DEGREE = 0.095 / math.radians(1.0)  # of clmax per radian that the stall is delayed
MOST_OF_CHORD = 0.1  # a vane taller than this is no vane
USUAL = {"station": 0.15, "length": 3.0, "angle": math.radians(15.0), "pitch": 7.0}  # h = delta
NOT_FIRST = "the treated span does not stall first: what is not treated lets go as before, and nothing is gained"
DEVICE = Source("what the device adds to a section", "shared")
GRID = ndtri((np.arange(199) + 0.5) / 199)  # standard normal in equal shares
_COARSE = ndtri((np.arange(25) + 0.5) / 25)


@in_range(zero_lift_drag=(0.001, 1.0, "-"), first_stall=(0.0, 100.0, "m"), let_go=(0.0, 1.0, "-"))
def flow_control_increment(
    device: Vanes | Device,
    planform: Planform,
    sections: Mapping[float, object],
    *,
    stall_speed: float,
    surfaces: Sequence[str] = (),
    first_stall: float | None = None,
    let_go: float | None = None,
    zero_lift_drag: tuple[float, float] = ZERO_LIFT_DRAG,
    surface: str | None = None,
    beside: Sequence[str] = (),
    pairs: Sequence[Pair] = (),
    contest: Contest | None = None,
) -> FlowControl:
    """What a device changes: section, trimmed CLmax, stall speed, drag, top speed, aileron margin.

    Parameters
    ----------
    device : Vanes or Device [SI]
    planform : Planform [m]
    sections : mapping of share of the half span to SectionLift [-]
    stall_speed : float [m/s]
        1-g, before, CAS at the reference weight.
    surfaces : sequence of str [-]
        Tail surfaces that the airplane has: elevator, rudder, tailplane.
    first_stall : float [m]
        From the centreline, where tufts first let go; None: computed.
    let_go : float [-]
        Chord station of the separation line that tufts show at the stall; None: 0.7 of the chord.
    zero_lift_drag : pair of float [-]
        Least and largest CD0 that the airplane may have.
    surface : str [-]
        Of the wing: fabric, metal, composite, wood; a laminar run is counted unless it is fabric.
    beside : sequence of str [-]
        Kinds of other devices on the same span.
    pairs : sequence of Pair [-]
        Known tests, for the contest.
    contest : Contest [-]
        Held already; else it is held here.

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
    _checked(device, planform, surfaces)
    contest = contest or hold_contest(pairs)
    chord = float(planform.chord_at(0.5 * (device.inner + device.outer)))
    notes: list[str] = []
    inputs = {"treated span": f"{device.inner:.2f} to {device.outer:.2f} m from the centreline",
              "chord there": f"{chord:.3g} m"}  # fmt: skip
    if not device.surface.startswith("wing") and "aileron" not in device.surface:
        return _no_wing(device, contest, inputs)
    section = _section_at(sections, planform, device)
    outside: list[str] = []
    explained, angle, drag, drag_within, mass = None, None, 0.0, 0.0, None
    if isinstance(device, Vanes):
        if device.height > MOST_OF_CHORD * chord:
            raise ValueError(
                f"vortex generators: height {1e3 * device.height:.3g} mm is more than a tenth of the chord there, "
                f"{1e3 * chord:.0f} mm; give the height above the skin"
            )
        explained = explain(device, section, chord)
        value, within, angle = _section_increment(device, section, explained, let_go, outside, notes)
        drag, drag_within = _vane_drag(device, chord, explained, surface, notes)
        mass = vane_mass(device)
    else:
        kind = KINDS[device.kind]
        value, within, angle, drag, drag_within = kind.gain, kind.within, kind.stall, kind.drag, kind.drag_within
        notes += [kind.note, f"from {kind.source}"]
    both = [b for b in beside if b in ALONE or (b == "vortex generators" and getattr(device, "kind", "") in ALONE)]
    if both:
        notes.append(
            f"with {', '.join(both)} on the same span: no test of both is known, and their gains are not added"
        )
    increment = Estimate("change of section clmax", value, "-", {DEVICE: within})
    inputs["section"] = f"{section.name}, clmax {section.clmax.value:.2f}, stall: {section.stall_type}"
    inputs["1-g stall speed before"] = f"{stall_speed / KNOT:.1f} kt"
    return _wing(device, planform, sections, increment, angle, explained, drag, drag_within, mass, contest, outside,
                 notes, inputs, stall_speed, first_stall, zero_lift_drag, section.stall_type)  # fmt: skip


def explain(vanes: Vanes, section, chord: float) -> Explained:
    """The layer at the vanes and what the computation makes of them.

    Parameters
    ----------
    vanes : Vanes [m]
    section : SectionLift [-]
    chord : float [m]

    Returns
    -------
    Explained [SI]
    """
    base = stalling(section)
    counter = vanes.arrangement == "counter-rotating"
    got = vanes_in_layer(base, vanes.station, vanes.height / chord, vanes.length / chord, vanes.angle,
                         vanes.pitch / chord, counter)  # fmt: skip
    relative = float(got.delta_clmax) / max(_usual(*_key(section)), 1e-3)
    return Explained(base, float(got.thickness) * chord, float(got.height_ratio), float(got.ahead),
                     float(got.delta_clmax), relative)  # fmt: skip


def stalling(section) -> StallingSection:
    """A SectionLift as the layer takes it [-]: its outline, and its stall fitted to its clmax."""
    return _stalling(*_key(section))


def _key(section) -> tuple:
    points = section.coordinates if section.coordinates is not None else shape_of(section.name).coordinates
    points = np.ascontiguousarray(points, dtype=float).tobytes()
    return points, section.reynolds, section.alpha0, section.slope, section.clmax.value


@lru_cache(maxsize=32)  # the clean layer of a section serves every layout on it
def _stalling(points: bytes, reynolds, alpha0, slope, clmax) -> StallingSection:
    return StallingSection(np.frombuffer(points).reshape(-1, 2), reynolds, alpha0, slope, clmax)


@lru_cache(maxsize=32)
def _usual(*key) -> float:
    """What the usual layout gains on this section, computed."""
    base = _stalling(*key)
    h = float(base.thickness_at(USUAL["station"]))
    got = vanes_in_layer(base, USUAL["station"], h, USUAL["length"] * h, USUAL["angle"], USUAL["pitch"] * h)
    return float(got.delta_clmax)


def outcome(gain, spread: float, before: float, stall_speed: float):
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


def spread_of(gains, more, observed: bool):
    """Standard deviation (...) [-] of trimmed CLmax beside that of the increment.

    Where the stall starts is not sure; and what the wing does not pass on makes nothing surer: the whole is never less
    than 0.52 of the gain.

    Parameters
    ----------
    gains : array (..., n) [-]
        Trimmed gains at equal shares of the increment.
    more : float or array (...) [-]
        What the whole span would gain beyond this one.
    observed : bool [-]
        Whether tufts were filmed.

    Returns
    -------
    array (...) [-]
    """
    lacking = (WITHIN * np.mean(gains, axis=-1)) ** 2 - np.var(gains, axis=-1)
    return np.maximum(_elsewhere(more, observed), np.sqrt(np.maximum(lacking, 0.0)))


def _elsewhere(more, observed):
    return (OBSERVED if observed else ELSEWHERE) * more


def _wing(device, planform, sections, increment, angle, explained, drag, drag_within, mass, contest, outside, notes,
          inputs, stall_speed, first_stall, zero_lift_drag, section_stall) -> FlowControl:  # fmt: skip
    curve = wing_curve(planform, sections, device.inner, device.outer, first_stall)
    whole = wing_curve(planform, sections, 0.0, 0.5 * planform.span, first_stall)
    u = increment.standard_uncertainty
    gains = curve.at(increment.value + u * GRID)
    more = max(0.0, float(whole.at(increment.value) - curve.at(increment.value)))
    spread = (
        spread_of(gains, more, first_stall is not None)
        if isinstance(device, Vanes)
        else _elsewhere(more, first_stall is not None)
    )
    inputs["where the stall starts"] = "computed" if first_stall is None else f"tufts, {first_stall:.2f} m out"
    gain, change = outcome(gains, spread, curve.before, stall_speed)
    parts = {DEVICE: float(np.std(gains)),
             Source("wing from section", "shared"): METHOD_SHARE * abs(float(np.mean(gains))),
             Source("where the stall starts", "shared"): spread}  # fmt: skip
    mean = float(np.mean(change))
    slope = mean / float(np.mean(gain)) if abs(np.mean(gain)) > 1e-6 else -0.5 * stall_speed / curve.before
    touch = tuple(float(np.interp(x, curve.increment, curve.touch)) for x in (0.0, increment.value))
    if first_stall is not None:  # what was seen takes the place of what was computed
        touch = (first_stall, first_stall if abs(touch[1] - touch[0]) < 0.02 * planform.span else touch[1])
    margin = tuple(float(np.interp(x, curve.increment, curve.margin)) for x in (0.0, increment.value))
    if float(np.mean(gains)) < 0.1 * increment.value and increment.value > 0.05:
        notes.insert(0, NOT_FIRST)
    share = planform.area_between(device.inner, device.outer) / planform.area
    total = Estimate("change of drag", drag * share, "-", {Source("drag of the device", "shared"): drag_within * share})
    low, high = total.interval95
    speeds = (float(top_speed_change(high, zero_lift_drag[0])), float(top_speed_change(low, zero_lift_drag[1])))
    return FlowControl(
        device, increment, angle,
        Estimate("change of trimmed CLmax", float(np.mean(gain)), "-", parts, _ends(gain, device)),
        Estimate("change of 1-g stall speed", mean, "m/s", {s: slope * p for s, p in parts.items()},
                 _ends(change, device)),
        # where nothing is expected the spread goes both ways alike: a chance read from it would be a coin's
        float(np.mean(change <= -KNOT)) if increment.value != 0.0 else None, float(whole.at(increment.value)),
        curve.before, touch,
        None if math.isnan(margin[0]) else margin, total, speeds, mass, explained, contest,
        _suddenness(device, section_stall, touch, planform), tuple(outside), tuple(notes), inputs,
    )  # fmt: skip


def _suddenness(device, stall_type: str, touch, planform) -> str:
    """What the stall is likely to become, in words: no number for it is known."""
    said = []
    if isinstance(device, Vanes):
        if stall_type in ("leading edge", "thin"):
            said.append("a section that lets go from its nose stays abrupt, and may become more so")
        elif device.station < 0.12:
            said.append("vanes so far forward gain most and end most abruptly (trend of the tests, from memory)")
        else:
            said.append(
                "likely as before up to the break, later and perhaps more abrupt (trend of the tests, from memory)"
            )
    elif device.kind == "stall strip":
        said.append("earlier and, where the strip stands, at once: the outer wing keeps working")
    if planform.aileron and touch[1] > touch[0] + 0.05 * planform.span and touch[1] > planform.aileron[0] - 0.3:
        said.append("it starts further out, near the ailerons: a wing may drop more readily than before")
    return "; ".join(said)


def _ends(values, device) -> tuple[float, float]:
    """The 95 % interval; that of vanes reaches zero, as long as no contest says that it need not."""
    low, high = (float(x) for x in np.quantile(values, (0.025, 0.975)))
    return (min(low, 0.0), max(high, 0.0)) if isinstance(device, Vanes) else (low, high)


def _section_increment(vanes, section, explained, let_go, outside, notes):
    """Value and standard deviation of the section's increment, and the change of its stall angle."""
    ratio, ahead, kind = explained.height_ratio, explained.ahead, section.stall_type
    words = {
        "tall": f"the vane is {ratio:.1f} times as tall as the layer is thick; tests go to {HEIGHTS[1]:g}",
        "low": f"the vane is {ratio:.2f} of the layer's thickness; tests start at {HEIGHTS[0]:g}",
        "ahead": f"the vanes stand {ahead:.0f} heights ahead of separation; tests go to {AHEAD:.0f}",
        "station": f"the vanes stand at {vanes.station:.0%} of the chord; tests lie between 5 and 60 %",
        "angle": f"the vanes stand at {math.degrees(vanes.angle):.0f} deg to the flow; tests end at 25",
    }
    outside += [words[k] for k, broken in outside_tests(vanes.station, ratio, ahead, vanes.angle).items() if broken]
    value, within = (float(x) for x in plain_rule(kind, vanes.station, ratio, ahead, vanes.angle, let_go))
    edge = LET_GO if let_go is None else let_go
    if vanes.station >= edge:
        origin = "as computed" if let_go is None else "as the tufts show it"
        notes.append(f"the vanes stand behind separation ({edge:.0%} of the chord, {origin}): nothing is expected")
    elif kind in ("leading edge", "thin"):
        notes.append(
            f"this section stalls from its nose ({kind}): "
            + ("nothing is expected of vanes" if value == 0.0 else "half of the mean is expected, no test is known")
        )
    if vanes.arrangement == "co-rotating" and vanes.pitch < 3.0 * vanes.height:
        notes.append("co-rotating vanes closer than three heights cancel one another (Pearcey 1961, from memory)")
    if vanes.station > 0.35 and value > 0.0:
        notes.append("so far aft vanes are cheap and weak (trend of the tests); the table's mean does not know it")
    return value, within, value / PER_DEGREE


def _vane_drag(vanes, chord, explained, surface, notes) -> tuple[float, float]:
    own = drag_increment(vanes, chord)
    trip, transition = trip_cost(explained.section, vanes.station)
    if surface == "fabric" or trip <= 0.0:
        return own, DRAG_WITHIN * own
    notes.append(
        f"the vanes stand ahead of natural transition in cruise ({transition:.0%} of the chord): a laminar run would "
        f"be lost, up to {trip:.4f} of section drag; half of that is counted"
    )
    return own + 0.5 * trip, math.hypot(DRAG_WITHIN * own, 0.3 * trip)


def _checked(device, planform, surfaces) -> None:
    name, surface = device.name or getattr(device, "kind", "device"), device.surface
    moves = movable(surface)
    if moves and not device.cleared.strip():
        raise ValueError(
            f"{name}: surface '{surface}' moves; a device on a movable surface, tab or balance horn can bring flutter. "
            "It is estimated only with a note in `cleared` that a licensed person has cleared balance and flutter"
        )
    has = {"wing": True, "flap": planform.flap is not None, "aileron": planform.aileron is not None,
           **{s: True for s in surfaces}}  # fmt: skip
    wanted = next((s for s in ("elevator", "rudder", "tailplane", "aileron", "flap", "wing") if s in surface), None)
    if wanted is None or not has.get(wanted, False):
        known = ", ".join(s for s, there in has.items() if there)
        raise ValueError(f"{name}: surface '{surface}': the airplane described has {known}; describe it, or mend this")
    if wanted in ("wing", "flap", "aileron") and device.outer > 0.5 * planform.span * (1.0 + 1e-6):
        raise ValueError(
            f"{name}: span_outer {device.outer:g} m is beyond the tip, {0.5 * planform.span:g} m from the centreline"
        )


def _section_at(sections, planform, device):
    """The section nearest to the middle of the treated span."""
    share = (device.inner + device.outer) / planform.span
    return sections[min(sections, key=lambda e: abs(e - share))]


def _no_wing(device, contest, inputs) -> FlowControl:
    text = {
        "flap": "on a flap vanes hold its flow on (a three-element section gained 10 % of cl at one incidence, Lin "
        "1994, from memory); no gain of CLmax is known, and none is counted",
    }.get(
        device.surface.split()[-1] if "flap" in device.surface else "",
        "ahead of a control surface or under the tailplane vanes hold the flow on at large deflections; no measured "
        "number for a light airplane is known. Count on nothing; compare stick position and control power in flight",
    )
    return FlowControl(device, None, None, None, None, None, None, None, None, None, None, None,
                       vane_mass(device) if isinstance(device, Vanes) else None, None, contest, "", (), (text,),
                       inputs)  # fmt: skip
