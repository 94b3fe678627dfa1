"""Power of the two-sample t test: the textbook answer a test plan is held against."""

from __future__ import annotations

import numpy as np
from scipy.special import nctdtr, stdtrit

from aerolib.ranges import in_range


@in_range(n=(0.0, 1e6, "-"))
def two_sample_power(effect, n, alpha: float = 0.05):
    """Power of the two-sided two-sample t test, one standard deviation in both samples.

    P(|t'| > t(1 - alpha/2, df)), df = 2 n - 2, noncentrality effect sqrt(n / 2)

    Parameters
    ----------
    effect : float or array [-]
        Difference of the means over the standard deviation.
    n : int or array [-]
        In each sample.
    alpha : float [-]

    Returns
    -------
    float or array [-]

    Valid range: independent values: the stalls of one flight, or the means of flights.
    Source: Cohen, Statistical Power Analysis for the Behavioral Sciences (1988), chapter 2 (from memory).
    """
    effect, n = np.abs(np.asarray(effect, dtype=float)), np.asarray(n, dtype=float)
    if np.any(n < 2) or np.any(n != np.round(n)) or not (np.all(np.isfinite(effect)) and 0.0 < alpha < 1.0):
        raise ValueError("n must be whole numbers, 2 or more; the effect finite; alpha between 0 and 1")
    df, nc = 2.0 * n - 2.0, effect * np.sqrt(n / 2.0)
    t = stdtrit(df, 1.0 - alpha / 2.0)
    with np.errstate(all="ignore"):  # where a tail of it is NaN, that tail holds nothing
        below, far_below = (np.nan_to_num(nctdtr(df, nc, x)) for x in (t, -t))
    return np.clip(1.0 - below + far_below, 0.0, 1.0)[()]
