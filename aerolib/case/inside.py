"""The one door to a file that a case names: it lies in the folder of the case, or it is refused."""

from __future__ import annotations

import os
from pathlib import Path, PureWindowsPath

from aerolib.case.problems import CaseError

LONGEST = 255  # bytes of one name, on every usual file system


def inside(folder: Path, name: str, place: str | None = None) -> Path:
    """Path of the file that a case calls `name`; CaseError where it would lead out of the folder of the case.

    `name` may hold folders ('logs/flight.csv'). Refused: an absolute path, '..', a control character, a name that no
    file can have, a link to nothing or to the outside. `place` says who names the file.
    """
    place = place or "the case"
    shown = name if name.isprintable() else ascii(name)[1:-1]
    told = f"`{shown}`" if len(shown) < 60 else f"`{shown[:50]}...`"
    parts = PureWindowsPath(name)  # takes both kinds of slash, and C:
    if parts.anchor or ".." in parts.parts:
        raise CaseError(f"{place}: {told} is outside the folder of the case; put the file into it and write its name")
    if not name.isprintable() or any(len(os.fsencode(p)) > LONGEST for p in parts.parts) or not parts.parts:
        raise CaseError(f"{place}: no file can be called {told}; write the name of a file in the folder of the case")
    path = Path(folder) / name
    try:
        real = path.resolve()
        linked = not real.is_relative_to(Path(folder).resolve())
        nothing = not linked and os.path.lexists(path) and not path.exists()
    except (OSError, RuntimeError) as e:  # links in a circle, a folder that may not be entered
        raise CaseError(f"{place}: {told} cannot be read: {getattr(e, 'strerror', None) or e}") from None
    if linked:
        raise CaseError(
            f"{place}: {told} is a link out of the folder of the case, which is not followed; put a copy there"
        )
    if nothing:
        raise CaseError(f"{place}: {told} cannot be read: it is a link to nothing; put a copy of the file there")
    return path
