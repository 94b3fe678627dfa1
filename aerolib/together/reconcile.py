"""What was measured beside what was predicted: how far apart, and what that says about later predictions."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerolib.estimate import K95, Estimate

KINDS = ("section", "wing", "trimmed")
LARGE = 1.25  # a ratio beyond this, or below its inverse, is no calibration but a finding: our choice

SOURCE = "difference over its standard uncertainty, shared sources taken out by name (JCGM 100:2008, 5.2)"

ABOVE = (
    "The airplane does better than predicted. Look first at the measurement: an indicator that reads low near the "
    "stall, a weight taken too high, a load factor below 1 taken as 1, power not quite at idle. Only then at the "
    "prediction: a section better than its table, a stall that spreads more slowly than assumed."
)
BELOW = (
    "The airplane does worse than predicted. Look at the wing as built: sagging fabric, a step or gap at the nose, "
    "dents, leaks at the root; then at how the stalls ended: a stick on its stop or a forward center of gravity keeps "
    "the wing from its own limit; then at the indicator, if it reads high near the stall."
)


@dataclass(frozen=True)
class Reconciliation:
    """A measured value beside a predicted one of the same kind."""

    what: str
    kind: str  # of both: section, wing or trimmed
    measured: Estimate
    predicted: Estimate
    difference: Estimate  # measured minus predicted
    ratio: Estimate  # measured over predicted: the calibration of this airplane
    sigmas: float  # the difference over its standard uncertainty [-]

    def calibrate(self, prediction: Estimate, name: str | None = None) -> Estimate:
        """A later prediction of the same airplane, started from what was measured.

        p2 m/p1: relative effects of every source, p2 + m - p1; what the two predictions share by name cancels

        Parameters
        ----------
        prediction : Estimate [-]
            Of the same method, so that its sources carry the same names.
        name : str [-]

        Returns
        -------
        Estimate [in the unit of the prediction]
        """
        value = prediction.value * self.ratio.value
        sources = {**prediction.parts, **self.ratio.parts}
        parts = {
            s: value
            * (prediction.parts.get(s, 0.0) / prediction.value + self.ratio.parts.get(s, 0.0) / self.ratio.value)
            for s in sources
        }
        return Estimate(name or f"{prediction.name}, calibrated", value, prediction.unit, parts)

    def words(self) -> str:
        """What the gap means, in plain words."""
        size, r = abs(self.sigmas), self.ratio.value
        often = f"{1.0 / max(math.erfc(size / math.sqrt(2.0)), 1e-6):.0f}"
        apart = f"Measured over predicted {r:.2f}, {size:.1f} standard uncertainties apart. "
        if size < 1.0:
            out = apart + "The two agree within what is known of either; nothing asks for an explanation."
        elif size < 2.0:
            out = apart + f"That happens by chance once in {often} times; keep it in mind, explain nothing by it yet."
        else:
            cause = ABOVE if self.difference.value > 0.0 else BELOW
            out = apart + f"Chance brings that once in {often} times. {cause}"
        if not 1.0 / LARGE < r < LARGE:
            out += (
                " A ratio this far from 1 is no calibration to carry on with: find its cause before anything is "
                "predicted from it."
                if size >= 2.0
                else " The ratio is far from 1 only because both values are loosely known."
            )
        return out


def difference(a: Estimate, b: Estimate, name: str = "difference") -> Estimate:
    """One estimate minus another; a source both share enters by the difference of its effects.

    Parameters
    ----------
    a, b : Estimate [the same unit]
    name : str [-]

    Returns
    -------
    Estimate [the same unit]

    Raises ValueError where the units differ. Source: JCGM 100:2008, 5.2.
    """
    if a.unit != b.unit:
        raise ValueError(f"'{a.name}' is in {a.unit}, '{b.name}' in {b.unit}; bring both to one unit first")
    parts = {s: a.parts.get(s, 0.0) - b.parts.get(s, 0.0) for s in {**a.parts, **b.parts}}
    return Estimate(name, a.value - b.value, a.unit, parts)


def reconcile(
    measured: Estimate,
    predicted: Estimate,
    *,
    what: str = "CLmax",
    measured_kind: str = "trimmed",
    predicted_kind: str = "trimmed",
) -> Reconciliation:
    """A measured value beside a predicted one.

    sigmas = (m - p)/u(m - p);  ratio = m/p

    Parameters
    ----------
    measured, predicted : Estimate [the same unit]
        The prediction above zero.
    what : str [-]
        Name of the quantity.
    measured_kind, predicted_kind : str [-]
        section, wing or trimmed: like is compared with like only. A flight measures the trimmed airplane.

    Returns
    -------
    Reconciliation [-]

    Raises ValueError where the kinds or units differ, the prediction is not above zero, or neither has an uncertainty.
    Source: JCGM 100:2008 (GUM), 5.2 (clause from memory), for the difference and ratio of correlated quantities.
    """
    for kind in (measured_kind, predicted_kind):
        if kind not in KINDS:
            raise ValueError(f"kind '{kind}' is not one of {', '.join(KINDS)}")
    if measured_kind != predicted_kind:
        raise ValueError(
            f"the measured {what} is of kind '{measured_kind}', the predicted of kind '{predicted_kind}'; compare like "
            "with like: take the tail's load from the wing's value first, a flight measures the trimmed airplane"
        )
    if not (math.isfinite(measured.value) and math.isfinite(predicted.value) and predicted.value > 0.0):
        raise ValueError(
            f"measured {what} {measured.value:.4g}, predicted {predicted.value:.4g}: needed are two finite numbers, "
            "the predicted one above zero"
        )
    gap = difference(measured, predicted, f"{what}, measured minus predicted")
    u = gap.standard_uncertainty
    if not u > 0.0:
        raise ValueError(f"neither {what} carries an uncertainty; without one a difference says nothing")
    name = f"{what}, measured over predicted"
    if measured.value > 0.0:
        ratio = measured.ratio_to(predicted, name)
    else:  # no logarithm of such a ratio: a straight interval
        r = measured.value / predicted.value
        p = predicted.value
        sources = {**measured.parts, **predicted.parts}
        parts = {s: measured.parts.get(s, 0.0) / p - r * predicted.parts.get(s, 0.0) / p for s in sources}
        half = K95 * math.sqrt(sum(x * x for x in parts.values()))
        ratio = Estimate(name, r, "-", parts, (r - half, r + half))
    return Reconciliation(what, measured_kind, measured, predicted, gap, ratio, gap.value / u)
