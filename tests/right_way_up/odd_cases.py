"""Odd cases whose truth is built in: every speed comes from a CLmax chosen here, by formulae written here.

    V = sqrt(2 n m g / (rho0 S CLmax))        n = 1 - (4/3) r / g: lift left at the lowest speed of a steady entry

The dial reads calibrated airspeed less `dial_low`, and is rounded as a pilot rounds it. Nothing here comes from the
library, so which state has the higher CLmax is known whatever the library says.
"""

from __future__ import annotations

import contextlib
import io
import json
import math
from dataclasses import dataclass, field
from pathlib import Path

G, RHO0, KNOT, MPH = 9.80665, 1.225, 1852.0 / 3600.0, 0.44704
AREA, MASS, RATE = 12.0, 550.0, 1.0  # m2, kg, kt/s
STALLS = 3  # in each configuration of each flight
OFF = (0.0, 0.4, -0.4)  # kt: how these stalls differ
UNIT = {"kt": KNOT, "mph": MPH}

AIRCRAFT = f"""format = 1
name = "Odd, invented for the tests"
invented = true
[wing]
area = "{AREA:g} m2"
[weights]
empty = "400 kg"
maximum = "600 kg"
[indicator]
position_within = "1 kt"
"""
CONFIGURATIONS = """[[configuration]]
name = "clean"
flap = "0 deg"
[[configuration]]
name = "full flap"
flap = "35 deg"
"""


@dataclass(frozen=True)
class Flown:
    """One state as it was flown: its true CLmax by configuration, and what its flights are called."""

    name: str
    clmax: dict[str, float]
    flights: tuple[str, ...]


@dataclass(frozen=True)
class Odd:
    """A case to write, and its truth."""

    states: tuple[Flown, ...]  # in the order of the rows of stalls.csv
    unit: str = "kt"
    dial_low: float = 0.0  # kt
    listed: tuple[str, ...] = ()  # [[modification]], in this order
    legs_in: tuple[str, ...] = ()  # states with legs
    more: str = ""  # of aircraft.toml
    files: dict[str, str] = field(default_factory=dict)

    @property
    def configurations(self) -> list[str]:
        """All of them, in the order of the rows."""
        return list(dict.fromkeys(c for s in self.states for c in s.clmax))

    def true_ratio(self, before: str, after: str, configuration: str = "clean") -> float:
        """CLmax of one state over that of another."""
        of = {s.name: s.clmax[configuration] for s in self.states}
        return of[after] / of[before]

    def write(self, folder: Path) -> Path:
        """The case as a folder."""
        folder.mkdir()
        toml = AIRCRAFT + self.more
        if "full flap" in self.configurations:
            toml += CONFIGURATIONS
        toml += "".join(f'[[modification]]\nname = "{name}"\n' for name in self.listed)
        texts = {"aircraft.toml": toml, "stalls.csv": self.card(), **self.files}
        if self.legs_in:
            texts["airspeed_legs.csv"] = self.legs()
        for name, text in texts.items():
            (folder / name).write_text(text, encoding="utf-8")
        return folder

    def card(self) -> str:
        """The text of stalls.csv."""
        rows = [f"modification,configuration,flight,ias [{self.unit}],speed_kind,ended,weight [kg],power,"
                "entry_rate [kt/s],pilot"]  # fmt: skip
        for s in self.states:
            for flight in s.flights:
                quoted = f'"{flight}"' if "," in flight else flight
                for c, clmax in s.clmax.items():
                    for off in OFF[:STALLS]:
                        dial = self.dial(lowest_speed(clmax) + off * KNOT)
                        rows.append(f"{s.name},{c},{quoted},{dial:.1f},minimum,break,{MASS:g},idle,{RATE:g},P")
        return "\n".join(rows) + "\n"

    def dial(self, cas: float) -> float:
        """What the dial shows at a calibrated airspeed [m/s], in its own unit."""
        return (cas - self.dial_low * KNOT) / UNIT[self.unit]

    def legs(self) -> str:
        """The text of airspeed_legs.csv: three runs in each state that has legs, four headings, at sea level."""
        rows = [f"modification,configuration,run,power,ias [{self.unit}],ground_speed [{self.unit}],track [deg],"
                "pressure_altitude [ft],temperature [deg C]"]  # fmt: skip
        wind_east, wind_north = 6.0 * KNOT, -8.0 * KNOT
        for name in self.legs_in:
            for run, knots in enumerate((47.0, 58.0, 75.0), 1):
                true = knots * KNOT  # at sea level in standard air the true airspeed is the calibrated one
                for heading in (0.0, 90.0, 180.0, 270.0):
                    h = math.radians(heading)
                    east, north = true * math.sin(h) + wind_east, true * math.cos(h) + wind_north
                    speed, track = math.hypot(east, north) / UNIT[self.unit], math.degrees(math.atan2(east, north))
                    rows.append(f"{name},clean,{run},level,{self.dial(true):.1f},{speed:.1f},{track % 360:.0f},0,15")
        return "\n".join(rows) + "\n"


def lowest_speed(clmax: float) -> float:
    """CAS at the lowest speed of an entry [m/s]: n m g = 0.5 rho0 V^2 S CLmax."""
    n = 1.0 - 4.0 / 3.0 * RATE * KNOT / G
    return math.sqrt(2.0 * n * MASS * G / (RHO0 * AREA * clmax))


def stall_speed_1g(clmax: float, mass: float) -> float:
    """CAS at load factor 1 [m/s]: m g = 0.5 rho0 V^2 S CLmax."""
    return math.sqrt(2.0 * mass * G / (RHO0 * AREA * clmax))


LOW, HIGH = {"clean": 1.30, "full flap": 1.70}, {"clean": 1.75, "full flap": 2.20}  # a third more
MIDDLE = {"clean": 1.50, "full flap": 1.95}
CLEAN = {"clean": LOW["clean"]}, {"clean": HIGH["clean"]}


def two_states(
    first: str, last: str, first_clmax=LOW, last_clmax=HIGH, flights=(("1", "2"), ("3", "4")), **more
) -> Odd:
    """Two states in the order of the rows."""
    return Odd((Flown(first, first_clmax, flights[0]), Flown(last, last_clmax, flights[1])), **more)


# One day is spelled in three ways on two days of each state: two flights each, not four.
SPELLINGS = (("2026-04-26", "26/4/2026", "26 Apr 2026", "27.4.26"), ("2026-05-12", "May 12 2026", "13/5/2026"))

ODD = {
    "a bare card, VGs second": two_states("stock", "VGs", *CLEAN),
    "a dial in mph that reads low": two_states("before", "after", unit="mph", dial_low=2.0,
                                               legs_in=("before", "after")),
    "one date in three spellings": two_states("as built", "with VGs", flights=SPELLINGS),
    "three states": Odd((Flown("stock", LOW, ("1", "2")), Flown("VGs", MIDDLE, ("3", "4")),
                         Flown("VGs and cuff", HIGH, ("5", "6")))),
    "legs in one state": two_states("before", "after", dial_low=1.5, legs_in=("after",)),
}  # fmt: skip


@dataclass(frozen=True)
class Told:
    """What a report said: in the terminal, on its page, in its data."""

    text: str
    page: str
    data: dict

    @property
    def change(self) -> dict:
        """The clean change at idle in the data."""
        return next(c for c in self.data["comparison"] if (c["configuration"], c["power"]) == ("clean", "idle"))


def report(folder: Path, out: Path) -> Told:
    """Run `aerolib report` in this process and collect everything it said."""
    from aerolib.__main__ import main

    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        assert main(["report", str(folder), "--out", str(out)]) == 0
    return Told(said.getvalue(), (out / "report.html").read_text(encoding="utf-8"),
                json.loads((out / "report.json").read_text(encoding="utf-8")))  # fmt: skip
