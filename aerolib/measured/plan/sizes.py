"""What a stall to be flown will err by: the sources of the reduction, before anybody flies."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.measured.airspeed.correction import SpeedCorrection
from aerolib.measured.assumptions import KNOT, ErrorSizes
from aerolib.measured.stalls.each import reduce_each
from aerolib.measured.stalls.loadfactor import load_factors
from aerolib.measured.stalls.parts import Parts
from aerolib.measured.stalls.record import Stalls

# [m/s2] about the certification entry rate, 14 CFR 23.201, as entries by hand scatter: our judgement
USUAL_RATES = np.array([0.7, 1.0, 1.4]) * KNOT


@dataclass(frozen=True)
class Sizes:
    """Standard deviations of ln CL [-] of a stall to be flown, by what shares them."""

    stall: float
    loading: float  # known of every flight
    day: float  # median of the prior of what else differs among flights, without the next
    seen: float  # readings and rates that a flight has in common
    day_log_sd: float
    state: float  # of each state beyond its position error
    flown: float  # lowest speed as flown [m/s]: below the 1-g stall speed by the root of the load factor

    @classmethod
    def of(cls, speed: float, weight: float, errors: ErrorSizes) -> Sizes:
        """A few stalls in each of two states through `reduce_each`: the sources that `compare` will find."""
        state = np.repeat([0, 1], len(USUAL_RATES))
        two, rate = np.array(["before", "after"])[state], np.tile(USUAL_RATES, 2)
        nan, fixed = np.full(len(state), math.nan), SpeedCorrection(origin="position error apart")
        kind, ended = (np.full(len(state), x) for x in ("minimum", "break"))
        flown = speed * np.sqrt(load_factors(kind, ended, rate, nan, nan, np.full(len(state), speed)).n)
        effects = reduce_each(Stalls(
            ias=flown, weight=np.array(weight), modification=two, pressure_altitude=np.zeros(1), entry_rate=rate,
            wing_area=np.ones(1), reference_weight=weight, instrument=fixed, errors=errors,
            position={(m, "clean"): fixed for m in ("before", "after")},
        )).effects  # fmt: skip
        parts = Parts(effects, state, ["before", "after"], errors.day)
        of_states = parts.shared_rows @ np.where(state, 1.0, -1.0) / len(USUAL_RATES)
        return cls(
            math.sqrt(np.mean(parts.stall_variance)), math.sqrt(parts.flight_variance[0]), errors.day,
            math.sqrt(max(parts.flight_median() ** 2 - errors.day**2, 0.0)), errors.day_log_sd,
            float(np.linalg.norm(of_states)) / math.sqrt(2.0), float(np.mean(flown)),
        )  # fmt: skip
