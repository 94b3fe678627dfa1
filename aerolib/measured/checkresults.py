"""What a comparison of checks gives back: differences with a verdict in plain words."""

from __future__ import annotations

import html
from collections.abc import Mapping
from dataclasses import dataclass

from aerolib.estimate import Estimate, digits
from aerolib.measured.stalls.results import cautions_html


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

    def headline(self) -> str:
        """The result in one line."""
        e = self.difference
        if e is None:
            return f"{self.name}: {(self.before or self.after).text()} in one state only; {self.verdict}"
        d = digits(e.standard_uncertainty)
        low, high = e.interval95
        return (f"{self.name}: {self.before.value:.{d}f} to {self.after.value:.{d}f} {self.unit}, "
                f"{round(e.value, d) + 0.0:+.{d}f} "
                f"(95 %: {low:+.{d}f} to {high:+.{d}f}) {self.unit}; {self.verdict}")  # fmt: skip

    def __str__(self) -> str:
        return "\n  ".join([self.headline(), *self.notes])

    def _repr_html_(self) -> str:
        return "<ul>" + "".join(f"<li>{html.escape(x)}</li>" for x in (self.headline(), *self.notes)) + "</ul>"

    def as_dict(self) -> dict:
        """One item of the JSON list `checks`, in the item's `unit`; unknown is None."""
        before, after, e = (x and float(f"{x.value:.6g}") for x in (self.before, self.after, self.difference))
        ends = self.difference and [float(f"{x:.6g}") for x in self.difference.interval95]
        better = self.probability_better
        return {
            "quantity": self.quantity, "configuration": self.configuration, "power": self.power, "before": before,
            "after": after, "unit": self.unit, "difference": e, "interval95": ends,
            "probability_better": None if better is None else float(f"{better:.6g}"), "verdict": self.verdict,
            "decided_by": self.decided_by, "notes": list(self.notes),
        }  # fmt: skip


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

    def as_list(self) -> list[dict]:
        """The JSON list `checks`."""
        return [item.as_dict() for item in self.items]

    def __str__(self) -> str:
        return "\n".join([f"{self.before} to {self.after}", *map(str, self.items), *self.notes])

    def _repr_html_(self) -> str:
        body = "".join(item._repr_html_() for item in self.items) + "".join(
            f"<p>{html.escape(n)}</p>" for n in self.notes
        )
        return f"<h4>{html.escape(f'{self.before} to {self.after}')}</h4>{body}{cautions_html()}"
