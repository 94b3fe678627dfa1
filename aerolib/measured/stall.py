"""CLmax from stall speeds: every stall reduced, then stalls and flights brought together.

    L = n W - T sin(alpha + iT)          CL = L / (0.5 rho0 V**2 S)

V is the equivalent airspeed that was read, n the factor on the weight that gives the lift coefficient of the stalled
wing in steady flight at that speed, T the thrust, alpha + iT the angle between thrust line and flight path.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from aerolib.measured.airspeed.correction import SpeedCorrection
from aerolib.measured.assumptions import ErrorSizes, Thrust
from aerolib.measured.each import BELOW, ENDINGS, KINDS, STALLED, Given, States, reduce_each
from aerolib.measured.grouping import Card, bring_together
from aerolib.measured.results import StallReduction
from aerolib.ranges import ANGLE, RANGES, check

__all__ = ["ENDINGS", "KINDS", "STALLED", "ErrorSizes", "Thrust", "reduce_stalls"]


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
    pilot="",
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
    wing_area_uncertainty=math.nan,
    instrument: SpeedCorrection | None = None,
    position: Mapping[tuple[str, str], SpeedCorrection] | None = None,
    thrust: Mapping[str, Thrust] | None = None,
    thrust_angle=0.0,
    errors: ErrorSizes | None = None,
    inputs: Mapping[str, str] | None = None,
    draws: int = 0,
    seed: int = 1,
    progress=None,
) -> StallReduction:
    """CLmax, 1-g stall speed and lowest speeds of every configuration, from stalls.

    CL = (n W - T sin(alpha + iT)) / (0.5 rho0 V^2 S), grouped by modification, configuration and power

    Parameters
    ----------
    ias : array (N,) [m/s]
        What the needle showed; every other per-stall argument is (N,) too, or one value for all.
    wing_area : float or array (N,) [m2]
        One for each modification.
    weight : array (N,) [kg]
    reference_weight : float [kg]
        The weight that stall speeds are given at.
    speed_kind : text array (N,) [-]
        minimum (lowest seen), break (at the break), steady (held), unknown.
    ended : text array (N,) [-]
        break (nose or wing dropped), mush (sank without that, the stick short of its stop), stop (stick on the stop,
        still flying), early (recovered before), unknown.
    modification, configuration, power, flight : text array (N,) [-]
    pilot : text array (N,) [-]
        Who judged the entry rate; empty where not named, which counts as one and the same.
    below_scale : bool array (N,) [-]
        The needle was below its scale: `ias` is the end of the scale, a bound.
    flap : text array (N,) [-]
        What shares one position error; the configuration where None.
    pressure_altitude : array (N,) [m]
        NaN where unknown.
    temperature : array (N,) [K]
        NaN where unknown: the standard one.
    entry_rate : array (N,) [m/s2]
        Indicated airspeed lost over the last 10 % of it (from 1.1 times the lowest speed), over the seconds that took,
        positive; NaN where unknown.
    load_factor : array (N,) [-]
        Recorded, normal to the flight path; NaN where unknown. At a steady speed as it stood, else of highest lift:
        see `loadfactor.of_steady_flight`.
    sink_rate : array (N,) [m/s]
        Positive down; NaN where unknown.
    warning_ias, buffet_ias : array (N,) [m/s]
        NaN where unknown.
    weight_uncertainty : array (N,) [kg]
        Of one stall's weight, where it had to be guessed; NaN elsewhere.
    wing_area_uncertainty : float or array (N,) [m2]
        Standard, of the area of that modification; NaN: the share of `errors`.
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
    draws : int [-]
        Monte Carlo draws that check the intervals (JCGM 101); 100,000 are plenty, 0 does without.
    seed : int [-]
        Of the draws.
    progress : function (draws done) [-]
        Called now and then while drawing; an exception it raises stops the work.

    Returns
    -------
    StallReduction [-]

    Raises
    ------
    ValueError
        Nothing to reduce; a speed, weight or area that is not positive and finite; an unknown kind or ending;
        two wing areas in one modification.

    Valid range: airplanes below 10,000 ft and 100 kt; entry rates of 0.3 to 3 kt/s.
    Source: 14 CFR 25.103 for n in the coefficient; SFTE Reference Handbook 2013 ch. 4 for airspeed;
    JCGM 100:2008 for the uncertainty.
    """
    errors = errors or ErrorSizes()
    ias = np.atleast_1d(np.asarray(ias, dtype=float))
    n = len(ias)
    if n == 0:
        raise ValueError("no stalls were given; at least one is needed")

    def each(name, value, kind):
        try:
            return np.broadcast_to(np.asarray(value, dtype=kind), n)
        except ValueError:
            raise ValueError(
                f"{name} has {np.size(value)} values for {n} stalls; give one each, or one for all"
            ) from None

    def text(name, value):
        return each(name, value, np.str_)

    def real(name, value):
        return each(name, value, float)

    check("thrust_angle", thrust_angle, *ANGLE)
    warning_ias, buffet_ias = real("warning_ias", warning_ias), real("buffet_ias", buffet_ias)
    for name, speed in (("warning_ias", warning_ias), ("buffet_ias", buffet_ias)):
        check(name, speed[~np.isnan(speed)], *RANGES["speed"])
    modification, configuration = text("modification", modification), text("configuration", configuration)
    flap = configuration if flap is None else text("flap", flap)
    ended, below = text("ended", ended), each("below_scale", below_scale, bool)
    given = Given(
        ias=ias, weight=real("weight", weight), weight_uncertainty=real("weight_uncertainty", weight_uncertainty),
        kind=text("speed_kind", speed_kind), ended=ended, power=text("power", power),
        modification=modification, configuration=configuration, pilot=text("pilot", pilot),
        altitude=real("pressure_altitude", pressure_altitude), temperature=real("temperature", temperature),
        rate=real("entry_rate", entry_rate), load_factor=real("load_factor", load_factor),
        sink=real("sink_rate", sink_rate), wing_area=real("wing_area", wing_area),
        wing_area_uncertainty=real("wing_area_uncertainty", wing_area_uncertainty),
        reference_weight=float(reference_weight),
        states=States.of(modification, flap, position or {}, errors),
        instrument=instrument or SpeedCorrection(origin="none given"), thrust=thrust or {},
        thrust_angle=float(thrust_angle), errors=errors,
    )  # fmt: skip
    card = Card(
        modification=modification, configuration=configuration, power=given.power, flight=text("flight", flight),
        kind=given.kind, ended=ended, outcome=np.where(below, BELOW, np.where(np.isin(ended, STALLED), "break", ended)),
        margins={"warning": given.above_stall(warning_ias),
                 "buffet": given.above_stall(buffet_ias)},
        needle=given.needle, known_thrust={p: given.thrust_of(p).known for p in set(given.power.tolist())},
        wing_area=given.wing_area, reference_weight=given.reference_weight,
    )  # fmt: skip
    rng = np.random.default_rng(seed)
    return bring_together(reduce_each(given), card, errors, dict(inputs or {}), int(draws), rng, progress)
