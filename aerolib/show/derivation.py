"""The reduction of one stall with its own numbers put in."""

from __future__ import annotations

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.show.finding import Steps
from aerolib.study import Study
from aerolib.units import from_si, knots, on_dial


def derivation(study: Study, k: int) -> Steps:
    """The steps from the needle to CL for stall k [-] of those used, with TeX formulae."""
    p, s, dial = study.reduction.points, study.stalls, study.dial_unit
    ias, cas, rate = s.si["ias"][k], p.cas[k], p.entry_rate[k]
    n, weight, area = p.load_factor[k], s.weight[k], p.wing_area[k]
    bound = " (a lower limit: below the indicator's scale)" if s.below_scale[k] else ""
    noted = f"{from_si(rate, 'kt/s', 'acceleration'):.2f} kt/s" if np.isfinite(rate) else "not noted"
    in_knots = "" if dial == "kt" else f" ({knots(ias):.1f} kt)"
    steps = [
        f"The indicator showed {on_dial(ias, dial, 1)}{in_knots}{bound}. Corrections for lag, instrument and "
        f"position add {knots(cas - ias):+.2f} kt: calibrated {knots(cas):.2f} kt = {cas:.3f} m/s.",
        f"Load factor n = {n:.3f} (from: {p.load_factor_origin[k]}; entry rate {noted}).",
        f"Weight {weight:.1f} kg, so $W = {weight:.1f} \\times {GRAVITY:.5g} = {weight * GRAVITY:.0f}$ N; the thrust "
        "is taken as zero within its interval unless one is given.",
        f"$$C_L=\\frac{{n\\,W - T\\sin(\\alpha+i_T)}}{{\\frac12\\rho_0V^2S}}\\approx\\frac{{{n:.3f}\\times"
        f"{weight * GRAVITY:.0f}}}{{0.5\\times{DENSITY_0:g}\\times{cas:.3f}^2\\times{area:.3f}}}={p.cl[k]:.3f}$$",
        f"With n = 1 it would read {p.cl_with_n_equal_1[k]:.3f}. Standard uncertainty of this one stall: "
        f"{p.standard_uncertainty[k]:.3f}, of which {p.own_uncertainty[k]:.3f} is its own and the rest is shared.",
    ]
    if p.outcome[k] != "break":
        steps.append(f"This stall ended '{s.text['ended'][k]}'{bound}: a lower bound of CLmax, not averaged.")
    return Steps(tuple(steps), ordered=True)
