"""Reduced stalls brought together: one result a configuration, breaks and bounds kept apart."""

from __future__ import annotations

import math

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.estimate import K95, Estimate, Source
from aerolib.measured.mixed import MixedFit, fit_flights
from aerolib.measured.results import LIMITS, Clmax, Margin, SpeedSeen, StallPoints, StallReduction
from aerolib.units import to_si

ONE_SIDED_95 = 1.6448536269514722  # 95 % point of the normal distribution [-]
SLOPE_NEEDS = 6  # stalls with a noted rate, before a slope is fitted: our judgement
SLOPE_SPREAD = 2.0  # fastest over slowest entry, before a slope is fitted: our judgement
RATE_TO_QUOTE = to_si(1.0, "kt/s", "acceleration")  # the certification entry rate, 14 CFR 23.201


def bring_together(
    reduced,
    *,
    outcome,
    ended,
    kind,
    modification,
    configuration,
    power,
    flight,
    wing_area,
    reference_weight,
    needle,
    margins,
    known_thrust,
    errors,
    inputs,
) -> StallReduction:
    """Fit all groups at once (they share flights) and make one `Clmax` of each.

    Parameters
    ----------
    reduced : ReducedStalls [-]
    outcome, ended, kind, modification, configuration, power, flight : text array (N,) [-]
    wing_area : float [m2]
    reference_weight : float [kg]
    needle : function (stall, CAS [m/s]) -> reading [m/s]
    margins : mapping name -> array (N,) [m/s]
    known_thrust : mapping power -> bool [-]
    errors : ErrorSizes [-]
    inputs : mapping [-]

    Returns
    -------
    StallReduction [-]
    """
    wholes, whole = unique_rows(modification, configuration, power)
    keys, group = unique_rows(modification, configuration, power, outcome)
    flight_names, flight_index = unique_rows(modification, flight)
    parts = _Parts(reduced, group, flight_index, [f"{m}, {f}" for m, f in flight_names], [", ".join(k) for k in keys])
    slope = _rate_covariate(reduced, outcome, group)
    fit = fit_flights(
        reduced.log_cl,
        parts.stall_variance,
        group,
        flight_index,
        groups=len(keys),
        flights=len(flight_names),
        flight_variance=parts.flight_variance,
        day_median=errors.day,
        day_log_sd=errors.day_log_sd,
        covariate=slope,
    )
    items = []
    for w, whole_key in enumerate(wholes):
        rows = np.flatnonzero(whole == w)
        items.append(
            _one(
                whole_key,
                rows,
                keys,
                group,
                fit,
                parts,
                reduced,
                outcome,
                ended,
                kind,
                flight_index,
                wing_area,
                reference_weight,
                needle,
                margins,
                known_thrust[whole_key[2]],
                errors,
            )
        )
    notes = list(reduced.notes)
    if fit.kappa > 2.0:
        notes.append(
            f"the stalls scatter {fit.kappa:.1f} times as much as the stated sources explain: look for a row "
            "that does not belong, or for a source left out"
        )
    own = np.sqrt(parts.stall_variance) * max(fit.kappa, 1.0)
    everything = np.sqrt(
        own**2
        + parts.flight_variance[flight_index]
        + fit.tau**2
        + sum(e.per_stall**2 for e in reduced.effects if e.scope in ("shared", "state"))
    )
    cl = np.exp(reduced.log_cl)
    points = StallPoints(
        whole,
        outcome,
        cl,
        np.exp(reduced.log_cl_n1),
        cl * everything,
        cl * own,
        reduced.cas,
        reduced.cas_reference,
        reduced.factors.n,
        reduced.factors.origin,
        reduced.entry_rate,
    )
    fitted = slope is not None
    return StallReduction(
        tuple(items),
        points,
        reference_weight,
        wing_area,
        fit.tau,
        fit.kappa,
        fit.slope if fitted else None,
        fit.slope_sd if fitted else None,
        tuple(notes),
        inputs,
    )


def unique_rows(*columns):
    """The distinct tuples of text columns (in order of appearance) and each row's index into them."""
    codes = np.zeros(len(columns[0]), dtype=np.int64)
    for column in columns:
        values, code = np.unique(column, return_inverse=True)
        codes = codes * len(values) + code
    _, first, index = np.unique(codes, return_index=True, return_inverse=True)
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return [tuple(str(c[i]) for c in columns) for i in first[order]], rank[index]


def _rate_covariate(reduced, outcome, group):
    """Entry rate less the rate to quote, where the breaks spread enough to fit a slope; else None.

    The rate to quote is 1 kt/s where that was flown, else the nearest rate flown: never extrapolated.
    """
    rate = reduced.entry_rate
    usable = np.isfinite(rate) & (outcome == "break") & (rate > 0.0)
    if usable.sum() < SLOPE_NEEDS or len(np.unique(rate[usable])) < 3:
        return None
    low, high = rate[usable].min(), rate[usable].max()
    within = (
        rate[usable]
        - (np.bincount(group[usable], rate[usable]) / np.maximum(np.bincount(group[usable]), 1))[group[usable]]
    )
    if high < SLOPE_SPREAD * low or np.ptp(within) < 0.25 * (high - low):
        return None
    quote = min(max(RATE_TO_QUOTE, low), high)
    return np.where(usable, rate - quote, 0.0)


class _Parts:
    """Turns weights over stalls into named parts of ln CL, one table for all groups."""

    def __init__(self, reduced, group, flight_index, flight_names, group_names):
        self.effects, self.group_names, self.flight_names = reduced.effects, group_names, flight_names
        self.flight_index = flight_index
        own = [e for e in reduced.effects if e.scope == "stall"]
        self.stall_variance = sum(e.per_stall**2 for e in own)
        per_flight = np.maximum(np.bincount(flight_index), 1)
        self.flight_effects = {
            e.name: np.bincount(flight_index, e.per_stall) / per_flight for e in reduced.effects if e.scope == "flight"
        }
        self.flight_variance = sum(v**2 for v in self.flight_effects.values())

    def of(self, weights, loading, tau, kappa, who) -> dict[Source, float]:
        """Parts of a weighted sum of ln CL: weights (N,), what each flight's effect does to it (F,)."""
        out: dict[Source, float] = {}
        for e in self.effects:
            if e.scope == "stall":
                part = kappa * math.sqrt(float(np.sum((weights * e.per_stall) ** 2)))
                _put(out, Source(e.name, e.scope, who), part)
            elif e.scope == "flight":
                for f in np.flatnonzero(loading):
                    part = loading[f] * self.flight_effects[e.name][f]
                    _put(out, Source(e.name, e.scope, self.flight_names[f]), part)
            elif isinstance(e.label, str):
                _put(out, Source(e.name, e.scope, e.label), float(weights @ e.per_stall))
            else:
                active = np.abs(weights) > 1e-12
                for label in np.unique(e.label[active]).tolist():
                    mask = active & (e.label == label)
                    _put(out, Source(e.name, e.scope, label), float(weights[mask] @ e.per_stall[mask]))
        for f in np.flatnonzero(loading):
            _put(out, Source("day", "flight", self.flight_names[f]), loading[f] * tau)
        return out


def _put(parts, source, value):
    if abs(value) > 1e-9:
        parts[source] = parts.get(source, 0.0) + float(value)


def _one(
    key,
    rows,
    keys,
    group,
    fit: MixedFit,
    parts,
    reduced,
    outcome,
    ended,
    kind,
    flight_index,
    wing_area,
    reference_weight,
    needle,
    margins,
    thrust_known,
    errors,
) -> Clmax:
    here = {k[3]: g for g, k in enumerate(keys) if k[:3] == key}
    breaks = rows[outcome[rows] == "break"]
    bounds = rows[outcome[rows] != "break"]
    limit = next(
        name
        for name, test in (("wing", "break"), ("elevator", "stop"), ("not reached", "early"), ("unknown", "unknown"))
        if np.any(ended[rows] == test)
    )
    clmax = reached = at_least = speed = speed_needle = n1 = None
    if "break" in here:
        g = here["break"]
        log_parts = parts.of(fit.weights[g], fit.flight_loading[g], fit.tau, fit.kappa, parts.group_names[g])
        clmax = _clmax(fit, g, log_parts, "CLmax")
        n1 = float(np.exp(np.mean(reduced.log_cl_n1[breaks])))
        if key[2] == "idle" and thrust_known:
            speed = _stall_speed(fit, g, log_parts, reduced, breaks, wing_area, reference_weight)
            speed_needle = needle(breaks[0], speed.value)
    else:
        # The lowest of several bounds would be the luckiest reading; their mean is a bound as well.
        name = max(here, key=lambda o: fit.mean[here[o]])
        g = here[name]
        log_parts = parts.of(fit.weights[g], fit.flight_loading[g], fit.tau, fit.kappa, parts.group_names[g])
        reached = _clmax(fit, g, log_parts, "CL at the lowest speed reached")
        u = math.sqrt(sum(p * p for p in log_parts.values()))
        at_least = reached.value * math.exp(-ONE_SIDED_95 * u)
    seen = tuple(
        s
        for o in ("break", "below scale", "stop", "early", "unknown")
        for k in ("minimum", "break", "steady", "unknown")
        if (
            s := _speed_seen(
                rows[(outcome[rows] == o) & (kind[rows] == k)], k, o, parts, reduced, fit, flight_index, needle
            )
        )
        is not None
    )
    notes = _notes(rows, breaks, bounds, outcome, limit, flight_index, key, thrust_known, reduced, kind)
    return Clmax(
        *key,
        limit,
        not thrust_known,
        clmax,
        reached,
        at_least,
        speed,
        speed_needle,
        n1,
        seen,
        tuple(m for name, v in margins.items() if (m := _margin(name, v[rows], reduced.cas[rows]))),
        len(breaks),
        len(np.unique(flight_index[breaks if len(breaks) else rows])),
        len(bounds),
        tuple(notes),
    )


def _clmax(fit, g, log_parts, name) -> Estimate:
    value = math.exp(fit.mean[g])
    low, high = np.exp(fit.quantiles(g, (0.025, 0.975), _beyond_scatter(log_parts)))
    return Estimate(name, value, "-", {s: value * p for s, p in log_parts.items()}, (float(low), float(high)))


def _beyond_scatter(log_parts) -> float:
    """Standard deviation of what is not already in the fit's own mixture: shared and state sources."""
    return math.sqrt(sum(p * p for s, p in log_parts.items() if s.scope in ("shared", "state")))


def _stall_speed(fit, g, log_parts, reduced, breaks, wing_area, reference_weight) -> Estimate:
    """1-g stall speed at the reference weight, idle: V = sqrt(2 (W - T sin) / (rho0 S CLmax)); the area cancels."""
    share = float(np.mean(reduced.thrust_share[breaks]))
    lift = reference_weight * GRAVITY * (1.0 - share)
    value = math.sqrt(2.0 * lift / (DENSITY_0 * wing_area * math.exp(fit.mean[g])))
    parts = {s: -0.5 * p for s, p in log_parts.items()}
    for effect in reduced.effects:
        if effect.name in ("wing area", "thrust"):  # both stand in V itself as well, and so cancel
            for s in list(parts):
                if s.name == effect.name:
                    parts[s] = 0.0
    low, high = fit.quantiles(g, (0.025, 0.975), 2.0 * _beyond_scatter(parts))
    middle = math.log(value) + 0.5 * fit.mean[g]
    interval = (math.exp(middle - 0.5 * high), math.exp(middle - 0.5 * low))
    return Estimate("1-g stall speed", value, "m/s", {s: value * p for s, p in parts.items() if p}, interval)


def _speed_seen(rows, kind, outcome, parts, reduced, fit, flight_index, needle) -> SpeedSeen | None:
    """Mean speed as flown at the reference weight: corrected for weight and for the indicator, nothing else."""
    if len(rows) == 0:
        return None
    weights = np.zeros(len(reduced.cas))
    weights[rows] = 1.0 / len(rows)
    loading = np.bincount(flight_index, weights, len(parts.flight_names))
    log_v = float(np.mean(np.log(reduced.cas_reference[rows])))
    named = parts.of(weights, loading, fit.tau, fit.kappa, f"{outcome}, {kind}, {parts.group_names[0]}")
    not_in_a_speed = ("wing area", "thrust", "load factor, as a rule", "incidence at the stall", "altitude not noted")
    value = math.exp(log_v)
    log_parts = {s: -0.5 * p for s, p in named.items() if s.name not in not_in_a_speed}
    half = K95 * math.sqrt(sum(p * p for p in log_parts.values()))
    speed = Estimate(
        "lowest speed seen",
        value,
        "m/s",
        {s: value * p for s, p in log_parts.items()},
        (value * math.exp(-half), value * math.exp(half)),
    )
    return SpeedSeen(kind, outcome, speed, needle(rows[0], value), len(rows))


def _margin(name, margin, cas) -> Margin | None:
    noted = np.isfinite(margin)
    if not noted.any():
        return None
    m = margin[noted]
    return Margin(
        name, float(m.mean()), float(m.min()), float(m.max()), float(100.0 * np.mean(m / cas[noted])), int(noted.sum())
    )


def _notes(rows, breaks, bounds, outcome, limit, flight_index, key, thrust_known, reduced, kind):
    notes = []
    if len(breaks) == 0:
        notes.append(f"a lower bound only: {LIMITS[limit]}; never averaged with breaks")
    elif len(breaks) < 3:
        notes.append(
            f"{len(breaks)} break{'s' if len(breaks) > 1 else ''}: the scatter between stalls is assumed, not "
            "measured; three or more would show it"
        )
    flights = len(np.unique(flight_index[rows]))
    if flights == 1:
        notes.append("one flight: the difference between days is assumed, not measured; a second day would show it")
    below = int(np.sum(outcome[rows] == "below scale"))
    if below and len(breaks):
        notes.append(
            f"{below} stall{'s' if below > 1 else ''} broke below the needle's scale and could not be "
            "averaged: the mean of the others reads CLmax low"
        )
    stops = int(np.sum(outcome[rows] == "stop"))
    if stops and len(breaks):
        notes.append(
            f"{stops} stall{'s' if stops > 1 else ''} ended on the stop without a break: a bound, not averaged"
        )
    if not thrust_known:
        notes.append(
            f"apparent: the thrust at '{key[2]}' is not known and not taken out, so this is not the wing's CLmax"
        )
    if len(breaks) and np.any(np.isnan(reduced.entry_rate[breaks])):
        notes.append("entry rate not noted for some stalls: the load factor of an unknown rate is wider")
    if len(np.unique(kind[breaks])) > 1:
        notes.append(
            "speeds of more than one kind: each was reduced by its own load factor, and their lowest speeds "
            "are listed apart"
        )
    return notes
