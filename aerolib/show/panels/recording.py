"""Stalls of a recording: each drawn, accepted, rejected or moved by the reader, and joined to the card."""

from __future__ import annotations

import html
from dataclasses import replace

import ipywidgets as w
import numpy as np

from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.copying import checked_text, new_folder, save_case_as
from aerolib.case.problems import CaseError
from aerolib.case.recordings.logs import FOLDER, calibrated_of, corrections_of, load_log, log_of
from aerolib.case.recordings.rows import Accepted, below_scale, from_file, with_rows
from aerolib.case.saving import save_text
from aerolib.case.shipped import is_shipped
from aerolib.case.stalls import FILE
from aerolib.measured.recording.channels import estimate_lag, horizontal_airspeed, mounting_angle
from aerolib.measured.recording.ground import airspeed_from_ground
from aerolib.measured.recording.results import CAUTIONS, METHOD, cells
from aerolib.measured.recording.stalls import find_stalls, measure_at
from aerolib.measured.stalls import ENDINGS
from aerolib.show.panels.base import Panel, PictureBox, guarded
from aerolib.show.recording_figure import overview_picture, stall_picture
from aerolib.study import Study
from aerolib.units import knots

STANDING, STANDING_FOR = 0.5, 10.0  # [m/s], [s]
VERDICTS = ("undecided", "accepted", "rejected")


class RecordingPanel(Panel):
    """A recording chosen, its approaches in a table and a picture, one drawn large with what the reader says of it."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.frame = study.case.stalls.frame
        self._digest = study.case.digests[FILE]
        self._filling = False
        self.found = self.recording = self.log = None
        self.items, self.verdicts, self.ended, self.configuration = [], [], [], []
        self._make()
        if study.aircraft.log:
            self._open()
        else:
            self.say(
                f"`{AIRCRAFT}` has no [[log]] yet: put a recording into the folder `{FOLDER}` of the case and write "
                "its table; the template of `aerolib new` shows how"
            )

    def _make(self):
        style = {"description_width": "110px"}
        wide = w.Layout(width="560px")
        files = [log.file for log in self.study.aircraft.log]
        self.file = w.Dropdown(options=files, description="Recording", style=style, layout=wide)
        self.which = w.Dropdown(description="Approach", style=style, layout=wide)
        self.verdict = w.ToggleButtons(options=VERDICTS, description="Verdict", style={"button_width": "110px"})
        self.verdict.add_class("recording-verdict")
        self.move = w.FloatSlider(0.0, min=-6.0, max=6.0, step=0.1, description="Move [s]", readout_format=".1f",
                                  continuous_update=False, style=style, layout=wide)  # fmt: skip
        self.how = w.Dropdown(options=ENDINGS, description="Ended", style=style, layout=w.Layout(width="260px"))
        names = [c.name for c in self.study.aircraft.configuration]
        self.of = w.Dropdown(options=names, description="Configuration", style=style, layout=w.Layout(width="300px"))
        self.summary, self.table, self.sides, self.status = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        for widget, name in (
            (self.summary, "summary"),
            (self.table, "table"),
            (self.sides, "sides"),
            (self.status, "status"),
        ):
            widget.add_class(f"recording-{name}")
        self.overview = PictureBox("recording", 820, 340)
        self.drawn = PictureBox("stall", 820, 465)
        self.add = w.Button(description=f"Add accepted to {FILE}", icon="save", layout=w.Layout(width="auto"),
                            tooltip="a row for each accepted stall; the old file is kept beside it")  # fmt: skip
        self.folder = w.Text(placeholder="a new folder", description="Save as", continuous_update=False,
                             layout=w.Layout(width="260px"))  # fmt: skip
        self.save_as = w.Button(description="Save as", icon="folder", layout=w.Layout(width="auto"),
                                tooltip="write the whole case, with the accepted stalls, to a new folder")  # fmt: skip
        self.file.observe(self._opened, "value")
        self.which.observe(self._chosen, "value")
        self.verdict.observe(self._judged, "value")
        self.move.observe(self._moved, "value")
        self.how.observe(self._judged, "value")
        self.of.observe(self._judged, "value")
        self.add.on_click(self._add)
        self.save_as.on_click(self._save_as)
        self.assemble(self.file, self.overview.box, self.table, self.which, self.error, w.HBox([self.verdict]),
                      w.HBox([self.how, self.of]), self.move, self.drawn.box, self.summary,
                      w.HBox([self.add, self.folder, self.save_as]), self.status, self.sides)  # fmt: skip

    # --- opening --------------------------------------------------------------------------------------
    @guarded
    def _opened(self, *_):
        self._load()

    @guarded
    def _open(self):
        self._load()

    def _load(self):
        log = log_of(self.study.case, self.file.value)
        recording = load_log(self.study.case, self.file.value)
        corrections, calibrated = corrections_of(log, self.study.aircraft), calibrated_of(log, self.study.aircraft)
        try:
            found = find_stalls(recording, corrections, calibrated)
        except ValueError as e:
            raise CaseError(f"`{FOLDER}/{log.file}`: {e}") from None
        self.log, self.recording, self.found = log, recording, found
        self.corrections, self.calibrated = corrections, calibrated
        self.items = [
            replace(s, notes=(*s.notes, "below the scale of the needle: joins the card as a bound"))
            if below_scale(self.study.case, log, s) else s for s in found.items
        ]  # fmt: skip
        self.verdicts = ["refused" if s.refused else "undecided" for s in self.items]
        self.ended = [s.ended for s in self.items]
        known = [c.name for c in self.study.aircraft.configuration]
        self.configuration = [log.configuration or (known[0] if known else "")] * len(self.items)
        self._filling = True
        self.which.options = [
            (f"{k + 1} at {recording.when(s.time)}{' (refused)' if s.refused else ''}", k)
            for k, s in enumerate(self.items)
        ]
        self._filling = False
        self.sides.value = self._besides()
        if self.items:
            self.which.value = 0
        self._show_choice()
        self._update()

    # --- what the reader says -------------------------------------------------------------------------
    @guarded
    def _chosen(self, *_):
        if not self._filling and self.which.value is not None:
            self._show_choice()
            self._update()

    def _show_choice(self):
        """The controls say what was said of the chosen approach."""
        k = self.which.value
        if k is None:
            return
        self._filling = True
        refused = self.verdicts[k] == "refused"
        self.verdict.value = "rejected" if refused else self.verdicts[k]
        self.verdict.disabled = self.move.disabled = refused
        self.how.value = self.ended[k]
        if self.configuration[k] in self.of.options:
            self.of.value = self.configuration[k]
        self.move.value = round(self.items[k].time - self.found.items[k].time, 1)
        self._filling = False

    @guarded
    def _judged(self, *_):
        k = self.which.value
        if self._filling or k is None:
            return
        if self.verdicts[k] != "refused":
            self.verdicts[k] = self.verdict.value
        self.ended[k] = self.how.value
        self.configuration[k] = self.of.value or self.configuration[k]
        self._update()

    @guarded
    def _moved(self, *_):
        k = self.which.value
        if self._filling or k is None:
            return
        original = self.found.items[k]
        if abs(self.move.value) < 0.05:
            self.items[k] = original
        else:
            try:
                self.items[k] = measure_at(
                    self.recording, original.time + self.move.value, self.corrections, self.calibrated
                )
            except ValueError as e:
                raise CaseError(str(e)) from None
        self._update()

    # --- what follows from it -------------------------------------------------------------------------
    def accepted(self) -> list[Accepted]:
        """The accepted stalls, with what the reader said of them."""
        return [Accepted(s, c, e) for s, v, c, e in zip(self.items, self.verdicts, self.configuration, self.ended)
                if v == "accepted"]  # fmt: skip

    def _update(self):
        head = ("no.", "verdict", "time", "IAS [kt]" if self.found.has_airspeed else "ground speed [kt]", "rate [kt/s]",
                "load factor", "height lost [ft]", "ended", "seen by, or refused because")  # fmt: skip
        rows = "".join(
            "<tr>" + "".join(f"<td>{html.escape(c)}</td>" for c in (
                str(k + 1), v, self.recording.when(s.time), *cells(replace(s, ended=e))[1:])) + "</tr>"
            for k, (s, v, e) in enumerate(zip(self.items, self.verdicts, self.ended))
        )  # fmt: skip
        notes = "".join(f"<li>{html.escape(n)}</li>" for n in self.found.notes)
        self.table.value = f"<table><tr>{''.join(f'<th>{h}</th>' for h in head)}</tr>{rows}</table><ul>{notes}</ul>"
        taken = self.accepted()
        if taken:
            speeds = [knots(a.stall.ias) for a in taken]
            lowest = min(knots(a.stall.lowest_read) for a in taken)
            self.summary.value = (
                f"<p><b class='recording-count'>{len(taken)}</b> accepted: mean <b class='recording-mean'>"
                f"{np.mean(speeds):.1f}</b> kt as indicated; the lowest single reading among them is <b "
                f"class='recording-lowest'>{lowest:.1f}</b> kt, which is lower because it is the lowest of many.</p>"
            )
        else:
            self.summary.value = "<p><b class='recording-count'>0</b> accepted.</p>"
        drawn = replace(self.found, items=tuple(self.items))
        k, verdicts = self.which.value, tuple(self.verdicts)
        self.overview.show((self.file.value, verdicts, k, tuple(s.time for s in self.items)),
                           lambda: overview_picture(self.recording, drawn, verdicts, k))  # fmt: skip
        if k is not None:
            s = self.items[k]
            self.drawn.show(
                (self.file.value, k, s.time), lambda: stall_picture(self.recording, self.corrections, s, k + 1)
            )

    def _besides(self) -> str:
        """What the recording says beside its stalls: the receiver's lag, the stall speed from ground velocities."""
        told = []
        ias, ground = self.recording.get("ias"), self.recording.get("ground_speed")
        if ias is not None and ground is not None:
            try:
                told.append(self._lag(ias, ground))
            except ValueError as e:
                told.append(f"Lag of the receiver: {e}.")
        if self.recording.get("normal_g") is not None:
            told.append(self._tilt())
        if ground is not None:
            try:
                speed = airspeed_from_ground(self.found.stalls)
                told.append(f"From ground velocities alone: {speed.text()}")
            except ValueError as e:
                told.append(f"From ground velocities alone: {e}.")
        lines = "".join(f"<li>{html.escape(x)}</li>" for x in told)
        cautions = "".join(f"<li>{html.escape(x)}</li>" for x in CAUTIONS)
        return f"<ul>{lines}</ul><ul class='cautions'>{cautions}</ul><p class='small'>{html.escape(METHOD)}</p>"

    def _lag(self, ias, ground) -> str:
        straight = [(s.time - 25.0, s.time + 8.0) for s in self.found.stalls]
        height, c = self.recording.get("altitude"), self.corrections
        lag = estimate_lag(ias if height is None else horizontal_airspeed(ias, height), ground, 5.0, straight)
        taken = c.receiver_lag - c.pitot_lag
        u = np.hypot(c.receiver_lag_uncertainty, c.pitot_lag_uncertainty)
        apart = abs(lag.seconds - taken) > 2.0 * np.hypot(u, lag.standard_uncertainty)
        return (
            f"Ground speed is late against the airspeed by {lag.text()}, correlation {lag.correlation:.2f}; taken is "
            f"{taken:+.2f} s (standard uncertainty {u:.2f} s)"
            + (": these do not agree; look at receiver_lag, pitot_lag and clock_offset" if apart else ": these agree")
            + "."
        )

    def _tilt(self) -> str:
        """The sensor's mounting angle, from standing on the wheels where that was recorded."""
        given = np.degrees(self.corrections.mounting_angle)
        within = 1.96 * np.degrees(self.corrections.mounting_angle_uncertainty)
        told = f"Mounting angle taken: {given:.1f} ± {within:.1f} deg; a degree is 1.7 % of g on the forward axis"
        speed = self.recording.get("ground_speed") or self.recording.get("ias")
        up, forward = self.recording.get("normal_g"), self.recording.get("forward_g")
        gear = self.study.aircraft.gear
        angle = gear.ground_angle if gear.ground_angle_loaded is None else gear.ground_angle_loaded
        if forward is None or angle is None:
            return f"{told}."
        still = np.interp(up.time, speed.time, speed.value) < STANDING
        if up.interval * still.sum() < STANDING_FOR:
            return f"{told}. Record ten seconds standing with the engine off, and it can be found."
        found = np.degrees(
            mounting_angle(up.value[still], np.interp(up.time, forward.time, forward.value)[still], angle)
        )
        return f"{told}. Standing on its wheels it reads {found:.1f} deg, with the ground angle of [gear]."

    # --- joining the card -----------------------------------------------------------------------------
    def _joined(self):
        """The card with the accepted stalls, once it is known to be one that can be read."""
        taken = self.accepted()
        if not taken:
            raise CaseError("no stall is accepted yet: choose one under 'Approach', look at it, and press 'accepted'")
        if not self.found.has_airspeed:
            raise CaseError(
                "this recording holds ground speeds: a single stall of it is no airspeed, so none joins the card. What "
                "they say together stands below, under 'From ground velocities alone'"
            )
        frame, there = with_rows(self.study.case, self.frame, self.log, self.recording, taken)
        return (
            frame,
            checked_text(self.study.case, frame, lambda f: self.study.changed(stalls=f).reduction),
            len(taken) - there,
            there,
        )

    @guarded
    def _add(self, *_):
        if is_shipped(self.study.folder):
            raise CaseError("this is the demonstration, which is read-only; write a folder's name and press 'Save as'")
        frame, text, new, there = self._joined()
        if new:
            self._digest = save_text(self.study.folder / FILE, text, self._digest)
            self.frame = frame
            self.study = self.study.changed(stalls=frame)
        self._told(f"{self.study.folder / FILE}", new, there)

    @guarded
    def _save_as(self, *_):
        folder = new_folder(self.folder.value)
        _, text, new, there = self._joined()
        save_case_as(self.study.case, folder, text)
        self._told(str(folder), new, there)

    def _told(self, where: str, new: int, there: int):
        text = f"{new} row{'s' if new != 1 else ''} written to {where}" if new else "nothing new to write"
        if there:
            text += f"; {there} of the accepted stood there already"
        held = from_file(self.frame, self.study.stalls.columns, self.log.file) if self.log else 0
        self.status.value = html.escape(text + (f"; the card now holds {held} of this recording" if held else ""))


def recording_panel(study: Study) -> RecordingPanel:
    """Stalls from the recordings of a case.

    Parameters
    ----------
    study : Study [-]

    Returns
    -------
    RecordingPanel [-]
    """
    return RecordingPanel(study)
