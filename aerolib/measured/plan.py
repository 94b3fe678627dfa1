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

import html
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from numbers import Integral

import numpy as np
from scipy.ndimage import map_coordinates
from scipy.special import ndtr, ndtri, softmax

from aerolib.estimate import K95
from aerolib.measured.assumptions import KNOT, ErrorSizes
from aerolib.measured.changes import FEW_FLIGHTS
from aerolib.measured.flown import NONE, Flown
from aerolib.measured.plan_sizes import Sizes
from aerolib.measured.stalls.mixed import KAPPA_STEPS, PRIOR_KAPPA_LOG_SD, TAU_STEPS
from aerolib.measured.stalls.results import cautions_html
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

    def as_dict(self) -> dict:
        """The cell for the JSON."""
        return {"stalls": self.stalls, "flights": self.flights, "probability_shown": _number(self.probability_shown),
                "interval_half_width_kt": _number(self.half_width / KNOT)}  # fmt: skip

    def words(self) -> str:
        """'83 % (± 0.7 kt)'."""
        return f"{100 * self.probability_shown:.0f} % (± {self.half_width / KNOT:.2g} kt)"


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
    advice: tuple[str, ...]
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

    def headline(self) -> str:
        """What to fly, in a few sentences; what was flown already first."""
        counted = self.flown.words(self.chosen.flights, self.removable)
        return " ".join(x for x in (counted, self._recommends()) if x)

    def _recommends(self) -> str:
        worth = f"a change of {self.change / KNOT:.3g} kt at {self.stall_speed / KNOT:.3g} kt"
        now, then = self.recommended, self.recommended_calibrated
        if now is not None:
            return f"To see {worth}: {self._programme(now)}."
        if not self.able:
            return ""
        best = max(c.probability_shown for c in self.able)
        text = f"No programme of this table shows {worth} four times in five; the best does in {100 * best:.0f} %."
        return text + (f" With the airspeed calibrated in both states: {self._programme(then)}." if then else "")

    def _programme(self, c: PlanCell) -> str:
        each = "" if self.configurations == 1 else f" in each of {self.configurations} configurations"
        total = 2 * self.configurations * c.stalls * c.flights
        return (
            f"{c.stalls} stalls{each} on each of {c.flights} flights in each state ({total} stalls in all) "
            f"show it {100 * c.probability_shown:.0f} % of the time, with an interval of ± {c.half_width / KNOT:.2g} kt"
        )

    def _tables(self) -> list[tuple[str, bool]]:
        """Title of each table and whether it is the one with a calibration; one only where that is what stands."""
        errors = self.position_uncertainty, self.calibrated_uncertainty
        now, then = (f"± {K95 * u / KNOT:.2g} kt in each state" for u in errors)
        two = [(f"as it stands, {now}", False), (f"calibrated in both states, {then}", True)]
        return two if errors[0] > errors[1] else [(f"calibrated, {now}", False)]

    def table(self, calibrated: bool = False) -> list[dict[str, str]]:
        """Rows of text: stalls down, flights across."""
        chosen = self.calibrated_cells if calibrated else self.cells
        best = self.recommended_calibrated if calibrated else self.recommended
        rows = {}
        for c in chosen:
            row = rows.setdefault(c.stalls, {"stalls per configuration and flight": str(c.stalls)})
            plural, mark = "s" if c.flights > 1 else "", " - the fewest stalls" if c == best else ""
            row[f"{c.flights} flight{plural} in each state"] = c.words() + mark
        return list(rows.values())

    def programme(self) -> list[dict[str, str]]:
        """Rows of text: the flights in order, each loading a row of its own."""
        c = self.chosen
        return [
            {
                "day": str(day), "state": state, "loading": name,
                "weight [kg]": "weigh" if weight is None else f"{weight:.0f}",
                "CG [m]": "measure" if cg is None else f"{cg:.3f}",
                "stalls": f"{c.stalls} in each configuration" if self.configurations > 1 else str(c.stalls),
            }
            for day, state in self.flown.order(c.flights, self.removable)
            for name, (weight, cg) in self.loadings.items()
        ]  # fmt: skip

    def as_dict(self) -> dict:
        """The JSON key `test_plan`: the recommended programme, null where none reaches four in five, and all cells."""
        best = self.recommended.as_dict() if self.recommended else dict.fromkeys(self.cells[0].as_dict())
        return {
            "change_kt": _number(self.change / KNOT), "stall_speed_kt": _number(self.stall_speed / KNOT), **best,
            "flown": [self.flown.before, self.flown.after], "still_to_fly": list(self.still_to_fly),
            "cells": [c.as_dict() for c in self.cells],
            "calibrated_cells": [c.as_dict() for c in self.calibrated_cells],
        }  # fmt: skip

    def __str__(self) -> str:
        parts = [self.headline()]
        for title, calibrated in self._tables():
            parts.append(f"shown how often (95 % interval), airspeed {title}:")
            parts += ["  " + "; ".join(f"{k} {v}" for k, v in row.items()) for row in self.table(calibrated)]
        return "\n".join([*parts, *self.advice, *(f"record first: {x}" for x in self.record_first)])

    def _repr_html_(self) -> str:
        words = "<h4>Shown how often, with the 95 % interval: airspeed"
        tables = "".join(f"{words} {title}</h4>{_table(self.table(k))}" for title, k in self._tables())
        advice, first = ("".join(f"<li>{html.escape(x)}</li>" for x in y) for y in (self.advice, self.record_first))
        bonded = f"<h4>Recorded before the first device is bonded</h4><ul>{first}</ul>" if first else ""
        return (
            f"<p><b class='plan-headline'>{html.escape(self.headline())}</b></p>"
            f"{tables}<ul>{advice}</ul>{bonded}"
            "<h4>The flights still to be flown</h4><p>Each loading is flown alike in both states and is a comparison "
            f"of its own: weight is allowed for, the CG is not.</p>{_table(self.programme())}"
            f"<p>Method: {html.escape(self.source)}.</p>{cautions_html()}"
        )


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
    over = flown.over(removable)
    which = _flight_or_stall(model, stalls, flights, *position, configurations)
    order = () if over else (_order(removable),)
    advice = (which, _calibration(model, *position, *tables), *order, *_false_alarm(model, tables[1]))
    return TestPlan(change, stall_speed, stall_scatter, day_scatter, position_uncertainty, calibrated_uncertainty,
                    removable, configurations, *tables, *best, advice, () if removable or over else RECORD_FIRST,
                    dict(loadings), flown)  # fmt: skip


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
        self.position, self.kept, self.rng = np.diff(rng.standard_normal((2, draws)), axis=0)[0], {}, rng

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


def _flight_or_stall(model, stalls, flights, position, calibrated, configurations) -> str:
    s = sorted(stalls)[min(1, len(stalls) - 1)]
    f = min(max(2, min(flights)), max(flights))
    words = "" if position <= calibrated else ", once the airspeed is calibrated"
    now, flight, stall = (model.cell(*n, min(position, calibrated)).words() for n in ((s, f), (s, f + 1), (s + 1, f)))
    return (
        f"Another flight or another stall? With {s} stalls on each of {f} flights in each state{words}: {now}. One "
        f"more flight in each state ({2 * configurations * s} stalls): {flight}; one more stall on every flight "
        f"({2 * configurations * f} stalls): {stall}."
    )


def _calibration(model, position, calibrated, cells, calibrated_cells) -> str:
    now, then = (max(c, key=lambda x: (x.stalls * x.flights, x.flights)) for c in (cells, calibrated_cells))
    most = f"{now.stalls} stalls on {now.flights} flights in each state"
    errors = [f"± {K95 * math.sqrt(2.0) * u / KNOT:.2g} kt" for u in (position, calibrated)]
    text = f"The airspeed counts as calibrated in both states: {errors[0]} (95 %) on the change, however much is flown."
    if position > calibrated:
        text = (
            "Calibrate the airspeed in both states: a device that raises the incidence at the stall may change the "
            f"position error too. As it stands that alone is {errors[0]} on the change, however much is flown; "
            f"calibrated, {errors[1]}. With {most}: {now.words()} as it stands, {then.words()} then."
        )
    if max(now.probability_shown, then.probability_shown) >= ENOUGH:
        return text
    if model.cell(now.stalls, now.flights, 0.0).probability_shown < ENOUGH:
        return f"{text} Even with no position error {most} would not reach four times in five: fly more days."
    low, high = 0.0, max(position, calibrated)
    for _ in range(8):
        middle = 0.5 * (low + high)
        enough = model.cell(now.stalls, now.flights, middle).probability_shown >= ENOUGH
        low, high = (middle, high) if enough else (low, middle)
    return f"{text} For four times in five with {most} it must be known within ± {K95 * low / KNOT:.2g} kt in each."


def _false_alarm(model, cells):
    """A word where the days differ so much more than the prior expects that 'shown' means less than it says."""
    model.delta, most = 0.0, max(c.flights for c in cells)
    few, many = (c.probability_shown + c.probability_wrong for c in (model.cell(3, f, 0.0) for f in (1, most)))
    text = (
        f"These days differ more than the comparison expects: with no change at all it would say 'shown' in "
        f"{100 * few:.0f} % of programmes of one flight in each state, in {100 * many:.0f} % of {most}. Fly more days."
    )
    return (text,) if max(few, many) > 0.07 else ()


def _order(removable) -> str:
    alternate = (
        "fly both states on one day, alternately, and begin the next day with the other one. What the day does is then "
        "in both, and a drift shows; the numbers above claim no credit for that."
    )
    bonded = (
        "'before' can never be repeated: it is flown on two days at least, everything in the list recorded and looked "
        "through, before the first device goes on. There is no going back for a forgotten number."
    )
    if removable is None:
        return f"Not said whether it comes off between flights. If it does: {alternate} If it is bonded: {bonded}"
    return f"It comes off: {alternate}" if removable else f"Bonded: {bonded}"


def _counts(name, values) -> tuple[int, ...]:
    values = tuple(values)
    if not values or any(isinstance(v, bool) or not isinstance(v, Integral) or v < 1 for v in values):
        raise ValueError(f"{name} must be whole numbers, 1 or more; given is {', '.join(map(str, values)) or 'none'}")
    return tuple(int(v) for v in values)


def _table(rows) -> str:
    if not rows:
        return "<p>None: the programme is flown.</p>"
    cells = [[f"<th>{html.escape(k)}</th>" for k in rows[0]]]
    cells += [[f"<td>{html.escape(v)}</td>" for v in r.values()] for r in rows]
    return "<table>" + "".join(f"<tr>{''.join(row)}</tr>" for row in cells) + "</table>"


def _number(value) -> float | None:
    return float(f"{value:.6g}") if math.isfinite(value) else None
