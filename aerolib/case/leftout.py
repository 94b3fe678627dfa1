"""Rows the owner left out: what they would have said, so that nobody has to take the reason on trust."""

from __future__ import annotations

import numpy as np

from aerolib.case.plausible import WITHIN, speed_factors
from aerolib.case.problems import CaseError
from aerolib.measured.results import StallReduction

EXPLAINED = 50  # rows: each is reduced by itself


def explain_left_out(case, result: StallReduction) -> list[str]:
    """One sentence for every row left out: the owner's reason, and what the row would have given.

    Parameters
    ----------
    case : Case [-]
    result : StallReduction [-]
        Of the rows that were used.

    Returns
    -------
    list of text [-]
    """
    table, out = case.stalls, []
    for row, reason in table.left_out[:EXPLAINED]:
        frame, header = table.frame.copy(), table.columns["left_out"].header
        frame[header] = np.where(frame.index == row, "", "another row")
        sentence = f"row {row}, left out by the owner: '{reason}'"
        try:
            alone_case = case.with_stalls(frame)
            alone = alone_case.reduce(check=False)
        except (CaseError, ValueError) as e:
            out.append(f"{sentence}. It could not have been used: {e}")
            continue
        cl, item = float(alone.points.cl[0]), alone.items[0]
        sentence += f". It would have given CLmax {cl:.2f}"
        value = _others(case, result, item.name, str(alone_case.stalls.text["flight"][0]))
        if value is not None:
            sentence += f", the others of its flight and configuration give {value:.2f}"
            for factor, unit_name in speed_factors(table.columns["ias"]):
                if abs(cl * factor / value - 1.0) < 2 * WITHIN < abs(cl / value - 1.0):
                    sentence += f"; read in {unit_name} it would give {cl * factor:.2f}"
                    break
        out.append(sentence + ".")
    if (more := len(table.left_out) - EXPLAINED) > 0:
        out.append(f"{more} more rows were left out by the owner; their reasons stand in the file.")
    return out


def _others(case, result: StallReduction, name: str, flight: str) -> float | None:
    """Mean coefficient of the used stalls of the same group and flight, else of the group; None without one."""
    groups = [k for k, i in enumerate(result.items) if i.name == name]
    if not groups:
        return None
    here = (result.points.group == groups[0]) & (result.points.outcome == "break")
    same_flight = here & (case.stalls.text["flight"] == flight)
    chosen = same_flight if same_flight.any() else here
    return float(result.points.cl[chosen].mean()) if chosen.any() else None
