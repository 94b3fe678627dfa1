"""`stalls.csv`: an owner's stalls, checked, and turned into the arrays the reduction takes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.case.columns import TOLD, Column, Schema, Table, by_name
from aerolib.case.problems import CaseError
from aerolib.case.schema import Aircraft
from aerolib.case.tables import Dialect, read_table
from aerolib.measured.stalls.record import ENDINGS, KINDS
from aerolib.units import POUND

FILE = "stalls.csv"
HIGHEST_LIFT = "highest lift"  # the one place at which a load factor belongs to CLmax
READ_AT = (HIGHEST_LIFT, "lowest speed", "unknown")
NOT_NOTED = "not noted"
FAR_OUTSIDE = (0.85, 1.25)  # of empty and of maximum: beyond, a weight is a slip, not an overload: our judgement
NO_WING = 4.0  # CLmax that no wing at idle reaches: our judgement
LIGHTEST_PILOT = 40.0  # [kg]: our judgement
UNIT_WITHIN = 0.1  # ln: how close to the ratio of two units a flight's crew or fuel is asked about: our judgement
LITER = 1e-3  # [m3]
LOAD_NOT_NOTED = 3.0  # standard uncertainty of a load cell left empty [kg]: our judgement
ALTITUDE, TEMPERATURE = (-500.0, 6000.0), (220.0, 325.0)  # [m], [K]
COLUMNS = by_name(
    Column("modification", required=True, write="its name"),
    Column("configuration", required=True, write="its name"),
    Column("flight", empty=NOT_NOTED),
    # So wide that a card in the wrong unit is named by its CLmax instead.
    Column("ias", "speed", (3.0, 300.0), required=True, bound=True,
           write="the indicated airspeed, `<35` if it was below the scale"),
    Column("speed_kind", words=KINDS, empty="unknown"),
    Column("ended", words=ENDINGS, empty="unknown"),
    Column("warning_ias", "speed", (5.0, 80.0)),
    Column("buffet_ias", "speed", (5.0, 80.0)),
    Column("pressure_altitude", "altitude", ALTITUDE),
    Column("temperature", "temperature", TEMPERATURE),
    Column("weight", "mass", (1.0, 10000.0)),
    Column("crew", "mass", (0.0, 2000.0)),
    Column("fuel", "volume", (0.0, 2.0)),
    Column("load", "mass", (0.0, 2000.0)),
    Column("cg", "length", (-50.0, 50.0)),
    Column("power", empty=NOT_NOTED),
    Column("entry_rate", "acceleration", (0.0, 5.0)),
    Column("load_factor", "", (0.3, 3.0)),
    Column("load_factor_at", words=READ_AT, empty="unknown"),
    Column("sink_rate", "speed", (-2.0, 40.0), unit="ft/min"),  # nobody reads it in knots
    Column("height_lost", "altitude", (0.0, 1500.0)),
    Column("pilot"),
    Column("remarks"),
)  # fmt: skip
SCHEMA = Schema(FILE, COLUMNS, optional=False)
NONE_YET = f"`{FILE}` holds no stalls yet; write one row for each stall below the header"


@dataclass(frozen=True, kw_only=True)
class StallTable(Table):
    """Stalls as read, with the weight of each."""

    weight: np.ndarray  # (N,) [kg]
    weight_uncertainty: np.ndarray  # (N,) [kg], NaN: the usual
    set_aside: tuple[int, ...] = ()  # rows that cannot be, taken out by the program; `warnings` say why

    def without(self, aside: np.ndarray, why: list[str]) -> StallTable:
        """The table without the stalls of a mask (N,), and sentences that say why."""
        used, keep = self.used.copy(), ~aside
        used[np.flatnonzero(used)[aside]] = False
        fewer = {n: getattr(self, n)[keep] for n in ("row", "below_scale", "weight", "weight_uncertainty")}
        return replace(
            self,
            used=used,
            text={k: v[keep] for k, v in self.text.items()},
            si={k: v[keep] for k, v in self.si.items()},
            warnings=(*why, *self.warnings),
            set_aside=tuple(self.row[aside].tolist()),
            **fewer,
        )

    def weighed_by(self, i: int) -> str:
        """The column or columns that stall i's weight is from."""
        whole = "weight" in self.columns and np.isfinite(self.si["weight"][i])
        return self.columns["weight"].header if whole else "crew, fuel, load"


def parse_stalls(data: bytes, aircraft: Aircraft, none_yet: bool = False) -> StallTable:
    """Read the bytes of a `stalls.csv`; `none_yet` allows a header alone."""
    frame, dialect = read_table(data, FILE, f"a header such as `{SCHEMA.header}`")
    return parse_frame(frame, aircraft, dialect, none_yet)


def parse_frame(frame, aircraft: Aircraft, dialect: Dialect, none_yet: bool = False) -> StallTable:
    """Check a frame of text (index: the row in the file) and convert it; CaseError lists everything wrong."""
    table, problems = SCHEMA.check(frame, dialect, aircraft)
    if not len(table.row) and not none_yet:
        raise CaseError(NONE_YET)
    warnings: list[str] = []
    weight, uncertainty = _weights(table, aircraft, problems, warnings)
    _cg(table, aircraft, warnings)
    _below_the_scale(table, aircraft, weight, problems)
    if problems:
        raise CaseError(problems)
    text = {n: v.astype(np.str_) for n, v in table.text.items() if n != "remarks"}
    own = {**vars(table), "text": text, "warnings": tuple(warnings)}
    return StallTable(**own, weight=weight, weight_uncertainty=uncertainty)


def _below_the_scale(table: Table, aircraft: Aircraft, weight: np.ndarray, problems: list[str]) -> None:
    """Numbers below the first mark of the dial: nobody can have read them."""
    starts = aircraft.indicator.scale_starts
    if starts is None:
        return
    head, cells, ias = table.columns["ias"], table.cells("ias"), table.si["ias"]
    # Half a unit: a reading on the mark, rounded in the unit of its column.
    below = (ias < starts - 0.5 * head.unit.factor) & ~table.below_scale
    # What no wing reaches is one slip of a unit: set aside, with that unit, where CLmax is judged.
    with np.errstate(over="ignore", invalid="ignore"):  # a weight or a speed beyond any is a problem of its own
        below &= weight * GRAVITY < NO_WING * 0.5 * DENSITY_0 * ias**2 * aircraft.wing.area
    if 2 * np.count_nonzero(below) > len(ias):  # a column in another unit, which CLmax names
        return
    first = f"{head.unit.from_si(starts):.4g}"
    for i in np.flatnonzero(below)[:TOLD]:
        problems.append(
            f"`{FILE}` row {table.row[i]}: {cells[i]} in column `{head.header}` lies below the start of the scale, "
            f"{first} {head.unit.text} ([indicator] scale_starts in `aircraft.toml`): write <{first} (a reading below "
            "the scale), mend scale_starts, or give a reason in column `left_out`"
        )


def _weights(table: Table, aircraft: Aircraft, problems: list[str], warnings: list[str]):
    """Weight of every stall [kg] and, where it had to be guessed, its standard uncertainty."""
    w, si, columns = aircraft.weights, table.si, table.columns
    parts = np.full(len(table.row), w.empty)
    for name, factor in (("crew", 1.0), ("fuel", w.fuel_density)):
        parts = parts + si[name] * factor  # NaN where it is not known
    parts = parts + np.nan_to_num(si["load"])
    weight = np.where(np.isfinite(si["weight"]), si["weight"], parts)
    uncertainty = np.full(len(table.row), np.nan)
    if "load" in columns:  # asked for and not answered: nothing aboard, most likely, but not for certain
        uncertainty[~np.isfinite(si["weight"]) & ~np.isfinite(si["load"])] = LOAD_NOT_NOTED
    unknown = ~np.isfinite(weight)
    if unknown.any():
        # Anything between empty with a pilot and the maximum: the middle, with a uniform spread.
        low = w.empty + 0.1 * (w.maximum - w.empty)
        weight = np.where(unknown, 0.5 * (low + w.maximum), weight)
        uncertainty[unknown] = (w.maximum - low) / np.sqrt(12.0)
        rows = ", ".join(str(r) for r in table.row[unknown][:5])
        warnings.append(
            f"`{FILE}` row {rows}: weight not known (give weight, or crew and fuel); anything between empty "
            "and maximum was allowed for, which widens the interval"
        )
    _crew(table, problems, warnings)
    _fuel(table, warnings)
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
                f"`{FILE}` row {table.row[i]}: {weight[i]:.0f} kg from `{header}` is outside the "
                f"{w.empty:.0f} to {w.maximum:.0f} kg of [weights]{hint}"
            )
        elif FAR_OUTSIDE[0] * w.empty <= weight[i] <= FAR_OUTSIDE[1] * w.maximum:  # else it is set aside
            warnings.append(
                f"`{FILE}` row {table.row[i]}: weight {weight[i]:.0f} kg is outside the {w.empty:.0f} to "
                f"{w.maximum:.0f} kg of [weights]; reduced as given, check the weighing"
            )
    return weight, uncertainty


def _crew(table: Table, problems: list[str], warnings: list[str]) -> None:
    """Crews too light to fly, and those off the card's usual crew by the ratio of kilograms and pounds."""
    crew = table.si["crew"]
    if not np.isfinite(crew).any():
        return
    head, cells = table.columns["crew"], table.cells("crew")
    header, text, factor = head.header, head.unit.text, head.unit.factor
    for i in np.flatnonzero(crew < LIGHTEST_PILOT)[:20]:
        hint = "what did the pilot weigh?"
        if text != "kg" and crew[i] / factor >= LIGHTEST_PILOT:
            hint = f"in kg it would be {crew[i] / factor:.0f} kg: was it written in kg?"
        problems.append(
            f"`{FILE}` row {table.row[i]}: {cells[i]} in column `{header}` is a crew of {crew[i]:.0f} kg, and no pilot "
            f"weighs less than {LIGHTEST_PILOT:g} kg; {hint} Correct it, or give a reason in column `left_out`"
        )
    # A slip in a column of pounds is a crew too light, in one of kilograms one too heavy.
    for rows, usual in _off_by(table, crew, 1.0 / POUND if text == "kg" else POUND, by_state=False)[:3]:
        rows = [i for i in rows if crew[i] >= LIGHTEST_PILOT]
        if rows:
            warnings.append(
                f"`{FILE}` {_rows(table, rows)}: {cells[rows[0]]} in column `{header}` and the card's usual "
                f"{usual / factor:.0f} {text} stand to each other as kg and lb do: one person more or less, or rows in "
                "another unit?"
            )


def _fuel(table: Table, warnings: list[str]) -> None:
    """Fuel above that of the other flights of its state as liters read as gallons are."""
    head = table.columns.get("fuel")
    if head is None or head.unit.factor <= LITER:
        return
    cells, factor = table.cells("fuel"), head.unit.factor
    for rows, usual in _off_by(table, table.si["fuel"], factor / LITER, by_state=True)[:3]:
        warnings.append(
            f"`{FILE}` {_rows(table, rows)}: {cells[rows[0]]} in column `{head.header}` and the usual "
            f"{usual / factor:.3g} {head.unit.text} of this state stand to each other as liters and {head.unit.text} "
            "do: a full tank, or rows in liters?"
        )


def _rows(table: Table, places) -> str:
    return f"row{'s' * (len(places) > 1)} " + ", ".join(str(table.row[i]) for i in places[:TOLD])


def _off_by(table: Table, values: np.ndarray, ratio: float, by_state: bool) -> list[tuple[list[int], float]]:
    """(places, what is usual) of each flight with rows that are `ratio` times the usual of the others, within 10 %.

    The usual is the middle of the flights' medians, so that a whole flight may be off; of two, the one that the slip
    leads away from.
    """
    known = np.flatnonzero(np.isfinite(values) & (values > 0.0))
    flights: dict[tuple[str, str], list[int]] = {}
    found = []
    for i in known:
        flights.setdefault((str(table.text["modification"][i]), str(table.text["flight"][i])), []).append(int(i))
    states = dict.fromkeys(state if by_state else "" for state, _ in flights)
    for groups in ([f for f in flights if not by_state or f[0] == s] for s in states):
        middle = np.array([np.median(values[flights[f]]) for f in groups])
        usual = float(np.quantile(middle, 0.5, method="lower" if ratio > 1.0 else "higher"))
        for f in groups:
            off = [i for i in flights[f] if abs(np.log(values[i] / usual / ratio)) < UNIT_WITHIN]
            if off:
                found.append((off, usual))
    return found


def _cg(table: Table, aircraft: Aircraft, warnings: list[str]) -> None:
    """What a center of gravity unknown, outside its limits, or not the same in all modifications does."""
    cg, modification = table.si["cg"], table.text["modification"]
    known = np.isfinite(cg)
    w = aircraft.weights
    if not known.any():
        if len(set(modification.tolist())) > 1:
            warnings.append(
                f"`{FILE}`: no center of gravity noted; a forward shift raises the stall speed, so a change "
                "between modifications may be a change of loading"
            )
        return
    unit, travel = table.columns["cg"].unit, None
    if w.cg_forward is not None and w.cg_aft is not None:
        low, high = sorted((w.cg_forward, w.cg_aft))
        for i in np.flatnonzero(known & ((cg < low - 1e-9) | (cg > high + 1e-9)))[:3]:
            warnings.append(
                f"`{FILE}` row {table.row[i]}: cg {unit.from_si(cg[i]):.4g} {unit.text} is outside "
                f"{unit.from_si(low):.4g} to {unit.from_si(high):.4g} {unit.text}; reduced as given, check "
                "the loading"
            )
        travel = high - low
    names = dict.fromkeys(modification[known].tolist())
    means = {m: float(np.mean(cg[known & (modification == m)])) for m in names}
    if len(means) > 1:
        spread = max(means.values()) - min(means.values())
        # 7 % of travel was the CG tolerance of certification tests (former 14 CFR 23.21, from memory).
        if (travel and spread > 0.07 * travel) or (not travel and spread > 0.01):
            listed = ", ".join(f"{m} {unit.from_si(v):.4g}" for m, v in means.items())
            warnings.append(
                f"`{FILE}`: the center of gravity differs between modifications ({listed} {unit.text}); "
                "part of any change of stall speed is that of the tail load"
            )
