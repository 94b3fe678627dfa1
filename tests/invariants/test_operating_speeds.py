"""The trap of the indicated stall speed, and what must hold of approach speeds and distances."""

import math

import numpy as np
import pytest

from aerolib.consequences.distances import Ground
from aerolib.consequences.operating_speeds import Needle, State, operating_speeds, speed_of_least_power
from aerolib.show.sections.operating_speeds import data_of

KT = 1852 / 3600
# the indicator of the worked example: 33.6 on the needle is 38 calibrated, 60 is 60.6
NEEDLE = Needle(np.array([33.6, 40.0, 45.0, 60.0, 90.0]) * KT, np.array([38.0, 42.4, 46.4, 60.6, 90.0]) * KT)
GIVEN = {"mass": 600.0, "wing_area": 11.0, "span_factor": 0.055}


def state(name="before", stall=38.0, u=0.5, **more):
    return State(name, stall * KT, u * KT, clean_stall_speed=44 * KT, clean_uncertainty=0.5 * KT, needle=NEEDLE, **more)


def test_the_trap():
    """1.3 times the needle's 33.6 is 43.7 on the needle: only 1.19 times the calibrated 38 (by hand)."""
    needle = 1.3 * 33.6
    calibrated = 42.4 + (needle - 40.0) / 5.0 * (46.4 - 42.4)
    assert calibrated / 38.0 == pytest.approx(1.19, abs=0.005)
    assert NEEDLE.shows(calibrated * KT) / KT == pytest.approx(needle, abs=0.01)
    right = operating_speeds([state(u=0.0)], **GIVEN).items[0]
    assert right.approach.value / KT == pytest.approx(1.3 * 38.0)
    assert right.approach_indicated / KT > needle + 3


def test_uncertainty_is_added_on_the_slow_side():
    sure, unsure = (operating_speeds([state(u=u)], **GIVEN).items[0] for u in (0.0, 1.0))
    assert (unsure.approach.value - sure.approach.value) / KT == pytest.approx(1.3 * 1.645, abs=1e-6)
    assert unsure.approach.interval95[0] < sure.approach.value < unsure.approach.interval95[1]


def test_never_below_what_the_tail_can_hold():
    held = operating_speeds([state(slowest_tail_speed=42 * KT)], **GIVEN).items[0]
    assert held.tail_sets_it and held.approach.value / KT == pytest.approx(1.3 * 42)
    assert held.approach.interval95[0] <= held.approach.value <= held.approach.interval95[1] + 1e-9
    assert not operating_speeds([state(slowest_tail_speed=36 * KT)], **GIVEN).items[0].tail_sets_it


def test_no_calibration_no_indicated_speed():
    bare = State("after", 36 * KT, 0.5 * KT, clean_stall_speed=42 * KT)
    one = operating_speeds([state(), bare], **GIVEN, limit=3.8)
    assert one.items[1].approach_indicated is None and one.items[1].maneuvering_indicated is None
    assert "not calibrated" in " ".join(one.notes)
    assert data_of(one)[1]["approach_indicated_kt"] is None


def test_before_and_after():
    """Stall 5 % slower: roll 0.95 squared while friction rules; the limit-load speed falls with the clean stall."""
    after = State("after", 0.95 * 38 * KT, 0.0, clean_stall_speed=0.95 * 44 * KT, needle=NEEDLE)
    one = operating_speeds([state(u=0.0), after], **GIVEN, limit=3.8)
    assert one.roll_ratio.value == pytest.approx(0.95**2, abs=0.02)
    assert one.items[1].maneuvering.value / KT == pytest.approx(0.95 * 44 * math.sqrt(3.8))
    assert one.items[0].maneuvering.value / KT == pytest.approx((44 - 1.645 * 0.5) * math.sqrt(3.8))  # the slow side
    assert one.items[0].maneuvering.interval95[1] / KT == pytest.approx((44 + 1.96 * 0.5) * math.sqrt(3.8))
    low, high = one.items[0].landing_roll.interval95
    assert low < one.items[0].landing_roll.value < high
    assert one.items[0].take_off_roll is None


def test_no_change_of_a_roll_between_a_calibrated_state_and_another():
    """The difference of two indicators is not the wing's: with one curve only no ratio is said, and why is."""
    after = State("after", 0.95 * 38 * KT, 0.5 * KT, clean_stall_speed=42 * KT)
    one = operating_speeds([state(), after], **GIVEN)
    assert one.roll_ratio is None and one.take_off_ratio is None
    assert "only 'before' has its airspeed calibrated" in " ".join(one.notes)
    none = operating_speeds([State("before", 38 * KT, 0.5 * KT), after], **GIVEN)
    assert none.roll_ratio.value == pytest.approx(0.95**2, abs=0.03)


def test_errors_that_the_states_share_cancel_in_the_ratio():
    def width(shared):
        two = [State(m, v * KT, 0.8 * KT, shared=shared) for m, v in (("before", 38.0), ("after", 36.5))]
        low, high = operating_speeds(two, **GIVEN).roll_ratio.interval95
        return high - low

    assert width(0.95) < 0.5 * width(0.0)


def test_where_it_happens():
    wet, dry, uphill, wind = (
        operating_speeds([state()], **GIVEN, ground=g).items[0].landing_roll.value
        for g in (Ground("wet short grass"), Ground(), Ground(slope=0.02), Ground(headwind=5.0))
    )
    assert wet > dry > uphill and wind < dry
    thin = operating_speeds([state()], **GIVEN, density=1.0).items[0]
    assert thin.landing_roll.value > dry
    assert thin.approach.value == operating_speeds([state()], **GIVEN).items[0].approach.value


def off(stall=44.0, **more):
    return state(take_off_stall_speed=stall * KT, take_off_uncertainty=0.3 * KT, **more)


PULL = (lambda v: np.full_like(v, 1200.0), lambda v: np.full_like(v, 1600.0))


def test_take_off():
    """The take-off configuration decides, not the landing one; metres need thrust; a weak engine ends nowhere."""
    one = operating_speeds([off()], **GIVEN, power_thrust=PULL).items[0]
    low, high = one.take_off_roll.interval95
    assert low < one.take_off_roll.value < high < one.take_off_over_obstacle.interval95[1]
    by_hand = 600 * (1.2 * 44 * KT) ** 2 / (2 * (1400 - 0.03 * 600 * 9.8 - 80))  # mean force, drag 80 N
    assert one.take_off_roll.value == pytest.approx(by_hand, rel=0.1)
    assert one.climb_speed >= 1.2 * 44 * KT - 1e-9
    assert one.climb_gradient.interval95[0] < one.climb_gradient.value < one.climb_gradient.interval95[1]
    assert operating_speeds([state()], **GIVEN, power_thrust=PULL).items[0].take_off_roll is None
    without = operating_speeds([off(), off(0.95 * 44)], **GIVEN)
    assert without.items[0].take_off_roll is None and "rated_power" in " ".join(without.notes)
    assert without.take_off_ratio.value == pytest.approx(0.95**2, abs=0.005)
    weak = (lambda v: np.full_like(v, 50.0), lambda v: np.full_like(v, 60.0))
    data = data_of(operating_speeds([off()], **GIVEN, power_thrust=weak))[0]
    assert data["take_off_roll_m"] == {"value": None, "interval95": None}


def test_needle_is_not_carried_beyond_its_calibration():
    short = Needle(NEEDLE.reading[:3], NEEDLE.calibrated[:3])
    one = operating_speeds([State("before", 38 * KT, 0.1, needle=short)], **GIVEN)
    assert one.items[0].approach_indicated is None and "does not reach" in " ".join(one.notes)


def test_gust_is_added_whole_and_lengthens():
    calm, windy = (operating_speeds([state()], **GIVEN, gust=g).items[0] for g in (0.0, 5 * KT))
    assert (windy.approach.value - calm.approach.value) / KT == pytest.approx(5.0)
    for name in ("landing_roll", "landing_over_obstacle"):
        assert getattr(windy, name).value > getattr(calm, name).value


@pytest.mark.parametrize(
    "given, words",
    [({"limit": 0.5}, "approved"), ({"density": 0.5}, "outside"), ({"gust": -1.0}, "never taken off"),
     ({"factor": math.nan}, "factor is nan")],
)  # fmt: skip
def test_refused(given, words):
    with pytest.raises(ValueError, match=words):
        operating_speeds([state()], **GIVEN, **given)


def test_speed_of_least_power_is_where_power_is_least():
    v = np.linspace(15, 60, 20001)
    cl = 2 * 600 * 9.80665 / (1.225 * 11 * v**2)
    power = (0.05 + 0.055 * cl**2) * v**3
    assert speed_of_least_power(600, 11, 1.225, 0.05, 0.055) == pytest.approx(v[power.argmin()], abs=0.01)


def test_factor_below_is_refused():
    with pytest.raises(ValueError, match="no approach speed is printed"):
        operating_speeds([state()], **GIVEN, factor=1.15)
