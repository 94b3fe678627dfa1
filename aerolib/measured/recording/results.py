"""Stalls found in a recording, and what they say: frozen objects that show themselves."""

from __future__ import annotations

import html
import math
from dataclasses import dataclass, field

from aerolib.estimate import K95
from aerolib.units import from_si, knots

CAUTIONS = (
    "A stall found by a program is a proposal: look at each picture before it is accepted.",
    "Film and log so that a pilot alone writes nothing and looks at no screen near the stall.",
    "Never turn at the stall to get another heading. Turn at a faster speed, at stall-test height, then slow down.",
    "Stalls need height, an airplane inside its weight and balance limits, and the consent of whoever licenses the "
    "flight. Placards, markings and approach speeds are not changed from this output.",
)
METHOD = (
    "Lowest speed: a cubic through the readings around it; the bias of a minimum of noise, -var(slope)/(2 v''), is "
    "taken out. Entry rate: knots lost over the seconds of the last 10 % of speed, as indicated: "
    "from 1.1 times the speed at the stall, which is "
    "the first moment within 0.25 m/s of the lowest. Definition of the rate: common "
    "practice of certification guidance, from memory."
)


@dataclass(frozen=True)
class FoundStall:
    """One approach to the stall, measured; `refused` says why it cannot be a stall point, None where it can."""

    time: float  # [s] of the recording
    ias: float  # [m/s] as indicated, bias of noise taken out; ground speed where no airspeed was recorded
    standard_uncertainty: float  # [m/s] of reading it, not of the indicator
    lowest_read: float  # [m/s] the lowest single reading
    speed_kind: str = "minimum"
    ended: str = "unknown"  # break, mush, stop, early, unknown: a proposal
    entry_rate: float = math.nan  # [m/s2] of indicated airspeed over the last 10 % of it, positive
    entry_start: float = math.nan  # [s] when 1.1 times the stall speed was passed
    sink_rate: float = math.nan  # [m/s] positive down, at the stall
    height_lost: float = math.nan  # [m]
    altitude: float = math.nan  # [m]
    heading: float = math.nan  # [rad] of nose, or track where no heading was recorded
    bank: float = math.nan  # [rad] mean of the entry
    load_factor: float = math.nan  # [-] normal to the datum line of the body, of highest lift, referred to `ias`
    load_factor_uncertainty: float = math.nan  # [-]
    warning_ias: float = math.nan  # [m/s]
    buffet_ias: float = math.nan  # [m/s]
    ground_velocity: tuple[float, float] = (math.nan, math.nan)  # [m/s] east, north
    signs: tuple[str, ...] = ()  # what showed a break
    notes: tuple[str, ...] = ()
    refused: str | None = None

    def as_dict(self) -> dict:
        """Plain values for the JSON; speeds in knots as indicated, null where not recorded."""

        def number(value, unit=None, kind=None, digits=1):
            return (
                None
                if not math.isfinite(value)
                else round(float(from_si(value, unit, kind) if unit else value), digits)
            )

        return {
            "time_s": number(self.time),
            "ias_kt": number(self.ias, "kt", "speed"),
            "speed_kind": self.speed_kind,
            "ended": self.ended,
            "entry_rate_kt_s": number(self.entry_rate, "kt/s", "acceleration", 2),
            "height_lost_ft": number(self.height_lost, "ft", "altitude", 0),
            "load_factor": number(self.load_factor, digits=2),
            "refused": self.refused,
        }


@dataclass(frozen=True)
class StallsFound:
    """All approaches of one recording, in their order."""

    name: str
    items: tuple[FoundStall, ...]
    has_airspeed: bool = True  # False: speeds are ground speeds, to be put together by `airspeed_from_ground`
    notes: tuple[str, ...] = field(default_factory=tuple)

    @property
    def stalls(self) -> tuple[FoundStall, ...]:
        """Those that can be stall points."""
        return tuple(s for s in self.items if s.refused is None)

    def text(self) -> str:
        """A line for each."""
        lines = [f"{self.name}: {len(self.stalls)} stalls, {len(self.items) - len(self.stalls)} refused"]
        for k, s in enumerate(self.items, 1):
            what = f"refused: {s.refused}" if s.refused else f"{s.ended}, {', '.join(s.signs) or 'no sign of a break'}"
            lines.append(f"{k}. at {s.time:.1f} s, {speed_text(s)}: {what}")
        return "\n".join([*lines, *self.notes])

    def __str__(self) -> str:
        return self.text()

    def _repr_html_(self) -> str:
        head = ("no.", "time [s]", "IAS [kt]" if self.has_airspeed else "ground speed [kt]", "rate [kt/s]",
                "load factor", "height lost [ft]", "ended", "seen by, or refused because")  # fmt: skip
        rows = "".join(
            "<tr>" + "".join(f"<td>{html.escape(c)}</td>" for c in (str(k), *cells(s))) + "</tr>"
            for k, s in enumerate(self.items, 1)
        )
        notes = "".join(f"<li>{html.escape(n)}</li>" for n in self.notes)
        cautions = "".join(f"<li>{html.escape(c)}</li>" for c in CAUTIONS)
        return (
            f"<p><b>{html.escape(self.name)}</b>: {len(self.stalls)} stalls, {len(self.items) - len(self.stalls)} "
            f"refused.</p><table><tr>{''.join(f'<th>{h}</th>' for h in head)}</tr>{rows}</table><ul>{notes}</ul>"
            f"<ul class='cautions'>{cautions}</ul><p class='small'>{html.escape(METHOD)}</p>"
        )

    def as_dict(self) -> dict:
        """Plain values for the JSON."""
        return {"recording": self.name, "found": len(self.stalls), "refused": len(self.items) - len(self.stalls),
                "items": [s.as_dict() for s in self.items]}  # fmt: skip


def cells(s: FoundStall) -> tuple[str, ...]:
    """Time, speed, rate, load factor, height lost, ending and signs of a stall, as text [units in the heading].

    Parameters
    ----------
    s : FoundStall [SI]

    Returns
    -------
    tuple of str [s, kt, kt/s, -, ft, -, -]
    """

    def shown(value, form):
        return format(float(value), form) if math.isfinite(value) else "-"

    what = s.refused or ", ".join((*s.signs, *s.notes)) or "speed only"
    return (f"{s.time:.1f}", f"{knots(s.ias):.1f} ± {K95 * knots(s.standard_uncertainty):.1f}",
            shown(knots(s.entry_rate), ".1f"), shown(s.load_factor, ".2f"), shown(s.height_lost / 0.3048, ".0f"),
            s.ended, what)  # fmt: skip


def speed_text(s: FoundStall) -> str:
    """'41.3 kt (lowest reading 40.6 kt)'.

    Parameters
    ----------
    s : FoundStall [m/s]

    Returns
    -------
    str [kt]
    """
    return f"{knots(s.ias):.1f} kt (lowest reading {knots(s.lowest_read):.1f} kt)"
