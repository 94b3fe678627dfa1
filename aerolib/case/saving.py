"""Writing to an owner's disk: only when asked, whole or not at all, never over somebody else's change."""

from __future__ import annotations

import contextlib
import ctypes
import hashlib
import os
import re
import secrets
import shutil
import sys
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

from aerolib.case.problems import CaseError
from aerolib.case.shipped import is_shipped

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

BACKUPS = 10  # earlier files kept
LOCKED_FOR = 10.0  # a save takes a few hundredths of this [s]
SAVING = ".saving"  # how the name of a file that is being put together ends


def sha256(data: bytes) -> str:
    """Hex digest of bytes."""
    return hashlib.sha256(data).hexdigest()


def save_text(path: Path, text: str | bytes, read_sha256: str | None) -> str:
    """Replace a file by `text`; returns the new digest.

    The old content is kept beside it as NAME.001.bak, .002.bak and so on, the last ten of them. Refused when the file
    changed since it was read (`read_sha256` is the digest of what was read; None for a file that must not exist yet),
    when it is marked read-only, and for the shipped demonstration.
    """
    path = Path(path).resolve()  # through a link: what it points to is written, and the link stays
    if is_shipped(path.parent):
        raise CaseError(
            f"`{path.name}` belongs to the demonstration, which is read-only; use 'save as' with a folder of your own"
        )
    data = text.encode("utf-8") if isinstance(text, str) else text
    with _alone_in(path.parent):
        old = _as_it_was_read(path, read_sha256)
        if old == data:
            return sha256(data)
        if old is not None:
            _refuse_read_only(path)
        beside = _beside(path)
        try:
            _write(beside, data, like=path)
            if old is not None:
                _keep(path, old)
            _as_it_was_read(path, read_sha256)  # once more: other programs do not wait for our lock
            os.replace(beside, path)
        finally:
            beside.unlink(missing_ok=True)
    return sha256(data)


def write_folder(folder: Path, files: dict[str, str | bytes | Path], own: Iterable[str] = ()) -> list[str]:
    """Make a folder of these files, put together beside it and exchanged with what was there in one step.

    `files` holds contents, or paths to copy, by name; `own` names what an earlier run wrote into the folder, and goes.
    All else in the folder stays as it is; its names are returned. A file of another's is never replaced.
    """
    folder = Path(folder).resolve()
    if is_shipped(folder):
        raise CaseError(f"{folder} belongs to the installation, which is read-only; name a folder of your own")
    folder.parent.mkdir(parents=True, exist_ok=True)
    with _alone_in(folder.parent):
        parked = folder.with_name(f".{folder.name[:50]}.before")
        if parked.exists() and not folder.exists():
            parked.rename(folder)  # a system that swaps in two steps was stopped between them
        beside = _beside(folder)
        try:
            beside.mkdir()
            for name, content in files.items():
                (beside / name).parent.mkdir(parents=True, exist_ok=True)
                _write(beside / name, content)
            if not folder.exists():
                beside.rename(folder)
                return []
            _refuse_read_only(folder)
            foreign = sorted(set(os.listdir(folder)) - set(own))
            if taken := [name for name in foreign if (beside / name).exists()]:
                raise CaseError(
                    f"{folder} holds `{taken[0]}`, which this program did not write; nothing was written. Name another "
                    "folder, or move that file away"
                )
            for name in foreign:
                _carry(folder / name, beside / name)
            shutil.copymode(folder, beside)
            _exchange(beside, folder, parked)
            for late in set(os.listdir(beside)) - set(own) - set(foreign):
                (beside / late).rename(folder / late)  # it came between the look and the exchange
            return foreign
        finally:
            shutil.rmtree(beside, ignore_errors=True)


@contextlib.contextmanager
def _alone_in(folder: Path) -> Iterator[None]:
    """One writer at a time in a folder. The lock leaves no file, and ends with its process, whatever ends that."""
    until = time.monotonic() + LOCKED_FOR
    while True:
        try:
            handle = _lock(folder)
            break
        except (BlockingIOError, FileExistsError):
            if time.monotonic() > until:
                raise CaseError(
                    f"another program is saving in {folder}; nothing was written. Try again in a moment"
                ) from None
            time.sleep(0.005)
    try:
        yield
    finally:
        os.close(handle)


def _lock(folder: Path) -> int:
    if fcntl is None:  # the flag takes the file away with its last handle
        return os.open(folder / ".aerolib.lock", os.O_CREAT | os.O_EXCL | os.O_TEMPORARY)
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(handle)
        raise
    except OSError:
        pass  # a file system without locks: the second look at the file is what remains
    return handle


def _as_it_was_read(path: Path, read_sha256: str | None) -> bytes | None:
    """The bytes of a file, None where there is none; CaseError where that is not what was read."""
    old = path.read_bytes() if path.exists() else None
    if old is not None and read_sha256 is None:
        raise CaseError(f"`{path.name}` exists already in {path.parent}; nothing was written. Choose another folder")
    if old is None and read_sha256 is not None:
        raise CaseError(
            f"`{path.name}` is gone from {path.parent} since it was read; nothing was written. "
            "Use 'save as' with another folder"
        )
    if old is not None and sha256(old) != read_sha256:
        raise CaseError(
            f"`{path.name}` changed on disk since it was read; nothing was written. Reload it, or use "
            "'save as' with another folder"
        )
    return old


def _refuse_read_only(path: Path) -> None:
    if not (path.stat().st_mode & 0o222 and os.access(path, os.W_OK)):  # root may write to anything: the mark counts
        raise CaseError(
            f"`{path.name}` in {path.parent} is marked read-only; nothing was written. Allow writing to it, or name "
            "another folder"
        )


def _beside(path: Path) -> Path:
    """A new name beside a file or folder to put it together under; what a killed run left there is taken away."""
    stem = f".{path.name[:50]}."
    for left in path.parent.iterdir():
        if left.name.startswith(stem) and re.fullmatch(r"[0-9a-f]{8}" + re.escape(SAVING), left.name[len(stem) :]):
            shutil.rmtree(left, ignore_errors=True) if left.is_dir() else left.unlink()
    return path.with_name(f"{stem}{secrets.token_hex(4)}{SAVING}")


def _write(path: Path, content: str | bytes | Path, like: Path | None = None) -> None:
    """Write a new file and force it to disk, with the permissions and owner of `like` where that exists."""
    with path.open("xb") as file:
        if isinstance(content, Path):
            with content.open("rb") as source:
                shutil.copyfileobj(source, file)
        else:
            file.write(content.encode("utf-8") if isinstance(content, str) else content)
        file.flush()
        os.fsync(file.fileno())
    if like is not None and like.exists():
        was = like.stat()
        if hasattr(os, "chown") and (was.st_uid, was.st_gid) != (path.stat().st_uid, path.stat().st_gid):
            with contextlib.suppress(OSError):  # only root may give a file away
                os.chown(path, was.st_uid, was.st_gid)
        os.chmod(path, was.st_mode & 0o777)


def _keep(path: Path, old: bytes) -> None:
    """Put the old content beside a file as its next numbered backup, and let the eldest beyond ten go."""
    numbered = re.compile(re.escape(path.name) + r"\.(\d{3,})\.bak")
    kept = sorted((int(m[1]), p) for p in path.parent.iterdir() if (m := numbered.fullmatch(p.name)))
    if kept and kept[-1][1].read_bytes() == old:
        return  # a save that was stopped half-way had kept it already
    number = kept[-1][0] + 1 if kept else 1
    backup = path.with_name(f"{path.name}.{number:03d}.bak")
    beside = _beside(backup)
    try:
        _write(beside, old, like=path)
        os.replace(beside, backup)
    finally:
        beside.unlink(missing_ok=True)
    for _, eldest in kept[: max(0, len(kept) + 1 - BACKUPS)]:
        eldest.unlink()


def _carry(source: str | Path, target: str | Path) -> None:
    """The same file or folder under a second name; a copy where the disk knows no second names."""
    if os.path.isdir(source) and not os.path.islink(source):
        shutil.copytree(source, target, symlinks=True, copy_function=_carry)
        return
    try:
        os.link(source, target, follow_symlinks=False)
    except (OSError, NotImplementedError):
        shutil.copy2(source, target, follow_symlinks=False)


def _exchange(new: Path, old: Path, parked: Path) -> None:
    """Swap two folders: in one step on Linux and macOS, elsewhere in two, `parked` holding the old one between."""
    names = os.fsencode(new), os.fsencode(old)
    with contextlib.suppress(OSError, AttributeError, TypeError):  # no such call here
        system = ctypes.CDLL(None)
        if sys.platform == "darwin":
            done = system.renamex_np(*names, 2)  # RENAME_SWAP
        else:
            done = system.renameat2(-100, names[0], -100, names[1], 2)  # AT_FDCWD, RENAME_EXCHANGE
        if done == 0:
            return
    old.rename(parked)
    try:
        new.rename(old)
    except BaseException:
        parked.rename(old)
        raise
    parked.rename(new)
