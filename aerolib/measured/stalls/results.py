"""What the stall reduction gives back: small frozen objects that show themselves."""

from __future__ import annotations

import html
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from aerolib.estimate import Estimate, digits
from aerolib.units import from_si, knots

LIMITS = {
    "wing": "the wing stalled (a break or a mush)",
    "elevator": "the stick reached its stop with the wing still flying",
    "not reached": "the pilot recovered before any limit",
    "unknown": "nobody noted how the stalls ended",
}

BELOW_SCALE = "the wing stalled below the scale"


def ending(limit: str, broke: bool) -> str:
    """How the stalls of a state ended, in words: a key of LIMITS [-], and whether a break was read on the scale [-]."""
    return BELOW_SCALE if limit == "wing" and not broke else LIMITS[limit]


CAUTIONS = (
    "Stalls are flown with height to spare for the recovery, within the weight and CG limits, in the conditions "
    "of the airplane's permit or certificate, and with a licensed instructor or inspector consulted first.",
    "A change to wing or tail can change how the airplane enters and leaves a spin. A recovery shown before the "
    "change is no evidence after it; nothing here plans a spin.",
    "A stall warning set for the old wing is not set for the new one: check its margin before relying on it.",
    "Placards, indicator markings and approach speeds are not changed from this output. Local rules and licensed "
    "practice decide.",
)


@dataclass(frozen=True)
class SpeedSeen:
    """The lowest speed as flown, at the reference weight: one kind, one way of ending, never mixed."""

    kind: str
    ended: str
    speed: Estimate  # CAS [m/s]
    needle: float  # the same as the needle shows it [m/s]
    stalls: int


@dataclass(frozen=True)
class Margin:
    """How far above the stall a warning came, in one configuration: calibrated, from the same stall."""

    of: str
    mean: float  # [m/s]
    lowest: float  # [m/s]
    highest: float  # [m/s]
    percent: float  # mean, of the stall speed
    stalls: int


@dataclass(frozen=True)
class Clmax:
    """CLmax of the trimmed airplane in one modification, configuration and power, or a lower bound of it."""

    modification: str
    configuration: str
    power: str
    limit: str
    apparent: bool  # thrust not taken out
    clmax: Estimate | None  # from stalls that ended in a break or a mush
    lowest_reached: Estimate | None  # lift coefficient at the lowest speed reached, where there was no break
    at_least: float | None  # CLmax is at least this, 95 % sure, where there was no break
    stall_speed_1g: Estimate | None  # CAS [m/s] at the reference weight
    stall_speed_1g_needle: float | None  # [m/s]
    with_n_equal_1: float | None  # CLmax had the load factor been taken as 1
    speeds_seen: tuple[SpeedSeen, ...]
    margins: tuple[Margin, ...]
    breaks: int
    flights: int
    bounds: int  # stalls that give a bound only
    notes: tuple[str, ...] = ()
    interval95_by_draws: tuple[float, float] | None = None  # Monte Carlo, where it was asked for
    stall_speed_interval95_by_draws: tuple[float, float] | None = None  # [m/s]

    @property
    def name(self) -> str:
        """'after, flap 20, idle'."""
        return f"{self.modification}, {self.configuration}, {self.power}"

    @property
    def ending(self) -> str:
        """How its stalls ended, in words."""
        return ending(self.limit, self.clmax is not None)

    def headline(self) -> str:
        """The result in one line of text."""
        if self.clmax is not None:
            label = "apparent CLmax" if self.apparent else "CLmax"
            line = f"{label} {self.clmax.text()}"
            if self.stall_speed_1g is not None:
                line += f"; 1-g stall speed {in_knots(self.stall_speed_1g).text()} CAS"
            return line
        reached = self.lowest_reached
        d = digits(reached.standard_uncertainty)
        return (
            f"{self.ending}: CLmax at least {self.at_least:.{d}f} (one-sided 95 % limit); {reached.value:.{d}f} at the "
            "lowest speed reached"
        )

    def __str__(self) -> str:
        return "\n  ".join([f"{self.name}: {self.headline()}", *self.notes])

    def _repr_html_(self) -> str:
        budget = self.clmax or self.lowest_reached
        notes = "".join(f"<li>{html.escape(n)}</li>" for n in self.notes)
        return (
            f"<h4>{html.escape(self.name)}</h4><p>{html.escape(self.headline())}</p><ul>{notes}</ul>"
            f"{budget._repr_html_()}{cautions_html()}"
        )

    def as_dict(self) -> dict:
        """One item of the JSON list `clmax`; speeds in knots CAS at the reference weight, unknown is None."""
        bound, v = self.lowest_reached, self.stall_speed_1g and in_knots(self.stall_speed_1g)
        of = self.clmax or bound
        return {
            "modification": self.modification,
            "configuration": self.configuration,
            "power": self.power,
            "limit": self.limit,
            "apparent": self.apparent,
            "kind": "trimmed",
            "value": _number(self.clmax and self.clmax.value),
            "standard_uncertainty": _number(self.clmax and self.clmax.standard_uncertainty),
            "interval95": _pair(self.clmax),
            "interval95_by_draws": _numbers(self.interval95_by_draws),
            "at_least": _number(self.at_least),
            "at_lowest_speed_reached": _number(bound and bound.value),
            "with_n_equal_1": _number(self.with_n_equal_1),
            "stall_speed_1g_kt": _number(v and v.value),
            "stall_speed_1g_interval95_kt": _pair(v),
            "stall_speed_1g_indicated_kt": _number(self.stall_speed_1g_needle and knots(self.stall_speed_1g_needle)),
            "minimum_speed_kt": [
                {
                    "kind": s.kind,
                    "ended": s.ended,
                    "value": _number(knots(s.speed.value)),
                    "interval95": None if s.ended == "below scale" else _pair(in_knots(s.speed)),
                    "indicated": _number(knots(s.needle)),
                    "stalls": s.stalls,
                }
                for s in self.speeds_seen
            ],
            "margins": [
                {
                    "of": m.of,
                    "mean_kt": _number(knots(m.mean)),
                    "lowest_kt": _number(knots(m.lowest)),
                    "highest_kt": _number(knots(m.highest)),
                    "percent": _number(m.percent),
                    "stalls": m.stalls,
                }
                for m in self.margins
            ],
            "budget": [
                {"source": b.name, "scope": b.scope, "contribution": _number(b.contribution), "share": _number(b.share)}
                for b in of.budget()
            ],
            "breaks": self.breaks,
            "flights": self.flights,
            "bounds": self.bounds,
            "notes": list(self.notes),
        }


@dataclass(frozen=True)
class StallPoints:
    """Every stall reduced, in the order given."""

    group: np.ndarray  # (N,) index into StallReduction.items
    outcome: np.ndarray  # (N,) break (a mush too), stop, early, unknown, below scale
    cl: np.ndarray  # (N,) [-]
    cl_with_n_equal_1: np.ndarray  # (N,) [-]
    standard_uncertainty: np.ndarray  # (N,) [-] everything, shared sources included
    own_uncertainty: np.ndarray  # (N,) [-] the stall's own sources only
    cas: np.ndarray  # (N,) [m/s] at the stall
    cas_at_reference_weight: np.ndarray  # (N,) [m/s]
    load_factor: np.ndarray  # (N,) [-]
    load_factor_origin: np.ndarray  # (N,) text
    entry_rate: np.ndarray  # (N,) [m/s2] in CAS
    wing_area: np.ndarray  # (N,) [m2]


@dataclass(frozen=True)
class StallReduction:
    """All groups of one card, the stalls behind them, and what was assumed."""

    items: tuple[Clmax, ...]
    points: StallPoints
    reference_weight: float  # [kg]
    day_scatter: float  # standard deviation between flights of ln CL [-]
    scatter_ratio: float  # scatter between stalls over what the stated sources explain [-]
    rate_slope: float | None  # d ln CL / d(entry rate) [s2/m], where it was fitted
    rate_slope_uncertainty: float | None
    notes: tuple[str, ...] = ()
    inputs: Mapping[str, str] = field(default_factory=dict)
    speed_unit: str = "kt"  # of the owner's indicator
    model: object = field(default=None, repr=False, compare=False)  # the fit behind it, for `compare`
    source: str = (
        "CL = (n W - T sin(alpha + iT)) / (0.5 rho0 V^2 S); uncertainty after JCGM 100:2008 (GUM); "
        "day scatter by a stated prior"
    )

    def __getitem__(self, key: tuple[str, str, str] | tuple[str, str]) -> Clmax:
        """The item of (modification, configuration) at idle, or of (modification, configuration, power)."""
        wanted = (*key, "idle")[:3]
        for item in self.items:
            if (item.modification, item.configuration, item.power) == wanted:
                return item
        raise KeyError(f"no stalls of {', '.join(wanted)}; there are {'; '.join(i.name for i in self.items)}")

    def __str__(self) -> str:
        return "\n".join([*map(str, self.items), *self.notes])

    def table(self) -> list[dict[str, str]]:
        """Rows of text for a table: the same in terminal, workbook and report."""
        rows = []
        for item in self.items:
            value = item.clmax or item.lowest_reached
            d = digits(value.standard_uncertainty)
            low, high = value.interval95
            speed = item.stall_speed_1g and in_knots(item.stall_speed_1g)
            e = digits(speed.standard_uncertainty) if speed else 0
            seen = item.speeds_seen[0] if item.speeds_seen else None
            bound = "below " if seen and seen.ended == "below scale" else ""
            needle = "-"
            if item.stall_speed_1g_needle is not None:
                needle = f"{from_si(item.stall_speed_1g_needle, self.speed_unit, 'speed'):.{e}f}"
            rows.append(
                {
                    "modification": item.modification,
                    "configuration": item.configuration,
                    "power": item.power,
                    "CLmax": (f"{value.value:.{d}f}" + (" (apparent)" if item.apparent else ""))
                    if item.clmax
                    else f"at least {item.at_least:.{d}f}",
                    "95 % interval": f"{low:.{d}f} to {high:.{d}f}" if item.clmax else "a bound",
                    "1-g stall speed [kt CAS]": f"{speed.value:.{e}f}" if speed else "-",
                    "95 % interval [kt]": f"{speed.interval95[0]:.{e}f} to {speed.interval95[1]:.{e}f}"
                    if speed
                    else "-",
                    f"on the needle [{self.speed_unit}]": needle,
                    "lowest seen [kt CAS]": f"{bound}{knots(seen.speed.value):.1f} ({seen.kind})" if seen else "-",
                    "limit": item.limit + (", below the scale" if item.ending == BELOW_SCALE else ""),
                    "stalls / flights": f"{item.breaks} / {item.flights}" if item.clmax else f"{item.bounds} bounds",
                }
            )
        return rows

    def _repr_html_(self) -> str:
        rows = self.table()
        head = "".join(f"<th>{html.escape(k)}</th>" for k in rows[0])
        body = "".join("<tr>" + "".join(f"<td>{html.escape(v)}</td>" for v in r.values()) + "</tr>" for r in rows)
        inputs = "; ".join(f"{html.escape(k)} {html.escape(v)}" for k, v in self.inputs.items())
        return (
            f"<table class='aerolib'><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
            f"<p>Trimmed airplane. Inputs: {inputs}. Method: {html.escape(self.source)}.</p>{cautions_html()}"
        )

    def as_list(self) -> list[dict]:
        """The JSON list `clmax`."""
        return [item.as_dict() for item in self.items]


def cautions_html() -> str:
    """The usual cautions as an HTML list."""
    return "<ul class='cautions'>" + "".join(f"<li>{html.escape(c)}</li>" for c in CAUTIONS) + "</ul>"


def in_knots(speed: Estimate) -> Estimate:
    """A speed estimate [m/s] in knots."""
    return speed.scaled(float(knots(1.0)), "kt")


def _number(value) -> float | None:
    if value is None or not np.isfinite(value):
        return None
    return float(f"{value:.6g}")


def _numbers(values) -> list[float] | None:
    return None if values is None else [_number(v) for v in values]


def _pair(estimate: Estimate | None) -> list[float] | None:
    return [_number(x) for x in estimate.interval95] if estimate else None
