"""Legs of a run on their circle, moved by sliders; the correction they give; what it buys."""

from __future__ import annotations

import math
from dataclasses import replace

import ipywidgets as w
import numpy as np

from aerolib.case.legs import FILE, USUAL_HEADER
from aerolib.measured.airspeed import fit_circle
from aerolib.measured.airspeed.results import AirspeedCalibration
from aerolib.show.figures.calibration import circle_picture, correction_picture
from aerolib.show.finding import Column, Finding, Table
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded, slider
from aerolib.show.render import body_html, reader_of, shown, table_html, tag, words
from aerolib.show.sections.airspeed import CAUTIONS, SOURCE, TITLE, circle_slots, parts_of
from aerolib.study import Study
from aerolib.units import knots, to_si

MOST = 6  # legs of a run that can be moved; more take part as the file has them
# Three legs of an example printed in 1998 (D. Gray): published there as 130 kt true, wind 20.6 kt from 314.8 degrees.
EXAMPLE = ((140.0, 192.0), (112.0, 283.0), (120.0, 20.0))
NAMES = ("modification", "configuration", "run")


class CalibrationPanel(Panel):
    """One run at a time: its legs, its circle, and what becomes of the correction."""

    def __init__(self, study: Study):
        super().__init__()
        self.study, self.legs, self.reader = study, study.case.optional(FILE), reader_of(study.dial_unit)
        self.found: AirspeedCalibration | None = None
        runs = [] if self.legs is None else list(dict.fromkeys(zip(*(self.legs.text[n].tolist() for n in NAMES))))
        named = [*((f"{m}, {c}, run {r}", (m, c, r)) for m, c, r in runs), ("a printed example of three legs", None)]
        self.run = choice("Run", named, runs[1] if len(runs) > 1 else None, 60)
        self.speed = [slider(f"Leg {k + 1}, ground [kt]", 60, 1, 250, 0.5, wide=150) for k in range(MOST)]
        self.track = [w.FloatText(0.0, step=1, layout=w.Layout(width="210px"), style={"description_width": "90px"})
                      for _ in range(MOST)]  # fmt: skip
        self.rows = [w.HBox(x) for x in zip(self.speed, self.track)]
        self.result, self.table, self.buys = (w.HTML() for _ in range(3))
        for part, name in ((self.result, "result"), (self.table, "table"), (self.buys, "buys")):
            part.add_class(f"calibration-{name}")
        self.circle, self.correction = PictureBox("circle", 540, 520), PictureBox("correction", 820, 360)
        self.watch(self.run, update=self._fill)
        self.watch(*self.speed, *self.track)
        self.assemble(self.run, *self.rows, self.result, self.circle, self.correction, self.table, self.buys)
        self._fill()
        self._worth()

    def _mine(self) -> np.ndarray:
        """Which legs of the file are those of the chosen run."""
        return np.flatnonzero(np.all([self.legs.text[n] == v for n, v in zip(NAMES, self.run.value)], axis=0))

    @guarded
    def _fill(self, *_):
        """The sliders from the chosen run, as the file has it."""
        if self.run.value is None:
            speed, angle = np.array(EXAMPLE).T
            self.way, self.given, self.sink = "track", (to_si(speed, "kt", "speed"), np.radians(angle)), 0.0
        else:
            si = {k: v[self._mine()] for k, v in self.legs.si.items()}
            self.way = "track" if np.isfinite(si["track"]).all() else "heading"
            self.given, self.sink = (si["ground_speed"], si[self.way]), np.nan_to_num(si["sink_rate"])
        self.shown: list[tuple[float, float]] = []  # while the sliders are filled
        legs = list(zip(*self.given))[:MOST]
        for k, row in enumerate(self.rows):
            row.layout.display = "flex" if k < len(legs) else "none"
            self.track[k].description = f"{self.way} [deg]"
            if k < len(legs):
                self.speed[k].value = round(float(knots(legs[k][0])), 1)
                self.track[k].value = round(math.degrees(legs[k][1]), 1)
        self.shown = [(s.value, t.value) for s, t in zip(self.speed, self.track)]
        self._update()

    def _moved(self) -> tuple[np.ndarray, np.ndarray]:
        """Ground speeds and tracks: of the file to its last digit where no slider was touched."""
        speed, track = (np.array(x, dtype=float) for x in self.given)
        for k in range(min(len(speed), MOST)):
            if self.speed[k].value != self.shown[k][0]:
                speed[k] = to_si(self.speed[k].value, "kt", "speed")
            if self.track[k].value != self.shown[k][1]:
                track[k] = math.radians(self.track[k].value)
        return speed, track

    @guarded
    def _update(self, *_):
        if not self.shown:
            return
        speed, track = self._moved()
        try:
            circle = fit_circle(speed, **{self.way: track}, sink_rate=self.sink)
        except ValueError as e:
            self.say(f"these legs give no airspeed: {e}")
            return
        slots = circle_slots(circle)
        self.result.value = tag("p", "".join((
            "True airspeed ", tag("b", shown(slots["airspeed"], how="number"), class_="airspeed"),
            f" kt ({words(shown(slots['airspeed'], how='interval'))}), wind ",
            tag("span", shown(slots["wind"], how="number"), class_="wind"),
            f" kt from {shown(slots['from'])}. Residuals of the legs [kt]: ",
            tag("span", shown(slots["residuals"]), class_="residuals"),
        )))  # fmt: skip
        name = "a printed example" if self.run.value is None else self.run.label
        ends = circle.wind + circle.airspeed * np.column_stack([np.sin(circle.headings), np.cos(circle.headings)])
        over_ground = track if self.way == "track" else np.arctan2(*ends.T)
        self.circle.show((*speed, *track, name), lambda: circle_picture(speed, over_ground, circle, name))
        if self.legs is not None:
            self._all(speed, track)

    def _all(self, speed, track):
        """Every state anew, with the legs as the sliders have them; nothing is written."""
        si = {k: v.copy() for k, v in self.legs.si.items()}
        if self.run.value is not None:
            si["ground_speed"][self._mine()], si[self.way][self._mine()] = speed, track
        self.found = found = self.study.changed(tables={FILE: replace(self.legs, si=si)}).calibration
        answer = Finding("airspeed", TITLE, parts=tuple(parts_of(found)), cautions=CAUTIONS, source=SOURCE)
        self.table.value = body_html(answer, self.reader)
        key = tuple((s.name, s.at_stall, s.standard_uncertainty) for s in found.states)
        self.correction.show(key, lambda: correction_picture(found, self.study.dial_unit))

    @guarded
    def _worth(self):
        """Widths of CLmax with the legs and with an assumed error, both from the case's own stalls."""
        if self.legs is None:
            self.buys.value = tag("p", words(
                f"There is no `{FILE}` in this case yet: fly as described above, write a row for every leg into a file "
                f"of that name, with the header `{USUAL_HEADER}`, and open this workbook again."))  # fmt: skip
            return
        if len(self.study.stalls.row) == 0:
            self.buys.value = tag("p", "What the legs buy is told once there are stalls.")
            return
        plain = self.study.aircraft.indicator.model_copy(update={"position": ()})
        bare = self.study.changed(tables={FILE: None}, indicator=plain)
        legs, assumed = ({i.name: i.clmax for i in s.trusting().unjudged.items} for s in (self.study, bare))
        self.bought = {name: (_half(x), _half(assumed[name])) for name, x in legs.items() if x and assumed.get(name)}
        rows = tuple((name, *(f"± {x:.1f} %" for x in pair)) for name, pair in self.bought.items())
        heads = tuple(map(Column, ("group", "with your legs", "error assumed")))
        self.buys.value = tag("p", (
            "What the legs bought: half of the 95 % interval of CLmax, in percent, with the legs of the file, and "
            "with neither legs nor a table, when the assumed position error stands."
        )) + table_html(Table(heads, rows))  # fmt: skip


def _half(clmax) -> float:
    low, high = clmax.interval95
    return 50.0 * (high - low) / clmax.value
