"""How many stalls on how many flights show a change worth seeing."""

from aerolib.measured.plan.flown import Flown
from aerolib.measured.plan.power import two_sample_power
from aerolib.measured.plan.programme import PlanCell, TestPlan, plan_test

__all__ = ["Flown", "PlanCell", "TestPlan", "plan_test", "two_sample_power"]
