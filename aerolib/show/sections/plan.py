"""The next test, in the report."""

from __future__ import annotations

from aerolib.show.comparing import already_shown, plan_advice, plan_answer, plan_data
from aerolib.show.finding import Finding, Steps
from aerolib.show.sections.base import quiet
from aerolib.study import Study

KEYS = ("test_plan",)
TITLE = "The next test"


def finding(study: Study) -> Finding | None:
    """How many stalls and flights the next test needs; None where nothing can be planned."""
    plan = study.plan
    if plan is None:
        return None
    parts = (*already_shown(quiet(study, "comparison"), plan), *plan_answer(plan), Steps(plan_advice(plan)))
    return Finding("plan", TITLE, parts=parts, data={"test_plan": plan_data(plan)})
