"""The card strapped to the knee: heights, build-up to tick, and grids for the stalls."""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from aerolib.case.problems import CaseError, nearest
from aerolib.case.tables import CARD_UNITS
from aerolib.show.print import card_parts as parts
from aerolib.show.print.drawings import pdf_of
from aerolib.study import Study
from aerolib.units import FOOT, Unit, unit

COMMON = 3000 * FOOT  # [m] above ground; common practice, no source
TIMES_LOST = 3  # the largest height lost so far is kept this many times above the recovery height: our judgement
HIGHEST, HIGHEST_GROUND, MOST_LOST = 2500.0, 5000.0, 1500.0  # [m]; beyond them feet were meant, or a slip
MOST_STALLS = 12  # rows of one grid
# What was found in print about height: who, what, how it was read.
GUIDANCE = (
    ("FAA AC 90-89A (1995), page 46", "5,000 ft above ground for slow flight on the first flight", "read"),
    ("a stall test card after AC 90-89", "6,000 ft above ground, more where that is not enough", "read second-hand"),
    ("Transport Canada TP 13984", "stalls recovered at or above 2,000 ft above ground", "read"),
    ("14 CFR 91.303", "aerobatics never below 1,500 ft above ground", "read"),
)


@dataclass(frozen=True)
class Heights:
    """What the card says about height, in the owner's unit, each rounded up so that the sums agree on paper."""

    unit: str
    recovery: int  # above ground
    lost: int  # in one stall
    entry: int  # above ground
    ground: int | None  # elevation, which an altimeter on QNH shows there; None: to be added by hand
    origin: str  # where `lost` comes from
    low: bool  # recovery below common practice

    def say(self, value: int) -> str:
        """'5,750 ft', kept on one line."""
        return f"{value:,}\u00a0{self.unit}"

    def warning(self) -> str:
        """What is said of a recovery height below common practice; empty where it is not."""
        if not self.low:
            return ""
        return "LOW recovery height: the usual least is 3,000 ft (914 m) above ground (common practice, no source)."

    def working(self) -> str:
        """The sum that gives the entry height, and what is added for the ground."""
        total = self.recovery + TIMES_LOST * self.lost
        words = f"{self.recovery:,} + {TIMES_LOST} x {self.lost:,} ({self.origin}) = {self.say(total)} above ground"
        words += "" if total == self.entry else f", rounded up to {self.say(self.entry)}"
        if self.ground is None:
            return f"{words}. Ground elevation not given: add it and write both heights by hand, altimeter on QNH."
        return f"{words}. Ground elevation {self.say(self.ground)}, altimeter on QNH."


def kneeboard_card(
    study: Study,
    path: str | Path,
    *,
    recovery_height: float | None,
    ground_elevation: float | None = None,
    paper: str = "A5",
    modification: str | None = None,
    stalls: int = 4,
    power_stalls: bool = False,
    turning_stalls: bool = False,
    build_up_done: bool = False,
    height_lost: float | None = None,
) -> Path:
    """Write the card for the knee: part 1 the build-up to tick, part 2 a grid of stalls for each configuration.

    Parameters
    ----------
    study : Study [-]
        The airplane, its configurations and the stalls so far; their headers give the card its units.
    path : path [-]
        The PDF to write; its folder must exist. A file there is replaced.
    recovery_height : float [m]
        Height above ground at which every recovery must be complete. There is no card without it.
    ground_elevation : float [m]
        Of the ground below the test area, above sea level. None: the altimeter's heights stay blank, to be filled in
        by hand; with it they are those of an altimeter on QNH.
    paper : str [-]
        'A5' or 'half Letter'.
    modification : str [-]
        What is flown; the last one of the case where none is given.
    stalls : int [-]
        Rows of each grid, 1 to 12.
    power_stalls, turning_stalls : bool [-]
        Put these steps on the build-up, and leave the power to be filled in on the grids.
    build_up_done : bool [-]
        Part 1 has been flown, ticked and signed for this modification. Otherwise part 2 says not to use it yet.
    height_lost : float [m]
        The most that one stall is expected to lose, an estimate. Needed where no stall of the case has its
        `height_lost` noted; where one has, the larger of the two counts.

    Returns
    -------
    Path [-]
        The file written: one page or more for each part, printed 7 mm inside the paper.

    Raises
    ------
    CaseError
        A height is missing or cannot be meant, or there is no such paper, modification or number of stalls.

    Warns
    -----
    UserWarning
        The recovery height is below 3,000 ft above ground; the card says so too.
    """
    if paper not in parts.PAPERS:
        raise CaseError(f"there is no card on {paper!r}; write 'A5' or 'half Letter'")
    if isinstance(stalls, bool) or not isinstance(stalls, int) or not 1 <= stalls <= MOST_STALLS:
        raise CaseError(f"stalls = {stalls!r} does not fit on a card; write a whole number from 1 to {MOST_STALLS}")
    heights = _heights(study, recovery_height, ground_elevation, height_lost)
    card = parts.Card(
        airplane=_plain(study.name),
        invented=study.aircraft.invented,
        modification=_plain(_modification(study, modification)),
        configurations=tuple(_plain(name) for name in _configurations(study)),
        heights=heights,
        columns=_columns(study),
        first_mark=_first_mark(study),
        stalls=stalls,
        power=power_stalls,
        turning=turning_stalls,
        done=build_up_done,
        guidance="; ".join(f"{who}: {what} ({how})" for who, what, how in GUIDANCE),
    )
    if heights.low:
        warnings.warn(heights.warning(), stacklevel=2)
    path = Path(path)
    path.write_bytes(pdf_of(parts.pages(card, *parts.PAPERS[paper]), "Card for stall tests"))
    return path


def _heights(study: Study, recovery, ground, lost) -> Heights:
    shown = "; ".join(f"{who}: {what} ({how})" for who, what, how in GUIDANCE)
    if not _number(recovery) or recovery <= 0.0:
        given = "is not given" if recovery is None else f"is {recovery!r}, which is no height"
        raise CaseError(
            f"recovery_height {given}; needed is the height above ground, in meters, at which recovery must be "
            f"complete: there is no card without it. Published guidance: {shown}. Common practice, no source: not "
            "below 3,000 ft (914 m) above ground. Choose it with a licensed instructor or inspector"
        )
    if recovery > HIGHEST:
        raise CaseError(
            f"recovery_height is {recovery:g} m, that is {recovery / FOOT:,.0f} ft above ground; expected is at most "
            f"{HIGHEST:g} m: were feet meant? One foot is 0.3048 m"
        )
    if ground is not None and not (_number(ground) and -500.0 <= ground <= HIGHEST_GROUND):
        raise CaseError(
            f"ground_elevation is {ground!r}; needed is that of the ground below the test area in meters above sea "
            f"level, -500 to {HIGHEST_GROUND:g}, or nothing: the heights on QNH are then filled in by hand"
        )
    if lost is not None and not (_number(lost) and 0.0 < lost <= MOST_LOST):
        raise CaseError(
            f"height_lost is {lost!r}; needed is the most that one stall is expected to lose, in meters, more than 0 "
            f"and at most {MOST_LOST:g}"
        )
    seen = _largest_lost(study)
    if lost is None and seen is None:
        raise CaseError(
            "the height lost in a stall is not known: no row of `stalls.csv` has its height_lost noted; give an "
            "estimate, height_lost in meters, the most that one stall is expected to lose, recovery included"
        )
    column = study.stalls.columns.get("pressure_altitude")
    u = column.unit if column else unit(CARD_UNITS["altitude"], "altitude")
    step = 10 if u.text == "ft" else 5

    def up(metres: float, step: int) -> int:
        return step * math.ceil(u.from_si(metres) / step - 1e-6)

    most = max(x for x in (seen, lost) if x is not None)
    above, in_one = up(recovery, step), up(most, 1)
    return Heights(
        unit=u.text,
        recovery=above,
        lost=in_one,
        entry=step * math.ceil((above + TIMES_LOST * in_one) / step),
        ground=None if ground is None else up(ground, step),
        origin="largest height lost so far" if most == seen else "estimate of the height lost",
        low=recovery < COMMON - 1e-6,
    )


def _number(value) -> bool:
    real = isinstance(value, (int, float, np.integer, np.floating)) and not isinstance(value, bool)
    return real and math.isfinite(value)


def _largest_lost(study: Study) -> float | None:
    """The largest height lost in any stall [m]; a stall left out for its speed lost its height all the same."""
    import pandas as pd

    column = study.stalls.columns.get("height_lost")
    if column is None:
        return None
    cells = pd.to_numeric(study.stalls.frame[column.header], errors="coerce").to_numpy(dtype=float)
    metres = column.unit.to_si(cells)
    metres = metres[np.isfinite(metres) & (metres > 0.0) & (metres <= MOST_LOST)]
    return float(metres.max()) if len(metres) else None


def _modification(study: Study, wanted: str | None) -> str:
    if wanted is None:
        return study.states[-1]
    if wanted not in study.states:
        raise CaseError(f"the case has no modification {wanted!r}; {nearest(wanted, study.states)}")
    return wanted


def _configurations(study: Study) -> list[str]:
    """Names by rising flap setting; those without one last, in the order of the file."""
    rows = study.aircraft.configuration
    if not rows:
        return list(dict.fromkeys(study.stalls.text["configuration"].tolist()))
    return [c.name for c in sorted(rows, key=lambda c: (c.flap is None, c.flap or 0.0))]


def _columns(study: Study) -> dict[str, str]:
    """The unit of each column that is written in flight, by its name in `stalls.csv`."""
    columns = study.stalls.columns

    def of(name: str, *otherwise: str) -> str:
        for candidate in (name, *otherwise):
            if candidate in columns:
                return columns[candidate].unit.text
        return ""

    speed: Unit = columns["ias"].unit
    rate = {"kt": "kt/s", "mph": "mph/s", "km/h": "km/h/s"}.get(speed.text, CARD_UNITS["acceleration"])
    height = of("pressure_altitude") or CARD_UNITS["altitude"]
    return {
        "ias": speed.text,
        "warning_ias": of("warning_ias", "ias"),
        "buffet_ias": of("buffet_ias", "ias"),
        "entry_rate": of("entry_rate") or rate,
        "height_lost": of("height_lost") or height,
        "fuel": of("fuel") or CARD_UNITS["volume"],
        "crew": of("crew", "weight", "load") or CARD_UNITS["mass"],
        "cg": of("cg") or CARD_UNITS["length"],
        "pressure_altitude": height,
        "temperature": of("temperature") or CARD_UNITS["temperature"],
    }


def _first_mark(study: Study) -> str:
    """What is written for a reading below the scale, such as '<35'."""
    starts = study.aircraft.indicator.scale_starts
    return "<35" if starts is None else f"<{study.stalls.columns['ias'].unit.from_si(starts):.3g}"


def _plain(words: str) -> str:
    """One line of text."""
    return " ".join(words.split())
