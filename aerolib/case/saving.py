"""Writing to an owner's files: only when asked, atomically, with a backup, never over somebody else's change."""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path

from aerolib.case.problems import CaseError
from aerolib.case.shipped import is_shipped


def sha256(data: bytes) -> str:
    """Hex digest of bytes."""
    return hashlib.sha256(data).hexdigest()


def save_text(path: Path, text: str | bytes, read_sha256: str | None) -> str:
    """Replace a file by `text`; returns the new digest.

    The old content is kept beside it as NAME.bak. Refused when the file changed since it was read
    (`read_sha256` is the digest of what was read; None for a file that must not exist yet) and for
    the shipped demonstration.
    """
    path = Path(path).resolve()  # through a link: what it points to is written, and the link stays
    if is_shipped(path.parent):
        raise CaseError(
            f"`{path.name}` belongs to the demonstration, which is read-only; use 'save as' with a folder of your own"
        )
    data = text.encode("utf-8") if isinstance(text, str) else text
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
    if old is not None:
        _replace(path.with_name(path.name + ".bak"), old, like=path)
    _replace(path, data)
    return sha256(data)


def write_new(path: Path, text: str | bytes) -> None:
    """Write a file of the library's own (a report): atomically, replacing an earlier one."""
    if is_shipped(path.parent):
        raise CaseError(f"{path.parent} belongs to the installation; name another folder with --out")
    _replace(path, text.encode("utf-8") if isinstance(text, str) else text)


def _replace(path: Path, data: bytes, like: Path | None = None) -> None:
    """Write beside the target, force to disk, then rename: a reader finds the old file or the new one.

    Permissions are those of `like`, without it those of the file replaced.
    """
    like = like or path
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as f:
            f.write(data)
            f.flush()
            os.fsync(f.fileno())
        if like.exists():
            os.chmod(name, like.stat().st_mode & 0o777)
        else:
            os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        if os.path.exists(name):
            os.unlink(name)
        raise
