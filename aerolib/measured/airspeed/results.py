"""What an airspeed calibration gives back: small frozen objects that show themselves."""

from __future__ import annotations

import html
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from aerolib.estimate import K95, digits
from aerolib.measured.airspeed.circle import Circle
from aerolib.measured.airspeed.correction import LiftCorrection
from aerolib.measured.airspeed.doubts import MisreadLeg, UnitDoubt
from aerolib.measured.labels import joined
from aerolib.units import from_si, knots, on_dial, unit

CAUTIONS = (
    "Slow legs are flown at the height of a stall test, flaps and power set beforehand, and turned at a faster speed: "
    "never turn at the speed of a slow leg.",
    "Legs are flown with somebody looking out: a second person, or a camera on needle, altimeter and receiver, writes.",
    "The correction holds for the state it was flown in: static source, pitot tube, doors and windows as noted. What "
    "moves them or changes the wing asks for new legs.",
    "Markings, placards and approach speeds are not changed from this output. Local rules and licensed practice "
    "decide.",
)
MAGNETIC = (
    "Tracks may be magnetic or true: turning all of them by one angle turns the wind and leaves the airspeed as it is."
)


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
    height: float  # pressure altitude [m]
    temperature: float  # [K]
    noted: bool  # the temperature was noted
    weight: float  # [kg]
    notes: tuple[str, ...] = ()
    speed_unit: str = "kt"  # of the dial

    @property
    def name(self) -> str:
        """'before, clean, run 2'."""
        return f"{joined(self.modification, self.flap)}, run {self.run}"

    def __str__(self) -> str:
        c = self.circle
        miss = "fits exactly" if len(c.residuals) == 3 else f"misses by {knots(np.std(c.residuals)):.1f} kt"
        return (
            f"{self.name}: {on_dial(self.ias, self.speed_unit, 1)} indicated, calibrated {knots(self.cas):.1f} ± "
            f"{knots(K95 * self.own):.1f} kt (95 %, from {len(c.residuals)} legs, {miss}); wind "
            f"{knots(c.wind_speed):.0f} kt from {math.degrees(c.wind_from):.0f} degrees; CL {self.cl:.2f}"
        )


@dataclass(frozen=True)
class StateCalibration:
    """The correction of one modification and flap setting, at its stall."""

    modification: str
    flap: str
    origin: str  # legs; legs, out of reach; legs of another state; assumed
    correction: LiftCorrection | None  # None: the assumed error stands
    runs: int
    reading: float | None  # in the middle of the stalls [m/s]
    at_stall: float | None  # what is added to the reading there [m/s]
    standard_uncertainty: float | None  # of that [m/s]
    extension: float | None  # lift coefficient of the stall over that of the slowest run [-]
    slowest: float | None  # reading of the slowest run [m/s]
    slowest_cl: float | None  # its lift coefficient [-]
    notes: tuple[str, ...] = ()
    speed_unit: str = "kt"  # of the dial

    @property
    def name(self) -> str:
        """'after, clean'."""
        return joined(self.modification, self.flap)

    def headline(self) -> str:
        """The result in one line of text."""
        if self.at_stall is None:
            return "no correction: the assumed error stands"
        dial, u = self.speed_unit, self.standard_uncertainty
        d = digits(from_si(u, dial, "speed"))
        text = (
            f"add {on_dial(self.at_stall, dial, d, '+')} ± {on_dial(K95 * u, dial, d)} (95 %) to "
            f"{on_dial(self.reading, dial)} indicated"
        )
        if self.extension > 1.0:
            return f"{text}, carried by a ratio of lift coefficients of {self.extension:.2f}"
        return f"{text}, inside the speeds flown"

    def __str__(self) -> str:
        return "\n  ".join([f"{self.name}: {self.headline()}", *self.notes])

    def as_dict(self) -> dict:
        """One item of the JSON list `airspeed`; the caller names the configurations that fly with this flap."""
        return {
            "modification": self.modification,
            "flap": self.flap,
            "origin": self.origin,
            "runs": self.runs,
            "indicated_at_stall_kt": _kt(self.reading),
            "correction_at_stall_kt": _kt(self.at_stall),
            "standard_uncertainty_kt": _kt(self.standard_uncertainty),
            "interval95_kt": None if self.at_stall is None else [
                _kt(self.at_stall + k * K95 * self.standard_uncertainty) for k in (-1, 1)
            ],
            "extension": None if self.extension is None else float(f"{self.extension:.4g}"),
            "slowest_run_indicated_kt": _kt(self.slowest),
            "notes": list(self.notes),
        }  # fmt: skip


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
    notes: tuple[str, ...] = ()
    inputs: Mapping[str, str] = field(default_factory=dict)
    speed_unit: str = "kt"  # of the dial
    source: str = (
        "ground velocities lie on a circle about the wind (D. Gray, 1998; SFTE Reference Handbook 2013 ch. 4); "
        "y = 1 - (V_i / V)^2 over the lift coefficient, by linear regression with stated sizes"
    )

    @property
    def corrections(self) -> dict[tuple[str, str], LiftCorrection]:
        """(modification, flap) -> the correction, for every state that has one."""
        return {(s.modification, s.flap): s.correction for s in self.states if s.correction is not None}

    def __getitem__(self, state: tuple[str, str]) -> StateCalibration:
        """The state of (modification, flap)."""
        for s in self.states:
            if (s.modification, s.flap) == tuple(state):
                return s
        raise KeyError(f"no state {', '.join(state)}; there are {'; '.join(s.name for s in self.states)}")

    def sentences(self) -> list[str]:
        """What a reader must know beside the table."""
        out = [f"left out: {r}" for r in (*self.refused, *self.misread)]
        out += [f"{r.name}: {note}" for r in self.runs for note in r.notes]
        out += [f"{s.name}: {note}" for s in self.states for note in s.notes]
        return [*out, *self.asked(), *self.unlike(), *self.notes]

    def asked(self) -> list[str]:
        """Whether a column may be in another unit, where the runs were used nevertheless."""
        if self.doubt is None or self.doubt.sure:
            return []
        return [f"{self.doubt}, near the ratio of two units of speed: look at the units of both columns; the runs were "
                "used, and more of them at higher speeds, where the position error is small, would tell"]  # fmt: skip

    def unlike(self) -> list[str]:
        """Flap settings whose correction changed between the modifications otherwise than the others' did."""
        names = list(dict.fromkeys(s.modification for s in self.states if s.origin == "legs"))
        return [] if len(names) < 2 else [f"{f}: {why}" for f, why in self.leaning(names[0], names[-1]).items()]

    def leaning(self, before: str, after: str) -> dict[str, str]:
        """Flap setting -> why a change of CLmax between two modifications leans on its correction alone."""
        by = {(s.modification, s.flap): s for s in self.states if s.origin == "legs" and s.at_stall is not None}
        flaps = [f for m, f in by if m == before and (after, f) in by]
        change = {f: by[after, f].at_stall - by[before, f].at_stall for f in flaps}
        out = {}
        for f in flaps:
            others = [change[x] for x in flaps if x != f]
            u = math.hypot(*(by[m, f].standard_uncertainty for m in (before, after)))
            if len(others) > 1 and min(abs(change[f] - x) for x in others) > 2.0 * u:
                out[f] = (
                    f"the airspeed correction at the stall changed by {knots(change[f]):+.1f} kt from {before} to "
                    f"{after}, with the other flap settings by {', '.join(f'{knots(x):+.1f}' for x in others)} kt; a "
                    "change of CLmax with this flap leans on it: look for a misread leg, or fly these runs again"
                )
        return out

    def __str__(self) -> str:
        return "\n".join([*map(str, self.states), *map(str, self.runs), *self.sentences()])

    def table(self) -> list[dict[str, str]]:
        """Rows of text for a table: the same in terminal, workbook and report."""
        rows, text = [], self.speed_unit
        dial = unit(text, "speed").from_si
        for s in self.states:
            known = s.at_stall is not None
            u = dial(s.standard_uncertainty if known else self.assumed)
            d = digits(u)
            rows.append({
                "modification": s.modification,
                "flap": s.flap,
                f"IAS at the stall [{text}]": "-" if s.reading is None else f"{dial(s.reading):.1f}",
                f"add [{text}]": f"{dial(s.at_stall):+.{d}f}" if known else "assumed 0",
                f"within (95 %) [{text}]": f"± {K95 * u:.{d}f}",
                "stall over slowest run, CL [-]": "-" if s.extension is None else f"{s.extension:.2f}",
                f"slowest run, IAS [{text}]": "-" if s.slowest is None else f"{dial(s.slowest):.0f}",
                "runs": str(s.runs),
                "from": s.origin,
            })  # fmt: skip
        return rows

    def runs_table(self) -> list[dict[str, str]]:
        """Rows of text, one a run."""
        rows = []
        for r in self.runs:
            c, d = r.circle, digits(knots(r.own))
            rows.append({
                "run": r.name,
                "power": r.power,
                "legs": str(len(c.residuals)),
                f"IAS [{self.speed_unit}]": f"{from_si(r.ias, self.speed_unit, 'speed'):.1f}",
                "true airspeed [kt]": f"{knots(c.airspeed):.{d}f}",
                "calibrated [kt CAS]": f"{knots(r.cas):.{d}f}",
                "within (95 %) [kt]": f"± {knots(K95 * r.own):.{d}f}",
                "wind [kt from deg]": f"{knots(c.wind_speed):.0f} from {math.degrees(c.wind_from):.0f}",
                "CL [-]": f"{r.cl:.2f}",
                "residuals of the legs [kt]": " ".join(f"{knots(x):+.1f}" for x in c.residuals)
                if len(c.residuals) > 3 else "exact",
            })  # fmt: skip
        return rows

    def _repr_html_(self) -> str:
        notes = "".join(f"<li>{html.escape(n)}</li>" for n in self.sentences())
        cautions = "".join(f"<li>{html.escape(c)}</li>" for c in CAUTIONS)
        inputs = "; ".join(f"{html.escape(k)} {html.escape(v)}" for k, v in self.inputs.items())
        return (
            f"{_table(self.table())}{_table(self.runs_table())}<ul>{notes}</ul><p>"
            f"{html.escape(MAGNETIC)} Inputs: {inputs or 'none beside the legs'}. Method: "
            f"{html.escape(self.source)}; one leg was good within {knots(K95 * self.leg):.1f} kt (95 %).</p>"
            f"<ul class='cautions'>{cautions}</ul>"
        )

    def as_list(self) -> list[dict]:
        """The JSON list `airspeed`."""
        return [s.as_dict() for s in self.states]


def _table(rows) -> str:
    if not rows:
        return ""
    head = "".join(f"<th>{html.escape(k)}</th>" for k in rows[0])
    body = "".join("<tr>" + "".join(f"<td>{html.escape(v)}</td>" for v in r.values()) + "</tr>" for r in rows)
    return f"<table class='aerolib'><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _kt(speed) -> float | None:
    return None if speed is None else float(f"{float(knots(speed)):.6g}")
