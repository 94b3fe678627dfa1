"""Everything else worth comparing before and after: recorded and compared, not modelled.

    y_i = mu_state(i) + b_flight(i) + e_i

for the readings of one quantity in one configuration and power, with the flights as blocks: the model of `mixed.py`,
on the values as read. Weight, air and technique are not taken out; where they differ, a note says so.
"""

from __future__ import annotations

import html
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from aerolib.atmosphere import density, standard_temperature
from aerolib.estimate import Estimate, Source, digits
from aerolib.measured.changes import SHOWN
from aerolib.measured.labels import unique_rows
from aerolib.measured.mixed import fit_flights, mixture_quantiles
from aerolib.measured.results import cautions_html
from aerolib.units import from_si, to_si

NOT_NOTED = "not noted"
DAY_LOG_SD = 0.7  # the day scatter is right within a factor 2 (1 sigma): our judgement
WEIGHT_DIFFERS, DENSITY_DIFFERS = 0.05, 0.03  # of the mean [-], between the states before a note says so: our judgement
_KAPPA_STEPS = np.geomspace(0.6, 8.0, 121)  # finer than for the stalls: one quantity may have many readings


@dataclass(frozen=True)
class Reading:
    """How one quantity is read in one kind of unit; every size is our judgement, with no source.

    The day scatter's prior has its median at `day` times the mean value, and not below `day_least`.
    """

    kind: str  # of unit, a key of `aerolib.units.SPELLINGS`
    better: int  # +1 higher is better, -1 lower is better, 0 neither
    unit: str  # the usual one
    uncertainty: float  # standard, of one reading, in `unit`
    day: float  # of the value [-]
    day_least: float  # in `unit`
    lowest: float  # what can be, in `unit`
    highest: float


_HIGHER, _LOWER, _NEITHER = ((Reading("speed", b, "kt", 1.0, 0.02, 0.2, 5.0, 400.0),) for b in (+1, -1, 0))
QUANTITIES: dict[str, tuple[Reading, ...]] = {
    "speed at fixed rpm": _HIGHER,
    "timed climb": (
        Reading("speed", +1, "ft/min", 30.0, 0.08, 10.0, 1.0, 10000.0),
        Reading("time", -1, "s", 3.0, 0.08, 1.0, 1.0, 7200.0),  # one height gain in both states
    ),
    "lowest level speed": _LOWER,
    "sink rate at idle": (Reading("speed", -1, "ft/min", 40.0, 0.06, 10.0, 1.0, 6000.0),),
    "power-on stall speed": _LOWER,
    "warning speed": _NEITHER,
    "buffet speed": _NEITHER,
    "height lost": (Reading("length", -1, "ft", 30.0, 0.15, 10.0, 0.0, 5000.0),),
    "wing drop": (Reading("angle", -1, "deg", 5.0, 0.25, 3.0, 0.0, 180.0),),
    "roll time": (Reading("time", -1, "s", 0.2, 0.05, 0.05, 0.1, 60.0),),
    "stick force": (Reading("force", 0, "N", 3.0, 0.10, 1.0, -1000.0, 1000.0),),
    "elevator position": (
        Reading("angle", 0, "deg", 1.0, 0.05, 0.5, -60.0, 60.0),
        Reading("length", 0, "mm", 5.0, 0.05, 3.0, -1000.0, 1000.0),
    ),
    "trim position": (
        Reading("ratio", 0, "%", 3.0, 0.05, 2.0, -1000.0, 1000.0),
        Reading("angle", 0, "deg", 0.5, 0.05, 0.3, -60.0, 60.0),
        Reading("length", 0, "mm", 3.0, 0.05, 2.0, -1000.0, 1000.0),
    ),
    "take-off roll": (Reading("length", -1, "m", 15.0, 0.12, 5.0, 1.0, 5000.0),),
    "landing roll": (Reading("length", -1, "m", 15.0, 0.15, 5.0, 1.0, 5000.0),),
}
BY_NEEDLE = ("speed at fixed rpm", "lowest level speed", "power-on stall speed", "warning speed", "buffet speed")
NEEDS_POWER = ("speed at fixed rpm", "timed climb", "lowest level speed", "power-on stall speed")
ALWAYS = {
    "wing drop": "to which side stands in the remarks and is not compared",
    **dict.fromkeys(("take-off roll", "landing roll"), "wind, slope and surface are not taken out; see the remarks"),
    "roll time": "from 30 degrees of bank to 30 the other way, at 1.3 times the stall speed of that state",
}


@dataclass(frozen=True)
class CheckResult:
    """One quantity in one configuration and power, in both states; everything in `unit`."""

    quantity: str
    configuration: str
    power: str
    unit: str
    better: int  # +1 higher is better, -1 lower is better, 0 neither
    before: Estimate | None
    after: Estimate | None
    difference: Estimate | None  # after less before; None where one state has no reading
    probability_higher: float | None
    no_worse_than: float | None  # the owner's
    verdict: str  # see `_verdict`; 'not compared' where one state has no reading
    assumed: Mapping[str, float]  # standard uncertainty of a reading, median of the prior of the day scatter
    scatter: Mapping[str, float]  # between days; between readings over what was stated (root mean square)
    readings: tuple[int, int]
    flights: tuple[int, int]
    notes: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """'roll time, flap 20, idle'."""
        return f"{self.quantity}, {self.configuration}, {self.power}"

    @property
    def probability_better(self) -> float | None:
        """That it changed for the better; None where neither direction is."""
        p = self.probability_higher
        return None if p is None or not self.better else (p if self.better > 0 else 1.0 - p)

    def headline(self) -> str:
        """The result in one line."""
        e = self.difference
        if e is None:
            return f"{self.name}: {(self.before or self.after).text()} in one state only; {self.verdict}"
        d = digits(e.standard_uncertainty)
        low, high = e.interval95
        return (f"{self.name}: {self.before.value:.{d}f} to {self.after.value:.{d}f} {self.unit}, "
                f"{round(e.value, d) + 0.0:+.{d}f} "
                f"(95 %: {low:+.{d}f} to {high:+.{d}f}) {self.unit}; {self.verdict}")  # fmt: skip

    def __str__(self) -> str:
        return "\n  ".join([self.headline(), *self.notes])

    def _repr_html_(self) -> str:
        return "<ul>" + "".join(f"<li>{html.escape(x)}</li>" for x in (self.headline(), *self.notes)) + "</ul>"

    def as_dict(self) -> dict:
        """One item of the JSON list `checks`, in the item's `unit`; unknown is None."""
        before, after, e = (x and float(f"{x.value:.6g}") for x in (self.before, self.after, self.difference))
        ends = self.difference and [float(f"{x:.6g}") for x in self.difference.interval95]
        better = self.probability_better
        return {
            "quantity": self.quantity, "configuration": self.configuration, "power": self.power, "before": before,
            "after": after, "unit": self.unit, "difference": e, "interval95": ends,
            "probability_better": None if better is None else float(f"{better:.6g}"), "verdict": self.verdict,
            "notes": list(self.notes),
        }  # fmt: skip


@dataclass(frozen=True)
class ChecksComparison:
    """Every quantity before against after."""

    before: str
    after: str
    items: tuple[CheckResult, ...]
    notes: tuple[str, ...] = ()

    def __getitem__(self, key: tuple[str, str, str]) -> CheckResult:
        """The item of (quantity, configuration, power)."""
        return {(i.quantity, i.configuration, i.power): i for i in self.items}[key]

    def as_list(self) -> list[dict]:
        """The JSON list `checks`."""
        return [item.as_dict() for item in self.items]

    def __str__(self) -> str:
        return "\n".join([f"{self.before} to {self.after}", *map(str, self.items), *self.notes])

    def _repr_html_(self) -> str:
        body = "".join(item._repr_html_() for item in self.items) + "".join(
            f"<p>{html.escape(n)}</p>" for n in self.notes
        )
        return f"<h4>{html.escape(f'{self.before} to {self.after}')}</h4>{body}{cautions_html()}"


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
    powers = {}
    for key, m in zip((keys[g] for g in group), rows["modification"].tolist()):
        powers.setdefault((m, *key[:2]), {})[key[2]] = None
    items = []
    for g, key in enumerate(keys):
        order = np.flatnonzero(group == g)
        order = order[np.lexsort((rows["value"][order], rows["flight"][order]))]  # a file's order changes no digit
        mine = {k: v[order] for k, v in rows.items()}
        items.append(_compare_one(key, mine, day_scatter or {}, before, after, powers))
    return ChecksComparison(before, after, tuple(items), _notes(items))


def _reading(name, kinds, where) -> Reading:
    if name not in QUANTITIES:
        raise ValueError(f"'{name}' is not a known quantity; there are {', '.join(QUANTITIES)}")
    known = QUANTITIES[name]
    given = {k or known[0].kind for k in kinds.tolist()}
    found = [r for r in known if r.kind in given]
    if len(given) > 1 or not found:
        needed = " or ".join(r.kind for r in known)
        raise ValueError(f"{where}: read as {' and as '.join(sorted(given))}; needed is one kind of unit: {needed}")
    return found[0]


def _compare_one(key, rows, day_scatter, before, after, powers) -> CheckResult:
    """One quantity in one configuration and power."""
    name, where = key[0], ", ".join(key)
    reading = _reading(name, rows["kind"], where)
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
        ends = tuple(float(x) for x in mixture_quantiles(p, centre, sd, (0.025, 0.975)))
        return Estimate(f"{name}, {label}", float(p @ centre), "SI", parts, ends).scaled(factor, shown), centre, sd

    means = {m: estimate(m, *(float(m == other) for other in states))[0] for m in states}
    difference, higher, verdict = None, None, "not compared"
    if len(states) == 2:
        difference, centre, sd = estimate("difference", -1.0, 1.0)
        higher = float(p @ ndtr(centre / sd))
        within = False
        if limit is not None:
            up, down = (float(p @ ndtr((sign * centre - limit) / sd)) for sign in (1.0, -1.0))
            within = {1: down, -1: up, 0: max(up, down)}[reading.better] <= 1.0 - SHOWN
        verdict = _verdict(reading.better, higher, f"{factor * (limit or 0.0):.3g} {shown}" if within else None)
    return CheckResult(
        *key, shown, reading.better, means.get(before), means.get(after), difference, higher,
        None if limit is None else factor * limit, verdict,
        {"reading": factor * float(np.mean(u)), "day": factor * day}, {"day": factor * fit.tau, "ratio": fit.kappa},
        tuple(int(np.sum(rows["modification"] == m)) for m in (before, after)),
        tuple(sum(f[0] == m for f in flights) for m in (before, after)),
        _item_notes(key, rows, {m: rows["modification"] == m for m in (before, after)}, powers),
    )  # fmt: skip


def _verdict(better, higher, within) -> str:
    """better, worse, no worse than X, not shown; higher, lower, changed by no more than X where neither is better."""
    if better:
        probability, words, bound = higher if better > 0 else 1.0 - higher, ("better", "worse"), "no worse than"
        within = within and f"{within} {'less' if better > 0 else 'more'}"
    else:
        probability, words, bound = higher, ("higher", "lower"), "changed by no more than"
    shown = words[0] if probability >= SHOWN else words[1] if probability <= 1.0 - SHOWN else ""
    if within is None or shown == "better":
        return shown or "not shown"
    return f"{shown + ', but ' if shown else ''}{bound} {within}"


def _item_notes(key, rows, state, powers) -> tuple[str, ...]:
    """What a reader must know about one comparison: what differed besides the modification."""
    notes = []
    missing = next((m for m in state if not state[m].any()), None)
    if missing is not None:
        other = ", ".join(powers.get((missing, *key[:2]), ()))
        there = f"; power differs between the states: there it was read at {other}" if other else ""
        notes.append(f"no reading in '{missing}' at this power{there}; to compare, read it alike in both states")
    if key[0] in NEEDS_POWER and key[2] == NOT_NOTED:
        notes.append("power is not noted; a different power counts as the change")
    for m, mine in state.items():
        count = int(np.sum(mine))
        if count == 1:
            notes.append(f"'{m}' has one reading only: its scatter is the stated one, not seen")
        elif count > 1 and np.ptp(rows["value"][mine]) <= 1e-12 * np.max(np.abs(rows["value"][mine])):
            notes.append(f"all {count} readings of '{m}' are identical: that shows the resolution of the reading, "
                         "not its precision")  # fmt: skip
    if missing is None:
        notes += [*_flight_notes(rows["flight"], state), *_condition_notes(rows, state)]
    return (*notes, *([ALWAYS[key[0]]] if key[0] in ALWAYS else []))


def _flight_notes(flight, state):
    counts = {m: len(set(flight[mine].tolist())) for m, mine in state.items()}
    if np.any(flight == NOT_NOTED):
        return ["flights are not noted everywhere: readings without one were taken as one flight in each state"]
    notes = [f"'{m}' is one flight: whatever was different that day counts as the change, within the prior of the day "
             "scatter" for m, c in counts.items() if c == 1]  # fmt: skip
    differ = len(set(counts.values())) > 1
    return notes + ["flights differ in number: " + ", ".join(f"{c} in '{m}'" for m, c in counts.items())] * differ


def _condition_notes(rows, state):
    """Weight and air, compared between the states."""
    altitude, temperature = rows["pressure_altitude"], rows["temperature"]
    air, known = np.full(len(altitude), np.nan), np.isfinite(altitude)
    h = altitude[known]
    air[known] = density(h, np.where(np.isfinite(temperature[known]), temperature[known], standard_temperature(h)))
    notes = []
    for what, values, allowed, unit, places in (
        ("weight", rows["weight"], WEIGHT_DIFFERS, "kg", 0),
        ("air density", air, DENSITY_DIFFERS, "kg/m3", 3),
    ):
        means = {m: float(np.mean(x)) for m, mine in state.items() if len(x := values[mine & np.isfinite(values)])}
        if len(means) < 2:
            noted = what if what == "weight" else "pressure altitude"
            notes.append(f"{noted} is not noted in both states; a difference there counts as the change")
            continue
        a, b = means.values()
        if abs(b - a) > allowed * 0.5 * (a + b):
            listed = ", ".join(f"{v:.{places}f} {unit} in '{m}'" for m, v in means.items())
            notes.append(f"{what} differs: {listed} ({100 * (b / a - 1):+.0f} %); nothing is corrected for it")
    return notes


def _notes(items) -> tuple[str, ...]:
    notes = ["Recorded and compared, not modelled: weight, air and technique are not taken out."]
    if any(i.quantity in BY_NEEDLE for i in items):
        notes.append("Speeds are compared as read; where the change altered the airspeed indicator's position error, "
                     "part of a difference is the indicator's")  # fmt: skip
    compared = sum(i.difference is not None for i in items)
    if compared >= 4:
        notes.append(f"{compared} quantities are compared: one that did not change at all still reads 'better' or "
                     "'worse' up to one time in twenty")  # fmt: skip
    return tuple(notes)
