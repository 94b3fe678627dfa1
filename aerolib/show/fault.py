"""A defect of the program itself: said so, and written down in a file that holds nothing of its user's."""

from __future__ import annotations

import importlib.metadata
import platform

from aerolib.case.problems import reason_of
from aerolib.case.saving import sha256

PACKAGES = ("numpy", "scipy", "pandas", "matplotlib", "ipywidgets", "jupyterlab", "aerosandbox", "pydantic")


def words_of(error: BaseException) -> str:
    """What went wrong: the reason in the input where there is one, else that it is a fault, and the file to send."""
    return reason_of(error) or _fault(error)


def fault_text(error: BaseException) -> str:
    """Versions and the way through the program: modules, functions and lines, without any value or message."""
    from aerolib import __version__

    lines = [f"aerolib {__version__}, Python {platform.python_version()}, {platform.system()} {platform.machine()}"]
    for name in PACKAGES:
        try:
            lines.append(f"{name} {importlib.metadata.version(name)}")
        except importlib.metadata.PackageNotFoundError:
            lines.append(f"{name} is not installed")
    seen: set[int] = set()
    at: BaseException | None = error
    while at is not None and id(at) not in seen:
        seen.add(id(at))
        lines += ["", type(at).__name__, *(f"  {place}" for place in _places(at))]
        at = at.__cause__ or at.__context__
    return "\n".join(lines) + "\n"


def _places(error: BaseException) -> list[str]:
    at, out = error.__traceback__, []
    while at is not None:
        frame = at.tb_frame
        out.append(f"{frame.f_globals.get('__name__', '?')}, {frame.f_code.co_name}, line {at.tb_lineno}")
        at = at.tb_next
    return out


def _fault(error: BaseException) -> str:
    import platformdirs

    where = [place for place in _places(error) if place.startswith("aerolib.")][-1:] or ["outside the library"]
    told = f"this is a fault of the program, not of your files ({type(error).__name__} in {where[0]})"
    text = fault_text(error)
    try:
        path = platformdirs.user_log_path("aerolib", ensure_exists=True) / f"fault-{sha256(text.encode())[:8]}.txt"
        path.write_text(text, encoding="utf-8")  # the same fault has the same file
    except OSError:
        return f"{told}. No file could be written about it; please tell whoever gave you the program what you did"
    return (
        f"{told}. Please send the file {path} to whoever gave you the program, with a word on what you did; it holds "
        "versions and places in the program, no name, number or path of yours"
    )
