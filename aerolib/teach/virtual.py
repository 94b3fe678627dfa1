"""Stored virtual stalls: flights of simulated airplanes whose CLmax is known. Everything here is simulated."""

from __future__ import annotations

import csv
import functools
import math
import zipfile
import zlib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from aerolib.case.problems import CaseError, nearest
from aerolib.case.shipped import shipped
from aerolib.units import to_si

STYLES = {"release": "releases the stick at the break", "hold": "holds the stick back"}
CHANNELS = ("cas", "load_factor", "lift_coefficient", "stick", "height", "vertical_speed")
# Highest lift in flight over the CLmax of steady flight: below, the nose fell before the lift had peaked [-].
REACHED = (0.995, 1.03)


@dataclass(frozen=True, eq=False)
class VirtualStall:
    """One stall flown by a simulated pilot; `history` holds arrays (n,) over `time`, from the stall [s]."""

    id: str
    style: str  # release or hold
    flap: str
    entry_rate: float  # loss of CAS per second over the last 10 % of speed [m/s2]
    weight: float  # [N]
    area: float  # [m2]
    clmax: float  # of steady flight, from the airplane's tables [-]
    highest: float  # highest lift coefficient of the flight before the hand goes forward; lift lags, so it is more [-]
    lowest_cas: float  # [m/s]
    height_lost: float  # over the last 10 % of speed, negative in a climb [m]
    history: dict[str, np.ndarray] = field(repr=False)  # CHANNELS in SI and g, and time

    @property
    def at_clmax(self) -> int:
        """Sample at which the lift coefficient has its highest value of the stall."""
        # Not simply the largest of all: an elevator that goes down in the recovery adds lift for an instant.
        return int(np.argmin(np.abs(self.history["lift_coefficient"] - self.highest)))

    @property
    def at_lowest(self) -> int:
        """Sample at which the speed is lowest."""
        return int(np.argmin(self.history["cas"]))

    @property
    def hand_forward(self) -> int:
        """Sample at which the stick starts forward: the recovery (the last sample where it never does)."""
        stick = self.history["stick"][self.at_clmax :]
        moved = stick > np.minimum.accumulate(stick) + 0.05
        return self.at_clmax + (int(np.argmax(moved)) if moved.any() else len(stick) - 1)


def read_histories(path: Path, ids=None, channels=CHANNELS) -> dict[str, dict[str, np.ndarray]]:
    """Time histories of a `histories.npz`, scaled to their units.

    Parameters
    ----------
    path : Path [-]
    ids : collection of text, or None for all [-]
    channels : names of those to read [-]

    Returns
    -------
    dict of id to dict of arrays (n,), and `time` from the stall [s]
    """
    with open(path, "rb") as file, np.load(file, allow_pickle=False) as stored:
        scale = dict(zip(stored["channels"].tolist(), stored["scales"].tolist()))
        first, stall, rate = stored["first"], stored["stall"], float(stored["rate_hz"])
        wanted = [(k, n) for k, n in enumerate(stored["id"].tolist()) if ids is None or n in ids]
        out: dict[str, dict[str, np.ndarray]] = {
            name: {"time": (np.arange(first[k + 1] - first[k]) - stall[k]) / rate} for k, name in wanted
        }
        for channel in channels:
            values = stored[channel]
            for k, name in wanted:
                out[name][channel] = values[first[k] : first[k + 1]] * scale[channel]
    return out


@functools.cache
def virtual_stalls() -> tuple[VirtualStall, ...]:
    """The flights fit for a lesson: own airplanes, power off, limited by lift and not the stick, ended in a break."""
    try:
        folder = shipped("data") / "simulated"
        with open(folder / "stalls.csv", newline="", encoding="utf-8") as file:
            rows = [row for row in csv.DictReader(file) if _fit(row)]
        histories = read_histories(folder / "histories.npz", {row["id"] for row in rows})
        stalls = (_stall(row, histories[row["id"]]) for row in rows)
        return tuple(s for s in stalls if s.at_clmax <= s.at_lowest)  # a stick held aft may bring a second peak
    except (OSError, EOFError, KeyError, ValueError, zipfile.BadZipFile, zlib.error) as e:
        raise CaseError(
            f"the virtual flights in data/simulated cannot be read ({e}); the installation is not complete: "
            "install aerolib again"
        ) from e


def _fit(row) -> bool:
    known = {"source": "own", "airplane_kind": "ordinary", "power": "off", "ended": "break", "hand_limit": "lift"}
    return (
        all(row[k] == v for k, v in known.items())
        and row["style"] in STYLES
        and REACHED[0] <= float(row["clmax_forces"]) / float(row["clmax"]) <= REACHED[1]
    )


def _stall(row, history) -> VirtualStall:
    return VirtualStall(
        id=row["id"],
        style=row["style"],
        flap=row["flap"],
        entry_rate=to_si(float(row["entry_rate_kt_s"]), "kt/s", "acceleration"),
        weight=float(row["weight_N"]),
        area=float(row["wing_area_m2"]),
        clmax=float(row["clmax"]),
        highest=float(row["clmax_forces"]),
        lowest_cas=float(row["cas_minimum_m_s"]),
        height_lost=float(row["height_lost_entry_m"]),
        history=history,
    )


def nearest_stall(style: str, entry_rate: float) -> VirtualStall:
    """The stored flight of this pilot whose achieved entry rate is nearest.

    Parameters
    ----------
    style : text [-]
        A key of STYLES.
    entry_rate : float [m/s2]
        Loss of calibrated airspeed per second, positive.

    Returns
    -------
    VirtualStall [-]

    Raises
    ------
    CaseError
        No such pilot, or the entry rate is no positive finite number.
    """
    if style not in STYLES:
        raise CaseError(f"no virtual pilot '{style}'; {nearest(style, STYLES)}")
    if not (math.isfinite(entry_rate) and entry_rate > 0.0):
        raise CaseError(
            f"the entry rate must be a positive number, not {entry_rate:g}; choose one between 0.3 and 3 kt/s"
        )
    mine = [s for s in virtual_stalls() if s.style == style]
    return min(mine, key=lambda s: (abs(s.entry_rate - entry_rate), s.id))
