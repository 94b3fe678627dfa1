"""What `flow_control_increment` gives: a frozen object that shows itself."""

from __future__ import annotations

import html
import math
from collections.abc import Mapping
from dataclasses import dataclass

from aerolib.estimate import Estimate, digits
from aerolib.physics.boundary_layer import SOURCE as LAYER_SOURCE
from aerolib.predicted.flow_contest import BIAS, TRIVIAL, Contest
from aerolib.predicted.flow_devices import Device
from aerolib.predicted.flow_section import StallingSection
from aerolib.predicted.vanes import CIRCULATION_SOURCE, Vanes
from aerolib.units import knots

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
class Explained:
    """The layer where the vanes stand, computed: it explains and ranks layouts, and is not the estimate."""

    section: StallingSection
    thickness: float  # delta at the vanes at the stall [m]
    height_ratio: float  # h / delta [-]
    ahead: float  # vane to separation at the stall, in vane heights [-]
    computed: float  # section gain [-]
    relative: float  # to the same computation for the usual layout on this section [-]


@dataclass(frozen=True)
class FlowControl:
    """What one device is expected to do, with its interval."""

    device: Vanes | Device
    section: Estimate | None  # change of the section's clmax [-]
    stall_angle: float | None  # change of the section's stall angle [rad]
    gain: Estimate | None  # change of the trimmed airplane's CLmax [-]
    speed: Estimate | None  # change of the 1-g stall speed at the reference weight, CAS [m/s]
    probability_one_knot: float | None  # that it falls by a knot or more
    full_span: float | None  # gain of trimmed CLmax if the whole span were treated alike [-]
    clmax_before: float | None  # trimmed, predicted [-]
    touch: tuple[float, float] | None  # where the stall starts before and after [m]
    aileron: tuple[float, float] | None  # margin over the ailerons when the stall starts, before and after [-]
    drag: Estimate | None  # change of CD in cruise, on the wing area [-]
    top_speed: tuple[float, float] | None  # relative change at fixed power: worst and best of the band [-]
    mass: float | None  # [kg]
    explained: Explained | None
    contest: Contest
    suddenness: str  # of the stall, in words
    outside: tuple[str, ...]  # in what way it lies outside the tested range
    notes: tuple[str, ...]
    inputs: Mapping[str, str]

    @property
    def name(self) -> str:
        """'vortex generators, wing'."""
        kind = self.device.name or getattr(self.device, "kind", "")
        return f"{kind}, {self.device.surface}"

    def headline(self) -> str:
        """The answer in one line."""
        if self.speed is None:
            return f"{self.name}: no change of the wing's maximum lift is expected of it"
        d = max(1, digits(knots(self.speed.standard_uncertainty)))
        low, high = (knots(x) + 0.0 for x in self.speed.interval95)
        mark = "; outside the tested range" if self.outside else ""
        return (
            f"{self.name}: 1-g stall speed {knots(self.speed.value):+.{d}f} kt (95 %: {low:+.{d}f} to {high:+.{d}f} "
            f"kt); {self.chance()}{mark}"
        )

    def chance(self) -> str:
        """The chance of a knot, in words."""
        if self.probability_one_knot is None:
            return "nothing is expected, either way"
        return f"a knot or more lower with probability {self.probability_one_knot:.0%}"

    def lines(self) -> list[str]:
        """The result, a sentence each."""
        out = [self.headline()]
        if self.section is not None:
            angle = "" if self.stall_angle is None else f", stall angle {math.degrees(self.stall_angle):+.0f} deg"
            out.append(f"section clmax {signed(self.section)}{angle}; trimmed CLmax {signed(self.gain)}")
        if self.full_span is not None and self.full_span > self.gain.value + 0.02:
            out.append(
                f"with the whole span treated alike trimmed CLmax would gain {self.full_span:.2f}: what lies outside "
                "the treated span keeps its limit, and lets go first"
            )
        if self.touch is not None:
            out.append(
                f"the stall starts {self.touch[0]:.2f} m from the centreline before, {self.touch[1]:.2f} m after"
            )
        if self.aileron is not None:
            out.append(
                f"margin of the sections over the ailerons when the stall starts: {self.aileron[0]:.0%} before, "
                f"{self.aileron[1]:.0%} after"
            )
        if self.drag is not None:
            low, high = (round(x, 4) + 0.0 for x in self.drag.interval95)
            slow, fast = (round(100.0 * x, 1) + 0.0 for x in self.top_speed)
            out.append(
                f"drag in cruise: CD {self.drag.value:+.4f} (95 %: {low:+.4f} to {high:+.4f}); top speed {slow:+.1f} "
                f"to {fast:+.1f} %"
            )
        if self.mass is not None:
            out.append(f"mass about {1e3 * self.mass:.0f} g with feet, 1 mm of aluminium")
        if self.explained is not None:
            e = self.explained
            out.append(
                f"computed, as explanation only: the layer at the vanes is {1e3 * e.thickness:.1f} mm thick at the "
                f"stall (vane {e.height_ratio:.1f} of it), they stand {e.ahead:.0f} heights ahead of separation; this "
                f"layout does {e.relative:.1f} times what the usual one does on this section"
            )
        if self.suddenness:
            out.append(f"suddenness of the stall: {self.suddenness}")
        return out + [f"outside the tested range: {x}" for x in self.outside] + list(self.notes)

    def text(self) -> str:
        """All lines, the contest and the cautions."""
        return "\n".join([*self.lines(), self.contest.text(), *CAUTIONS])

    def __str__(self) -> str:
        return self.text()

    def _repr_html_(self) -> str:
        def items(texts):
            return "".join(f"<li>{html.escape(t)}</li>" for t in texts)

        given = "; ".join(f"{k}: {v}" for k, v in self.inputs.items())
        return (
            f"<p class='lead'><b>{html.escape(self.headline())}</b></p><ul>{items(self.lines()[1:])}</ul>"
            f"<p>{html.escape(self.contest.words())} {html.escape(BIAS)}</p>"
            f"<p class='small'>Method: {html.escape(METHOD)}. From {html.escape(given)}.</p>"
            f"<ul class='cautions'>{items(CAUTIONS)}</ul>"
        )

    def as_dict(self) -> dict:
        """One item of the JSON list `flow_control`."""

        def value(e):
            return None if e is None else _short(e.value)

        def ends(e, factor=1.0):
            return None if e is None else [_short(factor * x) for x in e.interval95]

        e = self.explained
        kt = knots(1.0)
        return {
            "device": self.device.name or getattr(self.device, "kind", ""), "surface": self.device.surface,
            "kind": "trimmed", "delta_clmax": value(self.gain), "interval95": ends(self.gain),
            "delta_section_clmax": value(self.section), "section_interval95": ends(self.section),
            "delta_stall_angle_deg": None if self.stall_angle is None else _short(math.degrees(self.stall_angle)),
            "delta_stall_speed_1g_kt": None if self.speed is None else _short(kt * self.speed.value),
            "delta_stall_speed_interval95_kt": ends(self.speed, kt),
            "probability_one_knot": _short(self.probability_one_knot), "full_span_delta_clmax": _short(self.full_span),
            "first_stall_m": None if self.touch is None else [_short(x) for x in self.touch],
            "aileron_margin": None if self.aileron is None else [_short(x) for x in self.aileron],
            "delta_drag": value(self.drag), "delta_drag_interval95": ends(self.drag),
            "top_speed_percent": None if self.top_speed is None else [_short(100.0 * x) for x in self.top_speed],
            "mass_kg": _short(self.mass), "model": TRIVIAL, "contest": self.contest.as_dict(),
            "computed": None if e is None else {
                "layer_thickness_m": _short(e.thickness), "height_over_layer": _short(e.height_ratio),
                "heights_to_separation": _short(e.ahead), "delta_section_clmax": _short(e.computed),
                "relative_to_usual_layout": _short(e.relative),
            },
            "suddenness": self.suddenness or None, "outside_tested_range": list(self.outside),
            "notes": list(self.notes),
        }  # fmt: skip


def signed(e: Estimate) -> str:
    """'+0.30 (95 %: -0.01 to +0.61)' [the estimate's unit]."""
    d = max(2, digits(e.standard_uncertainty)) if e.standard_uncertainty else 2
    low, high = (round(x, d) + 0.0 for x in e.interval95)
    return f"{round(e.value, d) + 0.0:+.{d}f} (95 %: {low:+.{d}f} to {high:+.{d}f})"


def _short(x) -> float | None:
    return None if x is None or not math.isfinite(x) else float(f"{x:.6g}")
