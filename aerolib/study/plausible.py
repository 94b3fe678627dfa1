"""Does a reduced stall make sense? Unit mix-ups pass every wide bound; their factors give them away."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.case.problems import CaseError
from aerolib.case.stalls import FAR_OUTSIDE, FILE, NO_WING, NOT_NOTED, StallTable
from aerolib.case.states import in_order
from aerolib.measured.stalls.record import BELOW
from aerolib.units import unit

if TYPE_CHECKING:
    from aerolib.measured.stalls.results import StallReduction
    from aerolib.study import Study

LOWEST, HIGHEST = 0.6, NO_WING  # CLmax of anything with a wing: our judgment
HIGHEST_APPARENT = 6.0  # with power, or held on the stop: our judgment
ROUGHLY = (0.9, 2.4)  # uncorrected CL inside of which no correction leads out of the bounds: our judgment
NAMED = 20  # rows named one by one
SENSIBLE = (0.8, 3.2)  # where a light airplane's CLmax is looked for when another unit is tried
WITHIN = 0.05  # how close to a unit's factor a row must be
USUAL = (1.1, 2.8)  # CLmax of light airplanes, plain wing to the best flaps: our judgment
STANDS_APART = 0.15  # of the median: nearer rows are scatter, whatever their unit
MINIMUM_TO_COMPARE = 3  # stalls of a configuration, or of one flight in it, before their median judges a row
LARGE = 2000  # stalls: beyond, a group's median judges its rows, since a median a flight would cost more than the rest
_SPEEDS = ("kt", "mph", "km/h", "m/s")


def without_impossible(study: Study) -> StallTable:
    """The stalls without those that cannot be, each named in a warning; all of them where most of them cannot.

    A card that is wrong as a whole is refused by `judged`: there the mistake is in a header, not in a row.
    """
    table, a = study.case.stalls, study.aircraft
    # A rough coefficient costs nothing, and far inside the bounds no correction leads out of them.
    rough = table.weight * GRAVITY / (0.5 * DENSITY_0 * table.si["ias"] ** 2 * a.wing.area)
    if not (_misweighed(table, a) | (rough < ROUGHLY[0]) | (rough > ROUGHLY[1])).any():
        return table
    try:
        points = study.trusting().unjudged.points
    except CaseError:
        return table  # said where the stalls are reduced
    odd = _misweighed(table, a) | _wild(table, points)
    if not odd.any() or 2 * np.count_nonzero(odd) > len(odd):
        return table
    said = [
        f"{sentence} This stall is set aside and the rest reported without it: correct it, or give a reason in column "
        "`left_out`"
        for sentence in _odd_sentences(table, points, a, np.flatnonzero(odd), "was this row written in")
    ]
    return table.without(odd, said + _more(int(np.count_nonzero(odd)), NAMED, "like these are set aside"))


def judged(study: Study, result: StallReduction) -> tuple[list[str], list[str]]:
    """(what no wing reaches, or only a mix-up of units explains; notes on what is possible, and rare or apparent)."""
    table, points, a = study.stalls, result.points, study.aircraft
    odd = _misweighed(table, a) | _wild(table, points)
    refused = _odd_sentences(table, points, a, np.flatnonzero(odd), "is the column in")
    refused += _off_their_group(table, points, ~odd)
    off, asked = _off_the_stated_speed(study, points)
    notes = [*_unusual(result), *asked, *_apart(result, table), *_apparent(table, points)]
    return refused + ([] if odd.any() else off), notes


def _more(count: int, named: int, what: str) -> list[str]:
    return [f"`{FILE}`: {count - named} more rows {what}"] if count > named else []


def _misweighed(table: StallTable, aircraft) -> np.ndarray:
    low, high = FAR_OUTSIDE[0] * aircraft.weights.empty, FAR_OUTSIDE[1] * aircraft.weights.maximum
    return (table.weight < low) | (table.weight > high)


def _highest(table: StallTable) -> np.ndarray:
    """The highest coefficient to believe, by stall: with power or on the stop the indicator itself under-reads."""
    under_reads = ~np.isin(table.text["power"], ("idle", "off", NOT_NOTED)) | (table.text["ended"] == "stop")
    return np.where(under_reads, HIGHEST_APPARENT, HIGHEST)


def _wild(table: StallTable, points) -> np.ndarray:
    held = np.isin(points.outcome, ("early", "unknown", BELOW))  # a bound may lie as low as it likes
    return ((points.cl < LOWEST) & ~held) | (points.cl > _highest(table))


def _odd_sentences(table, points, aircraft, rows, ask: str) -> list[str]:
    """One sentence for each of the first stalls that cannot be: weight first, since the coefficient follows from it."""
    column, out, highest = table.columns["ias"], [], _highest(table)
    heavy, w = _misweighed(table, aircraft), aircraft.weights
    for i in rows[:NAMED]:
        if heavy[i]:
            out.append(
                f"`{FILE}` row {table.row[i]}: {table.weight[i]:.0f} kg from `{table.weighed_by(i)}` is far outside "
                f"the {w.empty:.0f} to {w.maximum:.0f} kg of [weights] in `aircraft.toml` (CLmax {points.cl[i]:.3g}): "
                "check what it weighed, and the unit."
            )
            continue
        cell, cl = table.frame[column.header].loc[table.row[i]], points.cl[i]
        sentence = (
            f"`{FILE}` row {table.row[i]}: {cell} in column `{column.header}` gives CLmax {cl:.3g}, outside "
            f"{LOWEST:g} to {highest[i]:g}"
        )
        options = [(n, cl * k) for k, n in _other_units(column) if SENSIBLE[0] <= cl * k <= SENSIBLE[1]]
        if options:
            # The unit whose answer is nearest to a common CLmax is the likeliest slip.
            name, value = min(options, key=lambda o: abs(np.log(o[1] / 1.5)))
            sentence += f"; in {name} it would be {value:.3g}: {ask} {name}?"
        else:
            sentence += ": check speed, weight and wing area."
        out.append(sentence)
    return out


def _apparent(table: StallTable, points, most: int = 3) -> list[str]:
    """Notes on coefficients that only a wing in a slipstream, or an indicator that under-reads, can give."""
    high = np.flatnonzero(points.cl > HIGHEST)
    return [
        f"`{FILE}` row {table.row[i]}: CL {points.cl[i]:.2f} is more than a wing gives by itself; an airspeed "
        "indicator under-reads at high angle of attack and in the slipstream: take it as apparent, the true speed was "
        "higher"
        for i in high[:most]
    ] + _more(len(high), most, "like these")


def _other_units(column):
    """(factor on CL, unit) for every other speed unit."""
    return [
        ((column.unit.factor / unit(u, "speed").factor) ** 2, u) for u in _SPEEDS if u != column.unit.text
    ]  # fmt: skip


def speed_factors(column):
    """(factor on CL, unit the row may be in) for every other speed unit that can be told apart."""
    return [(factor, name) for factor, name in _other_units(column) if abs(factor - 1.0) > 0.02]


def _neighbors(table, points, possible):
    """(rows judged, rows judging them): a row's own flight where enough was flown on it, else its whole group."""
    flights = table.text["flight"]
    for group in np.unique(points.group):
        here = np.flatnonzero((points.group == group) & (points.outcome == "break") & possible)
        if len(table.row) > LARGE:
            if len(here) >= MINIMUM_TO_COMPARE:
                yield here, here
            continue
        rest = []
        names, code = np.unique(flights[here].astype(str), return_inverse=True)
        for k in range(len(names)):
            mine = here[code == k]
            if len(mine) >= MINIMUM_TO_COMPARE:
                yield mine, mine
            else:
                rest.extend(mine.tolist())
        if rest and len(here) >= MINIMUM_TO_COMPARE:
            yield np.array(rest), here


def _off_their_group(table, points, possible):
    """Rows that stand apart from their neighbors, and agree with them once read in another unit.

    A correction in knots is added to whatever was read, so CL is not off by the bare factor: the row is read anew in
    the other unit and given the correction its neighbors have.
    """
    problems, ias, column = [], table.si["ias"], table.columns["ias"]
    factors = speed_factors(column)
    for judged, judges in _neighbors(table, points, possible):
        median = float(np.median(points.cl[judges]))
        add = float(np.median(points.cas[judges] - ias[judges]))
        typical, usual = float(np.median(ias[judges])), float(np.median(table.weight[judges]))
        for i in judged[np.abs(points.cl[judged] / median - 1.0) > STANDS_APART]:
            for factor, name in factors:
                anew = points.cl[i] * (points.cas[i] / (ias[i] / np.sqrt(factor) + add)) ** 2
                others = median * ((typical + add) / (typical / np.sqrt(factor) + add)) ** 2
                if abs(anew / median - 1.0) < WITHIN:
                    hint = f"read in {name} it would be {anew:.3g}: was this row written in {name}?"
                elif abs(points.cl[i] / others - 1.0) < WITHIN:
                    # All the others were written in `name`: it is the right row that stands out.
                    hint = f"the others read in {name} would give {others:.3g}: were they written in {name}?"
                else:
                    continue
                heavier = table.weight[i] / usual
                if abs(heavier - 1.0) > STANDS_APART and abs(points.cl[i] / median / heavier - 1.0) < WITHIN:
                    hint = (  # the speed fits its neighbors
                        f"its weight of {table.weight[i]:.0f} kg from `{table.weighed_by(i)}` is as far from their "
                        f"{usual:.0f} kg: is that right?"
                    )
                cell = table.frame[column.header].loc[table.row[i]]
                problems.append(
                    f"`{FILE}` row {table.row[i]}: {cell} in column `{column.header}` gives CLmax "
                    f"{points.cl[i]:.3g}, while its configuration's median is {median:.3g}; {hint} Correct it, or give "
                    "a reason in column `left_out`"
                )
                break
    return problems


def _unusual(result) -> list[str]:
    """Notes about results that are possible but rare: the first place to look for a wrong area, weight or unit."""
    low, high = USUAL
    return [
        f"{i.name}: a CLmax of {i.clmax.value:.2f} is unusual for a light airplane ({low:g} to {high:g}): check wing "
        "area, empty weight, and the unit of the speeds"
        for i in result.items
        if i.clmax is not None and not i.apparent and not low <= i.clmax.value <= high  # with power, power explains it
    ]


def _apart(result: StallReduction, table: StallTable, most: int = 5) -> list[str]:
    """Notes on stalls far from the others of their flight: kept, unless the owner gives a reason."""
    far = result.model.stand_apart()
    return [
        f"`{FILE}` row {table.row[i]}: {abs(off):.1f} of its own standard deviations "
        f"{'above' if off > 0 else 'below'} the middle of its flight in CL ({result.model.name_of_stall(i)}); kept: "
        "only a reason in column `left_out` takes it out"
        for i, off in far[:most]
    ] + _more(len(far), most, "as far from their flights")


def _off_the_stated_speed(study: Study, points) -> tuple[list[str], list[str]]:
    """Configurations off the owner's stated stall speed by a unit's factor: (what is refused, what is only asked).

    Refused where three stalls or more say it, and every configuration with a stated speed says the same.
    """
    table, found, compared = study.stalls, [], 0
    column, told, own = table.columns["ias"], table.text, unit(study.dial_unit, "speed")
    for c in study.aircraft.configuration:
        if c.stated_stall_speed is None:
            continue
        first = next(m for m in in_order(study.aircraft, {FILE: table}) if m in told["modification"])
        here = (told["configuration"] == c.name) & (points.outcome == "break")
        here &= (told["modification"] == first) & np.isin(told["power"], ("idle", "off"))
        if not here.any():
            continue
        compared += 1
        heavier = study.reference_weight / c.stated_weight if c.stated_weight else 1.0
        stated, seen = c.stated_stall_speed * math.sqrt(heavier), float(np.median(points.cas_at_reference_weight[here]))
        square = (stated / seen) ** 2
        for factor, name in speed_factors(column):
            if min(abs(square * factor - 1.0), abs(square / factor - 1.0)) < WITHIN:
                s, v = (x / own.factor for x in (stated, seen))
                text = (
                    f"`{FILE}`: the stalls of '{c.name}' lie about {v:.3g} {own.text}, its "
                    f"stated_stall_speed in `aircraft.toml` is {s:.3g} {own.text}: their ratio {s / v:.3g} is "
                    f"that of {own.text} and {name}; is the column or the stated speed in {name}?"
                )
                found.append((name, int(here.sum()), text))
                break
    sure = len(found) == compared and len({name for name, *_ in found}) == 1
    refused, asked = [], []
    for _, stalls, text in found:
        if sure and stalls >= MINIMUM_TO_COMPARE:
            refused.append(f"{text} If both are right, take stated_stall_speed out")
        else:
            why = "not every configuration says so" if stalls >= MINIMUM_TO_COMPARE else f"stalls that say so: {stalls}"
            asked.append(f"{text} Used as given, since a slow stall may be a good one ({why})")
    return refused, asked
