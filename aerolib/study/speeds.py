"""Operating speeds of a case: stall speeds from the stalls, the dial from its calibration, the rest as measured.

Which configuration is which follows from the flap: landing is the most flap flown in every modification, clean the
least, take-off the one between them, or clean where there is none.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.case.aircraft import AIRCRAFT, flaps_of, instrument_of, position_of, wing_areas_of
from aerolib.case.problems import CaseError
from aerolib.consequences.balance import Loading
from aerolib.consequences.distances import Ground
from aerolib.consequences.maneuver import CLMIN, Diagram, maneuvering_diagram
from aerolib.consequences.operating_results import LOWEST, ONE_G, OperatingSpeeds
from aerolib.consequences.operating_speeds import Needle, State, approach_speed, operating_speeds
from aerolib.estimate import K95, Estimate
from aerolib.measured.airspeed.correction import indicated
from aerolib.measured.comparison.results import Comparison
from aerolib.measured.stalls.results import Clmax, StallReduction
from aerolib.physics.thrust import LOSS, disc_thrust
from aerolib.study.airframe import authority_with
from aerolib.units import knots

if TYPE_CHECKING:
    from aerolib.study import Study

SPAN_EFFICIENCY = 0.75  # Oswald's, light airplane with struts or flaps: a judgement of ours
SHARE_OF_POWER = (0.70, 0.95)  # of the rated power that a fixed-pitch propeller takes below cruise: a judgement of ours
SOLO, SPARE_FUEL = 85.0, 20.0  # pilot and fuel of the light loading [kg]
FASTEST = 70.0  # [m/s] end of the thrust table
SLOPE = 5.7  # [1/rad] section slope of a gust load with finite-wing factor A/(A+2): textbook form
UNSEEN = 1.15  # CLmax over its bound where the wing was not seen to stall: as `airframe` takes it at most
Ends = tuple[float, float]
COUNTS = 0.05  # chance that the tail is the limit, from which it counts: what a 95 % statement may not leave out


@dataclass(frozen=True)
class Roles:
    """Which configuration is flown for what."""

    clean: str
    take_off: str
    landing: str


@dataclass(frozen=True)
class Slowest:
    """What approach and touchdown of one modification and configuration stand on, at the reference mass [m/s]."""

    stall: Estimate
    kind: str  # what `stall` is
    tail: float | None = None  # slowest the tail can hold aloft, CG forward
    tail_uncertainty: float = 0.0
    touchdown: float | None = None  # slowest that tail and gear allow near the ground, CG forward
    touchdown_uncertainty: float = 0.0
    touchdown_limit: str = "tail"  # or 'gear'

    def approach(self, mass_ratio: float = 1.0) -> tuple[float, str]:
        """Approach speed [m/s] at a mass over the reference mass [-], and what it stands on."""
        speed, stands_on = approach_speed(*_value(self.stall), self.kind, self.tail, self.tail_uncertainty)
        return speed * math.sqrt(mass_ratio), stands_on


@dataclass(frozen=True)
class Operating:
    """A case made ready: states at the reference mass, and what turns them into speeds at any."""

    study: Study
    roles: Roles
    reference: float  # [kg]
    states: tuple[State, ...]  # first modification first
    needles: dict[tuple[str, str], Callable[[float], Needle]]  # by (modification, configuration), of the mass [kg]
    clmax: dict[tuple[str, str], float]  # (modification, configuration)
    wing_area: float  # [m2]
    aspect_ratio: float
    masses: tuple[tuple[str, float], ...]  # loading, mass [kg]
    notes: tuple[str, ...]
    lift_change: tuple[Estimate, str] | None = None  # CLmax flaps up, last over first, and the verdict on it

    def at(self, mass: float, *, factor: float = 1.3, ground: Ground | None = None, density: float = DENSITY_0,
           gust: float = 0.0) -> OperatingSpeeds:  # fmt: skip
        """`operating_speeds` at a mass [kg]; CaseError where an input is outside the method."""
        try:
            found = operating_speeds(
                [self.at_mass(s, mass) for s in self.states], mass=mass, wing_area=self.wing_area,
                span_factor=1.0 / (math.pi * self.aspect_ratio * SPAN_EFFICIENCY), factor=factor,
                limit=self.study.aircraft.limits.load_factor, ground=ground, density=density, gust=gust,
                power_thrust=thrust_of_power(self.study.aircraft.power, density), lift_change=self.lift_change,
            )  # fmt: skip
        except ValueError as e:
            raise CaseError(str(e)) from None
        return replace(found, notes=(*found.notes, *self.notes))

    def diagram(self, modification: str, mass: float) -> Diagram:
        """The maneuvering diagram of one modification at a mass [kg]; CaseError says which limits are missing."""
        limits = self.study.aircraft.limits
        lacks = [k for k in ("load_factor", "load_factor_negative", "cruise_speed", "dive_speed")
                 if getattr(limits, k) is None]  # fmt: skip
        if lacks:
            raise CaseError([f"`{AIRCRAFT}` [limits] {k} is missing; take it from the approved data" for k in lacks])
        span = self.aspect_ratio / (self.aspect_ratio + 2.0)
        try:
            return maneuvering_diagram(
                mass=mass, wing_area=self.wing_area, clmax=self.clmax[modification, self.roles.clean], clmin=CLMIN,
                limit=limits.load_factor, negative_limit=limits.load_factor_negative,
                chord=self.wing_area / math.sqrt(self.aspect_ratio * self.wing_area), slope=SLOPE * span,
                cruise_speed=limits.cruise_speed, dive_speed=limits.dive_speed,
                flap_clmax=self.clmax[modification, self.roles.landing], flap_speed=limits.flap_speed,
            )  # fmt: skip
        except ValueError as e:
            raise CaseError(f"`{AIRCRAFT}` [limits]: {e}") from None

    def at_mass(self, s: State, mass: float) -> State:
        """A state's speeds and needles at another mass [kg]."""
        k = math.sqrt(mass / self.reference)
        speeds = ("stall_speed", "stall_uncertainty", "clean_stall_speed", "clean_uncertainty", "take_off_stall_speed",
                  "take_off_uncertainty", "slowest_tail_speed", "tail_uncertainty", "touchdown_speed",
                  "touchdown_uncertainty")  # fmt: skip
        scaled = {n: k * getattr(s, n) for n in speeds if getattr(s, n) is not None}
        of = [self.needles.get((s.modification, c)) for c in (self.roles.landing, self.roles.clean)]
        landing, clean = (None if n is None else n(mass) for n in of)
        return replace(s, **scaled, needle=landing, clean_needle=clean)


def operating_of(study: Study) -> Operating:
    """A case made ready for operating speeds; CaseError says what has to be measured."""
    a, result, comparison = study.aircraft, study.reduction, study.comparison
    flown = _idle(result)
    names = list(dict.fromkeys(m for m, _ in flown))
    common = [c for c in dict.fromkeys(c for _, c in flown) if all((m, c) in flown for m in names)]
    if not common:
        raise CaseError(
            f"`{AIRCRAFT}` and `stalls.csv`: no configuration was stalled at idle in every modification; fly the "
            "landing configuration in each"
        )
    flap = {c.name: c.flap or 0.0 for c in a.configuration}
    if len(common) > 1 and not any(flap.get(c) for c in common):
        raise CaseError(
            f"`{AIRCRAFT}` [[configuration]]: no flap angle is given, so nobody can tell which of {', '.join(common)} "
            "is the landing configuration; write for each of them a table with its name and its angle, such as "
            f'[[configuration]], name = "{common[-1]}", flap = "35 deg"'
        )
    common.sort(key=lambda c: flap.get(c, 0.0))
    roles = Roles(common[0], common[(len(common) - 1) // 2 if len(common) < 3 else len(common) // 2], common[-1])
    clmax, notes = {}, []
    for m in names:
        for c in dict.fromkeys((roles.clean, roles.take_off, roles.landing)):
            item = flown[m, c]
            clmax[m, c] = _lift(item).value * _area(study, m) / a.wing.area
            if item.clmax is None and c == roles.clean:
                clmax[m, c] *= UNSEEN  # for loads the careful side is more lift, not less
                notes.append(f"{m}, {c}: {item.ending}, so no speed is given that protects its structure")
            if item.clmax is None:
                notes.append(f"{m}, {c}: {item.ending}; the lowest steady speed reached stands for the stall speed")
    slowest, more = slowest_of(study, landing=roles.landing)
    shared = _shared([slowest[m, roles.landing].stall for m in names])
    states = []
    for m in names:
        landing = slowest[m, roles.landing]
        stall, take_off = _value(landing.stall), _value(slowest[m, roles.take_off].stall)
        clean = _value(slowest[m, roles.clean].stall) if flown[m, roles.clean].clmax is not None else (None, 0.0)
        states.append(State(
            modification=m, stall_speed=stall[0], stall_uncertainty=stall[1], clean_stall_speed=clean[0],
            clean_uncertainty=clean[1], take_off_stall_speed=take_off[0], take_off_uncertainty=take_off[1],
            slowest_tail_speed=landing.tail, tail_uncertainty=landing.tail_uncertainty, stall_kind=landing.kind,
            shared=shared, touchdown_speed=landing.touchdown, touchdown_uncertainty=landing.touchdown_uncertainty,
            touchdown_limit=landing.touchdown_limit,
        ))  # fmt: skip
    span = a.wing.span
    if span is None:
        more.append(f"`{AIRCRAFT}` [wing] span is not given: an aspect ratio of 6.5 is taken for the drag")
    solo = min(a.weights.empty + SOLO + SPARE_FUEL, a.weights.maximum)
    return Operating(
        study=study, roles=roles, reference=study.reference_weight, states=tuple(states),
        needles=_needles(study, names, roles), clmax=clmax, wing_area=a.wing.area,
        aspect_ratio=6.5 if span is None else span**2 / a.wing.area,
        masses=(("solo", solo), ("at the maximum", a.weights.maximum)), notes=(*notes, *more),
        lift_change=_lift_change(comparison, names, roles.clean),
    )  # fmt: skip


def _idle(result: StallReduction) -> dict[tuple[str, str], Clmax]:
    """(modification, configuration) -> what was stalled at idle, or held to the stop."""
    return {(i.modification, i.configuration): i for i in result.items
            if i.power == "idle" and (i.clmax or i.lowest_reached) is not None}  # fmt: skip


def _lift(item: Clmax) -> Estimate:
    """CLmax, or the most that was reached, of what `_idle` holds [-]."""
    found = item.clmax or item.lowest_reached
    assert found is not None
    return found


def _area(study: Study, modification: str) -> float:
    """Wing area of one modification [m2]."""
    return float(np.broadcast_to(wing_areas_of(study.aircraft, np.array([modification]))["wing_area"], (1,))[0])


def slowest_of(study: Study, landing: str | None = None) -> tuple[dict[tuple[str, str], Slowest], list[str]]:
    """(modification, configuration) flown at idle -> what its approach stands on; and notes on the tail in landing."""
    tail, notes = _tail(study, landing)
    out = {}
    for (m, c), item in _idle(study.reduction).items():
        stall, kind = _stall_speed(item, study.reference_weight, _area(study, m))
        out[m, c] = Slowest(stall, kind, **tail.get((m, c), {}))
    return out, notes


def _lift_change(comparison: Comparison | None, names, clean: str) -> tuple[Estimate, str] | None:
    """CLmax flaps up at idle, last modification over the first, and its verdict; None where it was not compared."""
    if comparison is None or (comparison.before, comparison.after) != (names[0], names[-1]):
        return None
    change = next((c for c in comparison.changes if (c.configuration, c.power) == (clean, "idle")), None)
    return None if change is None or change.judged is None else (change.judged, str(change.verdict))


def thrust_of_power(power, density: float):
    """Low and high thrust [N] as functions of true airspeed [m/s]; None where power or propeller is not given."""
    if power.rated_power is None or power.propeller_diameter is None:
        return None
    v = np.linspace(0.0, FASTEST, 71)
    disc = math.pi * power.propeller_diameter**2 / 4.0
    # an engine without a blower loses power with density
    tables = [disc_thrust(loss * share * power.rated_power * min(density / DENSITY_0, 1.0), v, density, disc)
              for loss, share in zip(LOSS, SHARE_OF_POWER)]  # fmt: skip
    return tuple(functools.partial(np.interp, xp=v, fp=t) for t in tables)


def _stall_speed(item: Clmax, mass: float, area: float) -> tuple[Estimate, str]:
    """1-g stall speed, or the lowest steady speed where the wing did not stall [m/s]; and which it is."""
    if item.stall_speed_1g is not None:
        return item.stall_speed_1g, ONE_G
    cl = _lift(item)
    v = float(Loading(mass, area).speed(cl.value))
    per = -0.5 * v / cl.value
    low, high = (v * math.sqrt(cl.value / x) for x in cl.interval95[::-1])
    return Estimate("stall speed", v, "m/s", {s: per * p for s, p in cl.parts.items()}, (low, high)), LOWEST


def _value(e: Estimate) -> tuple[float, float]:
    low, high = e.interval95
    return e.value, (high - low) / (2.0 * K95)


def _shared(speeds: list[Estimate]) -> float:
    """Correlation of the first and the last state's stall speed; none is counted where it would be negative."""
    first, last = speeds[0], speeds[-1]
    both = _value(first)[1] * _value(last)[1]
    return 0.0 if len(speeds) < 2 or both == 0.0 else min(max(first.covariance(last) / both, 0.0), 0.99)


def _tail(study: Study, landing: str | None):
    """(modification, flap) -> what `Slowest` holds of tail and gear, the wing left aside, where they count.

    At the forward CG limit, else the foremost CG flown.
    """
    try:
        found = authority_with(study, None, study.reference_weight)
    except (CaseError, ValueError) as e:
        return {}, [
            f"what the tail can hold is not known, so the wing alone sets the approach ({str(e).splitlines()[0]})"
        ]
    out: dict[tuple[str, str], dict[str, Any]] = {}
    notes = []
    for i in found.items:
        if 1.0 - i.probabilities["wing"] < COUNTS:
            continue
        speed, by = i.held_speed.value, out.setdefault((i.modification, i.flap), {})
        within = (i.held_speed.interval95[1] - speed) / K95  # of the speed's ends the fast one counts
        held = sum(i.probabilities[k] for k in ("elevator stop", "tail stall"))
        if not i.in_ground_effect:
            by.update(tail=speed, tail_uncertainty=within)
            continue
        limit = "gear" if i.probabilities.get("gear", 0.0) > held else "tail"
        by.update(touchdown=speed, touchdown_uncertainty=within, touchdown_limit=limit)
        if held >= COUNTS and i.flap == landing:
            low, high = i.slowest_speed.interval95
            notes.append(
                f"{i.modification}, CG forward, {study.reference_weight:.0f} kg: near the ground the tail holds the "
                f"nose up only to {knots(i.slowest_speed.value):.0f} kt ({knots(low):.0f} to {knots(high):.0f} kt); "
                "slower, the airplane settles by itself"
            )
    return out, notes


def _needles(study: Study, names, roles: Roles) -> dict:
    """(modification, configuration) -> function of mass giving a `Needle` over the speeds that were calibrated."""
    flaps, bench = flaps_of(study.aircraft), instrument_of(study.aircraft)
    known: dict[tuple[str, str], tuple[Any, Ends]] = {state: (table, (table.ias[0], table.ias[-1]))
             for state, table in position_of(study.aircraft, flaps).items()}  # fmt: skip
    runs, states = ((), ()) if study.calibration is None else (study.calibration.runs, study.calibration.states)
    for s in states:  # legs of its own come before a table
        if s.origin == "legs" and s.correction is not None:
            inner = [r.inner for r in runs if (r.modification, r.flap) == (s.modification, s.flap)]
            low = inner if s.reading is None else (s.reading, *inner)  # carried to the stall by lift coefficient
            known[s.modification, s.flap] = s.correction, (min(low), max(inner))
    asked = {(m, c): known.get((m, flaps.get(c, c))) for m in names for c in (roles.clean, roles.landing)}
    return {state: functools.partial(_needle, one[0], bench, one[1]) for state, one in asked.items()
            if one is not None and one[1][1] > one[1][0]}  # fmt: skip


def _needle(correction, bench, ends: Ends, mass: float) -> Needle:
    inner = np.linspace(ends[0], ends[1], 30)
    at = correction.at(mass * GRAVITY)
    calibrated = at.corrected(inner)
    return Needle(indicated(calibrated, correction, bench, mass * GRAVITY), calibrated)
