"""Does the tail hold the nose up: the slowest steady speed, the forward CG limit, and what limits it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from aerolib.atmosphere import DENSITY_0
from aerolib.consequences.balance import (
    Airplane,
    Flap,
    Loading,
    elevator_needed,
    forward_cg_limit,
    lift_limits,
    limiting,
    with_tail_devices,
)
from aerolib.consequences.draws import ends
from aerolib.estimate import Estimate
from aerolib.physics.tail import DOWNWASH_SPREAD
from aerolib.ranges import ANGLE, in_range

DRAWS = 5000
STRETCH = (0.0, math.radians(3.0))  # of cables and rods under load: common practice, no source
FLARE = 0.15  # height of the quarter chord over the span, where the flare ends, unless the gear is known
APPROACH = 1.3  # times the stall speed
SHARED = 0.75  # of the variance of a speed seen: the airspeed system of that modification, the same at every sight

SOURCE = (
    "moment balance as in Perkins and Hage (1949) ch. 5 and NACA TR 781; downwash USAF DATCOM 4.4.1 (from memory); "
    "tail limits and effectiveness at large deflection from memory, with their spread"
)
CAUTIONS = (
    "A steady airplane: a flare that pulls the nose up faster than the speed falls needs more elevator than this.",
    "The tail's own stall comes first with full flap, forward CG and a push: try flap settings at height, one at a "
    "time, with a way back.",
    "Nothing here changes a CG limit, a placard or an approved speed; loading is for the approved records.",
    "Devices on a tail, elevator or tab change balance and flutter margins: a licensed inspector decides.",
)

# one standard deviation of what is not measured; relative where said
SPREADS = {
    "slope": 0.04,  # relative
    "alpha0": math.radians(0.7),
    "moment0": 0.015,
    "fuselage_slope": 0.30,  # relative
    "tail_slope": 0.06,  # relative
    "downwash": DOWNWASH_SPREAD[0],  # relative
    "effectiveness": 0.10,  # relative
    "tail_pressure": 0.03,
    "tail_clmax": 0.08,
    "falls_to": 0.10,
}
RELATIVE = {"slope", "fuselage_slope", "tail_slope", "downwash", "effectiveness"}


@dataclass(frozen=True)
class Seen:
    """What the owner saw in flight: the elevator at a trimmed speed, the stick on its stop at a speed, or a break.

    At a break the elevator had not reached its stop, which limits at that speed or slower.
    """

    flap: str
    cg: float  # share of the MAC
    speed: float  # calibrated [m/s]
    mass: float  # [kg]
    elevator: float | None = None  # [rad], negative up; None: the stick was on its stop
    within: float = math.radians(2.0)  # of the elevator [rad], nineteen times in twenty
    speed_within: float = 1.0  # [m/s], nineteen times in twenty
    broke: bool = False  # the wing stalled before the stop
    modification: str | None = None  # None: what was seen goes for all


@dataclass(frozen=True)
class Answer:
    """One flap setting, modification and height."""

    flap: str
    modification: str
    in_ground_effect: bool
    slowest_speed: Estimate  # calibrated, steady, at the mass and CG asked for [m/s]
    held_speed: Estimate  # the same with the wing left aside: what tail and, near the ground, gear allow [m/s]
    forward_cg_limit: Estimate  # share of the MAC, to hold the lift the wing or the gear leaves
    limit: str  # which of `balance.LIMITS` it is
    probabilities: dict[str, float]  # of each limit to be the one
    elevator_at_approach: float  # [rad] at the approach speed, nan where no deflection does it
    elevator_at_limit: float  # [rad] at the slowest speed


@dataclass(frozen=True)
class TailAuthority:
    """What the tail can hold, for every flap setting and modification."""

    items: tuple[Answer, ...]
    cg: float
    mass: float
    cg_limits: tuple[float | None, float | None] = (None, None)  # approved, forward and aft, shares of the chord
    notes: tuple[str, ...] = ()
    source: str = SOURCE
    cautions: tuple[str, ...] = CAUTIONS

    def usable(self, item: Answer) -> bool | None:
        """Whether all the lift can be used at some CG within the approved limits; None where none is given."""
        aft = self.cg_limits[1]
        return None if aft is None else item.forward_cg_limit.value <= aft


def drawn(a: Airplane, draws: int = DRAWS, seed: int = 1) -> Airplane:
    """The airplane with everything uncertain drawn, one entry a draw.

    Parameters
    ----------
    a : [-]
        Nominal; `stop_up` before stretch.
    draws : [-]
    seed : [-]
        The same seed gives before and after the same draws, so that what they share cancels.

    Returns
    -------
    Airplane [-]
    """
    r = np.random.default_rng(seed)
    new = {}
    for name, size in SPREADS.items():
        nominal = getattr(a, name)
        new[name] = nominal + size * (abs(nominal) if name in RELATIVE else 1.0) * r.standard_normal(draws)
    new["falls_to"] = np.clip(new["falls_to"], 0.2, 1.0)
    new["tail_pressure"] = np.clip(new["tail_pressure"], 0.7, 1.0)
    new["stop_up"] = a.stop_up + r.uniform(*STRETCH, draws)
    extra = math.sqrt(DOWNWASH_SPREAD[1] ** 2 - DOWNWASH_SPREAD[0] ** 2)
    new["ground_downwash_error"] = extra * r.standard_normal(draws)
    return replace(a, **new)


@in_range()
def taught(
    a: Airplane, flaps: Sequence[tuple[str, Flap]], seen: Sequence[Seen], *, wing_area: float,
    density: float = DENSITY_0, draws: int = DRAWS,
) -> tuple[Airplane, tuple[tuple[str, Flap], ...], float]:  # fmt: skip
    """Airplane and flaps drawn, each draw kept as often as it agrees with what the owner saw.

    w = exp(-1/2 sum of ((model - seen)/u)^2), of a break only where the model's stop comes at a higher speed than its
    own wing's stall; then drawn again by w at equal steps

    Parameters
    ----------
    a : [-]
        Nominal.
    flaps : sequence of (modification, Flap) [-]
        Values or arrays of `draws` entries.
    seen : sequence of Seen [-]
    wing_area : [m2]
    density : [kg/m3]
        At which the speeds are calibrated airspeed.
    draws : [-]

    Returns
    -------
    airplane : Airplane [-]
        Arrays of draws.
    flaps : tuple of (modification, Flap) [-]
        Arrays drawn alongside.
    kept : float [-]
        How many draws the answer rests on; few means that sight and geometry hardly agree.
    """
    many, loading = drawn(a, draws), Loading(0.0, wing_area, density)
    by_name = {f.name: f for _, f in flaps}
    by_both: dict[tuple[str | None, str], Flap] = {(m, f.name): f for m, f in flaps}
    # speeds of one modification share the error of its airspeed system: one offset for all of its sights
    r = np.random.default_rng(13)
    offset = {m: r.standard_normal(draws) for m in dict.fromkeys(s.modification for s in seen)}
    log = np.zeros(draws)
    for s in seen:
        if s.flap not in by_name:
            raise ValueError(f"flap '{s.flap}' of what was seen is not known; known: {', '.join(by_name)}")
        flap = by_name[s.flap] if s.elevator is not None else by_both.get((s.modification, s.flap), by_name[s.flap])
        miss = _miss(many, flap, s, replace(loading, mass=s.mass), offset[s.modification])
        log -= 0.5 * np.where(np.isfinite(miss), miss, 1e3) ** 2
    w = np.exp(log - log.max())
    w /= w.sum()
    pick = np.searchsorted(np.cumsum(w), (np.arange(draws) + 0.5) / draws).clip(0, draws - 1)

    def picked(thing, names):
        new = {n: np.broadcast_to(np.asarray(getattr(thing, n), float), (draws,))[pick] for n in names}
        return replace(thing, **new)

    names = [*SPREADS, "stop_up", "ground_downwash_error"]
    parts = [f.name for f in fields(Flap) if f.name != "name"]
    return picked(many, names), tuple((m, picked(f, parts)) for m, f in flaps), float(1.0 / np.sum(w**2))


def _miss(many: Airplane, flap: Flap, s: Seen, loading: Loading, offset: np.ndarray) -> np.ndarray:
    """By how many standard deviations each draw misses what was seen."""
    if s.elevator is not None:
        return (elevator_needed(many, flap, loading.lift(s.speed), s.cg) - s.elevator) / (s.within / 1.96)
    limits = lift_limits(many, flap, s.cg)
    speed, u = loading.speed(limits["elevator stop"]), s.speed_within / 1.96
    own = math.sqrt(1.0 - SHARED) * u
    if s.broke:  # in the draw's own world: the wing stalled before the stop, whatever the airspeed system said
        return np.maximum(speed - loading.speed(limits["wing"]), 0.0) / own
    return (speed - s.speed - math.sqrt(SHARED) * u * offset) / own


def middle(thing):
    """An airplane or flap with every array of draws replaced by its mean [-]."""
    arrays = {f.name: float(np.mean(getattr(thing, f.name))) for f in fields(thing)
              if isinstance(getattr(thing, f.name), np.ndarray)}  # fmt: skip
    return replace(thing, **arrays)


@in_range("cg", gear_alpha=ANGLE)
def tail_authority(
    a: Airplane, flaps: Sequence[tuple[str, Flap]], *, mass: float, wing_area: float, cg: float,
    density: float = DENSITY_0, height_over_span: float = FLARE, gear_alpha: float | None = None,
    seen: Sequence[Seen] = (), draws: int = DRAWS, tail_devices: tuple[float, float] | None = None,
    only: tuple[str, str] | None = None, approach: Mapping[tuple[str, str], float] | None = None,
    cg_limits: tuple[float | None, float | None] = (None, None), notes: Sequence[str] = (),
) -> TailAuthority:  # fmt: skip
    """Slowest steady speed, forward CG limit and limiting factor, aloft and near the ground.

    0 = Cm0 + dCm_f + CL (h - 1/4) + Cm_alpha,f alpha - (q_t/q) V_H CL_t, CL_t between the stop and the tail's own stall

    Parameters
    ----------
    a : [-]
        Nominal; its `stop_up` is the stop on the ground less what seat or pilot take away.
    flaps : sequence of (modification, Flap) [-]
    mass : [kg]
    wing_area : [m2]
    cg : [-]
        Share of the MAC.
    density : [kg/m3]
    height_over_span : [-]
        Of the quarter chord when the wheels touch.
    gear_alpha : [rad]
        Angle of attack of the body that the gear allows on the ground, None where it is not known.
    seen : sequence of Seen [-]
        Reweights the draws.
    draws : [-]
    tail_devices : [-]
        Least and most that devices on the tail add to its largest download coefficient; half as much is added to the
        share of effectiveness left at 40 degrees.
    only : pair of str [-]
        Modification and flap to answer for; the others still tell what was seen.
    approach : mapping (modification, flap) -> float [m/s]
        Approach speeds at this mass; 1.3 times the wing's own stall speed where none is given.
    cg_limits : [-]
        Approved limits, forward and aft, shares of the MAC; None: not known.
    notes : sequence of str [-]
        What the owner should know.

    Returns
    -------
    TailAuthority [-]

    Raises
    ------
    ValueError
        A stop of the wrong sign or beyond 45 degrees, a tail ahead of the wing, a CG that is no share of the chord,
        or a flap that what was seen names and nobody gave.

    Valid range: 0.03 < h/b; elevator to 45 degrees; steady, wings level, idle.
    """
    _checked(a, cg)
    loading, known = Loading(mass, wing_area, density), approach or {}
    many, drawn_flaps, kept = taught(a, flaps, seen, wing_area=wing_area, density=density, draws=draws)
    if seen and kept < 20:
        notes = (*notes, "what was seen in flight lies at the edge of what the geometry allows: check both")
    if tail_devices is not None:
        gain = np.random.default_rng(9).uniform(*tail_devices, draws)
        many = with_tail_devices(many, gain, 0.5 * gain)
    places: tuple[dict, dict] = ({}, {"height_over_span": height_over_span, "gear_alpha": gear_alpha})
    items = [
        _answer(many, modification, flap, cg, loading, place, known.get((modification, flap.name)))
        for modification, flap in drawn_flaps if only in (None, (modification, flap.name)) for place in places
    ]  # fmt: skip
    return TailAuthority(tuple(items), cg, mass, cg_limits, tuple(notes))


def _checked(a: Airplane, cg: float) -> None:
    if not -math.radians(45.0) <= a.stop_up < 0.0:
        raise ValueError(
            f"elevator stop {math.degrees(a.stop_up):.1f} degrees: trailing edge up is negative and at most 45 degrees"
        )
    if not a.tail_volume > 0.0:
        raise ValueError(
            f"tail volume {a.tail_volume:.3g}: a tail ahead of the wing is not covered, since the wing then flies in "
            "its wake and lift, not download, holds the nose up; area and arm must be above zero"
        )
    if not -0.5 <= cg <= 1.5:
        raise ValueError(f"cg {cg:g}: a share of the MAC behind its leading edge; write 0.25 for 25 %")


def _answer(many: Airplane, modification: str, flap: Flap, cg: float, loading: Loading, place: dict, flown) -> Answer:
    """At a place, height and the gear's angle there; `flown` is the approach speed [m/s]."""
    one, usual, height = middle(many), middle(flap), place.get("height_over_span", math.inf)
    drawn_limits, limits = lift_limits(many, flap, cg, **place), lift_limits(one, usual, cg, **place)
    (cl_many, which_many), (cl, which) = limiting(drawn_limits), limiting(limits)
    rest_many, rest = (np.minimum.reduce([v for k, v in x.items() if k != "wing"]) for x in (drawn_limits, limits))
    hold_many, hold = (np.minimum(x["wing"], x.get("gear", np.inf)) for x in (drawn_limits, limits))
    approach = limits["wing"] / APPROACH**2 if flown is None else loading.lift(flown)
    forward = float(forward_cg_limit(one, usual, hold, height))
    forward_ends = ends(forward_cg_limit(many, flap, hold_many, height))
    return Answer(
        flap=flap.name, modification=modification, in_ground_effect=math.isfinite(height),
        slowest_speed=Estimate("slowest speed", float(loading.speed(cl)), "m/s", {}, ends(loading.speed(cl_many))),
        held_speed=Estimate("held speed", float(loading.speed(rest)), "m/s", {}, ends(loading.speed(rest_many))),
        forward_cg_limit=Estimate("forward CG limit", forward, "-", {}, forward_ends),
        limit=list(limits)[int(which)],
        probabilities={n: float(np.mean(which_many == k)) for k, n in enumerate(limits)},
        elevator_at_approach=float(elevator_needed(one, usual, approach, cg, height)),
        elevator_at_limit=float(elevator_needed(one, usual, cl, cg, height)),
    )  # fmt: skip
