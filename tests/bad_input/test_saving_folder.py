"""A folder, a report's or a case's, is made in one step: the old one or the new one, whatever else lies in it."""

from __future__ import annotations

import json
import os
import random

import pytest
from killing import FORKS, POSIX, killed_at, names

from aerolib.case import saving
from aerolib.case.problems import CaseError
from aerolib.case.saving import write_folder
from aerolib.show.report import write_report


def content(folder):
    """Every file below a folder and what it holds."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_a_folder_loses_what_is_its_own_and_keeps_the_rest(tmp_path):
    out = tmp_path / "out"
    assert write_folder(out, {"page": "1", "sheet": "1"}) == []
    (out / "notes").mkdir()
    (out / "notes" / "mine.txt").write_text("mine")
    (out / "photo.jpg").write_bytes(b"\x00")
    assert write_folder(out, {"page": "2"}, own=["page", "sheet"]) == ["notes", "photo.jpg"]
    assert content(out) == {"page": b"2", "photo.jpg": b"\x00", os.path.join("notes", "mine.txt"): b"mine"}
    assert names(tmp_path) == ["out"]


def test_another_s_file_is_never_replaced(tmp_path):
    write_folder(tmp_path / "out", {"page": "1"})
    (tmp_path / "out" / "sheet").write_text("mine")
    with pytest.raises(CaseError, match="`sheet`"):
        write_folder(tmp_path / "out", {"page": "2", "sheet": "2"}, own=["page"])
    assert content(tmp_path / "out") == {"page": b"1", "sheet": b"mine"}
    assert names(tmp_path) == ["out"]


@pytest.mark.parametrize("two_steps", [False, True], ids=["as this system does", "two renames"])
def test_what_a_folder_holds_after_the_exchange(two_steps, tmp_path, monkeypatch):
    if two_steps:
        monkeypatch.setattr(saving.ctypes, "CDLL", lambda _: None)
    for k in range(3):
        write_folder(tmp_path / "out", {f"page {k}": "x"}, own=[f"page {k - 1}"])
        assert names(tmp_path / "out") == [f"page {k}"]
        (tmp_path / "out").joinpath("mine").write_text("mine")
        assert write_folder(tmp_path / "out", {f"page {k}": "y"}, own=[f"page {k}"]) == ["mine"]
        (tmp_path / "out" / "mine").unlink()
    assert names(tmp_path) == ["out"]


@POSIX
@FORKS
def test_a_report_killed_at_any_point_is_old_or_new(tmp_path):
    r = random.Random(2)
    out, seen, killed = tmp_path / "out", [], 0

    def write(k):
        """Of what an earlier one wrote half is gone in the next."""
        sheets = {f"sheet {k % 2} {i}": str(k) for i in range(3)}
        write_report(out, str(k), {"aerolib": "0", "inputs_sha256": str(k)}, sheets)

    def owner(k):
        return {n: b for n, b in content(out).items() if n == "mine.txt" or b == str(k).encode()}

    write(0)
    (out / "mine.txt").write_text("mine")
    for k in range(1, 41):
        old = content(out)
        killed += os.WIFSIGNALED(killed_at(r.randint(1, 22), r.random() < 0.5, lambda k=k: write(k)))
        found = content(out)
        assert json.loads(found["report.json"])["files"] == sorted(set(found) - {"mine.txt"})
        seen.append(found != old)
        assert found == old or len(owner(k)) == len(found) - 1 == 5  # all but report.json say which they are of
        assert found["mine.txt"] == b"mine"
    assert killed > 20
    assert any(seen)
    assert not all(seen)
    write(41)
    assert len(owner(41)) == len(content(out)) - 1
    assert names(tmp_path) == ["out"]  # what the killed ones left beside it is gone


def test_stopped_between_two_renames_is_mended_by_the_next(tmp_path):
    write_folder(tmp_path / "out", {"page": "1"})
    (tmp_path / "out" / "mine").write_text("mine")
    (tmp_path / "out").rename(tmp_path / ".out.before")
    assert write_folder(tmp_path / "out", {"page": "2"}, own=["page"]) == ["mine"]
    assert content(tmp_path) == {os.path.join("out", "page"): b"2", os.path.join("out", "mine"): b"mine"}
