"""What the stall reduction gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from aerolib.estimate import Estimate

if TYPE_CHECKING:
    from aerolib.measured.stalls.grouping import Fitted

LIMITS = {
    "wing": "the wing stalled (a break or a mush)",
    "elevator": "the stick reached its stop with the wing still flying",
    "not reached": "the pilot recovered before any limit",
    "unknown": "nobody noted how the stalls ended",
}

BELOW = "below scale"  # a way of ending: the needle left its scale before the stall
BELOW_SCALE = "the wing stalled below the scale"


def ending(limit: str, measured: bool) -> str:
    """How the stalls of a state ended, in words: a key of LIMITS [-], and whether breaks gave CLmax [-]."""
    return BELOW_SCALE if limit == "wing" and not measured else LIMITS[limit]


def beside_hidden(count: int) -> str:
    """What stalls below the scale do to a mean of the readable ones, in words: how many there are [-]."""
    lie = " lies" if count == 1 else "s lie"
    return f"{count} stall{lie} below the indicator's scale, not averaged: the mean of the others reads CLmax low"


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
    clmax: Estimate | None  # from stalls that ended in a break or a mush, where few others lie below the scale
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
    def estimate(self) -> Estimate:
        """CLmax, or the lift coefficient at the lowest speed reached where there was no break."""
        found = self.clmax or self.lowest_reached
        assert found is not None, "every result has one of the two"
        return found

    @property
    def below_scale(self) -> int:
        """How many of its stalls lie below the indicator's scale."""
        return sum(s.stalls for s in self.speeds_seen if s.ended == BELOW)

    @property
    def ending(self) -> str:
        """How its stalls ended, in words."""
        return ending(self.limit, self.clmax is not None)


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
    model: Fitted = field(repr=False, compare=False, kw_only=True)  # the fit behind it, for `compare`
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
