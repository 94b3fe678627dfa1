"""Rows the owner left out: what they would have said, so that nobody has to take the reason on trust."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aerolib.case.problems import CaseError
from aerolib.study.plausible import WITHIN, speed_factors

if TYPE_CHECKING:
    from aerolib.study import Study

EXPLAINED = 50  # rows: each is reduced by itself


def explain_left_out(study: Study) -> list[str]:
    """One sentence for every row left out: the owner's reason, and what the row would have given."""
    table, out = study.stalls, []
    for row, reason in table.left_out[:EXPLAINED]:
        frame, header = table.frame.copy(), table.columns["left_out"].header
        frame[header] = np.where(frame.index == row, "", "another row")
        sentence = f"row {row}, left out by the owner: '{reason}'"
        try:
            alone_study = study.changed(stalls=frame).trusting()
            alone = alone_study.unjudged
        except (CaseError, ValueError) as e:
            out.append(f"{sentence}. It could not have been used: {e}")
            continue
        cl, item = float(alone.points.cl[0]), alone.items[0]
        sentence += f". It would have given CLmax {cl:.2f}"
        value = _others(study, item.name, str(alone_study.stalls.text["flight"][0]))
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


def _others(study: Study, name: str, flight: str) -> float | None:
    """Mean coefficient of the used stalls of the same group and flight, else of the group; None without one."""
    result = study.reduction
    groups = [k for k, i in enumerate(result.items) if i.name == name]
    if not groups:
        return None
    here = (result.points.group == groups[0]) & (result.points.outcome == "break")
    same_flight = here & (study.stalls.text["flight"] == flight)
    chosen = same_flight if same_flight.any() else here
    return float(result.points.cl[chosen].mean()) if chosen.any() else None
