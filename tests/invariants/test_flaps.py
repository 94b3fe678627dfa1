"""What must hold for any flap, whatever the numbers."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from aerolib.physics.lifting_line import straight_taper
from aerolib.predicted.flap.increment import KINDS, effectiveness, flap_increment, flap_theory, share_at_stall
from aerolib.predicted.flap.span import flap_span, trimmed_clmax

DEG = math.pi / 180
NAMES = ("lift", "clmax", "zero_lift_angle", "stall_angle", "moment", "drag")
WING = straight_taper(8.6, 10.6, 0.9, aileron=(2.4, 4.1))


@pytest.mark.parametrize("kind", KINDS)
def test_arrays_equal_scalars(kind):
    draw = np.random.default_rng(7)
    n = 10_000
    ratio, t = draw.uniform(0.1, 0.45, n), draw.uniform(0.06, 0.24, n)
    deflection = draw.uniform(max(0.0, KINDS[kind].lowest), KINDS[kind].highest, n)
    extension = draw.uniform(0.01, 0.1, n) if kind == "Fowler" else np.zeros(n)
    span = flap_span(WING, 0.5, 2.3)
    for where in (None, span):
        many = flap_increment(kind, ratio, deflection, thickness=t, extension=extension, span=where)
        for i in range(0, n, 1999):
            one = flap_increment(kind, ratio[i], deflection[i], thickness=t[i], extension=extension[i], span=where)
            for name in NAMES:
                assert getattr(many, name)[i] == pytest.approx(getattr(one, name), rel=1e-14, abs=1e-16)
                assert many.standard_uncertainty(name)[i] == pytest.approx(one.standard_uncertainty(name), rel=1e-12)


def test_settings_broadcast():
    found = flap_increment("plain", np.array([[0.2], [0.3]]), np.array([10, 20, 30]) * DEG)
    assert found.clmax.shape == found.drag.shape == (2, 3)


@given(
    kind=st.sampled_from(sorted(set(KINDS) - {"Fowler"})),
    ratio=st.floats(0.1, 0.4),
    t=st.floats(0.06, 0.24),
    share=st.floats(0.05, 0.95),
)
def test_no_deflection_adds_nothing_and_more_adds_more(kind, ratio, t, share):
    still = flap_increment(kind, ratio, 0.0, thickness=t)
    assert all(getattr(still, name) == 0.0 for name in NAMES)
    high = KINDS[kind].highest
    less, more = (flap_increment(kind, ratio, x * high, thickness=t) for x in (share, min(1.0, share + 0.05)))
    assert 0.0 < less.lift < more.lift and 0.0 < less.clmax < more.clmax and 0.0 < less.drag < more.drag
    assert less.zero_lift_angle < 0.0 and less.moment < 0.0
    assert less.stall_angle <= 1e-12 or less.clmax > less.lift


@given(ratio=st.floats(0.05, 0.5))
def test_lift_never_exceeds_theory(ratio):
    for kind, k in KINDS.items():
        kept = effectiveness(kind, ratio, np.linspace(0.0, k.highest, 50))
        assert kept.max() == k.initial < 1.0 and (np.diff(kept) < 0.0).all()


@given(ratio=st.floats(0.05, 0.5), t=st.floats(0.0, 0.3), clean=st.floats(0.6, 2.0))
def test_share_lies_between_the_leading_edge_limit_and_the_whole(ratio, t, clean):
    least = flap_theory(ratio)[3]
    assert least - 1e-12 <= share_at_stall(least, t, clean) <= 1.0 + 1e-12
    assert share_at_stall(least, 0.25, clean) == pytest.approx(1.0)


def test_extension_that_is_small_changes_little():
    near, none = (flap_increment("double slotted", 0.3, 30 * DEG, extension=x) for x in (1e-7, 0.0))
    assert near.clmax == pytest.approx(none.clmax, abs=1e-6) and near.moment == pytest.approx(none.moment, abs=1e-6)
    assert flap_increment("double slotted", 0.3, 30 * DEG, extension=0.2).clmax > none.clmax + 0.2


def test_an_open_slit_costs_lift():
    sealed, open_ = (flap_increment("plain", 0.25, 30 * DEG, gap=g) for g in (0.0, 0.01))
    assert open_.lift == pytest.approx(0.9 * sealed.lift) and any("slit" in n for n in open_.notes)


def test_cut_outs_add_up():
    """A flap in two pieces is the sum of the pieces, and a whole one with a hole is the whole less the hole."""
    whole, hole = flap_span(WING, 0.4, 2.3), flap_span(WING, 1.0, 1.3)
    cut = flap_span(WING, 0.4, 2.3, ((1.0, 1.3),))
    assert cut.parts == ((0.4, 1.0), (1.3, 2.3))
    assert cut.area_share == pytest.approx(whole.area_share - hole.area_share, rel=1e-12)
    assert cut.lift_factor == pytest.approx(whole.lift_factor - hole.lift_factor, rel=1e-9)
    assert flap_span(straight_taper(8.6, 10.6, 0.9), 0.0, 4.3).area_share == pytest.approx(1.0)
    assert flap_span(straight_taper(8.6, 10.6, 0.9), 0.0, 4.3).lift_factor == pytest.approx(1.0, abs=1e-6)


def test_trim_costs_the_moment_over_the_arm():
    found = flap_increment("slotted", 0.23, 38 * DEG, span=flap_span(WING, 0.5, 2.3))
    trimmed = trimmed_clmax(found, 3.2)
    assert trimmed.value == pytest.approx(found.clmax + found.moment / 3.2)
    assert found.estimate("clmax").value > trimmed.value > 0.0
    assert trimmed_clmax(found).standard_uncertainty > trimmed_clmax(found, 3.0).standard_uncertainty


def test_estimates_share_their_method():
    """Two deflections of one flap share the method's error: their ratio is nearly free of it."""
    span = flap_span(WING, 0.5, 2.3)
    a, b = (flap_increment("slotted", 0.23, d * DEG, span=span).estimate("clmax") for d in (20, 38))
    assert a.ratio_to(b).standard_uncertainty < 1e-9 < 0.1 * a.standard_uncertainty


@pytest.mark.parametrize(
    "change, words",
    [
        ({"reynolds": 3e5}, "Re 3e+05"),
        ({"thickness": 0.28}, "held, not continued"),
        ({"thickness": 0.08}, "clean clmax of a thin section"),
    ],
)
def test_outside_the_table_is_said_and_widened(change, words):
    usual = flap_increment("slotted", 0.25, 30 * DEG)
    other = flap_increment("slotted", 0.25, 30 * DEG, **change)
    assert any(words in n for n in other.notes) and not any(words in n for n in usual.notes)
    if "clean" not in words:
        assert other.relative["clmax"] == pytest.approx(1.5 * usual.relative["clmax"])
