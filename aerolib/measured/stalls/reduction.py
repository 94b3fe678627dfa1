"""CLmax from stall speeds: every stall reduced, then stalls and flights brought together.

    L = n W - T sin(alpha + iT)          CL = L / (0.5 rho0 V**2 S)

V is the equivalent airspeed that was read, n the factor on the weight that gives the lift coefficient of the stalled
wing in steady flight at that speed, T the thrust, alpha + iT the angle between thrust line and flight path.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from aerolib.measured.stalls.each import reduce_each
from aerolib.measured.stalls.grouping import bring_together
from aerolib.measured.stalls.record import Stalls
from aerolib.measured.stalls.results import StallReduction


def reduce_stalls(
    ias, *, draws: int = 0, seed: int = 1, progress: Callable[[int], object] | None = None, **given
) -> StallReduction:
    """CLmax, 1-g stall speed and lowest speeds of every configuration, from stalls.

    CL = (n W - T sin(alpha + iT)) / (0.5 rho0 V^2 S), grouped by modification, configuration and power

    Parameters
    ----------
    ias : Stalls [SI], or array (N,) [m/s]
        The record, or what the needle showed; then the record's other fields are given by name: arrays (N,), or one
        value for all. `wing_area` [m2], `weight` [kg] and `reference_weight` [kg] cannot be left out.
    draws : [-]
        Monte Carlo draws that check the intervals (JCGM 101); 100,000 are plenty, 0 does without.
    seed : [-]
        Of the draws.
    progress : function (draws done) [-]
        Called now and then while drawing; an exception it raises stops the work.
    given : fields of `Stalls` [SI]
        `speed_kind`: minimum (lowest seen), break (at the break), steady (held), unknown. `ended`: break (nose or wing
        dropped), mush (sank without that, the stick short of its stop), stop (stick on the stop, still flying), early
        (recovered before), unknown. `entry_rate` [m/s2]: indicated airspeed lost over the last 10 % of it (from 1.1
        times the lowest speed), over the seconds that took. `load_factor` [-]: recorded, normal to the flight path; at
        a steady speed as it stood, else of highest lift: see `loadfactor.of_steady_flight`. `position`: corrections by
        (modification, flap); `thrust` by power: 'idle' and 'off' default to zero with an interval about it, any other
        power is unknown and its coefficient called apparent.

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
    stalls = ias if isinstance(ias, Stalls) else Stalls(ias=ias, **given)
    return bring_together(reduce_each(stalls), stalls, int(draws), np.random.default_rng(seed), progress)
