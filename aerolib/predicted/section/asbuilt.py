"""What the wing as built loses against the section as drawn: roughness, fabric between ribs, steps and gaps."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.ranges import in_range

# clmax with standard roughness over smooth clmax, both at Re 6e6: mean and standard deviation over the sections of
# one thickness in NACA TR 824 (a test computes both anew). Roughness costs 0.41 +- 0.06 at 12 %, 0.35 +- 0.07 at 15 %.
ROUGH_AT = (0.06, 0.09, 0.10, 0.12, 0.15, 0.18, 0.21)
ROUGH_RATIO = (1.031, 0.822, 0.735, 0.738, 0.771, 0.794, 0.771)
ROUGH_SCATTER = (0.053, 0.065, 0.054, 0.042, 0.046, 0.049, 0.066)

GRAIN = 0.00046  # height of standard roughness over the chord: 0.011 inch on 24 (NACA TR 824, from memory)
SAG_LOSS = 13.0  # clmax lost at most for a sag of the whole chord: see `losses`
GAP_LOSS = 20.0  # clmax lost at most for a gap of the whole chord: see `losses`
LARGEST = {"sag": 0.02, "surface_break": 0.005, "gap": 0.01}  # over the chord
MEANS = {
    "sag": "depth of the fabric between ribs",
    "surface_break": "height of the step in the surface",
    "gap": "width of the open gap",
}


@dataclass(frozen=True)
class Loss:
    """What one shortcoming takes from clmax: a range, its middle taken out, the rest carried as uncertainty."""

    name: str
    highest: float  # the lowest is zero
    source: str

    @property
    def middle(self) -> float:
        """Taken from clmax [-]."""
        return 0.5 * self.highest

    @property
    def standard_uncertainty(self) -> float:
        """Of a value that may be anywhere in the range [-]."""
        return 0.5 * self.highest / math.sqrt(3.0)

    def text(self) -> str:
        """The range in words."""
        return f"{self.name}: 0 to {self.highest:.2f} of clmax lost, {self.middle:.2f} taken out ({self.source})"


@in_range(thickness=(0.01, 0.5, "-"))
def rough_ratio(thickness: float) -> tuple[float, float]:
    """clmax with standard leading-edge roughness over smooth clmax, and its standard deviation between sections.

    Parameters
    ----------
    thickness : float [-]
        Largest thickness over chord.

    Returns
    -------
    ratio : float [-]
        1 at 6 % (a thin nose stalls early, rough or smooth), about 0.75 from 10 % up.
    scatter : float [-]

    Source: NACA TR 824 (1945), columns at 6e6, means by thickness.
    """
    return (float(np.interp(thickness, ROUGH_AT, ROUGH_RATIO)), float(np.interp(thickness, ROUGH_AT, ROUGH_SCATTER)))


@in_range()
def losses(
    clmax: float,
    thickness: float,
    *,
    sag: float | None = None,
    surface_break: float | None = None,
    gap: float | None = None,
) -> list[Loss]:
    """What fabric, a step and a gap may cost, each as a range from nothing.

    sag: 13 times its depth over the chord; step: the loss by standard roughness, in proportion up to its grain's
    height; gap: 20 times its width over the chord

    Parameters
    ----------
    clmax : float [-]
        Of the smooth section.
    thickness : float [-]
        Over the chord.
    sag : float [-]
        Deepest point of the fabric between two ribs below the line of the ribs, over the chord; None or 0 without.
    surface_break : float [-]
        Height of a step on the front third of the upper side, over the chord.
    gap : float [-]
        Width of a gap that air flows through, over the chord.

    Returns
    -------
    list of Loss [-]

    Raises
    ------
    ValueError
        A size beyond what the ranges were made for, most often a percent or a length in place of a fraction.

    The ranges are ours. Sag: both skins sink, so the section between ribs is thinner by 4/3 of the depth on average,
    and around 12 % thickness the sections of NACA TR 824 lose about 0.1 of clmax per 1 % of thickness; in flight
    suction lifts the upper fabric, so it may be nothing. Step: as high as the grains of standard roughness it can act
    like them, further back it does less; polishing a light airplane's ordinary finish changed its lift curve
    negligibly (NACA TN 495, abstract). Gap: judgment, no source; sealing the hinge gap of 0.18c ailerons made them
    about one fifth more effective in flight (Soule and Gracey, NACA, abstract), of clmax it says nothing.
    """
    given = {"sag": sag, "surface_break": surface_break, "gap": gap}
    for name, size in given.items():
        if size is not None and not 0.0 <= size <= LARGEST[name]:
            raise ValueError(
                f"{name} is {size:g}; needed is the {MEANS[name]} over the chord, a fraction from 0 to "
                f"{LARGEST[name]:g} (3 mm on a chord of 1.2 m is 0.0025): is this a percent or a length?"
            )
    grain = min(1.0, (surface_break or 0.0) / GRAIN) * max(0.0, 1.0 - rough_ratio(thickness)[0]) * clmax
    found = (
        Loss("fabric sag between ribs", SAG_LOSS * (sag or 0.0), "ours, from the table's trend with thickness"),
        Loss("surface break", grain, "ours, up to standard roughness of NACA TR 824"),
        Loss("open gap", GAP_LOSS * (gap or 0.0), "judgment, no source"),
    )
    return [loss for loss in found if loss.highest > 0.0]
