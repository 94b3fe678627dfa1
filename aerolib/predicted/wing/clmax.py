"""The wing's maximum lift from its sections: a lifting line against limits that vary along the span.

    cl(y) = CL cl_a(y) + cl_b(y);  first section stall: CL = min over y of (clmax(y) - cl_b(y)) / cl_a(y)

(critical-section method: Anderson, NACA TR 572, 1937; formula from memory). It is where the stall starts. A wing whose
stall starts inboard goes on gaining lift while the stall spreads, most of all a rectangular one; so the value quoted is
where half of the area has reached its limit, each stalled station held at its limit and the others still obeying the
lifting line, but not more than 2 degrees past the first section stall (ours). Every section at its limit is the bound
above.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from aerolib.estimate import Estimate, Source
from aerolib.physics.lifting_line import LiftingLine, Planform
from aerolib.predicted.wing.result import WingClmax
from aerolib.ranges import in_range

STATIONS = 60  # of one half of the span; the quoted CL is within 0.3 % of that with 240
SPREAD = 0.5  # share of the area at its limit where the wing's lift stops growing: our choice
PAST = math.radians(2.0)  # ... or so far past it; lift curves round off over 1 to 3 degrees: common practice
LIFTING_LINE = 0.01  # of CL, standard: lifting line against surface methods, our judgement
TWIST_AS_BUILT = math.radians(0.5)  # of the tip, standard: our judgement
TRIM_LOSS = (0.0, 0.08)  # of CL, without tail geometry
CARRIED = 0.5  # chords beyond a device's end over which its limit falls to the plain section's: our choice
MOST_SHIFT = math.radians(25.0)  # zero-lift shift of a device; beyond it the slope no longer holds: our judgement
ZERO_LIFT_STEP = math.radians(1.0)  # over which the effect of a device's zero-lift shift is taken
MOST_GAIN = 2.5  # section increment of the largest devices tested is below this
METHOD = "lifting line; half of the area at its section's limit, at most 2 degrees past the first section stall"
CAUTIONS = (
    "A prediction from shape alone: no stall speed, approach speed, placard or marking follows from it. Only the "
    "airplane's own flights, flown as its permit and a licensed instructor allow, show what it does.",
    "Gaps, dents, rain, ice, insects and the joint of wing and fuselage all lower it; the interval holds only what its "
    "budget names.",
    "Where the stall starts is predicted for a wing alone, without slip or roll: it is no promise that the nose drops "
    "before a wing does, and says nothing about spins.",
)


@dataclass(frozen=True)
class SpanIncrement:
    """What a device does to the section over part of the span, both halves alike."""

    inner: float  # from the centerline [m]
    outer: float  # [m]
    delta_clmax: Estimate | float  # [-], on the plain chord
    delta_alpha0: Estimate | float  # of the zero-lift angle [rad], negative for a flap lowered
    label: str = ""

    def __post_init__(self):
        gain, shift = _value(self.delta_clmax), _value(self.delta_alpha0)
        if not abs(shift) <= MOST_SHIFT:
            raise ValueError(
                f"{self.label or 'device'}: zero-lift shift {shift:.3g} rad is beyond {MOST_SHIFT:.2f} rad "
                f"({math.degrees(MOST_SHIFT):.0f} degrees), where the method ends; is it in degrees, or the deflection?"
            )
        if not -1.5 <= gain <= MOST_GAIN:
            raise ValueError(
                f"{self.label or 'device'}: section increment {gain:.3g}; expected is -1.5 to "
                f"{MOST_GAIN:g}; is it in percent?"
            )


@in_range(first_stall=(0.0, 100.0, "m"))
def wing_clmax(
    planform: Planform,
    sections,
    *,
    increments: Sequence[SpanIncrement] = (),
    first_stall: float | None = None,
    trim_loss: Estimate | None = None,
) -> WingClmax:
    """CLmax of a wing and of the trimmed airplane, and where the stall starts.

    first section stall: CL = min (clmax - cl_b) / cl_a; quoted: half of the area at its limit, at most 2 degrees later;
    trimmed = (1 - loss) wing

    Parameters
    ----------
    planform : Planform [m]
        Aspect ratio 4 and more, sweep at most 15 degrees.
    sections : SectionLift or mapping of float to SectionLift [-]
        One section, or the share of the half span (0 root, 1 tip) -> section there, linear between. Its `alpha0`
        [rad], `slope` [1/rad], `clmax` and, where it has one, `alpha_stall` [rad] are used.
    increments : sequence of SpanIncrement [-]
        Devices over parts of the span; where two overlap they add.
    first_stall : float [m]
        Distance from the centerline where tufts first showed separation; None: not observed.
    trim_loss : Estimate [-]
        Share of CLmax lost to the tail load; None: anything from 0 to 8 % alike.

    Returns
    -------
    WingClmax [-]
    """
    sections = dict(sections) if isinstance(sections, Mapping) else {0.0: sections}
    if not sections or any(not 0.0 <= e <= 1.0 for e in sections):
        raise ValueError(f"sections at {sorted(sections)}: give the place of each as a share of the half span, 0 to 1")
    if first_stall is not None and not 0.0 <= first_stall <= 0.5 * planform.span:
        raise ValueError(
            f"first_stall {first_stall:g} m is not on the wing, 0 to {0.5 * planform.span:g} m from the centerline"
        )
    loss = _assumed_loss() if trim_loss is None else trim_loss
    if not -0.1 <= loss.value <= 0.3:
        raise ValueError(f"trim_loss {loss.value:g}: a share of CLmax, expected -0.1 to 0.3; is it in percent?")
    wing = _Wing(planform, sections, tuple(increments))
    limit, runs, first, note = wing.runs(first_stall)
    notes = [*planform.notes, *note]
    quoted = float(np.mean([r.spread for r in runs]))
    bound = max(r.bound for r in runs)
    parts = wing.parts(limit, quoted)
    parts[Source("how far the stall spreads", "shared")] = 0.25 * (bound - first.touch)
    parts[Source("lifting line", "shared")] = LIFTING_LINE * quoted
    if len(runs) == 2:
        parts[Source("whether the limit is low where the stall was seen, or high elsewhere", "shared")] = 0.5 * (
            runs[1].spread - runs[0].spread
        )
    if first.touch_share_at > 0.6 and planform.aileron:
        notes.append("the stall starts over or near the ailerons: a wing may drop, and the ailerons may go early")
    at = first.at if first_stall is None else float(first_stall)  # what was seen is where it starts
    bend = wing.bend(at)
    margin, stalled = wing.aileron(first)
    return WingClmax(
        planform=planform, clmax=Estimate("CLmax of the wing", quoted, "-", parts), trim_loss=loss,
        first_touch=first.touch, first_touch_at=at, spread=quoted, stalled=float(np.mean([r.stalled for r in runs])),
        all_at_limit=bound, alpha_stall=float(np.mean([r.alpha for r in runs])) + bend, bend=bend,
        slope=wing.line.slope, drag_factor=wing.line.drag_factor, aileron_margin=margin, aileron_stalled=stalled,
        y=wing.line.y[::-1], limit=first.limit[::-1], loading=first.loading[::-1],
        loading_spread=first.spread_loading[::-1], inputs=wing.inputs(increments, trim_loss), notes=tuple(notes),
    )  # fmt: skip


def wing_spread(planform: Planform, sections, increments=(), first_stall: float | None = None):
    """The quoted CL alone, without its error sources: for many devices on one wing.

    As `wing_clmax`, for the wing without trim

    Parameters
    ----------
    planform : Planform [m]
    sections : mapping of float to SectionLift [-]
    increments : sequence of SpanIncrement [-]
    first_stall : float [m]

    Returns
    -------
    quoted : float [-]
    first_touch_at : float [m]
        From the centerline.
    aileron_margin : float [-]
        When the stall starts; None without ailerons.
    """
    wing = _Wing(planform, dict(sections), tuple(increments))
    _, runs, first, _ = wing.runs(first_stall)
    at = first.at if first_stall is None else float(first_stall)
    return float(np.mean([r.spread for r in runs])), at, wing.aileron(first)[0]


@dataclass(frozen=True)
class _Run:
    """One wing with one distribution of limits; arrays outermost first, the root last."""

    touch: float
    at: float
    touch_share_at: float
    spread: float
    bound: float
    alpha: float
    limit: np.ndarray
    loading: np.ndarray
    spread_loading: np.ndarray
    stalled: float


class _Wing:
    """The lifting line with its devices, and what its stations can bear."""

    def __init__(self, planform, sections, increments):
        self.planform, self.sections, self.increments = planform, sections, increments
        places = np.array(sorted(sections))
        ordered = [sections[e] for e in places]
        slope0 = [_value(s.slope) for s in ordered]
        self.share = np.append(_cosines(STATIONS), 0.0)
        self.line = LiftingLine(planform, np.interp(self.share, places, slope0), STATIONS)
        line = self.line
        self.weights = {e: np.interp(self.share, places, places == e) for e in sections}
        self.limit = np.interp(self.share, places, [s.clmax.value for s in ordered])
        self.inside = [self._inside(i) for i in increments]
        for i, inside in zip(increments, self.inside):
            self.limit = self.limit + _value(i.delta_clmax) * inside
        if np.any(self.limit[:-1] <= 0.0):
            raise ValueError("the limit of a section with its increments is not above zero; check delta_clmax")
        alpha0 = np.interp(self.share, places, [_value(s.alpha0) for s in ordered])
        self.steps = [(i.inner, i.outer, -_value(i.delta_alpha0)) for i in increments]
        self.set = planform.twist_at(line.y) - alpha0  # angle of attack with the root chord along the air
        self.step_lift = sum((x * line.step_lift(a, b) for a, b, x in self.steps), np.zeros(STATIONS + 1))
        self.induced = line.induced_angle()
        # Inside the fuselage no section stalls; what carries over there is held to the plain section's limit.
        self.counted = (line.y >= planform.side) & (self.share < 0.98)  # the last stations carry almost nothing

    def bend(self, at: float) -> float:
        """How far the section's lift curve bends before its limit, where the stall starts [rad]; 0 where not known."""
        bends = [
            max(0.0, _value(s.alpha_stall) - _value(s.alpha0) - s.clmax.value / _value(s.slope))
            for s in (self.sections[e] for e in sorted(self.sections)) if hasattr(s, "alpha_stall")
        ]  # fmt: skip
        places = sorted(self.sections)
        return float(np.interp(2.0 * at / self.planform.span, places, bends)) if len(bends) == len(places) else 0.0

    def _inside(self, increment) -> np.ndarray:
        """One under the device, falling to zero over `CARRIED` chords beyond its ends."""
        y, chord = self.line.y, self.planform.chord_at(self.line.y)
        beyond = np.maximum(np.maximum(increment.inner - y, y - increment.outer), 0.0)
        return np.clip(1.0 - beyond / (CARRIED * chord), 0.0, 1.0)

    def solve(self, limit, twist: float = 0.0) -> _Run:
        """First section stall, the spread stall and the bound for these limits; `twist` [rad] is added at the tip."""
        line = self.line
        set_ = self.set + twist * self.share
        basic = line.loading(set_, self.steps)
        rising = line.additional * line.slope  # cl per radian of the root
        alphas = np.where(self.counted & (rising > 1e-9), (limit - basic.section_lift) / rising, np.inf)
        k = int(np.argmin(alphas))
        touch = alphas[k]
        low, high = touch, touch + PAST
        if line.area_share @ self._held(set_, high, limit)[1] < SPREAD:
            low = high  # beyond the flaps all may be stalled, and the flapped part far from its limit
        for _ in range(11 if high > low else 0):
            middle = 0.5 * (low + high)
            if line.area_share @ self._held(set_, middle, limit)[1] < SPREAD:
                low = middle
            else:
                high = middle
        ends = [self._held(set_, a, limit) for a in (low, high)]
        cl = 0.5 * (ends[0][0] + ends[1][0])
        root = min(cl[-1] + (cl[-1] - cl[-2]) * 1e-3, limit[-1])
        return _Run(
            touch=float(basic.lift_coefficient + line.slope * touch), at=float(line.y[k]),
            touch_share_at=float(self.share[k]), spread=float(line.area_share @ cl),
            bound=float(line.area_share @ limit[:-1]),
            alpha=0.5 * (low + high), limit=limit, loading=basic.section_lift + touch * rising,
            spread_loading=np.append(cl, root), stalled=float(line.area_share @ ends[1][1]),
        )  # fmt: skip

    def _held(self, set_, alpha, limit) -> tuple[np.ndarray, np.ndarray]:
        """cl at every station but the root with none above its limit, and which are at it."""
        limit, a0, step = limit[:-1], self.line.section_slope[:-1], self.step_lift[:-1]
        angle = alpha + set_[:-1]
        held = np.zeros(STATIONS, dtype=bool)
        for _ in range(30):
            free = ~held
            rest = np.where(held, limit - step, 0.0)
            matrix = self.induced[np.ix_(free, free)] + np.diag(1.0 / a0[free])
            known = (angle - step / a0)[free] - self.induced[np.ix_(free, held)] @ rest[held]
            rest[free] = np.linalg.solve(matrix, known)
            would = a0 * (angle - self.induced @ rest)  # what the section would carry
            now = would > limit + 1e-9
            if np.array_equal(now, held):
                break
            held = now
        return rest + step, held

    def runs(self, first_stall: float | None) -> tuple[list[np.ndarray], list[_Run], _Run, tuple[str, ...]]:
        """Limits that agree with what was seen, the wing at each, the one that stalls first, and what is to be said."""
        limits, note = ([self.limit], ()) if first_stall is None else self.observed(first_stall)
        runs = [self.solve(x) for x in limits]
        return limits, runs, min(runs, key=lambda r: r.touch), note

    def observed(self, first_stall: float):
        """Limits that agree with a stall first seen at one place: low there, or high elsewhere."""
        line = self.line
        basic, rising = line.loading(self.set, self.steps).section_lift, line.additional * line.slope
        run = self.solve(self.limit)
        there = float(np.interp(first_stall, line.y[::-1], ((self.limit - basic) / rising)[::-1]))
        here = (run.touch - line.loading(self.set, self.steps).lift_coefficient) / line.slope
        near = np.abs(line.y - first_stall) <= 0.5 * self.planform.chord_at(first_stall)
        lowered = np.where(near, np.minimum(self.limit, basic + here * rising), self.limit)
        raised = np.where(near, self.limit, np.maximum(self.limit, basic + there * rising))
        note = (
            f"the stall was seen to start {first_stall:.2f} m out, and is predicted {run.at:.2f} m out: either "
            "the limit there is lower than the section's, or that elsewhere is higher; "
            "the middle of the two lift coefficients that follow is quoted"
        )
        return [lowered, raised], (note,)

    def parts(self, limits, quoted) -> dict[Source, float]:
        """What one standard deviation of each section's and device's error does to the quoted CL."""

        def change(delta=0.0, twist=0.0, wing=self):
            return float(np.mean([wing.solve(x + delta, twist).spread for x in limits])) - quoted

        loads = [(self.weights[e], s.clmax) for e, s in self.sections.items()]
        loads += [(inside, i.delta_clmax) for i, inside in zip(self.increments, self.inside)]
        step = 0.05
        effects = [(e, change(step * where) / step) for where, e in loads if isinstance(e, Estimate)]
        for k, device in enumerate(self.increments):
            if isinstance(shift := device.delta_alpha0, Estimate):
                step = -math.copysign(ZERO_LIFT_STEP, shift.value)  # away from the largest shift that is taken
                moved = replace(device, delta_alpha0=shift.value + step)
                other = _Wing(self.planform, self.sections, (*self.increments[:k], moved, *self.increments[k + 1 :]))
                effects.append((shift, change(wing=other) / step))
        parts = {Source("twist as built", "shared"): change(twist=TWIST_AS_BUILT)}
        for estimate, effect in effects:
            for source, part in estimate.parts.items():
                parts[source] = parts.get(source, 0.0) + effect * part
        return parts

    def aileron(self, run: _Run) -> tuple[float | None, float | None]:
        """Least margin at first section stall and the share of the span at its limit when spread."""
        ends = self.planform.aileron
        if ends is None:
            return None, None
        over = (self.line.y >= ends[0]) & (self.line.y <= ends[1])
        width = np.sin(self.line.angle) * over
        margin = float(np.min(((run.limit - run.loading) / run.limit)[over]))
        at_limit = run.spread_loading >= run.limit - 1e-6
        return max(0.0, margin), float(width @ at_limit / width.sum())

    def inputs(self, increments, trim_loss) -> dict[str, str]:
        """What the result was made of."""
        p = self.planform
        out = {
            "span": f"{p.span:.4g} m", "area": f"{p.area:.4g} m2 from the chords",
            "aspect ratio": f"{p.aspect_ratio:.3g}",
            "tip twist": f"{math.degrees(p.twist[-1]):+.1f} degrees",
            "sections": ", ".join(
                f"clmax {self.sections[e].clmax.value:.2f} at {100 * e:.0f} % of the half span"
                for e in sorted(self.sections)
            ),
        }  # fmt: skip
        for i in increments:
            out[i.label or "device"] = (
                f"{i.inner:.2f} to {i.outer:.2f} m, section {_value(i.delta_clmax):+.2f}, zero lift "
                f"{math.degrees(_value(i.delta_alpha0)):+.1f} degrees"
            )
        out["tail load"] = "0 to 8 %, assumed" if trim_loss is None else "given"
        return out


def _assumed_loss() -> Estimate:
    low, high = TRIM_LOSS
    source = Source("tail load at trim (assumed 0 to 8 %)", "shared")
    return Estimate(
        "share of CLmax lost to trim", 0.5 * (low + high), "-", {source: (high - low) / math.sqrt(12.0)}, (low, high)
    )


def _cosines(count):
    return np.cos((np.arange(1, count + 1) - 0.5) * np.pi / (2 * count))


def _value(x) -> float:
    return float(getattr(x, "value", x))
