"""`aerolib report`: table, page and JSON say the same, in one folder outside the case, and messages go to stderr."""

from __future__ import annotations

import csv
import hashlib
import html
import json
import os
import re
import shutil
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import jsonschema
import pytest
from schemas import report_schema
from waiting import PATIENCE

from aerolib.__main__ import main
from aerolib.measured.stalls.results import CAUTIONS

CLONE = Path(__file__).resolve().parents[2]
DEMO = CLONE / "data" / "demo"
SCHEMA = report_schema()
SHEETS = [f"marking-sheet-{side}-{paper}.pdf" for side in ("left", "right") for paper in ("a4", "letter")]
PRINTED = [*SHEETS, "methods-by-hand.html", "preflight-count.pdf", "tuft-plan.pdf"]
WRITTEN = sorted([*PRINTED, "reduced-stalls.csv", "report.html", "report.json"])
SMALL_AIRCRAFT = 'format = 1\nname = "Wren"\n[wing]\narea = "12 m2"\n[weights]\nempty = "400 kg"\nmaximum = "600 kg"\n'
SMALL_STALLS = (
    "modification,configuration,flight,ias [kt],weight [kg],power,ended,speed_kind\n"
    "before,clean,1,44,550,idle,break,minimum\nbefore,clean,1,44.5,545,idle,break,minimum\n"
    "after,clean,1,42,550,idle,break,minimum\nafter,clean,2,<41,545,idle,break,minimum\n"
    "after,flap,2,40,545,full,early,unknown\n"
)


def digest(folder):
    """One digest of every file in a folder, names included."""
    files = sorted(p for p in folder.rglob("*") if p.is_file() and "__pycache__" not in p.parts)
    return hashlib.sha256(b"".join(str(p).encode() + p.read_bytes() for p in files)).hexdigest()


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """The command on the demonstration, in a process and a folder of its own; the same again with --json."""
    cwd = tmp_path_factory.mktemp("somewhere")
    before = digest(DEMO)
    command = [sys.executable, "-m", "aerolib", "report", os.path.relpath(DEMO, cwd)]
    table, as_json = (
        subprocess.run(command + more, cwd=cwd, text=True, capture_output=True, timeout=PATIENCE, encoding="utf-8",
                       env={**os.environ, "PYTHONPATH": str(CLONE), "PYTHONIOENCODING": "utf-8"})
        for more in ([], ["--json", "--out", "again"])
    )  # fmt: skip
    return {"cwd": cwd, "table": table, "json": as_json, "before": before, "after": digest(DEMO)}


@pytest.fixture(scope="module")
def html_page(ran):
    """The HTML report."""
    return (ran["cwd"] / "report-demo" / "report.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def data(ran):
    """What --json printed."""

    def never(constant):
        raise AssertionError(f"{constant} is not JSON")

    return json.loads(ran["json"].stdout, parse_constant=never)


def printed_rows(text):
    """The table in a terminal, by the widths of its rule; one list of cells a row."""
    lines = text.splitlines()
    rule = next(i for i, line in enumerate(lines) if re.fullmatch(r"-+(  -+)+", line))
    spans = [m.span() for m in re.finditer("-+", lines[rule])]
    end = next(i for i in range(rule + 1, len(lines)) if not lines[i].strip())
    return [[line[a:b].strip() for a, b in spans] for line in lines[rule + 1 : end]]


class Page(HTMLParser):
    """Tables as lists of cells, and every tag with its attributes."""

    def __init__(self, text):
        super().__init__()
        self.tables, self.tags, self.ids, self._cell = [], [], [], None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self._cell = ""

    def handle_endtag(self, tag):
        if tag in ("td", "th"):
            self.tables[-1][-1].append(self._cell)
            self._cell = None

    def handle_data(self, data):
        if self._cell is not None:
            self._cell += data


def test_it_runs_and_names_the_report(ran):
    done = ran["table"]
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    named = re.search(r"Report: (.+report\.html)", done.stdout)
    assert (ran["cwd"] / named[1]).is_file()
    assert sorted(p.name for p in (ran["cwd"] / "report-demo").iterdir()) == WRITTEN


def test_nothing_is_written_in_the_case_or_elsewhere(ran):
    assert ran["before"] == ran["after"]
    assert sorted(p.name for p in ran["cwd"].iterdir()) == ["again", "report-demo"]


def test_json_prints_json_only_and_writes_the_same(ran, data):
    assert ran["json"].returncode == 0
    assert ran["json"].stdout.startswith("{")
    assert ran["json"].stdout.endswith("}\n")
    assert sorted(p.name for p in (ran["cwd"] / "again").iterdir()) == WRITTEN
    for folder in ("again", "report-demo"):
        assert json.loads((ran["cwd"] / folder / "report.json").read_text(encoding="utf-8")) == data


def test_json_keeps_the_contract(data):
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    jsonschema.Draft202012Validator(SCHEMA).validate(data)
    for item in data["clmax"]:
        if item["value"] is not None:
            assert item["interval95"][0] < item["value"] < item["interval95"][1]
            assert sum(b["share"] for b in item["budget"]) == pytest.approx(1.0, abs=1e-4)
        assert item["margins"] == [] or item["margins"][0]["lowest_kt"] <= item["margins"][0]["highest_kt"]


def test_json_of_a_case_that_knows_little(write_case, tmp_path, monkeypatch, capsys):
    """No altitude, no rate, one bound, an unknown thrust: null, never NaN; a reader needs no special case."""
    monkeypatch.chdir(tmp_path)
    assert main(["report", str(write_case(SMALL_AIRCRAFT, SMALL_STALLS)), "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "NaN" not in out
    assert "Infinity" not in out
    data = json.loads(out)
    jsonschema.Draft202012Validator(SCHEMA).validate(data)
    kinds = {(i["modification"], i["configuration"]): i for i in data["clmax"]}
    assert kinds["after", "flap"]["apparent"] is True
    assert kinds["after", "flap"]["value"] is None
    assert kinds["after", "flap"]["stall_speed_1g_kt"] is None
    assert (kinds["after", "clean"]["breaks"], kinds["after", "clean"]["bounds"]) == (1, 1)


@pytest.mark.parametrize("spoil", ["drop", "nan", "text", "one number", "more"])
def test_the_schema_can_refuse(spoil, data):
    spoilt = json.loads(json.dumps(data))
    item = spoilt["clmax"][0]
    if spoil == "drop":
        del item["interval95"]
    else:
        item.update(
            {"nan": {"value": "NaN"}, "text": {"breaks": "8"}, "one number": {"interval95": [1.4]}, "more": {"x": 1}}[
                spoil
            ]
        )
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(SCHEMA).validate(spoilt)


def test_counts_are_those_of_the_card(data):
    """Counted here with csv: stalls that ended in a break with a number, and the rest."""
    with (DEMO / "stalls.csv").open(newline="", encoding="utf-8") as file:
        rows = [r for r in csv.DictReader(file) if not r["left_out"]]
    for item in data["clmax"]:
        here = [r for r in rows if all(r[k] == item[k] for k in ("modification", "configuration", "power"))]
        breaks = [r for r in here if r["ended"] == "break" and not r["ias [kt]"].startswith("<")]
        assert (item["breaks"], item["bounds"]) == (len(breaks), len(here) - len(breaks))
    assert sum(i["breaks"] + i["bounds"] for i in data["clmax"]) == len(rows)
    with_value = {(r["modification"], r["configuration"], r["power"]) for r in rows}
    assert {(i["modification"], i["configuration"], i["power"]) for i in data["clmax"]} == with_value


def numbers(text):
    """All numbers in a text, as written."""
    return re.findall(r"-?\d+\.?\d*", text)


def test_terminal_page_and_json_hold_the_same_numbers(ran, html_page, data):
    terminal = printed_rows(ran["table"].stdout)
    shown = Page(html_page).tables[0][1:]
    assert terminal == shown
    assert len(terminal) == len(data["clmax"]) >= 7
    for cells, item in zip(terminal, data["clmax"]):
        assert cells[:3] == [item["modification"], item["configuration"], item["power"]]
        pairs = [(cells[3], [item["value"] if item["value"] is not None else item["at_least"]])]
        for text, values in ((cells[4], item["interval95"]), (cells[5], [item["stall_speed_1g_kt"]]),
                             (cells[6], item["stall_speed_1g_interval95_kt"])):  # fmt: skip
            pairs.append((text, values if values and values[0] is not None else []))
        for text, values in pairs:
            written = numbers(text)
            assert len(written) == len(values), (text, values)
            for w, v in zip(written, values):
                decimals = len(w.partition(".")[2])
                assert abs(float(w) - v) <= 0.5 * 10.0**-decimals + 1e-5, (text, v)
        assert ("apparent" in cells[3]) == item["apparent"]
        assert ("at least" in cells[3]) == (item["value"] is None)


def test_the_reduced_stalls_agree_with_the_json(ran, data):
    """No row is missing, and CLmax lies among its stalls, or outside by no more than a flight's day is worth (4 %).

    What the other configurations say about a flight's day moves the mean of a group flown on that flight alone.
    """
    with (ran["cwd"] / "report-demo" / "reduced-stalls.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    with (DEMO / "stalls.csv").open(newline="", encoding="utf-8") as file:
        card = dict(enumerate(csv.DictReader(file), 2))
    assert [int(r["row"]) for r in rows] == [n for n, r in card.items() if not r["left_out"]]
    for r in rows:
        same = card[int(r["row"])]
        assert all(r[k] == same[k] for k in ("modification", "configuration", "flight", "power"))
    for item in data["clmax"]:
        keys = ("modification", "configuration", "power")
        cl = [
            float(r["lift coefficient"]) for r in rows if r["outcome"] == "break" and all(r[k] == item[k] for k in keys)
        ]
        if item["value"] is not None:
            assert 0.96 * min(cl) < item["value"] < 1.04 * max(cl)
            assert len(cl) == item["breaks"]


def test_the_page_stands_alone(html_page):
    tags = Page(html_page).tags
    for tag, attributes in tags:
        assert tag not in ("script", "link", "iframe", "object", "embed")
        for name in ("src", "href", "srcset", "action"):
            assert name not in attributes or attributes[name].startswith(("data:", "#")), (tag, attributes[name][:60])
    assert "@import" not in html_page
    assert not re.search(r"url\(\s*['\"]?(?!data:|#)", html_page)


def test_every_picture_has_caption_and_alternative(html_page):
    images = [a for t, a in Page(html_page).tags if t == "img"]
    assert len(images) >= 2
    assert all(len(a["alt"]) > 30 and int(a["width"]) > 100 and int(a["height"]) > 100 for a in images)
    captions = re.findall(r"<figcaption>(.*?)</figcaption>", html_page, re.S)
    assert len(captions) == len(images) == len(re.findall("<figure", html_page))
    assert all(len(c) > 30 for c in captions)


def test_the_page_holds_cautions_notes_and_what_was_left_out(ran, html_page, data):
    words = " ".join(html.unescape(html_page).split())
    for caution in CAUTIONS:
        assert caution in words
        assert caution in " ".join(ran["table"].stdout.split()).replace(" - ", " ")
    for item in data["clmax"]:
        for note in item["notes"]:
            assert note in words
    assert "left out by the owner: 'read on the mph ring'" in words
    assert "invented: no such airplane exists" in words
    assert data["inputs_sha256"] in words


def test_every_value_of_the_table_is_in_the_pictures_words(html_page):
    """A reader who hears the page gets the numbers of the picture too."""
    alternatives = " ".join(a["alt"] for t, a in Page(html_page).tags if t == "img")
    for row in Page(html_page).tables[0][1:]:
        assert numbers(row[3])[0] in alternatives, row


def test_nothing_is_called_safe(ran, html_page):
    files = [p.read_text(encoding="utf-8") for p in (ran["cwd"] / "report-demo").glob("*.[!p]*")]
    for text in (*files, ran["table"].stdout, ran["json"].stdout):
        visible = re.sub(r"data:image/png;base64,[A-Za-z0-9+/=]+", "", text)
        assert len(visible) > 500
        assert not re.search(r"\b(un)?safe(r|st|ly|ty)?\b", visible, re.I)


def test_out_names_another_folder_even_a_deep_one(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["report", str(DEMO), "--out", "a/b/c"]) == 0
    assert str(Path("a/b/c/report.html")) in capsys.readouterr().out
    assert sorted(p.name for p in (tmp_path / "a" / "b" / "c").iterdir()) == WRITTEN
    assert [p.name for p in tmp_path.iterdir()] == ["a"]


def test_written_twice_gives_the_same_files(tmp_path, capsys):
    runs = []
    for _ in range(2):
        assert main(["report", str(DEMO), "--out", str(tmp_path / "r")]) == 0
        runs.append({n: (tmp_path / "r" / n).read_bytes() for n in WRITTEN})
    capsys.readouterr()
    assert runs[0] == runs[1]
    assert sorted(p.name for p in (tmp_path / "r").iterdir()) == WRITTEN


@pytest.mark.parametrize("inside", [".", "report", "deep/er"])
def test_refused_inside_the_case(inside, case_folder, capsys):
    before = digest(case_folder)
    assert main(["report", str(case_folder), "--out", str(case_folder / inside)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "never written inside the case" in err
    assert "--out" in err
    assert digest(case_folder) == before


def test_refused_when_run_from_inside_the_case(case_folder, monkeypatch, capsys):
    monkeypatch.chdir(case_folder)
    before = digest(case_folder)
    assert main(["report", "."]) == 2
    assert "inside the case" in capsys.readouterr().err
    assert digest(case_folder) == before


@pytest.mark.skipif(sys.platform == "win32", reason="links need a privilege there")
def test_refused_inside_the_case_through_a_link(case_folder, tmp_path, capsys):
    (tmp_path / "link").symlink_to(case_folder)
    before = digest(case_folder)
    assert main(["report", str(case_folder), "--out", str(tmp_path / "link" / "r")]) == 2
    assert "inside the case" in capsys.readouterr().err
    assert digest(case_folder) == before


def test_refused_where_out_is_a_file(tmp_path, capsys):
    (tmp_path / "taken").write_text("mine")
    assert main(["report", str(DEMO), "--out", str(tmp_path / "taken")]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "taken is a file" in err
    assert (tmp_path / "taken").read_text() == "mine"


def test_a_folder_that_cannot_be_written_is_explained(tmp_path, capsys):
    (tmp_path / "file").write_text("mine")
    assert main(["report", str(DEMO), "--out", str(tmp_path / "file" / "below")]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "--out" in err
    assert "Traceback" not in err


def test_flights_of_one_label_are_counted_apart(write_case, tmp_path, monkeypatch, capsys):
    """Flight 1 before and flight 1 after are two flights, in the words of the page as well."""
    monkeypatch.chdir(tmp_path)
    assert main(["report", str(write_case(SMALL_AIRCRAFT, SMALL_STALLS))]) == 0
    capsys.readouterr()
    words = " ".join((tmp_path / "report-case" / "report.html").read_text(encoding="utf-8").split())
    assert "from 5 stalls in 3 flights" in words


def test_the_digest_changes_with_either_file(case_folder, tmp_path, capsys):
    seen = []
    for name in (None, "stalls.csv", "aircraft.toml"):
        if name:
            with (case_folder / name).open("a", encoding="utf-8") as file:
                file.write("\n")
        shutil.rmtree(tmp_path / "r", ignore_errors=True)
        assert main(["report", str(case_folder), "--out", str(tmp_path / "r"), "--json"]) == 0
        seen.append(json.loads(capsys.readouterr().out)["inputs_sha256"])
    assert len(set(seen)) == 3
