"""Prediction meets measurement: the predicted change as prior, the measured one as likelihood, and what both leave.

    1/s^2 = 1/s_p^2 + 1/s_m^2,   x = s^2 (x_p / s_p^2 + x_m / s_m^2),   z = (x_m - x_p) / sqrt(s_p^2 + s_m^2)

The verdict of a comparison never uses this: it rests on what was flown alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerolib.estimate import K95, Estimate, Source

CONFLICT = 1.96  # standard deviations between prediction and measurement: our convention
CAUSES = (
    "the airspeed's position error differs between the states, and only one of them was calibrated",
    "weight, center of gravity, entry rate or the pilot differed between the states",
    "one of the states was stopped by the elevator, or recovered early, so that the wing's limit was not reached",
    "the vanes stand elsewhere than was written down, or another span stalls first",
    "the table the prediction rests on holds tests that worked: a wing that gains nothing is no error",
)


@dataclass(frozen=True)
class Posterior:
    """One change, predicted and measured; all in the unit of the measured one."""

    name: str
    prior: Estimate | None  # None: turned off, or there is none
    measured: Estimate | None
    best: Estimate  # what both leave
    sigmas: float | None  # measured less predicted, over the standard uncertainty of that difference
    prior_used: bool

    @property
    def conflict(self) -> bool:
        """Whether prediction and measurement can hardly both be right."""
        return self.sigmas is not None and abs(self.sigmas) > CONFLICT


def posterior(
    prior: Estimate | None, measured: Estimate | None, *, name: str = "change", use_prior: bool = True
) -> Posterior:
    """Predicted and measured change combined.

    1/s^2 = 1/s_p^2 + 1/s_m^2,  x = s^2 (x_p / s_p^2 + x_m / s_m^2)

    Parameters
    ----------
    prior : Estimate [any unit]
        The change as predicted before the flights; None: no prediction.
    measured : Estimate [the same unit]
        The change as measured; None: not yet.
    name : str [-]
    use_prior : bool [-]
        False: the prediction is shown beside and not used.

    Returns
    -------
    Posterior [the same unit]

    Raises
    ------
    ValueError
        Neither is given, the units differ, or an uncertainty is not above zero.

    Source: Bayes' rule for two normal distributions; any textbook.
    Valid range: prediction and measurement nearly independent: the prediction starts from the stalls before the change,
    which moves it by less than a tenth of what it moves the measured change.
    """
    if prior is None and measured is None:
        raise ValueError(f"{name}: neither a prediction nor a measurement is given; give at least one")
    for label, e in (("prediction", prior), ("measurement", measured)):
        if e is not None and not (math.isfinite(e.value) and 0.0 < spread(e) < math.inf):
            raise ValueError(
                f"{name}: the {label} has no uncertainty above zero; a change without one cannot be weighed"
            )
    if prior is not None and measured is not None and prior.unit != measured.unit:
        raise ValueError(f"{name}: prediction in {prior.unit}, measurement in {measured.unit}; give both in one unit")
    both = [e for e in ((prior if use_prior or measured is None else None), measured) if e is not None]
    weights = [spread(e) ** -2.0 for e in both]
    value = sum(w * e.value for w, e in zip(weights, both)) / sum(weights)
    sd = sum(weights) ** -0.5
    sigmas = None
    if prior is not None and measured is not None:
        sigmas = (measured.value - prior.value) / math.hypot(spread(prior), spread(measured))
    best = both[0] if len(both) == 1 else Estimate(
        name, value, both[0].unit, {Source("prediction and measurement together", "shared"): sd})  # fmt: skip
    return Posterior(name, prior, measured, best, sigmas, use_prior and prior is not None)


def spread(e: Estimate) -> float:
    """Standard deviation [the unit of e] of a normal distribution with the interval of `e`, wider side counting."""
    low, high = e.interval95
    return max(e.value - low, high - e.value) / K95
