"""The JSON contract: one key an estimate, null for what is not known."""

from __future__ import annotations

from aerolib.case.folder import Case
from aerolib.measured.changes import Comparison
from aerolib.measured.results import StallReduction


def as_json(
    case: Case, result: StallReduction, comparison: Comparison | None = None, checks=None, plan=None, more=None
) -> dict:
    """Everything a report knows, as plain data (format 1).

    Parameters
    ----------
    case : Case [-]
    result : StallReduction [-]
    comparison : Comparison [-]
        None where there is only one modification.
    checks : ChecksComparison [-]
        None where there is no `checks.csv`, or one modification in it.
    plan : TestPlan [-]
        None where no stall at idle ended in a break.
    more : dict [-]
        The keys of the other estimates, as `sections_of` gives them.

    Returns
    -------
    dict [-]
    """
    from aerolib import __version__

    return {
        "format": 1,
        "case": case.name,
        "aerolib": __version__,
        "inputs_sha256": case.inputs_sha256,
        "reference_weight_kg": round(result.reference_weight, 3),
        "read": case.as_read(),
        "clmax": result.as_list(),
        "comparison": None if comparison is None else comparison.as_list(),
        "checks": None if checks is None else checks.as_list(),
        "test_plan": None if plan is None else plan.as_dict(),
        **(more or {}),
        "notes": list(result.notes),
    }
