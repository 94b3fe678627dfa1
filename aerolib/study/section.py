"""The wing section of a case: by its name or from the owner's points, at the Reynolds number of the stall."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.inside import inside
from aerolib.case.problems import CaseError
from aerolib.case.published import section_table
from aerolib.measured.stalls.results import StallReduction
from aerolib.predicted.section import SectionLift, section_lift
from aerolib.predicted.section.shapes import checked_points

if TYPE_CHECKING:
    from aerolib.study import Study

VISCOSITY = 1.461e-5  # kinematic, of the standard air at sea level [m2/s]
TYPICAL_CLMAX = 1.5  # for the Reynolds number before anything was flown: 20 % of it is 10 % in Reynolds number
MOST_BYTES = 1_000_000  # of a file of points


def section_of(study: Study, *, tip: bool = False, chord: float | None = None, rough: bool = False) -> SectionLift:
    """Lift of a case's wing section at its stall, at the root or the tip, smooth or with standard roughness.

    The Reynolds number is that of the slowest clean stall measured, before the first stall that of CL 1.5, and of a
    chord [m]; without one the standard mean chord, area over span.
    """
    wing = study.aircraft.wing
    if chord is None:
        if wing.span is None and wing.chord_middle is None:
            raise CaseError(
                f"`{AIRCRAFT}` [wing] span is missing; the section's Reynolds number needs the standard mean chord, "
                "area over span: measure it tip to tip"
            )
        chord = wing.area / wing.span if wing.span is not None else wing.chord_middle
    key = "section_tip" if tip and wing.section_tip else "section"
    given, name = section_input(study, key)
    try:
        reynolds = stall_speed(study) * chord / VISCOSITY
        found = study.memo(section_lift, given, reynolds, table=section_table(), rough=rough)
    except ValueError as e:
        place = f"[wing] {key} '{name}'" if isinstance(given, str) else f"[wing] section_file, `{wing.section_file}`"
        raise CaseError(f"`{AIRCRAFT}` {place}: {e}") from None
    return found if isinstance(given, str) else replace(found, name=name)


def stall_speed(study: Study, result: StallReduction | None = None) -> float:
    """Speed of the stall at the reference weight [m/s]: measured with idle power, clean first, else that of CL 1.5."""
    wing, result = study.aircraft.wing, study.flown if result is None else result
    if result is not None:
        up = {c.name for c in study.aircraft.configuration if not c.flap}
        idle = [
            (i.configuration, i.stall_speed_1g.value)
            for i in result.items
            if i.power in ("idle", "off") and i.stall_speed_1g is not None
        ]
        if speeds := [v for name, v in idle if name in up] or [v for _, v in idle]:
            return min(speeds)
    return math.sqrt(2.0 * study.reference_weight * GRAVITY / (DENSITY_0 * wing.area * TYPICAL_CLMAX))


def section_input(study: Study, key: str = "section") -> tuple[str | np.ndarray, str]:
    """What `section_lift` is given for a case, a name or points over the chord [-], and how to call it."""
    wing = study.aircraft.wing
    name = getattr(wing, key)
    if key == "section" and wing.section_file is not None:
        return read_points(study.folder, wing.section_file), name or wing.section_file
    if not name:
        raise CaseError(
            f"`{AIRCRAFT}` [wing] {key} is missing; write the section's name from the drawings, such as "
            f'{key} = "NACA 4412", or the file that holds its points, section_file = "section.txt"'
        )
    return name, name


def read_points(folder, file: str) -> np.ndarray:
    """Points of a section from a text file of a case: two columns, x and y over the chord [-], a title line allowed."""
    place = f"`{AIRCRAFT}` [wing] section_file"
    path = inside(folder, file, place)
    try:
        if path.exists() and not path.is_file():
            raise CaseError(f"{place}: `{file}` is not a file with text in it; put the points themselves there")
        if path.stat().st_size > MOST_BYTES:
            raise CaseError(f"{place}: `{file}` has more than a million bytes; needed are two columns of numbers")
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise CaseError(f"{place}: there is no `{file}` beside `{AIRCRAFT}`; put it there or remove the line") from None
    except (OSError, UnicodeDecodeError, ValueError) as e:
        raise CaseError(f"{place}: `{file}` cannot be read as text ({e}); save it as plain text in UTF-8") from None
    numbered = enumerate(text.splitlines(), 1)
    lines = [(n, x, x.split("#")[0].replace(",", " ").replace(";", " ").split()) for n, x in numbered]
    points: list[tuple[float, float]] = []
    for k, (number, line, cells) in enumerate(x for x in lines if x[2]):
        try:
            x, y = map(float, cells)
        except ValueError:
            if k:  # the first may be a title
                raise CaseError(
                    f"{place}: `{file}` row {number}: '{line.strip()}' is not two numbers, x and y over the chord; use "
                    "decimal points, and remove other columns"
                ) from None
        else:
            points.append((x, y))
    try:
        return checked_points(np.array(points).reshape(-1, 2))
    except ValueError as e:
        raise CaseError(f"{place}: `{file}`: {e}") from None
