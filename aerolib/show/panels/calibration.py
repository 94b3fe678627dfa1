"""Legs of a run on their circle, moved by sliders; the correction they give; what it buys."""

from __future__ import annotations

import html
import math
from dataclasses import replace

import ipywidgets as w
import numpy as np

from aerolib.case.legs import FILE, USUAL_HEADER
from aerolib.estimate import K95
from aerolib.measured.airspeed.circle import fit_circle
from aerolib.measured.airspeed.results import AirspeedCalibration
from aerolib.show.calibration_figure import circle_picture, correction_picture
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.study import Study
from aerolib.units import knots, to_si

MOST = 6  # legs of a run that can be moved; more take part as the file has them
# Three legs of an example printed in 1998 (D. Gray): published there as 130 kt true, wind 20.6 kt from 314.8 degrees.
EXAMPLE = ((140.0, 192.0), (112.0, 283.0), (120.0, 20.0))
CIRCLE = ("true airspeed [kt]", "wind [kt]", "wind from [deg]", "residuals of the legs [kt]")


class CalibrationPanel(Panel):
    """One run at a time: its legs, its circle, and what becomes of the correction."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.legs = study.case.optional(FILE)
        self.found: AirspeedCalibration | None = None
        names = []
        if self.legs is not None:
            text = self.legs.text
            names = list(dict.fromkeys(zip(*(text[n].tolist() for n in ("modification", "configuration", "run")))))
        runs = [(f"{m}, {c}, run {r}", (m, c, r)) for m, c, r in names]
        self.run = w.Dropdown(
            options=[*runs, ("a printed example of three legs", None)], value=names[1] if len(names) > 1 else None,
            description="Run", layout=w.Layout(width="420px"),
        )  # fmt: skip
        layout = {"style": {"description_width": "150px"}, "continuous_update": False}
        self.speed = [
            w.FloatSlider(60, min=1, max=250, step=0.5, description=f"Leg {k + 1}, ground [kt]", readout_format=".1f",
                          layout=w.Layout(width="470px"), **layout) for k in range(MOST)
        ]  # fmt: skip
        self.track = [
            w.FloatText(0.0, step=1, description="track [deg]", layout=w.Layout(width="210px"),
                        style={"description_width": "90px"}) for k in range(MOST)
        ]  # fmt: skip
        self.rows = [w.HBox([s, t]) for s, t in zip(self.speed, self.track)]
        self.result, self.table, self.buys = w.HTML(), w.HTML(), w.HTML()
        self.result.add_class("calibration-result")
        self.table.add_class("calibration-table")
        self.buys.add_class("calibration-buys")
        self.circle, self.correction = PictureBox("circle", 540, 520), PictureBox("correction", 820, 360)
        self._filling = False
        self.run.observe(self._fill, "value")
        for control in (*self.speed, *self.track):
            control.observe(self._update, "value")
        self.assemble(self.run, w.VBox(self.rows), self.result, self.circle.box, self.correction.box, self.table,
                      self.buys)  # fmt: skip
        self._fill()
        self._worth()

    def _mine(self) -> np.ndarray:
        """Which legs of the file are those of the chosen run."""
        names = ("modification", "configuration", "run")
        return np.flatnonzero(np.all([self.legs.text[n] == v for n, v in zip(names, self.run.value)], axis=0))

    @guarded
    def _fill(self, *_):
        """The sliders from the chosen run, as the file has it."""
        self._filling = True
        try:
            if self.run.value is None:
                speed, angle = np.array(EXAMPLE).T
                self.given, self.sink, self.by_track = (to_si(speed, "kt", "speed"), np.radians(angle)), 0.0, True
            else:
                si, mine = self.legs.si, self._mine()
                self.by_track = bool(np.isfinite(si["track"][mine]).all())
                self.given = si["ground_speed"][mine], si["track" if self.by_track else "heading"][mine]
                self.sink = np.nan_to_num(si["sink_rate"][mine])
            self.shown = []
            for k, row in enumerate(self.rows):
                here = k < len(self.given[0])
                row.layout.display = "flex" if here else "none"
                if here:
                    self.speed[k].value = round(float(knots(self.given[0][k])), 1)
                    self.track[k].value = round(math.degrees(self.given[1][k]), 1)
                    self.track[k].description = "track [deg]" if self.by_track else "heading [deg]"
                    self.shown.append((self.speed[k].value, self.track[k].value))
        finally:
            self._filling = False
        self._update()

    def _moved(self) -> tuple[np.ndarray, np.ndarray]:
        """Ground speeds and tracks: of the file to its last digit where no slider was touched."""
        speed, track = (np.array(x, dtype=float) for x in self.given)
        for k, was in enumerate(self.shown):
            if self.speed[k].value != was[0]:
                speed[k] = to_si(self.speed[k].value, "kt", "speed")
            if self.track[k].value != was[1]:
                track[k] = math.radians(self.track[k].value)
        return speed, track

    @guarded
    def _update(self, *_):
        if self._filling:
            return
        (speed, track), by_track = self._moved(), self.by_track
        mine = None if self.run.value is None else self._mine()
        try:
            circle = fit_circle(speed, track if by_track else None, heading=None if by_track else track,
                                sink_rate=self.sink)  # fmt: skip
        except ValueError as e:
            self.say(f"these legs give no airspeed: {e}")
            return
        self.result.value = _circle_table(circle, speed)
        name = "a printed example" if self.run.value is None else ", run ".join(
            [", ".join(self.run.value[:2]), self.run.value[2]])  # fmt: skip
        shown = track if by_track else np.arctan2(*_ground(speed, circle))
        self.circle.show((tuple(speed), tuple(track), name), lambda: circle_picture(speed, shown, circle, name))
        if self.legs is not None:
            self._all(speed, track, mine, by_track)

    def _all(self, speed, track, mine, by_track):
        """Every state anew, with the legs as the sliders have them; nothing is written."""
        si = {k: v.copy() for k, v in self.legs.si.items()}
        if mine is not None:
            si["ground_speed"][mine] = speed
            si["track" if by_track else "heading"][mine] = track
        self.found = found = self.study.changed(tables={FILE: replace(self.legs, si=si)}).calibration
        self.table.value = found._repr_html_()
        key = tuple((s.name, s.at_stall, s.standard_uncertainty) for s in found.states)
        self.correction.show(key, lambda: correction_picture(found))

    @guarded
    def _worth(self):
        """Widths of CLmax with the legs and with an assumed error, both from the case's own stalls."""
        if self.legs is None:
            self.buys.value = (
                f"<p>There is no <code>{FILE}</code> in this case yet: fly as described above, write a row for every "
                f"leg into a file of that name, with the header <code>{USUAL_HEADER}</code>, and open this workbook "
                "again.</p>"
            )
            return
        if len(self.study.stalls.row) == 0:
            self.buys.value = "<p>What the legs buy is told once there are stalls.</p>"
            return
        plain = self.study.aircraft.indicator.model_copy(update={"position": ()})
        bare = self.study.changed(tables={FILE: None}, indicator=plain)
        both = [{i.name: i.clmax for i in s.trusting().unjudged.items} for s in (self.study, bare)]
        rows = "".join(
            f"<tr><td>{html.escape(name)}</td><td class='width-with'>± {_half(with_legs):.1f} %</td>"
            f"<td class='width-without'>± {_half(both[1][name]):.1f} %</td></tr>"
            for name, with_legs in both[0].items()
            if with_legs is not None and both[1].get(name) is not None
        )
        self.buys.value = (
            "<p>What the legs bought: half of the 95 % interval of CLmax, in percent, with the legs of the file, and "
            "with neither legs nor a table, when the assumed position error stands.</p><table><tr><th>group</th>"
            f"<th>with your legs</th><th>error assumed</th></tr>{rows}</table>"
        )


def _half(clmax) -> float:
    low, high = clmax.interval95
    return 50.0 * (high - low) / clmax.value


def _ground(speed, circle):
    """East and north of ground velocities flown at known headings: wind plus the airspeed along them."""
    return (circle.wind[0] + circle.airspeed * np.sin(circle.headings),
            circle.wind[1] + circle.airspeed * np.cos(circle.headings))  # fmt: skip


def _circle_table(circle, speed) -> str:
    off = "exact: a fourth leg would check it" if len(speed) == 3 else " ".join(
        f"{knots(x):+.1f}" for x in circle.residuals)  # fmt: skip
    values = (
        f"<b class='airspeed'>{knots(circle.airspeed):.1f}</b> ± {K95 * knots(circle.standard_uncertainty):.1f}",
        f"<span class='wind'>{knots(circle.wind_speed):.1f}</span>", f"{math.degrees(circle.wind_from):.0f}", off,
    )  # fmt: skip
    head = "".join(f"<th>{h}</th>" for h in CIRCLE)
    return f"<table><tr>{head}</tr><tr>{''.join(f'<td>{v}</td>' for v in values)}</tr></table>"


def calibration_panel(study: Study) -> CalibrationPanel:
    """Legs, circle and correction of a case.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    CalibrationPanel [-]
    """
    return CalibrationPanel(study)
