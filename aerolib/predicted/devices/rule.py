"""The rule that ships: every section gains the mean of the table; less, or wider, where tests say nothing.

A model is preferred to the rule only where it predicts tests it has not seen: twelve pairs or more, from five sources
or more, whose clean and treated clmax and whose geometry were *read*. Below that no score is computed at all, so that
no model can be chosen by its score. None of the pairs known today was read in full.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from aerolib.predicted.devices.stalling import LET_GO

FEWEST_PAIRS, FEWEST_SOURCES = 12, 5
REYNOLDS = (0.7e6, 4.0e6)
THICKNESS = (0.11, 0.21)
MEAN_INCREMENT = 0.303  # of the sources marked in data/published/vg_pairs.csv, one mean each
WITHIN = 0.52  # one standard deviation over the increment: at least 0.40, and the 95 % interval reaches zero
TRIVIAL = "every section gains the table's mean"
BIAS = "Published tests favor devices that worked: the true mean is likely to be lower than the table's."

NO_GAIN_WITHIN = 0.10  # section increment where nothing is expected: our judgement
WIDER = 1.5  # outside the tested range: our judgement
# Share of the mean by the way the section stalls, ours: no test with vanes on a nose stall was found.
SHARES = {"trailing edge": 1.0, "mixed": 0.75, "leading edge": 0.5, "thin": 0.0}
NOSE_STATION = 0.12  # on a section that stalls from its nose: behind it nothing is expected
HEIGHTS = (0.1, 3.0)  # of the layer's thickness
STATIONS = (0.05, 0.6)  # of the chord
AHEAD = 120.0  # vane heights to separation: the table's own furthest is 116; whirls are traced to about 100
ANGLE = math.radians(25.5)


@dataclass(frozen=True)
class Contest:
    """Why no model takes the place of the rule."""

    pairs: int  # that count
    sources: int
    why: str


def contest_of(pairs: Sequence[Mapping] = ()) -> Contest:
    """How far the known pairs are from judging a model: `source`, `reynolds`, `thickness` [-], `read` with geometry."""
    used = [
        p["source"] for p in pairs
        if p["read"] and REYNOLDS[0] <= p["reynolds"] <= REYNOLDS[1] and THICKNESS[0] <= p["thickness"] <= THICKNESS[1]
    ]  # fmt: skip
    sources = len(set(used))
    enough = len(used) >= FEWEST_PAIRS and sources >= FEWEST_SOURCES
    return Contest(
        len(used), sources,
        f"{len(used)} pairs from {sources} sources were read with their geometry (of {len(pairs)} known); it takes "
        f"{FEWEST_PAIRS} from {FEWEST_SOURCES}, Reynolds numbers 0.7 to 4 million, 11 to 21 % thick. "
        + ("Enough to judge a model, and none was judged yet" if enough else "No score was computed")
        + "; the value given is the table's mean.",
    )  # fmt: skip


def outside_tests(station, ratio, ahead, angle) -> dict[str, np.ndarray]:
    """Which limits of the tested range a layout exceeds.

    Parameters
    ----------
    station : float or array (...) [-]
        Over the chord.
    ratio : float or array (...) [-]
        Vane height over the thickness of the layer.
    ahead : float or array (...) [-]
        Vane to separation, in vane heights.
    angle : float or array (...) [rad]

    Returns
    -------
    dict of str to array (...) of bool [-]
    """
    return {
        "tall": np.asarray(ratio) > HEIGHTS[1], "low": np.asarray(ratio) < HEIGHTS[0],
        "ahead": np.asarray(ahead) > AHEAD,
        "station": (np.asarray(station) < STATIONS[0]) | (np.asarray(station) > STATIONS[1]),
        "angle": np.asarray(angle) > ANGLE,
    }  # fmt: skip


def share_of_mean(stall_type: str, station, let_go: float | None = None) -> np.ndarray:
    """Share of the table's mean (...) [-] for vanes at chord stations (...) [-] of a section that stalls so."""
    station = np.asarray(station, dtype=float)
    share = np.full(station.shape, SHARES.get(stall_type, 0.75))
    if stall_type == "leading edge":
        share = np.where(station > NOSE_STATION, 0.0, share)
    return np.where(station >= (LET_GO if let_go is None else let_go), 0.0, share)


def plain_rule(stall_type: str, station, ratio, ahead, angle, let_go: float | None = None):
    """Section increment and its standard deviation.

    m share,  max(0.52 m share, 0.10), 1.5 times that outside the tested range where a gain is expected

    Parameters
    ----------
    stall_type : str [-]
        As `SectionLift` has it.
    station, ratio, ahead : float or array (...) [-]
        As `outside_tests` takes them.
    angle : float or array (...) [rad]
    let_go : float [-]
        Chord station of the separation line that tufts show; None: 0.7.

    Returns
    -------
    value, within : array (...) [-]
    """
    value = share_of_mean(stall_type, station, let_go) * MEAN_INCREMENT
    outside = np.logical_or.reduce(np.broadcast_arrays(*outside_tests(station, ratio, ahead, angle).values()))
    return np.broadcast_to(value, outside.shape), np.maximum(WITHIN * value, NO_GAIN_WITHIN) * np.where(
        outside & (value > 0.0), WIDER, 1.0
    )
