"""The wheel, installed in a new environment elsewhere: `report`, `new` and `open` run from there, not from here."""

from __future__ import annotations

import hashlib
import os
import re
import signal
import subprocess
import sys
import sysconfig
import time
import urllib.error
import urllib.request
import venv
import zipfile
from pathlib import Path

import pytest
from waiting import PATIENCE

CLONE = Path(__file__).resolve().parents[2]
WINDOWS = sys.platform == "win32"


def run(command, cwd, environment=None, timeout=PATIENCE):
    """Run to the end; the text of both streams in the failure."""
    done = subprocess.run([str(c) for c in command], cwd=cwd, text=True, capture_output=True, timeout=timeout,
                          env=environment, encoding="utf-8")  # fmt: skip
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done


def clean_environment(home):
    """Environment of a user who has no clone: a home of its own, and nothing that points to this tree."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "AEROLIB", "JUPYTER", "XDG", "VIRTUAL"))}
    folders = {"HOME": home, "USERPROFILE": home, "APPDATA": home / "appdata", "LOCALAPPDATA": home / "local"}
    folders |= {f"XDG_{n}_HOME": home / n.lower() for n in ("CONFIG", "DATA", "CACHE", "STATE")}
    folders |= {"XDG_DOCUMENTS_DIR": home / "Documents", "XDG_RUNTIME_DIR": home / "run", "MPLCONFIGDIR": home / "mpl"}
    folders["JUPYTER_CONFIG_DIR"] = home / "jupyter"
    for folder in folders.values():
        folder.mkdir(parents=True, exist_ok=True)
    # Containers run tests as root, which the server refuses unless told.
    (home / "jupyter" / "jupyter_server_config.json").write_text('{"ServerApp": {"allow_root": true}}')
    return {**kept, **{k: str(v) for k, v in folders.items()}, "PYTHONIOENCODING": "utf-8"}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The wheel of this tree, built without the network."""
    out = tmp_path_factory.mktemp("wheel")
    run([sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation", "--no-index",
         "--disable-pip-version-check", "-w", out, CLONE], cwd=out)  # fmt: skip
    (found,) = out.glob("aerolib-*.whl")
    return found


class Installed:
    """A new environment with the wheel in it; dependencies resolve to those of the running interpreter."""

    def __init__(self, base, wheel):
        self.cwd, self.home = base / "elsewhere", base / "home"
        self.cwd.mkdir()
        self.environment = clean_environment(self.home)
        prefix = base / "env"
        venv.create(prefix, with_pip=False, symlinks=not WINDOWS)
        self.bin = prefix / ("Scripts" if WINDOWS else "bin")
        self.python = self.bin / ("python.exe" if WINDOWS else "python")
        self.site = Path(run([self.python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
                             self.cwd, self.environment).stdout.strip())  # fmt: skip
        run([sys.executable, "-m", "pip", "--python", self.python, "install", "--no-deps", "--no-index",
             "--disable-pip-version-check", wheel], self.cwd, self.environment)  # fmt: skip
        here = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
        (self.site / "dependencies.pth").write_text("\n".join(sorted(here)) + "\n")

    def command(self, *arguments):
        """The console script of the new environment."""
        return [str(self.bin / ("aerolib.exe" if WINDOWS else "aerolib")), *map(str, arguments)]

    def ask(self, code):
        """What a line of Python prints there."""
        return run([self.python, "-c", code], self.cwd, self.environment).stdout.strip()

    def digest(self):
        """One digest of the installed package, compiled files aside."""
        files = sorted(p for p in (self.site / "aerolib").rglob("*") if p.is_file() and p.suffix != ".pyc")
        return hashlib.sha256(b"".join(str(p).encode() + p.read_bytes() for p in files)).hexdigest()


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    """The wheel installed elsewhere."""
    return Installed(tmp_path_factory.mktemp("installed"), wheel)


def test_the_wheel_holds_what_travels_and_nothing_else(wheel):
    names = zipfile.ZipFile(wheel).namelist()
    assert "aerolib/_shipped/data/demo/stalls.csv" in names
    assert "aerolib/_shipped/data/demo/aircraft.toml" in names
    assert "aerolib/show/report.html.jinja" in names
    notebooks = {n for n in names if n.endswith(".ipynb")}
    expected = {f"aerolib/_shipped/workbooks/{p.name}" for p in (CLONE / "workbooks").glob("*.ipynb")}
    assert expected
    assert notebooks == expected
    strays = [n for n in names if n.startswith("tests/") or "__pycache__" in n or "checkpoints" in n or "report-" in n]
    assert strays == []
    assert {n.split("/", 1)[0] for n in names if ".dist-info/" not in n} == {"aerolib"}


def test_it_is_the_installed_one_that_is_tested(installed):
    place = Path(installed.ask("import aerolib; print(aerolib.__file__)"))
    assert place == installed.site / "aerolib" / "__init__.py"
    demo = Path(installed.ask("from aerolib.case.shipped import demo_folder; print(demo_folder())"))
    assert demo == installed.site / "aerolib" / "_shipped" / "data" / "demo"
    assert CLONE not in demo.parents


def test_report(installed):
    demo = installed.ask("from aerolib.case.shipped import demo_folder; print(demo_folder())")
    before = installed.digest()
    done = run(installed.command("report", demo), installed.cwd, installed.environment)
    assert "CLmax" in done.stdout
    assert done.stderr == ""
    folder = installed.cwd / "report-demo"
    assert {"reduced-stalls.csv", "report.html", "report.json"} <= {p.name for p in folder.iterdir()}
    assert "Sedge" in (folder / "report.html").read_text(encoding="utf-8")
    assert installed.digest() == before
    clone = run([sys.executable, "-m", "aerolib", "report", CLONE / "data" / "demo", "--out", installed.cwd / "clone"],
                CLONE, {**installed.environment, "PYTHONPATH": str(CLONE)})  # fmt: skip
    assert "CLmax" in clone.stdout
    one, other = ((p / "report.json").read_bytes() for p in (folder, installed.cwd / "clone"))
    assert one == other


def test_new(installed):
    before = installed.digest()
    done = run(installed.command("new", "mine"), installed.cwd, installed.environment)
    made = installed.cwd / "mine"
    assert {"aircraft.toml", "stalls.csv", "README.md", "measuring-sheet.pdf"} <= {p.name for p in made.iterdir()}
    assert (made / "measuring-sheet.pdf").read_bytes().startswith(b"%PDF")
    assert "aerolib report mine" in done.stdout
    again = subprocess.run(installed.command("new", "mine"), cwd=installed.cwd, env=installed.environment, text=True,
                           capture_output=True, timeout=PATIENCE)  # fmt: skip
    assert again.returncode == 2
    assert "Traceback" not in again.stderr
    empty = subprocess.run(installed.command("report", "mine"), cwd=installed.cwd, env=installed.environment, text=True,
                           capture_output=True, timeout=PATIENCE)  # fmt: skip
    assert empty.returncode == 0  # what needs no stall is there before the first one
    assert "No stall is on the card yet" in empty.stdout
    assert installed.digest() == before


def test_report_refuses_to_write_into_the_installation(installed):
    demo = Path(installed.ask("from aerolib.case.shipped import demo_folder; print(demo_folder())"))
    before = installed.digest()
    done = subprocess.run(installed.command("report", demo, "--out", demo.parent / "report"), cwd=installed.cwd,
                          env=installed.environment, text=True, capture_output=True, timeout=PATIENCE)  # fmt: skip
    assert done.returncode == 2
    assert "--out" in done.stderr
    assert installed.digest() == before


def wait_for_address(log, process, seconds=PATIENCE):
    """The address JupyterLab prints, token included."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        text = log.read_text(encoding="utf-8", errors="replace")
        found = re.search(r"(http://[^\s/]+:\d+/lab[^\s?]*)\?token=(\w+)", text)
        if found:
            return found[1], found[2], text
        assert process.poll() is None, text
        time.sleep(0.2)
    raise AssertionError(f"no address within {seconds:.0f} s\n{log.read_text(errors='replace')}")


def stop(process):
    """End the server by its handle: as Ctrl-C would, then for good."""
    if process.poll() is None:
        if WINDOWS:
            process.terminate()
        else:
            os.killpg(process.pid, signal.SIGTERM)  # its own session: only what was started here
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            if not WINDOWS:
                os.killpg(process.pid, signal.SIGKILL)
            process.kill()
            process.wait(10)


def answer(url):
    """Status of a request, redirects followed."""
    try:
        with urllib.request.urlopen(url, timeout=PATIENCE) as reply:
            return reply.status
    except urllib.error.HTTPError as e:
        e.close()
        return e.code


@pytest.mark.parametrize("which", ["demonstration", "own case"])
def test_open(which, installed, tmp_path):
    before = installed.digest()
    arguments = ["open", "--no-browser"]
    if which == "own case":
        case = installed.cwd / "own"
        case.mkdir(exist_ok=True)
        for name in ("aircraft.toml", "stalls.csv"):
            (case / name).write_bytes((CLONE / "data" / "demo" / name).read_bytes())
        arguments.append("own")
    log = tmp_path / "log.txt"
    with log.open("wb") as out:
        process = subprocess.Popen(installed.command(*arguments), cwd=installed.cwd, env=installed.environment,
                                   stdout=out, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL,
                                   start_new_session=not WINDOWS)  # fmt: skip
        try:
            url, token, text = wait_for_address(log, process)
            host, port = re.fullmatch(r"http://([^:/]+):(\d+)/.*", url).groups()
            assert host in ("127.0.0.1", "localhost")
            assert len(token) >= 32
            assert "0.0.0.0" not in text
            base = f"http://127.0.0.1:{port}"
            assert answer(f"{base}/api/contents?token={token}") == 200
            assert answer(f"{base}/api/contents") == 403
            shown = {p.name for p in (CLONE / "workbooks").glob("*.ipynb")}
            with urllib.request.urlopen(f"{base}/api/contents?token={token}", timeout=PATIENCE) as reply:
                listed = reply.read().decode()
            assert all(name in listed for name in shown)
        finally:
            stop(process)
    target = re.search(r"Workbooks in (.+?)\. Ctrl-C", log.read_text(encoding="utf-8"))[1]
    assert installed.home.resolve() in Path(target).resolve().parents
    if which == "own case":
        assert {p.name for p in (installed.cwd / "own").iterdir()} == {"aircraft.toml", "stalls.csv"}
    assert {p.name for p in Path(target).glob("*.ipynb")} == shown
    assert installed.digest() == before
