"""Messages name the right place, repeat no megabytes, and hold no words of the libraries underneath."""

from __future__ import annotations

import pytest
from cards import AIRCRAFT, STALLS

from aerolib.case.aircraft import parse_aircraft
from aerolib.case.copying import companions, save_case_as
from aerolib.case.problems import ECHOED, CaseError
from aerolib.study import open_study
from aerolib.units import DASHES, UnitProblem, parse_number

POINTS = '[[indicator.position]]\nmodification = "after"\nconfiguration = "clean"\nwithin = "2 kt"\npoints = '
RAW = ("should", "Input", "Value error", "Tuple", "valid integer", "type=", "item after validation")


def said(*arguments):
    """The message of a case that cannot be read, or of an `aircraft.toml`."""
    with pytest.raises(CaseError) as caught:
        open_study(*arguments).reduction if len(arguments) == 1 else parse_aircraft(arguments[1].encode())
    return str(caught.value)


@pytest.mark.parametrize(
    "more, words",
    [
        (POINTS + "[]", ["[[indicator.position]] number 2, points", "0 values", "needed is 1"]),
        (POINTS + '[["40 kt", "41 kt", "42 kt"]]', ["points value 1", "3 values", "needed are 2"]),
        ('[[modification]]\nname = ""', ["[[modification]] number 3, name", "empty"]),
        ('[[device]]\nname = "v"\ncount = 1.5', ["[[device]] number 1, count", "1.5", "whole number"]),
        ('[[device]]\nname = "v"\ncount = "many"', ["count", "'many'", "whole number"]),
        ("[layout]\nmissing_limit = -4", ["[layout] missing_limit", "-4", "at least 0"]),
        ("[layout]\nmissing_limit = 70000", ["70000", "at most 5000"]),
        ("[layout]\nmissing_limit = 0x1" + 5000 * "0", ["missing_limit", "at most 5000"]),
        ("[layout]\ndatum_name = 2026-01-01", ["datum_name", "2026-01-01", "quotation marks"]),
    ],
)
def test_no_words_of_the_library_underneath(more, words):
    text = said("aircraft.toml", AIRCRAFT + more + "\n")
    assert all(w in text for w in ("`aircraft.toml`", *words)), text
    assert not any(w in text for w in RAW), text


def test_whether_the_airplane_is_invented_is_true_or_false():
    text = said("aircraft.toml", AIRCRAFT.replace("invented = true", "invented = 7"))
    assert "invented: 7" in text and "true" in text and not any(w in text for w in RAW)


@pytest.mark.parametrize("cell", [1_000_000 * "4", "45 " + 300_000 * "x", 100_000 * "it's "])
@pytest.mark.parametrize("column", ["ias [kt]", "modification", "ended"])
def test_a_huge_cell_is_not_repeated(cell, column, small):
    header, first, *rest = STALLS.strip().split("\n")
    place = header.split(",").index(column)
    cells = first.split(",")
    cells[place] = cell
    text = said(small(stalls="\n".join([header, ",".join(cells), *rest]) + "\n"))
    assert "row 2" in text
    assert len(text) < 3000
    assert cell[: ECHOED + 1] not in text


@pytest.mark.parametrize("value", ["x" * 5_000, 9 * "12 m2 "])
def test_a_huge_value_is_not_repeated(value):
    text = said("aircraft.toml", AIRCRAFT.replace('"12 m2"', f'"{value}"'))
    assert "[wing] area" in text and len(text) < 600


def test_what_a_message_quotes_is_cut_and_what_it_says_is_not():
    sentence = (
        "the wing's area does not fit the chords of the airplane's drawing, nor the span that stands in the fuselage's"
    )
    assert str(CaseError(sentence)) == sentence
    assert str(CaseError(f"'{61 * 'a'}' is long")) == f"'{57 * 'a'}...' is long"
    assert str(CaseError(f"'{60 * 'a'}' is not")) == f"'{60 * 'a'}' is not"


@pytest.mark.parametrize("dash", DASHES)
def test_a_dash_for_a_minus_sign_is_told(dash, small):
    header, first, *rest = STALLS.strip().split("\n")
    cells = first.split(",")
    cells[header.split(",").index("ias [kt]")] = f"{dash}45"
    assert "the hyphen of the keyboard" in said(small(stalls="\n".join([header, ",".join(cells), *rest]) + "\n"))
    if dash == "\u2212":
        assert parse_number(f"{dash}4.5") == -4.5
    else:
        with pytest.raises(UnitProblem, match="the hyphen of the keyboard"):
            parse_number(f"{dash}4.5")


def test_a_negative_span_is_told_where_it_stands(case_folder):
    """The demonstration's tufts lie on the wing: it is not their fault."""
    path = case_folder / "aircraft.toml"
    text = path.read_text()
    assert 'span = "8.6 m"' in text
    path.write_text(text.replace('\nspan = "8.6 m"', '\nspan = "-8.6 m"', 1))
    told = said(case_folder)
    assert "`aircraft.toml` [wing] span" in told and "'-8.6 m'" in told
    assert "tufts" not in told


HEAVY = "modification,configuration,flight,ias [kt],crew [lb],fuel [l],ended,speed_kind\n"


@pytest.mark.parametrize("crew, rest", [(4000, 180), (4300, 4000)])
def test_a_wrong_crew_is_no_question_of_speed(crew, rest, small):
    """A slip of the pen makes the airplane three times as heavy as it may be, and CL with it."""
    aircraft = AIRCRAFT.replace('maximum = "600 kg"', 'maximum = "540 kg"')
    rows = [
        f"before,clean,1,{ias},{crew if k == 0 else rest},40,break,minimum"
        for k, ias in enumerate((44, 44.5, 45, 44.2))
    ]
    folder = small(aircraft, HEAVY + "\n".join(rows) + "\n")
    try:
        told = " ".join(open_study(folder).reduction.notes)
    except CaseError as e:
        told = str(e)
    assert "kg from `crew, fuel, load`" in told and "[weights]" in told
    assert not any(f"in {unit} it would" in told for unit in ("m/s", "mph", "km/h"))


def test_a_wrong_crew_inside_the_limits_is_no_question_of_speed_either(small):
    """A weight too high by the ratio of knots to miles an hour, squared: the speed fits its neighbours."""
    light, factor = 420.0, (1852 / 1609.344) ** 2
    rows = [
        f"before,clean,1,{ias},{light * (factor if k == 0 else 1):.1f},break,minimum"
        for k, ias in enumerate((44, 44.5, 45, 44.2))
    ]
    told = said(
        small(
            stalls="modification,configuration,flight,ias [kt],weight [kg],ended,speed_kind\n" + "\n".join(rows) + "\n"
        )
    )
    assert "`weight [kg]`" in told and "556 kg" in told and "420 kg" in told
    assert "in mph" not in told


def test_save_as_takes_a_section_from_a_folder_below(case_folder, tmp_path):
    (case_folder / "sub" / "below").mkdir(parents=True)
    (case_folder / "sub" / "below" / "points.txt").write_text("1 0\n0.5 0.1\n0 0\n0.5 -0.02\n1 0\n")
    path = case_folder / "aircraft.toml"
    path.write_text(path.read_text().replace("\n[wing]\n", '\n[wing]\nsection_file = "sub/below/points.txt"\n', 1))
    case = open_study(case_folder)
    save_case_as(case, tmp_path / "new", (case_folder / "stalls.csv").read_text())
    for name in companions(case):
        assert (tmp_path / "new" / name).read_bytes() == (case_folder / name).read_bytes()
    assert open_study(tmp_path / "new").name == case.name


def test_save_as_leaves_nothing_where_a_file_cannot_be_copied(case_folder, tmp_path, monkeypatch):
    from aerolib.case import copying

    case = open_study(case_folder)
    monkeypatch.setattr(copying, "companions", lambda _: ["aircraft.toml", "gone.txt"])
    with pytest.raises(OSError, match=r"gone\.txt"):
        save_case_as(case, tmp_path / "new", "x\n")
    assert not (tmp_path / "new").exists()
    assert not [p for p in tmp_path.iterdir() if p.name.startswith(".")]
