"""`tufts.csv`: where the flow had let go, by speed, as tufts on the skin and a camera showed it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aerolib.case.columns import Column, Schema, Table, by_name
from aerolib.case.problems import CaseError
from aerolib.case.schema import Aircraft

FILE = "tufts.csv"
SURFACES = ("wing", "flap", "tailplane underside")
SCHEMA = Schema(FILE, by_name(
    Column("modification", required=True, write="its name"),
    Column("configuration", required=True, write="its name"),
    Column("ias", "speed", (5.0, 120.0), required=True, write="the indicated airspeed"),
    Column("surface", words=SURFACES, required=True, write="its name"),
    Column("span_station", "length", required=True, write="how far out the tuft is", unit="m"),
    Column("chord_station", "ratio", (0.0, 1.0), required=True, write="where the flow had separated", unit="%"),
    Column("remarks"),
))  # fmt: skip
STARTS_AHEAD_OF = 0.7  # of the chord: a separation line further back is no stall yet


@dataclass(frozen=True)
class TuftTable(Table):
    """What the tufts showed: at each speed and span station, the chord station behind which the flow had let go."""

    @property
    def ias(self) -> np.ndarray:
        """(N,) [m/s]"""
        return self.si["ias"]

    @property
    def span_station(self) -> np.ndarray:
        """(N,) from the centerline [m]"""
        return self.si["span_station"]

    @property
    def chord_station(self) -> np.ndarray:
        """(N,) over the chord [-]"""
        return self.si["chord_station"]

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


def parse_tufts(data: bytes, aircraft: Aircraft) -> TuftTable:
    """Read the bytes of a `tufts.csv`; CaseError lists everything wrong. A header alone is a table of no rows."""
    table, problems = SCHEMA.read(data, aircraft)
    half = 0.5 * aircraft.wing.span if aircraft.wing.span else np.inf
    y = table.si["span_station"]
    for i in np.flatnonzero((y < 0.0) | ((table.text["surface"] == "wing") & (y > half))):
        beyond = f", 0 to {half:.2f} m" if np.isfinite(half) else ""
        problems.append(
            f"`{FILE}` row {table.row[i]}: span_station {y[i]:.2f} m is not on the wing half{beyond}; it counts from "
            "the centerline"
        )
    if problems:
        raise CaseError(problems)
    return TuftTable(**vars(table))
