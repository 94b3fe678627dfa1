"""Stalls of a recording: each drawn, accepted, rejected or moved by the reader, and joined to the stall table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import ipywidgets as w
import numpy as np

from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.copying import checked_text, new_folder, save_case_as
from aerolib.case.problems import CaseError
from aerolib.case.recordings import FOLDER, Accepted, below_scale, from_file, with_rows
from aerolib.case.saving import save_text
from aerolib.case.shipped import is_shipped
from aerolib.case.stalls import FILE
from aerolib.estimate import K95
from aerolib.measured.recording import airspeed_from_ground, measure_at
from aerolib.measured.recording.channels import Channel, estimate_lag, horizontal_airspeed, mounting_angle
from aerolib.measured.recording.results import FoundStall
from aerolib.measured.stalls import ENDINGS
from aerolib.show.figures.recording import overview_picture, stall_picture
from aerolib.show.finding import Finding, Quantity, Sentence, Steps
from aerolib.show.panels.base import Panel, PictureBox, choice, guarded, slider
from aerolib.show.render import body_html, listed, reader_of, shown, table_html, tag, unit_of, words
from aerolib.show.sections.recordings import CAUTIONS, METHOD, TITLE, ground_speed_sentence, stalls_table
from aerolib.study import Study
from aerolib.study.recordings import Recorded, recorded

STANDING, STANDING_FOR = 0.5, 10.0  # [m/s], [s]
VERDICTS = ("undecided", "accepted", "rejected")


@dataclass
class Approach:
    """One approach to the stall and what the reader says of it."""

    stall: FoundStall
    configuration: str
    ended: str
    verdict: str  # one of VERDICTS, or refused


class RecordingPanel(Panel):
    """A recording chosen, its approaches in a table and a picture, one drawn large with what the reader says of it."""

    recorded: Recorded  # of the file chosen

    def __init__(self, study: Study):
        super().__init__()
        self.study, self.reader = study, reader_of(study.dial_unit)
        self.frame, self._digest = study.case.stalls.frame, study.case.digests[FILE]
        self.known = [c.name for c in study.aircraft.configuration]
        self.approaches: list[Approach] = []
        self._filling = False
        self._make()
        if study.aircraft.log:
            self._open()
        else:
            self.say(
                f"`{AIRCRAFT}` has no [[log]] yet: put a recording into the folder `{FOLDER}` of the case and write "
                "its table; the template of `aerolib new` shows how"
            )

    def _make(self):
        self.file = choice("Recording", [log.file for log in self.study.aircraft.log], wide=110)
        self.which = choice("Approach", [], wide=110)
        self.verdict = w.ToggleButtons(options=VERDICTS, description="Verdict", style={"button_width": "110px"})
        self.verdict.add_class("recording-verdict")
        self.move = slider("Move [s]", 0.0, -6.0, 6.0, 0.1, wide=110)
        self.how, self.of = choice("Ended", ENDINGS, wide=110), choice("Configuration", self.known, wide=110)
        self.summary, self.table, self.sides, self.status = (w.HTML() for _ in range(4))
        for name in ("summary", "table", "sides", "status"):
            getattr(self, name).add_class(f"recording-{name}")
        self.overview, self.drawn = PictureBox("recording", 820, 340), PictureBox("stall", 820, 465)
        auto = w.Layout(width="auto")
        self.add = w.Button(description=f"Add accepted to {FILE}", icon="save", layout=auto,
                            tooltip="a row for each accepted stall; the old file is kept beside it")  # fmt: skip
        self.folder = w.Text(placeholder="a new folder", description="Save as", continuous_update=False)
        self.save_as = w.Button(description="Save as", icon="folder", layout=auto,
                                tooltip="write the whole case, with the accepted stalls, to a new folder")  # fmt: skip
        self.watch(self.file, update=self._open)
        self.watch(self.which, update=self._chosen)
        self.watch(self.verdict, self.how, self.of, update=self._judged)
        self.watch(self.move, update=self._moved)
        self.add.on_click(self._add)
        self.save_as.on_click(self._save_as)
        self.assemble(self.file, self.overview, self.table, self.which, self.error, self.verdict,
                      w.HBox([self.how, self.of]), self.move, self.drawn, self.summary,
                      w.HBox([self.add, self.folder, self.save_as]), self.status, self.sides)  # fmt: skip

    @guarded
    def _open(self, *_):
        r = self.recorded = recorded(self.study, self.file.value)
        where = r.log.configuration or next(iter(self.known), "")
        self.approaches = [
            Approach(self._bounded(s), where, s.ended, "refused" if s.refused else "undecided") for s in r.found.items
        ]
        self._filling = True
        self.which.options = [(f"{k} at {r.recording.when(s.time)}{' (refused)' if s.refused else ''}", k - 1)
                              for k, s in enumerate(r.found.items, 1)]  # fmt: skip
        self.which.value = 0 if self.approaches else None
        self._filling = False
        sides = Finding("recordings", TITLE, parts=(Steps(tuple(self._besides())),), cautions=CAUTIONS, source=METHOD)
        self.sides.value = body_html(sides, self.reader)
        (self._chosen if self.approaches else self._update)()

    def _bounded(self, s: FoundStall) -> FoundStall:
        if not below_scale(self.study.case, self.recorded.log, s):
            return s
        return replace(s, notes=(*s.notes, "below the scale of the dial: joins the stall table as a bound"))

    @property
    def chosen(self) -> Approach | None:
        """The approach drawn large; None while a menu is filled or where there is none."""
        return None if self._filling or self.which.value is None else self.approaches[self.which.value]

    # --- what the reader says -------------------------------------------------------------------------
    @guarded
    def _chosen(self, *_):
        """The controls say what was said of the chosen approach."""
        a = self.chosen
        if a is None:
            return
        self._filling = True
        refused = a.verdict == "refused"
        self.verdict.value = "rejected" if refused else a.verdict
        self.verdict.disabled = self.move.disabled = refused
        self.how.value = a.ended
        if a.configuration in self.known:
            self.of.value = a.configuration
        self.move.value = round(a.stall.time - self.recorded.found.items[self.which.value].time, 1)
        self._filling = False
        self._update()

    @guarded
    def _judged(self, *_):
        a = self.chosen
        if a is None:
            return
        a.verdict = a.verdict if a.verdict == "refused" else self.verdict.value
        a.ended, a.configuration = self.how.value, self.of.value or a.configuration
        self._update()

    @guarded
    def _moved(self, *_):
        a, r = self.chosen, self.recorded
        if a is None:
            return
        original = r.found.items[self.which.value]
        try:
            a.stall = self._bounded(original) if abs(self.move.value) < 0.05 else measure_at(
                r.recording, original.time + self.move.value, r.corrections, r.to_cas)  # fmt: skip
        except ValueError as e:
            raise CaseError(str(e)) from None
        self._update()

    # --- what follows from it -------------------------------------------------------------------------
    def accepted(self) -> list[Accepted]:
        """The accepted stalls, with what the reader said of them."""
        return [Accepted(a.stall, a.configuration, a.ended) for a in self.approaches if a.verdict == "accepted"]

    def _update(self):
        r, k, verdicts = self.recorded, self.which.value, tuple(a.verdict for a in self.approaches)
        stalls = tuple(a.stall for a in self.approaches)
        rows = ((a.verdict, r.recording.when(a.stall.time), replace(a.stall, ended=a.ended)) for a in self.approaches)
        self.table.value = table_html(stalls_table(rows, r.found.has_airspeed), self.reader) + listed(r.found.notes)
        self.summary.value = self._summed(self.accepted())
        dial, of = self.study.dial_unit, self.file.value
        self.overview.show((of, verdicts, k, tuple(s.time for s in stalls)), lambda: overview_picture(
            r.recording, replace(r.found, items=stalls), verdicts, k, dial))  # fmt: skip
        if k is not None:
            self.drawn.show((of, k, stalls[k].time), lambda: stall_picture(
                r.recording, r.corrections, stalls[k], k + 1, dial))  # fmt: skip

    def _summed(self, taken: list[Accepted]) -> str:
        def number(name, speed):
            return tag("b", shown(Quantity(speed, "speed_on_dial"), self.reader, "number"), class_=f"recording-{name}")

        text = f"{tag('b', str(len(taken)), class_='recording-count')} accepted"
        if taken:
            mean, lowest = np.mean([a.stall.ias for a in taken]), min(a.stall.lowest_read for a in taken)
            unit = unit_of("speed_on_dial", self.reader)
            text += (f": mean {number('mean', mean)} {words(unit)}; the lowest single reading among them is "
                     f"{number('lowest', lowest)}, which is lower because it is the lowest of many")  # fmt: skip
        return tag("p", f"{text}.")

    def _besides(self):
        """What the recording says beside its stalls: lag, mounting angle, the stall speed from ground velocities."""
        stalls, get = self.recorded.found.stalls, self.recorded.recording.get
        ias, ground, up = (get(name) for name in ("ias", "ground_speed", "normal_g"))
        if ias and ground:
            yield _or_why("Lag of the receiver", lambda: self._lag(ias, ground))
        if up:
            yield self._tilt(up)
        if ground:
            yield _or_why("From ground velocities alone", lambda: ground_speed_sentence(airspeed_from_ground(stalls)))

    def _lag(self, ias: Channel, ground: Channel) -> str:
        height, c = self.recorded.recording.get("altitude"), self.recorded.corrections
        straight = [(s.time - 25.0, s.time + 8.0) for s in self.recorded.found.stalls]
        lag = estimate_lag(ias if height is None else horizontal_airspeed(ias, height), ground, 5.0, straight)
        taken, u = c.receiver_lag - c.pitot_lag, np.hypot(c.receiver_lag_uncertainty, c.pitot_lag_uncertainty)
        apart = abs(lag.seconds - taken) > 2.0 * np.hypot(u, lag.standard_uncertainty)
        verdict = "do not agree; look at receiver_lag, pitot_lag and clock_offset" if apart else "agree"
        return (
            f"Ground speed is late against the airspeed by {lag.text()}, correlation {lag.correlation:.2f}; taken is "
            f"{taken:+.2f} s (standard uncertainty {u:.2f} s): these {verdict}."
        )

    def _tilt(self, up: Channel) -> Sentence:
        """The sensor's mounting angle, from standing on the wheels where that was recorded."""
        get, c, gear = self.recorded.recording.get, self.recorded.corrections, self.study.aircraft.gear
        forward = get("forward_g")
        angle = gear.ground_angle if gear.ground_angle_loaded is None else gear.ground_angle_loaded
        told = "Mounting angle taken: {taken} ± {within}; a degree is 1.7 % of g on the forward axis."
        slots = {"taken": Quantity(c.mounting_angle, "angle"),
                 "within": Quantity(K95 * c.mounting_angle_uncertainty, "angle")}  # fmt: skip
        if forward is not None and angle is not None:
            slow = get("ground_speed") or self.recorded.recording.speed
            still = np.interp(up.time, slow.time, slow.value) < STANDING
            if up.interval * still.sum() < STANDING_FOR:
                told += " Record ten seconds standing with the engine off, and it can be found."
            else:
                ahead = np.interp(up.time, forward.time, forward.value)
                slots["found"] = Quantity(mounting_angle(up.value[still], ahead[still], angle), "angle")
                told += " Standing on its wheels it reads {found}, with the ground angle of [gear]."
        return Sentence(told, slots)

    # --- joining the stall table ----------------------------------------------------------------------
    def _joined(self):
        """The stall table with the accepted stalls, once it is known to be one that can be read."""
        taken, r = self.accepted(), self.recorded
        if not taken:
            raise CaseError("no stall is accepted yet: choose one under 'Approach', look at it, and press 'accepted'")
        if not r.found.has_airspeed:
            raise CaseError(
                "this recording holds ground speeds: a single stall of it is no airspeed, so none joins the stall "
                "table. What they say together stands below, under 'From ground velocities alone'"
            )
        frame, there = with_rows(self.study.case, self.frame, r.log, r.recording, taken)
        text = checked_text(self.study.case, frame, lambda f: self.study.changed(stalls=f).reduction)
        return frame, text, len(taken) - there, there

    @guarded
    def _add(self, *_):
        if is_shipped(self.study.folder):
            raise CaseError("this is the demonstration, which is read-only; write a folder's name and press 'Save as'")
        frame, text, new, there = self._joined()
        if new:
            self._digest = save_text(self.study.folder / FILE, text, self._digest)
            self.frame, self.study = frame, self.study.changed(stalls=frame)
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
        held = from_file(self.frame, self.study.stalls.columns, self.recorded.log.file)
        self.status.value = words(text + (f"; the stall table now holds {held} of this recording" if held else ""))


def _or_why(what: str, part: Callable[[], Sentence | str]) -> Sentence | str:
    try:
        return part()
    except ValueError as e:
        return f"{what}: {e}."
