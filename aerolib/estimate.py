"""A value with its named error sources.

Every source of error is one independent quantity with mean zero and a name; an estimate holds what one
standard deviation of each source does to it (signed). Two estimates that share a source by name are
correlated through it, so a shared scale error cancels in a ratio without anyone arranging it.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

K95 = 1.959963984540054  # two-sided 95 % point of the normal distribution [-]

SCOPES = {
    "shared": "shared by every stall",
    "state": "shared within one modification and flap setting",
    "flight": "drawn anew each flight",
    "stall": "drawn anew each stall",
}


@dataclass(frozen=True)
class Source:
    """One source of error: its name, what shares it, and which one of that kind it is."""

    name: str
    scope: str
    label: str = ""

    def __post_init__(self):
        if self.scope not in SCOPES:
            raise ValueError(f"scope '{self.scope}' is not one of {', '.join(SCOPES)}")

    @functools.cached_property
    def _hash(self) -> int:
        """Sources are dictionary keys by the thousand on a large card: hashed once."""
        return hash((self.name, self.scope, self.label))

    def __hash__(self) -> int:
        return self._hash

    def __reduce__(self):
        """Made anew when copied or unpickled: texts hash differently in every process."""
        return Source, (self.name, self.scope, self.label)


@dataclass(frozen=True)
class BudgetLine:
    """One line of an error budget: a source's standard contribution and its share of the variance."""

    name: str
    scope: str
    contribution: float  # in the unit of the estimate
    share: float  # of the variance [-]


@dataclass(frozen=True, repr=False)
class Estimate:
    """A value, its named error sources and its 95 % interval.

    `parts` are what one standard deviation of each source does to the value, in the value's unit.
    `interval95` is given where the distribution is not normal; otherwise value -+ 1.96 u.
    """

    name: str
    value: float
    unit: str
    parts: Mapping[Source, float] = field(default_factory=dict)
    interval95: tuple[float, float] = None  # type: ignore[assignment]  # made below where it is not given

    def __post_init__(self):
        if self.interval95 is None:
            half = K95 * self.standard_uncertainty
            object.__setattr__(self, "interval95", (self.value - half, self.value + half))

    @property
    def standard_uncertainty(self) -> float:
        """Root sum of squares of the parts, in the unit of the value."""
        return math.sqrt(sum(p * p for p in self.parts.values()))

    def budget(self) -> list[BudgetLine]:
        """The error budget by source name, largest first; labels of one name are added in squares."""
        sums: dict[tuple[str, str], float] = {}
        for source, part in self.parts.items():
            key = (source.name, source.scope)
            sums[key] = sums.get(key, 0.0) + part * part
        total = sum(sums.values()) or 1.0
        lines = [BudgetLine(n, s, math.sqrt(v), v / total) for (n, s), v in sums.items() if v > 0.0]
        return sorted(lines, key=lambda line: -line.contribution)

    def covariance(self, other: Estimate) -> float:
        """Covariance with another estimate: the products of the parts they share by name."""
        return sum(part * other.parts.get(source, 0.0) for source, part in self.parts.items())

    def ratio_to(self, other: Estimate, name: str = "ratio") -> Estimate:
        """This estimate over another: a source they share enters by the difference of its relative effects.

        The interval is that of a normal distribution of the logarithm.
        """
        sources = {**self.parts, **other.parts}
        relative = {s: self.parts.get(s, 0.0) / self.value - other.parts.get(s, 0.0) / other.value for s in sources}
        r = self.value / other.value
        half = K95 * math.sqrt(sum(p * p for p in relative.values()))
        return Estimate(
            name, r, "-", {s: r * p for s, p in relative.items()}, (r * math.exp(-half), r * math.exp(half))
        )

    def scaled(self, factor: float, unit: str, name: str | None = None) -> Estimate:
        """The same estimate in another unit: everything times `factor`."""
        low, high = sorted(factor * x for x in self.interval95)
        return Estimate(
            name or self.name, self.value * factor, unit, {s: p * factor for s, p in self.parts.items()}, (low, high)
        )

    def text(self) -> str:
        """'1.452 (95 %: 1.36 to 1.55) ' with as many digits as the uncertainty deserves."""
        d = digits(self.standard_uncertainty)
        unit = "" if self.unit == "-" else f" {self.unit}"
        low, high = self.interval95
        return f"{self.value:.{d}f}{unit} (95 %: {low:.{d}f} to {high:.{d}f}{unit})"

    def __str__(self) -> str:
        return f"{self.name} = {self.text()}"

    __repr__ = __str__


def digits(uncertainty: float) -> int:
    """Decimals worth printing: two significant digits of an uncertainty that starts with 1 or 2, else one.

    Parameters
    ----------
    uncertainty : float [-]
        Standard uncertainty, in the unit of the printed number.

    Returns
    -------
    int [-]
        0 to 6; 3 where the uncertainty is zero or unknown.
    """
    if not (uncertainty > 0.0 and math.isfinite(uncertainty)):
        return 3
    exponent = math.floor(math.log10(uncertainty))
    two = uncertainty / 10.0**exponent < 2.95
    return int(min(6, max(0, (1 if two else 0) - exponent)))
