"""The JSON contract: one key an estimate, null for what is not known."""

from __future__ import annotations

from aerolib.show.comparing import checks_data, comparison_data
from aerolib.show.sections import Door
from aerolib.study import Study


def head_of_data(study: Study, reference_weight: float) -> dict:
    """What the JSON of every report begins with; the weight that speeds are given at [kg]."""
    from aerolib import __version__

    return {"format": 1, "case": study.name, "aerolib": __version__, "inputs_sha256": study.case.inputs_sha256,
            "reference_weight_kg": round(reference_weight, 3), "read": study.case.as_read()}  # fmt: skip


def as_json(study: Study, door: Door, more: dict) -> dict:
    """Everything a report knows, as plain data (format 1); `more` are the keys that `sections_of` gives."""
    result = study.reduction
    comparison = door.through("Before and after", lambda: study.comparison)
    checks = door.through("Everything else that was compared", lambda: study.checks)
    return {
        **head_of_data(study, result.reference_weight),
        "comparison": comparison_data(comparison),
        "checks": checks_data(checks),
        **more,
        "notes": list(result.notes),
    }
