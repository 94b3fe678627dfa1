"""What the section of a wing gives: lift curve, clmax and the way it stalls, at the flight Reynolds number."""

from __future__ import annotations

import html
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from aerolib.estimate import Estimate, Source
from aerolib.predicted.shapes import Shape, canonical, shape_of

Row = Mapping[str, object]


@dataclass(frozen=True)
class SectionLift:
    """Lift of a section: two dimensions, no wing, no trim."""

    name: str
    reynolds: float
    alpha0: float  # [rad] incidence of no lift
    slope: float  # [1/rad]
    clmax: Estimate
    alpha_stall: float  # [rad] incidence of clmax
    stall_type: str  # 'trailing edge', 'leading edge', 'thin' or 'mixed'
    thickness: float  # over the chord [-]
    coordinates: np.ndarray | None = field(repr=False, compare=False)  # (n, 2) over the chord
    source: str = ""
    cautions: tuple[str, ...] = ()

    def text(self) -> str:
        """The section in words."""
        return (
            f"{self.name} at Reynolds number {self.reynolds / 1e6:.2g} million: clmax {self.clmax.text()} at "
            f"{math.degrees(self.alpha_stall):.1f} deg; zero lift at {math.degrees(self.alpha0):.1f} deg, slope "
            f"{math.radians(self.slope):.3f} per degree; stall: {self.stall_type}"
        )

    def __str__(self) -> str:
        return "\n  ".join([self.text(), *self.cautions])

    def _repr_html_(self) -> str:
        notes = "".join(f"<li>{html.escape(c)}</li>" for c in self.cautions)
        return (
            f"<p>{html.escape(self.text())}.</p><p class='small'>{html.escape(self.source)}</p>"
            f"{self.clmax._repr_html_()}<ul class='cautions'>{notes}</ul>"
        )

    def as_dict(self) -> dict:
        """Plain values for JSON; angles in degrees, slope per degree."""
        return {
            "section": self.name, "kind": "section", "reynolds": self.reynolds, "value": self.clmax.value,
            "standard_uncertainty": self.clmax.standard_uncertainty, "interval95": list(self.clmax.interval95),
            "alpha_stall_deg": math.degrees(self.alpha_stall), "alpha0_deg": math.degrees(self.alpha0),
            "slope_per_deg": math.radians(self.slope), "stall_type": self.stall_type, "thickness": self.thickness,
            "method": self.source, "cautions": list(self.cautions),
        }  # fmt: skip


def section_lift(
    section: str | np.ndarray, reynolds: float, *, table: Sequence[Row] | None = None, rough: bool = False,
    sag: float | None = None, surface_break: float | None = None, gap: float | None = None,
) -> SectionLift:  # fmt: skip
    """Lift curve, clmax and stall type of a section at a Reynolds number.

    Where the table holds the section: clmax linear in the logarithm of the Reynolds number between its columns.

    Parameters
    ----------
    section : str or array [-]
        A name, or points over the chord as `shape_of` takes them.
    reynolds : float [-]
        Of the flight: speed times chord over kinematic viscosity.
    table : sequence of rows [SI]
        Measured sections (data/published/naca_tr824.csv as the case room gives it); None without.
    rough : bool [-]
        Standard leading-edge roughness.
    sag : float [-]
        Depth of the fabric between ribs over the chord.
    surface_break : float [-]
        Height of a step in the surface over the chord.
    gap : float [-]
        Width of an open gap through the section over the chord.

    Returns
    -------
    SectionLift [SI]

    Raises
    ------
    ValueError
        Unknown section (the nearest are offered), points that are no section, a Reynolds number out of range.
    """
    row = None
    if isinstance(section, str):
        row = next((r for r in table or () if canonical(str(r["section"])) == canonical(section)), None)
    if row is not None:
        re = [(x, float(row[f"clmax_{k}"])) for x, k in ((3e6, "3e6"), (6e6, "6e6"), (9e6, "9e6")) if row[f"clmax_{k}"]]
        value = float(np.interp(math.log(reynolds), np.log([x for x, _ in re]), [c for _, c in re]))
        value += 0.14 * min(0.0, math.log(reynolds / 3e6))
        if rough:
            value = float(row["clmax_rough"] or value - 0.35)
        shape = None
        name, thickness, slope = row["section"], row["thickness"], row["slope_6e6"] or row["slope_3e6"]
        alpha0 = row["alpha0_6e6"] if row["alpha0_6e6"] is not None else row["alpha0_3e6"]
        stall, source = row["alpha_3e6"], f"NACA TR 824 page {row['page']:.0f}"
    else:
        names = tuple(str(r["section"]) for r in table or ())
        shape: Shape | None = shape_of(section, names)
        import aerosandbox as asb

        alpha = np.arange(-4.0, 26.1, 0.5)
        got = asb.Airfoil(coordinates=shape.coordinates).get_aero_from_neuralfoil(
            alpha=alpha, Re=reynolds, mach=0.0, model_size="xlarge"
        )
        cl = np.asarray(got["CL"])
        top = next((i for i in range(10, len(cl) - 1) if cl[i] >= cl[i + 1]), len(cl) - 1)
        value = float(cl[top]) / 1.14 - (0.35 if rough else 0.0)
        fit = np.polyfit(np.radians(alpha[2:21]), cl[2:21], 1)
        slope, alpha0, stall = float(fit[0]), float(-fit[1] / fit[0]), math.radians(alpha[top])
        name, thickness, source = shape.name, shape.thickness, "NeuralFoil, corrected"
    clmax = Estimate("clmax", value, "-", {Source("section", "shared"): 0.06 * value})
    kind = "thin" if thickness < 0.09 else "leading edge" if thickness < 0.13 else "trailing edge"
    return SectionLift(str(name), reynolds, float(alpha0), float(slope), clmax, float(stall), kind, float(thickness),
                       None if shape is None else shape.coordinates, source)  # fmt: skip
