"""What `wing_clmax` gives: a frozen object that shows itself as text, HTML and items of JSON."""

from __future__ import annotations

import html
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from aerolib.estimate import Estimate, digits
from aerolib.physics.lifting_line import Planform

METHOD = "lifting line; half of the area at its section's limit, at most 2 degrees past first touch"
CAUTIONS = (
    "A prediction from shape alone: no stall speed, approach speed, placard or marking follows from it. Only the "
    "airplane's own flights, flown as its permit and a licensed instructor allow, show what it does.",
    "Gaps, dents, rain, ice, insects and the joint of wing and fuselage all lower it; the interval holds only what its "
    "budget names.",
    "Where the stall starts is predicted for a wing alone, without slip or roll: it is no promise that the nose drops "
    "before a wing does, and says nothing about spins.",
)


@dataclass(frozen=True)
class WingClmax:
    """Maximum lift of a wing: the wing's own, and that of the trimmed airplane, which is what a flight measures."""

    planform: Planform
    clmax: Estimate  # of the wing, quoted
    trimmed: Estimate  # of the trimmed airplane
    trim_loss: Estimate  # share of the wing's CLmax
    first_touch: float  # CL where the first section reaches its limit
    first_touch_at: float  # from the centreline [m]
    spread: float  # CL where the stall has spread: the quoted value
    stalled: float  # share of the area at its limit there
    all_at_limit: float  # CL if every section were at its limit: a bound
    alpha_stall: float  # root chord to the air at the quoted CL [rad]
    bend: float  # of that, because the section's lift curve bends before its limit [rad]
    slope: float  # of the wing [1/rad]
    drag_factor: float  # delta: CDi = (1 + delta) CL^2 / (pi A), untwisted, no flap
    aileron_margin: float | None  # least (limit - cl) / limit over the aileron at first touch
    aileron_stalled: float | None  # share of the aileron's span at its limit at the quoted CL
    y: np.ndarray  # (N,) from the root outward [m]
    limit: np.ndarray  # (N,) clmax of the section there
    loading: np.ndarray  # (N,) cl at first touch
    loading_spread: np.ndarray  # (N,) cl at the quoted CL
    inputs: Mapping[str, str]
    notes: tuple[str, ...] = ()
    method: str = METHOD

    @property
    def first_touch_share(self) -> float:
        """Where the stall starts, in shares of the half span."""
        return 2.0 * self.first_touch_at / self.planform.span

    def lines(self) -> list[str]:
        """The result, a sentence each."""
        d = digits(self.clmax.standard_uncertainty)
        out = [
            f"CLmax of the wing: {self.clmax.text()}; {100 * self.stalled:.0f} % of its area is then at its "
            "section's limit.",
            f"CLmax of the trimmed airplane: {self.trimmed.text()}, {_percent(self.trim_loss)} lost to the tail; "
            "compare this one with a flight.",
            f"The stall starts {self.first_touch_at:.2f} m from the centreline ({100 * self.first_touch_share:.0f} % "
            f"of the half span) at CL {self.first_touch:.{d}f}, a lower bound; with every section at its limit it "
            f"would be {self.all_at_limit:.{d}f}, an upper one.",
            f"Root chord {math.degrees(self.alpha_stall):.1f} degrees to the air at CLmax, of which "
            f"{math.degrees(self.bend):.1f} because the section's lift curve bends before its limit; a calculation "
            f"with the whole surface adds about one. Lift slope {self.slope:.2f} per radian "
            f"({math.radians(self.slope):.4f} per degree); induced drag "
            f"{1.0 + self.drag_factor:.3f} times that of an elliptic loading.",
        ]
        if self.aileron_margin is not None:
            out.append(
                f"Over the ailerons the section has {100 * self.aileron_margin:.0f} % of its limit left when the stall "
                f"starts; at the quoted CLmax {100 * self.aileron_stalled:.0f} % of their span is at its limit."
            )
        return out + [f"Note: {n}." for n in self.notes]

    def text(self) -> str:
        """All lines, with the cautions."""
        return "\n".join([*self.lines(), *self.clmax_budget(), *CAUTIONS])

    def clmax_budget(self) -> list[str]:
        """The error sources of the trimmed value, largest first."""
        lines = [b for b in self.trimmed.budget() if b.share >= 0.005]
        return [f"{b.name}: {b.contribution:.2g} ({100 * b.share:.0f} % of the variance)" for b in lines]

    def __str__(self) -> str:
        return self.text()

    def body_html(self) -> str:
        """Result, error sources, method and inputs as HTML; the cautions stand elsewhere on the page."""
        lines = "".join(f"<li>{html.escape(t)}</li>" for t in self.lines())
        given = "; ".join(f"{k} {v}" for k, v in self.inputs.items())
        return (
            f"<ul>{lines}</ul><p>Error sources of the trimmed value: {html.escape('; '.join(self.clmax_budget()))}.</p>"
            f"<p>Method: {html.escape(self.method)}. From {html.escape(given)}.</p>"
        )

    def _repr_html_(self) -> str:
        return self.body_html() + wing_cautions_html()

    def as_items(self, configuration: str, modification: str | None = None) -> list[dict]:
        """Two items of the JSON list `predicted`: the wing and the trimmed airplane."""

        def item(kind, estimate):
            return {
                "modification": modification, "configuration": configuration, "kind": kind, "quantity": "CLmax",
                "value": _short(estimate.value), "standard_uncertainty": _short(estimate.standard_uncertainty),
                "interval95": [_short(x) for x in estimate.interval95], "method": self.method,
            }  # fmt: skip

        wing = {
            "first_touch": _short(self.first_touch), "first_touch_share": _short(self.first_touch_share),
            "all_at_limit": _short(self.all_at_limit), "slope_per_rad": _short(self.slope),
            "alpha_stall_deg": _short(math.degrees(self.alpha_stall)), "aileron_margin": _short(self.aileron_margin),
            "aileron_stalled": _short(self.aileron_stalled),
        }  # fmt: skip
        return [
            {**item("wing", self.clmax), **wing},
            {**item("trimmed", self.trimmed), "trim_loss": _short(self.trim_loss.value)},
        ]


def wing_cautions_html() -> str:
    """The cautions that go with every prediction, as HTML [-].

    Returns
    -------
    str [-]
    """
    return "<ul class='cautions'>" + "".join(f"<li>{html.escape(c)}</li>" for c in CAUTIONS) + "</ul>"


def _percent(loss: Estimate) -> str:
    low, high = loss.interval95
    return f"{100 * loss.value:.0f} % ({100 * low:.0f} to {100 * high:.0f} %)"


def _short(x) -> float | None:
    return None if x is None else float(f"{x:.6g}")
