"""Simulated test programmes: one airplane before and after a modification, flown as an owner would fly it.

Every error is drawn afresh for every programme, the shared ones included, and only what shows on a card is handed on.
The generator knows nothing of aerolib: the lift equation, the truth and the sizes stand here. The load factor of the
lowest speed is the table of data/simulated, with its spread. SI unless a name says otherwise.

Below the line aerolib is set against it.

    PYTHONPATH=.:data/simulated python tests/simulated/programmes.py [--count 2000] [--unchanged] [--shared]

prints coverage and verdicts of as many programmes, with progress; Ctrl-C prints what is done so far.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import campaign
import numpy as np
from campaign import Shared

from aerolib import ErrorSizes, SpeedCorrection, Thrust, compare
from aerolib.measured.plan import plan_test
from aerolib.measured.stalls import Stalls

KT, G, RHO0 = campaign.KT, campaign.G, 1.225
AREA, MASS, REFERENCE = 13.0, 560.0, 580.0  # m2, kg, kg
CLMAX = 1.333  # before; 1-g stall speed 45 kt at the reference weight
SETTINGS = ("clean", "flap 20", "flap 40")
INCIDENCE = math.radians(15.0)
LAG_SHARE = 0.15  # of lag times rate, by which the lowest reading is late
STEP = 1.0 * KT
READING = math.hypot(campaign.FLICKER, STEP / math.sqrt(12))


@dataclass(frozen=True)
class Variant:
    """One way to fly a programme, and one world to fly it in."""

    name: str
    flights: int = 2  # in each state
    stalls: int = 4  # on each flight
    position: float = 0.3 * KT  # sd of the position error of each state, drawn apart [m/s]
    common: float = 0.0  # sd of an offset that both states share [m/s]
    told: bool = True  # False: no calibration, only the size of the position error
    loading: float = campaign.LOADING  # kg
    rate_spread: float = 0.25  # of the logarithm of the entry rate, about 1 kt/s
    rate_error: float = campaign.RATE  # of the rate noted [m/s2]
    settings: int = 1  # flap settings, each flown on every flight
    shared: Shared = Shared()  # what a flight or a pilot errs alike
    expected: Shared | None = Shared()  # what `compare` is told of that; None: nothing, and it takes its own sizes


CALIBRATED = tuple(Variant(f"{f} flight{'s' if f > 1 else ''} a state, calibrated", f) for f in (1, 2, 3, 4))
MOVED = Variant("2 flights, position error 1 kt in each state", position=1.0 * KT)
COMMON = Variant("2 flights, 2 kt in common, 0.2 kt apart", position=0.2 * KT, common=2.0 * KT)
UNCALIBRATED = Variant("2 flights, uncalibrated", position=1.5 * KT, told=False)
# As the plan of a test supposes: entries alike, weighed each time.
EVEN = tuple(Variant(f"{f} flights, entries alike", f, loading=0.0, rate_spread=0.0, rate_error=0.0) for f in (2, 4))
# Errors in common that are drawn, and what becomes of them: denied, and as `compare` does by itself.
SHARED = tuple(
    Variant(f"{f} flights, {name}; {how}", f, shared=shared, expected=told)
    for f in (2, 3)
    for name, shared in (("nothing in common", Shared()), ("readings of a flight 1 kt off", campaign.ONE_KNOT),
                         ("two pilots, rates 0.5 kt/s off", Shared(rate_pilot=0.5 * KT, two_pilots=True)))
    for how, told in (("taken as none", Shared()), ("nothing told", None))
)  # fmt: skip
# By eye: rates and readings misjudged by stall, by flight and by pilot, and rates that differ.
ALIKE = Shared(0.7 * KT, 0.15 * KT, 0.3 * KT)
BY_EYE = tuple(Variant(f"{f} flights, rates judged by eye", f, shared=ALIKE, expected=ALIKE) for f in (2, 4))
THREE = Variant("2 flights, three flap settings", settings=3, stalls=3)
VARIANTS = (*CALIBRATED, MOVED, COMMON, UNCALIBRATED)


@dataclass(frozen=True)
class Programme:
    """What the owner wrote down (N stalls), and what only this file knows."""

    variant: Variant
    modification: np.ndarray
    configuration: np.ndarray
    flight: np.ndarray
    pilot: np.ndarray
    ias: np.ndarray  # [m/s]
    weight: np.ndarray  # [kg]
    entry_rate: np.ndarray  # [m/s2]
    wing_area: float  # as measured [m2]
    ratio: float  # CLmax after over before [-]
    speed_change: float  # of the 1-g stall speed at the reference weight [m/s]


def stall_speed(clmax):
    """1-g stall speed [m/s] at the reference weight, of the airplane as it is, for a CLmax [-]."""
    return math.sqrt(2 * REFERENCE * G / (RHO0 * AREA * clmax))


def draw(variant, ratio, rng):
    """Draw one programme.

    Parameters: variant; ratio, true CLmax after over before [-]; rng, numpy Generator.
    Returns: a Programme.
    """
    f, s = variant.flights, variant.stalls * variant.settings
    n = 2 * f * s
    flight = np.repeat(np.arange(2 * f), s)
    setting = np.arange(n) % variant.settings
    after = flight >= f
    state = (after.astype(int), setting)
    area, empty, scale, beyond, thrust, common, docile = rng.normal(0, 1, 7)
    between = rng.normal(0, 1, (2, variant.settings))[state]  # another state is as another airplane to the table
    position = variant.common * common + variant.position * rng.normal(0, 1, (2, variant.settings))[state]
    lag = max(campaign.LAG_LEAST, rng.normal(campaign.LAG, campaign.LAG_SD))
    tau = campaign.DAY_MEDIAN * math.exp(rng.normal(0, campaign.DAY_LOG_SD))
    day, loading = rng.normal(0, tau, 2 * f), rng.normal(0, variant.loading, 2 * f)

    nodes, factors, character_sd, between_sd, within_sd = campaign.load_factor()
    rate = np.clip(np.exp(rng.normal(0, variant.rate_spread, n)), 0.4, 2.5)  # kt/s
    factor = np.interp(rate, nodes, factors) + between * np.interp(rate, nodes, between_sd)
    factor += docile * np.interp(rate, nodes, character_sd)  # an airplane stalls as it stalls in both states
    factor += campaign.BEYOND * beyond + rng.normal(0, 1, n) * np.interp(rate, nodes, within_sd)
    told = MASS + 10.0 * rng.normal(0, 1, 2 * f)[flight] - 3.0 * (np.arange(n) % s)
    weight = told + campaign.EMPTY_WEIGHT * empty + loading[flight] + rng.normal(0, campaign.FUEL, n)
    push = campaign.IDLE_THRUST * MASS * G * thrust * math.sin(INCIDENCE)
    clmax = CLMAX * (1 + 0.2 * setting) * np.where(after, ratio, 1.0) * np.exp(day[flight])
    cas = np.sqrt(2 * (factor * weight * G - push) / (RHO0 * AREA * clmax))
    shown = (cas - position) / (1 + campaign.SCALE * scale) + LAG_SHARE * lag * rate * KT
    flicker, misjudged = rng.normal(0, campaign.FLICKER, n), rng.normal(0, variant.rate_error, n)
    # Last, so that a variant without these draws what it always drew.
    alike, pilot = variant.shared, np.where(after & variant.shared.two_pilots, "B", "A")
    flicker = flicker + rng.normal(0, alike.reading, 2 * f)[flight]
    misjudged = misjudged + rng.normal(0, alike.rate_flight, 2 * f)[flight]
    misjudged = misjudged + rng.normal(0, alike.rate_pilot, 2)[(pilot == "B").astype(int)]
    return Programme(
        variant=variant, modification=np.where(after, "after", "before"),
        configuration=np.array(SETTINGS)[setting], flight=np.array([f"{k % f + 1}" for k in flight]), pilot=pilot,
        ias=np.round((shown + flicker) / STEP) * STEP, weight=told,
        entry_rate=np.maximum(campaign.RATE_LEAST, rate * KT + misjudged),
        wing_area=AREA / (1 + campaign.WING_AREA * area), ratio=ratio,
        speed_change=stall_speed(CLMAX * ratio) - stall_speed(CLMAX),
    )  # fmt: skip


def programmes(variant, count, ratio_of, seed=1, progress=lambda items: items):
    """Draw many programmes.

    Parameters: variant; count, int; ratio_of, function of a Generator to the true ratio [-]; seed, int; progress, wraps
    the iterable (tqdm).
    Returns: generator of Programme.
    """
    for k in progress(range(count)):
        rng = np.random.default_rng([20267, seed, k])
        yield draw(variant, ratio_of(rng), rng)


def no_change(rng):
    """The modification did nothing."""
    return 1.0


def one_knot(rng):
    """The 1-g stall speed falls by 1 kt."""
    return (1 - KT / stall_speed(CLMAX)) ** -2


def two_knots(rng):
    """It falls by 2 kt."""
    return (1 - 2 * KT / stall_speed(CLMAX)) ** -2


def some_change(rng):
    """A loss of a tenth to a gain of a quarter."""
    return math.exp(rng.uniform(-0.1, 0.22))


def stall_scatter(variant):
    """Standard deviation of one stall about its flight, as speed near 45 kt [m/s]: reading, n, fuel, rate."""
    nodes, factors, *_, within = campaign.load_factor()
    n = np.interp(1.0, nodes, factors)
    slope = (np.interp(1.1, nodes, factors) - np.interp(0.9, nodes, factors)) / 0.2
    v = stall_speed(CLMAX) * math.sqrt(n * MASS / REFERENCE)
    own = [np.interp(1.0, nodes, within) / n, campaign.FUEL / MASS, slope * variant.rate_error / KT / n]
    return math.hypot(READING, *(0.5 * v * x for x in own))


# --- aerolib ---------------------------------------------------------------------------------------

SIZES = ErrorSizes(
    wing_area=campaign.WING_AREA, empty_weight=campaign.EMPTY_WEIGHT, loading=campaign.LOADING, fuel=campaign.FUEL,
    indicator_scale=campaign.SCALE, reading=READING, entry_rate=campaign.RATE, lag=campaign.LAG,
    lag_uncertainty=campaign.LAG_SD, idle_thrust=campaign.IDLE_THRUST, day=campaign.DAY_MEDIAN,
    day_log_sd=campaign.DAY_LOG_SD,
)  # fmt: skip


def sizes(v):
    """The sizes that the errors of a Variant were drawn with, as far as they are told."""
    return dataclasses.replace(SIZES, loading=v.loading, entry_rate=v.rate_error, position=v.position,
                               **campaign.sizes_of(v.expected))  # fmt: skip


def arguments(p):
    """A Programme as the arguments of `reduce_stalls`, told the sizes its errors were drawn with."""
    v = p.variant
    correction = SpeedCorrection(standard_uncertainty=v.position, origin="legs flown, simulated")
    return {
        "ias": p.ias, "wing_area": p.wing_area, "weight": p.weight, "reference_weight": REFERENCE,
        "modification": p.modification, "configuration": p.configuration, "flight": p.flight, "pilot": p.pilot,
        "entry_rate": p.entry_rate, "pressure_altitude": 0.0,
        "errors": sizes(v),
        "thrust": {"idle": Thrust()},
        "position": {(m, c): correction for m in ("before", "after") for c in SETTINGS} if v.told else {},
        "instrument": SpeedCorrection(standard_uncertainty=v.common, origin="one point, simulated"),
    }  # fmt: skip


@dataclass(frozen=True)
class Score:
    """Over the programmes (n,): error of ln ratio, its interval's half-width, what was held, what was said."""

    errors: np.ndarray
    halves: np.ndarray
    held: np.ndarray  # the ratio
    held_speed: np.ndarray  # the change of the 1-g stall speed
    shown: np.ndarray  # 'a gain is shown' or 'a loss is shown'
    gains: np.ndarray  # of these a gain
    truths: np.ndarray  # true ln ratio

    def __str__(self) -> str:
        return (
            f"{len(self.held)}, mean error {self.errors.mean():+.2%}, held {self.held.mean():.1%}, "
            f"speed {self.held_speed.mean():.1%}, median half-width {np.median(self.halves):.1%}, "
            f"shown {self.shown.mean():.1%}"
        )


def join(scores):
    """Several scores as one."""
    names = [f.name for f in dataclasses.fields(Score)]
    return Score(*(np.concatenate([getattr(s, name) for s in scores]) for name in names))


def score(chosen, progress=None):
    """Compare before and after in every programme.

    Parameters: chosen, iterable of Programme; progress, function of how many are done: a KeyboardInterrupt, also one
    it raises, ends the work, and what is done by then is scored.
    Returns: a Score.
    """
    rows = []
    try:
        for p in chosen:
            rows.append(_row(p))
            if progress is not None:
                progress(len(rows))
    except KeyboardInterrupt:
        if not rows:
            raise
    return Score(*(np.array(column) for column in zip(*rows)))


def _row(p):
    """One programme's line of a Score."""
    change = compare(Stalls(**arguments(p)))["clean"]
    (low, high), (slow, fast) = change.ratio.interval95, change.delta_stall_speed_1g.interval95
    shown = change.verdict.words == "shown"
    return (math.log(change.ratio.value / p.ratio), math.log(high / low) / 2, low <= p.ratio <= high,
            slow <= p.speed_change <= fast, shown, shown and change.verdict.direction == "gain",
            math.log(p.ratio))  # fmt: skip


def settings_by_chance(count, variant=THREE, seed=1):
    """Nothing changed, several settings: how often one or more say 'shown', how often the common answer does, and what
    is printed of the first."""
    found = [compare(Stalls(**arguments(p))) for p in programmes(variant, count, no_change, seed)]
    one = [any(c.verdict.words == "shown" for c in f.changes) for f in found]
    return np.mean(one), np.mean([f.verdict.words == "shown" for f in found]), np.mean([f.by_chance for f in found])


def promised(variant, change=KT):
    """What the plan of a test foretells for a change [m/s] in a variant: a PlanCell."""
    plan = plan_test(
        change, stall_speed(CLMAX), stalls=(variant.stalls,), flights=(variant.flights,), errors=sizes(variant),
        weight=MASS, position_uncertainty=variant.position,
    )  # fmt: skip
    return plan.cells[0]


def main(count, unchanged, variants=VARIANTS):
    """As many programmes, shared evenly among the variants, changed and unchanged; printed."""
    import time

    from tqdm import tqdm

    kinds = [(1, no_change)] if unchanged else [(1, no_change), (2, some_change)]
    each, scores, start = -(-count // (len(variants) * len(kinds))), {}, time.perf_counter()
    with tqdm(total=each * len(variants) * len(kinds), unit=" programmes", disable=None) as bar:
        for v in variants:
            scores[v] = [score(programmes(v, each, of, seed), lambda done: bar.update(1)) for seed, of in kinds]
            if len(scores[v][-1].held) < each:
                break
    seconds = time.perf_counter() - start
    for v, found in scores.items():
        for (_, of), s in zip(kinds, found):
            print(f"{v.name}, {of.__name__}: {s}")
    everything = join([s for found in scores.values() for s in found])
    same = join([found[0] for found in scores.values()])
    n, k = len(same.shown), int(same.shown.sum())
    print(f"all: {everything}")
    print(f"nothing changed: shown in {k} of {n}, {k / n:.2%} +- {math.sqrt(k * (n - k) / n) / n:.2%} (1 sigma); "
          f"gains {int(same.gains.sum())}")  # fmt: skip
    print(f"{len(everything.held)} programmes in {seconds:.1f} s, {1000 * seconds / len(everything.held):.1f} ms each")


if __name__ == "__main__":
    import argparse

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--unchanged", action="store_true", help="only programmes where nothing changed")
    parser.add_argument("--shared", action="store_true", help="those where a flight or a pilot errs alike")
    given = parser.parse_args()
    main(given.count, given.unchanged, SHARED if given.shared else VARIANTS)
