"""`stalls.csv`: an owner's stalls, checked, and turned into the arrays the reduction takes."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from aerolib.case.dates import iso_dates
from aerolib.case.problems import CaseError, nearest
from aerolib.case.schema import Aircraft
from aerolib.case.tables import Column, Dialect, distinct, numbers, read_header, read_table
from aerolib.measured.stalls.record import ENDINGS, KINDS
from aerolib.units import unit

FILE = "stalls.csv"
COLUMNS: dict[str, str | None] = {
    "modification": None,
    "configuration": None,
    "flight": None,
    "ias": "speed",
    "speed_kind": None,
    "ended": None,
    "warning_ias": "speed",
    "buffet_ias": "speed",
    "pressure_altitude": "altitude",
    "temperature": "temperature",
    "weight": "mass",
    "crew": "mass",
    "fuel": "volume",
    "load": "mass",
    "cg": "length",
    "power": None,
    "entry_rate": "acceleration",
    "load_factor": None,
    "load_factor_at": None,
    "sink_rate": "speed",
    "height_lost": "altitude",
    "pilot": None,
    "remarks": None,
    "left_out": None,
}
REQUIRED = ("modification", "configuration", "ias")
HIGHEST_LIFT = "highest lift"  # the one place at which a load factor belongs to CLmax
READ_AT = (HIGHEST_LIFT, "lowest speed", "unknown")
NOT_NOTED = "not noted"
FAR_OUTSIDE = (0.85, 1.25)  # of empty and of maximum: beyond, a weight is a slip, not an overload: our judgement
LIGHTEST_PILOT = 40.0  # [kg]: our judgement
POUND = unit("lb", "mass").factor  # [kg]
LOAD_NOT_NOTED = 3.0  # standard uncertainty of a load cell left empty [kg]: our judgement
SLOWEST, FASTEST = 3.0, 300.0  # [m/s], so wide that a card in the wrong unit is named by its CLmax instead
_PLAUSIBLE = {  # lowest, highest a light airplane's card holds, SI
    "entry_rate": (0.0, 5.0),
    "load_factor": (0.3, 3.0),
    "sink_rate": (-2.0, 40.0),
    "height_lost": (0.0, 1500.0),
    "pressure_altitude": (-500.0, 6000.0),
    "temperature": (220.0, 325.0),
    "warning_ias": (5.0, 80.0),
    "buffet_ias": (5.0, 80.0),
    "weight": (1.0, 10000.0),
    "crew": (0.0, 2000.0),
    "load": (0.0, 2000.0),
    "fuel": (0.0, 2.0),
    "cg": (-50.0, 50.0),
}


@dataclass(frozen=True)
class StallTable:
    """Stalls as read: the text frame untouched, and arrays in SI of the rows that take part."""

    frame: object  # pandas frame of text, every row of the file
    columns: dict[str, Column]
    used: np.ndarray  # bool, over the rows of the frame: not left out by the owner
    row: np.ndarray  # (N,) row in the file, the header being row 1
    text: dict[str, np.ndarray]  # (N,) modification, configuration, flight, power, pilot, and what has fixed words
    si: dict[str, np.ndarray]  # (N,) by column name, NaN where not known
    below_scale: np.ndarray  # (N,)
    weight: np.ndarray  # (N,) [kg]
    weight_uncertainty: np.ndarray  # (N,) [kg], NaN: the usual
    left_out: tuple[tuple[int, str], ...] = ()  # row and the owner's reason
    warnings: tuple[str, ...] = field(default_factory=tuple)
    dialect: Dialect = Dialect()
    set_aside: tuple[int, ...] = ()  # rows that cannot be, taken out by the program; `warnings` say why

    def without(self, aside: np.ndarray, why: list[str]) -> StallTable:
        """The table without the stalls of a mask (N,), and sentences that say why."""
        used, keep = self.used.copy(), ~aside
        used[np.flatnonzero(used)[aside]] = False
        return replace(
            self, used=used, row=self.row[keep], text={k: v[keep] for k, v in self.text.items()},
            si={k: v[keep] for k, v in self.si.items()}, below_scale=self.below_scale[keep], weight=self.weight[keep],
            weight_uncertainty=self.weight_uncertainty[keep], warnings=(*why, *self.warnings),
            set_aside=tuple(self.row[aside].tolist()),
        )  # fmt: skip

    def weighed_by(self, i: int) -> str:
        """The column or columns that stall i's weight is from."""
        whole = "weight" in self.columns and np.isfinite(self.si["weight"][i])
        return self.columns["weight"].header if whole else "crew, fuel, load"


NONE_YET = f"`{FILE}` holds no stalls yet; write one row for each stall below the header"


def parse_stalls(data: bytes, aircraft: Aircraft, file: str = FILE, none_yet: bool = False) -> StallTable:
    """Read the bytes of a `stalls.csv`; `none_yet` allows a header alone."""
    frame, dialect = read_table(data, file)
    return parse_frame(frame, aircraft, file, dialect, none_yet)


def parse_frame(
    frame, aircraft: Aircraft, file: str = FILE, dialect: Dialect | None = None, none_yet: bool = False
) -> StallTable:
    """Check a frame of text (index: the row in the file) and convert it; CaseError lists everything wrong."""
    columns = read_header(frame.columns, COLUMNS, file)
    missing = [c for c in REQUIRED if c not in columns]
    if missing:
        raise CaseError(
            f"`{file}` row 1: column `{missing[0]}` is missing; needed are modification, configuration and "
            "ias with its unit, such as `ias [kt]`"
        )
    left_out = text_of(frame, columns, "left_out")
    used = left_out == ""
    skipped = tuple((int(r), str(t)) for r, t in zip(np.asarray(frame.index)[~used], left_out[~used]))
    frame_used = frame[used]
    if len(frame_used) == 0 and not none_yet:
        raise CaseError(NONE_YET)
    problems: list[str] = []
    text = _texts(frame_used, columns, aircraft, file, problems, text_of(frame, columns, "flight"))
    ias, below = _speeds(frame_used, columns["ias"], file, problems)
    si = {"ias": ias}
    for name, kind in COLUMNS.items():
        if name == "ias" or (kind is None and name != "load_factor"):
            continue
        if name in columns:
            column = columns[name]
            raw = numbers(frame_used, column, file, problems)
            si[name] = column.unit.to_si(raw) if column.unit else raw
            _plausible(name, si[name], frame_used, column, file, problems)
        else:
            si[name] = np.full(len(frame_used), np.nan)
    warnings: list[str] = []
    weight, u_weight = _weights(si, columns, aircraft, frame_used, file, problems, warnings)
    _cg(si["cg"], aircraft, frame_used, columns, text, file, warnings)
    if problems:
        raise CaseError(problems)
    si["load_factor"] = np.where(np.isnan(si["load_factor"]), np.nan, si["load_factor"])
    row = np.asarray(frame_used.index)
    return StallTable(frame, columns, used, row, text, si, below, weight, u_weight, skipped, tuple(warnings),
                      dialect or Dialect())  # fmt: skip


def text_of(frame, columns: dict[str, Column], name: str) -> np.ndarray:
    """A text column as an array; empty texts where the column is absent."""
    if name not in columns:
        return np.full(len(frame), "", dtype=object)
    return frame[columns[name].header].to_numpy(dtype=object)


def _texts(frame, columns, aircraft, file, problems, all_flights):
    text = {
        n: text_of(frame, columns, n)
        for n in ("modification", "configuration", "flight", "speed_kind", "ended", "power", "load_factor_at", "pilot")
    }
    for name in ("modification", "configuration"):
        known = [row.name for row in getattr(aircraft, name)]
        values = text[name]
        for i in np.flatnonzero(values == "")[:5]:
            problems.append(
                f"`{file}` row {frame.index[i]}: no {name}; write its name, such as '{known[0] if known else 'before'}'"
            )
        if known:
            for value in dict.fromkeys(values.tolist()):
                if value and value not in known:
                    i = int(np.argmax(values == value))
                    problems.append(
                        f"`{file}` row {frame.index[i]}: {name} '{value}' is not in `aircraft.toml`; "
                        f"{nearest(value, known)} (or add a table [[{name}]] with this name)"
                    )
    for name, allowed in (("speed_kind", KINDS), ("ended", ENDINGS), ("load_factor_at", READ_AT)):
        values = text[name]
        for value in dict.fromkeys(values.tolist()):
            if value and value not in allowed:
                i = int(np.argmax(values == value))
                problems.append(
                    f"`{file}` row {frame.index[i]}: {name} '{value}' is not one of {', '.join(allowed)}; "
                    f"{nearest(value, allowed)}"
                )
        text[name] = np.where(values == "", "unknown", values)
    text["flight"] = iso_dates(text["flight"], frame.index, file, problems, all_flights)
    text["flight"] = np.where(text["flight"] == "", NOT_NOTED, text["flight"])
    text["power"] = np.where(text["power"] == "", NOT_NOTED, text["power"])
    return {name: values.astype(np.str_) for name, values in text.items()}


def _speeds(frame, column, file, problems):
    """Speeds [m/s] and whether each is only an upper bound, '<35'."""
    import pandas as pd

    cells = frame[column.header]
    stripped = distinct(cells, lambda t: t.removeprefix("<").strip())
    below = (stripped != cells).to_numpy(dtype=bool)
    for i in np.flatnonzero((stripped == "").to_numpy())[:20]:
        problems.append(
            f"`{file}` row {frame.index[i]}: no speed in column `{column.header}`; write it, write `<35` if "
            "the needle was below its scale, or give a reason in column `left_out`"
        )
    shown = pd.DataFrame({column.header: stripped}, index=frame.index)
    value = numbers(shown, column, file, problems)
    for i in np.flatnonzero(value <= 0.0)[:20]:
        problems.append(
            f"`{file}` row {frame.index[i]}: {stripped.iloc[i]} in column `{column.header}` is not a speed; "
            "needed is a positive number"
        )
    si = column.unit.to_si(value)
    for i in np.flatnonzero((value > 0.0) & ((si < SLOWEST) | (si > FASTEST)))[:20]:
        problems.append(
            f"`{file}` row {frame.index[i]}: {stripped.iloc[i]} in column `{column.header}` is {si[i]:.4g} m/s; "
            f"expected is {SLOWEST:g} to {FASTEST:g}: a slip, or a column in another unit?"
        )
    return si, below


def _plausible(name, values, frame, column, file, problems):
    if name not in _PLAUSIBLE:
        return
    low, high = _PLAUSIBLE[name]
    with np.errstate(invalid="ignore"):
        odd = np.isfinite(values) & ((values < low) | (values > high))
    for i in np.flatnonzero(odd)[:20]:
        cell = frame[column.header].iloc[i]
        ends = [column.unit.from_si(x) if column.unit else x for x in (low, high)]
        unit = f" {column.unit.text}" if column.unit else ""
        problems.append(
            f"`{file}` row {frame.index[i]}: {cell} in column `{column.header}` is outside {round(ends[0], 1):g} to "
            f"{round(ends[1], 1):g}{unit}: a slip, or a column in another unit?"
        )


def _weights(si, columns, aircraft, frame, file, problems, warnings):
    """Weight of every stall [kg] and, where it had to be guessed, its standard uncertainty."""
    w = aircraft.weights
    parts = np.full(len(frame), w.empty)
    for name, factor in (("crew", 1.0), ("fuel", w.fuel_density)):
        parts = parts + si[name] * factor  # NaN where it is not known
    parts = parts + np.nan_to_num(si["load"])
    weight = np.where(np.isfinite(si["weight"]), si["weight"], parts)
    uncertainty = np.full(len(frame), np.nan)
    if "load" in columns:  # asked for and not answered: nothing aboard, most likely, but not for certain
        uncertainty[~np.isfinite(si["weight"]) & ~np.isfinite(si["load"])] = LOAD_NOT_NOTED
    unknown = ~np.isfinite(weight)
    if unknown.any():
        # Anything between empty with a pilot and the maximum: the middle, with a uniform spread.
        low = w.empty + 0.1 * (w.maximum - w.empty)
        weight = np.where(unknown, 0.5 * (low + w.maximum), weight)
        uncertainty[unknown] = (w.maximum - low) / np.sqrt(12.0)
        rows = ", ".join(str(r) for r in frame.index[unknown][:5])
        warnings.append(
            f"`{file}` row {rows}: weight not known (give weight, or crew and fuel); anything between empty "
            "and maximum was allowed for, which widens the interval"
        )
    _crew(si["crew"], columns, frame, file, problems, warnings)
    outside = (weight < w.empty) | (weight > w.maximum)
    for i in np.flatnonzero(outside & ~unknown)[:3]:
        whole = np.isfinite(si["weight"][i])
        column = columns["weight" if whole else "crew"]
        header = column.header if whole else "crew, fuel, load"
        factor = weight[i] / w.maximum
        hint = (
            ": in kg it would be inside; is the column in kg?"
            if column.unit.text != "kg" and w.empty <= weight[i] / POUND <= w.maximum
            else ": in lb it would be inside; is the column in lb?"
            if column.unit.text == "kg" and w.empty <= weight[i] * POUND <= w.maximum
            else ""
        )
        if hint and (factor > 1.5 or weight[i] < w.empty):
            problems.append(
                f"`{file}` row {frame.index[i]}: {weight[i]:.0f} kg from `{header}` is outside the "
                f"{w.empty:.0f} to {w.maximum:.0f} kg of [weights]{hint}"
            )
        elif FAR_OUTSIDE[0] * w.empty <= weight[i] <= FAR_OUTSIDE[1] * w.maximum:  # else it is set aside
            warnings.append(
                f"`{file}` row {frame.index[i]}: weight {weight[i]:.0f} kg is outside the {w.empty:.0f} to "
                f"{w.maximum:.0f} kg of [weights]; reduced as given, check the weighing"
            )
    return weight, uncertainty


def _crew(crew, columns, frame, file, problems, warnings):
    """Crews too light to fly, and those off the card's usual crew by the ratio of kilograms and pounds."""
    if "crew" not in columns or not np.isfinite(crew).any():
        return
    header, text = columns["crew"].header, columns["crew"].unit.text
    factor = columns["crew"].unit.factor
    usual = float(np.nanmedian(crew))
    for i in np.flatnonzero(crew < LIGHTEST_PILOT)[:20]:
        cell = frame[header].iloc[i]
        hint = "what did the pilot weigh?"
        if text != "kg" and crew[i] / factor >= LIGHTEST_PILOT:
            hint = f"in kg it would be {crew[i] / factor:.0f} kg: was it written in kg?"
        problems.append(
            f"`{file}` row {frame.index[i]}: {cell} in column `{header}` is a crew of {crew[i]:.0f} kg, and no pilot "
            f"weighs less than {LIGHTEST_PILOT:g} kg; {hint} Correct it, or give a reason in column `left_out`"
        )
    with np.errstate(invalid="ignore", divide="ignore"):
        off = np.abs(np.abs(np.log(crew / usual)) - np.log(1.0 / POUND)) < 0.05
    for i in np.flatnonzero(off & (crew >= LIGHTEST_PILOT))[:3]:
        warnings.append(
            f"`{file}` row {frame.index[i]}: {frame[header].iloc[i]} in column `{header}` and the card's usual "
            f"{usual / factor:.0f} {text} stand to each other as kg and lb do: one person more or less, or a row in "
            "another unit?"
        )


def _cg(cg, aircraft, frame, columns, text, file, warnings):
    known = np.isfinite(cg)
    w = aircraft.weights
    if not known.any():
        if len(set(text["modification"].tolist())) > 1:
            warnings.append(
                f"`{file}`: no centre of gravity noted; a forward shift raises the stall speed, so a change "
                "between modifications may be a change of loading"
            )
        return
    unit = columns["cg"].unit
    if w.cg_forward is not None and w.cg_aft is not None:
        low, high = sorted((w.cg_forward, w.cg_aft))
        for i in np.flatnonzero(known & ((cg < low - 1e-9) | (cg > high + 1e-9)))[:3]:
            warnings.append(
                f"`{file}` row {frame.index[i]}: cg {unit.from_si(cg[i]):.4g} {unit.text} is outside "
                f"{unit.from_si(low):.4g} to {unit.from_si(high):.4g} {unit.text}; reduced as given, check "
                "the loading"
            )
        travel = high - low
    else:
        travel = None
    means = {
        m: float(np.mean(cg[known & (text["modification"] == m)]))
        for m in dict.fromkeys(text["modification"][known].tolist())
    }
    if len(means) > 1:
        spread = max(means.values()) - min(means.values())
        # 7 % of travel was the CG tolerance of certification tests (former 14 CFR 23.21, from memory).
        if (travel and spread > 0.07 * travel) or (not travel and spread > 0.01):
            listed = ", ".join(f"{m} {unit.from_si(v):.4g}" for m, v in means.items())
            warnings.append(
                f"`{file}`: the centre of gravity differs between modifications ({listed} {unit.text}); "
                "part of any change of stall speed is that of the tail load"
            )
