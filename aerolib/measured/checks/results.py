"""What a comparison of checks gives back: differences, each with its verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from aerolib.estimate import Estimate


@dataclass(frozen=True)
class CheckResult:
    """One quantity in one configuration and power, in both states; everything in `unit`."""

    quantity: str
    configuration: str
    power: str
    unit: str
    better: int  # +1 higher is better, -1 lower is better, 0 neither
    before: Estimate | None
    after: Estimate | None
    difference: Estimate | None  # after less before; None where one state has no reading
    probability_higher: float | None
    no_worse_than: float | None  # the owner's
    verdict: str  # see `_verdict`; 'not compared' where one state has no reading
    assumed: Mapping[str, float]  # standard uncertainty of a reading, median of the prior of the day scatter
    scatter: Mapping[str, float]  # between days; between readings over what was stated (root mean square)
    readings: tuple[int, int]
    flights: tuple[int, int]
    notes: tuple[str, ...] = ()
    decided_by: str | None = None  # the flight without which the sign would turn

    @property
    def name(self) -> str:
        """'roll time, flap 20, idle'."""
        return f"{self.quantity}, {self.configuration}, {self.power}"

    @property
    def probability_better(self) -> float | None:
        """That it changed for the better; None where neither direction is."""
        p = self.probability_higher
        return None if p is None or not self.better else (p if self.better > 0 else 1.0 - p)


@dataclass(frozen=True)
class ChecksComparison:
    """Every quantity before against after."""

    before: str
    after: str
    items: tuple[CheckResult, ...]
    notes: tuple[str, ...] = ()

    def __getitem__(self, key: tuple[str, str, str]) -> CheckResult:
        """The item of (quantity, configuration, power)."""
        return {(i.quantity, i.configuration, i.power): i for i in self.items}[key]
