"""'Save as': the whole case into a new folder, with edited stalls."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.folder import PARSERS, Case
from aerolib.case.inside import inside
from aerolib.case.problems import CaseError
from aerolib.case.saving import write_folder
from aerolib.case.stalls import FILE, parse_stalls
from aerolib.case.tables import write_table


def companions(case: Case) -> list[str]:
    """Everything of a case but its stalls, as names in its folder."""
    wing, logs = case.aircraft.wing, [f"logs/{log.file}" for log in case.aircraft.log]
    names = [AIRCRAFT, "README.md", *PARSERS, *([wing.section_file] if wing.section_file else []), *logs]
    return [name for name in dict.fromkeys(names) if inside(case.folder, name).is_file()]


def new_folder(name: str) -> Path:
    """The folder that 'save as' is given, refused where it is no name or holds something."""
    if not name.strip():
        raise CaseError("no folder is named; write one beside the button, such as my-airplane")
    folder = Path(name.strip()).expanduser()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise CaseError(f"{folder} exists and holds something; name a new folder, nothing was written")
    return folder


def checked_text(case: Case, frame, reduce: Callable, sure: bool = False) -> str:
    """CSV text of a table of stalls; refused where it could not be read back and reduced, unless the owner is sure.

    `reduce` takes the frame as it would be read back, and raises CaseError where nothing follows from it.
    """
    text = write_table(frame, case.stalls.dialect)
    try:
        table = parse_stalls(text.encode(), case.aircraft, none_yet=True)
        if len(table.row):
            reduce(table.frame)
    except CaseError as e:
        if not sure:
            raise CaseError(f"nothing was saved: the file could not be read back. {e}") from None
    return text


def save_case_as(case: Case, folder: Path, stalls: str) -> None:
    """Write the case with this text of `stalls.csv` into a new folder, whole or not at all."""
    files = {name: inside(case.folder, name) for name in companions(case)}
    write_folder(folder, {**files, FILE: stalls})
