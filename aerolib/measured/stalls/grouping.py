"""Reduced stalls brought together: one result a configuration, breaks and bounds kept apart."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.estimate import K95, Estimate
from aerolib.measured.labels import coded, joined, unique_rows
from aerolib.measured.stalls.each import ReducedStalls
from aerolib.measured.stalls.influence import stand_apart, without_each_stall
from aerolib.measured.stalls.loadfactor import FASTEST_IN_TABLE, KNOT_PER_SECOND
from aerolib.measured.stalls.mixed import MixedFit, fit_flights
from aerolib.measured.stalls.montecarlo import coverage_interval, draw_groups
from aerolib.measured.stalls.parts import Parts, root_sum
from aerolib.measured.stalls.record import BELOW, STALLED, Stalls
from aerolib.measured.stalls.results import Clmax, Margin, SpeedSeen, StallPoints, StallReduction, beside_hidden, ending
from aerolib.sources import CANCELS_IN_SPEED, NOT_IN_A_SPEED
from aerolib.units import to_si

DRAWS_DIFFER = 0.1  # of the interval's width: beyond it the reader is told
SLOPE_NEEDS = 6  # stalls with a noted rate, before a slope is fitted: our judgement
SLOPE_SPREAD = 2.0  # fastest over slowest entry, before a slope is fitted: our judgement
RATE_TO_QUOTE = to_si(1.0, "kt/s", "acceleration")  # the certification entry rate, 14 CFR 23.201
ENDED_BY = {"wing": STALLED, "elevator": "stop", "not reached": "early", "unknown": "unknown"}
TELL_SCATTER = ("break", "stop")  # an early recovery, or a needle below its scale, says nothing of the scatter
# Of the stalls that showed the wing's limit, the share below the scale beyond which the readable ones, the
# fastest of them, give no CLmax. Our judgement.
MOST_BELOW = 0.25
# Which kind of ending gives the bound where several do: nearest to the limit first, and below the scale is slower than
# anything read on it. It never depends on the values: the best of several groups would be the luckiest one, and 'at
# least' would hold less often than it says.
BOUND_FROM = (BELOW, "stop", "unknown", "early")


@dataclass(frozen=True)
class Fitted:
    """Everything a single result is made from."""

    card: Stalls
    reduced: ReducedStalls
    keys: list[tuple[str, str, str, str]]  # modification, configuration, power, outcome of each fitted group
    group: np.ndarray  # of each stall, into keys
    flight_index: np.ndarray
    covariate: np.ndarray | None
    fit: MixedFit
    parts: Parts
    seen: list[tuple[str, str]]  # outcome and kind of speed of each way of seeing one
    seen_index: np.ndarray

    def log_parts(self, g: int):
        """Named parts of ln CL of a fitted group."""
        f = self.fit
        return self.parts.of(f.weights[g], f.flight_loading[g], f.tau, f.kappa, joined(*self.keys[g]))

    def bound_of(self, whole) -> int:
        """The fitted group that gives the lower bound of (modification, configuration, power): the mean of one kind of
        ending, since the lowest single reading would be the luckiest one."""
        bounds = [g for g, k in enumerate(self.keys) if k[:3] == tuple(whole) and k[3] != "break"]
        return min(bounds, key=lambda g: (*BOUND_FROM, self.keys[g][3]).index(self.keys[g][3]))

    def without_each_stall(self) -> np.ndarray:
        """What leaving out each stall does to ln CL of every fitted group (G, N), scatter held."""
        return without_each_stall(self.reduced.log_cl, self.parts.stall_variance, self.group, self.flight_index,
                                  groups=len(self.keys), flights=len(self.parts.flight_names),
                                  flight_variance=self.parts.flight_variance, tau=self.fit.tau, kappa=self.fit.kappa,
                                  covariate=self.covariate)  # fmt: skip

    def stand_apart(self) -> list[tuple[int, float]]:
        """(stall, by how many of its own standard deviations) of stalls far from the others of their flight."""
        cell = self.flight_index * len(self.keys) + self.group
        counts = np.isin(self.card.outcome, TELL_SCATTER)
        return stand_apart(self.reduced.log_cl, self.parts.stall_variance, cell, counts)

    def name_of_stall(self, i: int) -> str:
        """'before, clean, idle, flight 2, stall 3 of 4': counted in the order given."""
        c = self.card
        alike = np.flatnonzero((self.flight_index == self.flight_index[i]) & (c.configuration == c.configuration[i])
                               & (c.power == c.power[i]))  # fmt: skip
        whose = joined(*(str(x[i]) for x in (c.modification, c.configuration, c.power)))
        return f"{whose}, flight {c.flight[i]}, stall {int(np.searchsorted(alike, i)) + 1} of {len(alike)}"

    def refit(self, keep) -> dict[tuple[str, str, str, str], float]:
        """Mean ln CL of every fitted group that has stalls left, from the stalls in a mask (N,) only."""
        groups, group = np.unique(self.group[keep], return_inverse=True)
        flights, flight = np.unique(self.flight_index[keep], return_inverse=True)
        fit = fit_flights(self.reduced.log_cl[keep], self.parts.stall_variance[keep], group, flight,
                          groups=len(groups), flights=len(flights),
                          flight_variance=self.parts.flight_variance[flights],
                          day_median=self.parts.flight_median(flights), day_log_sd=self.card.errors.day_log_sd,
                          covariate=None if self.covariate is None else self.covariate[keep])  # fmt: skip
        return {self.keys[g]: float(mean) for g, mean in zip(groups, fit.mean)}


def bring_together(reduced: ReducedStalls, card: Stalls, draws=0, rng=None, progress=None) -> StallReduction:
    """Fit all groups at once (they share flights) and make one `Clmax` of each.

    Parameters
    ----------
    reduced : ReducedStalls [-]
    card : Stalls [SI]
    draws : int [-]
        Monte Carlo draws to check the intervals with; none where 0.
    rng : numpy Generator [-]
    progress : function (draws done) or None [-]

    Returns
    -------
    StallReduction [-]
    """
    modification, configuration, power = coded(card.modification), coded(card.configuration), coded(card.power)
    outcome = coded(card.outcome)
    wholes, whole = unique_rows(modification, configuration, power)
    keys, group = unique_rows(modification, configuration, power, outcome)
    flights, flight_index = unique_rows(modification, card.flight)
    parts = Parts(reduced.effects, flight_index, [joined(m, f) for m, f in flights], card.errors.day)
    covariate = _rate_covariate(reduced, card.outcome, group)
    prior = {"day_median": parts.flight_median(), "day_log_sd": card.errors.day_log_sd}
    fit = fit_flights(reduced.log_cl, parts.stall_variance, group, flight_index, groups=len(keys),
                      flights=len(flights), flight_variance=parts.flight_variance, covariate=covariate, **prior,
                      informs=np.isin(card.outcome, TELL_SCATTER))  # fmt: skip
    fitted = Fitted(
        card, reduced, keys, group, flight_index, covariate, fit, parts,
        *unique_rows(np.where(card.outcome == BELOW, BELOW, card.ended), card.speed_kind)
    )  # fmt: skip
    items = tuple(_item(key, np.flatnonzero(whole == w), fitted) for w, key in enumerate(wholes))
    if draws:
        samples = draw_groups(reduced.log_cl, parts, fit, draws, rng, progress)
        items = tuple(_with_draws(item, samples, fitted) for item in items)
    notes = list(reduced.notes)
    if fit.kappa > 2.0:
        notes.append(
            f"the stalls scatter {fit.kappa:.1f} times as much as the stated sources explain: look for a row that does "
            "not belong, or for a source left out"
        )
    slope, slope_sd = (fit.slope, fit.slope_sd) if covariate is not None else (None, None)
    return StallReduction(
        items, _points(fitted, whole), card.reference_weight, day_scatter=fit.tau, scatter_ratio=fit.kappa,
        rate_slope=slope, rate_slope_uncertainty=slope_sd, notes=tuple(notes), inputs=card.inputs, model=fitted,
    )  # fmt: skip


def _points(fitted: Fitted, whole) -> StallPoints:
    reduced, fit, parts = fitted.reduced, fitted.fit, fitted.parts
    own = np.sqrt(parts.stall_variance) * max(fit.kappa, 1.0)
    beyond = sum(e.per_stall**2 for e in reduced.effects if e.scope in ("shared", "state"))
    everything = np.sqrt(own**2 + parts.flight_variance[fitted.flight_index] + fit.tau**2 + beyond)
    cl = np.exp(reduced.log_cl)
    return StallPoints(
        group=whole, outcome=fitted.card.outcome, cl=cl, cl_with_n_equal_1=np.exp(reduced.log_cl_n1),
        standard_uncertainty=cl * everything, own_uncertainty=cl * own, cas=reduced.cas,
        cas_at_reference_weight=reduced.cas_reference, load_factor=reduced.factors.n,
        load_factor_origin=reduced.factors.origin, entry_rate=reduced.entry_rate, wing_area=fitted.card.wing_area,
    )  # fmt: skip


def _rate_covariate(reduced, outcome, group):
    """Entry rate less the rate to quote, where a slope can be fitted; else None.

    Only from breaks whose load factor was recorded: where n comes from the table, the table has taken the rate out, and
    the error of a rate judged by eye, which stands in both, would make a slope out of nothing. The rate to quote is
    1 kt/s where a group was flown about it, else the nearest rate that group was flown at: never extrapolated.
    """
    rate = reduced.entry_rate
    usable = np.isfinite(rate) & (outcome == "break") & (rate > 0.0) & (reduced.factors.origin == "recorded")
    if usable.sum() < SLOPE_NEEDS or len(np.unique(rate[usable])) < 3:
        return None
    covariate, spread = np.zeros(len(rate)), []
    for g in np.unique(group[usable]):
        mine = usable & (group == g)
        low, high = rate[mine].min(), rate[mine].max()
        covariate[mine] = rate[mine] - min(max(RATE_TO_QUOTE, low), high)
        spread.append(high / low)
    return covariate if max(spread) >= SLOPE_SPREAD else None


def _item(key, rows, f: Fitted) -> Clmax:
    """One result: CLmax where there was a break and few stalls lie below the scale, else the bound that was reached."""
    card, outcome = f.card, f.card.outcome[rows]
    breaks, bounds = rows[outcome == "break"], rows[outcome != "break"]
    thrust_known = card.thrust_of(key[2]).known
    clmax = reached = at_least = speed = needle = n1 = None
    if _measured(outcome):
        g = f.keys.index((*key, "break"))
        log_parts = f.log_parts(g)
        clmax = _coefficient(f.fit, g, log_parts, "CLmax")
        n1 = float(np.exp(np.mean(f.reduced.log_cl_n1[breaks])))
        if key[2] in ("idle", "off") and thrust_known:
            speed = _stall_speed(f, g, log_parts, breaks)
            needle = card.needle(breaks[0], speed.value)
    else:
        g = f.bound_of(key)
        log_parts = f.log_parts(g)
        reached = _coefficient(f.fit, g, log_parts, "CL at the lowest speed reached")
        at_least = float(np.exp(f.fit.quantiles(g, (0.05,), _beyond_scatter(log_parts))[0]))
    limit = next(name for name, endings in ENDED_BY.items() if np.isin(card.ended[rows], endings).any())
    stalled = rows[(outcome == "break") | (outcome == "stop")]  # a margin is that to a stall that happened
    margins = (_margin(name, m[stalled], f.reduced.cas[stalled]) for name, m in card.margins.items())
    counted = rows if clmax is None else breaks
    modification, configuration, power = key
    return Clmax(
        modification, configuration, power, limit, apparent=not thrust_known, clmax=clmax, lowest_reached=reached,
        at_least=at_least, stall_speed_1g=speed, stall_speed_1g_needle=needle, with_n_equal_1=n1,
        speeds_seen=_speeds_seen(rows, f), margins=tuple(m for m in margins if m), breaks=len(breaks),
        flights=len(np.unique(f.flight_index[counted])), bounds=len(bounds),
        notes=tuple(_notes(key, rows, breaks, limit, f)),
    )  # fmt: skip


def _measured(outcome) -> bool:
    """Whether the breaks among the outcomes of one state give CLmax, and not a lower limit only."""
    breaks, below = (int(np.sum(outcome == o)) for o in ("break", BELOW))
    return breaks > 0 and below <= MOST_BELOW * (breaks + below)


def _with_draws(item: Clmax, samples, f: Fitted) -> Clmax:
    """The same result with the intervals that drawing gives, and a note where the linear ones are off."""
    if item.clmax is None:
        return item
    log_cl, log_common = samples
    g = f.keys.index((item.modification, item.configuration, item.power, "break"))
    column = log_cl[:, g]
    low, high = coverage_interval(column)
    by_draws = (math.exp(low), math.exp(high))
    notes = [_difference("CLmax", item.clmax.interval95, by_draws)]
    speed_by_draws = None
    if item.stall_speed_1g is not None:
        middle = math.log(item.stall_speed_1g.value) + 0.5 * math.log(item.clmax.value)
        low, high = coverage_interval(-0.5 * (column - log_common[:, g]))
        speed_by_draws = (math.exp(middle + float(low)), math.exp(middle + float(high)))
        notes.append(_difference("the 1-g stall speed", item.stall_speed_1g.interval95, speed_by_draws))
    return replace(item, interval95_by_draws=by_draws, stall_speed_interval95_by_draws=speed_by_draws,
                   notes=item.notes + tuple(n for n in notes if n))  # fmt: skip


def _difference(what, linear, drawn) -> str | None:
    width = linear[1] - linear[0]
    off = max(abs(a - b) for a, b in zip(linear, drawn))
    if off <= DRAWS_DIFFER * width:
        return None
    return (
        f"{what}: random sets of errors give an interval whose ends lie up to {off / width:.0%} of its width from "
        "the one shown; the errors are too large for the linear route, take that one"
    )


def _coefficient(fit, g, log_parts, name) -> Estimate:
    value = math.exp(fit.mean[g])
    low, high = np.exp(fit.quantiles(g, (0.025, 0.975), _beyond_scatter(log_parts)))
    return Estimate(name, value, "-", {s: value * p for s, p in log_parts.items()}, (float(low), float(high)))


def _beyond_scatter(log_parts) -> float:
    """Standard deviation of what is not already in the fit's own mixture: shared and state sources."""
    return math.sqrt(sum(p * p for s, p in log_parts.items() if s.scope in ("shared", "state")))


def _stall_speed(f: Fitted, g, log_parts, breaks) -> Estimate:
    """1-g stall speed at the reference weight, idle.

    V = sqrt(2 (W - T sin(alpha + iT)) / (rho0 S CLmax)); area, thrust and its angle stand in CLmax as well, and cancel.
    """
    share = float(np.mean(f.reduced.thrust_share[breaks]))
    lift = f.card.reference_weight * GRAVITY * (1.0 - share)
    middle = 0.5 * math.log(2.0 * lift / (DENSITY_0 * f.card.wing_area[breaks[0]]))
    value = math.exp(middle - 0.5 * f.fit.mean[g])
    parts = {s: -0.5 * p for s, p in log_parts.items() if s.name not in CANCELS_IN_SPEED}
    low, high = f.fit.quantiles(g, (0.025, 0.975), 2.0 * _beyond_scatter(parts))
    interval = (math.exp(middle - 0.5 * high), math.exp(middle - 0.5 * low))
    return Estimate("1-g stall speed", value, "m/s", {s: value * p for s, p in parts.items()}, interval)


def _speeds_seen(rows, f: Fitted) -> tuple[SpeedSeen, ...]:
    index = f.seen_index[rows]
    order = {name: k for k, name in enumerate(("break", "mush", "below scale", "stop", "early", "unknown"))}
    kinds = {name: k for k, name in enumerate(("minimum", "break", "steady", "unknown"))}
    present = sorted(set(index.tolist()), key=lambda k: (order[f.seen[k][0]], kinds[f.seen[k][1]]))
    return tuple(_speed_seen(rows[index == k], f.seen[k][1], f.seen[k][0], f) for k in present)


def _speed_seen(rows, kind, outcome, f: Fitted) -> SpeedSeen:
    """Mean speed as flown at the reference weight: corrected for weight and for the indicator, nothing else."""
    weights = np.zeros(len(f.reduced.cas))
    weights[rows] = 1.0 / len(rows)
    loading = np.bincount(f.flight_index, weights, len(f.parts.flight_names))
    who = f"speed {kind}, {outcome}, stalls {rows[0]} ff."
    named = f.parts.of(weights, loading, f.fit.tau, f.fit.kappa, who)
    value = math.exp(float(np.mean(np.log(f.reduced.cas_reference[rows]))))
    log_parts = {s: -0.5 * p for s, p in named.items() if s.name not in NOT_IN_A_SPEED}
    half = K95 * root_sum(log_parts)
    speed = Estimate("lowest speed seen", value, "m/s", {s: value * p for s, p in log_parts.items()},
                     (value * math.exp(-half), value * math.exp(half)))  # fmt: skip
    return SpeedSeen(kind, outcome, speed, f.card.needle(rows[0], value), len(rows))


def _margin(name, margin, cas) -> Margin | None:
    noted = np.isfinite(margin)
    if not noted.any():
        return None
    m = margin[noted]
    return Margin(
        name, float(m.mean()), float(m.min()), float(m.max()), float(100.0 * np.mean(m / cas[noted])), int(noted.sum())
    )


def _notes(key, rows, breaks, limit, f: Fitted) -> list[str]:
    outcome, rate, broke = f.card.outcome[rows], f.reduced.entry_rate[breaks], len(breaks)
    below, stops, mushed = (
        int(np.sum(x)) for x in (outcome == BELOW, outcome == "stop", f.card.ended[breaks] == "mush")
    )
    hidden = broke > 0 and not _measured(outcome)
    by_table = np.char.startswith(f.reduced.factors.origin[breaks], "table")
    kinds = {f.seen[k][1] for k in f.seen_index[breaks].tolist()}
    told = (
        (broke == 0, f"a lower limit only: {ending(limit, False)}; never averaged with breaks"),
        (hidden, f"a lower limit only: {ending(limit, False)} in {below} of {below + broke}, more than a quarter; the "
                 f"{broke} read on it are the fastest of them, and their mean would read CLmax low"),
        (0 < broke < 3 and not hidden, f"{_counted(broke, 'break')}: the scatter between stalls is assumed, not "
                                       "measured; three or more would show it"),
        (len(np.unique(f.flight_index[rows])) == 1, "one flight: the difference between days is assumed, not measured; "
                                                    "a second day would show it"),
        (below and broke and not hidden, beside_hidden(below)),
        (stops and broke, f"{_counted(stops, 'stall')} ended on the stop without a break: a bound, not averaged"),
        (not f.card.thrust_of(key[2]).known, f"apparent: the thrust at '{key[2]}' is not known and not taken out, so "
                                             "this is not the wing's CLmax"),
        (mushed, f"{mushed} of {broke} stalls {'was a mush' if mushed == 1 else 'were mushes'} (sank, no nose drop): "
                 "the wing at its CLmax all the same, with a load factor of its own that is known less well"),
        (np.any(np.isnan(rate) & by_table), "entry rate not noted for some stalls: the load factor of an unknown rate "
                                            "is wider"),
        (np.any((rate > FASTEST_IN_TABLE) & by_table),
         f"entered faster than {FASTEST_IN_TABLE / KNOT_PER_SECOND:g} kt/s, where the table of load factors ends: its "
         "line was carried on with a wider spread; fly slower entries"),
        (len(kinds) > 1, "speeds of more than one kind: each was reduced by its own load factor, and their lowest "
                         "speeds are listed apart"),
    )  # fmt: skip
    return [words for holds, words in told if holds]


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
