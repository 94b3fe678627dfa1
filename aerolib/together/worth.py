"""Worth buying? What a device is likely to do, what it costs, whether a test would show it, and what comes first."""

from __future__ import annotations

import html
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import ndtri

from aerolib.estimate import digits
from aerolib.measured.plan import plan_test
from aerolib.measured.stalls.results import cautions_html
from aerolib.predicted.flow_results import FlowControl
from aerolib.predicted.vanes import Vanes
from aerolib.units import knots

FIRST = (
    ("airspeed calibration", "in both states down to near the stall; or a change of a knot is not seen"),
    ("tuft the wing and film it", "it shows which span stalls first, and where the flow lets go"),
    ("weigh the airplane", "one per cent of weight is half a per cent of stall speed, and costs nothing to know"),
    ("seal the gaps of flaps and ailerons", "about +0.02 to 0.05 of CLmax by handbook practice, and less drag"),
    ("clean and smooth the leading edge", "roughness takes 0.3 to 0.4 off clmax, 12 to 18 % thick (NACA TR 824)"),
    ("check the rigging", "flaps, ailerons and washout as the drawing has them; an unequal wing drops first"),
)  # fmt: skip
UNKNOWN = "not known: gear and tail geometry were not given"
SURE = (
    "Not very. The size is the mean of three sources, none of them read in full, and its interval is kept wide enough "
    "to reach zero. Published tests favour devices that worked."
)
RANGE = "Not very. The size is a range from old tests and handbooks, not a computation for this wing."
CHANCES = (0.025, 0.2, 0.4, 0.6, 0.8, 0.975)  # of the predicted change, at which the plan is worked out


@dataclass(frozen=True)
class Worth:
    """The one page: no number on it is an approach speed."""

    predicted: FlowControl
    chance: float | None  # that the planned programme shows the change, over all changes predicted
    programme: tuple[int, int] | None  # stalls on each flight, flights in each state
    usable: str = UNKNOWN

    def lines(self) -> list[tuple[str, str]]:
        """Question and answer, in order."""
        p = self.predicted
        if p.speed is None:
            likely = p.headline()
        else:
            d = max(1, digits(knots(p.speed.standard_uncertainty)))
            low, high = (knots(x) + 0.0 for x in p.speed.interval95)
            likely = (
                f"{knots(p.speed.value):+.{d}f} kt of 1-g stall speed at the reference weight, 19 times in 20 between "
                f"{low:+.{d}f} and {high:+.{d}f} kt; {p.chance()}"
            )
        cost = []
        if p.top_speed is not None:
            cost.append("top speed {:+.1f} to {:+.1f} %".format(*(round(100.0 * x, 1) + 0.0 for x in p.top_speed)))
        if p.mass is not None:
            cost.append(f"about {1e3 * p.mass:.0f} g")
        if self.chance is None:
            shown = "not worked out: there is no change of the wing to look for"
        else:
            s, f = self.programme
            shown = (
                f"{self.chance:.0%}, for {s} stalls on each of {f} flights in each state, over all changes predicted; "
                "a test that shows nothing does not say that nothing changed"
            )
        return [
            ("Likely change", likely),
            ("How sure", f"{SURE} {p.contest.words()}" if isinstance(p.device, Vanes) else RANGE),
            ("What gear and tail let the airplane use", self.usable),
            ("What it costs", "; ".join(cost) or "not estimated"),
            ("Would your test show it", shown),
        ]

    def text(self) -> str:
        """All of it."""
        first = [f"{k}: {why}" for k, why in FIRST]
        return "\n".join([f"{q}: {a}" for q, a in self.lines()] + ["Cheaper, and first:", *first])

    def __str__(self) -> str:
        return self.text()

    def _repr_html_(self) -> str:
        return self.body_html() + cautions_html()

    def body_html(self) -> str:
        """The page without the cautions, for a report that has them once."""
        wide = "style='white-space: normal'"
        rows = "".join(f"<tr><th>{html.escape(q)}</th><td {wide}>{html.escape(a)}</td></tr>" for q, a in self.lines())
        first = "".join(f"<li><b>{html.escape(k)}</b>: {html.escape(why)}</li>" for k, why in FIRST)
        return f"<h4>Worth buying?</h4><table class='worth'>{rows}</table><p>Cheaper, and first:</p><ol>{first}</ol>"


def worth_buying(
    predicted: FlowControl, *, stall_speed: float, stall_scatter: float, day_scatter: float | None,
    position_uncertainty: float, stalls: int = 4, flights: int = 2,
    usable: str = UNKNOWN,
) -> Worth:  # fmt: skip
    """The page for one device.

    chance = mean over the predicted changes of P(the programme shows that change)

    Parameters
    ----------
    predicted : FlowControl [SI]
    stall_speed, stall_scatter, day_scatter, position_uncertainty : float [m/s]
        As `plan_test` takes them.
    stalls, flights : int [-]
        The programme: stalls on each flight, flights in each state.
    usable : str [-]
        What gear and tail let the airplane use, in words.

    Returns
    -------
    Worth [-]
    """
    if predicted.speed is None:
        return Worth(predicted, None, None, usable)
    value, sd = predicted.speed.value, max(predicted.speed.standard_uncertainty, 1e-3)
    chance = _chance(value, sd, stall_speed, stall_scatter, day_scatter, position_uncertainty, stalls, flights)
    return Worth(predicted, chance, (stalls, flights), usable)


@lru_cache(maxsize=64)  # another drag or mass of the same change asks for the same chance
def _chance(value, sd, stall_speed, stall_scatter, day_scatter, position, stalls, flights) -> float:
    """The programme's chance at a few of the predicted changes, averaged over all of them."""
    drops = np.clip(-(value + sd * ndtri(np.array(CHANCES))), 0.0, 0.4 * stall_speed)
    shown = np.array([
        plan_test(float(x), stall_speed, stall_scatter=stall_scatter, day_scatter=day_scatter,
                  position_uncertainty=position, stalls=(stalls,), flights=(flights,)).cells[0].probability_shown
        for x in drops
    ])  # fmt: skip
    order = np.argsort(drops)
    at = np.maximum(-(value + sd * ndtri((np.arange(200) + 0.5) / 200)), 0.0)
    return float(np.mean(np.interp(at, drops[order], shown[order])))
