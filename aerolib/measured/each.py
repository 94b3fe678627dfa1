"""One stall at a time: from the needle to ln CL, with what every source of error does to it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.estimate import Source
from aerolib.measured import loadfactor
from aerolib.measured.airspeed.correction import (
    LiftCorrection,
    SpeedCorrection,
    correction_of,
    equivalent_airspeed,
    indicated,
    true_airspeed,
)
from aerolib.measured.assumptions import KNOT, ErrorSizes, Thrust
from aerolib.measured.labels import joined, unique_rows
from aerolib.ranges import RANGES, check

KINDS = ("minimum", "break", "steady", "unknown")
ENDINGS = ("break", "mush", "stop", "early", "unknown")
STALLED = ("break", "mush")  # endings that show the wing at its CLmax
BELOW = "below scale"
# How much of rate * lag a reading is late by, as delays of 0.3 to 1 s did on the simulated histories: little at the
# lowest reading, where the speed has almost stopped falling; more at the break; nothing when it is steady.
LAG_SHARE = {"break": 0.35, "minimum": 0.15, "steady": 0.0, "unknown": 0.2}
FASTEST_ENTRY = 5.0  # [m/s2] faster is no approach to a stall: our judgement
UNKNOWN_ALTITUDE = (1000.0, 0.0003)  # assumed [m], and what not knowing costs in ln CL [-]


@dataclass(frozen=True)
class States:
    """Modification and flap setting of every stall, and the position correction each of them has."""

    index: np.ndarray  # (N,) into the lists below
    labels: tuple[str, ...]
    corrections: tuple[SpeedCorrection | LiftCorrection, ...] = field(default_factory=tuple)

    @classmethod
    def of(cls, modification, flap, position, errors):
        pairs, index = unique_rows(modification, flap)
        missing = SpeedCorrection(standard_uncertainty=errors.position, origin="assumed zero")
        found = tuple(correction_of(position, p, errors.change) or missing for p in pairs)
        return cls(index, tuple(joined(m, f) for m, f in pairs), found)

    def correction(self, i):
        """The position correction of stall i."""
        return self.corrections[self.index[i]]

    @property
    def by_lift(self) -> bool:
        """Whether any correction goes with the lift coefficient."""
        return any(c.by_lift for c in self.corrections)

    def each(self, function):
        """`function(correction, mask)` for every state, into one array (N,)."""
        out = np.empty(len(self.index))
        for k, correction in enumerate(self.corrections):
            mask = self.index == k
            out[mask] = function(correction, mask)
        return out


@dataclass(frozen=True)
class Given:
    """What is known of every stall (N,), and of the airplane: SI, NaN where not known, checked."""

    ias: np.ndarray  # [m/s]
    weight: np.ndarray  # [kg]
    weight_uncertainty: np.ndarray  # [kg]
    kind: np.ndarray
    ended: np.ndarray
    power: np.ndarray
    modification: np.ndarray
    configuration: np.ndarray
    pilot: np.ndarray  # empty where not named: one and the same
    altitude: np.ndarray  # [m]
    temperature: np.ndarray  # [K]
    rate: np.ndarray  # [m/s2] of indicated airspeed
    load_factor: np.ndarray  # [-]
    sink: np.ndarray  # [m/s]
    wing_area: np.ndarray  # [m2]
    wing_area_uncertainty: np.ndarray  # [m2]
    reference_weight: float  # [kg]
    states: States
    instrument: SpeedCorrection
    thrust: Mapping[str, Thrust]
    thrust_angle: float  # [rad]
    errors: ErrorSizes

    def __post_init__(self):
        for name, values in (
            ("ias", self.ias),
            ("weight", self.weight),
            ("wing_area", self.wing_area),
            ("reference_weight", self.reference_weight),
        ):
            _positive(name, np.atleast_1d(np.asarray(values, dtype=float)))
        _positive("load_factor", self.load_factor[~np.isnan(self.load_factor)])
        for name, values, *ends in (
            ("ias", self.ias, 0.0, 340.0, "m/s"), ("weight", self.weight, *RANGES["weight"]),
            ("wing_area", self.wing_area, *RANGES["wing_area"]),
            ("reference_weight", self.reference_weight, *RANGES["weight"]),
            ("pressure_altitude", self.altitude, -2000.0, 20_000.0, "m"),
            ("temperature", self.temperature, -1e3, 1e4, "K"), ("entry_rate", self.rate, -1e3, 1e3, "m/s2"),
            ("load_factor", self.load_factor, 0.0, 20.0, "-"), ("sink_rate", self.sink, -1e3, 1e3, "m/s"),
            ("weight_uncertainty", self.weight_uncertainty, 0.0, 1e4, "kg"),
            ("wing_area_uncertainty", self.wing_area_uncertainty, 0.0, 1e3, "m2"),
        ):  # fmt: skip
            values = np.asarray(values, dtype=float)
            check(name, values[~np.isnan(values)], *ends)  # NaN: not known
        if np.any((self.rate < 0.0) | (self.rate > FASTEST_ENTRY)):
            raise ValueError(
                f"entry_rate must lie between 0 and {FASTEST_ENTRY:g} m/s2 (speed lost per second, positive): is its "
                "unit right?"
            )
        for name, values, allowed in (("speed_kind", self.kind, KINDS), ("ended", self.ended, ENDINGS)):
            unknown = set(np.unique(values).tolist()) - set(allowed)
            if unknown:
                raise ValueError(f"{name} '{sorted(unknown)[0]}' is not one of {', '.join(allowed)}")

    def area_labels(self) -> np.ndarray | str:
        """What shares one error of the wing area: stalls flown with the same area and the same care in taking it."""
        pairs = np.column_stack([self.wing_area, np.nan_to_num(self.wing_area_uncertainty, nan=-1.0)])
        if np.all(pairs == pairs[0]):
            return ""
        areas, code = np.unique(pairs, axis=0, return_inverse=True)
        for m in np.unique(self.modification):
            mine = np.unique(code[self.modification == m])
            if len(mine) > 1:
                listed = " and ".join(f"{areas[k][0]:g}" for k in mine[:2])
                raise ValueError(f"modification '{m}' has wing areas of {listed} m2; give one for each modification")
        return np.array([f"{a:.6g} m2" + (f" within {u:.3g}" if u >= 0.0 else "") for a, u in areas])[code.ravel()]

    def thrust_of(self, power: str) -> Thrust:
        """What is known of the thrust in a power setting."""
        return self.thrust.get(power) or Thrust(known=power in ("idle", "off"))

    def above_stall(self, speed):
        """A speed on the needle (N,) [m/s] as calibrated margin above its own stall, NaN where not noted."""
        noted = np.isfinite(speed)
        cas = self._calibrated(np.where(noted, speed, self.ias))
        return np.where(noted, cas - self._calibrated(self.ias), np.nan)

    def _calibrated(self, reading):
        inner, lift = self.instrument.corrected(reading), self.weight * GRAVITY
        return self.states.each(lambda c, mask: c.at(lift[mask]).corrected(inner[mask]))

    def needle(self, i: int, cas: float) -> float:
        """What the needle shows [m/s] at a calibrated speed [m/s] in the state of stall i, at the reference weight."""
        return float(indicated(cas, self.states.correction(i), self.instrument, self.reference_weight * GRAVITY))


def _positive(name, values):
    bad = ~(np.isfinite(values) & (values > 0.0))
    if bad.any():
        i = int(np.argmax(bad))
        raise ValueError(
            f"{name} must be positive and finite; value {i} is {values[i]}: leave the stall out, or give the number"
        )


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


def state_label(g: Given, origin):
    """Origin, modification, configuration and power of every stall as one label [-] (N,)."""
    tuples, index = unique_rows(origin, g.modification, g.configuration, g.power)
    # One recorder serves every state; a table's error is another one in each.
    return np.array(["recorded" if t[0] == "recorded" else joined(*t) for t in tuples], dtype=np.str_)[index]


def reduce_each(g: Given) -> ReducedStalls:
    """Every stall to ln CL, before anything is averaged.

    L = n W - T sin(alpha + iT), CL = L / (0.5 rho0 V^2 S)

    Parameters
    ----------
    g : Given [SI]

    Returns
    -------
    ReducedStalls [SI]

    Raises
    ------
    ValueError
        An airspeed that is not positive once corrected; a thrust larger than the weight.
    """
    notes = []
    share = np.select([g.kind == k for k in LAG_SHARE], list(LAG_SHARE.values()))
    rate_or_guess = np.where(np.isfinite(g.rate), g.rate, 1.0 * KNOT)
    reading = g.ias - share * g.errors.lag * rate_or_guess
    inner = g.instrument.corrected(reading)
    known_altitude = np.isfinite(g.altitude)
    h = np.where(known_altitude, g.altitude, UNKNOWN_ALTITUDE[0])
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
        rate_cas = g.rate * slope
        tas = np.where(warm, true_airspeed(cas, h, np.where(warm, g.temperature, 288.15)), true_airspeed(cas, h))
        factors = loadfactor.load_factors(
            g.kind, g.ended, rate_cas, g.load_factor, g.sink, tas, g.errors.recorded_load_factor
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
    rate_effect = np.where(np.isfinite(g.rate), rate_effect, 0.0)
    of_system = _of_the_airspeed_system(g, carried, reading, inner, cas)
    effects = (
        Effect("wing area", "shared", g.area_labels(), -area_error, "area"),
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
            "incidence at the stall", "shared", "", -t * math.cos(angle) * g.errors.stall_incidence_uncertainty / lift
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
    missing = [m for m, c in zip(g.states.labels, g.states.corrections) if c.origin == "assumed zero"]
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


def _of_the_airspeed_system(g: Given, carried, reading, inner, cas) -> list[Effect]:
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
