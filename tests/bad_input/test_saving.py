"""An owner's file is replaced whole or not at all, with a backup, and never over somebody else's change."""

from __future__ import annotations

import os
import random
import signal
import stat

import pytest
from killing import FORKS, POSIX, child, killed_at, names

from aerolib.case import saving
from aerolib.case.problems import CaseError
from aerolib.case.saving import BACKUPS, save_text, sha256, write_folder
from aerolib.case.shipped import demo_folder
from aerolib.case.stalls import parse_stalls
from aerolib.case.tables import read_table, write_table
from aerolib.study import open_study


def test_saved_with_a_backup(case_folder):
    path = case_folder / "stalls.csv"
    old, before = path.read_bytes(), names(case_folder)
    digest = save_text(path, "new\n", sha256(old))
    assert path.read_bytes() == b"new\n"
    assert (case_folder / "stalls.csv.001.bak").read_bytes() == old
    assert digest == sha256(b"new\n")
    assert names(case_folder) == sorted([*before, "stalls.csv.001.bak"])
    save_text(path, "newer\n", digest)
    assert (case_folder / "stalls.csv.002.bak").read_bytes() == b"new\n"
    assert (case_folder / "stalls.csv.001.bak").read_bytes() == old


def test_the_last_ten_are_kept(case_folder):
    path = case_folder / "stalls.csv"
    digest = sha256(path.read_bytes())
    for k in range(14):
        digest = save_text(path, f"{k}\n", digest)
        digest = save_text(path, f"{k}\n", digest)  # nothing new: no backup is spent on it
    kept = sorted(p for p in case_folder.iterdir() if p.suffix == ".bak")
    assert [p.name for p in kept] == [f"stalls.csv.{k:03d}.bak" for k in range(5, 15)]
    assert [p.read_text() for p in kept] == [f"{k}\n" for k in range(3, 13)]
    assert len(kept) == BACKUPS


def refused(words, *arguments):
    """save_text refuses with these words, and the folder stays as it was."""
    folder = arguments[0].parent
    before = {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}
    with pytest.raises(CaseError) as caught:
        save_text(*arguments)
    assert all(w in str(caught.value) for w in words), str(caught.value)
    assert {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()} == before


def test_refused_when_changed_since_it_was_read(case_folder):
    path = case_folder / "stalls.csv"
    digest = open_study(case_folder).case.digests["stalls.csv"]
    path.write_bytes(path.read_bytes() + b"\n")
    refused(["`stalls.csv`", "changed on disk", "nothing was written", "save as"], path, "mine\n", digest)


def test_refused_when_gone_since_it_was_read(case_folder):
    path = case_folder / "stalls.csv"
    digest = open_study(case_folder).case.digests["stalls.csv"]
    path.unlink()
    refused(["`stalls.csv`", "gone", "nothing was written"], path, "mine\n", digest)


def test_refused_when_new_exists(case_folder):
    refused(["`README.md` exists already", "nothing was written"], case_folder / "README.md", "mine\n", None)


def test_the_digest_of_a_case_is_that_of_its_bytes(case_folder):
    digests = open_study(case_folder).case.digests
    names = ("aircraft.toml", "stalls.csv", "checks.csv", "airspeed_legs.csv", "tufts.csv")
    assert digests == {n: sha256((case_folder / n).read_bytes()) for n in names}


@pytest.mark.parametrize("name", ["stalls.csv", "aircraft.toml", "another.csv"])
def test_the_demonstration_is_read_only(name):
    path = demo_folder() / name
    digest = sha256(path.read_bytes()) if path.exists() else None
    refused(["read-only", "save as"], path, "mine\n", digest)


def test_reports_are_not_written_into_the_installation():
    before = names(demo_folder())
    for folder in (demo_folder(), demo_folder() / "new"):
        with pytest.raises(CaseError, match="installation"):
            write_folder(folder, {"report.html": "x"})
    assert names(demo_folder()) == before


@POSIX
def test_a_link_to_the_demonstration_is_read_only_too(tmp_path):
    link = tmp_path / "stalls.csv"
    link.symlink_to(demo_folder() / "stalls.csv")
    old = link.read_bytes()
    with pytest.raises(CaseError, match="read-only"):
        save_text(link, "mine\n", sha256(old))
    assert link.read_bytes() == old


@POSIX
def test_a_link_stays_a_link(case_folder, tmp_path):
    link = tmp_path / "linked.csv"
    link.symlink_to(case_folder / "stalls.csv")
    save_text(link, "new\n", sha256(link.read_bytes()))
    assert link.is_symlink()
    assert (case_folder / "stalls.csv").read_bytes() == b"new\n"


@POSIX
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_permissions_are_kept_by_the_file_and_its_backup(mode, case_folder):
    path = case_folder / "stalls.csv"
    path.chmod(mode)
    save_text(path, "new\n", sha256(path.read_bytes()))
    for each in (path, case_folder / "stalls.csv.001.bak"):
        assert stat.S_IMODE(each.stat().st_mode) == mode, each.name


def test_a_failed_write_leaves_nothing_behind(case_folder, monkeypatch):
    path = case_folder / "stalls.csv"
    old, before = path.read_bytes(), names(case_folder)

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(saving.os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        save_text(path, "new\n", sha256(old))
    assert path.read_bytes() == old
    assert names(case_folder) == before


@POSIX
@FORKS
def test_killed_at_any_point_leaves_old_or_new_never_half(case_folder):
    r = random.Random(1)
    path = case_folder / "stalls.csv"
    old, seen = path.read_text(), []
    other = old.replace(",P,,", ",Q,changed,")
    assert other != old
    kinds = []
    for _ in range(60):
        # data to disk, then the backup's data, its rename, the rename; a finished child removes what it made
        digest = sha256(old.encode())
        status = killed_at(r.randint(1, 5), r.random() < 0.5, lambda t=other, d=digest: save_text(path, t, d))
        kinds.append(os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL)
        now = path.read_text()
        assert now in (old, other)
        seen.append(now == other)
        kept = sorted(case_folder.glob("stalls.csv.*.bak"))
        assert all(p.read_text() in (old, other) for p in kept)
        if now == other:
            assert kept[-1].read_text() == old
            old, other = other, old
    assert sum(kinds) > 45
    assert any(seen)
    assert not all(seen)
    assert len(open_study(case_folder).stalls.row) == 55
    save_text(path, old + "\n", sha256(old.encode()))
    assert not [
        n for n in names(case_folder) if n.startswith(".")
    ]  # the next save takes away what the killed ones left


@POSIX
@FORKS
def test_two_savers_at_once_lose_nothing(case_folder):
    """Both read the same card; one is saved and the other told, or they came after each other."""
    path = case_folder / "stalls.csv"
    for k in range(25):
        path.write_text("common\n")
        for old in case_folder.glob("*.bak"):
            old.unlink()
        go, start = os.pipe()

        def save(mine, go=go):
            os.read(go, 1)
            try:
                save_text(path, mine, sha256(b"common\n"))
            except CaseError:
                return 3

        children = [child(lambda m=m: save(m)) for m in (f"first {k}\n", f"second {k}\n")]
        os.write(start, b"xx")
        told = [os.waitstatus_to_exitcode(os.waitpid(c, 0)[1]) for c in children]
        os.close(go)
        os.close(start)
        assert sorted(told) == [0, 3]
        assert path.read_text() == (f"first {k}\n", f"second {k}\n")[told.index(0)]
        assert [p.read_text() for p in case_folder.glob("*.bak")] == ["common\n"]


def test_a_program_that_knows_no_lock_is_noticed(case_folder, monkeypatch):
    """A spreadsheet saves between our look and our exchange: its work stays."""
    path = case_folder / "stalls.csv"
    keep = saving._keep

    def meanwhile(*arguments):
        keep(*arguments)
        path.write_text("theirs\n")

    monkeypatch.setattr(saving, "_keep", meanwhile)
    with pytest.raises(CaseError, match="changed on disk"):
        save_text(path, "mine\n", sha256(path.read_bytes()))
    assert path.read_text() == "theirs\n"


@POSIX
def test_a_read_only_file_is_refused(case_folder):
    path = case_folder / "stalls.csv"
    path.chmod(0o444)
    refused(["`stalls.csv`", "read-only", "nothing was written"], path, "mine\n", sha256(path.read_bytes()))


@POSIX
def test_a_new_file_follows_the_umask(tmp_path):
    was = os.umask(0o077)
    try:
        save_text(tmp_path / "card.csv", "x\n", None)
        write_folder(tmp_path / "out", {"page.html": "x"})
    finally:
        os.umask(was)
    modes = [stat.S_IMODE(p.stat().st_mode) for p in (tmp_path / "card.csv", tmp_path / "out")]
    assert modes == [0o600, 0o700]
    assert stat.S_IMODE((tmp_path / "out" / "page.html").stat().st_mode) == 0o600


# --- a card read and written back ---------------------------------------------------------------------

EUROPEAN = (
    "\ufeffremarks;flight;modification;pilot;ias [kt];configuration;left_out;temperature [deg C];"
    "weight [kg];load_factor\r\n"
    'Böe; 11.5;before;;44,5;clean;;9;500;0,95\r\n"a;b ""quoted""";3,5;before;Jörg;<35;clean;;;510,5;\r\n'
    ";12.5;before;J. 2.5;45;clean;turbulence 1.5;-3,5;505;\r\n"
)  # fmt: skip
COMMA = (
    'remarks,ias [mph],configuration,modification,crew [lb],height_lost [ft],warning_ias [mph],pilot\n'
    '"two\nlines, and a comma",52,clean,before,180,,56,\n=1+1,52.5,clean,before,,150,,"3,5"\n,<40,clean,before,180,,,\n'
)  # fmt: skip
AIRCRAFT = b'format = 1\n[wing]\narea = "12 m2"\n[weights]\nempty = "400 kg"\nmaximum = "600 kg"\n'


def plain(text):
    """What is between separators, without the spaces beside it."""
    import csv

    separator = ";" if ";" in text.split("\n", 1)[0] else ","
    return [[c.strip() for c in r] for r in csv.reader(text.splitlines(keepends=True), delimiter=separator)]


@pytest.mark.parametrize("text", [EUROPEAN, COMMA, None], ids=["semicolons", "commas", "demonstration"])
def test_a_card_written_back_is_the_same_card(text):
    if text is None:
        text = (demo_folder() / "stalls.csv").read_text(encoding="utf-8")
    frame, dialect = read_table(text.encode(), "stalls.csv")
    written = write_table(frame, dialect)
    assert plain(written) == plain(text)
    assert written.startswith("\ufeff") == text.startswith("\ufeff")
    assert ("\r\n" in written) == ("\r\n" in text)
    again, _ = read_table(written.encode(), "stalls.csv")
    assert again.equals(frame)


def test_one_cell_edited_changes_one_cell():
    from aerolib.case.aircraft import parse_aircraft

    table = parse_stalls(EUROPEAN.encode(), parse_aircraft(AIRCRAFT))
    frame = table.frame.copy()
    frame.loc[2, "ias [kt]"] = "46.5"
    written = write_table(frame, table.dialect)
    before, after = plain(EUROPEAN), plain(written)
    different = [(i, j) for i, r in enumerate(before) for j, c in enumerate(r) if after[i][j] != c]
    assert different == [(1, 4)]
    assert after[1][4] == "46,5"
