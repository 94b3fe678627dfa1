"""Before and after: is the change real?

    ln R = ln CLmax(after) - ln CLmax(before)

formed inside one fit, so that whatever the two states share (wing area, scales, the rule of the load factor) cancels
source by source, and whatever they do not share (position error, days, loading) stays.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from scipy.special import chdtrc, ndtr

from aerolib.estimate import K95, Estimate, Source
from aerolib.measured.airspeed.correction import ASSUMED_ZERO
from aerolib.measured.airspeed.model import OPEN
from aerolib.measured.comparison.results import FEW_FLIGHTS, MEASURES_OF_SPEED, Change, Comparison, OneStall, verdict_of
from aerolib.measured.comparison.unlike import pilots_apart, unlike
from aerolib.measured.labels import unique_rows
from aerolib.measured.stalls import reduce_stalls
from aerolib.measured.stalls.mixed import mixture_quantiles
from aerolib.measured.stalls.parts import root_sum
from aerolib.measured.stalls.record import STALLED, Stalls
from aerolib.measured.stalls.results import BELOW_SCALE, beside_hidden
from aerolib.memo import MEMO
from aerolib.sources import BORROWED

ALIKE = 0.7  # correlation of the position errors of two flap settings of one airplane: our judgement
CHANCE_DRAWS = 20_000  # of the errors of several settings: good to 0.2 points
AGREE = 0.05  # configurations agree on one ratio unless chi-square says less likely than this: our judgement


def compare(stalls: Stalls, before="before", after="after", calibration=None) -> Comparison:
    """Change of CLmax and of both stall speeds between two modifications, per configuration and in common.

    R = CLmax(after) / CLmax(before), V ratio = R ** -0.5

    Parameters
    ----------
    stalls : [SI]
        Those of both modifications; others are left out.
    before, after : [-]
    calibration : AirspeedCalibration or None [-]
        Behind the corrections of the stalls: where one of them changed with one flap alone, nothing is 'shown' by it.

    Returns
    -------
    Comparison [-]

    Raises
    ------
    ValueError
        No stalls of one of the two modifications.

    Valid range: as `reduce_stalls`. Where the wing area differs between the states, what is judged is CLmax times area.
    Flights of both states on one day count as days of their own: no credit is given for what they share.
    Pilots nobody named are taken as one and the same; where one state alone has names, as other ones.
    Source: JCGM 100:2008, F.1.2 (common influences); verdict by our own convention, stated in its text.
    """
    for name in (before, after):
        if not np.any(stalls.modification == name):
            have = ", ".join(dict.fromkeys(stalls.modification.tolist()))
            raise ValueError(f"no stalls of modification '{name}' to compare; there are {have}")
    if before == after:
        raise ValueError(f"before and after are both '{before}'; choose two modifications")
    stalls = stalls.chosen(np.isin(stalls.modification, (before, after)))
    alone_changed = {} if calibration is None else calibration.leaning(before, after)
    flap = dict(zip(stalls.configuration.tolist(), stalls.flap.tolist()))
    apart = pilots_apart(stalls)
    # a study of two states whose pilots are named holds the same reduction
    reduction = MEMO(reduce_stalls, stalls if np.array_equal(apart, stalls.pilot) else replace(stalls, pilot=apart))
    labels = {str(e.label) for e in reduction.model.reduced.effects if e.name == BORROWED}
    lent = [label.rsplit(" | ", 2) for label in sorted(labels)]
    without = _without_each_flight(reduction, before, after)
    each = reduction.model.without_each_stall()
    changes, contrasts, alone, doubted = [], [], [], False
    for item in reduction.items:
        here = (item.configuration, item.power)
        other = next((i for i in reduction.items if i.modification != item.modification
                      and (i.configuration, i.power) == here), None)  # fmt: skip
        if other is None:
            alone.append(f"{item.name}: flown in one state only, not compared")
        elif item.modification == before:
            change, contrast = _change(reduction, item, other, without, each)
            f = flap[item.configuration]
            hidden = [f"'{i.modification}': {beside_hidden(i.below_scale)}" for i in (item, other)
                      if i.clmax is not None and i.below_scale]  # fmt: skip
            changes.append(change.leaning_on(alone_changed.get(f), [x[1:] for x in lent if x[0] == f], hidden))
            doubted |= change.judged is not None and not change.apparent and bool(hidden or f in alone_changed)
            if contrast is not None and item.power in ("idle", "off"):
                contrasts.append(contrast)
    common = _common(reduction, contrasts)
    if common and doubted:
        common["verdict"] = common["verdict"].at_most_suggested()
    notes = [*alone, *unlike(reduction.model, stalls, before, after), *_apart(reduction.model)]
    notes += dict.fromkeys(_areas(c) for c in changes if c.areas is not None)
    if not changes:
        notes.insert(0, "no configuration and power was flown in both states: there is nothing to compare")
    return Comparison(before, after, tuple(changes), notes=tuple(notes), **common)


def _without_each_flight(reduction, before, after):
    """ln R by (configuration, power) with each flight left out in turn: {label of the flight: {key: ln R}}."""
    f = reduction.model
    if len(f.parts.flight_names) > FEW_FLIGHTS:
        return {}
    out = {}
    for k, name in enumerate(f.parts.flight_names):
        rest = f.flight_index != k
        means = f.refit(rest) if rest.any() else {}
        out[name] = {
            (c, p): means[(after, c, p, o)] - mean
            for (m, c, p, o), mean in means.items()
            if m == before and o == "break" and (after, c, p, o) in means
        }
    return out


def _group(reduction, item, outcome):
    return reduction.model.keys.index((item.modification, item.configuration, item.power, outcome))


def _contrast(reduction, a, b, area=True):
    """Mixture of ln CL (times the wing area, where that is asked) of group a less group b, and its parts."""
    f = reduction.model
    fit = f.fit
    weights, loading = fit.weights[a] - fit.weights[b], fit.flight_loading[a] - fit.flight_loading[b]
    parts = f.parts.of(weights, loading, fit.tau, fit.kappa, f"{f.keys[a]} - {f.keys[b]}")
    mean = fit.grid_mean[a] - fit.grid_mean[b]
    if area:  # CL S = L / q: what the area was does not matter
        mean = mean + math.log(_area(f, a) / _area(f, b))
        parts = {s: p for s, p in parts.items() if s.name != "wing area"}
    c = fit.grid_covariance
    variance = np.maximum(c[:, a, a] + c[:, b, b] - 2.0 * c[:, a, b], 0.0)
    beyond = root_sum({s: p for s, p in parts.items() if s.scope in ("shared", "state")})
    return mean, np.sqrt(variance + beyond**2), parts


def _area(f, g) -> float:
    """Wing area [m2] of a fitted group."""
    return float(f.card.wing_area[np.argmax(f.group == g)])


def _change(reduction, item, other, without, each):
    """The change of one configuration and power; and its (mean, sd, parts, ln R without each flight)."""
    speeds = _speeds(reduction, item, other)
    if item.clmax is None or other.clmax is None:
        return _bounded(reduction, item, other, speeds), None
    f = reduction.model
    p = f.fit.grid_probability
    a, b = _group(reduction, other, "break"), _group(reduction, item, "break")
    areas = (_area(f, b), _area(f, a))
    mean, sd, parts = _contrast(reduction, a, b)
    low, high = mixture_quantiles(p, mean, sd, (0.025, 0.975))
    centre = float(p @ mean)
    better = float(p @ ndtr(mean / sd))
    more = math.log(areas[1] / areas[0])
    left_out = {k: ratios.get((item.configuration, item.power)) for k, ratios in without.items()}
    left_out = {k: None if x is None else x + more for k, x in left_out.items()}
    lift = _ratio("CLmax times wing area, ratio", centre, low, high, parts)
    ratio = _ratio("CLmax ratio", centre, low, high, parts)
    cl, v = item.clmax.value, item.stall_speed_1g.value if item.stall_speed_1g else None
    speed = None
    if v is not None:
        ends = [v * (math.exp(-0.5 * x) - 1.0) for x in (high, low)]
        value = v * math.exp(-0.5 * centre)
        speed = Estimate("change of the 1-g stall speed", value - v, "m/s",
                         {s: -0.5 * value * x for s, x in parts.items()}, tuple(ends))  # fmt: skip
    shown, dial = (item.stall_speed_1g_needle, other.stall_speed_1g_needle), None
    if v is not None and speed is not None and None not in shown:
        states, ends_of = f.card.states, [int(np.argmax(f.group == g)) for g in (b, a)]
        if not any(states.corrections[states.index[i]].origin == ASSUMED_ZERO for i in ends_of):
            low, high = (f.card.needle(ends_of[1], v + end) - shown[0] for end in speed.interval95)
            dial = low, high
    changed = areas[0] != areas[1]
    if changed:
        of_cl, sd_cl, parts_cl = _contrast(reduction, a, b, area=False)
        low, high = mixture_quantiles(p, of_cl, sd_cl, (0.025, 0.975))
        ratio = _ratio("CLmax ratio", float(p @ of_cl), low, high, parts_cl)
    delta = Estimate("change of CLmax", cl * (ratio.value - 1.0), "-", {s: cl * x for s, x in ratio.parts.items()},
                     tuple(cl * (x - 1.0) for x in ratio.interval95))  # fmt: skip
    rows = np.flatnonzero((f.group == a) | (f.group == b))
    moved = each[a, rows] - each[b, rows]
    rows, moved = rows[np.isfinite(moved)], moved[np.isfinite(moved)]
    stalls = None
    if len(rows):
        most = int(np.argmax(np.abs(moved)))
        stalls = OneStall(centre + float(moved.min()), centre + float(moved.max()), int(rows[most]),
                          f.name_of_stall(int(rows[most])), centre + float(moved[most]))  # fmt: skip
    change = Change(
        item.configuration, item.power, item.apparent, ratio=ratio, delta_clmax=delta, delta_stall_speed_1g=speed,
        delta_on_dial=None if speed is None or None in shown else shown[1] - shown[0], interval_on_dial=dial,
        delta_speeds_seen=speeds, probability_improved=better, verdict=verdict_of(better, left_out), without=left_out,
        stalls=stalls, areas=areas if changed else None, lift_ratio=lift if changed else None,
    )  # fmt: skip
    return change, (mean, sd, parts, left_out)


def _ratio(name, centre, low, high, parts) -> Estimate:
    value = math.exp(centre)
    return Estimate(name, value, "-", {s: value * x for s, x in parts.items()}, (math.exp(low), math.exp(high)))


def _bounded(reduction, item, other, speeds) -> Change:
    """One of the two has no CLmax: CLmax changed by at least so much, or nothing can be said."""
    at_least, areas = None, None
    bounded = "; ".join(f"in '{i.modification}' {i.ending}" for i in (item, other) if i.clmax is None)
    if item.clmax is not None and other.lowest_reached is not None:
        f = reduction.model
        g = f.bound_of((other.modification, other.configuration, other.power))
        b = _group(reduction, item, "break")
        mean, sd, _ = _contrast(reduction, g, b)
        at_least = float(math.exp(mixture_quantiles(f.fit.grid_probability, mean, sd, (0.05,))[0]))
        areas = (_area(f, b), _area(f, g)) if _area(f, b) != _area(f, g) else None
    return Change(item.configuration, item.power, item.apparent, delta_speeds_seen=speeds, ratio_at_least=at_least,
                  areas=areas, bounded=bounded)  # fmt: skip


def _speeds(reduction, item, other):
    """Change of the lowest speeds as flown [m/s]: of one kind and ending where there is one, else the lowest flying."""
    hidden = BELOW_SCALE in (item.ending, other.ending)  # of one of them the fastest alone were read
    measures = [x for x in MEASURES_OF_SPEED if not (hidden and x in STALLED)]
    out = []
    for mine in item.speeds_seen:
        theirs = next((s for s in other.speeds_seen if s.kind == mine.kind and s.ended == mine.ended), None)
        if theirs is None or mine.ended not in measures:
            continue
        out.append((mine, theirs))
    if not out and item.speeds_seen and other.speeds_seen:
        pair = (item.speeds_seen[0], other.speeds_seen[0])
        if all(s.ended in measures for s in pair):
            out.append(pair)
    return tuple(_speed_change(mine, theirs) for mine, theirs in out)


def _speed_change(mine, theirs) -> Estimate:
    parts = {
        s: theirs.speed.parts.get(s, 0.0) - mine.speed.parts.get(s, 0.0)
        for s in {**mine.speed.parts, **theirs.speed.parts}
    }
    kinds = mine.kind if mine.kind == theirs.kind else f"{mine.kind} to {theirs.kind}"
    ended = mine.ended if mine.ended == theirs.ended else f"{mine.ended} to {theirs.ended}"
    return Estimate(f"lowest speed, {kinds}, {ended}", theirs.speed.value - mine.speed.value, "m/s", parts)


def _common(reduction, contrasts) -> dict:
    """One ratio for all configurations, weighted by what they do not share: the fields of `Comparison` about it."""
    if len(contrasts) < 2:
        return {}
    p = reduction.model.fit.grid_probability
    y = np.array([float(p @ mean) for mean, *_ in contrasts])
    own = _rows([parts for _, _, parts, _ in contrasts])[1]
    # Weights as if the states had their errors apart: strong correlations of unequal sizes would make some negative.
    inverse = np.linalg.pinv(own @ own.T)
    weights = inverse.sum(axis=0) / inverse.sum()
    mean = float(weights @ y)
    chi_square = float((y - mean) @ inverse @ (y - mean))
    states = _modification_of_states(reduction)
    sources, rows = _rows([_as_one_airplane(parts, states) for _, _, parts, _ in contrasts])
    u = math.sqrt(float(weights @ (rows @ rows.T) @ weights))
    # The mixtures' tails carry over: the widest of them, in units of its own standard deviation.
    tail = max(
        np.ptp(mixture_quantiles(p, m, sd, (0.025, 0.975))) / 2.0 / root_sum(parts) for m, sd, parts, _ in contrasts
    )
    ratio = math.exp(mean)
    named = {s: ratio * float(weights @ rows[:, k]) for k, s in enumerate(sources)}
    interval = (math.exp(mean - tail * u), math.exp(mean + tail * u))
    without = {}
    for flight in contrasts[0][3]:
        left = [x[flight] for *_, x in contrasts]
        without[flight] = None if None in left else float(weights @ np.array(left))
    better = float(ndtr(K95 * mean / (tail * u)))
    return {
        "common": Estimate("CLmax ratio, all configurations", ratio, "-", named, interval),
        "agree": bool(chdtrc(len(y) - 1, chi_square) > AGREE),
        "probability_improved": better,
        "verdict": verdict_of(better, without),
        "by_chance": _one_by_chance(own),
    }


def _one_by_chance(rows) -> float:
    """How often at least one of several settings would say 'shown' though nothing changed [-], by drawing.

    Each is wrong in 5 % of tests; together in more, and in less than 1 - 0.95^n, since they share flights and airplane.
    """
    # By their covariance, since thousands of flights are thousands of sources.
    size, axes = np.linalg.eigh(rows @ rows.T)
    z = np.random.default_rng(1).standard_normal((CHANCE_DRAWS, len(size))) * np.sqrt(np.maximum(size, 0.0)) @ axes.T
    return float(np.mean(np.any(np.abs(z) > K95 * np.sqrt(np.sum(rows**2, axis=1)), axis=1)))


def _rows(tables):
    """Sources of several tables of parts, and the parts as a matrix (tables, sources)."""
    sources = list(dict.fromkeys(s for parts in tables for s in parts))
    return sources, np.array([[parts.get(s, 0.0) for s in sources] for parts in tables])


def _modification_of_states(reduction):
    """Modification of every label of the position error."""
    f = reduction.model
    label = next(e.label for e in f.reduced.effects if e.name == "position error")
    return dict(unique_rows(np.asarray(label), f.card.modification)[0])


def _as_one_airplane(parts, states):
    """Parts with the position errors of the flap settings of one modification correlated.

    For a single configuration it is the careful choice to let every state have its own; averaged over flap settings
    that would be too hopeful, since static port and device are the same.
    """
    out: dict[Source, float] = {}
    for source, part in parts.items():
        shared = None
        if source.name == "position error":
            shared = states[source.label]
        elif source.name in (OPEN, BORROWED):  # 'flap | modification | term', 'flap | who borrows | who lends'
            shared = source.label.split(" | ", 1)[1] if source.label.count(" | ") == 2 else None
        if shared is not None:
            common = Source(source.name, source.scope, shared)
            out[common] = out.get(common, 0.0) + part * math.sqrt(ALIKE)
            part *= math.sqrt(1.0 - ALIKE)
        out[source] = out.get(source, 0.0) + part
    return out


def _apart(f, most=3):
    """Notes on stalls that do not sit with their flight."""
    apart = f.stand_apart()
    for i, off in apart[:most]:
        side = "above" if off > 0 else "below"
        yield (f"{f.name_of_stall(i)}: CL {abs(off):.1f} of its own standard deviations {side} the middle of its "
               "flight; kept, since only a reason takes a stall out")  # fmt: skip
    if len(apart) > most:
        yield f"{len(apart) - most} more stalls sit as far from their flights"


def _areas(change) -> str:
    before, after = change.areas
    return (f"the wing area changed from {before:.4g} to {after:.4g} m2: a change of CLmax alone would mislead, so "
            "CLmax times area, the lift at one speed, and the stall speed are what is judged; each area has an error "
            "of its own, which only CLmax alone owes")  # fmt: skip
