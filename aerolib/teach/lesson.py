"""A virtual stall to fly: what taking n = 1 at the lowest speed does to CLmax."""

from __future__ import annotations

import math

import ipywidgets as w
import numpy as np

from aerolib.measured.stalls.each import LAG_SHARE
from aerolib.measured.stalls.loadfactor import KNOT_PER_SECOND, load_factors
from aerolib.show.finding import Column, Part, Table
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded, slider
from aerolib.show.render import part_html
from aerolib.teach.lesson_picture import coefficient_at_one_g, lesson_picture, lowest_seen
from aerolib.teach.virtual import STYLES, VirtualStall, nearest_stall, virtual_stalls
from aerolib.units import knots, to_si

LAG = 0.5  # time constant of the late needle [s]


class LessonPanel(Panel):
    """Entry rate and pilot choose a stored flight; its picture, and what each formula makes of its lowest speed."""

    def __init__(self):
        super().__init__()
        self.stall: VirtualStall | None = None
        self.rate = slider("Entry rate [kt/s]", 1.0, 0.3, 3.0, 0.1, wide=160)
        self.pilot = choice("The pilot", [(words, name) for name, words in STYLES.items()], "release", wide=160)
        self.late = w.Checkbox(False, description=f"indicator {LAG:g} s late", indent=False)
        self.result = w.HTML()
        self.result.add_class("lesson-result")
        self.picture = PictureBox("lesson", 820, 520)
        self.watch(self.rate, self.pilot, self.late)
        self.assemble(w.VBox([self.rate, w.HBox([self.pilot, self.late])]), self.result, self.picture)
        self._update()

    @guarded
    def _update(self, *_):
        stall = nearest_stall(self.pilot.value, float(self.rate.value) * KNOT_PER_SECOND)
        lag = LAG if self.late.value else 0.0
        self.stall = stall
        self.result.value = "".join(map(part_html, _result(stall, lag)))
        self.picture.show((stall.id, lag), lambda: lesson_picture(stall, lag))


def _result(stall: VirtualStall, lag: float) -> list[Part]:
    count = sum(s.style == stall.style for s in virtual_stalls())
    lowest = lowest_seen(stall, lag)
    one_g = float(coefficient_at_one_g(stall, lowest))
    n, spread, table = _by_table(stall, lowest, lag)
    where = f" on a indicator {LAG:g} s late" if lag > 0.0 else ""
    rows = (
        ("true, of steady flight", stall.clmax),
        ("highest in this flight, because lift lags", stall.highest),
        ("lowest speed with n = 1", one_g),
        (f"lowest speed with the table's n = {n:.3f} (95 %: ± {1.96 * spread:.3f})", table),
    )
    return [
        f"Of {count} virtual flights whose pilot {STYLES[stall.style]}, the nearest entered at "
        f"{stall.entry_rate / KNOT_PER_SECOND:.2f} kt/s (flight {stall.id}, flap {stall.flap}, "
        f"{stall.weight / stall.area:.0f} N/m²). Lowest speed{where}: {knots(lowest):.1f} kt CAS. {_height(stall)}",
        Table(
            (Column("CLmax"), Column("reads [-]"), Column("error [%]")),
            tuple((what, f"{cl:.3f}", "" if cl is stall.clmax else _percent(cl, stall)) for what, cl in rows),
        ),
        "Simulated: no buffet, no dropping wing. The table was made from these flights and others, so a small "
        "remaining error here is no proof of it; each choice may bring another airplane, so errors do not grow evenly "
        "with the rate.",
    ]


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
        f"Height {verb} over the last tenth of the speed: {abs(entry):.0f} m ({abs(entry) / foot:.0f} ft); lost from "
        f"the stall to the end of the record, {time[-1]:.0f} s later and still sinking: {after:.0f} m "
        f"({after / foot:.0f} ft)."
    )
