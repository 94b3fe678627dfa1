"""Stalls found in a recording, and what they say: plain records, SI."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class FoundStall:
    """One approach to the stall, measured; `refused` says why it cannot be a stall point, None where it can."""

    time: float  # [s] of the recording
    ias: float  # [m/s] as indicated, bias of noise taken out; ground speed where no airspeed was recorded
    standard_uncertainty: float  # [m/s] of reading it, not of the indicator
    lowest_read: float  # [m/s] the lowest single reading
    speed_kind: str = "minimum"
    ended: str = "unknown"  # break, mush, stop, early, unknown: a proposal
    entry_rate: float = math.nan  # [m/s2] of indicated airspeed over the last 10 % of it, positive
    entry_start: float = math.nan  # [s] when 1.1 times the stall speed was passed
    sink_rate: float = math.nan  # [m/s] positive down, at the stall
    height_lost: float = math.nan  # [m]
    altitude: float = math.nan  # [m]
    bank: float = math.nan  # [rad] mean of the entry
    load_factor: float = math.nan  # [-] normal to the leveling line, of highest lift, referred to `ias`
    load_factor_uncertainty: float = math.nan  # [-]
    warning_ias: float = math.nan  # [m/s]
    buffet_ias: float = math.nan  # [m/s]
    ground_velocity: tuple[float, float] = (math.nan, math.nan)  # [m/s] east, north
    signs: tuple[str, ...] = ()  # what showed a break
    notes: tuple[str, ...] = ()
    refused: str | None = None


@dataclass(frozen=True)
class StallsFound:
    """All approaches of one recording, in their order."""

    name: str
    items: tuple[FoundStall, ...]
    has_airspeed: bool = True  # False: speeds are ground speeds, to be put together by `airspeed_from_ground`
    notes: tuple[str, ...] = ()

    @property
    def stalls(self) -> tuple[FoundStall, ...]:
        """Those that can be stall points."""
        return tuple(s for s in self.items if s.refused is None)
