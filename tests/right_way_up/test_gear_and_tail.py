"""'Gear' answers say gear, 'tail' answers say tail; a limit outside the approved range is told as not usable."""

import math
from pathlib import Path

import pytest
from right_way_up import odd_cases

from aerolib.case.problems import CaseError
from aerolib.consequences.landing_attitude import landing_attitude
from aerolib.show.sections import landing_attitude as landing
from aerolib.show.sections import tail_authority
from aerolib.study import open_study
from aerolib.study.airframe import airframe_of
from aerolib.study.speeds import operating_of

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def demo():
    case = open_study(ROOT / "data" / "demo")
    result = case.reduction
    return case, result, airframe_of(case)


@pytest.fixture(scope="module")
def forward(demo):
    """The landing with the CG at its forward limit, where the elevator's stop comes before gear and wing."""
    case, _, frame = demo
    return case.attitude(frame.cg_share(case.aircraft.weights.cg_forward))


def test_the_tail_keeps_the_gain_and_the_gear_would_allow_it(forward):
    last = {t.flap: t for t in forward.items if t.modification == "after"}
    assert {u.limited_by for u in forward.usable} == {"tail"}
    told = [u for u in forward.usable if u.value is not None]
    assert told and all("the tail is the limiting factor" in u.headline() for u in forward.usable if u.value is None)
    for u in told:
        assert u.value < 0.1 < 0.8 < u.by_gear <= 1.0 + 1e-9
        assert "the tail keeps you from using it; the gear would allow" in u.headline()
        # gear and wing alone, from the printed speeds: what is left of the gain when the gear's angle comes first
        first = next(t for t in forward.items if (t.flap, t.modification) == (u.flap, "before"))
        gain = first.stall_speed.value - last[u.flap].stall_speed.value
        assert u.by_gear == pytest.approx((first.gear_speed.value - last[u.flap].gear_speed.value) / gain, abs=1e-6)


def test_a_flat_gear_keeps_the_gain_itself(demo):
    case, _, frame = demo
    aft = frame.cg_share(case.aircraft.weights.cg_aft)
    flat = landing_attitude(
        frame.airplane, frame.flaps, kind="tail-wheel", angle=math.radians(6.0), mass=620.0, wing_area=frame.wing_area,
        height_over_span=frame.height_over_span, cg=aft, seen=frame.seen,
    )  # fmt: skip
    told = [u for u in flat.usable if u.value is not None]
    assert told and all(u.limited_by == "gear" and "the gear keeps you from using it" in u.headline() for u in told)
    assert not any("the tail" in u.headline() for u in flat.usable)


def test_a_share_that_could_be_anything_is_not_shown(demo):
    case, _, frame = demo
    found = case.attitude(frame.cg_share(case.aircraft.weights.cg_aft))
    vague = [u for u in found.usable if u.value is None]
    assert vague and all("not determinable" in u.headline() and "%" not in u.headline() for u in vague)
    data = {d["configuration"]: d for d in landing.data_of(found) if d["modification"] == "after"}
    for u in vague:
        assert data[u.flap]["usable_share_of_gain"] is data[u.flap]["usable_share_interval95"] is None


def test_the_wing_stalls_before_the_gear_angle_is_reached(forward):
    one = next(t for t in forward.items if (t.flap, t.modification) == ("flap 38", "before"))
    at, gear = math.degrees(one.body_alpha[1.0]), math.degrees(one.gear_alpha)
    assert at < gear == pytest.approx(12.5) and one.wing_first
    slots = landing.gear_words(one).slots
    assert {k: math.degrees(q.value) for k, q in slots.items()} == pytest.approx({"at": at, "gear": gear})
    for t in forward.items:
        assert t.wing_first == (t.body_alpha[1.0] < t.gear_alpha)
        assert ("speed" in landing.gear_words(t).slots) != t.wing_first


def test_a_forward_limit_behind_the_aft_one_is_not_usable(demo):
    case, _, frame = demo
    forward, aft = (frame.cg_share(c) for c in (case.aircraft.weights.cg_forward, case.aircraft.weights.cg_aft))
    found = case.tail(forward)
    beyond = [i for i in found.items if i.forward_cg_limit.value > aft]
    assert beyond and all(found.usable(i) is False for i in beyond)
    for i in found.items:
        told = tail_authority.forward_cg(found, i)
        assert ("not usable" in told.words) == (i in beyond) == (not found.usable(i))
        assert told.slots["at"].value == i.forward_cg_limit.value
    told = [d["forward_cg_limit_usable"] for d in tail_authority.data_of(found)]
    assert told == [d["forward_cg_limit_percent_mac"] <= 100 * aft for d in tail_authority.data_of(found)]


def bare(folder, text=None, more=""):
    """Two configurations flown in both states, no flap angle, no gear, no tail; `more` of `aircraft.toml`."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(odd_cases, "CONFIGURATIONS", "")
        return open_study(odd_cases.two_states("stock", "VGs", *(text or ()), more=more).write(folder))


def test_a_card_without_flap_angles_is_asked_for_the_angle_and_not_to_fly(tmp_path):
    with pytest.raises(CaseError) as e:
        operating_of(bare(tmp_path / "two"))
    (told,) = e.value.problems
    assert "no flap angle" in told and 'name = "full flap"' in told and "fly" not in told
    written = odd_cases.CONFIGURATIONS  # what it says to write is enough
    roles = operating_of(bare(tmp_path / "written", more=written)).roles
    assert (roles.clean, roles.landing) == ("clean", "full flap")


def test_one_configuration_flown_is_all_three_roles(tmp_path):
    roles = operating_of(bare(tmp_path / "one", odd_cases.CLEAN)).roles
    assert {roles.clean, roles.take_off, roles.landing} == {"clean"}


def test_each_section_asks_for_its_own_table_first_and_for_all_at_once(tmp_path):
    case = bare(tmp_path / "none", odd_cases.CLEAN)
    for page, first in ((landing, "[gear] kind"), (tail_authority, "[tail] arm")):
        asked = [p for p in page.finding(case).parts[1].items if "`aircraft.toml` [" in p]
        assert first in asked[0] and any("[weights] mac" in p for p in asked)
        assert any("[tail] height" in p for p in asked)
