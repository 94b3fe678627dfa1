"""An owner's empty folder: a commented `aircraft.toml`, a `stalls.csv` with its header, a `README.md`."""

from __future__ import annotations

from pathlib import Path

from aerolib.case.folder import AIRCRAFT
from aerolib.case.problems import CaseError
from aerolib.case.saving import save_text
from aerolib.case.shipped import is_shipped
from aerolib.case.stalls import FILE, SCHEMA
from aerolib.units import offered

README = "README.md"
_LEFT_BY_THE_SYSTEM = {".DS_Store", "Thumbs.db", "desktop.ini"}  # file managers drop these into empty folders
_KINDS = ("length", "area", "mass", "speed", "angle", "force", "power", "time", "volume", "temperature",
          "density", "ratio")  # fmt: skip

# A line that starts with '#' and a letter or bracket is a key to uncomment; '# ' starts a remark.


def new_case(folder: str | Path) -> list[Path]:
    """Start an owner's folder with templates to fill in.

    Parameters
    ----------
    folder : path [-]
        A folder that is empty or does not exist yet; folders above it are made too.

    Returns
    -------
    list of Path [-]
        The files written: `aircraft.toml`, `stalls.csv`, `README.md`.

    Raises
    ------
    CaseError
        The folder holds something, is a file, belongs to the installation, or cannot be written.
    """
    folder = Path(folder)
    if is_shipped(folder):
        raise CaseError(f"{folder} belongs to the installation, which is read-only; choose a folder of your own")
    texts = {AIRCRAFT: aircraft_template(), FILE: f"{SCHEMA.header}\n", README: _text("template_README.md")}
    written: list[Path] = []
    try:
        if (folder.exists() or folder.is_symlink()) and not folder.is_dir():
            raise CaseError(f"{folder} is a file, not a folder; nothing was written. Choose another name")
        folder.mkdir(parents=True, exist_ok=True)
        held = sorted(p.name for p in folder.iterdir() if p.name not in _LEFT_BY_THE_SYSTEM)
        if held:
            shown = ", ".join(f"`{n}`" for n in held[:3]) + (f" and {len(held) - 3} more" if len(held) > 3 else "")
            raise CaseError(
                f"the folder {folder} holds {shown} already; nothing was written. Choose a new or an empty folder"
            )
        for name, text in texts.items():
            save_text(folder / name, text, None)
            written.append(folder / name)
    except OSError as e:
        for path in written:
            path.unlink(missing_ok=True)
        raise CaseError(
            f"the folder {folder} cannot be written: {e.strerror}; choose a folder where you may write"
        ) from None
    return written


def aircraft_template() -> str:
    """The text of a new `aircraft.toml`: every key of the schema, the optional ones commented out."""
    lines = []
    for kind in _KINDS:
        names = ", ".join(s if s != "-" else "a plain number" for s in offered(kind))
        lines.append(f"#   {kind + ':':<10}{names}")
    return _text("template_aircraft.toml").replace("@UNITS@", "\n".join(lines))


def _text(name: str) -> str:
    """A template that stands beside this module."""
    return Path(__file__).with_name(name).read_text(encoding="utf-8")
