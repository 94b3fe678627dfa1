"""Simulated campaigns: an airplane-pilot pair of the library, its stalls as an owner would have written them down.

Nothing of aerolib is imported: the airplane, the truth and the size of every error stand here or in data/simulated.
Every error is drawn afresh for every campaign, the shared ones included. SI unless a name says otherwise.

The truth is `clmax_hand`, the CLmax of steady flight: solved from the airplane's tables alone, without a flight. (In
flight the lift lags, and the highest lift of a flight lies above it.)
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache

import fit
import numpy as np
from stalls import HERE as DATA
from stalls import read_rows

KT = 1852 / 3600
G = 9.80665
LOG_HZ = 10.0

# Standard deviations of what is drawn. Shared by a campaign:
WING_AREA = 0.01  # relative
EMPTY_WEIGHT = 3.0  # kg
SCALE = 0.005  # relative, of the indicator
POSITION = 1.0 * KT
LAG, LAG_SD, LAG_LEAST = 0.3, 0.2, 0.02  # s: mean, standard deviation, the quickest indicator there is
BEYOND = fit.EXTRA_SD  # of n, what the flights cannot contain
# Not drawn: thrust is as it was flown. What the reduction is told: zero within this, of the weight.
IDLE_THRUST = 0.012
# Each flight:
LOADING = 3.0  # kg
DAY_MEDIAN, DAY_LOG_SD = 0.012, 0.5  # of ln CL: the scatter between days is itself drawn, lognormal
# Each stall:
FUEL = 2.0  # kg
FLICKER = 0.5 * KT  # where the needle is taken to have stood
RATE, RATE_LEAST = 0.3 * KT, 0.2 * KT  # m/s2: entry rate misjudged, and the least that anybody notes
# Which stalls: an entry faster than 3 kt/s is outside the stated range; four breaks make a card.
FASTEST, BREAKS = 3.0, 4
MEASURE = ("break", "mush")  # endings that show the wing at its CLmax


@dataclass(frozen=True)
class Shared:
    """Standard deviations of what readings and rates of one flight, or of one pilot, have in common."""

    reading: float = 0.0  # of every reading of a flight [m/s]
    rate_flight: float = 0.0  # of every rate noted on a flight [m/s2]
    rate_pilot: float = 0.0  # of every rate a pilot notes [m/s2]
    two_pilots: bool = False  # another one after a modification


def sizes_of(shared):
    """A `Shared` as fields of `ErrorSizes`; nothing where nothing is told."""
    if shared is None:
        return {}
    return {"reading_flight": shared.reading, "entry_rate_flight": shared.rate_flight,
            "entry_rate_pilot": shared.rate_pilot}  # fmt: skip


HABIT = Shared(rate_pilot=0.3 * KT)
ONE_KNOT = Shared(reading=1.0 * KT)


@dataclass(frozen=True)
class Variant:
    """One way to spend six stalls, and one world to spend them in."""

    name: str
    flights: int = 2
    step: float = 1.0  # the reading is rounded to this many knots
    day: float = 1.0  # times the scatter between days that the reduction expects
    position: float = POSITION  # standard deviation of the position error, which the reduction is told [m/s]
    shared: Shared = Shared()  # what a flight or a pilot errs alike
    expected: Shared | None = Shared()  # what the reduction is told of that; None: nothing, and it takes its own sizes


PLAIN = Variant("2 flights of 3, read to 1 kt")
VARIANTS = (
    PLAIN,
    Variant("3 flights of 2", flights=3),
    Variant("read to 2 kt", step=2.0),
    Variant("days differ half as much as expected", day=0.5),
    Variant("days differ twice as much as expected", day=2.0),
    Variant("position error within 0.5 kt", position=0.25 * KT),
    Variant("the same, days differ twice as much", day=2.0, position=0.25 * KT),
)
# Errors in common that are drawn, and what becomes of them: denied, and as the reduction does by itself.
SHARED = tuple(
    Variant(f"{name}; {how}", position=0.25 * KT, shared=shared, expected=told)
    for name, shared in (("nothing in common", Shared()), ("a pilot's rates 0.3 kt/s off", HABIT),
                         ("a flight's readings 1 kt off", ONE_KNOT))
    for how, told in (("taken as none", Shared()), ("nothing told", None))
)  # fmt: skip


@dataclass(frozen=True)
class Stall:
    """One stall of the library: its row, and the history of its airspeed."""

    row: dict
    cas: np.ndarray  # (n,) at 10 Hz [m/s]


@dataclass(frozen=True)
class Campaign:
    """What the owner wrote down (N stalls), and what only this file knows."""

    ias: np.ndarray  # [m/s]
    entry_rate: np.ndarray  # [m/s2]
    weight: np.ndarray  # [kg]
    pressure_altitude: np.ndarray  # [m]
    ended: np.ndarray
    flight: np.ndarray
    power: str
    wing_area: float  # [m2]
    reading: float  # standard deviation of one reading [m/s]
    position: float  # standard deviation of the position error [m/s]
    told: dict  # what the reduction is told that a flight or a pilot errs alike
    truth: float  # CLmax by hand [-]
    reached: float  # mean of the highest CL of the flights [-]
    oracle: float  # 95 % half-width of ln CL for who is told every shared error, and the days [-]


@cache
def pairs():
    """The airplane-pilot pairs of the library as lists of `Stall`, by name: own airplanes, no staircases."""
    import histories  # needs jsbsim

    recorded = histories.read(DATA / "histories.npz")
    return _by_pair(Stall(row, recorded[row["id"]]["cas"]) for row in read_rows() if row["source"] == "own")


def fresh_pairs(seed, count, progress=lambda items: items):
    """Pairs that took no part in the load-factor table: the same ranges, another seed, flown now.

    Parameters: seed, int, not that of the library; count, of pairs looked at; progress, wraps the iterable (tqdm).
    Returns: dict of lists of Stall.
    """
    import histories
    import population
    from card import fly_card

    assert seed != population.SEED
    plan = population.plan_own(seed)[: count * population.STALLS_PER_PAIR]
    stalls = []
    for planned in progress(plan):
        # An airplane whose stop comes first, or a staircase, would not be used below.
        if planned.task.pilot.style != "steps" and not planned.task.airplane.hand_clmax(40 * planned.task.flap)[2]:
            row, flight = fly_card(planned)
            stalls.append(Stall(row, flight.history["cas"][histories.window(flight)[0]]))
    return _by_pair(stalls)


def _by_pair(stalls):
    out = {}
    for s in stalls:
        if s.row["style"] != "steps" and fit.is_stall(s.row) and s.row["entry_rate_kt_s"] <= FASTEST:
            out.setdefault(s.row["pair"], []).append(s)
    return out


def that_break(chosen=None):
    """Pairs limited by the wing whose stalls mostly broke or mushed; the rest of their stalls stay on the card."""
    return {
        name: stalls
        for name, stalls in (pairs() if chosen is None else chosen).items()
        if stalls[0].row["hand_limit"] == "lift" and sum(s.row["ended"] in MEASURE for s in stalls) >= BREAKS
    }


def on_the_stop():
    """Pairs whose stalls mostly ended with the stick on its stop; only those stalls."""
    stops = {name: [s for s in stalls if s.row["ended"] == "stop"] for name, stalls in pairs().items()}
    return {name: stalls for name, stalls in stops.items() if len(stalls) >= BREAKS}


def lagged(cas, lag):
    """What an indicator with a first-order delay shows of a history (n,) at 10 Hz [m/s].

    Exact for a speed that is a straight line between the samples; begins as if it had always fallen as it does first.
    """
    dt = 1 / LOG_HZ
    keep = math.exp(-dt / lag)
    out = np.empty(len(cas))
    out[0] = cas[0] - lag * (cas[1] - cas[0]) / dt
    for k, (a, b) in enumerate(zip(cas, cas[1:])):
        slope = (b - a) / dt
        out[k + 1] = b - slope * lag + (out[k] - a + slope * lag) * keep
    return out


@cache
def load_factor(ended="break"):
    """The table of data/simulated for the lowest speed: rates [kt/s], n, its spread by the airplane's
    character, between pairs, within a pair.
    """
    kind = "minimum" if ended == "break" else ended
    with (DATA / "load_factor.csv").open(newline="", encoding="utf-8") as file:
        rows = [r for r in csv.DictReader(file) if r["kind"] == kind and r["entry_rate_kt_s"]]
    columns = ("entry_rate_kt_s", "load_factor", "character_sd", "between_sd", "within_sd")
    return tuple(np.array([float(r[k]) for r in rows]) for k in columns)


def draw(stalls, variant, rng, reading_of=lambda stall, shown: shown.min()):
    """Draw one campaign.

    Parameters: stalls, list of Stall of one pair; variant; rng, numpy Generator; reading_of, function of a Stall and
    of what its indicator showed (n,) to the speed that is read [m/s].
    Returns: a Campaign.
    """
    rng_days = np.random.default_rng(rng.integers(2**63))  # the same days whatever else a variant draws
    n = len(stalls)
    # One deal of the stalls over the flights, as even as it can be.
    flight = rng.permutation(np.arange(n) % variant.flights)
    area, empty, scale = rng.normal(0, [WING_AREA, EMPTY_WEIGHT, SCALE])
    position, beyond = rng.normal(0, [variant.position, BEYOND])
    lag = max(LAG_LEAST, rng.normal(LAG, LAG_SD))
    tau = variant.day * DAY_MEDIAN * math.exp(rng_days.normal(0, DAY_LOG_SD))
    day, loading = rng_days.normal(0, tau, 3), rng_days.normal(0, LOADING, 3)
    alike = variant.shared
    common = rng_days.normal(0, 1, 7)  # last of that stream: whoever shares nothing draws what he always drew
    off, judged = alike.reading * common[:3], alike.rate_flight * common[3:6] + alike.rate_pilot * common[6]
    ias, told, noted, variance = (np.empty(n) for _ in range(4))
    for k, stall in enumerate(stalls):
        row, f = stall.row, flight[k]
        nodes, factors, *_, within = load_factor(row["ended"])
        weight = row["weight_N"] / G
        told[k] = weight - empty - loading[f] - rng.normal(0, FUEL)
        # Another day has another CLmax; what the flights lack changes the load factor. Both show as speed.
        lift = row["n_minimum"] * row["weight_N"] - row["thrust_sin_alpha_N"]
        faster = math.sqrt((1 + beyond * row["weight_N"] / lift) / math.exp(day[f]))
        shown = lagged(stall.cas * faster, lag) / (1 + scale) - position
        ias[k] = (
            round((reading_of(stall, shown) + rng.normal(0, FLICKER) + off[f]) / KT / variant.step) * variant.step * KT
        )
        noted[k] = max(RATE_LEAST, row["entry_rate_kt_s"] * KT + rng.normal(0, RATE) + judged[f])
        rate = min(max(row["entry_rate_kt_s"], nodes[0]), nodes[-1])
        n_here = np.interp(rate, nodes, factors)
        slope = (np.interp(rate + 0.1, nodes, factors) - np.interp(rate - 0.1, nodes, factors)) / 0.2
        own = [2 * _reading(variant) / shown.min(), np.interp(rate, nodes, within) / n_here,
               slope * RATE / KT / n_here, FUEL / weight]  # fmt: skip
        variance[k] = math.hypot(*own) ** 2
    ended = np.array([s.row["ended"] for s in stalls])
    counted = np.isin(ended, MEASURE) if np.isin(ended, MEASURE).any() else np.ones(n, dtype=bool)
    return Campaign(
        ias=ias,
        entry_rate=noted,
        weight=told,
        pressure_altitude=np.array([s.row["height_m"] for s in stalls]),
        ended=ended,
        flight=np.array([f"flight {f + 1}" for f in flight]),
        power=stalls[0].row["power"],
        wing_area=stalls[0].row["wing_area_m2"] / (1 + area),
        reading=_reading(variant),
        position=variant.position,
        told=sizes_of(variant.expected),
        truth=stalls[0].row["clmax_hand"],
        reached=float(np.mean([s.row["clmax_forces"] for s in stalls])),
        oracle=1.96 / math.sqrt(np.sum(1 / variance[counted])),
    )


def _reading(variant):
    return math.hypot(FLICKER, variant.step * KT / math.sqrt(12))


def campaigns(chosen, variant, each, progress=lambda items: items, **how):
    """Draw `each` campaigns of every chosen pair, the same errors for every variant.

    Parameters: chosen, dict of lists of Stall; variant; each, int; progress, wraps the iterable (tqdm).
    Returns: generator of Campaign.
    """
    plan = [(i, stalls, k) for i, stalls in enumerate(chosen.values()) for k in range(each)]
    for i, stalls, k in progress(plan):
        yield draw(stalls, variant, np.random.default_rng([20261, i, k]), **how)
