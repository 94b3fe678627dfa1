"""CLmax from stall speeds: every stall reduced, then stalls and flights brought together.

    L = n W - T sin(alpha + iT)          CL = L / (0.5 rho0 V**2 S)

n is the load factor normal to the flight path at the stall, V the equivalent airspeed there, T the
thrust, alpha + iT the angle between thrust line and flight path.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.measured import loadfactor
from aerolib.measured.airspeed import SpeedCorrection, equivalent_airspeed, true_airspeed
from aerolib.measured.grouping import Card, bring_together, unique_rows
from aerolib.measured.results import StallReduction
from aerolib.units import to_si

KNOT = to_si(1.0, "kt", "speed")
KINDS = ("minimum", "break", "steady", "unknown")
ENDINGS = ("break", "stop", "early", "unknown")
BELOW = "below scale"
# How much of rate * lag a reading is late by: all of it while the speed falls through the break; less at
# the lowest reading, where the speed has turned already; nothing when it is steady. Our judgement.
LAG_SHARE = {"break": 1.0, "minimum": 0.5, "steady": 0.0, "unknown": 0.5}
UNKNOWN_ALTITUDE = (1000.0, 0.0003)  # assumed [m], and what not knowing costs in ln CL [-]


@dataclass(frozen=True)
class ErrorSizes:
    """Standard uncertainties of the sources, each to be replaced by the owner's own where known.

    The defaults are judgements of ours (no source) for a tape measure, three bathroom-type scales and an
    indicator read by eye.
    """

    wing_area: float = 0.01  # relative [-], shared
    empty_weight: float = 3.0  # [kg], shared: the scales
    loading: float = 3.0  # [kg], each flight: crew and baggage
    fuel: float = 2.0  # [kg], each stall
    indicator_scale: float = 0.005  # relative [-], shared
    position: float = 1.5 * KNOT  # [m/s], each modification and flap setting, where no correction is given
    reading: float = 0.6 * KNOT  # [m/s], each stall
    entry_rate: float = 0.3 * KNOT  # [m/s2], each stall, where it was noted
    lag: float = 0.3  # delay of the indicator [s]
    lag_uncertainty: float = 0.2  # [s], shared
    idle_thrust: float = 0.012  # of the weight [-], shared within one power: about zero, either sign
    stall_incidence: float = math.radians(15.0)  # of the body datum [rad]
    stall_incidence_uncertainty: float = math.radians(3.0)  # [rad], shared
    day: float = 0.012  # median of the prior of the day scatter of ln CL [-]
    day_log_sd: float = 0.5  # spread of that prior [-]


@dataclass(frozen=True)
class Thrust:
    """Thrust at the stall in one power setting; `known` is False where none was given."""

    value: float = 0.0  # [N]
    standard_uncertainty: float | None = None  # [N]; None: the default share of the weight
    known: bool = True


@dataclass(frozen=True)
class Effect:
    """What one standard deviation of a source does to ln CL of every stall (N,) [-]."""

    name: str
    scope: str
    label: np.ndarray | str
    per_stall: np.ndarray


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


def reduce_stalls(
    ias,
    *,
    wing_area,
    weight,
    reference_weight,
    speed_kind="minimum",
    ended="break",
    modification="before",
    configuration="clean",
    power="idle",
    flight="1",
    below_scale=False,
    flap=None,
    pressure_altitude=math.nan,
    temperature=math.nan,
    entry_rate=math.nan,
    load_factor=math.nan,
    sink_rate=math.nan,
    warning_ias=math.nan,
    buffet_ias=math.nan,
    weight_uncertainty=math.nan,
    instrument: SpeedCorrection | None = None,
    position: Mapping[tuple[str, str], SpeedCorrection] | None = None,
    thrust: Mapping[str, Thrust] | None = None,
    thrust_angle=0.0,
    errors: ErrorSizes | None = None,
    inputs: Mapping[str, str] | None = None,
) -> StallReduction:
    """CLmax, 1-g stall speed and lowest speeds of every configuration, from stalls.

    CL = (n W - T sin(alpha + iT)) / (0.5 rho0 V^2 S), grouped by modification, configuration and power

    Parameters
    ----------
    ias : array (N,) [m/s]
        What the needle showed; every other per-stall argument is (N,) too, or one value for all.
    wing_area : float [m2]
    weight : array (N,) [kg]
    reference_weight : float [kg]
        The weight that stall speeds are given at.
    speed_kind : text array (N,) [-]
        minimum (lowest seen), break (at the break), steady (held), unknown.
    ended : text array (N,) [-]
        break, stop (stick on the stop, still flying), early (recovered before), unknown.
    modification, configuration, power, flight : text array (N,) [-]
    below_scale : bool array (N,) [-]
        The needle was below its scale: `ias` is the end of the scale, a bound.
    flap : text array (N,) [-]
        What shares one position error; the configuration where None.
    pressure_altitude : array (N,) [m]
        NaN where unknown.
    temperature : array (N,) [K]
        NaN where unknown: the standard one.
    entry_rate : array (N,) [m/s2]
        Fall of indicated airspeed per second, positive; NaN where unknown.
    load_factor : array (N,) [-]
        Normal to the flight path, recorded; NaN where unknown.
    sink_rate : array (N,) [m/s]
        Positive down; NaN where unknown.
    warning_ias, buffet_ias : array (N,) [m/s]
        NaN where unknown.
    weight_uncertainty : array (N,) [kg]
        Of one stall's weight, where it had to be guessed; NaN elsewhere.
    instrument : SpeedCorrection [m/s]
        Of the indicator itself, shared by everything.
    position : mapping (modification, flap) -> SpeedCorrection [m/s]
    thrust : mapping power -> Thrust [N]
        'idle' and 'off' default to zero with an interval about it; any other power is unknown: its
        coefficient is called apparent.
    thrust_angle : float [rad]
        Of the thrust line to the body datum, nose-up positive.
    errors : ErrorSizes [-]
    inputs : mapping [-]
        Text shown beside the result: what was used.

    Returns
    -------
    StallReduction [-]

    Raises
    ------
    ValueError
        Nothing to reduce; a speed, weight or area that is not positive and finite; an unknown kind or ending.

    Valid range: airplanes below 10,000 ft and 100 kt; entry rates of 0.3 to 3 kt/s.
    Source: 14 CFR 25.103 for n in the coefficient; SFTE Reference Handbook 2013 ch. 4 for airspeed;
    JCGM 100:2008 for the uncertainty.
    """
    errors = errors or ErrorSizes()
    ias = np.atleast_1d(np.asarray(ias, dtype=float))
    n = len(ias)
    if n == 0:
        raise ValueError("no stalls were given; at least one is needed")
    if np.ndim(speed_kind) == 0 or np.ndim(ended) == 0:
        speed_kind, ended = np.broadcast_to(speed_kind, n), np.broadcast_to(ended, n)
    (kind, ended, modification, configuration, power, flight) = (
        np.broadcast_to(np.asarray(a, dtype=np.str_), n)
        for a in (speed_kind, ended, modification, configuration, power, flight)
    )
    flap = configuration if flap is None else np.broadcast_to(np.asarray(flap, dtype=np.str_), n)
    (weight, altitude, temperature, rate, nz, sink, warning, buffet, guessed) = (
        np.broadcast_to(np.asarray(a, dtype=float), n)
        for a in (
            weight,
            pressure_altitude,
            temperature,
            entry_rate,
            load_factor,
            sink_rate,
            warning_ias,
            buffet_ias,
            weight_uncertainty,
        )
    )
    below = np.broadcast_to(np.asarray(below_scale, dtype=bool), n)
    _check(ias, weight, wing_area, reference_weight, kind, ended)

    states = _States.of(modification, flap, position or {}, errors)
    instrument = instrument or SpeedCorrection(origin="none given")
    reduced = _reduce_each(
        ias,
        weight,
        wing_area,
        reference_weight,
        kind,
        altitude,
        temperature,
        rate,
        nz,
        sink,
        power,
        states,
        instrument,
        thrust or {},
        thrust_angle,
        errors,
        guessed,
    )
    card = Card(
        modification=modification, configuration=configuration, power=power, flight=flight, kind=kind, ended=ended,
        outcome=np.where(below, BELOW, ended),
        margins={name: _margin(speed, ias, states, instrument)
                 for name, speed in (("warning", warning), ("buffet", buffet))},
        needle=lambda i, cas: float(instrument.reading(states.correction(i).reading(cas))),
        known_thrust={p: _thrust(p, thrust or {}).known for p in set(power.tolist())},
        wing_area=float(wing_area), reference_weight=float(reference_weight),
    )  # fmt: skip
    return bring_together(reduced, card, errors, dict(inputs or {}))


def _check(ias, weight, wing_area, reference_weight, kind, ended):
    for name, values in (
        ("ias", ias),
        ("weight", weight),
        ("wing_area", wing_area),
        ("reference_weight", reference_weight),
    ):
        values = np.atleast_1d(np.asarray(values, dtype=float))
        bad = ~(np.isfinite(values) & (values > 0.0))
        if bad.any():
            i = int(np.argmax(bad))
            raise ValueError(
                f"{name} must be positive and finite; value {i} is {values[i]}: leave the stall out, or give the number"
            )
    for name, values, allowed in (("speed_kind", kind, KINDS), ("ended", ended, ENDINGS)):
        unknown = set(np.unique(values).tolist()) - set(allowed)
        if unknown:
            raise ValueError(f"{name} '{sorted(unknown)[0]}' is not one of {', '.join(allowed)}")


@dataclass(frozen=True)
class _States:
    """Modification and flap setting of every stall, and the position correction each of them has."""

    index: np.ndarray  # (N,) into the lists below
    labels: tuple[str, ...]
    corrections: tuple[SpeedCorrection, ...] = field(default_factory=tuple)

    @classmethod
    def of(cls, modification, flap, position, errors):
        pairs, index = unique_rows(modification, flap)
        missing = SpeedCorrection(standard_uncertainty=errors.position, origin="assumed zero")
        return cls(index, tuple(f"{m}, {f}" for m, f in pairs), tuple(position.get(p, missing) for p in pairs))

    def correction(self, i):
        """The position correction of stall i."""
        return self.corrections[self.index[i]]

    def each(self, function):
        """`function(correction, mask)` for every state, into one array (N,)."""
        out = np.empty(len(self.index))
        for k, correction in enumerate(self.corrections):
            mask = self.index == k
            out[mask] = function(correction, mask)
        return out


def _thrust(power, given):
    return given.get(power) or Thrust(known=power in ("idle", "off"))


def _margin(speed, stall_ias, states, instrument):
    """Calibrated warning speed minus calibrated stall speed [m/s] (N,), NaN where not noted."""
    reading = np.where(np.isfinite(speed), speed, stall_ias)
    inner = instrument.corrected(reading)
    cas = states.each(lambda c, mask: c.corrected(inner[mask]))
    base = states.each(lambda c, mask: c.corrected(instrument.corrected(stall_ias[mask])))
    return np.where(np.isfinite(speed), cas - base, np.nan)


def _reduce_each(
    ias,
    weight,
    wing_area,
    reference_weight,
    kind,
    altitude,
    temperature,
    rate,
    recorded_n,
    sink,
    power,
    states,
    instrument,
    thrust,
    thrust_angle,
    errors,
    guessed,
) -> ReducedStalls:
    count, notes = len(ias), []
    share = np.select([kind == k for k in LAG_SHARE], list(LAG_SHARE.values()))
    rate_or_guess = np.where(np.isfinite(rate), rate, 1.0 * KNOT)
    reading = ias - share * errors.lag * rate_or_guess
    inner = instrument.corrected(reading)
    cas = states.each(lambda c, mask: c.corrected(inner[mask]))
    slope = instrument.slope(reading) * states.each(lambda c, mask: c.slope(inner[mask]))
    rate_cas = rate * slope
    known_altitude = np.isfinite(altitude)
    h = np.where(known_altitude, altitude, UNKNOWN_ALTITUDE[0])
    eas = equivalent_airspeed(cas, h)
    warm = np.isfinite(temperature)
    tas = np.where(warm, true_airspeed(cas, h, np.where(warm, temperature, 288.15)), true_airspeed(cas, h))
    factors = loadfactor.load_factors(kind, rate_cas, recorded_n, sink, tas)

    settings, power_index = unique_rows(power)
    each = [_thrust(p, thrust) for (p,) in settings]
    t = np.array([e.value if e.known else 0.0 for e in each])[power_index]
    default = errors.idle_thrust * reference_weight * GRAVITY
    u_t = np.array(
        [0.0 if not e.known else default if e.standard_uncertainty is None else e.standard_uncertainty for e in each]
    )[power_index]
    angle = errors.stall_incidence + thrust_angle
    lift = factors.n * weight * GRAVITY - t * math.sin(angle)
    if np.any(lift <= 0.0):
        raise ValueError("the thrust given is larger than the weight it would carry: is its unit right?")
    q_area = 0.5 * DENSITY_0 * eas**2 * wing_area
    ones = np.ones(count)
    per_knot = 2.0 / cas  # d ln CL / dV, sign apart
    per_n = weight * GRAVITY / lift
    u_position = states.each(lambda c, mask: c.uncertainty(inner[mask]))
    label = np.array(states.labels, dtype=np.str_)[states.index]
    rate_effect = per_n * factors.slope + per_knot * slope * share * errors.lag
    effects = (
        Effect("wing area", "shared", "", -errors.wing_area * ones),
        Effect("weighing", "shared", "", per_n * factors.n * errors.empty_weight / weight),
        Effect("indicator scale", "shared", "", -2.0 * errors.indicator_scale * ones),
        Effect("indicator", "shared", "", -per_knot * instrument.uncertainty(reading)),
        Effect("indicator lag", "shared", "", per_knot * slope * share * rate_or_guess * errors.lag_uncertainty),
        Effect("altitude not noted", "shared", "", np.where(known_altitude, 0.0, UNKNOWN_ALTITUDE[1])),
        Effect("load factor, as a rule", "shared", factors.origin, per_n * factors.shared),
        Effect("thrust", "shared", power, -math.sin(angle) * u_t / lift),
        Effect(
            "incidence at the stall", "shared", "", -t * math.cos(angle) * errors.stall_incidence_uncertainty / lift
        ),
        Effect("position error", "state", label, -per_knot * u_position),
        Effect("loading", "flight", "", per_n * factors.n * errors.loading / weight),
        Effect("reading", "stall", "", -per_knot * slope * errors.reading),
        Effect("load factor, this stall", "stall", "", per_n * factors.alone),
        Effect("entry rate", "stall", "", np.where(np.isfinite(rate), rate_effect * slope * errors.entry_rate, 0.0)),
        Effect("weight not noted", "shared", "", per_n * factors.n * np.nan_to_num(guessed) / weight),
        Effect("fuel", "stall", "", per_n * factors.n * errors.fuel / weight),
    )
    missing = [m for m, c in zip(states.labels, states.corrections) if c.origin == "assumed zero"]
    if missing:
        some = "; ".join(missing[:4]) + (f" and {len(missing) - 4} more" if len(missing) > 4 else "")
        notes.append(
            f"no airspeed calibration ({some}): the position error is assumed zero within "
            f"{1.96 * errors.position / KNOT:.1f} kt (95 %), often the largest share of the interval"
        )
    return ReducedStalls(
        np.log(lift / q_area),
        np.log((weight * GRAVITY - t * math.sin(angle)) / q_area),
        cas,
        cas * np.sqrt(reference_weight / weight),
        weight,
        rate_cas,
        factors,
        t * math.sin(angle) / (lift + t * math.sin(angle)),
        effects,
        tuple(notes),
    )
