"""Measured beside predicted: what is shared cancels, and the words follow the numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aerolib.estimate import Estimate, Source
from aerolib.together.reconcile import difference, reconcile

AREA, DAY, METHOD, SECTION = (Source(n, "shared") for n in ("wing area", "day", "method", "section"))


def estimate(value, **parts):
    names = {"area": AREA, "day": DAY, "method": METHOD, "section": SECTION}
    return Estimate("x", value, "-", {names[k]: v for k, v in parts.items()})


def test_by_hand():
    """1.60 +- 0.06 against 1.40 +- 0.08, nothing shared: 0.20 over 0.10 is two sigmas; ratio 8/7."""
    found = reconcile(estimate(1.60, day=0.06), estimate(1.40, method=0.08))
    assert found.sigmas == pytest.approx(2.0) and found.difference.value == pytest.approx(0.20)
    relative = math.hypot(0.06 / 1.60, 0.08 / 1.40)
    assert found.ratio.value == pytest.approx(8 / 7)
    assert found.ratio.interval95[1] == pytest.approx(8 / 7 * math.exp(1.959964 * relative), rel=1e-6)


def test_what_is_shared_cancels():
    measured, predicted = estimate(1.6, area=0.5, day=0.03), estimate(1.5, area=0.5, method=0.04)
    assert reconcile(measured, predicted).sigmas == pytest.approx(0.1 / 0.05)


@given(m=st.floats(0.5, 3), p=st.floats(0.5, 3), a=st.floats(0.01, 0.3), b=st.floats(0.01, 0.3))
def test_exchange(m, p, a, b):
    one, other = (
        reconcile(estimate(m, day=a), estimate(p, method=b)),
        reconcile(estimate(p, method=b), estimate(m, day=a)),
    )
    assert one.sigmas == pytest.approx(-other.sigmas) and one.ratio.value == pytest.approx(1 / other.ratio.value)


def test_a_calibrated_prediction_is_the_measurement_where_it_was_made():
    """The prediction itself, calibrated, gives back the measurement with its own sources only."""
    measured, predicted = estimate(1.60, day=0.06), estimate(1.40, method=0.20)
    back = reconcile(measured, predicted).calibrate(predicted)
    assert back.value == pytest.approx(1.60)
    assert back.standard_uncertainty == pytest.approx(0.06)
    assert back.parts[METHOD] == pytest.approx(0.0, abs=1e-15) and back.parts[DAY] == pytest.approx(0.06)


def test_later_predictions_keep_their_sources():
    """Of a later prediction only what is new remains of the method; the measurement's sources come along."""
    first, later = estimate(1.40, method=0.14), estimate(1.75, method=0.175, section=0.05)
    found = reconcile(estimate(1.60, day=0.06), first).calibrate(later)
    assert found.value == pytest.approx(1.75 * 1.60 / 1.40)
    assert found.parts[METHOD] == pytest.approx(0.0, abs=1e-15)
    assert found.parts[DAY] == pytest.approx(found.value * 0.06 / 1.60)
    assert found.parts[SECTION] == pytest.approx(found.value * 0.05 / 1.75)
    assert found.standard_uncertainty < later.scaled(1.6 / 1.4, "-").standard_uncertainty


def test_difference_of_estimates():
    gap = difference(estimate(1.8, area=0.04, day=0.02), estimate(1.5, area=0.03))
    assert gap.value == pytest.approx(0.3) and gap.standard_uncertainty == pytest.approx(math.hypot(0.01, 0.02))


@pytest.mark.parametrize(
    "measured, words",
    [
        (1.43, "agree within what is known"),
        (1.55, "once in 7 times"),
        (1.63, "reads low near the stall"),
        (1.15, "sagging fabric"),
        (2.20, "Chance brings that once in 1000000 times"),
        (2.20, "find its cause"),
    ],
)
def test_words(measured, words):
    found = reconcile(estimate(measured, day=0.06), estimate(1.40, method=0.08))
    assert words in found.words()


def test_far_from_one_but_loosely_known():
    found = reconcile(estimate(0.30, day=0.10), estimate(0.20, method=0.08))
    assert "only because both values are loosely known" in found.words()


def test_a_measured_increment_below_zero_has_a_straight_interval():
    found = reconcile(estimate(-0.05, day=0.06), estimate(0.20, method=0.04))
    assert found.ratio.value == pytest.approx(-0.25)
    assert found.ratio.interval95[0] < -0.25 < 0.0 < found.ratio.interval95[1]


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: reconcile(estimate(1.5, day=0.1), estimate(1.4, day=0.1), predicted_kind="wing"), "like with like"),
        (lambda: reconcile(estimate(1.5, day=0.1), estimate(1.4), measured_kind="tunnel"), "'tunnel' is not one of"),
        (lambda: reconcile(estimate(1.5, day=0.1), estimate(-1.4, day=0.1)), "predicted one above zero"),
        (lambda: reconcile(estimate(math.nan, day=0.1), estimate(1.4)), "two finite numbers"),
        (lambda: reconcile(estimate(1.5), estimate(1.4)), "carries an uncertainty"),
        (lambda: difference(estimate(1.5), Estimate("v", 40.0, "m/s")), "bring both to one unit"),
    ],
)
def test_what_cannot_be_compared(call, words):
    with pytest.raises(ValueError) as e:
        call()
    assert words in str(e.value)
