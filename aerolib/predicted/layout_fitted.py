"""The record of what was fitted: beside the plan, left beside right, and what it weighs."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence
from dataclasses import dataclass

# What left and right may differ by before it is said: our judgement, about what a careful owner reaches with a tape.
TOLERANCE = {"start": 0.005, "pitch": 0.002, "chord_distance": 0.002, "height": 0.0005, "angle": math.radians(2.0)}
_UNITS = {"start": (1e3, "mm"), "pitch": (1e3, "mm"), "chord_distance": (1e3, "mm"), "height": (1e3, "mm"),
          "angle": (180.0 / math.pi, "deg")}  # fmt: skip


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
    station: float | None = None  # of the row, from the weighing datum [m]
    date: str = ""
    adhesive: str = ""
    batch: str = ""
    fitted_by: str = ""
    inspected_by: str = ""


@dataclass(frozen=True)
class Planned:
    """What the plan says of one device on one side."""

    device: str
    side: str
    count: int
    start: float  # [m]
    pitch: float  # [m]


@dataclass(frozen=True)
class FittedRecord:
    """Everything fitted in one modification. Later comparison takes these numbers, not the planned ones."""

    rows: tuple[FittedRow, ...]
    count: int  # positions, both sides
    spares: int
    mass: float | None  # [kg]; None where a row has no mass
    empty_mass: float | None  # with the devices [kg]
    cg_before: float | None  # empty, from the weighing datum [m]
    cg_after: float | None  # [m]
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    source: str = "moments about the weighing datum, sum of m x over sum of m (FAA-H-8083-1)"

    @property
    def cg_shift(self) -> float | None:
        """Aft positive [m]."""
        return None if self.cg_after is None else self.cg_after - self.cg_before

    def lines(self) -> list[str]:
        """The record, a sentence each."""
        out = []
        for r in self.rows:
            parts = [f"start {1e3 * r.start:g} mm" if r.start is not None else "",
                     f"pitch {1e3 * r.pitch:g} mm" if r.pitch is not None else "",
                     f"{1e3 * r.chord_distance:g} mm along the chord" if r.chord_distance is not None else "",
                     f"height {1e3 * r.height:g} mm" if r.height is not None else "",
                     f"angle {math.degrees(r.angle):.3g} deg" if r.angle is not None else "",
                     f"{r.count} positions" if r.count is not None else "count not noted",
                     f"fitted {r.date}" if r.date else "", f"by {r.fitted_by}" if r.fitted_by else "",
                     f"adhesive {r.adhesive}, batch {r.batch or 'not noted'}" if r.adhesive else "adhesive not noted",
                     f"inspected by {r.inspected_by}" if r.inspected_by else "NOT YET INSPECTED"]  # fmt: skip
            out.append(f"{r.device}, {r.surface}, {r.side}, row {r.row}: " + ", ".join(p for p in parts if p))
        out.append(f"{self.count} positions fitted, {self.spares} spares kept")
        if self.mass is None:
            out.append("mass not known: weigh ten devices with their adhesive, write mass_each")
        elif self.cg_after is None:
            out.append(f"{1e3 * self.mass:.0f} g in all; its effect on the CG is not computed (see the notes)")
        else:
            out.append(
                f"{1e3 * self.mass:.0f} g in all: empty {self.empty_mass:.2f} kg, CG {1e3 * self.cg_before:.1f} to "
                f"{1e3 * self.cg_after:.1f} mm from the weighing datum, {1e3 * self.cg_shift:+.2f} mm (aft is plus)"
            )
        return out

    def __str__(self) -> str:
        return "\n  ".join([*self.lines(), *self.warnings, *self.notes])

    def _repr_html_(self) -> str:
        said = "".join(f"<li><b>{html.escape(x)}</b></li>" for x in self.warnings)
        said += "".join(f"<li>{html.escape(x)}</li>" for x in self.notes)
        return (
            "".join(f"<p>{html.escape(x)}</p>" for x in self.lines())
            + f"<ul class='fitted-said'>{said}</ul><p class='small'>{html.escape(self.source)}.</p>"
        )


def fitted_record(
    rows: Sequence[FittedRow], *, planned: Sequence[Planned] = (), empty_mass: float | None = None,
    empty_cg: float | None = None,
) -> FittedRecord:  # fmt: skip
    """What was fitted, beside the plan, left beside right, and its mass and CG.

    m = sum n_i m_i;  x = (M x_M + sum n_i m_i x_i) / (M + m)

    Parameters
    ----------
    rows : sequence of FittedRow [SI]
    planned : sequence of Planned [SI]
        Of the same devices; a difference is shown, never corrected.
    empty_mass : float [kg]
        M, by the weighing before fitting.
    empty_cg : float [m]
        x_M, from the weighing datum, aft positive.

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
    notes, warnings = [], []
    for r in rows:
        _beside_plan(r, [p for p in planned if (p.device, p.side) == (r.device, r.side)], notes)
        if not r.inspected_by:
            warnings.append(f"{r.device}, {r.side}: nobody is named as having inspected it")
    _left_right(rows, warnings)
    masses = [None if r.count is None or r.mass_each is None else r.count * r.mass_each for r in rows]
    mass = None if None in masses else sum(masses)
    after = cg = None
    if mass is not None and empty_mass is not None:
        after = empty_mass + mass
        if empty_cg is not None and all(r.station is not None for r in rows):
            cg = (empty_mass * empty_cg + sum(m * r.station for m, r in zip(masses, rows))) / after
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
                    f"{r.device}, {r.side}: {name} fitted {1e3 * given:g} mm, planned {1e3 * meant:g} mm: the "
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
            if a is None or b is None:
                continue
            factor, unit = _UNITS[name]
            if abs(a - b) > allowed * (1 + 1e-9):
                warnings.append(
                    f"{device}, row {row}: {name.replace('_', ' ')} left {factor * a:.4g}, right {factor * b:.4g} "
                    f"{unit}; they differ by {factor * abs(a - b):.3g}, more than {factor * allowed:.3g} "
                    f"{unit} (our tolerance)"
                )
