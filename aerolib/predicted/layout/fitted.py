"""The record of what was fitted: beside the plan, left beside right, and what it weighs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from aerolib.predicted.layout.positions import DeviceLayout
from aerolib.predicted.layout.row import in_mm
from aerolib.units import from_si

# What left and right may differ by before it is said: our judgement, about what a careful owner reaches with a tape.
TOLERANCE = {"start": 0.005, "pitch": 0.002, "chord_distance": 0.002, "height": 0.0005, "angle": math.radians(2.0)}
NAMES = {"pitch": "spacing", "chord_distance": "distance behind the leading edge"}
SOURCE = "moments about the reference datum, sum of m x over sum of m (FAA-H-8083-1)"


@dataclass(frozen=True)
class FittedRow:
    """One row as measured after fitting, on one surface and side; None where it was not measured."""

    device: str
    surface: str
    side: str  # 'left' or 'right'
    modification: str = ""
    row: int = 1
    start: float | None = None  # tape reading of the first position [m]
    pitch: float | None = None  # [m]
    chord_distance: float | None = None  # leading edge to the front ends, along the chord line [m]
    height: float | None = None  # [m]
    angle: float | None = None  # [rad]
    count: int | None = None  # positions
    spares: int | None = None
    mass_each: float | None = None  # of one position, adhesive counted [kg]
    station: float | None = None  # of the row, from the reference datum [m]
    date: str = ""
    adhesive: str = ""
    batch: str = ""
    fitted_by: str = ""
    inspected_by: str = ""


@dataclass(frozen=True)
class FittedRecord:
    """Everything fitted in one modification. Later comparison takes these numbers, not the planned ones."""

    rows: tuple[FittedRow, ...]
    count: int  # positions, both sides
    spares: int
    mass: float | None  # [kg]; None where a row has no mass
    empty_mass: float | None  # with the devices [kg]
    cg_before: float | None  # empty, from the reference datum [m]
    cg_after: float | None  # [m]
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def cg_shift(self) -> float | None:
        """Aft positive [m]."""
        return None if self.cg_after is None or self.cg_before is None else self.cg_after - self.cg_before


def fitted_record(
    rows: Sequence[FittedRow], *, planned: Sequence[DeviceLayout] = (), empty_mass: float | None = None,
    empty_cg: float | None = None,
) -> FittedRecord:  # fmt: skip
    """What was fitted, beside the plan, left beside right, and its mass and CG.

    m = sum n_i m_i;  x = (M x_M + sum n_i m_i x_i) / (M + m)

    Parameters
    ----------
    rows : sequence of FittedRow [SI]
    planned : sequence of DeviceLayout [SI]
        Of the same devices; a difference is shown, never corrected.
    empty_mass : float [kg]
        M, by the weighing before fitting.
    empty_cg : float [m]
        x_M, from the reference datum, aft positive.

    Returns
    -------
    FittedRecord [SI]

    Raises
    ------
    ValueError
        No rows, or the same device, side and row twice.

    Source: FAA-H-8083-1, Aircraft Weight and Balance Handbook: CG is total moment over total weight.
    """
    rows = tuple(rows)
    if not rows:
        raise ValueError("no row was given; write one for each surface, side and row that was fitted")
    keys = [(r.device, r.surface, r.side, r.row) for r in rows]
    for key in keys:
        if keys.count(key) > 1:
            raise ValueError(f"'{key[0]}' on '{key[1]}', {key[2]}, row {key[3]} stands twice; number the rows")
    notes: list[str] = []
    warnings = [f"{r.device}, {r.side}: nobody is named as having inspected it" for r in rows if not r.inspected_by]
    for r in rows:
        _beside_plan(r, [p for p in planned if (p.device, p.side) == (r.device, r.side)], notes)
    _left_right(rows, warnings)
    masses = [r.count * r.mass_each for r in rows if r.count is not None and r.mass_each is not None]
    mass = sum(masses) if len(masses) == len(rows) else None
    after = cg = None
    if mass is not None and empty_mass is not None:
        after = empty_mass + mass
        moments = [m * r.station for m, r in zip(masses, rows) if r.station is not None]
        if empty_cg is not None and len(moments) == len(rows):
            cg = (empty_mass * empty_cg + sum(moments)) / after
        else:
            notes.append("CG not computed: needed are [weights] empty_cg and the station of every row")
    return FittedRecord(
        rows, sum(r.count or 0 for r in rows), sum(r.spares or 0 for r in rows), mass, after,
        empty_cg if cg is not None else None, cg, tuple(notes), tuple(warnings),
    )  # fmt: skip


def _beside_plan(r: FittedRow, plans, notes) -> None:
    for p in plans:
        if r.count is not None and r.count != p.count:
            notes.append(
                f"{r.device}, {r.side}: fitted {r.count}, planned {p.count}: the fitted number counts, the plan stays "
                "as it is"
            )
        for name in ("start", "pitch"):
            given, meant = getattr(r, name), getattr(p, name)
            if given is not None and abs(given - meant) > TOLERANCE[name]:
                notes.append(
                    f"{r.device}, {r.side}: {NAMES.get(name, name)} fitted {in_mm(given)}, planned {in_mm(meant)}: the "
                    "fitted value counts"
                )


def _left_right(rows, warnings) -> None:
    by_row: dict[tuple, dict[str, FittedRow]] = {}
    for r in rows:
        by_row.setdefault((r.device, r.surface, r.row), {})[r.side] = r
    for (device, _, row), pair in by_row.items():
        if len(pair) == 1:
            (only,) = pair
            warnings.append(f"{device}, row {row}: fitted on the {only} only. Fit both sides before flying")
            continue
        left, right = pair["left"], pair["right"]
        if None not in (left.count, right.count) and left.count != right.count:
            warnings.append(f"{device}, row {row}: {left.count} on the left, {right.count} on the right")
        for name, allowed in TOLERANCE.items():
            a, b = getattr(left, name), getattr(right, name)
            if a is not None and b is not None and abs(a - b) > allowed * (1 + 1e-9):
                kind, unit = ("angle", "deg") if name == "angle" else ("length", "mm")
                a, b, by, most = (from_si(x, unit, kind) for x in (a, b, abs(a - b), allowed))
                warnings.append(
                    f"{device}, row {row}: {NAMES.get(name, name)} left {a:.4g}, right {b:.4g} {unit}; they differ by "
                    f"{by:.3g}, more than {most:.3g} {unit} (our tolerance)"
                )
