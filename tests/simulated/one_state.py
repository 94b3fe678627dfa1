"""Simulated: legs flown in both states, in one, or in none, and the ratio of CLmax that follows from the same stalls.

Nothing here comes from the library but what is under test. The airspeed system of `calibrations` is common to both
states; what the modification changes of it is drawn anew, 1 to 2 kt (standard deviation) at the stall, and fades with
the lift coefficient at a rate of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from calibrations import CLMAX, KT, WEIGHT, WING_AREA, fly_legs, speed_at, true_error

from aerolib.measured.airspeed.calibration import calibrate_airspeed
from aerolib.measured.airspeed.correction import SpeedCorrection
from aerolib.measured.assumptions import ErrorSizes
from aerolib.measured.comparison import compare
from aerolib.measured.stalls import Stalls

FLOWN = {"both": ("before", "after"), "after only": ("after",), "before only": ("before",), "none": ()}
TRUTH = np.log(CLMAX["after"] / CLMAX["before"])
# kt of a stall and of a flight, of CL, a flight, in each state
READING, OF_A_FLIGHT, DAY, STALLS, FLIGHTS = 0.6, 0.8, 0.012, 4, 2
ASSUMED = ErrorSizes()


@dataclass(frozen=True)
class Ratio:
    """ln of the ratio less its truth, half of its 95 % interval, and whether the interval holds the truth."""

    off: float
    half: float
    holds: bool


def campaign(seed, flown=tuple(FLOWN)):
    """One airplane, its stalls, and the comparison by which legs were flown; '... as zero' takes the other as right."""
    rng = np.random.default_rng(seed)
    base, scale = true_error(rng), 1.0 + rng.normal(0.0, 0.005)
    change, fades = rng.normal(0.0, rng.uniform(1.0, 2.0)), rng.uniform(0.5, 2.0)  # kt at the stall, -

    def shown(cas, cl, modification):
        needle = base(cas, cl, "before")
        return needle - change * (cl / CLMAX["after"]) ** fades * (modification == "after")

    rows = []
    for m, clmax in CLMAX.items():
        for flight in range(FLIGHTS):
            day, eye = rng.normal(0.0, DAY), rng.normal(0.0, OF_A_FLIGHT)
            for _ in range(STALLS):
                cl = clmax * np.exp(day)
                needle = scale * float(shown(speed_at(cl), cl, m)) + eye + rng.normal(0.0, READING)
                rows.append((m, f"{m[0]}{flight}", needle * KT))
    modification, flight, ias = (np.array(x) for x in zip(*rows))
    stalls = {(m, "flap 0"): (float(np.median(ias[modification == m])), WEIGHT) for m in CLMAX}
    legs = fly_legs(rng, shown, scale, rng.uniform(0.3, 0.9), ("before", "after"))
    out = {}
    for name in flown:
        which = FLOWN[name.removesuffix(" as zero")]
        mine = np.isin(legs["modification"], which)
        position = {}
        if which:
            some = {k: np.asarray(v)[mine] if np.ndim(v) == 1 else v for k, v in legs.items()}
            position = calibrate_airspeed(**some, stalls=stalls).corrections
        if name.endswith(" as zero"):
            zero = SpeedCorrection(standard_uncertainty=ASSUMED.position, origin="zero")
            position = {s: c if s[0] in which else zero for s, c in position.items()}
        change_ = compare(Stalls(**{
            "ias": ias, "modification": modification, "flight": flight, "speed_kind": "steady", "load_factor": 1.0,
            "wing_area": WING_AREA, "weight": WEIGHT, "reference_weight": WEIGHT, "configuration": "clean",
            "flap": "flap 0", "pressure_altitude": 0.0, "entry_rate": 0.0, "position": position,
        }))["clean"]  # fmt: skip
        low, high = np.log(change_.ratio.interval95)
        out[name] = Ratio(np.log(change_.ratio.value) - TRUTH, 0.5 * (high - low), low < TRUTH < high)
    return out


def table(campaigns):
    """Lines of text: how often each kind of campaign holds its truth, how wide it is, how far off."""
    for name in campaigns[0]:
        off, half, holds = np.array([(c[name].off, c[name].half, c[name].holds) for c in campaigns]).T
        yield (f"  {name:20s} {holds.mean():.1%} hold, half-width {100 * np.median(half):.1f} %, root mean square off "
               f"{100 * np.sqrt(np.mean(off**2)):.1f} %")  # fmt: skip


if __name__ == "__main__":
    everything = (*FLOWN, "after only as zero", "before only as zero")
    print(*table([campaign(seed, everything) for seed in range(1000, 1300)]), sep="\n")
