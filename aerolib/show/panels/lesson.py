"""A virtual stall to fly: what taking n = 1 at the lowest speed does to CLmax."""

from __future__ import annotations

import math

import ipywidgets as w
import numpy as np

from aerolib.case.virtual import STYLES, VirtualStall, nearest_stall, virtual_stalls
from aerolib.measured.stalls.each import LAG_SHARE
from aerolib.measured.stalls.loadfactor import KNOT_PER_SECOND, load_factors
from aerolib.show.lesson import coefficient_at_one_g, lesson_picture, lowest_seen
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.units import knots, to_si

LAG = 0.5  # time constant of the late needle [s]


class LessonPanel(Panel):
    """Entry rate and pilot choose a stored flight; its picture, and what each formula makes of its lowest speed."""

    def __init__(self):
        super().__init__()
        self.stall: VirtualStall | None = None
        style = {"description_width": "160px"}
        self.rate = w.FloatSlider(1.0, min=0.3, max=3.0, step=0.1, description="Entry rate [kt/s]", style=style,
                                  readout_format=".1f", continuous_update=False,
                                  layout=w.Layout(width="620px"))  # fmt: skip
        self.pilot = w.Dropdown(options=[(words, name) for name, words in STYLES.items()], value="release",
                                description="The pilot", style=style, layout=w.Layout(width="420px"))  # fmt: skip
        self.late = w.Checkbox(False, description=f"needle {LAG:g} s late", indent=False)
        self.result = w.HTML()
        self.result.add_class("lesson-result")
        self.picture = PictureBox("lesson", 820, 520)
        for control in (self.rate, self.pilot, self.late):
            control.observe(self._update, "value")
        self.assemble(w.VBox([self.rate, w.HBox([self.pilot, self.late])]), self.result, self.picture.box)
        self._update()

    @guarded
    def _update(self, *_):
        stall = nearest_stall(self.pilot.value, float(self.rate.value) * KNOT_PER_SECOND)
        lag = LAG if self.late.value else 0.0
        self.stall = stall
        self.result.value = _result(stall, lag)
        self.picture.show((stall.id, lag), lambda: lesson_picture(stall, lag))


def _result(stall: VirtualStall, lag: float) -> str:
    count = sum(s.style == stall.style for s in virtual_stalls())
    lowest = lowest_seen(stall, lag)
    one_g = float(coefficient_at_one_g(stall, lowest))
    n, spread, table = _by_table(stall, lowest, lag)
    rate = stall.entry_rate / KNOT_PER_SECOND
    where = f" on a needle {LAG:g} s late" if lag > 0.0 else ""
    return (
        f"<p>Of {count} virtual flights whose pilot {STYLES[stall.style]}, the nearest entered at "
        f"<b class='lesson-rate'>{rate:.2f}</b> kt/s (flight {stall.id}, flap {stall.flap}, "
        f"{stall.weight / stall.area:.0f} N/m²). Lowest speed{where}: "
        f"<b class='lesson-lowest'>{knots(lowest):.1f}</b> kt CAS. {_height(stall)}</p>"
        "<table><thead><tr><th>CLmax</th><th>reads [-]</th><th>error [%]</th></tr></thead><tbody>"
        f"<tr><td>true, of steady flight</td><td class='lesson-clmax'>{stall.clmax:.3f}</td><td></td></tr>"
        f"<tr><td>highest in this flight, because lift lags</td><td>{stall.highest:.3f}</td>"
        f"<td>{_percent(stall.highest, stall)}</td></tr>"
        f"<tr><td>lowest speed with n = 1</td><td class='lesson-one-g'>{one_g:.3f}</td>"
        f"<td><b class='lesson-percent'>{_percent(one_g, stall)}</b></td></tr>"
        f"<tr><td>lowest speed with the table's n = {n:.3f} (95 %: ± {1.96 * spread:.3f})</td>"
        f"<td class='lesson-table'>{table:.3f}</td><td class='lesson-remaining'>{_percent(table, stall)}</td></tr>"
        "</tbody></table>"
        "<p>Simulated: no buffet, no dropping wing. The table was made from these flights and "
        "others, so a small remaining error here is no proof of it; each choice may bring another airplane, so errors "
        "do not grow evenly with the rate.</p>"
    )


def _by_table(stall: VirtualStall, lowest: float, lag: float) -> tuple[float, float, float]:
    """The table's n at this entry rate, its standard uncertainty, and the coefficient it gives."""
    unknown = np.array([math.nan])
    at = lowest - LAG_SHARE["minimum"] * lag * stall.entry_rate  # as the card's readings are corrected
    factors = load_factors(np.array(["minimum"]), np.array(["break"]), np.array([stall.entry_rate]), unknown, unknown,
                           np.array([at]))  # fmt: skip
    n, spread = float(factors.n[0]), math.hypot(factors.character[0], factors.shared[0], factors.alone[0])
    return n, spread, n * float(coefficient_at_one_g(stall, at))


def _percent(value: float, stall: VirtualStall) -> str:
    return f"{round(100.0 * (value / stall.clmax - 1.0), 1) + 0.0:+.1f}"  # + 0.0: never -0.0


def _height(stall: VirtualStall) -> str:
    height, time = stall.history["height"], stall.history["time"]
    foot = to_si(1.0, "ft", "altitude")
    entry, after = stall.height_lost, -float(height.min())
    verb = "lost" if entry >= 0 else "gained"
    return (
        f"Height {verb} over the last tenth of the speed: <span class='lesson-height-entry'>{abs(entry):.0f}</span> m "
        f"({abs(entry) / foot:.0f} ft); lost from the stall to the end of the record, {time[-1]:.0f} s later and still "
        f"sinking: <b class='lesson-height'>{after:.0f}</b> m ({after / foot:.0f} ft)."
    )


def lesson_panel() -> LessonPanel:
    """A virtual stall to fly.

    Returns
    -------
    LessonPanel [-]
    """
    return LessonPanel()
