"""What an owner's words would do to a spreadsheet, a terminal, a picture, a sheet or an odd output: nothing."""

import csv
import io
import os
import subprocess
import sys
from pathlib import Path

import cards
import pytest
from waiting import PATIENCE

from aerolib.__main__ import main
from aerolib.show.figures.stalls import stalls_picture
from aerolib.show.media import cell, printable
from aerolib.show.report import points_csv
from aerolib.study import open_study

CLONE = Path(__file__).resolve().parents[2]
STATE, FLIGHT = "VG $95 #1, $3", '=HYPERLINK("http://example.invalid","ö")'
ESCAPE = "\x1b]0;owned\x07\x1b[2J\x9b31m\u202e\x00"
WRITTEN = r"\u001b]0;owned\u0007\u001b[2J\u009b31m\u202e"


@pytest.fixture
def hostile(write_case):
    """A small case with names that each medium would act on."""
    aircraft = cards.AIRCRAFT.replace('"after"', f'"{STATE}"').replace('name = "', f'name = "Möwe {WRITTEN}', 1)
    rows = list(csv.reader(io.StringIO(cards.STALLS)))
    for row in rows[1:]:
        row[0] = STATE if row[0] == "after" else row[0]
        row[2] = FLIGHT if row[2] == "1" else row[2]
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return write_case(aircraft, out.getvalue())


@pytest.mark.parametrize(
    "text", ["=1+1", "+1+1", "-1+cmd|' /C calc'!A0", "@SUM(1)", "\t=1", " =1", "\r=1", "＝1+1", "-", "=", "\x1b=1"]
)
def test_no_formula(text):
    assert cell(text).startswith("'")


@pytest.mark.parametrize("text", ["-1", "+2.5", "-1e-3", "after", "flap 20", "", "a=b", "2-3", "Möwe", "12 'x'"])
def test_numbers_and_plain_words_stay(text):
    assert cell(text) == text


def test_printable():
    assert printable("a" + ESCAPE + "b\n\tc\r") == "a]0;owned[2J31mb\nc"
    assert printable("Möwe, 1–2 °, \u00a0−3") == "Möwe, 1–2 °, \u00a0−3"


def run(arguments, folder, **environment):
    """The command as a process, its output as bytes."""
    return subprocess.run([sys.executable, "-m", "aerolib", *map(str, arguments)], cwd=folder, capture_output=True,
                          timeout=PATIENCE, env={**os.environ, "PYTHONPATH": str(CLONE), **environment})  # fmt: skip


def test_a_hostile_case_is_reported(hostile, tmp_path):
    """One run for all media, with an output of ASCII and a matplotlibrc that asks for LaTeX and giant letters."""
    (tmp_path / "mpl").mkdir()
    (tmp_path / "mpl" / "matplotlibrc").write_text("text.usetex: True\nfont.size: 40\naxes.titlesize: 60\n")
    done = run(
        ["report", hostile, "--out", tmp_path / "out"],
        tmp_path,
        PYTHONIOENCODING="ascii",
        MPLCONFIGDIR=str(tmp_path / "mpl"),
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert not set(done.stdout) & (set(range(32)) - {10} | set(range(127, 256)))
    assert STATE.encode() in done.stdout
    with (tmp_path / "out" / "reduced-stalls.csv").open(encoding="utf-8") as file:
        cells = [c for row in csv.reader(file) for c in row]
    assert "'" + FLIGHT in cells
    assert not [c for c in cells if c.startswith(("=", "@"))]
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert page.count("<img") > 1


def test_no_dollar_and_no_style_of_the_reader_changes_a_picture(hostile):
    import matplotlib

    result = open_study(hostile).reduction
    plain = stalls_picture(result)
    with matplotlib.rc_context({"text.usetex": True, "font.size": 40, "axes.facecolor": "red", "savefig.dpi": 20}):
        assert stalls_picture(result).png == plain.png
        assert matplotlib.rcParams["font.size"] == 40  # the reader's own cells keep their style


def test_numbers_in_the_table_stay_numbers(case_folder):
    case = open_study(case_folder)
    rows = list(csv.DictReader(io.StringIO(points_csv(case))))
    assert len(rows) == len(case.stalls.row)
    assert all(float(r["lift coefficient"]) > 0 and r["flight"] == f for r, f in zip(rows, case.stalls.text["flight"]))


def test_messages_are_printable_too(tmp_path, capsys):
    folder = tmp_path / ESCAPE.replace("\x00", "")
    folder.mkdir()
    assert main(["report", str(folder)]) == 2
    told = capsys.readouterr().err
    assert "aircraft.toml" in told and told.replace("\n", "").isprintable()


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
@pytest.mark.parametrize("streams", ["stdout", "stderr", "both"])
def test_a_full_disk_is_said(tmp_path, streams):
    (tmp_path / "empty").mkdir()
    command = ["new", tmp_path / "mine"] if streams == "stdout" else ["report", tmp_path / "empty"]
    with open("/dev/full", "wb") as full:
        given = {s: full if streams in (s, "both") else subprocess.PIPE for s in ("stdout", "stderr")}
        done = subprocess.run([sys.executable, "-m", "aerolib", *map(str, command)], cwd=tmp_path, timeout=PATIENCE,
                              env={**os.environ, "PYTHONPATH": str(CLONE)}, **given)  # fmt: skip
    assert done.returncode == 2
    if streams == "stdout":
        assert b"No space left" in done.stderr and b"Traceback" not in done.stderr and done.stderr.count(b"\n") == 1
    if streams == "stderr":
        assert done.stdout == b""
