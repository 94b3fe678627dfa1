"""The panel of recordings without a browser: verdicts, moving, and rows that join the card with their origin."""

import csv
import json
import math
import re
import shutil
from pathlib import Path

import pytest

from aerolib.case.problems import CaseError
from aerolib.case.recordings import Accepted, load_log, with_rows
from aerolib.show.panels.recording import RecordingPanel
from aerolib.study import open_study

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "data" / "demo"
LOGGER, CAMERA = "sedge-b5-logger.csv", "sedge-a5-camera.csv"
KT = 1852 / 3600


@pytest.fixture
def own(case_folder):
    """The demonstration copied to a folder that may be written to."""
    return case_folder


def accept(panel, *which):
    for k in which:
        panel.which.value = k
        panel.verdict.value = "accepted"
    assert panel.error.value == "", panel.error.value


def test_pictures_are_drawn_only_when_their_data_changed():
    p = RecordingPanel(open_study(DEMO))
    assert (p.overview.drawn, p.drawn.drawn) == (1, 1)
    accept(p, 0)
    assert (p.overview.drawn, p.drawn.drawn) == (2, 1)
    p.how.value = "stop"
    assert (p.overview.drawn, p.drawn.drawn) == (2, 1) and p.accepted()[0].ended == "stop"
    p.which.value = 2
    assert (p.overview.drawn, p.drawn.drawn) == (3, 2)
    p.file.value = CAMERA
    assert (p.overview.drawn, p.drawn.drawn) == (4, 3) and not p.accepted()


def test_a_refused_one_cannot_be_accepted():
    p = RecordingPanel(open_study(DEMO))
    p.which.value = 3
    assert p.verdict.disabled and p.move.disabled
    p.verdict.value = "accepted"  # as a script might
    assert not p.accepted() and "a turn" in p.table.value
    p.which.value = 0
    assert not p.verdict.disabled and p.verdict.value == "undecided"


def test_moving_reads_the_speed_there_and_back_again():
    p = RecordingPanel(open_study(DEMO))
    first = p.approaches[0].stall
    p.move.value = -3.0
    moved = p.approaches[0].stall
    assert moved.time == pytest.approx(first.time - 3.0) and moved.speed_kind == "break"
    # By hand: the mean of the file's own readings within 0.6 s of there; the trace is a straight line.
    rows = csv.DictReader(x for x in (DEMO / "logs" / LOGGER).read_text().splitlines() if not x.startswith("#"))
    clock = [
        (sum(float(a) * f for a, f in zip(r["UTC"].split(":"), (3600, 60, 1))) - 0.3, float(r["AS"])) for r in rows
    ]
    near = [v for t, v in clock if abs(t - moved.time) < 0.6]
    assert moved.ias / KT == pytest.approx(sum(near) / len(near), abs=0.4)
    p.move.value = 0.0
    assert p.approaches[0].stall == first


def test_the_demonstration_is_read_only_and_save_as_copies_everything(tmp_path):
    before = (DEMO / "stalls.csv").read_bytes()
    p = RecordingPanel(open_study(DEMO))
    p._add()
    assert "read-only" in p.error.value
    p.folder.value = str(tmp_path / "mine")
    p._save_as()
    assert "no stall is accepted" in p.error.value and not (tmp_path / "mine").exists()
    accept(p, 0, 1)
    p._save_as()
    assert p.error.value == "" and "2 rows written" in p.status.value
    again = open_study(tmp_path / "mine")
    assert len(again.stalls.row) == len(open_study(DEMO).stalls.row) + 2
    assert (tmp_path / "mine" / "logs" / CAMERA).read_bytes() == (DEMO / "logs" / CAMERA).read_bytes()
    assert (DEMO / "stalls.csv").read_bytes() == before
    again.reduction


def test_rows_join_the_card_once_with_a_backup(own):
    old = (own / "stalls.csv").read_bytes()
    p = RecordingPanel(open_study(own))
    accept(p, 0, 2)
    p._add()
    assert p.error.value == "" and (own / "stalls.csv.001.bak").read_bytes() == old
    rows = list(csv.DictReader((own / "stalls.csv").read_text().splitlines()))
    new = rows[-2:]
    truth = json.loads((DEMO / "logs_truth.json").read_text())[LOGGER]
    for row, t in zip(new, (truth[0], truth[2])):
        assert (row["modification"], row["configuration"], row["flight"], row["power"]) == (
            "before",
            "clean",
            "B5",
            "idle",
        )
        assert row["remarks"].startswith(f"logs/{LOGGER} at 10:4") and row["speed_kind"] == "minimum"
        assert float(row["ias [kt]"]) == pytest.approx(t["needle_kt"], abs=0.5)
        assert float(row["crew [lb]"]) == pytest.approx(82 / 0.45359237, abs=0.6) and row["fuel [l]"] == "58"
        assert float(row["temperature [deg C]"]) == 8 and float(row["load_factor"]) == pytest.approx(0.92, abs=0.03)
    p._add()
    assert "nothing new to write" in p.status.value
    accept(recorded := RecordingPanel(open_study(own)), 0)
    recorded._add()
    assert "nothing new to write" in recorded.status.value
    assert len(list(csv.DictReader((own / "stalls.csv").read_text().splitlines()))) == len(rows)


def test_a_card_changed_meanwhile_is_not_written_over(own):
    p = RecordingPanel(open_study(own))
    accept(p, 0)
    (own / "stalls.csv").write_text((own / "stalls.csv").read_text() + "\n")
    changed = (own / "stalls.csv").read_bytes()
    p._add()
    assert "changed on disk" in p.error.value and (own / "stalls.csv").read_bytes() == changed


def test_a_recorder_with_another_lag_gives_what_the_needle_would_have_shown(own):
    """0.15 of lag times rate counts at the lowest reading: a recorder 1 s late reads higher by 0.15 * 0.7 * rate."""
    text = (own / "aircraft.toml").read_text()
    (own / "aircraft.toml").write_text(text.replace('mounting_angle = "1.5 deg"', 'pitot_lag = "1.0 s"', 1))
    case = open_study(own)
    log = case.aircraft.log[0]
    p = RecordingPanel(case)
    s = p.approaches[0].stall
    frame, there = with_rows(case, case.stalls.frame, log, p.recorded.recording, [Accepted(s, "clean", "break")])
    assert there == 0
    wanted = s.ias / KT - 0.15 * (1.0 - 0.3) * s.entry_rate / KT
    assert float(frame["ias [kt]"].iloc[-1]) == pytest.approx(wanted, abs=0.051)


def test_two_files_of_one_flight_are_one_recording(own):
    """The receiver's columns cut out of the logger's file, their clock 12.4 s ahead: found from the two speeds."""
    lines = [x for x in (own / "logs" / LOGGER).read_text().splitlines() if not x.startswith("#")]
    rows = list(csv.DictReader(lines))

    def later(text):
        s = sum(float(p) * f for p, f in zip(text.split(":"), (3600, 60, 1))) + 12.4
        return f"{s:.1f}"

    air = ["time,ias [kt],altitude [ft]", *(f"{r['UTC']},{r['AS']},{r['PA']}" for r in rows)]
    sat = ["time,ground_speed [kt],track [deg]", *(f"{later(r['UTC'])},{r['GS']},{r['TRK']}" for r in rows)]
    (own / "logs" / "air.csv").write_text("\n".join(air))
    (own / "logs" / "sat.csv").write_text("\n".join(sat))
    text = (own / "aircraft.toml").read_text()
    text += '\n[[log]]\nfile = "air.csv"\n\n[[log]]\nfile = "sat.csv"\ngoes_with = "air.csv"\n'
    (own / "aircraft.toml").write_text(text)
    r = load_log(open_study(own).case, "air.csv")
    assert set(r.channels) == {"ias", "altitude", "ground_speed", "track"}
    assert r.get("ground_speed").time[0] - r.get("ias").time[0] == pytest.approx(0.0, abs=1.5)
    assert "found from the speeds" in " ".join(r.notes)
    (own / "aircraft.toml").write_text(text + 'clock_offset = "-12.4 s"\n')
    r = load_log(open_study(own).case, "air.csv")
    assert r.get("ground_speed").time[0] == pytest.approx(r.get("ias").time[0], abs=1e-6)


def test_a_case_without_recordings_and_a_missing_file(own):
    (own / "logs").rename(own / "elsewhere")
    p = RecordingPanel(open_study(own))
    assert LOGGER in p.error.value and "missing" in p.error.value
    text = (own / "aircraft.toml").read_text()
    (own / "aircraft.toml").write_text(text[: text.index("[[log]]")])
    p = RecordingPanel(open_study(own))
    assert "has no [[log]] yet" in p.error.value
    assert {p.overview.box.layout.display, p.drawn.box.layout.display} == {"none"}  # no frame without a picture
    p._add()
    p._save_as()
    assert p.error.value


def test_a_name_that_leads_out_of_the_folder_is_refused(own):
    shutil.copy(own / "stalls.csv", own / "logs" / "x.csv")
    text = (own / "aircraft.toml").read_text().replace(f'file = "{LOGGER}"', 'file = "../stalls.csv"')
    (own / "aircraft.toml").write_text(text)
    with pytest.raises(CaseError, match="write the name alone"):
        load_log(open_study(own).case, "../stalls.csv")
    with pytest.raises(CaseError, match="did you mean"):
        load_log(open_study(own).case, CAMERA[:-1])


def test_pictures_say_what_they_show():
    p = RecordingPanel(open_study(DEMO))
    assert "10:41:37" in p.drawn.image.alt or f"{p.approaches[0].stall.ias / KT:.1f} kt" in p.drawn.image.alt
    assert math.isfinite(p.approaches[0].stall.ias) and "6 at" in p.overview.image.alt
    for text in (p.sides.value, p.table.value, p.drawn.caption.value):
        assert "safe" not in text.lower()


def test_tilt_from_standing_and_the_lags_that_agree(own):
    """Ten seconds on the wheels put before the flight: 11.6 deg of ground angle and 1.5 of tilt, by sine and cosine."""
    p = RecordingPanel(open_study(own))
    assert "these agree" in p.sides.value and "Record ten seconds standing" in p.sides.value
    path = own / "logs" / LOGGER
    lines = path.read_text().splitlines()
    angle = math.radians(11.6 + 1.5)
    still = [f"10:40:{k:02d}.0,0.0,200,{math.cos(angle):.4f},{math.sin(angle):.4f},11.6,0,0,0.0,0" for k in range(55)]
    path.write_text("\n".join([*lines[:2], *still, *lines[2:]]))
    p = RecordingPanel(open_study(own))
    assert "Standing on its wheels it reads 1.5 deg" in p.sides.value, p.sides.value


def test_a_needle_below_its_scale_joins_as_a_bound(own):
    """The film with every reading below 40 kt written '<40', on an indicator whose scale starts there."""
    path, toml = own / "logs" / CAMERA, own / "aircraft.toml"
    rows = [line.split(",") for line in path.read_text().splitlines()]
    hidden = [[t, "<40" if a.isdigit() and int(a) < 40 else a, *rest] for t, a, *rest in rows]
    assert sum(r[1] == "<40" for r in hidden) > 10
    path.write_text("\n".join(",".join(r) for r in hidden))
    toml.write_text(toml.read_text().replace('scale_starts = "35 kt"', 'scale_starts = "40 kt"'))
    card = own / "stalls.csv"  # nobody reads 39 on that dial
    card.write_text(re.sub(r"^((?:[^,\n]*,){3})3\d(?:\.\d+)?(?=,)", r"\1<40", card.read_text(), flags=re.M))
    p = RecordingPanel(open_study(own))
    p.file.value = CAMERA
    assert len(p.recorded.found.stalls) == 4 and p.table.value.count("as a bound") == 4
    accept(p, 1)
    p._add()
    assert p.error.value == "", p.error.value
    row = list(csv.DictReader((own / "stalls.csv").read_text().splitlines()))[-1]
    assert row["ias [kt]"] == "<40" and row["flight"] == "A5"


def test_a_dial_in_mph_is_spoken_of_in_mph(own):
    """The readings of the card in mph: the same stall, 1.15 times the number, in table, summary and pictures."""
    plain = RecordingPanel(open_study(own))
    path = own / "stalls.csv"
    head, *rows = csv.reader(path.read_text().splitlines())
    at = [k for k, h in enumerate(head) if "ias [kt]" in h]
    for row in rows:
        for k in at:
            number = row[k].lstrip("<")
            row[k] = "<" * row[k].startswith("<") + f"{float(number) * KT / 0.44704:.2f}" if number else ""
    with path.open("w", newline="") as out:
        csv.writer(out, lineterminator="\n").writerows([[h.replace("ias [kt]", "ias [mph]") for h in head], *rows])
    p = RecordingPanel(open_study(own))
    accept(plain, 0)
    accept(p, 0)
    mean = [float(re.search(r"recording-mean.>([\d.]+)<", x.summary.value)[1]) for x in (plain, p)]
    assert mean[1] == pytest.approx(mean[0] * KT / 0.44704, abs=0.11)
    assert "[mph IAS]" in p.table.value and "mph IAS" in p.summary.value and "kt IAS" not in p.table.value
    assert "mph" in p.drawn.caption.value and "mph" in p.overview.image.alt and " kt," not in p.overview.image.alt
