"""One stall at a time: from the needle to ln CL, with what every source of error does to it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.estimate import Source
from aerolib.measured.airspeed.correction import (
    ASSUMED_ZERO,
    equivalent_airspeed,
    true_airspeed,
)
from aerolib.measured.assumptions import KNOT
from aerolib.measured.labels import joined, unique_rows
from aerolib.measured.stalls import loadfactor
from aerolib.measured.stalls.record import Stalls

# How much of rate * lag a reading is late by, as delays of 0.3 to 1 s did on the simulated histories: little at the
# lowest reading, where the speed has almost stopped falling; more at the break; nothing when it is steady.
LAG_SHARE = {"break": 0.35, "minimum": 0.15, "steady": 0.0, "unknown": 0.2}
UNKNOWN_ALTITUDE = (1000.0, 0.0003)  # assumed [m], and what not knowing costs in ln CL [-]


@dataclass(frozen=True)
class Effect:
    """What one standard deviation of a source does to ln CL of every stall (N,) [-], and through what."""

    name: str
    scope: str
    label: np.ndarray | str
    per_stall: np.ndarray
    via: str = "lift"  # lift, speed or area: where CL is not linear in it, for the Monte Carlo route
    seen: bool = False  # of a flight: its size is learned, with that of the days, from how much flights differ


@dataclass(frozen=True)
class ReducedStalls:
    """Stalls reduced one by one, before they are brought together (arrays over the stalls)."""

    log_cl: np.ndarray
    log_cl_n1: np.ndarray
    cas: np.ndarray  # [m/s]
    cas_reference: np.ndarray  # [m/s] at the reference weight
    weight: np.ndarray  # [kg]
    entry_rate: np.ndarray  # [m/s2] in CAS, NaN unknown
    factors: loadfactor.LoadFactors
    thrust_share: np.ndarray  # T sin(alpha + iT) / (n W g)
    effects: tuple[Effect, ...]
    notes: tuple[str, ...]


def state_label(g: Stalls, origin):
    """Origin, modification, configuration and power of every stall as one label [-] (N,)."""
    tuples, index = unique_rows(origin, g.modification, g.configuration, g.power)
    # One recorder serves every state; a table's error is another one in each.
    return np.array(["recorded" if t[0] == "recorded" else joined(*t) for t in tuples], dtype=np.str_)[index]


def reduce_each(g: Stalls) -> ReducedStalls:
    """Every stall to ln CL, before anything is averaged.

    L = n W - T sin(alpha + iT), CL = L / (0.5 rho0 V^2 S)

    Parameters
    ----------
    g : Stalls [SI]

    Returns
    -------
    ReducedStalls [SI]

    Raises
    ------
    ValueError
        An airspeed that is not positive once corrected; a thrust larger than the weight.
    """
    # Long, because the list of sources is the model: each stands once, beside what it does.
    notes = []
    share = np.select([g.speed_kind == k for k in LAG_SHARE], list(LAG_SHARE.values()))
    rate_or_guess = np.where(np.isfinite(g.entry_rate), g.entry_rate, 1.0 * KNOT)
    reading = g.ias - share * g.errors.lag * rate_or_guess
    inner = g.instrument.corrected(reading)
    known_altitude = np.isfinite(g.pressure_altitude)
    h = np.where(known_altitude, g.pressure_altitude, UNKNOWN_ALTITUDE[0])
    warm = np.isfinite(g.temperature)
    carried = g.weight * GRAVITY
    for _ in range(2 if g.states.by_lift else 1):  # such a correction needs the lift, and the load factor the speed
        cas = g.states.each(lambda c, mask, lift=carried: c.at(lift[mask]).corrected(inner[mask]))
        slope = g.states.each(lambda c, mask, lift=carried: c.at(lift[mask]).slope(inner[mask]))
        slope *= g.instrument.slope(reading)
        if np.any(cas <= 0.0):
            i = int(np.argmax(cas <= 0.0))
            raise ValueError(
                f"stall {i}: corrected for lag and instrument its airspeed is not positive: check the entry_rate and "
                "the correction, or their units"
            )
        rate_cas = g.entry_rate * slope
        tas = np.where(warm, true_airspeed(cas, h, np.where(warm, g.temperature, 288.15)), true_airspeed(cas, h))
        factors = loadfactor.load_factors(
            g.speed_kind, g.ended, rate_cas, g.load_factor, g.sink_rate, tas, g.errors.recorded_load_factor
        )
        carried = factors.n * g.weight * GRAVITY
    eas = equivalent_airspeed(cas, h)

    settings, power_index = unique_rows(g.power)
    each = [g.thrust_of(p) for (p,) in settings]
    t = np.array([e.value if e.known else 0.0 for e in each])[power_index]
    default = g.errors.idle_thrust * g.reference_weight * GRAVITY
    u_t = np.array(
        [0.0 if not e.known else default if e.standard_uncertainty is None else e.standard_uncertainty for e in each]
    )[power_index]
    angle = g.errors.stall_incidence + g.thrust_angle
    lift = factors.n * g.weight * GRAVITY - t * math.sin(angle)
    if np.any(lift <= 0.0):
        raise ValueError("the thrust given is larger than the weight it would carry: is its unit right?")
    q_area = 0.5 * DENSITY_0 * eas**2 * g.wing_area
    area_error = np.where(g.wing_area_uncertainty >= 0.0, g.wing_area_uncertainty / g.wing_area, g.errors.wing_area)
    per_knot = 2.0 / cas  # d ln CL / dV, sign apart
    per_n = g.weight * GRAVITY / lift
    noted = ~(g.weight_uncertainty > 0.0)  # a guessed weight has its own, larger error
    rate_effect = slope * (per_n * factors.slope + per_knot * share * g.errors.lag)
    rate_effect = np.where(np.isfinite(g.entry_rate), rate_effect, 0.0)
    of_system = _of_the_airspeed_system(g, carried, reading, inner, cas)
    effects = (
        Effect("wing area", "shared", g.area_labels, -area_error, "area"),
        Effect("weighing", "shared", "", per_n * factors.n * g.errors.empty_weight / g.weight),
        *of_system[:-1],
        Effect(
            "indicator lag", "shared", "", per_knot * slope * share * rate_or_guess * g.errors.lag_uncertainty, "speed"
        ),
        Effect("altitude not noted", "shared", "", np.where(known_altitude, 0.0, UNKNOWN_ALTITUDE[1])),
        # How the airplane stalls stays with it, as long as it ends alike. The rest was fitted between airplane-pilot
        # pairs of one flap and power each, so nothing says it is common to two states.
        Effect(
            "load factor, shared", "shared", np.char.add("stall character, ", factors.origin), per_n * factors.character
        ),
        Effect("load factor, shared", "shared", state_label(g, factors.origin), per_n * factors.shared),
        Effect("load factor, shared", "shared", "beyond simulation", per_n * factors.beyond),
        Effect("entry rate not noted", "state", g.modification, per_n * factors.unnoted),
        Effect("thrust", "shared", g.power, -math.sin(angle) * u_t / lift),
        Effect(
            "angle of attack at the stall",
            "shared",
            "",
            -t * math.cos(angle) * g.errors.stall_incidence_uncertainty / lift,
        ),
        of_system[-1],
        Effect("loading", "flight", "", np.where(noted, per_n * factors.n * g.errors.loading / g.weight, 0.0)),
        Effect("weight not noted", "flight", "", per_n * factors.n * np.nan_to_num(g.weight_uncertainty) / g.weight),
        Effect("reading, each flight", "flight", "", -per_knot * slope * g.errors.reading_flight, seen=True),
        Effect("entry rate, each flight", "flight", "", rate_effect * g.errors.entry_rate_flight, seen=True),
        # Where one pilot flew both states his habit cancels as far as the rates are alike.
        Effect("entry rate, pilot's habit", "shared", g.pilot, rate_effect * g.errors.entry_rate_pilot),
        Effect("reading", "stall", "", -per_knot * slope * g.errors.reading, "speed"),
        Effect("load factor, each stall", "stall", "", per_n * factors.alone),
        Effect("entry rate", "stall", "", rate_effect * g.errors.entry_rate),
        Effect("fuel", "stall", "", per_n * factors.n * g.errors.fuel / g.weight),
    )
    missing = [m for m, c in zip(g.states.labels, g.states.corrections) if c.origin == ASSUMED_ZERO]
    if missing:
        some = "; ".join(missing[:4]) + (f" and {len(missing) - 4} more" if len(missing) > 4 else "")
        notes.append(
            f"no airspeed calibration ({some}): the position error is assumed zero within "
            f"{1.96 * g.errors.position / KNOT:.1f} kt (95 %), often the largest share of the interval"
        )
    notes += [
        f"no airspeed calibration of its own ({m}): it borrowed the table of '{c.lender}', and "
        f"{196 * g.errors.change:.0f} % of the speed (95 %) stands for what differs between the two"
        for m, c in zip(g.states.labels, g.states.corrections)
        if c.lender and not c.by_lift
    ]
    return ReducedStalls(
        np.log(lift / q_area),
        np.log((g.weight * GRAVITY - t * math.sin(angle)) / q_area),
        cas,
        cas * np.sqrt(g.reference_weight / g.weight),
        g.weight,
        rate_cas,
        factors,
        t * math.sin(angle) / (lift + t * math.sin(angle)),
        effects,
        tuple(notes),
    )


def _of_the_airspeed_system(g: Stalls, carried, reading, inner, cas) -> list[Effect]:
    """Indicator and position error as relative errors of speed (N,): as assumed, or as legs left them."""
    owner = [c.lender or m for m, c in zip(g.states.labels, g.states.corrections)]
    label = np.array(owner, dtype=np.str_)[g.states.index]
    position = g.states.each(lambda c, mask: 0.0 if c.by_lift else c.uncertainty(inner[mask]) / cas[mask])
    rows = {  # a scale error has the same sign in every state, and so have the parts that legs leave of it
        Source("indicator scale", "shared"): np.full(len(cas), g.errors.indicator_scale),
        Source("indicator", "shared"): g.instrument.uncertainty(reading) / cas,
    }
    for k, c in enumerate(g.states.corrections):
        mask = g.states.index == k
        if c.by_lift:
            for row in rows.values():
                row[mask] = 0.0
        for source, part in c.at(carried[mask]).parts_at(inner[mask]).items():
            rows.setdefault(source, np.zeros(len(cas)))[mask] = part
    listed = [Effect(s.name, s.scope, s.label, -2.0 * row, "speed") for s, row in rows.items()]
    return [*listed, Effect("position error", "state", label, -2.0 * position, "speed")]
