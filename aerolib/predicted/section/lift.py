"""What the section of a wing gives: lift curve, clmax and the way it stalls, at the flight Reynolds number."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from aerolib.estimate import Estimate, Source
from aerolib.predicted.section.asbuilt import losses, rough_ratio
from aerolib.predicted.section.neuralfoil import (
    SLOPE,
    TABLE_HIGHEST,
    TABLE_LOWEST,
    ZERO_LIFT,
    corrected_clmax,
    raw_curve,
)
from aerolib.predicted.section.shapes import Shape, canonical, shape_of
from aerolib.ranges import in_range

Row = Mapping[str, Any]  # texts and numbers of a table's row
COLUMNS = (("3e6", 3e6), ("6e6", 6e6), ("9e6", 9e6))  # smooth columns of the table and their Reynolds numbers
LOWEST, HIGHEST = 0.3e6, 30e6  # Reynolds numbers that are treated

# d ln clmax / d ln Re between 3e6 and 6e6 over the 95 sections of the table: at 12 % thickness, per unit of thickness
# below and above it (least squares). 3e6 predicted from 6e6 so, each section left out, errs by 3.3 % (no trend: 7.8 %).
TREND = (0.1008, -0.792, 0.487)
TREND_SCATTER = 0.062  # between sections, per unit of ln Re
STALL_WORDS = {"mixed": "combined leading-edge and trailing-edge"}  # to say `stall_type`: the word of NACA TN 3963
READING = 0.015  # one digitized curve, in clmax
TUNNELS = 0.03  # in clmax: three tests of the NACA 0012 (data/published/section_clmax.csv) differ by this
COLUMN = 0.03  # in clmax: 6e6 interpolated between 3e6 and 9e6 differs by this from its own curve

# Angle of attack of clmax beyond alpha0 + clmax/slope: how far the curve bends, by thickness (table means, 2 deg).
BEND_AT, BEND = (0.09, 0.10, 0.12, 0.15, 0.18, 0.21), (1.1, 1.4, 2.0, 4.4, 5.9, 6.3)

TABLE_SOURCE = "measured: NACA TR 824 (1945) page {page:.0f}, digitized by others"
NEURALFOIL_SOURCE = (
    "NeuralFoil through aerosandbox ({origin}), its clmax corrected by a fit to 60 measured sections of NACA TR 824: "
    "5.1 % mean absolute error on sections left out, 14.7 % without the correction"
)
CAUTIONS = (
    "A section in two dimensions: no wing, no trim, no slipstream. It is a prediction to be measured, with height, "
    "within the limits of weight and balance, and no placard or approach speed follows from it.",
)


@dataclass(frozen=True)
class SectionLift:
    """Lift of a section: two dimensions, no wing, no trim."""

    name: str
    reynolds: float
    alpha0: float  # [rad] angle of attack of no lift, within about 0.5 deg
    slope: float  # [1/rad], within about 5 %
    clmax: Estimate
    alpha_stall: float  # [rad] angle of attack of clmax, within about 2 deg
    stall_type: str  # 'trailing edge', 'leading edge', 'thin' or 'mixed'
    thickness: float  # over the chord [-]
    coordinates: np.ndarray | None = field(repr=False, compare=False)  # (n, 2) over the chord
    source: str = ""
    cautions: tuple[str, ...] = ()

    def cl(self, alpha: float | np.ndarray) -> np.ndarray:
        """Lift coefficient at an angle of attack [rad]: straight, then a parabola up to clmax; NaN beyond it."""
        a, top = np.asarray(alpha, float), self.clmax.value
        straight = self.alpha0 + top / self.slope  # where the straight line would reach clmax
        bend = min(max(self.alpha_stall - straight, 0.0), straight - self.alpha0)
        leaves = straight - bend  # the parabola is tangent here and has its top at the stall
        over = np.clip(a - leaves, 0.0, None)
        with np.errstate(invalid="ignore", divide="ignore"):
            rounded = self.slope * (a - self.alpha0) - np.where(over > 0.0, self.slope * over**2 / (4.0 * bend), 0.0)
        curve = np.where(over < 2.0 * bend, rounded, np.minimum(self.slope * (a - self.alpha0), top))
        return np.where(a > max(self.alpha_stall, straight) + 1e-12, np.nan, curve)


@in_range("reynolds")
def section_lift(
    section: str | np.ndarray,
    reynolds: float,
    *,
    table: Sequence[Row] | None = None,
    rough: bool = False,
    sag: float | None = None,
    surface_break: float | None = None,
    gap: float | None = None,
) -> SectionLift:
    """Lift curve, clmax and stall type of a section at a Reynolds number.

    Where the table holds the section: clmax linear in ln Re between its columns, below them with the trend by
    thickness of all its sections. Elsewhere: NeuralFoil's first maximum times exp(bias).

    Parameters
    ----------
    section : str or array [-]
        A name, or points over the chord as `shape_of` takes them.
    reynolds : float [-]
        Of the flight: speed times chord over kinematic viscosity; 0.3e6 to 30e6.
    table : sequence of rows [SI]
        Measured sections (data/published/naca_tr824.csv as the case room gives it); None without.
    rough : bool [-]
        Standard leading-edge roughness.
    sag : float [-]
        Depth of the fabric between ribs over the chord.
    surface_break : float [-]
        Height of a step on the front third of the upper side over the chord.
    gap : float [-]
        Width of an open gap through the section over the chord.

    Returns
    -------
    SectionLift [SI]

    Raises
    ------
    ValueError
        Unknown section (the nearest are offered), points that are no section, a single surface, a Reynolds number or
        a size out of range.

    Valid range: 3 to 35 % thick, one element, low speed. Measured between 3e6 and 9e6; below 3e6 the uncertainty
    grows by 6 % for each unit of ln Re, above 9e6 the value at 9e6 is kept, and both are said.
    """
    reynolds = float(reynolds)
    if not LOWEST <= reynolds <= HIGHEST:
        raise ValueError(
            f"Reynolds number {reynolds:.3g} is outside {LOWEST:g} to {HIGHEST:g}; it is speed times chord over "
            "kinematic viscosity in SI units, about 70,000 times meters per second times meters near the ground"
        )
    row = None
    if isinstance(section, str):
        row = next((r for r in table or () if canonical(r["section"]) == canonical(section)), None)
    base = _measured(row, reynolds) if row else _computed(section, reynolds, table or ())
    smooth = base.clmax.value
    value, parts, notes = smooth, dict(base.clmax.parts), list(base.cautions)
    if rough:
        value, parts, note = _roughened(base, row, reynolds)
        notes.append(note)
    else:
        notes.append(
            f"smooth: standard leading-edge roughness (insects, rain, frost, paint edges) would leave about "
            f"{rough_ratio(base.thickness)[0]:.0%} of clmax"
        )
    lost = losses(smooth, base.thickness, sag=sag, surface_break=surface_break, gap=gap)
    if rough:  # a step cannot do again what roughness has done
        lost = [one for one in lost if one.name != "surface break"]
        if surface_break:
            notes.append("surface break: nothing more is taken out, a rough nose has lost it already")
    for one in lost:
        value -= one.middle
        parts[Source(one.name, "shared")] = one.standard_uncertainty
        notes.append(one.text())
    stall = base.alpha_stall + (value - smooth) / base.slope
    if rough and row and row["clmax_rough"]:  # its own rough curve says where; a flat top is not read beyond the smooth
        own = row["alpha_rough"] + (value - row["clmax_rough"]) / base.slope
        stall = min(max(stall, own), base.alpha_stall)
    clmax = Estimate("section clmax", value, "-", parts)
    return replace(base, clmax=clmax, alpha_stall=stall, cautions=(*notes, *CAUTIONS))


@in_range(camber=(-0.3, 0.3, "-"))
def stall_type(thickness: float, camber: float) -> str:
    """How a smooth section of this thickness and camber most often stalls.

    Parameters
    ----------
    thickness : float [-]
        Over the chord.
    camber : float [-]
        Over the chord.

    Returns
    -------
    str [-]
        'thin' (a long bubble that grows from the nose), 'leading edge' (abrupt), 'trailing edge' (from behind,
        gradual), 'mixed' between the last two.

    Source: the kinds are those of NACA TN 2502 (abstract read); the limits, 8, 13 and 15 % thickness and 2 % camber,
    are common practice, no source. A five-digit section stalls abruptly though it is thick.
    """
    if thickness < 0.08:
        return "thin"
    if thickness >= 0.15:
        return "trailing edge"
    return "leading edge" if thickness < 0.13 and camber < 0.0195 else "mixed"


def _beyond(reynolds: float, value: float) -> tuple[dict[Source, float], tuple[str, ...]]:
    """What a Reynolds number outside the table adds to the uncertainty, and the sentence that says so."""
    if reynolds > TABLE_HIGHEST:
        return {}, ("Reynolds number above the measured 9 million: the value at 9 million is kept",)
    if reynolds >= TABLE_LOWEST:
        return {}, ()
    far = TREND_SCATTER * math.log(TABLE_LOWEST / reynolds)
    return {Source("Reynolds number below the measured", "shared"): far * value}, (
        f"Reynolds number {reynolds / 1e6:.2g} million is below the measured 3 to 9 million: extrapolated, "
        f"{100 * far:.1f} % of clmax added to the standard uncertainty",
    )


def _trend(thickness: float) -> float:
    """d ln clmax / d ln Re below the table."""
    at, below, above = TREND
    return at + below * max(0.12 - thickness, 0.0) + above * max(thickness - 0.12, 0.0)


def _smooth(row: Row, reynolds: float, what: str) -> float:
    """A column of the table at a Reynolds number, linear in ln Re, the ends kept beyond them."""
    points = [(math.log(x), row[f"{what}_{k}"]) for k, x in COLUMNS if row[f"{what}_{k}"] is not None]
    return float(np.interp(math.log(reynolds), [x for x, _ in points], [y for _, y in points]))


def _measured(row: Row, reynolds: float) -> SectionLift:
    """From the table, its Reynolds trend below it."""
    thickness, name = row["thickness"], row["section"]
    value = _smooth(row, reynolds, "clmax")
    slope, alpha0 = _smooth(row, reynolds, "slope"), _smooth(row, reynolds, "alpha0")
    stall = _smooth(row, reynolds, "alpha")
    if reynolds < TABLE_LOWEST:
        lower = value * (reynolds / TABLE_LOWEST) ** _trend(thickness)
        stall += (lower - value) / slope
        value = lower
    sizes = {"reading of the measured curve": READING, "one tunnel and another": TUNNELS}
    if TABLE_LOWEST < reynolds < TABLE_HIGHEST and all(abs(math.log(reynolds / x)) > 0.05 for _, x in COLUMNS):
        sizes["between measured curves"] = COLUMN
    beyond, notes = _beyond(reynolds, value)
    parts = {Source(what, "shared"): size for what, size in sizes.items()} | beyond
    digits = re.search(r"(\d{4,5})$", name)
    shape = shape_of(name) if digits and name == f"NACA {digits[1]}" else None
    return SectionLift(
        name=name,
        reynolds=reynolds,
        alpha0=alpha0,
        slope=slope,
        clmax=Estimate("section clmax", value, "-", parts),
        alpha_stall=stall,
        stall_type=stall_type(thickness, shape.camber if shape else _design_camber(name)),
        thickness=thickness,
        coordinates=shape.coordinates if shape else None,
        source=TABLE_SOURCE.format(page=row["page"]),
        cautions=notes,
    )


def _design_camber(name: str) -> float:
    """Camber of a six-series section from its name: design lift coefficient times 0.055 (mean line a = 1)."""
    digits = re.search(r"[-A](\d)\d\d(?:,|$)", name)
    return 0.0055 * int(digits[1]) if digits else 0.02


def _computed(section: str | np.ndarray, reynolds: float, table: Sequence[Row]) -> SectionLift:
    """From NeuralFoil, corrected."""
    shape: Shape = shape_of(section, tuple(str(r["section"]) for r in table))
    raw = raw_curve(shape, min(reynolds, TABLE_HIGHEST))
    value, relative = corrected_clmax(shape, reynolds, raw)
    beyond, notes = _beyond(reynolds, value)
    if not 0.06 <= shape.thickness <= 0.24:
        notes += (f"{shape.thickness:.0%} thick: the correction comes from sections of 6 to 24 %",)
    if abs(shape.camber) > 0.041:
        notes += (f"camber {shape.camber:.1%}: the correction comes from sections of 0 to 4 %",)
    parts = {Source("NeuralFoil against measured sections", "shared"): relative * value, **beyond}
    alpha0, slope = ZERO_LIFT * raw.alpha0, SLOPE * raw.slope
    bend = math.radians(float(np.interp(shape.thickness, BEND_AT, BEND)))
    return SectionLift(
        name=shape.name,
        reynolds=reynolds,
        alpha0=alpha0,
        slope=slope,
        clmax=Estimate("section clmax", value, "-", parts),
        alpha_stall=alpha0 + value / slope + bend,
        stall_type=stall_type(shape.thickness, shape.camber),
        thickness=shape.thickness,
        coordinates=shape.coordinates,
        source=NEURALFOIL_SOURCE.format(origin=shape.origin),
        cautions=notes,
    )


def _roughened(base: SectionLift, row: Row | None, reynolds: float) -> tuple[float, dict, str]:
    """clmax with standard roughness: the table's own column at 6e6 where it has one, else the mean of its thickness."""
    ratio, scatter = rough_ratio(base.thickness)
    if row and (own := row["clmax_rough"]):
        ratio, scatter = own / _smooth(row, 6e6, "clmax"), READING
        origin = f"its own rough curve, {own:.2f} at 6 million"
    else:
        origin = f"{ratio:.0%} +- {scatter:.0%} (standard deviation) over sections of this thickness"
    # Roughness was measured at 6e6 only. Below it a rough section may lose as a smooth one does, or nothing more: half
    # of the smooth trend is taken, the rest carried.
    half = 0.5 * _trend(base.thickness) * math.log(6e6 / min(reynolds, TABLE_HIGHEST))
    ratio = min(ratio * math.exp(half), max(ratio, 1.0))
    value = ratio * base.clmax.value
    parts = {source: ratio * part for source, part in base.clmax.parts.items()}
    parts[Source("standard roughness", "shared")] = math.hypot(
        scatter * base.clmax.value, half * value / math.sqrt(3.0)
    )
    return value, parts, f"standard leading-edge roughness: {origin} (NACA TR 824)"
