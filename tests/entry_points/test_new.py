"""A new folder: the templates can be filled in and read back, and the sheet to print is all there."""

import re
import tomllib
from typing import get_args

import numpy as np
import pytest
from pydantic import BaseModel

from aerolib.case.aircraft import error_sizes, parse_aircraft
from aerolib.case.folder import read_case
from aerolib.case.problems import CaseError
from aerolib.case.schema import Aircraft
from aerolib.case.shipped import shipped
from aerolib.case.stalls import COLUMNS, SCHEMA
from aerolib.case.tables import read_header
from aerolib.case.template import aircraft_template, new_case
from aerolib.measured.stalls import ENDINGS, KINDS, ErrorSizes
from aerolib.show.print.sheet_parts import AREA_EXAMPLE, trapezoids
from aerolib.show.print.sheets import measuring_sheet
from aerolib.study import open_study
from aerolib.study.stalls import warnings_of

FILES = ["README.md", "aircraft.toml", "stalls.csv"]
MM = 72.0 / 25.4


def uncommented():
    """The template with every key in use: the '#' goes where a key or a table follows at once."""
    return re.sub(r"(?m)^#(?=[A-Za-z\[])", "", aircraft_template())


def models(annotation):
    """The tables of the schema that an annotation holds."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for a in get_args(annotation) for m in models(a)]


def schema_keys(model, place=""):
    """Every 'table.key' of the schema."""
    for name, entry in model.model_fields.items():
        inner = models(entry.annotation)
        if inner:
            yield from schema_keys(inner[0], f"{place}{name}.")
        else:
            yield place + name


def tree_keys(tree, place=""):
    """Every 'table.key' of a parsed TOML file."""
    for name, value in tree.items():
        rows = value if isinstance(value, list) else [value]
        if rows and all(isinstance(r, dict) for r in rows):
            for row in rows:
                yield from tree_keys(row, f"{place}{name}.")
        else:
            yield place + name


def with_row(folder, **cells):
    """A new case with one stall written below the header."""
    new_case(folder)
    header = (folder / "stalls.csv").read_text().strip().split(",")
    row = ",".join(str(cells.pop(h.split(" [")[0], "")) for h in header)
    assert not cells
    with (folder / "stalls.csv").open("a") as f:
        f.write(row + "\n")
    return folder


STALL = {"modification": "before", "configuration": "clean", "flight": 1, "ias": 42, "speed_kind": "break"} | {
    "ended": "break", "weight": 1250, "power": "idle", "pressure_altitude": 3000, "temperature": 10,
}  # fmt: skip


def test_writes_three_files_and_nothing_else(tmp_path):
    folder = tmp_path / "hangar" / "mine"
    written = new_case(folder)
    assert sorted(p.name for p in written) == sorted(p.name for p in folder.iterdir()) == FILES
    assert [p.name for p in tmp_path.iterdir()] == ["hangar"]
    assert [p.name for p in (tmp_path / "hangar").iterdir()] == ["mine"]


def test_an_empty_folder_is_taken_and_text_accepted(tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / ".DS_Store").touch()
    assert len(new_case(str(tmp_path / "mine"))) == 3


def test_one_stall_is_enough_for_a_result(tmp_path):
    case = open_study(with_row(tmp_path / "mine", **STALL))
    item = case.reduction["before", "clean"]
    assert 0.8 < item.clmax.value < 2.5
    assert not any("weight not known" in w for w in warnings_of(case))


def test_weight_from_its_parts_and_a_speed_below_the_scale(tmp_path):
    cells = STALL | {"weight": "", "crew": 170, "fuel": 40, "load": 0, "ias": "<35"}
    case = open_study(with_row(tmp_path / "mine", **cells))
    assert case.stalls.weight[0] == pytest.approx(400 + 170 * 0.45359237 + 40 * 0.72, abs=0.1)
    assert case.reduction["before", "clean"].at_least > 1.0


def test_without_a_stall_the_message_says_what_to_do(tmp_path):
    new_case(tmp_path / "mine")
    with pytest.raises(CaseError, match="holds no stalls yet; write one row"):
        read_case(tmp_path / "mine")


def test_every_key_of_the_template_is_in_the_schema():
    parse_aircraft(uncommented().encode())
    parse_aircraft(aircraft_template().encode())


def test_every_key_of_the_schema_is_in_the_template():
    assert set(schema_keys(Aircraft)) == set(tree_keys(tomllib.loads(uncommented())))


def test_only_the_needed_keys_are_in_use():
    assert set(tree_keys(tomllib.loads(aircraft_template()))) == {
        "format", "wing.area", "weights.empty", "weights.maximum",
    }  # fmt: skip
    assert aircraft_template().count("# <- yours") == 3


def test_one_key_alone_may_be_uncommented():
    lines = aircraft_template().splitlines()
    tables = "wing weights power gear tail fuselage indicator".split()
    place, tried = "", 0
    for i, line in enumerate(lines):
        if header := re.match(r"#?\[+([\w.]+)\]+", line):
            place = header[1]
        elif re.match(r"#\w", line) and place in ["", *tables]:
            parse_aircraft("\n".join([*lines[:i], line[1:], *lines[i + 1 :]]).encode())
            tried += 1
    assert tried > 60


def test_every_key_has_a_remark():
    lines = [k for k in aircraft_template().splitlines() if re.match(r"#?\w+ = ", k)]
    # The second of two like tables needs no second explanation.
    assert [k for k in lines if " # " not in k[1:]] == [
        '#weight = "560 kg"', '#name = "full flap"', '#flap = "35 deg"', '#name = "after"',
        '#description = "one row of vortex generators"',
    ]  # fmt: skip
    assert max(map(len, aircraft_template().splitlines())) <= 120


def test_examples_said_to_be_assumed_are_what_the_library_assumes():
    given, assumed = error_sizes(parse_aircraft(uncommented().encode())), ErrorSizes()
    for name in vars(assumed):
        assert getattr(given, name) == pytest.approx(getattr(assumed, name), rel=0.03), name


def test_header_names_every_column_with_a_unit_that_can_be_read():
    headers = SCHEMA.header.split(",")
    assert list(read_header(headers, COLUMNS, "stalls.csv")) == list(COLUMNS)


def test_readme_explains_every_column_and_word(tmp_path):
    new_case(tmp_path / "mine")
    text = (tmp_path / "mine" / "README.md").read_text()
    for word in (*COLUMNS, *KINDS, *ENDINGS, "<35"):
        assert f"`{word}`" in text, word


def test_a_folder_that_holds_something_is_left_alone(tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(CaseError, match=r"holds `notes.txt` already; nothing was written. Choose a new"):
        new_case(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["notes.txt"]


def test_twice_is_refused(tmp_path):
    new_case(tmp_path / "mine")
    with pytest.raises(CaseError, match="already"):
        new_case(tmp_path / "mine")


@pytest.mark.parametrize("below", ["", "mine"])
def test_a_file_is_refused(tmp_path, below):
    (tmp_path / "file").write_text("mine")
    with pytest.raises(CaseError, match="Choose another name|choose a folder"):
        new_case(tmp_path / "file" / below)
    assert (tmp_path / "file").read_text() == "mine"


def test_the_installation_is_refused():
    folder = shipped("data") / "new"
    with pytest.raises(CaseError, match="read-only"):
        new_case(folder)
    assert not folder.exists()


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    pdfplumber = pytest.importorskip("pdfplumber")
    path = tmp_path_factory.mktemp("sheet") / "measuring-sheet.pdf"
    assert measuring_sheet(path) == path
    with pdfplumber.open(path) as pdf:
        yield pdf.pages


NEEDED = (
    (
        "[wing] span", "[wing] chord_root", "[wing] chord_middle", "[wing] chord_tip",
        "[wing] area", "[wing] area_within", "[wing] flap_inner", "[wing] aileron_outer", "surfaces neutral",
        "area S = 2 x (sum of the strips)", "Worked line (invented)", "S = 2 x 6.88 = 13.76 m2", "through the fuselage",
    ),
    (
        "[wing] incidence", "[wing] twist", "[gear] ground_angle_loaded", "[gear] ground_angle", "[tail] arm",
        "[fuselage] eye_height", "[gear] wing_height", "[power] thrust_angle", "leveling line", "template", "signs",
    ),
    (
        "[tail] elevator_up", "[tail] elevator_down", "[tail] span", "[tail] chord", "[tail] elevator_chord",
        "[[configuration]] flap", "gap at the hinge", "Protractor", "flap setting", "± 0.5°",
    ),
    (
        "[weights] empty", "[weights] empty_cg", "[weights] maximum", "[gear] main_wheel_station", "tare",
        "CG = sum of (net x station) / sum of net", "= 228.0 / 400 = 0.570 m", "fuel aboard when",
        "[indicator] scale_starts", "[indicator] reading_within", "date and place", "who measured", "scales: maker",
    ),
)  # fmt: skip


def test_sheet_asks_for_everything(sheet):
    assert len(sheet) == 4
    for page, needed in zip(sheet, NEEDED, strict=True):
        text = page.extract_text()
        for words in (*needed, "within", "(95 %)", "value", "unit"):
            assert words in text, words
        assert "jacking points" in text and "do not replace the approved records" in " ".join(text.split())
        assert "safe" not in text.lower()


def test_sheet_keys_are_keys_of_the_schema(sheet):
    known = set(schema_keys(Aircraft))
    for page in sheet:
        keys = re.findall(r"\[+(\w+)\]+ (\w+)", page.crop((165 * MM, 0, page.width, page.height)).extract_text())
        assert len(keys) >= 9
        assert not {f"{table}.{key}" for table, key in keys} - known


def test_sheet_prints_on_a4_and_on_letter(sheet):
    for page in sheet:
        assert (page.width, page.height) == pytest.approx((210 * MM, 297 * MM), abs=0.1)
        left, top = (page.width - 195 * MM) / 2, (page.height - 265 * MM) / 2
        everything = page.chars + page.lines + page.curves + page.rects
        inside = [o for o in everything if o["x1"] - o["x0"] < 209 * MM]  # the white of the page itself is a rectangle
        assert len(inside) > 500
        for o in inside:
            assert o["x0"] >= left and o["x1"] <= page.width - left, o
            assert o["top"] >= top and o["bottom"] <= page.height - top, o


def test_sheet_words_do_not_lie_on_each_other(sheet):
    for page in sheet:
        words = page.extract_words()
        box = np.array([(w["x0"], w["top"] + 1.0, w["x1"], w["bottom"] - 1.0) for w in words])
        low, high = box[:, None, :2], box[:, None, 2:]
        over = ((low < box[None, :, 2:]) & (high > box[None, :, :2])).all(axis=2)
        np.fill_diagonal(over, False)
        assert not over.any(), [(words[i]["text"], words[j]["text"]) for i, j in np.argwhere(over)]


def test_letters_in_the_drawings_are_letters_of_the_table(sheet):
    for page in sheet:
        bold = [c for c in page.chars if "Bold" in c["fontname"] and c["text"].isupper()]
        alone = [w["text"] for w in page.extract_words() if re.fullmatch("[A-HJ-N]", w["text"])]
        assert bold
        counts = {letter: alone.count(letter) for letter in set(alone)}
        assert min(counts.values()) >= 2, counts  # once in the drawing, once in the table


def test_sheet_is_the_same_each_time(tmp_path):
    first, second = (measuring_sheet(tmp_path / f"{k}.pdf").read_bytes() for k in "ab")
    assert first == second


def test_trapezoids():
    assert trapezoids([(0, 2.0), (4.0, 2.0)]) == pytest.approx(16.0)
    assert trapezoids([(0, 2.0), (4.0, 1.0)]) == pytest.approx(12.0)
    y, c = np.transpose(AREA_EXAMPLE)
    assert trapezoids(AREA_EXAMPLE) == pytest.approx(2 * np.trapezoid(c, y))
