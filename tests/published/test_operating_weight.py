"""Stall speed by weight in the operating speeds beside two public exercises (seen) and two computed rows."""

import pytest

from aerolib.consequences.operating_speeds import State
from aerolib.study.speeds import Operating, Roles
from aerolib.units import knots, to_si


@pytest.mark.parametrize("row", range(4))
def test_a_state_carried_to_another_weight(published, as_printed, row):
    r = published("weight_correction")[row]
    first, second = (to_si(float(r[k]), r["weight_unit"], "mass") for k in ("weight", "to_weight"))
    state = State("before", to_si(float(r["speed [kt]"]), "kt", "speed"), 0.0)
    ready = Operating(None, Roles("clean", "clean", "clean"), first, (state,), {}, {}, 12.0, 7.0, (), ())
    as_printed(knots(ready.at_mass(state, second).stall_speed), r["corrected_speed [kt]"], "stall speed [kt]")
