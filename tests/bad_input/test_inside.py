"""Nothing of a case is read or written outside its folder: paths and links go through one check."""

import os
import sys

import pytest

from aerolib.case.copying import save_case_as
from aerolib.case.folder import read_case
from aerolib.case.inside import inside
from aerolib.case.problems import CaseError
from aerolib.case.recordings.logs import load_log
from aerolib.study.section import section_of

POSIX = pytest.mark.skipif(sys.platform == "win32", reason="links need a privilege there")
BAD = {
    "up": "../secret.txt", "up and down": "logs/../../secret.txt", "absolute": "/etc/hostname", "drive": "C:secret.txt",
    "backslash": "..\\secret.txt", "NUL": "a\x00b", "long": "x" * 300, "long letters": "ö" * 150, "empty": "",
    "dot": ".", "escape": "\x1b[2J", "line": "a\nb",
}  # fmt: skip


@pytest.mark.parametrize("name", BAD.values(), ids=BAD)
def test_no_path_out_of_the_case(tmp_path, name):
    (tmp_path / "secret.txt").write_text("secret")
    (tmp_path / "case" / "logs").mkdir(parents=True)
    with pytest.raises(CaseError) as caught:
        inside(tmp_path / "case", name)
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 300


def test_a_name_in_the_case_is_taken(tmp_path):
    (tmp_path / "logs").mkdir()
    for name in ("aircraft.toml", "logs/flight 1.csv", "..odd", "Möwe.txt"):
        assert inside(tmp_path, name) == tmp_path / name


def _circle(case, outside):
    (case / "other").symlink_to(case / "link")
    return case / "other"


LINKS = {
    "out": lambda case, outside: outside / "secret.txt",
    "nothing": lambda case, outside: case / "nothing",
    "nothing outside": lambda case, outside: outside / "nothing",
    "circle": _circle,
    "device": lambda case, outside: "/dev/zero",
}


@POSIX
@pytest.mark.parametrize("target", LINKS.values(), ids=LINKS)
def test_no_link_out_of_the_case(tmp_path, target):
    case = tmp_path / "case"
    case.mkdir()
    (tmp_path / "secret.txt").write_text("secret")
    (case / "link").symlink_to(target(case, tmp_path))
    with pytest.raises(CaseError, match="link"):
        inside(case, "link")


@POSIX
def test_a_link_within_the_case_and_a_case_behind_a_link_are_followed(case_folder, tmp_path):
    (case_folder / "stalls.csv").rename(case_folder / "card.csv")
    (case_folder / "stalls.csv").symlink_to("card.csv")
    (tmp_path / "behind").symlink_to(case_folder)
    assert len(read_case(tmp_path / "behind").stalls.row) == len(read_case(case_folder).stalls.row) > 0


@POSIX
@pytest.mark.parametrize("name", ["aircraft.toml", "stalls.csv", "airspeed_legs.csv", "checks.csv", "tufts.csv"])
@pytest.mark.parametrize("whole", [True, False])
def test_a_table_that_is_a_link_out_or_to_nothing_is_refused_by_name(case_folder, tmp_path, name, whole):
    """A broken link was read as 'no such table', which changes the answer without a word."""
    (case_folder / name).rename(tmp_path / "elsewhere")
    (case_folder / name).symlink_to(tmp_path / "elsewhere" if whole else case_folder / "nothing")
    with pytest.raises(CaseError, match=name):
        read_case(case_folder)


@pytest.mark.parametrize(
    "name", [v for v in BAD.values() if "\n" not in v and v], ids=[k for k in BAD if k not in ("line", "empty")]
)
def test_section_file(case_folder, tmp_path, name):
    """Refused where it is needed; the stalls are read without it, and 'save as' writes nothing."""
    (tmp_path / "secret.txt").write_text("0 0\n" * 40)
    path = case_folder / "aircraft.toml"
    written = name.replace("\\", "\\\\").replace("\x00", "\\u0000").replace("\x1b", "\\u001b")
    path.write_text(
        path.read_text(encoding="utf-8").replace("[wing]", f'[wing]\nsection_file = "{written}"', 1), encoding="utf-8"
    )
    case = read_case(case_folder)
    assert len(case.stalls.row) > 0
    with pytest.raises(CaseError, match="section_file"):
        section_of(case)
    before = sorted(tmp_path.iterdir())
    with pytest.raises(CaseError):
        save_case_as(case, tmp_path / "new" / "case", "")
    left = [p for p in tmp_path.rglob("*") if p.name.startswith("secret")]
    assert left == [tmp_path / "secret.txt"]
    assert [p for p in sorted(tmp_path.iterdir()) if p not in before and any(p.rglob("*.t*"))] == []


@POSIX
def test_a_recording_behind_a_link_is_not_read(case_folder, tmp_path):
    case = read_case(case_folder)
    name = case.aircraft.log[0].file
    os.replace(case_folder / "logs" / name, tmp_path / "elsewhere")
    (case_folder / "logs" / name).symlink_to(tmp_path / "elsewhere")
    with pytest.raises(CaseError, match=name):
        load_log(case, name)
    (case_folder / "logs").rename(tmp_path / "logs")
    (case_folder / "logs").symlink_to(tmp_path / "logs")
    with pytest.raises(CaseError):
        load_log(case, case.aircraft.log[1].file)
