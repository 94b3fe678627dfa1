"""`tufts.csv`: where the flow had let go, by speed, as tufts on the skin and a camera showed it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aerolib.case.problems import CaseError, nearest
from aerolib.case.schema import Aircraft
from aerolib.case.tables import decode, numbers, read_header, read_table

FILE = "tufts.csv"
KINDS: dict[str, str | None] = {
    "modification": None, "configuration": None, "ias": "speed", "surface": None, "span_station": "length",
    "chord_station": "ratio", "remarks": None,
}  # fmt: skip
REQUIRED = tuple(KINDS)[:6]
SURFACES = ("wing", "flap", "tailplane underside")
EXAMPLE = {"ias": "kt", "span_station": "m", "chord_station": "%"}
STARTS_AHEAD_OF = 0.7  # of the chord: a separation line further back is no stall yet
SLOWEST, FASTEST = 5.0, 120.0  # [m/s]


@dataclass(frozen=True)
class TuftTable:
    """What the tufts showed: at each speed and span station, the chord station behind which the flow had let go."""

    row: np.ndarray  # (N,) row in the file, the header being row 1
    text: dict[str, np.ndarray]  # (N,) modification, configuration, surface, remarks
    ias: np.ndarray  # (N,) [m/s]
    span_station: np.ndarray  # (N,) from the centreline [m]
    chord_station: np.ndarray  # (N,) over the chord [-]

    def seen(self, modification: str, configuration: str, surface: str = "wing") -> np.ndarray:
        """Which rows (N,) belong to one state."""
        t = self.text
        return (t["modification"] == modification) & (t["configuration"] == configuration) & (t["surface"] == surface)

    def first_stall(self, modification: str, configuration: str) -> tuple[float, float] | None:
        """Span station [m] and chord station [-] where the wing first let go; None where that was not seen.

        The highest speed at which the line is ahead of 0.7 of the chord; of its stations the one furthest ahead.
        """
        here = self.seen(modification, configuration) & (self.chord_station < STARTS_AHEAD_OF)
        if not here.any():
            return None
        fastest = here & (self.ias == self.ias[here].max())
        k = np.flatnonzero(fastest)[np.argmin(self.chord_station[fastest])]
        return float(self.span_station[k]), float(self.chord_station[k])


def first_stall_seen(case, configuration: str | None) -> tuple[float, float] | None:
    """Span station [m] and chord station [-] where the wing of a case first let go before anything was changed."""
    table = case.optional(FILE)
    if table is None or configuration is None:
        return None
    return table.first_stall(case.states[0], configuration)


def parse_tufts(data: bytes, aircraft: Aircraft, file: str = FILE) -> TuftTable:
    """Read the bytes of a `tufts.csv`; CaseError lists everything wrong. A header alone is a table of no rows."""
    if not decode(data, file).split("\n", 1)[0].strip():
        raise CaseError(
            f"`{file}` row 1 is empty; needed is a header such as `{header()}`, or remove the file: it is not required"
        )
    frame, _ = read_table(data, file)
    for name, unit in EXAMPLE.items():
        if any(str(h).strip() == name for h in frame.columns):
            raise CaseError(f"`{file}` row 1: column '{name}' has no unit; write for example `{name} [{unit}]`")
    columns = read_header(frame.columns, KINDS, file)
    missing = [n for n in REQUIRED if n not in columns]
    if missing:
        raise CaseError([f"`{file}` row 1: column `{n}` is missing; needed is `{header()}`" for n in missing])
    problems: list[str] = []
    row = np.asarray(frame.index)
    text = {
        n: np.array(frame[columns[n].header].tolist() if n in columns else [""] * len(frame), dtype=object)
        for n in ("modification", "configuration", "surface", "remarks")
    }
    si = {n: columns[n].unit.to_si(numbers(frame, columns[n], file, problems)) for n in EXAMPLE}
    bad = {int(p.split(" row ")[1].split(":")[0]) for p in problems}
    known = {
        "modification": [m.name for m in aircraft.modification],
        "configuration": [c.name for c in aircraft.configuration], "surface": list(SURFACES),
    }  # fmt: skip
    half = 0.5 * aircraft.wing.span if aircraft.wing.span else None
    for i, r in enumerate(row):
        place = f"`{file}` row {r}: "
        for name, names in known.items():
            value = text[name][i]
            if not value:
                problems.append(f"{place}`{name}` is empty; write {' or '.join(repr(n) for n in names) or 'a name'}")
            elif names and value not in names:
                problems.append(f"{place}{name} '{value}' is not known; {nearest(value, names)}")
        if int(r) in bad:
            continue
        v, y, x = (float(si[n][i]) for n in EXAMPLE)
        if np.isnan([v, y, x]).any():
            problems.append(f"{place}ias, span_station and chord_station are all needed; leave out the row otherwise")
            continue
        if not SLOWEST <= v <= FASTEST:
            problems.append(
                f"{place}ias is {v:.3g} m/s; expected is {SLOWEST:g} to {FASTEST:g} m/s: is the unit right?"
            )
        if not 0.0 <= x <= 1.0:
            problems.append(f"{place}chord_station is {100 * x:.0f} % of the chord; it lies between 0 and 100 %")
        if y < 0.0 or (half is not None and text["surface"][i] == "wing" and y > half):
            beyond = "" if half is None else f", 0 to {half:.2f} m"
            problems.append(
                f"{place}span_station {y:.2f} m is not on the wing half{beyond}; it counts from the centreline"
            )
    if problems:
        raise CaseError(problems)
    return TuftTable(row, text, si["ias"], si["span_station"], si["chord_station"])


def header() -> str:
    """The header of a new `tufts.csv`, units as examples."""
    return ",".join(f"{n} [{EXAMPLE[n]}]" if n in EXAMPLE else n for n in KINDS)
