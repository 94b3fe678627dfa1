"""`aerolib open`: the workbooks beside the owner's case, in JupyterLab on this machine only."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

from aerolib.case.folder import read_case
from aerolib.case.problems import CaseError
from aerolib.case.shipped import demo_folder, is_shipped, shipped

MARK = ".shipped"  # holds the digests of the workbooks as shipped, to tell an edited one


def workbook_folder(case: Path | None) -> Path:
    """Where the workbooks of a case live: CASE/workbooks; for the demonstration a folder of the user's."""
    if case is None or is_shipped(case):
        import platformdirs

        return Path(platformdirs.user_documents_dir()) / "aerolib-demo" / "workbooks"
    return Path(case).resolve() / "workbooks"


def copy_workbooks(target: Path) -> tuple[list[Path], list[Path]]:
    """Copy the shipped workbooks to `target`; returns (copied, kept because they were edited)."""
    target.mkdir(parents=True, exist_ok=True)
    mark = target / MARK
    known = dict(line.split(" ", 1)[::-1] for line in mark.read_text().splitlines()) if mark.exists() else {}
    copied, kept = [], []
    for source in sorted(shipped("workbooks").glob("*.ipynb")):
        place = target / source.name
        fresh = _digest(source)
        if place.exists() and _digest(place) not in (known.get(source.name), fresh):
            kept.append(place)
            continue
        shutil.copyfile(source, place)
        known[source.name] = fresh
        copied.append(place)
    mark.write_text("".join(f"{digest} {name}\n" for name, digest in sorted(known.items())))
    return copied, kept


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def open_workbooks(case: Path | None, browser: bool = True) -> int:
    """Copy the workbooks and run JupyterLab there until it is ended; returns its exit status."""
    folder = demo_folder() if case is None else Path(case)
    read_case(folder, before_flying=True)  # a broken case is explained here, not in a traceback inside the browser
    target = workbook_folder(case)
    try:
        _, kept = copy_workbooks(target)
    except OSError as e:
        raise CaseError(f"the workbooks could not be written to {target}: {e.strerror}") from None
    for path in kept:
        print(f"kept your edited {path.name}; delete it to get the shipped one again", file=sys.stderr)
    print(f"Workbooks in {target}. Ctrl-C here ends JupyterLab.", file=sys.stderr)
    command = [sys.executable, "-m", "jupyterlab", "--ServerApp.ip=127.0.0.1", f"--ServerApp.root_dir={target}",
               "--LabApp.default_url=/lab/tree/00-start.ipynb"]  # fmt: skip
    if not browser:
        command.append("--no-browser")
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        print("running as root: JupyterLab is told to allow it; an ordinary user is the usual way", file=sys.stderr)
        command.append("--allow-root")
    environment = {**os.environ, "AEROLIB_CASE": str(folder.resolve())}
    try:
        return subprocess.run(command, env=environment, cwd=target, check=False).returncode
    except KeyboardInterrupt:
        return 0
