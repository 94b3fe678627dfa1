"""Simulated calibration campaigns: legs flown in a wind on an airspeed system whose true error follows the incidence.

Nothing here comes from the library but what is under test: the true error has three forms, none of them the one the
calibration fits, and every size is drawn anew for each campaign.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aerolib.measured.airspeed.calibration import calibrate_airspeed

KT, G, RHO0 = 1852 / 3600, 9.80665, 1.225
WING_AREA, WEIGHT = 10.6, 560.0
CLMAX = {"before": 1.45, "after": 1.65}
ADVICE = (1.7, 1.35, 1.12)  # runs at these multiples of the stalling speed
RECEIVER = 0.2  # kt, one leg
DENSITY_RATIO = 0.8881  # at 4000 ft, standard day (ICAO table; from memory)


@dataclass(frozen=True)
class Outcome:
    """One state of one campaign: error of the corrected stall speed and what was said of it [kt]."""

    error: float
    half: float  # 95 %
    oracle: float  # 95 % half-width for who is told the form and every size of the true error, but its level
    origin: str
    notes: tuple[str, ...]


def speed_at(cl):
    """CAS [kt] of level flight at a lift coefficient."""
    return np.sqrt(2 * WEIGHT * G / (RHO0 * WING_AREA * cl)) / KT


def incidence(cl):
    """Body incidence [deg]: straight, then bending over towards the stall."""
    return -2.0 + 11.5 * cl + 1.5 * np.maximum(cl - 1.1, 0.0) ** 2 / 0.3


def true_error(rng):
    """Function (cas [kt], cl, modification) -> needle [kt] of one invented airspeed system without indicator error."""
    form = rng.integers(3)
    shift = rng.normal(0.0, 0.02)  # of the pressure coefficient: what the change does to it
    tilt = rng.normal(0.0, 0.0015)  # the same, for each degree
    if form == 0:  # knots over incidence
        c0, k = rng.normal(1.0, 1.0), rng.uniform(0.05, 0.40)

        def needle(cas, alpha):
            return cas + c0 - k * (alpha - 4.0)
    else:  # a static port, and a tube that loses pressure beyond 13 degrees
        c0, c1, loss = rng.normal(0.0, 0.05), rng.normal(0.005, 0.004), rng.uniform(0.0, 0.0015) * (form == 2)

        def needle(cas, alpha):
            return cas * np.sqrt(1.0 - (c0 + c1 * (alpha - 4.0) + loss * np.maximum(alpha - 13.0, 0.0) ** 2))

    def shown(cas, cl, modification):
        alpha = incidence(cl)
        out = needle(cas, alpha)
        return out * np.sqrt(1.0 - shift - tilt * (alpha - 4.0)) if modification == "after" else out

    return shown


def fly(seed, *, calibrated=("before", "after"), multiples=ADVICE, legs=4, wind_kt=25.0):
    """One campaign: the states' outcomes by modification."""
    rng = np.random.default_rng(seed)
    shown, scale = true_error(rng), 1.0 + rng.normal(0.0, 0.005)
    held = rng.uniform(0.3, 0.9)  # kt, one leg
    flown = fly_legs(rng, shown, scale, held, calibrated, multiples, legs, wind_kt)
    stalls = {}
    for m, clmax in CLMAX.items():
        cas = speed_at(clmax / 0.95)
        stalls[m] = (scale * float(shown(cas, clmax, m)), cas)
    result = calibrate_airspeed(**flown, stalls={(m, "flap 0"): (r * KT, WEIGHT) for m, (r, _) in stalls.items()})
    out = {}
    of_a_run = np.hypot(np.hypot(held, RECEIVER), np.sqrt(2) * 0.29) * np.sqrt(DENSITY_RATIO) / np.sqrt(legs)
    oracle = 1.96 * np.hypot(of_a_run, 0.35) / np.sqrt(len(multiples))
    for m, (reading, cas) in stalls.items():
        s = result[m, "flap 0"]
        if s.at_stall is None:
            out[m] = Outcome(reading - cas, 1.96 * result.assumed / KT, oracle, s.origin, s.notes)
        else:
            out[m] = Outcome(reading + s.at_stall / KT - cas, 1.96 * s.standard_uncertainty / KT, oracle, s.origin,
                             s.notes)  # fmt: skip
    return out


def fly_legs(rng, shown, scale, held, calibrated, multiples=ADVICE, legs=4, wind_kt=25.0):
    """What `calibrate_airspeed` takes: runs of legs at idle in the states named, held to so many knots."""
    rows, quarters = [], 2 * np.pi * np.arange(legs) / legs
    for modification in calibrated:
        wind = rng.uniform(0.0, wind_kt)
        direction = rng.uniform(0.0, 2 * np.pi)
        for multiple in multiples:
            cas = multiple * speed_at(CLMAX[modification])
            needle = round(scale * float(shown(cas, cas_to_cl(cas), modification)))  # flown on a whole mark
            cas = solve(lambda v, m=modification: scale * shown(v, cas_to_cl(v), m), needle + rng.normal(0.0, 0.35))
            tas = (cas + rng.normal(0.0, held, legs)) / np.sqrt(DENSITY_RATIO)
            heading = quarters + rng.uniform(0.0, 2 * np.pi) + rng.normal(0.0, np.radians(5.0), legs)
            east = tas * np.sin(heading) + wind * np.sin(direction)
            north = tas * np.cos(heading) + wind * np.cos(direction)
            track = np.round(np.degrees(np.arctan2(east, north)) + rng.normal(0.0, 0.5, legs)) % 360
            speed = np.round(np.hypot(east, north) + rng.normal(0.0, RECEIVER, legs))  # whole knots, whole degrees
            rows += [(needle, s, t, modification, f"{multiple}") for s, t in zip(speed, track)]
    ias, gs, track, modification, run = zip(*rows)
    return {
        "ias": np.array(ias) * KT, "ground_speed": np.array(gs) * KT, "track": np.radians(track), "run": run,
        "modification": modification, "flap": "flap 0", "power": "idle", "pressure_altitude": 4000 * 0.3048,
        "temperature": 288.15 - 0.0065 * 4000 * 0.3048, "weight": WEIGHT, "wing_area": WING_AREA,
    }  # fmt: skip


def cas_to_cl(cas):
    """Lift coefficient of level flight at a CAS [kt]."""
    return 2 * WEIGHT * G / (RHO0 * WING_AREA * (cas * KT) ** 2)


def solve(function, target):
    """CAS [kt] at which a rising function of it is `target`, by bisection."""
    low, high = 20.0, 160.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if function(middle) < target else (low, middle)
    return 0.5 * (low + high)
