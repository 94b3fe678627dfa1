"""What a reader of compared checks must know: what differed besides the modification."""

from __future__ import annotations

import numpy as np

from aerolib.atmosphere import density, standard_temperature
from aerolib.measured.checks.quantities import ALWAYS, BY_NEEDLE, NEEDS_POWER, NOT_NOTED

WEIGHT_DIFFERS, DENSITY_DIFFERS = 0.05, 0.03  # of the mean [-], between the states before a note says so: our judgement


def item_notes(key, rows, state, powers) -> tuple[str, ...]:
    """Notes on one quantity in one configuration and power.

    Parameters
    ----------
    key : (quantity, configuration, power) [-]
    rows : mapping column -> array (N,) [SI]
    state : mapping modification -> bool array (N,) [-]
    powers : mapping (modification, quantity, configuration) -> powers it was read at [-]

    Returns
    -------
    tuple of str [-]
    """
    notes = []
    missing = next((m for m in state if not state[m].any()), None)
    if missing is not None:
        other = ", ".join(powers.get((missing, *key[:2]), ()))
        there = f"; power differs between the states: there it was read at {other}" if other else ""
        notes.append(f"no reading in '{missing}' at this power{there}; to compare, read it alike in both states")
    if key[0] in NEEDS_POWER and key[2] == NOT_NOTED:
        notes.append("power is not noted; a different power counts as the change")
    for m, mine in state.items():
        count = int(np.sum(mine))
        if count == 1:
            notes.append(f"'{m}' has one reading only: its scatter is the stated one, not seen")
        elif count > 1 and np.ptp(rows["value"][mine]) <= 1e-12 * np.max(np.abs(rows["value"][mine])):
            notes.append(f"all {count} readings of '{m}' are identical: that shows the resolution of the reading, "
                         "not its precision")  # fmt: skip
    if missing is None:
        notes += [*_flight_notes(rows["flight"], state), *_condition_notes(rows, state)]
    return (*notes, *([ALWAYS[key[0]]] if key[0] in ALWAYS else []))


def _flight_notes(flight, state):
    counts = {m: len(set(flight[mine].tolist())) for m, mine in state.items()}
    if np.any(flight == NOT_NOTED):
        return ["flights are not noted everywhere: readings without one were taken as one flight in each state"]
    notes = [f"'{m}' is one flight: whatever was different that day counts as the change, within the prior of the day "
             "scatter" for m, c in counts.items() if c == 1]  # fmt: skip
    differ = len(set(counts.values())) > 1
    return notes + ["flights differ in number: " + ", ".join(f"{c} in '{m}'" for m, c in counts.items())] * differ


def _condition_notes(rows, state):
    """Weight and air, compared between the states."""
    altitude, temperature = rows["pressure_altitude"], rows["temperature"]
    air, known = np.full(len(altitude), np.nan), np.isfinite(altitude)
    h = altitude[known]
    air[known] = density(h, np.where(np.isfinite(temperature[known]), temperature[known], standard_temperature(h)))
    notes = []
    for what, values, allowed, unit, places in (
        ("weight", rows["weight"], WEIGHT_DIFFERS, "kg", 0),
        ("air density", air, DENSITY_DIFFERS, "kg/m3", 3),
    ):
        means = {m: float(np.mean(x)) for m, mine in state.items() if len(x := values[mine & np.isfinite(values)])}
        if len(means) < 2:
            noted = what if what == "weight" else "pressure altitude"
            notes.append(f"{noted} is not noted in both states; a difference there counts as the change")
            continue
        a, b = means.values()
        if abs(b - a) > allowed * 0.5 * (a + b):
            listed = ", ".join(f"{v:.{places}f} {unit} in '{m}'" for m, v in means.items())
            notes.append(f"{what} differs: {listed} ({100 * (b / a - 1):+.0f} %); nothing is corrected for it")
    return notes


def notes_on_all(items) -> tuple[str, ...]:
    """Notes on the whole comparison.

    Parameters
    ----------
    items : list of CheckResult [-]

    Returns
    -------
    tuple of str [-]
    """
    notes = ["Recorded and compared, not modeled: weight, air and technique are not taken out."]
    if any(i.quantity in BY_NEEDLE for i in items):
        notes.append("Speeds are compared as read; where the change altered the airspeed indicator's position error, "
                     "part of a difference is the indicator's")  # fmt: skip
    compared = sum(i.difference is not None for i in items)
    if compared >= 4:
        notes.append(f"{compared} quantities are compared: one that did not change at all still reads 'better' or "
                     "'worse' up to one time in twenty")  # fmt: skip
    return tuple(notes)
