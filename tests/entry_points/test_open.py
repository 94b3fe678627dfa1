"""`aerolib open`: nothing of a case is executed or written, whose case it is is said, and whatever ends it ends all."""

import importlib.metadata
import json
import os
import signal
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import psutil
import pytest
from waiting import PATIENCE

from aerolib.case.shipped import shipped
from aerolib.show import opening

CLONE = Path(__file__).resolve().parents[2]
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="signals are those of POSIX")
ODD = ("sitecustomize", "usercustomize", "ipython_config", "ipython_kernel_config", "jupyter_config",
       "jupyter_server_config", "jupyter_lab_config", "jupyter_notebook_config", "profile_default/startup/00-first",
       ".ipython/profile_default/startup/00-first", ".jupyter/jupyter_server_config", "reportlab_settings",
       "local_reportlab_settings")  # fmt: skip


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A home of its own, in this process and for those that it starts; PYTHONPATH leads to this tree alone."""
    monkeypatch.setenv("PYTHONPATH", str(CLONE))
    for name, folder in {"HOME": "home", "XDG_DOCUMENTS_DIR": "home/Documents", "JUPYTER_RUNTIME_DIR": "home/run",
                         "JUPYTER_CONFIG_DIR": "home/jupyter", "IPYTHONDIR": "home/ipython"}.items():  # fmt: skip
        (tmp_path / folder).mkdir(parents=True, exist_ok=True)
        monkeypatch.setenv(name, str(tmp_path / folder))
    return tmp_path / "home"


@pytest.fixture
def opened(home, tmp_path):
    """A function that runs `aerolib open` as its console script does, in a folder, and waits for the server."""
    script, started = tmp_path / "aerolib-script", []
    script.write_text("import sys\nfrom aerolib.__main__ import main\nsys.exit(main())\n")

    def start(case, cwd):
        log = tmp_path / "log.txt"
        with log.open("wb") as out:
            process = subprocess.Popen([sys.executable, str(script), "open", str(case), "--no-browser"], cwd=cwd,
                                       stdout=out, stderr=subprocess.STDOUT, start_new_session=True)  # fmt: skip
        started.append(process)
        end = time.monotonic() + PATIENCE
        while not (files := list((home / "run").glob("jpserver-*.json"))) or not _answers(about := _read(files[0])):
            assert process.poll() is None and time.monotonic() < end, log.read_text(errors="replace")
            time.sleep(0.05)
        return process, about, log

    yield start
    for process in started:
        if process.poll() is None:
            process.kill()
            process.wait()


def _read(file):
    try:
        return json.loads(file.read_text())
    except ValueError:  # being written
        return None


def _answers(about):
    try:
        with urllib.request.urlopen(f"{about['url']}api/status?token={about['token']}", timeout=PATIENCE):
            return True
    except (OSError, TypeError):
        return False


def kernel_of(about, notebook="00-start.ipynb"):
    """Start a kernel for a workbook as the browser does; a client that talks to it."""
    from jupyter_client import BlockingKernelClient

    body = {"path": notebook, "type": "notebook", "name": notebook, "kernel": {"name": "python3"}}
    request = urllib.request.Request(
        f"{about['url']}api/sessions?token={about['token']}", json.dumps(body).encode(), {"Content-Type": "text/json"}
    )
    with urllib.request.urlopen(request, timeout=PATIENCE) as reply:
        name = json.load(reply)["kernel"]["id"]
    client = BlockingKernelClient()
    client.load_connection_file(str(Path(os.environ["JUPYTER_RUNTIME_DIR"]) / f"kernel-{name}.json"))
    client.start_channels()
    client.wait_for_ready(timeout=PATIENCE)
    return client


def ran(client, code):
    """What a cell printed; it must not fail."""
    told = []
    reply = client.execute_interactive(
        code, timeout=PATIENCE, output_hook=lambda m: told.append(m["content"].get("text", ""))
    )
    assert reply["content"]["status"] == "ok", reply["content"]
    return "".join(told)


def wait_until_ended(processes):
    """Until none of them runs; one that nobody has buried counts as ended."""
    end = time.monotonic() + PATIENCE
    while [p for p in processes if p.is_running() and p.status() != psutil.STATUS_ZOMBIE]:
        assert time.monotonic() < end, processes
        time.sleep(0.05)


def set_traps(case, marks):
    """In the case and its `workbooks`, a file for every module that this installation could import."""
    marks.mkdir()
    modules = (
        sys.stdlib_module_names | set(importlib.metadata.packages_distributions()) | {"aerolib", "ipykernel_launcher"}
    )
    for folder in (case, case / "workbooks"):
        for name in (*(m for m in modules if m.isidentifier()), *ODD):
            trap = folder / f"{name}.py"
            trap.parent.mkdir(parents=True, exist_ok=True)
            trap.write_text(f"open({str(marks / trap.stem)!r}, 'w').close()\nraise SystemExit('{trap.stem}')\n")
    return len(modules)


@POSIX
def test_a_strangers_case_executes_nothing_and_a_killed_open_leaves_nothing(case_folder, tmp_path, opened, home):
    assert set_traps(case_folder, tmp_path / "marks") > 300
    theirs = case_folder / "workbooks" / "00-start.ipynb"
    theirs.write_text('{"cells": []}')
    (case_folder / "workbooks" / "01-clmax-from-stalls.ipynb").symlink_to(tmp_path / "written-through")
    before = {p: p.lstat().st_mtime_ns for p in case_folder.rglob("*")}
    process, about, log = opened(".", case_folder)
    target = Path(about["root_dir"])
    assert home / "Documents" in target.parents
    said = log.read_text(encoding="utf-8")
    assert str(case_folder) in said and "Sedge" in said and "invented" in said and str(target) in said
    assert (target / theirs.name).read_bytes() == (shipped("workbooks") / theirs.name).read_bytes()
    assert (target / opening.FROM_THE_CASE / theirs.name).read_bytes() == theirs.read_bytes()
    client = kernel_of(about)
    paths = json.loads(ran(client, "import json, os, sys; print(json.dumps([os.getcwd(), *sys.path]))"))
    assert not [p for p in paths if not p or Path(p).is_relative_to(case_folder)]
    cells = json.loads((target / "01-clmax-from-stalls.ipynb").read_text(encoding="utf-8"))["cells"]
    ran(client, "\n".join("".join(c["source"]) for c in cells if c["cell_type"] == "code"))
    assert ran(client, "from aerolib.study import opened_study; print(opened_study().folder)").strip() == str(
        case_folder
    )
    client.stop_channels()
    assert sorted(p.name for p in (tmp_path / "marks").iterdir()) == []
    assert {p: p.lstat().st_mtime_ns for p in case_folder.rglob("*")} == before
    assert not (tmp_path / "written-through").exists()
    family = psutil.Process(process.pid).children(recursive=True)
    assert len(family) >= 2
    process.kill()
    wait_until_ended(family)


@POSIX
def test_a_terminated_open_ends_a_server_whose_kernel_is_at_work(case_folder, tmp_path, opened):
    process, about, log = opened(case_folder, tmp_path)
    client = kernel_of(about)
    client.execute("print('at work', flush=True)\nwhile True: pass")
    while client.get_iopub_msg(timeout=PATIENCE)["msg_type"] != "stream":
        pass
    client.stop_channels()
    family = psutil.Process(process.pid).children(recursive=True)
    process.terminate()
    assert process.wait(PATIENCE) == 128 + signal.SIGTERM
    wait_until_ended(family)
    assert log.read_text(encoding="utf-8").rstrip().endswith("aerolib: stopped")
    for path in Path(about["root_dir"]).glob("*.ipynb"):
        json.loads(path.read_text(encoding="utf-8"))


SERVER = "import sys; print('up', flush=True); sys.stdin.read(); print('ended in order', flush=True)"
RUN = f"""
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's '&' would have it ignored
signal.signal(signal.SIGHUP, signal.SIG_DFL)  # so would `nohup`
from aerolib.__main__ import main
from aerolib.show import opening
opening.open_workbooks = lambda case, browser: opening._serve([sys.executable, "-c", {SERVER!r}], case, case)
sys.exit(main())
"""


@POSIX
@pytest.mark.parametrize("name, code", [("SIGINT", 130), ("SIGTERM", 143), ("SIGHUP", 129)])
def test_every_signal_lets_the_server_end_in_order(tmp_path, home, name, code):
    """The server here is a stand-in that says when its input ended."""
    script = tmp_path / "run.py"
    script.write_text(RUN)
    process = subprocess.Popen([sys.executable, str(script), "open", str(tmp_path)], stdout=subprocess.PIPE,
                               stderr=subprocess.STDOUT, text=True, start_new_session=True)  # fmt: skip
    assert process.stdout.readline() == "up\n"
    os.killpg(process.pid, getattr(signal, name))  # as a terminal does, to the group: the server is in another
    told = process.communicate(timeout=PATIENCE)[0]
    assert process.returncode == code
    assert told.splitlines() == ["ended in order", "aerolib: stopped"]


@POSIX
@pytest.mark.parametrize("module", ["argparse", "numpy", "numpy._core._multiarray_umath", "pydantic_core"])
def test_ctrl_c_while_libraries_load_says_stopped(case_folder, tmp_path, home, module):
    """The signal comes when a module is asked for, the first of them before the command line is read."""
    (tmp_path / "run.py").write_text(
        "import os, signal, sys\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "class Look:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        f"        if name == {module!r}: os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.modules.pop('argparse', None)\n"
        "sys.meta_path.insert(0, Look())\n"
        "from aerolib.__main__ import main\nsys.exit(main())\n"
    )
    done = subprocess.run([sys.executable, str(tmp_path / "run.py"), "open", str(case_folder)], capture_output=True,
                          text=True, timeout=PATIENCE, cwd=tmp_path)  # fmt: skip
    assert (done.returncode, done.stderr.strip(), done.stdout) == (130, "aerolib: stopped", "")


# --- copying -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("mark", [b"\xff\xfe\x00\n", b"one-word\n\n \n", b"a b c\nd" * 9, b""])
def test_a_damaged_mark_stops_nothing_and_edits_are_kept(tmp_path, mark):
    opening.copy_workbooks(tmp_path)
    edited = tmp_path / "00-start.ipynb"
    edited.write_text("mine")
    (tmp_path / opening.MARK).write_bytes(mark)
    assert opening.copy_workbooks(tmp_path)[1] == [edited]
    assert edited.read_text() == "mine"


def test_a_mark_that_cannot_be_read_stops_nothing(tmp_path):
    (tmp_path / opening.MARK).mkdir()
    with pytest.raises(OSError):
        (tmp_path / opening.MARK).read_bytes()
    assert opening._known(tmp_path) == {}


@pytest.mark.parametrize("share", [0.0, 0.5, 0.99])
def test_a_copy_that_was_cut_short_is_nobodys_edit(tmp_path, share):
    source = next(iter(shipped("workbooks").glob("*.ipynb")))
    place = tmp_path / source.name
    place.write_bytes(source.read_bytes()[: int(share * source.stat().st_size)])
    assert opening.copy_workbooks(tmp_path)[1] == []
    assert place.read_bytes() == source.read_bytes()


def test_an_untouched_workbook_of_an_earlier_version_is_replaced(tmp_path):
    opening.copy_workbooks(tmp_path)
    place = tmp_path / "00-start.ipynb"
    place.write_text("earlier")
    known = {**opening._known(tmp_path), place.name: opening._digest(place)}
    (tmp_path / opening.MARK).write_text("".join(f"{d} {n}\n" for n, d in known.items()))
    assert opening.copy_workbooks(tmp_path)[1] == []
    assert place.read_bytes() == (shipped("workbooks") / place.name).read_bytes()


@POSIX
def test_copies_are_whole_have_the_users_permissions_and_go_through_no_link(tmp_path, monkeypatch):
    target = tmp_path / "books"
    target.mkdir()
    (target / "00-start.ipynb").symlink_to(tmp_path / "outside")
    old = os.umask(0o077)
    try:
        opening.copy_workbooks(target)
    finally:
        os.umask(old)
    assert not (tmp_path / "outside").exists()
    assert {p.stat().st_mode & 0o777 for p in target.iterdir()} == {0o600}

    def full(self, data):
        self.touch()
        raise OSError(28, "No space left on device")

    fresh = tmp_path / "fresh"
    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OSError):
        opening.copy_workbooks(fresh)
    assert list(fresh.iterdir()) == []


def test_the_cases_own_workbooks(case_folder, tmp_path):
    books = case_folder / "workbooks"
    opening.copy_workbooks(books)  # as an earlier version did
    assert opening.workbooks_of_case(case_folder) == []
    (books / "03-before-and-after.ipynb").write_text("mine")
    (books / "notes.ipynb").write_text("mine too")
    (books / "folder.ipynb").mkdir()
    (books / "code.py").write_text("raise SystemExit")
    if os.name == "posix":
        (tmp_path / "secret").write_text("secret")
        (books / "out.ipynb").symlink_to(tmp_path / "secret")
        os.mkfifo(books / "waits.ipynb")
    assert [p.name for p in opening.workbooks_of_case(case_folder)] == ["03-before-and-after.ipynb", "notes.ipynb"]


def test_two_cases_of_one_name_have_two_folders(tmp_path, home):
    places = {opening.workbook_folder(tmp_path / a / "my case; $(x)") for a in "ab"}
    assert len(places) == 2
    assert all(p.parent == home / "Documents" / "aerolib" for p in places)


def test_a_read_only_case_says_what_to_do(case_folder, home, monkeypatch, capsys):
    monkeypatch.setattr(os, "access", lambda path, mode: not (mode & os.W_OK and Path(path) == case_folder))
    monkeypatch.setattr(opening, "_serve", lambda command, target, case: 0)
    assert opening.open_workbooks(case_folder) == 0
    told = capsys.readouterr().err
    assert "read-only" in told and "save as" in told
