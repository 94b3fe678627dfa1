"""How many stalls on how many flights show a change worth seeing, before anybody flies.

ln CL = -2 ln V + const, so a change of speed dV at V is delta = -2 ln(1 - dV / V). With s stalls on each of f flights
in each state, the mean of a flight lies about the mean of its state with the variance
v = tau**2 + l**2 + kappa**2 sigma0**2 / s (l: loading), and

    D | tau, kappa ~ N(delta, 2 v / f + 2 p**2)       p: position error and load factor of each state
    likelihood ~ v**-(f - 1) exp(-Q / (2 v))          Q: squares of the flight means about the mean of their state
               * w**-(f (s - 1)) exp(-S / (2 w))      S: squares of the stalls about their flight, w = (kappa sigma0)**2

The sources of error are those of `reduce_stalls`, by name, for a stall like those to be flown. tau and kappa have the
priors of `fit_flights`. The interval is symmetric about D and its half-width h depends on Q and S alone, so
P(change > 0) >= 0.975 is D >= h: nothing has to be fitted draw by draw.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from numbers import Integral

import numpy as np
from scipy.ndimage import map_coordinates
from scipy.special import ndtr, ndtri, softmax

from aerolib.estimate import K95
from aerolib.measured.assumptions import KNOT, ErrorSizes
from aerolib.measured.comparison.results import FEW_FLIGHTS
from aerolib.measured.plan.flown import NONE, Flown
from aerolib.measured.plan.sizes import Sizes
from aerolib.measured.stalls.mixed import KAPPA_STEPS, PRIOR_KAPPA_LOG_SD, TAU_STEPS
from aerolib.ranges import in_range

CALIBRATED = 0.3 * KNOT  # [m/s], each state, legs flown in both down to near the stall: our judgement
ENOUGH = 0.80  # the probability a programme should have: convention
DEFAULTS = ErrorSizes()
WEIGHT = 600.0  # [kg] where none is given, for what loading and fuel do: our judgement
NODES = 14  # of the squares of flights, and of stalls, that a half-width is computed for
LOADINGS = {"solo": (None, None), "two-up": (None, None)}

RECORD_FIRST = (
    "stalls in every configuration you will ask about, on two days at least",
    "the airspeed calibrated in every flap setting, down to near the stall: its old error cannot be found out later",
    "the speeds at which the warning sounds and the buffet begins, with each stall",
    "level speed at a fixed rpm, height and temperature noted",
    "a climb by the clock, and the sink rate at idle at two speeds",
    "stick force and trim position at three speeds; where stick and pedals stand at the stall",
    "photographs of the bare wing and tail; tufts filmed through a stall",
    "the airplane weighed, and the CG of every loading that is flown",
)


@dataclass(frozen=True)
class PlanCell:
    """One programme: this many stalls in each configuration on each of this many flights in each state."""

    stalls: int
    flights: int
    probability_shown: float  # that a comparison says 'a gain is shown' [-]
    half_width: float  # of the 95 % interval of the stall speed's change, mean over the draws [m/s]
    probability_wrong: float  # that it says 'a loss is shown' [-]


@dataclass(frozen=True)
class TestPlan:
    """What a test programme can be expected to show, and what to fly."""

    __test__ = False  # not a class of tests, whatever its name

    change: float  # worth seeing [m/s]
    stall_speed: float  # [m/s]
    stall_scatter: float  # [m/s]
    day_scatter: float | None  # [m/s]; None: drawn from the prior
    position_uncertainty: float  # of each state as it stands [m/s]
    calibrated_uncertainty: float  # of each state once calibrated [m/s]
    removable: bool | None
    configurations: int
    cells: tuple[PlanCell, ...]
    calibrated_cells: tuple[PlanCell, ...]
    recommended: PlanCell | None  # the fewest stalls that reach `ENOUGH`
    recommended_calibrated: PlanCell | None
    nearby: tuple[PlanCell, PlanCell, PlanCell]  # a usual programme, one more flight, one more stall on every flight
    position_needed: float | None  # of each state, for `ENOUGH` with the most that is flown [m/s]; None: it is there
    false_alarm: tuple[float, float]  # how often 'shown' is said of no change, with one flight and with the most [-]
    record_first: tuple[str, ...]  # before the first device is bonded
    loadings: Mapping[str, tuple[float | None, float | None]]  # name: weight [kg], CG [m]
    flown: Flown = NONE
    source: str = (
        "flight means, the comparison's prior of days and its rule of 'shown'; scatter between stalls as stated"
    )

    @property
    def still_to_fly(self) -> tuple[int, int]:
        """Flights in the first and in the last state that are left of the programme."""
        return self.flown.left(self.chosen.flights, self.removable)

    @property
    def able(self) -> tuple[PlanCell, ...]:
        """The cells that can still be flown, position error as it stands."""
        return tuple(c for c in self.cells if c.flights <= self.flown.possible(self.removable)[1])

    @property
    def chosen(self) -> PlanCell:
        """The programme to fly: the recommended one, else the largest that can still be flown."""
        return self.recommended or self.recommended_calibrated or (self.able or self.cells)[-1]

    @property
    def most(self) -> tuple[PlanCell, PlanCell]:
        """The largest programme of the table, position error as it stands and calibrated."""
        return _largest(self.cells), _largest(self.calibrated_cells)

    def programme(self) -> list[tuple[int, str, str, float | None, float | None]]:
        """The flights left in their order, each loading by itself: day, state, loading, weight [kg], CG [m]."""
        order = self.flown.order(self.chosen.flights, self.removable)
        return [(day, state, name, *at) for day, state in order for name, at in self.loadings.items()]


SMALL = (0.0, 50.0, "m/s")


@in_range(
    change=SMALL, stall_scatter=SMALL, day_scatter=SMALL, position_uncertainty=SMALL, calibrated_uncertainty=SMALL,
    load_factor_uncertainty=(0.0, 1.0, "-"),
)  # fmt: skip
def plan_test(
    change: float, stall_speed: float, *, stalls: Sequence[int] = (2, 3, 4, 6), flights: Sequence[int] = (1, 2, 3, 4),
    stall_scatter: float | None = None, day_scatter: float | None = None,
    position_uncertainty: float = DEFAULTS.position, calibrated_uncertainty: float = CALIBRATED,
    removable: bool | None = None, configurations: int = 1, loadings: Mapping[str, tuple] = LOADINGS,
    errors: ErrorSizes = DEFAULTS, weight: float = WEIGHT, load_factor_uncertainty: float | None = None,
    draws: int = 4000, seed: int = 1, flown: Flown = NONE,
) -> TestPlan:  # fmt: skip
    """Probability that a comparison will show a change, over stalls and flights, and what to fly.

    Parameters
    ----------
    change : float [m/s]
        Fall of the stall speed worth seeing, not the one hoped for.
    stall_speed : float [m/s]
    stall_scatter : float or None [m/s]
        Standard deviation between the stalls of one flight; None: what the sources of one stall explain.
    stalls, flights : sequence of int [-]
        Stalls in each configuration on each flight; flights in each state.
    day_scatter : float or None [m/s]
        True standard deviation between flights, loading apart; None: drawn from the prior, which is kept anyway.
    position_uncertainty, calibrated_uncertainty : float [m/s]
        Of each state, as it stands and once calibrated.
    errors : ErrorSizes [-]
        As the comparison will take them.
    weight : float [kg]
    load_factor_uncertainty : float or None [-]
        Of each state; None: of a load factor taken from the table at 1 kt/s.
    removable : bool or None [-]
        Whether the modification comes off between flights; None: not said.
    configurations, draws, seed : int [-]
    loadings : mapping name -> (weight [kg], CG [m]) [SI]
        None where still to be weighed.
    flown : Flown [-]
        What was flown already; once the modified state was, the other is over unless `removable`.

    Returns
    -------
    TestPlan [SI]

    Valid range: equal numbers in both states, one configuration's ratio, one pilot, rates about 1 kt/s.
    """
    if change >= 0.5 * stall_speed:
        raise ValueError(f"a change of {change} m/s from {stall_speed} m/s is half of it or more: is its unit right?")
    stalls, flights = (_counts(n, x) for n, x in (("stalls", stalls), ("flights", flights)))
    _counts("configurations, draws", (configurations, draws))
    sizes = Sizes.of(stall_speed, weight, errors)
    if load_factor_uncertainty is not None:
        sizes = replace(sizes, state=load_factor_uncertainty)
    model = _Model(change, stall_speed, sizes, stall_scatter, day_scatter, max(flights) + 1, draws, seed)
    stall_scatter = 0.5 * stall_speed * model.sigma
    position = position_uncertainty, calibrated_uncertainty
    tables = [tuple(model.cell(s, f, u) for s in stalls for f in flights) for u in position]
    best = [_fewest(t, *flown.possible(removable)) for t in tables]
    return TestPlan(
        change=change, stall_speed=stall_speed, stall_scatter=stall_scatter, day_scatter=day_scatter,
        position_uncertainty=position_uncertainty, calibrated_uncertainty=calibrated_uncertainty, removable=removable,
        configurations=configurations, cells=tables[0], calibrated_cells=tables[1],
        recommended=best[0], recommended_calibrated=best[1], nearby=_nearby(model, stalls, flights, min(position)),
        position_needed=_position_needed(model, tables, max(position)), false_alarm=_false_alarm(model, max(flights)),
        record_first=() if removable or flown.over(removable) else RECORD_FIRST, loadings=dict(loadings), flown=flown,
    )  # fmt: skip


class _Model:
    """The draws, the same for every cell, so that cells differ by their programme and not by luck."""

    def __init__(self, change, stall_speed, sizes: Sizes, stall_scatter, day_scatter, most, draws, seed):
        self.sizes = sizes
        rng = np.random.default_rng(seed)
        self.delta, self.speed = -2.0 * math.log1p(-change / stall_speed), stall_speed
        self.sigma = sizes.stall if stall_scatter is None else 2.0 * stall_scatter / stall_speed
        tau, kappa = np.meshgrid(TAU_STEPS[::2], KAPPA_STEPS[::2])
        self.between = (math.hypot(sizes.day, sizes.seen) * tau.ravel()) ** 2 + sizes.loading**2
        # The prior of the scatter of a stall is centred on what its sources explain; a scatter given shifts the truth.
        self.within = (max(sizes.stall, 1e-9) * kappa.ravel()) ** 2
        self.log_prior = -0.5 * (np.log(tau.ravel()) / sizes.day_log_sd) ** 2
        self.log_prior -= 0.5 * (np.log(kappa.ravel()) / PRIOR_KAPPA_LOG_SD) ** 2
        by_prior = np.hypot(sizes.day * np.exp(sizes.day_log_sd * rng.standard_normal(draws)), sizes.seen)
        true = by_prior if day_scatter is None else 2.0 * day_scatter / stall_speed
        self.day = np.hypot(true, sizes.loading) * rng.standard_normal((most, 2, draws))
        self.reading = self.sigma * rng.standard_normal((most, 2, draws))
        self.position, self.rng = np.diff(rng.standard_normal((2, draws)), axis=0)[0], rng
        self.kept: dict[tuple[int, int], tuple] = {}

    def cell(self, s: int, f: int, position: float) -> PlanCell:
        p = math.hypot(2.0 * position / self.sizes.flown, self.sizes.state)
        difference, q, lowest, highest, own = self.flights(s, f)
        d = self.delta + difference + p * self.position
        h = self.half_width(q, own, s, f, p)
        gain, loss = (d >= h) & (d + lowest > 0.0), (d <= -h) & (d + highest < 0.0)
        half = self.speed * np.mean(np.exp(-0.5 * d) * np.sinh(0.5 * h))
        return PlanCell(s, f, float(gain.mean()), float(half), float(loss.mean()))

    def flights(self, s: int, f: int):
        """After less before, squares of flights, the least and most that leaving one flight out adds, squares of
        stalls about their flights (draws,) [-]."""
        if (s, f) not in self.kept:
            means = self.day[:f] + self.reading[:f] / math.sqrt(s)
            of_state = means.mean(axis=0)
            away = of_state - means
            lowest = highest = np.zeros(())
            if 1 < f <= FEW_FLIGHTS / 2:
                change = away * np.array([[-1.0], [1.0]]) / (f - 1)
                lowest, highest = change.min(axis=(0, 1)), change.max(axis=(0, 1))
            freedom = 2 * f * (s - 1)
            own = self.sigma**2 * (self.rng.chisquare(freedom, means.shape[-1]) if freedom else np.zeros(1))
            own = np.broadcast_to(own, means.shape[-1])
            self.kept[s, f] = of_state[1] - of_state[0], np.sum(away**2, axis=(0, 1)), lowest, highest, own
        return self.kept[s, f]

    def half_width(self, q, own, s: int, f: int, p: float):
        """Half-width of the 95 % interval [-] for squares of flights q and of stalls `own`, from a grid of both."""
        axes = [np.linspace(0.0, max(math.sqrt(x.max()), 1e-9), NODES) for x in (q, own)]
        of_flights, of_stalls = (a.ravel()[:, None] for a in np.meshgrid(*axes, indexing="ij"))
        v = self.between + self.within / s
        log_p = self.log_prior - (f - 1) * np.log(v) - of_flights**2 / (2.0 * v)
        log_p = log_p - f * (s - 1) * np.log(self.within) - of_stalls**2 / (2.0 * self.within)
        weight = softmax(log_p, axis=1)
        sd = np.sqrt(2.0 * v / f + 2.0 * p**2)
        h = K95 * np.sqrt(weight @ sd**2)
        for _ in range(6):  # nearly a straight line in probits, so this closes fast
            h = h * K95 / ndtri(np.clip(np.sum(weight * ndtr(h[:, None] / sd), axis=1), 0.6, 1.0 - 1e-12))
        places = [np.sqrt(x) / a[-1] * (NODES - 1) for x, a in zip((q, own), axes)]
        return map_coordinates(h.reshape(NODES, NODES), places, order=1, mode="nearest")


def _fewest(cells, fewest_flights, most_flights):
    reach = [c for c in cells if c.probability_shown >= ENOUGH and fewest_flights <= c.flights <= most_flights]
    return min(reach, key=lambda c: (c.stalls * c.flights, -c.probability_shown), default=None)


def _nearby(model, stalls, flights, position):
    s = sorted(stalls)[min(1, len(stalls) - 1)]
    f = min(max(2, min(flights)), max(flights))
    return tuple(model.cell(*n, position) for n in ((s, f), (s, f + 1), (s + 1, f)))


def _largest(cells) -> PlanCell:
    return max(cells, key=lambda c: (c.stalls * c.flights, c.flights))


def _position_needed(model, tables, worst) -> float | None:
    """Position error [m/s] with which the largest programme just reaches `ENOUGH`; zero where none would do."""
    most = _largest(tables[0])
    if any(_largest(t).probability_shown >= ENOUGH for t in tables):
        return None

    def reaches(position):
        return model.cell(most.stalls, most.flights, position).probability_shown >= ENOUGH

    low, high = 0.0, worst
    for _ in range(8 if reaches(0.0) else 0):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if reaches(middle) else (low, middle)
    return low


def _false_alarm(model, most) -> tuple[float, float]:
    model.delta = 0.0
    few, many = (model.cell(3, f, 0.0) for f in (1, most))
    return few.probability_shown + few.probability_wrong, many.probability_shown + many.probability_wrong


def _counts(name, values) -> tuple[int, ...]:
    values = tuple(values)
    if not values or any(isinstance(v, bool) or not isinstance(v, Integral) or v < 1 for v in values):
        raise ValueError(f"{name} must be whole numbers, 1 or more; given is {', '.join(map(str, values)) or 'none'}")
    return tuple(int(v) for v in values)
