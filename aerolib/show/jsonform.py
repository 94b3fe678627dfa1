"""The JSON contract: one key an estimate, null for what is not known."""

from __future__ import annotations

from aerolib.show.sections import Door
from aerolib.study import Study


def as_json(study: Study, door: Door, more: dict) -> dict:
    """Everything a report knows, as plain data (format 1); `more` are the keys that `sections_of` gives."""
    from aerolib import __version__

    result = study.reduction
    comparison = door.through("Before and after", lambda: study.comparison)
    checks = door.through("Everything else that was compared", lambda: study.checks)
    plan = door.through("The next test", lambda: study.plan)
    return {
        "format": 1,
        "case": study.name,
        "aerolib": __version__,
        "inputs_sha256": study.case.inputs_sha256,
        "reference_weight_kg": round(result.reference_weight, 3),
        "read": study.case.as_read(),
        "clmax": result.as_list(),
        "comparison": None if comparison is None else comparison.as_list(),
        "checks": None if checks is None else checks.as_list(),
        "test_plan": None if plan is None else plan.as_dict(),
        **more,
        "notes": list(result.notes),
    }
