"""`aerolib open`: the workbooks with an owner's numbers, in JupyterLab on this machine only.

Nothing in a case is executed: the workbooks run in a folder of the user's, never in that of the case, and server and
kernels import nothing from the folder they stand in.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import signal
import subprocess
import sys
import threading
from pathlib import Path

from aerolib.case.folder import Case, read_case
from aerolib.case.inside import inside
from aerolib.case.problems import CaseError
from aerolib.case.shipped import demo_folder, is_shipped, shipped
from aerolib.show.media import say

MARK = ".shipped"  # holds the digests of the workbooks as shipped, to tell an edited one
FROM_THE_CASE = "from-the-case"
MOST_BYTES = 20_000_000  # of a workbook that came with a case
ENDS_WITHIN = 30.0  # seconds the server has to end its kernels before it is killed; the kernels then end by themselves


def workbook_folder(case: Path | None) -> Path:
    """Where the workbooks of a case run: a folder of the user's, of its own for each case."""
    import platformdirs

    documents = Path(platformdirs.user_documents_dir())
    if case is None or is_shipped(case):
        return documents / "aerolib-demo" / "workbooks"
    place = Path(case).resolve()
    name = re.sub(r"[^\w-]+", "-", place.name)[:40]
    return documents / "aerolib" / f"{name}-{hashlib.sha256(os.fsencode(place)).hexdigest()[:8]}"


def copy_workbooks(target: Path, sources: list[Path] | None = None) -> tuple[list[Path], list[Path]]:
    """Copy workbooks, the shipped ones by default, to `target`; returns (copied, kept because they were edited)."""
    target.mkdir(parents=True, exist_ok=True)
    known, copied, kept = _known(target), [], []
    for source in sorted(shipped("workbooks").glob("*.ipynb")) if sources is None else sources:
        place = target / source.name
        fresh = _digest(source)
        if place.exists() and _digest(place) not in (known.get(source.name), fresh) and not _half(place, source):
            kept.append(place)
            continue
        _put(place, source.read_bytes())
        known[source.name] = fresh
        copied.append(place)
    lines = "".join(f"{digest} {name}\n" for name, digest in sorted(known.items()))
    _put(target / MARK, lines.encode())
    return copied, kept


def _known(folder: Path) -> dict[str, str]:
    """Digest of each workbook as it was copied; of a damaged file what can be read."""
    with contextlib.suppress(OSError):
        lines = (folder / MARK).read_text(encoding="utf-8", errors="replace").splitlines()
        return dict(line.split(" ", 1)[::-1] for line in lines if " " in line)
    return {}


def _half(place: Path, source: Path) -> bool:
    """Whether a file is the beginning of `source`: a copy that was cut short is nobody's edit."""
    return source.read_bytes().startswith(place.read_bytes())


def _put(place: Path, data: bytes) -> None:
    """Written beside and renamed, so that a file is whole or absent; through no link."""
    beside = place.with_name(f".{place.name}.{os.getpid()}")
    try:
        beside.write_bytes(data)
        os.replace(beside, place)
    finally:
        beside.unlink(missing_ok=True)


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def workbooks_of_case(case: Path) -> list[Path]:
    """The workbooks in CASE/workbooks that are not as shipped: somebody's code, the owner's own or a stranger's."""
    folder, found = Path(case) / "workbooks", []
    known = {_digest(path) for path in shipped("workbooks").glob("*.ipynb")} | set(_known(folder).values())
    for path in sorted(folder.glob("*.ipynb")):
        with contextlib.suppress(CaseError, OSError):
            path = inside(case, f"workbooks/{path.name}")
            if path.is_file() and path.stat().st_size <= MOST_BYTES and _digest(path) not in known:
                found.append(path)
    return found


def open_workbooks(case: Path | None, browser: bool = True) -> int:
    """Copy the workbooks and run JupyterLab there until it is ended; returns its exit status."""
    folder = demo_folder() if case is None else Path(case)
    # A broken case is explained here, not in a traceback inside the browser.
    read = read_case(folder, before_flying=True)
    target = workbook_folder(case)
    theirs = [] if is_shipped(folder) else workbooks_of_case(folder)
    try:
        _, kept = copy_workbooks(target)
        if theirs:
            copy_workbooks(target / FROM_THE_CASE, theirs)
    except OSError as e:
        raise CaseError(
            f"the workbooks could not be written to {target}: {e.strerror}; set XDG_DOCUMENTS_DIR to a folder of yours"
        ) from None
    _say_whose(read, theirs)
    for path in kept:
        say(f"kept your edited {path.name}; delete it to get the shipped one again", sys.stderr)
    say(f"Workbooks in {target}. Ctrl-C here ends JupyterLab.", sys.stderr)
    command = [sys.executable, "-P", "-m", "aerolib.show.serving", "--ServerApp.ip=127.0.0.1",
               f"--ServerApp.root_dir={target}", "--LabApp.default_url=/lab/tree/00-start.ipynb"]  # fmt: skip
    if not browser:
        command.append("--no-browser")
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        say("running as root: JupyterLab is told to allow it; an ordinary user is the usual way", sys.stderr)
        command.append("--allow-root")
    return _serve(command, target, folder.resolve())


def _say_whose(case: Case, theirs: list[Path]) -> None:
    """Whose numbers these are, and what of the case is not trusted or cannot be done."""
    folder = case.folder.resolve()
    invented = " (invented: no such airplane exists)" if case.aircraft.invented else ""
    say(f"Case: {case.name}{invented}, in {folder}", sys.stderr)
    if not is_shipped(folder) and not os.access(folder, os.W_OK):
        say("This case is read-only: the workbooks run, and nothing can be saved into it. Use 'save as' in workbook "
            "01, or copy the folder to one of yours and open that.", sys.stderr)  # fmt: skip
    if theirs:
        names = ", ".join(path.name for path in theirs[:6]) + (", ..." if len(theirs) > 6 else "")
        say(f"The case came with workbooks that are not as shipped ({names}). They are code: copies are in the folder "
            f"{FROM_THE_CASE}. Run them only if you know who wrote them.", sys.stderr)  # fmt: skip


def _serve(command: list[str], target: Path, case: Path) -> int:
    """Run the server until it ends, or until a signal comes: then server and kernels end first."""
    ours = str(Path(__file__).parent / "jupyter")  # the browser saves an edited workbook every few seconds
    paths = os.pathsep.join(p for p in (os.environ.get("JUPYTER_CONFIG_PATH"), ours) if p)
    environment = {**os.environ, "AEROLIB_CASE": str(case), "PYTHONSAFEPATH": "1", "JUPYTER_CONFIG_PATH": paths}
    server, came = None, []

    def end(number=None, frame=None):
        if number is not None:
            came.append(number)
        if server is not None and not server.stdin.closed:
            server.stdin.close()  # the server ends with its input
            late = threading.Timer(ENDS_WITHIN, server.kill)
            late.daemon = True
            late.start()

    names = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {name: signal.getsignal(name) for name in names}
    heeded = [name for name in names if before[name] != signal.SIG_IGN]  # `nohup` and a script's '&' ignore some
    try:
        for name in heeded:
            signal.signal(name, end)
        # In a process group of its own: Ctrl-C in the terminal is for this process, which ends the server in order.
        server = subprocess.Popen(
            command, env=environment, cwd=target, stdin=subprocess.PIPE, start_new_session=True,
            creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
        )  # fmt: skip
        if came:
            end()
        status = server.wait()
    finally:
        end()
        for name in heeded:
            signal.signal(name, before[name])
    if came and came[0] == signal.SIGINT:
        raise KeyboardInterrupt
    if came:
        say("aerolib: stopped", sys.stderr)
        return 128 + came[0]
    return status
