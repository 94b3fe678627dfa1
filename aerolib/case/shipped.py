"""Where the workbooks, the demonstration and the tables are: beside the package in a clone, inside it in a wheel."""

from __future__ import annotations

from pathlib import Path


def shipped(name: str) -> Path:
    """Path of 'workbooks' or 'data', as shipped with this copy of the library."""
    package = Path(__file__).resolve().parents[1]
    clone = package.parent
    base = clone if (clone / "pyproject.toml").is_file() else package / "_shipped"
    path = base / name
    if not path.exists():
        raise FileNotFoundError(f"{path} is missing: the installation is not complete; install aerolib again")
    return path


def demo_folder() -> Path:
    """The folder of the demonstration case (read-only)."""
    return shipped("data") / "demo"


def is_shipped(folder: Path) -> bool:
    """Whether a folder belongs to the installation, and must not be written to."""
    folder = Path(folder).resolve()
    try:
        return any(folder.is_relative_to(shipped(name).resolve()) for name in ("data", "workbooks"))
    except FileNotFoundError:
        return False
