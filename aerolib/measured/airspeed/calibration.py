"""The airspeed system calibrated from legs flown against a satellite receiver.

Every run gives one true airspeed (`calibration_circle`); over the runs, the error of the system as a pressure
coefficient over lift coefficient, modification and flap setting (`calibration_model`); from that the correction of
every state, carried to the stall by a stated ratio of lift coefficients and no further.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY, standard_temperature
from aerolib.estimate import K95, Source
from aerolib.measured.airspeed import model
from aerolib.measured.airspeed.circle import fit_circle
from aerolib.measured.airspeed.correction import (
    LiftCorrection,
    SpeedCorrection,
    borrowed,
    calibrated_from_true,
    indicated,
    true_airspeed,
)
from aerolib.measured.airspeed.doubts import POSSIBLE, Sketch, misread_leg, odd_units, unit_ratio
from aerolib.measured.airspeed.model import CalibrationSizes
from aerolib.measured.airspeed.results import AirspeedCalibration, Run, StateCalibration
from aerolib.measured.assumptions import KNOT, ErrorSizes, Thrust
from aerolib.measured.labels import joined, unique_rows
from aerolib.units import from_si, knots, on_dial, to_si

FURTHEST = 1.5  # ratio of lift coefficients, stall over slowest run, beyond which nothing is carried: our judgement
WORTH_A_SLOWER_RUN = 1.35  # ratio beyond which one is asked for: our judgement
ADVISED = 1.1  # times the calibrated stalling speed: how slow the slowest run should be
ABOVE_STALL = 1.1  # times the stall on the dial: no run is advised below it: our judgement
LIFT_AT_STALL = 0.95  # of the weight, at the lowest speed: middle of the library's own load factors
HEIGHTS_APART, HEIGHTS_WARNED = 150.0, 60.0  # [m] between legs of one run
READINGS_APART = 1.6  # [m/s] between legs of one run: 3 kt
UNLIKE = 3.0  # residuals over what a leg is good for, beyond which the run is doubted
STANDS_OUT = 2.0  # times the next residual, for a leg to be called the one: our judgement
MISSED = "its legs miss one circle"
GRID = np.geomspace(0.1, 5.0, 260)  # lift coefficients a correction is tabulated at
IDLE = ("idle", "off")
USUAL_POSITION = ErrorSizes().position


@dataclass(frozen=True)
class _Airplane:
    """What is the same for all runs and states, SI."""

    wing_area: float
    instrument: SpeedCorrection
    thrust: Mapping[str, Thrust]
    thrust_angle: float
    errors: ErrorSizes
    sizes: CalibrationSizes
    stalls: Mapping[tuple[str, str], tuple[float, float]]
    unit: str  # of the dial

    @property
    def stretch(self) -> float:
        """The owner's assumed position error over the usual one."""
        return self.errors.position / USUAL_POSITION

    def lift_coefficient(self, lift, speed):
        return lift / (0.5 * DENSITY_0 * speed**2 * self.wing_area)


@dataclass(frozen=True)
class _Fit:
    """The runs as one linear model."""

    y: np.ndarray  # (m,) of the runs
    noise: np.ndarray  # (m,) standard uncertainty of each run's own
    legs: np.ndarray  # (m, K) design
    states: list[tuple[str, str]]
    runs: list[Source]


def calibrate_airspeed(
    ias,
    ground_speed,
    *,
    track=math.nan,
    heading=math.nan,
    run="1",
    modification="before",
    flap="clean",
    power="level",
    sink_rate=math.nan,
    pressure_altitude=0.0,
    temperature=math.nan,
    weight,
    wing_area,
    stalls: Mapping[tuple[str, str], tuple[float, float]] | None = None,
    instrument: SpeedCorrection | None = None,
    thrust: Mapping[str, Thrust] | None = None,
    thrust_angle=0.0,
    errors: ErrorSizes | None = None,
    sizes: CalibrationSizes | None = None,
    speed_unit: str = "kt",
) -> AirspeedCalibration:
    """Correction of the airspeed indicator in every state, from runs of three or more legs, with its errors.

    circle through the ground velocities -> V; y = 1 - (V_i / V)^2 over CL = (n W - T sin(alpha + iT)) / (q S)

    Parameters
    ----------
    ias : array (N,) [m/s]
        What the needle showed on each leg; every other per-leg argument is (N,) too, or one value for all.
    ground_speed : array (N,) [m/s]
    track : array (N,) [rad]
        NaN where a heading is given instead, one or the other in the whole of a run.
    heading : array (N,) [rad]
    run : text array (N,) [-]
        Legs of one run were flown at one reading, height and place; runs are told apart inside their state.
    modification, flap, power : text array (N,) [-]
        Power 'idle' or 'off' is that of a stall; any other moves the air at port and tube.
    sink_rate : array (N,) [m/s]
        Of gliding legs, positive down; NaN: level.
    pressure_altitude : array (N,) [m]
    temperature : array (N,) [K]
        NaN: the standard one, within 8 K.
    weight : array (N,) [kg]
    wing_area : float [m2]
    stalls : mapping (modification, flap) -> (reading [m/s], weight [kg])
        The middle of the stalls of each state: where the correction is wanted.
    instrument : SpeedCorrection [m/s]
        Of the indicator alone, from a bench; shared by every state.
    thrust : mapping power -> Thrust [N]
    thrust_angle : float [rad]
    errors : ErrorSizes [-]
        What is assumed where nothing was flown.
    sizes : CalibrationSizes [-]
    speed_unit : str [-]
        Of the dial: what is said of readings is said in it.

    Returns
    -------
    AirspeedCalibration [SI]

    Raises
    ------
    ValueError
        Arrays of unlike lengths; a reading, weight or area that is not positive.

    Valid range: airplanes below 10,000 ft and 150 kt; stalls at up to 1.5 times the lift coefficient of the slowest
    run. A run that cannot be used is left out with its reason.
    Source: D. Gray, June 1998, and SFTE Reference Handbook 2013 ch. 4 for the runs; the form over lift coefficient
    follows 14 CFR 23.1323's split of position and instrument error; sizes are our judgment.
    """
    errors, sizes = errors or ErrorSizes(), sizes or CalibrationSizes()
    ias = np.atleast_1d(np.asarray(ias, dtype=float))
    given = {"ground_speed": ground_speed, "track": track, "heading": heading, "sink_rate": sink_rate,
             "pressure_altitude": pressure_altitude, "temperature": temperature, "weight": weight}  # fmt: skip
    names = {"modification": modification, "flap": flap, "run": run, "power": power}
    try:
        legs = {"ias": ias} | {k: np.broadcast_to(np.asarray(v, dtype=float), ias.shape) for k, v in given.items()}
        legs |= {k: np.broadcast_to(np.asarray(v, dtype=np.str_), ias.shape) for k, v in names.items()}
    except ValueError:
        raise ValueError("every column of the legs needs one value a leg, or one for all") from None
    for name in ("ias", "weight"):
        if not np.all(np.isfinite(legs[name]) & (legs[name] > 0.0)):
            raise ValueError(f"{name} of every leg must be positive and finite")
    if not wing_area > 0.0:
        raise ValueError(f"the wing area must be positive; it is {wing_area}")
    a = _Airplane(
        wing_area=wing_area, instrument=instrument or SpeedCorrection(origin="none given"), thrust=thrust or {},
        thrust_angle=thrust_angle, errors=errors, sizes=sizes, stalls=stalls or {}, unit=speed_unit,
    )  # fmt: skip
    keys, index = unique_rows(*(legs[n] for n in ("modification", "flap", "run"))) if len(ias) else ([], None)
    sketches, refused = [], []
    for k, key in enumerate(keys):
        where = np.flatnonzero(index == k)
        try:
            sketches.append(_one_run(key, where, {name: v[where] for name, v in legs.items()}, a))
        except ValueError as e:
            refused.append(f"{_name(key)}: {e}")
    sound = [r for r in sketches if not r.torn]
    doubt = unit_ratio([r.ratio for r in sound], [r.cl for r in sound])
    if doubt is not None and doubt.sure:
        refused.append(f"{doubt}: is one column in another unit, such as mph for kt? No run was used")
        return AirspeedCalibration((), (), tuple(refused), sizes.leg, errors.position, doubt=doubt)
    odd = {id(sound[k]): v for k, v in odd_units(sound).items()} if doubt is None else {}
    said = {sure: [f"{_name(r.key)}: {_other_unit(odd[id(r)][0])}" for r in sound if odd.get(id(r), ())[1:] == (sure,)]
            for sure in (True, False)}  # fmt: skip
    refused += [f"{s} It was not used. Correct its rows, or give a reason in `left_out`" for s in said[True]]
    sketches, misread, out = _without_misread([r for r in sketches if not odd.get(id(r), (1.0, False))[1]], sizes)
    leg, freedom = _pooled([r.circle for r in sketches], sizes)
    runs = tuple(_reduced(r, leg, freedom, a) for r in sketches)
    return AirspeedCalibration(_states(runs, a), runs, (*refused, *out), leg, errors.position, tuple(misread), doubt,
                               questions=tuple(said[False]))  # fmt: skip


def _name(key) -> str:
    return f"{joined(*key[:2])}, run {key[2]}"


def _other_unit(ratio: float) -> str:
    """That one run is off the others by a unit's factor."""
    high, low = ("ground speeds", "readings") if ratio > 1.0 else ("readings", "ground speeds")
    return (
        f"its airspeed over its reading is {ratio:.2f} times what the other runs make likely, the ratio of two "
        f"units: is this run in mph, or in another unit ({high} in mph under kt, {low} in kt under mph)?"
    )


def _one_run(key, where, legs, a: _Airplane) -> Sketch:
    """One run with its circle, or ValueError with the reason it cannot be used."""
    notes = []
    heights, readings = np.ptp(legs["pressure_altitude"]), np.ptp(legs["ias"])
    if not np.all(np.isfinite(legs["pressure_altitude"])):
        raise ValueError("the pressure altitude of a leg is not known, and with it the density; note it")
    if heights > HEIGHTS_APART:
        raise ValueError(f"its legs lie {from_si(heights, 'ft', 'length'):.0f} ft apart in height, where wind and "
                         "density differ; fly them at one height")  # fmt: skip
    if heights > HEIGHTS_WARNED:
        notes.append(f"legs {from_si(heights, 'ft', 'length'):.0f} ft apart in height: the wind may differ")
    if readings > READINGS_APART:
        raise ValueError(f"its legs were flown at readings {on_dial(readings, a.unit, 1)} apart; legs of one run need "
                         "one reading (give each speed a run of its own)")  # fmt: skip
    if len(set(legs["power"].tolist())) > 1:
        raise ValueError("its legs were flown with more than one power; legs of one run need one")
    way = next((n for n in ("track", "heading") if np.all(np.isfinite(legs[n]))), None)
    if way is None:
        raise ValueError("a leg has no track (or, instead, every leg a heading); note it")
    shown = float(a.instrument.corrected(legs["ias"].mean()))
    expected = float(true_airspeed(shown, legs["pressure_altitude"].mean(), _temperature(legs)))
    circle = fit_circle(legs["ground_speed"], **{way: legs[way]}, sink_rate=np.nan_to_num(legs["sink_rate"]),
                        leg=a.sizes.leg, expected=expected)  # fmt: skip
    if circle.wind_speed > circle.airspeed:
        notes.append("the wind was stronger than the airspeed")
    elif way == "heading":
        notes.append("from headings: the airspeed was taken as stronger than the wind")
    cl = a.lift_coefficient(legs["weight"].mean() * GRAVITY, shown)
    return Sketch(key, where, legs, circle, notes, expected, cl)


def _without_misread(runs, sizes) -> tuple[list[Sketch], list, list[str]]:
    """The runs that can be used, the legs set aside because the others of their run tell, and what was refused."""
    kept, misread, refused = [], [], []
    for r in runs:
        found = misread_leg(r, runs, sizes.leg)
        if found is not None:
            leg, circle = found
            misread.append(leg)
            keep = r.where != leg.leg
            r = replace(r, where=r.where[keep], legs={k: v[keep] for k, v in r.legs.items()}, circle=circle)
        elif r.torn:
            refused.append(f"{_name(r.key)}: {MISSED} by {knots(r.scatter):.0f} kt, and nothing tells "
                           "which of them: a leg misread, or legs of different hours or places; correct it, or give a "
                           "reason in `left_out`")  # fmt: skip
            continue
        if abs(r.ratio) > POSSIBLE:
            refused.append(f"{_name(r.key)}: its airspeed comes out as {math.exp(r.ratio):.2f} times the "
                           "indicated one: is one of the columns in another unit, or a leg misread?")  # fmt: skip
            continue
        kept.append(r)
    return kept, misread, refused


def _temperature(legs) -> float | None:
    """Mean of a run [K], None where none was noted."""
    known = legs["temperature"][np.isfinite(legs["temperature"])]
    return float(known.mean()) if len(known) else None


def _pooled(circles, sizes) -> tuple[float, int]:
    """Standard uncertainty of one leg from what is assumed and the residuals of all runs; degrees of freedom."""
    squares = sum(float(c.residuals @ c.residuals) for c in circles)
    freedom = sum(len(c.residuals) - 3 for c in circles)
    return math.sqrt((sizes.leg_weight * sizes.leg**2 + squares) / (sizes.leg_weight + freedom)), freedom


def _reduced(r: Sketch, leg: float, freedom: int, a: _Airplane) -> Run:
    """One run with its calibrated airspeed and lift coefficient."""
    legs, circle, t = r.legs, r.circle, _temperature(r.legs)
    h, ias, weight = (float(legs[n].mean()) for n in ("pressure_altitude", "ias", "weight"))
    sink, power = float(np.nan_to_num(legs["sink_rate"]).mean()), str(legs["power"][0])
    cas = float(calibrated_from_true(circle.airspeed, h, t))
    lift = weight * GRAVITY * math.cos(math.asin(min(sink / circle.airspeed, 0.9)))
    given = a.thrust.get(power)
    if given is not None and given.known:
        # The incidence goes about as the lift coefficient: 15 degrees where it is 1.5.
        share = min(1.0, a.lift_coefficient(lift, cas) / 1.5)
        lift -= given.value * math.sin(a.errors.stall_incidence * share + a.thrust_angle)
    notes = list(r.notes)
    if len(circle.residuals) == 3:
        notes.append("three legs fit exactly: a fourth would show a wind that changed")
    elif r.scatter > UNLIKE * leg or r.scatter > 2.0 * KNOT:
        notes.append(f"{MISSED} by {knots(r.scatter):.1f} kt{_which_leg(np.abs(circle.residuals))}: another "
                     "place, height or hour, a wind that changed, or a leg misread")  # fmt: skip
    if t is None:
        notes.append("temperature not noted: the standard one was taken, within 16 K")
    own = max(leg, 0.5 * r.scatter if freedom else 0.0) / circle.leg * circle.standard_uncertainty
    return Run(
        *r.key, power, circle, ias, inner=float(a.instrument.corrected(ias)), cas=cas, cl=a.lift_coefficient(lift, cas),
        own=cas / circle.airspeed * own, noted=t is not None, weight=weight, notes=tuple(notes),
        temperature=float(standard_temperature(h)) if t is None else t,
    )  # fmt: skip


def _which_leg(residuals) -> str:
    """The leg that stands out, else how far one leg would have to be off for these residuals."""
    second, first = np.sort(residuals)[-2:]
    if first > STANDS_OUT * second:
        return f" (leg {int(np.argmax(residuals)) + 1} by most)"
    # An error e of leg k leaves r_k = (1 - h_k) e and sum r^2 = (1 - h_k) e^2.
    e = float(residuals @ residuals) / first
    return (f" (as if one of its {len(residuals)} legs were off by about {knots(e):.0f} kt; the legs cannot tell "
            "which)")  # fmt: skip


def _states(runs: tuple[Run, ...], a: _Airplane) -> tuple[StateCalibration, ...]:
    flown = list(dict.fromkeys(r.state for r in runs))
    wanted = list(dict.fromkeys([*flown, *a.stalls]))
    fit, given = _fit(runs, wanted, a) if runs else None, {}
    for state in wanted:
        lender = state if state in flown else next((s for s in flown if s[1] == state[1]), None)
        if fit is None or lender is None:
            continue
        mine = [r for r in runs if r.state == lender]
        correction = _tabulated(mine, a.stalls[state][1] if state in a.stalls else mine[0].weight, fit, a)
        if lender != state:
            correction = borrowed(correction, lender, state, a.errors.change)
        given[state] = state, mine, correction, a
    # Beyond its reach nothing is carried; but beside a state that has its correction, none would be a change of CLmax.
    carried = {s[1] for s in given if _state(*given[s]).correction is not None}
    return tuple(_state(*given[s], keep=s[1] in carried) if s in given else StateCalibration(*s) for s in wanted)


def _fit(runs: tuple[Run, ...], wanted, a: _Airplane) -> _Fit:
    sizes = a.sizes
    inner, cas, ias, own = (np.array([getattr(r, n) for r in runs]) for n in ("inner", "cas", "ias", "own"))
    kept = (inner / cas) ** 2
    points = model.Points(
        modification=np.array([r.modification for r in runs], dtype=np.str_),
        flap=np.array([r.flap for r in runs], dtype=np.str_), cl=np.array([r.cl for r in runs]), reading=ias,
        kept=kept, indicator=a.instrument.uncertainty(ias), noted=np.array([r.noted for r in runs], dtype=bool),
        warmth=np.array([(sizes.thermometer if r.noted else sizes.no_thermometer) / r.temperature for r in runs]),
        powered=np.array([r.power not in IDLE for r in runs], dtype=float),
    )  # fmt: skip
    legs = np.column_stack([*model.design(points, wanted, a.errors.indicator_scale, sizes, a.stretch).values()])
    noise = 2.0 * kept * np.hypot(own / cas, sizes.needle / inner)
    return _Fit(1.0 - kept, noise, legs, wanted, [Source(model.LEGS, "state", r.name) for r in runs])


def _tabulated(mine: list[Run], weight: float, fit: _Fit, a: _Airplane) -> LiftCorrection:
    """The correction of a state over the lift coefficient, as a table of its ratio and of every source's part."""
    slowest, (modification, flap) = max(r.cl for r in mine), mine[0].state
    cl = np.minimum(GRID, FURTHEST * slowest)
    speed = np.sqrt(2.0 * weight * GRAVITY / (DENSITY_0 * a.wing_area * GRID))
    kept, none = np.ones_like(cl), np.zeros_like(cl)
    for _ in range(2):  # the indicator's part needs the reading, which needs the value: twice is plenty
        reading = speed * np.sqrt(kept)
        here = model.Points(
            modification=np.full(len(cl), modification), flap=np.full(len(cl), flap), cl=cl, reading=reading, kept=kept,
            indicator=a.instrument.uncertainty(reading), warmth=none, noted=np.ones(len(cl), bool), powered=none,
        )  # fmt: skip
        wanted = model.design(here, fit.states, a.errors.indicator_scale, a.sizes, a.stretch)
        value, of_sources, of_runs = model.predict(fit.y, fit.noise, fit.legs, np.column_stack([*wanted.values()]))
        kept = np.clip(1.0 - value, 0.3, 2.0)
    half = 0.5 / kept
    parts = dict(zip((*wanted, *fit.runs), (half[:, None] * np.hstack([of_sources, of_runs])).T))
    # Port and tube are the same at every flap setting: what lies beyond the legs is one error for one modification.
    beyond = a.sizes.extension * a.stretch * np.maximum(GRID / slowest - 1.0, 0.0)
    parts[Source(model.EXTENSION, "state", modification)] = half * beyond
    order = slice(None, None, -1)  # reading over the root of the lift rises as the lift coefficient falls
    key = (speed * np.sqrt(kept) / math.sqrt(weight * GRAVITY))[order]
    return LiftCorrection(key, (1.0 / np.sqrt(kept))[order],
                          {s: p[order] for s, p in parts.items() if np.max(np.abs(p)) > 1e-5})  # fmt: skip


def _state(state: tuple[str, str], mine: list[Run], correction, a: _Airplane, keep: bool = False) -> StateCalibration:
    """One state at its stall; `keep`: beyond its reach the correction stays, the assumed error about it."""
    slowest, own = max(mine, key=lambda r: r.cl), mine[0].state == state
    notes = [] if own else [
        f"no legs in this state: the correction is that of '{mine[0].modification}' at the same flap, with more "
        "uncertainty, since a device that raises the stall angle moves pitot tube and static port to another angle of "
        "attack; fly legs in this state"
    ]  # fmt: skip
    found = StateCalibration(*state, "legs" if own else "legs of another state", correction, len(mine), slowest.ias,
                             notes=tuple(notes))  # fmt: skip
    if state not in a.stalls:
        return found
    reading, weight = a.stalls[state]
    lift, inner = LIFT_AT_STALL * weight * GRAVITY, float(a.instrument.corrected(reading))
    cas = float(correction.at(lift).corrected(inner))
    ratio = a.lift_coefficient(lift, cas) / slowest.cl
    found = replace(found, reading=reading, extension=ratio)
    slower, nearer = _slow_run(cas, reading, weight, slowest.weight, correction, a)
    if ratio > FURTHEST:
        beyond = f"the stall lies at {ratio:.2f} times the lift coefficient of the slowest run"
        if not keep:
            notes.append(
                f"{beyond} ({on_dial(slowest.ias, a.unit)} indicated), further than a correction is carried "
                f"({FURTHEST:g}), so the assumed error stands; a run near {slower} would help"
            )
            return replace(found, origin="assumed", correction=None, notes=tuple(notes))
        notes.append(
            f"{beyond}, further than a correction is carried ({FURTHEST:g}): that of {FURTHEST:g} times is kept, since "
            "another state has one at this flap, and the assumed error of ± "
            f"{on_dial(K95 * a.errors.position, a.unit, 1)} stands about it; a run near {slower} would help"
        )
        reach = inner * math.sqrt(ratio / FURTHEST / lift)
        far = {Source(model.EXTENSION, "state", joined(*state)):
               np.where(correction.key < reach, a.errors.position / cas, 0.0)}  # fmt: skip
        correction = replace(correction, parts={**correction.parts, **far})
        found = replace(found, origin="legs, out of reach" if own else found.origin)
    elif ratio > WORTH_A_SLOWER_RUN:
        notes.append(
            f"carried to the stall by a ratio of lift coefficients of {ratio:.2f}; a run near {slower} would "
            f"make it {nearer:.2f}"
        )
    powers = {r.power for r in mine}
    if not powers & set(IDLE):
        notes.append(
            f"flown with power ({', '.join(sorted(powers))}), which the stall is not: an extra error stands for it; "
            "one gliding run would show it"
        )
    u = float(correction.at(lift).uncertainty(inner))
    return replace(found, correction=correction, at_stall=cas - reading, standard_uncertainty=u, notes=tuple(notes))


def _slow_run(stall, reading, weight, weight_of_legs, correction, a: _Airplane) -> tuple[str, float]:
    """Reading to fly the slowest run at, rounded up, well above the stall on that dial; and what it would bring.

    That is the ratio of lift coefficients, stall over run [-].
    """
    heavy = max(weight, weight_of_legs)  # the heavier airplane stalls faster
    more = math.sqrt(heavy / weight)
    shown = float(indicated(ADVISED * more * stall, correction, a.instrument, heavy * GRAVITY))
    stalled = more * reading
    fly = math.ceil(from_si(max(shown, ABOVE_STALL * stalled), a.unit, "speed") - 1e-6)
    inner = float(a.instrument.corrected(to_si(fly, a.unit, "speed")))
    cas = float(correction.at(heavy * GRAVITY).corrected(inner))
    above = fly / from_si(stalled, a.unit, "speed") - 1.0
    text = (
        f"{fly} {a.unit} indicated, about {above:.0%} above the stall as this dial shows it at {heavy:.0f} kg "
        f"({from_si(heavy, 'lb', 'mass'):.0f} lb),"
    )
    return text, LIFT_AT_STALL * (cas / (more * stall)) ** 2
