"""The airspeed system calibrated from legs flown against a satellite receiver.

Every run gives one true airspeed (`calibration_circle`); over the runs, the error of the system as a pressure
coefficient over lift coefficient, modification and flap setting (`calibration_model`); from that the correction of
every state, carried to the stall by a stated ratio of lift coefficients and no further.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

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
from aerolib.measured.airspeed.doubts import POSSIBLE, Sketch, misread_leg, unit_ratio
from aerolib.measured.airspeed.model import CalibrationSizes
from aerolib.measured.airspeed.results import AirspeedCalibration, Run, StateCalibration
from aerolib.measured.assumptions import KNOT, ErrorSizes, Thrust
from aerolib.measured.labels import joined, unique_rows
from aerolib.units import from_si, knots, on_dial

FURTHEST = 1.5  # ratio of lift coefficients, stall over slowest run, beyond which nothing is carried: our judgement
WORTH_A_SLOWER_RUN = 1.35  # ratio beyond which one is asked for: our judgement
ADVISED = 1.1  # times the calibrated stalling speed: how slow the slowest run should be
ABOVE_STALL = 1.05  # times the stall on the dial: no run is advised below it: our judgement
LIFT_AT_STALL = 0.95  # of the weight, at the lowest speed: middle of the library's own load factors
HEIGHTS_APART, HEIGHTS_WARNED = 150.0, 60.0  # [m] between legs of one run
READINGS_APART = 1.6  # [m/s] between legs of one run: 3 kt
UNLIKE = 3.0  # residuals over what a leg is good for, beyond which the run is doubted
GRID = np.geomspace(0.1, 5.0, 260)  # lift coefficients a correction is tabulated at
IDLE = ("idle", "off")
USUAL_POSITION = ErrorSizes().position


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
    follows 14 CFR 23.1323's split of position and instrument error; sizes are our judgement.
    """
    errors, sizes = errors or ErrorSizes(), sizes or CalibrationSizes()
    ias = np.atleast_1d(np.asarray(ias, dtype=float))
    given = {"ground_speed": ground_speed, "track": track, "heading": heading, "sink_rate": sink_rate,
             "pressure_altitude": pressure_altitude, "temperature": temperature, "weight": weight}  # fmt: skip
    try:
        legs = {"ias": ias} | {k: np.broadcast_to(np.asarray(v, dtype=float), ias.shape) for k, v in given.items()}
        names = {"modification": modification, "flap": flap, "run": run, "power": power}
        text = {k: np.broadcast_to(np.asarray(v, dtype=np.str_), ias.shape) for k, v in names.items()}
    except ValueError:
        raise ValueError("every column of the legs needs one value a leg, or one for all") from None
    for name in ("ias", "weight"):
        if not np.all(np.isfinite(legs[name]) & (legs[name] > 0.0)):
            raise ValueError(f"{name} of every leg must be positive and finite")
    if not wing_area > 0.0:
        raise ValueError(f"the wing area must be positive; it is {wing_area}")
    instrument = instrument or SpeedCorrection(origin="none given")
    keys, index = unique_rows(text["modification"], text["flap"], text["run"]) if len(ias) else ([], np.array([], int))
    raw, refused = [], []
    for k, key in enumerate(keys):
        where = np.flatnonzero(index == k)
        mine = {name: v[where] for name, v in (legs | text).items()}
        try:
            raw.append(_one_run(key, where, mine, instrument, wing_area, sizes, speed_unit))
        except ValueError as e:
            refused.append(f"{_name(key)}: {e}")
    sound = [r for r in raw if not r.torn]
    doubt = unit_ratio([r.ratio for r in sound], [r.cl for r in sound])
    if doubt is not None and doubt.sure:
        refused.append(f"{doubt}: is one column in another unit, such as mph for kt? No run was used")
        return AirspeedCalibration((), (), tuple(refused), sizes.leg, errors.position, doubt=doubt)
    raw, misread, out = _without_misread(raw, sizes)
    refused += out
    leg, freedom = _pooled([r.circle for r in raw], sizes)
    runs = []
    for r in raw:
        runs.append(_reduced(r.key, r.legs, r.circle, r.notes, leg, freedom, instrument, thrust or {}, thrust_angle,
                             wing_area, errors))  # fmt: skip
    states = _states(runs, stalls or {}, wing_area, instrument, errors, sizes, speed_unit)
    states = tuple(replace(s, speed_unit=speed_unit) for s in states)
    runs = tuple(replace(r, speed_unit=speed_unit) for r in runs)
    return AirspeedCalibration(states, runs, tuple(refused), leg, errors.position, misread=tuple(misread), doubt=doubt,
                               speed_unit=speed_unit)  # fmt: skip


def _name(key) -> str:
    return f"{joined(*key[:2])}, run {key[2]}"


def _one_run(key, where, legs, instrument, wing_area, sizes, unit) -> Sketch:
    """One run with its circle, or ValueError with the reason it cannot be used."""
    notes = []
    heights, readings = np.ptp(legs["pressure_altitude"]), np.ptp(legs["ias"])
    if not np.all(np.isfinite(legs["pressure_altitude"])):
        raise ValueError("the pressure altitude of a leg is not known, and with it the density; note it")
    if heights > HEIGHTS_APART:
        raise ValueError(f"its legs lie {heights / 0.3048:.0f} ft apart in height, where wind and density differ; "
                         "fly them at one height")  # fmt: skip
    if heights > HEIGHTS_WARNED:
        notes.append(f"legs {heights / 0.3048:.0f} ft apart in height: the wind may differ")
    if readings > READINGS_APART:
        raise ValueError(f"its legs were flown at readings {on_dial(readings, unit, 1)} apart; legs of one run need "
                         "one reading (give each speed a run of its own)")  # fmt: skip
    if len(set(legs["power"].tolist())) > 1:
        raise ValueError("its legs were flown with more than one power; legs of one run need one")
    tracks, headings = (bool(np.all(np.isfinite(legs[n]))) for n in ("track", "heading"))
    if not (tracks or headings):
        raise ValueError("a leg has no track (or, instead, every leg a heading); note it")
    h, t = legs["pressure_altitude"].mean(), _air(legs)[0]
    expected = float(true_airspeed(instrument.corrected(legs["ias"].mean()), h, t))
    circle = fit_circle(legs["ground_speed"], legs["track"] if tracks else None,
                        heading=None if tracks else legs["heading"],
                        sink_rate=np.nan_to_num(legs["sink_rate"]), leg=sizes.leg, expected=expected)  # fmt: skip
    if circle.wind_speed > circle.airspeed:
        notes.append("the wind was stronger than the airspeed")
    elif not tracks:
        notes.append("from headings: the airspeed was taken as stronger than the wind")
    shown = float(instrument.corrected(legs["ias"].mean()))
    cl = legs["weight"].mean() * GRAVITY / (0.5 * DENSITY_0 * shown**2 * wing_area)
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
            refused.append(f"{_name(r.key)}: its legs miss one circle by {knots(r.scatter):.0f} kt, and nothing tells "
                           "which of them: a leg misread, or legs of different hours or places; correct it, or give a "
                           "reason in `left_out`")  # fmt: skip
            continue
        if abs(r.ratio) > POSSIBLE:
            refused.append(f"{_name(r.key)}: its airspeed comes out as {math.exp(r.ratio):.2f} times what the needle "
                           "says: is one of the columns in another unit, or a leg misread?")  # fmt: skip
            continue
        kept.append(r)
    return kept, misread, refused


def _air(legs) -> tuple[float | None, bool]:
    """Mean temperature of a run [K], None where none was noted; and whether all were."""
    t = legs["temperature"]
    known = np.isfinite(t)
    return (float(t[known].mean()) if known.any() else None), bool(known.any())


def _pooled(circles, sizes) -> tuple[float, int]:
    """Standard uncertainty of one leg from what is assumed and the residuals of all runs; degrees of freedom."""
    squares = sum(float(c.residuals @ c.residuals) for c in circles)
    freedom = sum(len(c.residuals) - 3 for c in circles)
    return math.sqrt((sizes.leg_weight * sizes.leg**2 + squares) / (sizes.leg_weight + freedom)), freedom


def _reduced(key, legs, circle, notes, leg, freedom, instrument, thrust, thrust_angle, wing_area, errors) -> Run:
    """One run with its calibrated airspeed and lift coefficient."""
    h, (t, noted) = float(legs["pressure_altitude"].mean()), _air(legs)
    cas = float(calibrated_from_true(circle.airspeed, h, t))
    ias = float(legs["ias"].mean())
    sink, power, weight = float(np.nan_to_num(legs["sink_rate"]).mean()), str(legs["power"][0]), legs["weight"].mean()
    lift = weight * GRAVITY * math.cos(math.asin(min(sink / circle.airspeed, 0.9)))
    q_area = 0.5 * DENSITY_0 * cas**2 * wing_area
    given = thrust.get(power)
    if given is not None and given.known:
        # The incidence goes about as the lift coefficient: 15 degrees where it is 1.5.
        lift -= given.value * math.sin(errors.stall_incidence * min(1.0, lift / q_area / 1.5) + thrust_angle)
    scatter = math.sqrt(float(circle.residuals @ circle.residuals) / max(len(circle.residuals) - 3, 1))
    notes = list(notes)
    if len(circle.residuals) == 3:
        notes.append("three legs fit exactly: a fourth would show a wind that changed")
    elif scatter > UNLIKE * leg or scatter > 2.0 * KNOT:
        worst = int(np.argmax(np.abs(circle.residuals))) + 1
        notes.append(f"its legs miss one circle by {knots(scatter):.1f} kt, leg {worst} by most: another "
                     "place, height or hour, a wind that changed, or a leg misread")  # fmt: skip
    if not noted:
        notes.append("temperature not noted: the standard one was taken, within 16 K")
    own = max(leg / circle.leg, 0.5 * scatter / circle.leg if freedom else 0.0)
    return Run(*key, power, circle, ias, float(instrument.corrected(ias)), cas, lift / q_area,
               cas / circle.airspeed * own * circle.standard_uncertainty, h,
               t if t is not None else float(standard_temperature(h)), noted, float(weight), tuple(notes))  # fmt: skip


def _states(runs, stalls, wing_area, instrument, errors, sizes, unit) -> tuple[StateCalibration, ...]:
    flown = list(dict.fromkeys((r.modification, r.flap) for r in runs))
    wanted = list(dict.fromkeys([*flown, *stalls]))
    if not wanted:
        return ()
    sources = model.sources_of(wanted)
    stretch = errors.position / USUAL_POSITION
    y = np.array([1.0 - (r.inner / r.cas) ** 2 for r in runs])
    points = model.Points(
        np.array([r.modification for r in runs], dtype=np.str_), np.array([r.flap for r in runs], dtype=np.str_),
        np.array([r.cl for r in runs]), np.array([r.ias for r in runs]), 1.0 - y,
        instrument.uncertainty(np.array([r.ias for r in runs])),
        np.array([(sizes.thermometer if r.noted else sizes.no_thermometer) / r.temperature for r in runs]),
        np.array([r.noted for r in runs], dtype=bool), np.array([r.power not in IDLE for r in runs], dtype=float),
    )  # fmt: skip
    legs = model.design(points, sources, errors.indicator_scale, sizes, stretch)
    noise = np.array([2.0 * (1.0 - yy) * math.hypot(r.own / r.cas, sizes.needle / r.inner) for yy, r in zip(y, runs)])
    names = [Source(model.LEGS, "state", f"{joined(r.modification, r.flap)}, run {r.run}") for r in runs]
    out, again = [], {}
    for state in wanted:
        lender = state if state in flown else next((s for s in flown if s[1] == state[1]), None)
        if lender is None:
            out.append(StateCalibration(*state, "assumed", None, 0, None, None, None, None, None, None))
            continue
        mine = [r for r in runs if (r.modification, r.flap) == lender]
        weight = stalls[state][1] if state in stalls else mine[0].weight
        fitted = (y, noise, legs, sources, names)
        correction = _tabulated(lender, max(r.cl for r in mine), weight, fitted, wing_area, instrument, errors, sizes,
                                stretch)  # fmt: skip
        if lender != state:
            correction = borrowed(correction, lender, state, errors.change)
        again[state] = (state, lender, mine, correction, stalls.get(state), wing_area, instrument, unit)
        out.append(_state(*again[state]))
    # Beyond its reach nothing is carried; but beside a state that has its correction, none would be a change of CLmax.
    carried = {s.flap for s in out if s.correction is not None}
    return tuple(_state(*again[s.modification, s.flap], position=errors.position)
                 if s.correction is None and s.flap in carried else s for s in out)  # fmt: skip


def _tabulated(state, slowest, weight, fitted, wing_area, instrument, errors, sizes, stretch) -> LiftCorrection:
    """The correction of a state over the lift coefficient, as a table of its ratio and of every source's part."""
    y, noise, legs, sources, names = fitted
    cl = np.minimum(GRID, FURTHEST * slowest)
    speed = np.sqrt(2.0 * weight * GRAVITY / (DENSITY_0 * wing_area * GRID))
    value = np.zeros_like(cl)
    for _ in range(2):  # the indicator's part needs the reading, which needs the value: twice is plenty
        kept = np.clip(1.0 - value, 0.3, 2.0)
        reading = speed * np.sqrt(kept)
        label = np.full(len(cl), "")
        here = model.Points(label.astype(object), label.astype(object), cl, reading, kept,
                            instrument.uncertainty(reading), np.zeros_like(cl), np.ones(len(cl), bool),
                            np.zeros_like(cl))  # fmt: skip
        here.modification[:], here.flap[:] = state
        wanted = model.design(here, sources, errors.indicator_scale, sizes, stretch)
        value, of_sources, of_runs = model.predict(y, noise, legs, wanted)
    kept = np.clip(1.0 - value, 0.3, 2.0)
    half = 0.5 / kept
    parts = {s: half * of_sources[:, k] for k, s in enumerate(sources)}
    parts |= {s: half * of_runs[:, k] for k, s in enumerate(names)}
    # Port and tube are the same at every flap setting: what lies beyond the legs is one error for one modification.
    beyond = sizes.extension * stretch * np.maximum(GRID / slowest - 1.0, 0.0)
    parts[Source(model.EXTENSION, "state", state[0])] = half * beyond
    order = slice(None, None, -1)  # reading over the root of the lift rises as the lift coefficient falls
    key = (speed * np.sqrt(kept) / math.sqrt(weight * GRAVITY))[order]
    return LiftCorrection(key, (1.0 / np.sqrt(kept))[order],
                          {s: p[order] for s, p in parts.items() if np.max(np.abs(p)) > 1e-5})  # fmt: skip


def _state(state, lender, mine, correction, stall, wing_area, instrument, unit, position=None) -> StateCalibration:
    """One state at its stall; `position`: the assumed error [m/s] about a correction that is kept beyond its reach."""
    slowest = max(mine, key=lambda r: r.cl)
    origin = "legs" if lender == state else "legs of another state"
    notes = []
    if lender != state:
        notes.append(
            f"no legs in this state: the correction is that of '{lender[0]}' at the same flap, with more uncertainty, "
            "since a device that raises the stall angle moves pitot tube and static port to another angle of attack; "
            "fly legs in this state"
        )
    if stall is None:
        return StateCalibration(*state, origin, correction, len(mine), None, None, None, None, slowest.ias, slowest.cl,
                                tuple(notes))  # fmt: skip
    reading, weight = stall
    bound = correction.at(LIFT_AT_STALL * weight * GRAVITY)
    inner = float(instrument.corrected(reading))
    cas = float(bound.corrected(inner))
    ratio = LIFT_AT_STALL * weight * GRAVITY / (0.5 * DENSITY_0 * cas**2 * wing_area) / slowest.cl
    slower = _slow_run(cas, reading, weight, slowest.weight, correction, instrument, unit)
    if ratio > FURTHEST and position is not None:
        far = Source(model.EXTENSION, "state", joined(*state))
        reach = inner * math.sqrt(ratio / FURTHEST / bound.lift)
        error = np.where(correction.key < reach, position / cas, 0.0)
        correction = replace(correction, parts={**correction.parts, far: error})
        bound, origin = correction.at(bound.lift), "legs, out of reach" if lender == state else origin
        notes.append(
            f"the stall lies at {ratio:.2f} times the lift coefficient of the slowest run, further than a correction "
            f"is carried ({FURTHEST:g}): that of {FURTHEST:g} times is kept, since another state has one at this flap, "
            f"and the assumed error of ± {on_dial(K95 * position, unit, 1)} stands about it; a run near {slower} "
            "indicated would help"
        )
    elif ratio > FURTHEST:
        notes.append(
            f"the stall lies at {ratio:.2f} times the lift coefficient of the slowest run "
            f"({on_dial(slowest.ias, unit)} indicated), further than a correction is carried ({FURTHEST:g}), so the "
            f"assumed error stands; a run near {slower} indicated, 1.1 times the calibrated stall speed, would help"
        )
        return StateCalibration(*state, "assumed", None, len(mine), reading, None, None, ratio, slowest.ias,
                                slowest.cl, tuple(notes))  # fmt: skip
    if FURTHEST >= ratio > WORTH_A_SLOWER_RUN:
        notes.append(
            f"carried to the stall by a ratio of lift coefficients of {ratio:.2f}; a run near {slower} indicated would "
            f"make it {LIFT_AT_STALL * ADVISED**2:.2f}"
        )
    powers = {r.power for r in mine}
    if not powers & set(IDLE):
        notes.append(
            f"flown with power ({', '.join(sorted(powers))}), which the stall is not: an extra error stands for it; "
            "one gliding run would show it"
        )
    return StateCalibration(*state, origin, correction, len(mine), reading, cas - reading,
                            float(bound.uncertainty(inner)), ratio, slowest.ias, slowest.cl, tuple(notes))  # fmt: skip


def _slow_run(stall, reading, weight, weight_of_legs, correction, instrument, unit) -> str:
    """Reading to fly the slowest run at, rounded up: never below the stall as the dial of that state shows it."""
    heavy = max(weight, weight_of_legs)  # the heavier airplane stalls faster
    more = math.sqrt(heavy / weight)
    shown = float(indicated(ADVISED * more * stall, correction, instrument, heavy * GRAVITY))
    shown = from_si(max(shown, ABOVE_STALL * more * reading), unit, "speed")
    return f"{math.ceil(shown - 1e-6)} {unit}"
