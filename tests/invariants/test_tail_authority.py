"""What must hold of the tail's answers whatever the numbers are."""

import math
from dataclasses import replace

import numpy as np
import pytest

from aerolib.consequences.balance import (
    Airplane,
    Flap,
    elevator_needed,
    lift_limits,
    tail_load_available,
    tail_load_needed,
    with_tail_devices,
)
from aerolib.consequences.tail_authority import Seen, tail_authority, taught
from aerolib.physics.tail import effective_deflection

D = math.radians(1.0)
A = Airplane(
    span=9.2, mean_chord=1.3043, aspect_ratio=7.05, taper=1.0, slope=4.75, alpha0=-3 * D, wing_incidence=2 * D,
    moment0=-0.05, fuselage_slope=0.12, tail_volume=0.604, tail_slope=3.77, tail_incidence=-2 * D, tail_above_wing=0.05,
    downwash=0.30, effectiveness=0.60, stop_up=-26 * D,
)  # fmt: skip
CLEAN, FULL = Flap("clean", clmax=1.40), Flap("full", lift=0.7, moment=-0.18, clmax=1.90)
GIVEN = {"mass": 600.0, "wing_area": 12.0, "cg": 0.25}


@pytest.mark.parametrize("cg", [0.12, 0.2, 0.3])
@pytest.mark.parametrize("x", [0.12, 0.3, math.inf])
@pytest.mark.parametrize("flap", [CLEAN, FULL])
def test_at_its_limit_the_elevator_stands_on_its_stop(flap, x, cg):
    at = lift_limits(A, flap, cg, x)["elevator stop"].item()
    if 0.0 < at < 1.4 * flap.clmax:  # beyond that the wing limits: the loss near the ground is no longer followed
        assert elevator_needed(A, flap, at, cg, x) == pytest.approx(A.stop_up, rel=2e-3)


def test_elevator_gives_the_load_it_is_asked_for():
    cl = np.linspace(0.6, 1.8, 7)
    d = elevator_needed(A, FULL, cl, 0.2)
    from aerolib.consequences.balance import flow

    load = A.tail_slope * (flow(A, FULL, cl).tail_alpha + A.effectiveness * effective_deflection(d, A.falls_to))
    assert load == pytest.approx(tail_load_needed(A, FULL, cl, 0.2), abs=1e-12)


def test_directions():
    """Forward CG, ground and less travel ask more of the tail; devices under it never less."""
    slow = {cg: min(v.item() for v in lift_limits(A, FULL, cg, 0.12).values()) for cg in (0.10, 0.15, 0.20)}
    assert slow[0.10] < slow[0.15] <= slow[0.20]
    assert lift_limits(A, FULL, 0.12, 0.12)["elevator stop"] < lift_limits(A, FULL, 0.12)["elevator stop"]
    less = replace(A, stop_up=-15 * D)
    assert lift_limits(less, FULL, 0.12)["elevator stop"] < lift_limits(A, FULL, 0.12)["elevator stop"]
    helped = with_tail_devices(A, 0.2, 0.2)
    for cg in (0.05, 0.2):
        assert min(lift_limits(helped, FULL, cg).values()) >= min(lift_limits(A, FULL, cg).values())
    assert tail_load_available(A, FULL, 1.0) >= -A.tail_clmax


def test_map_equals_points():
    cg, x = np.linspace(0.1, 0.35, 5)[:, None], np.array([0.12, 0.5, math.inf])
    table = lift_limits(A, FULL, cg, x)
    for name, values in table.items():
        for i in range(5):
            for j in range(3):
                assert values[i, j] == lift_limits(A, FULL, cg[i, 0], x[j])[name]


def test_the_limit_follows_its_cause():
    def which(a=A, flap=FULL, **given):
        return {i.in_ground_effect: i.limit for i in
                tail_authority(a, [("before", flap)], **{**GIVEN, **given}).items}  # fmt: skip

    assert which(cg=0.30, flap=CLEAN)[False] == "wing"
    assert which(replace(A, stop_up=-8 * D), cg=0.18)[False] == "elevator stop"
    assert which(replace(A, tail_clmax=0.30), cg=0.10)[False] == "tail stall"
    assert which(gear_alpha=5 * D)[True] == "gear"
    assert "gear" not in tail_authority(A, [("before", FULL)], **GIVEN, gear_alpha=5 * D).items[0].probabilities


def test_interval_holds_the_value_and_chances_add_to_one():
    for i in tail_authority(A, [("before", CLEAN), ("before", FULL)], **GIVEN).items:
        low, high = i.slowest_speed.interval95
        assert low - 1e-9 <= i.slowest_speed.value <= high + 1e-9
        assert sum(i.probabilities.values()) == pytest.approx(1.0)


def test_what_was_seen_narrows_and_moves():
    """A stick that reached its stop at 25 m/s pulls the slowest speed there, and the interval shrinks."""
    a = replace(A, stop_up=-18 * D)
    seen = Seen("full", 0.18, 25.0, 600.0, None, speed_within=0.5)
    without = tail_authority(a, [("before", FULL)], **{**GIVEN, "cg": 0.18}).items[0]
    told = tail_authority(a, [("before", FULL)], **{**GIVEN, "cg": 0.18}, seen=[seen]).items[0]
    width = [i.slowest_speed.interval95[1] - i.slowest_speed.interval95[0] for i in (without, told)]
    assert width[1] < 0.6 * width[0]
    assert abs(told.slowest_speed.value - 25.0) < 0.5 * abs(without.slowest_speed.value - 25.0)
    trim = Seen("clean", 0.25, 35.0, 600.0, elevator=-3 * D, within=1 * D)
    many, _, _ = taught(A, [("before", CLEAN)], [trim], wing_area=12.0, density=1.225)
    mean = np.mean(elevator_needed(many, CLEAN, 2 * 600 * 9.80665 / (1.225 * 35**2 * 12), 0.25))
    assert mean / D == pytest.approx(-3.0, abs=0.4)


@pytest.mark.parametrize("stop", [26.0, -50.0, 0.0])
def test_stop_of_the_wrong_sign_or_size(stop):
    with pytest.raises(ValueError, match="trailing edge up is negative"):
        tail_authority(replace(A, stop_up=stop * D), [("before", FULL)], **GIVEN)


def test_seen_flap_must_be_known():
    with pytest.raises(ValueError, match="known: full"):
        tail_authority(A, [("before", FULL)], **GIVEN, seen=[Seen("half", 0.2, 25.0, 600.0)])


def test_a_break_says_the_stop_was_not_reached():
    """A break throws out the draws whose stop leaves less than the wing's CLmax, and none other."""
    mass, area = GIVEN["mass"], GIVEN["wing_area"]
    free, _, _ = taught(A, [("before", Flap("clean"))], [], wing_area=area, density=1.225)
    usual = lift_limits(free, Flap("clean"), 0.25)["elevator stop"]
    flap = Flap("clean", clmax=float(np.quantile(usual, 0.4)))

    cl = float(np.median(usual))
    speed = math.sqrt(2 * mass * 9.80665 / (1.225 * area * cl))

    def left(broke, within=0.1):
        seen = Seen("clean", 0.25, speed, mass, speed_within=within, broke=broke)
        many, _, kept = taught(A, [("before", flap)], [seen], wing_area=area, density=1.225)
        return lift_limits(many, flap, 0.25)["elevator stop"], kept

    after, kept = left(True)
    assert after.min() > 0.98 * flap.clmax and np.median(after) > np.median(usual)
    assert kept == pytest.approx(0.6 * len(usual), rel=0.05)  # three in five agree, and count alike
    stop, fewer = left(False, within=0.5)
    assert np.median(stop) == pytest.approx(cl, rel=0.02) and np.std(stop) < np.std(after) and fewer < kept
