"""What an airspeed calibration gives back: plain records, SI."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from aerolib.estimate import K95
from aerolib.measured.airspeed.circle import Circle
from aerolib.measured.airspeed.correction import LiftCorrection
from aerolib.measured.airspeed.doubts import MisreadLeg, UnitDoubt
from aerolib.measured.labels import joined
from aerolib.units import knots

ASSUMED = "no correction: the assumed error stands"


@dataclass(frozen=True)
class Run:
    """One run of legs, reduced."""

    modification: str
    flap: str
    run: str
    power: str
    circle: Circle
    ias: float  # mean reading [m/s]
    inner: float  # the same, corrected by the bench check of the indicator [m/s]
    cas: float  # calibrated airspeed from the legs [m/s]
    cl: float  # lift coefficient it was flown at [-]
    own: float  # standard uncertainty of `cas` from the legs alone [m/s]
    temperature: float  # [K]
    noted: bool  # the temperature was noted
    weight: float  # [kg]
    notes: tuple[str, ...] = ()

    @property
    def state(self) -> tuple[str, str]:
        """Modification and flap setting."""
        return self.modification, self.flap

    @property
    def name(self) -> str:
        """'before, clean, run 2'."""
        return f"{joined(*self.state)}, run {self.run}"


@dataclass(frozen=True)
class StateCalibration:
    """The correction of one modification and flap setting, at its stall."""

    modification: str
    flap: str
    origin: str = "assumed"  # legs; legs, out of reach; legs of another state; assumed
    correction: LiftCorrection | None = None  # None: the assumed error stands
    runs: int = 0
    slowest: float | None = None  # reading of the slowest run [m/s]
    reading: float | None = None  # in the middle of the stalls [m/s]
    at_stall: float | None = None  # what is added to the reading there [m/s]
    standard_uncertainty: float | None = None  # of that [m/s]
    extension: float | None = None  # lift coefficient of the stall over that of the slowest run [-]
    notes: tuple[str, ...] = ()

    @property
    def state(self) -> tuple[str, str]:
        """Modification and flap setting."""
        return self.modification, self.flap

    @property
    def name(self) -> str:
        """'after, clean'."""
        return joined(*self.state)

    @property
    def interval95(self) -> tuple[float, float] | None:
        """Of `at_stall` [m/s]."""
        if self.at_stall is None or self.standard_uncertainty is None:
            return None
        half = K95 * self.standard_uncertainty
        return self.at_stall - half, self.at_stall + half


@dataclass(frozen=True)
class AirspeedCalibration:
    """All states, the runs behind them, and the runs that could not be used."""

    states: tuple[StateCalibration, ...]
    runs: tuple[Run, ...]
    refused: tuple[str, ...]
    leg: float  # standard uncertainty of the speed of one leg, as flown [m/s]
    assumed: float  # standard uncertainty of the position error where nothing was flown [m/s]
    misread: tuple[MisreadLeg, ...] = ()  # legs set aside
    doubt: UnitDoubt | None = None  # all runs are off as by another unit
    questions: tuple[str, ...] = ()  # single runs that may be in another unit
    notes: tuple[str, ...] = ()
    inputs: Mapping[str, str] = field(default_factory=dict)

    @property
    def corrections(self) -> dict[tuple[str, str], LiftCorrection]:
        """(modification, flap) -> the correction, for every state that has one."""
        return {s.state: s.correction for s in self.states if s.correction is not None}

    def __getitem__(self, state: tuple[str, str]) -> StateCalibration:
        """The state of (modification, flap)."""
        return next(s for s in self.states if s.state == tuple(state))

    def sentences(self) -> list[str]:
        """What a reader must know beside the table."""
        out = [f"left out: {r}" for r in (*self.refused, *self.misread)]
        both: tuple[Run | StateCalibration, ...] = (*self.runs, *self.states)
        out += [f"{x.name}: {note}" for x in both for note in x.notes]
        return [*out, *self.asked(), *self.unlike(), *self.notes]

    def asked(self) -> list[str]:
        """Whether a column or a run may be in another unit, where the runs were used nevertheless."""
        if self.doubt is None or self.doubt.sure:
            return [f"{q} It was used" for q in self.questions]
        return [f"{self.doubt}, near the ratio of two units of speed: look at the units of both columns; the runs were "
                "used, and more of them at higher speeds, where the position error is small, would tell"]  # fmt: skip

    def unlike(self) -> list[str]:
        """Flap settings whose correction changed between the modifications otherwise than the others' did."""
        names = list(dict.fromkeys(s.modification for s in self.states if s.origin == "legs"))
        return [] if len(names) < 2 else [f"{f}: {why}" for f, why in self.leaning(names[0], names[-1]).items()]

    def leaning(self, before: str, after: str) -> dict[str, str]:
        """Flap setting -> why a change of CLmax between two modifications leans on its correction alone."""
        by = {s.state: (s.at_stall, s.standard_uncertainty) for s in self.states
              if s.origin == "legs" and s.at_stall is not None and s.standard_uncertainty is not None}  # fmt: skip
        flaps = [f for m, f in by if m == before and (after, f) in by]
        change = {f: by[after, f][0] - by[before, f][0] for f in flaps}
        out = {}
        for f in flaps:
            others = [change[x] for x in flaps if x != f]
            u = math.hypot(by[before, f][1], by[after, f][1])
            if len(others) > 1 and min(abs(change[f] - x) for x in others) > 2.0 * u:
                out[f] = (
                    f"the airspeed correction at the stall changed by {knots(change[f]):+.1f} kt from {before} to "
                    f"{after}, with the other flap settings by {', '.join(f'{knots(x):+.1f}' for x in others)} kt; a "
                    "change of CLmax with this flap leans on it: look for a misread leg, or fly these runs again"
                )
        return out
