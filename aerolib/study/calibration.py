"""The airspeed system of a study: what its legs say, and the correction of every state."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from aerolib.case.aircraft import error_sizes, flaps_of, instrument_of, position_of, thrust_of
from aerolib.case.legs import FILE, LEAK, TELLS, LegsTable
from aerolib.case.problems import CaseError
from aerolib.case.schema import Aircraft
from aerolib.case.tables import Header
from aerolib.measured.airspeed.calibration import MISSED, calibrate_airspeed
from aerolib.measured.airspeed.results import ASSUMED, AirspeedCalibration
from aerolib.measured.labels import joined
from aerolib.units import Unit, on_dial, unit

if TYPE_CHECKING:
    from aerolib.study import Study


def calibration_of(study: Study) -> AirspeedCalibration | None:
    """What the legs of a case say of its airspeed system [SI]; None where it has no legs."""
    legs: LegsTable | None = study.case.optional(FILE)
    if legs is None or len(legs.row) == 0:
        return None
    a, flaps = study.aircraft, flaps_of(study.aircraft)
    stalls = typical_stalls(study, flaps)
    weight, notes = _weights(legs, stalls, study.reference_weight)
    notes += list(legs.warnings)
    if a.indicator.leak is not None and a.indicator.leak > LEAK:
        notes.append(
            f"the airspeed falls {on_dial(a.indicator.leak, study.dial_unit, 1)} a minute with the tube "
            "closed: a leak that large reads differently from day to day; mend it and fly the legs again"
        )
    try:
        found = study.memo(
            calibrate_airspeed, **{**legs.si, "weight": weight}, wing_area=a.wing.area, stalls=stalls,
            **{n: legs.text[n].astype(str) for n in ("run", "modification", "power")},
            flap=[flaps.get(c, c) for c in legs.text["configuration"].tolist()], instrument=instrument_of(a),
            thrust=thrust_of(a), thrust_angle=a.power.thrust_angle or 0.0, errors=error_sizes(a),
            speed_unit=study.dial_unit,
        )  # fmt: skip
    except ValueError as e:
        raise CaseError(f"`{FILE}`: {e}") from None
    if found.doubt is not None and found.doubt.sure:
        raise CaseError(_wrong_unit(legs, found.doubt))
    refused = (*(_with_rows(legs, flaps, r) for r in found.refused), *(_misread(legs, leg) for leg in found.misread))
    questions = tuple(_with_rows(legs, flaps, q) for q in found.questions)
    runs = tuple(replace(r, notes=tuple(_with_rows(legs, flaps, n, r.name) if n.startswith(MISSED) else n
                                        for n in r.notes)) for r in found.runs)  # fmt: skip
    states = sorted(found.states, key=lambda s: study.states.index(s.modification))
    return replace(found, states=tuple(states), runs=runs, refused=refused, misread=(), questions=questions,
                   notes=tuple(notes), inputs=_inputs(a, legs, study.dial_unit))  # fmt: skip


def _wrong_unit(legs: LegsTable, doubt) -> str:
    """Which column is in which other unit, and what to do."""
    gs, ias = legs.columns["ground_speed"], legs.columns["ias"]
    asked = [f"is column `{c.header}` in {u}" for c, sign in ((gs, +1), (ias, -1))
             for u in doubt.read_as(_unit(c).text, sign)]  # fmt: skip
    i = legs.row[0]
    cells = " and ".join(f"{legs.frame[c.header].loc[i]} in `{c.header}`" for c in (ias, gs))
    return (
        f"`{FILE}` rows {i} to {legs.row[-1]} (row {i}: {cells}): {doubt}. "
        f"{(' or '.join(asked) or 'is a column in another unit').capitalize()}? Write the right unit into its header. "
        "If both are right, give a reason in `left_out` for every leg and write the correction as "
        "[[indicator.position]] in `aircraft.toml`"
    )


def _unit(column: Header) -> Unit:
    return column.unit or unit("m/s", "speed")


def _with_rows(legs: LegsTable, flaps, said: str, name: str = "") -> str:
    """What is said of a run, with its rows; `name` where the sentence does not begin with it."""
    t = legs.text
    names = [
        f"{joined(m, flaps.get(c, c))}, run {r}:"
        for m, c, r in zip(*(t[n].tolist() for n in ("modification", "configuration", "run")))
    ]
    rows = [int(row) for row, n in zip(legs.row, names) if f"{name or said}:".startswith(n)]
    return f"rows {', '.join(map(str, rows))}: {said}" if rows else said


def _misread(legs: LegsTable, leg) -> str:
    """The row of a leg that was set aside, and what the others of its run make of it."""
    c = legs.columns["ground_speed"]
    row = legs.row[leg.leg]
    return (
        f"row {row}: {legs.frame[c.header].loc[row]} in column `{c.header}`, set aside: the other legs of {leg.run} "
        f"make it about {_unit(c).from_si(leg.expected):.0f} {_unit(c).text} on that track. Correct speed or track, or "
        "give a reason in `left_out`"
    )


def corrections_of(study: Study) -> dict:
    """(modification, flap) -> correction: from its legs, else the owner's table, else another state's legs."""
    flaps = flaps_of(study.aircraft)
    given, found = position_of(study.aircraft, flaps), study.calibration
    if found is None:
        return given
    own = {s.state for s in found.states if s.origin == "legs"}
    return {**found.corrections, **given, **{k: v for k, v in found.corrections.items() if k in own}}


def cautions_of(study: Study) -> list[str]:
    """What a reader of the stalls must know of the calibration, one sentence a state without legs of its own."""
    found = study.calibration
    if found is None:
        return []
    tables = position_of(study.aircraft, flaps_of(study.aircraft))
    out = [f"`{FILE}`, left out: {r}" for r in found.refused] + [f"`{FILE}`: {a}" for a in found.asked()]
    out += [f"`{FILE}`, {r.name}: {n}" for r in found.runs for n in r.notes if MISSED in n]
    out += [f"airspeed, {u}" for u in found.unlike()]
    return out + [f"airspeed, {s.name}: {s.notes[0] if s.notes else ASSUMED}" for s in found.states
                  if s.origin != "legs" and s.state not in tables]  # fmt: skip


def typical_stalls(study: Study, flaps) -> dict[tuple[str, str], tuple[float, float]]:
    """(modification, flap) -> middle reading [m/s] and weight [kg] of its stalls, those at idle where there are any."""
    s, out = study.stalls, {}
    flap = np.array([flaps.get(c, c) for c in s.text["configuration"].tolist()], dtype=object)
    idle = np.isin(s.text["power"].astype(str), ("idle", "off"))
    ended = np.isin(s.text["ended"].astype(str), TELLS)
    for state in dict.fromkeys(zip(s.text["modification"].tolist(), flap.tolist())):
        here = (s.text["modification"] == state[0]) & (flap == state[1])
        best = next(m for m in (here & idle & ended, here & ended, here) if m.any())
        out[state] = (float(np.median(s.si["ias"][best])), float(np.median(s.weight[best])))
    return out


def _weights(legs, stalls, reference) -> tuple[np.ndarray, list[str]]:
    """Weight of every leg: as noted, else the middle of the stalls of that modification."""
    weight, of = legs.si["weight"].copy(), legs.text["modification"]
    unknown = ~np.isfinite(weight)
    guessed = sorted(set(of[unknown].tolist()))
    for m in guessed:
        mine = [w for (name, _), (_, w) in stalls.items() if name == m]
        weight[unknown & (of == m)] = np.median(mine) if mine else reference
    if not guessed:
        return weight, []
    return weight, [f"weight of the legs not noted ({', '.join(guessed)}): taken as that of the stalls; it "
                    "only moves the ratio of lift coefficients"]  # fmt: skip


def _inputs(a: Aircraft, legs: LegsTable, dial: str) -> dict[str, str]:
    i = a.indicator
    out = {"legs": f"{len(legs.row)} used, {len(legs.left_out)} left out", "indicator alone": instrument_of(a).origin}
    for name in ("static_source", "pitot_kind", "doors_and_windows"):
        out[name.replace("_", " ")] = getattr(i, name) or "not noted"
    if i.leak is not None:
        out["leak"] = f"{on_dial(i.leak, dial, 1)} in a minute"
    return out
