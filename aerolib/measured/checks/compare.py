"""Everything else worth comparing before and after: recorded and compared, not modelled.

    y_i = mu_state(i) + b_flight(i) + e_i

for the readings of one quantity in one configuration and power, with the flights as blocks: the model of `mixed.py`,
on the values as read. Weight, air and technique are not taken out; where they differ, a note says so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from scipy.special import ndtr

from aerolib.estimate import Estimate, Source
from aerolib.measured.checks.notes import item_notes, notes_on_all
from aerolib.measured.checks.quantities import NOT_NOTED, reading_of
from aerolib.measured.checks.results import CheckResult, ChecksComparison
from aerolib.measured.comparison.results import FEW_FLIGHTS, SHOWN
from aerolib.measured.labels import joined, unique_rows
from aerolib.measured.stalls.mixed import fit_flights, mixture_quantiles
from aerolib.units import from_si, to_si

DAY_LOG_SD = 0.7  # the day scatter is right within a factor 2 (1 sigma): our judgement
_KAPPA_STEPS = np.geomspace(0.6, 8.0, 121)  # finer than for the stalls: one quantity may have many readings


def compare_checks(
    quantity,
    value,
    *,
    modification,
    configuration,
    power=NOT_NOTED,
    flight=NOT_NOTED,
    kind="",
    unit="",
    weight=np.nan,
    pressure_altitude=np.nan,
    temperature=np.nan,
    no_worse_than=np.nan,
    reading_uncertainty=np.nan,
    day_scatter: Mapping[str, float] | None = None,
    before="before",
    after="after",
) -> ChecksComparison:
    """Difference of every quantity between two modifications, per configuration and power.

    difference = mu(after) - mu(before), flat prior on both; scatter between days and between readings integrated out

    Parameters
    ----------
    quantity : str or text array (N,) [-]
        Keys of `QUANTITIES`.
    value : float or array (N,) [SI]
    modification, configuration, power, flight : str or text array (N,) [-]
        Flight 1 before and flight 1 after are two flights.
    kind, unit : str or text array (N,) [-]
        Kind of unit, empty: the quantity's first; unit to show where all readings agree on it, else the usual one.
    weight : float or array (N,) [kg]
    pressure_altitude : float or array (N,) [m]
    temperature : float or array (N,) [K]
        NaN where not noted, like the two before; compared between the states, not corrected for.
    no_worse_than, reading_uncertainty : float or array (N,) [SI]
        A difference the owner would put up with; standard uncertainty of one reading. NaN: none; the default.
    day_scatter : mapping quantity -> float [SI]
        Median of the prior of the standard deviation between days, where not the default.
    before, after : str [-]

    Returns
    -------
    ChecksComparison [-]
        One item for each quantity, configuration and power that either state has, in the order of their first rows.

    Raises
    ------
    ValueError
        Unknown quantity or kind of unit, two kinds or two limits in one comparison, a value that is not finite.

    Valid range: readings taken alike in both states; two flights or more in each say most.
    Source: the mixed model of `mixed.py`; sizes and the two probabilities of a verdict are our own convention.
    """
    value = np.atleast_1d(np.asarray(value, dtype=float))
    if not np.all(np.isfinite(value)):
        raise ValueError(f"every value must be finite; number {int(np.argmin(np.isfinite(value))) + 1} is not")
    columns = {
        "quantity": quantity, "modification": modification, "configuration": configuration, "power": power,
        "flight": flight, "kind": kind, "unit": unit, "value": value, "weight": weight, "temperature": temperature,
        "pressure_altitude": pressure_altitude, "no_worse_than": no_worse_than, "uncertainty": reading_uncertainty,
    }  # fmt: skip
    rows = {k: np.broadcast_to(np.asarray(v, np.str_ if i < 7 else float), len(value))
            for i, (k, v) in enumerate(columns.items())}  # fmt: skip
    rows = {k: v[np.isin(rows["modification"], (before, after))] for k, v in rows.items()}
    keys, group = unique_rows(rows["quantity"], rows["configuration"], rows["power"])
    powers: dict[tuple[str, ...], dict[str, None]] = {}
    for key, m in zip((keys[g] for g in group), rows["modification"].tolist()):
        powers.setdefault((m, *key[:2]), {})[key[2]] = None
    items = []
    for g, key in enumerate(keys):
        order = np.flatnonzero(group == g)
        order = order[np.lexsort((rows["value"][order], rows["flight"][order]))]  # a file's order changes no digit
        mine = {k: v[order] for k, v in rows.items()}
        items.append(_compare_one(key, mine, day_scatter or {}, before, after, powers))
    return ChecksComparison(before, after, tuple(items), notes_on_all(items))


def _compare_one(key, rows, day_scatter, before, after, powers) -> CheckResult:
    """One quantity in one configuration and power."""
    name, where = key[0], ", ".join(key)
    reading = reading_of(name, rows["kind"], where)
    scale = to_si(1.0, reading.unit, reading.kind)
    y, u, limits = rows["value"], rows["uncertainty"], rows["no_worse_than"]
    u = np.where(np.isfinite(u), u, scale * reading.uncertainty)
    day = day_scatter.get(name, max(reading.day * abs(float(np.mean(y))), scale * reading.day_least))
    if not (np.all(u > 0.0) and 0.0 < day < math.inf):
        raise ValueError(f"{where}: reading uncertainty and day scatter must be above zero; 1e-9 stands for none")
    limits = limits[np.isfinite(limits)]
    if len(limits) and (limits.min() < 0.0 or np.ptp(limits) > 1e-9 * limits.max()):
        raise ValueError(f"{where}: 'no worse than' must be one difference, zero or more; it is {limits.tolist()}")
    limit = float(limits[0]) if len(limits) else None

    states = [m for m in (before, after) if np.any(rows["modification"] == m)]
    group = np.array([states.index(m) for m in rows["modification"].tolist()])
    flights, index = unique_rows(rows["modification"], rows["flight"])
    fit = fit_flights(
        y, u**2, group, index, groups=len(states), flights=len(flights), flight_variance=np.zeros(len(flights)),
        day_median=day, day_log_sd=DAY_LOG_SD, kappa_steps=_KAPPA_STEPS,
    )  # fmt: skip
    units = set(rows["unit"].tolist())
    shown = units.pop() if len(units) == 1 and "" not in units else reading.unit
    factor = float(from_si(1.0, shown, reading.kind))
    p, c, mean = fit.grid_probability, fit.grid_covariance, fit.grid_mean

    def estimate(label, *signs):  # of the groups
        s = np.array(signs, dtype=float)
        weights, loading = s @ fit.weights, s @ fit.flight_loading
        centre, sd = s @ mean, np.sqrt(np.maximum(np.einsum("g,mgh,h->m", s, c, s), 0.0))
        parts = {Source("reading", "stall", label): fit.kappa * math.sqrt(float(np.sum((weights * u) ** 2))),
                 Source("day to day", "flight", label): fit.tau * math.sqrt(float(np.sum(loading**2)))}  # fmt: skip
        low, high = map(float, mixture_quantiles(p, centre, sd, (0.025, 0.975)))
        return (
            Estimate(f"{name}, {label}", float(p @ centre), "SI", parts, (low, high)).scaled(factor, shown),
            centre,
            sd,
        )

    means = {m: estimate(m, *(float(m == other) for other in states))[0] for m in states}
    difference, higher, verdict, decided = None, None, "not compared", None
    if len(states) == 2:
        difference, centre, sd = estimate("difference", -1.0, 1.0)
        higher = float(p @ ndtr(centre / sd))
        within = False
        if limit is not None:
            up, down = (float(p @ ndtr((sign * centre - limit) / sd)) for sign in (1.0, -1.0))
            within = {1: down, -1: up, 0: max(up, down)}[reading.better] <= 1.0 - SHOWN
        without = _without_each_flight(y, u, group, flights, index, fit)
        if abs(higher - 0.5) > 1e-9:  # no difference has no sign to turn
            decided = next((f for f, d in without.items() if d * (higher - 0.5) <= 0.0), None)
        verdict = _verdict(
            reading.better, higher, f"{factor * (limit or 0.0):.3g} {shown}" if within else None, decided
        )
    count = {m: int(np.sum(rows["modification"] == m)) for m in (before, after)}
    return CheckResult(
        key[0], key[1], key[2], unit=shown, better=reading.better, before=means.get(before), after=means.get(after),
        difference=difference, probability_higher=higher, no_worse_than=None if limit is None else factor * limit,
        verdict=verdict, scatter={"day": factor * fit.tau, "ratio": fit.kappa},
        assumed={"reading": factor * float(np.mean(u)), "day": factor * day},
        readings=(count[before], count[after]), decided_by=decided,
        flights=(sum(f[0] == before for f in flights), sum(f[0] == after for f in flights)),
        notes=item_notes(key, rows, {m: rows["modification"] == m for m in (before, after)}, powers),
    )  # fmt: skip


def _without_each_flight(y, u, group, flights, index, fit) -> dict[str, float]:
    """Difference of the states with each flight left out, the scatter held; nothing where that empties a state.

    mean = sum w_f y_f / sum w_f, w_f = 1 / (tau^2 + kappa^2 / sum 1 / u^2): a flight belongs to one state.
    """
    if len(flights) > FEW_FLIGHTS:
        return {}
    precision = np.bincount(index, u**-2.0)
    mean = np.bincount(index, y / u**2) / precision
    weight = 1.0 / (fit.tau**2 + fit.kappa**2 / precision)
    state = np.zeros(len(flights), dtype=int)
    state[index] = group
    out = {}
    for k, name in enumerate(flights):
        rest = np.arange(len(flights)) != k
        parts = [rest & (state == g) for g in (0, 1)]
        if all(part.any() for part in parts):
            first, second = (float(np.average(mean[part], weights=weight[part])) for part in parts)
            out[joined(*name)] = second - first
    return out


def _verdict(better, higher, within, decided) -> str:
    """better, worse, no worse than X, not shown; higher, lower, changed by no more than X where neither is better.

    Where one flight decides the sign, nothing is shown.
    """
    if better:
        probability, words, bound = higher if better > 0 else 1.0 - higher, ("better", "worse"), "no worse than"
        within = within and f"{within} {'less' if better > 0 else 'more'}"
    else:
        probability, words, bound = higher, ("higher", "lower"), "changed by no more than"
    shown = words[0] if probability >= SHOWN else words[1] if probability <= 1.0 - SHOWN else ""
    if shown and decided is not None:
        turned = f"without flight {decided} its sign would turn"
        return f"not shown ({turned})" if within is None else f"{bound} {within} ({turned})"
    if within is None or shown == "better":
        return shown or "not shown"
    return f"{shown + ', but ' if shown else ''}{bound} {within}"
