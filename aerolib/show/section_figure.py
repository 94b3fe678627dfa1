"""The picture of a section: its lift curve with the range of clmax, and where something was measured, that too."""

from __future__ import annotations

import math

import numpy as np

from aerolib.case.published import measured_lift, section_table
from aerolib.predicted.section import SectionLift
from aerolib.predicted.section.neuralfoil import RawCurve, raw_curve
from aerolib.predicted.section.shapes import canonical, shape_of
from aerolib.show.pictures import BLUE, GREEN, GREY, ORANGE, Picture, finish, new_figure, own_style, plain

LOOKS = {"3e6 smooth": ("o", BLUE, "smooth, 3 million"), "6e6 smooth": ("s", GREEN, "smooth, 6 million"),
         "rough": ("^", ORANGE, "rough, 6 million")}  # fmt: skip


def raw_of(found: SectionLift) -> RawCurve | None:
    """NeuralFoil's own curve of a section, None where the section's shape is not at hand."""
    try:
        shape = shape_of(found.name if found.coordinates is None else found.coordinates)
    except ValueError:
        return None
    return raw_curve(shape, min(max(found.reynolds, 3e5), 9e6))


@own_style()
def section_picture(found: SectionLift, *, rough: SectionLift | None = None, raw: RawCurve | None = None) -> Picture:
    """Lift coefficient against incidence: predicted with its range, NeuralFoil's own, and measured points.

    Parameters
    ----------
    found : SectionLift [SI]
    rough : SectionLift [SI]
        The same with standard roughness, to be drawn dotted.
    raw : RawCurve [SI]
        NeuralFoil's own curve (`raw_of`), to be drawn thin.

    Returns
    -------
    Picture [-]
    """
    figure = new_figure(7.6, 4.4)
    axes = figure.add_axes((0.10, 0.14, 0.87, 0.80))
    low, high = found.clmax.interval95
    stall = math.degrees(found.alpha_stall)
    alpha = np.linspace(math.radians(-6.0), found.alpha_stall, 120)
    axes.axhspan(low, high, color=BLUE, alpha=0.13, lw=0, label="clmax, 95 % range")
    axes.plot(np.degrees(alpha), found.cl(alpha), color=BLUE, lw=2.2, label="predicted, smooth")
    axes.plot([stall], [found.clmax.value], marker="o", ms=8, color=BLUE)
    if rough is not None:
        alpha = np.linspace(math.radians(-6.0), rough.alpha_stall, 120)
        axes.plot(np.degrees(alpha), rough.cl(alpha), color=ORANGE, lw=2.0, ls=":", label="predicted, rough nose")
        axes.plot([math.degrees(rough.alpha_stall)], [rough.clmax.value], marker="D", ms=7, color=ORANGE)
    if raw is not None:
        shown = np.degrees(raw.alpha) <= 20.0
        axes.plot(np.degrees(raw.alpha[shown]), raw.cl[shown], color=GREY, lw=0.9, ls="--",
                  label="NeuralFoil, uncorrected")  # fmt: skip
    points = _measured(found.name)
    for condition, (marker, colour, words) in LOOKS.items():
        if condition in points:
            a, cl = np.array(points[condition]).T
            keep = (a >= math.radians(-6.0)) & (a <= math.radians(22.0))
            axes.plot(np.degrees(a[keep]), cl[keep], ls="none", marker=marker, ms=5, mfc="none", mec=colour,
                      label=f"measured, {words}")  # fmt: skip
    axes.set_xlim(-6.5, 22.5)
    axes.set_ylim(min(-0.6, float(found.cl(math.radians(-6.0))) - 0.1), 1.15 * max(high, raw.clmax if raw else high))
    axes.set_xlabel("incidence of the section's chord line [deg]")
    axes.set_ylabel("section lift coefficient cl [-]")
    axes.set_title(f"{plain(found.name)} at Reynolds number {found.reynolds / 1e6:.2g} million", fontsize=10)
    axes.grid(color="0.92", linewidth=0.8)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.legend(loc="lower right", frameon=False, fontsize=8.5)
    beside = " Hollow marks were measured in a tunnel, at the Reynolds numbers named." if points else ""
    caption = (
        f"The section's lift rises straight with incidence, then bends, and reaches clmax {found.clmax.text()} at "
        f"about {stall:.0f} degrees; beyond that nothing is predicted. The band is where clmax may be.{beside} A "
        "section has no tips and no tail: the wing gives less, and the trimmed airplane less again."
    )
    words = f"{found.text()}. " + (f"With a rough nose clmax {rough.clmax.text()}. " if rough else "")
    if raw is not None:
        words += f"NeuralFoil alone reads {raw.clmax:.2f}. "
    return finish(figure, caption, words + (f"Measured curves shown: {', '.join(sorted(points))}." if points else ""))


def _measured(name: str):
    """Measured lift curves of the table's section of this name."""
    key = canonical(name)
    held = next((str(r["section"]) for r in section_table() if canonical(str(r["section"])) == key), None)
    return measured_lift(held) if held else {}
