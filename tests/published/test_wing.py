"""The wing's maximum lift against an independent lifting line's twisted examples, and against bounds by hand.

The numbers for twisted wings are our arithmetic by other code (N = 400, a0 = 2 pi); the ratios of rectangular wings to
their section, 0.90 to 0.93, are common practice without a source.
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from aerolib.estimate import Estimate, Source
from aerolib.physics.lifting_line import straight_taper
from aerolib.predicted.wing import SpanIncrement, wing_clmax

TABLE = Source("section table", "shared")


def section(clmax, u=0.0, alpha0=-0.07, slope=2 * math.pi, source=TABLE):
    return SimpleNamespace(alpha0=alpha0, slope=slope, clmax=Estimate("clmax", clmax, "-", {source: u} if u else {}))


TWISTED = [  # aspect ratio, taper, washout, clmax root and tip; CL of first touch, where
    (8, 0.5, 3, 1.6, 1.6, 1.507, 0.34), (8, 0.5, 3, 1.6, 1.4, 1.425, 0.52), (7, 1.0, 2, 1.6, 1.6, 1.366, 0.0),
    (6, 0.5, 3, 1.6, 1.6, 1.500, 0.39), (6, 0.5, 3, 1.6, 1.4, 1.414, 0.53),
]  # fmt: skip


@pytest.mark.parametrize("aspect, taper, washout, root, tip, touch, where", TWISTED)
def test_first_touch_of_twisted_wings(aspect, taper, washout, root, tip, touch, where):
    wing = straight_taper(aspect, aspect, taper, washout=math.radians(washout))
    found = wing_clmax(wing, {0.0: section(root), 1.0: section(tip)})
    assert found.first_touch == pytest.approx(touch, abs=1e-3)
    assert found.first_touch_share == pytest.approx(where, abs=0.02)  # the stations stand 0.03 apart
    assert found.first_touch < found.spread < found.all_at_limit


UNTWISTED = {(6, 1.0): 0.874, (6, 0.5): 0.937, (7, 1.0): 0.882, (8, 1.0): 0.888, (8, 0.6): 0.940, (8, 0.4): 0.940,
             (10, 0.5): 0.948}  # fmt: skip


@pytest.mark.parametrize("case", UNTWISTED)
def test_untwisted_wings_over_their_section(case):
    aspect, taper = case
    found = wing_clmax(straight_taper(aspect, aspect, taper), section(1.0))
    assert found.first_touch == pytest.approx(UNTWISTED[case], abs=7e-4)
    assert found.all_at_limit == pytest.approx(1.0, abs=1e-9)
    assert found.clmax.value == found.spread
    if taper == 1.0:
        assert 0.90 <= found.spread <= 0.93


def test_incidence_at_the_stall_by_hand():
    """Just stalling, a wing obeys CL = a (alpha - alpha0); the quoted CL lies a little below that line."""
    found = wing_clmax(straight_taper(8, 8, 0.5), section(1.5, alpha0=math.radians(-4)))
    linear = found.spread / found.slope - math.radians(4)
    assert 0.0 <= found.alpha_stall - linear < math.radians(1.5)


def test_incidence_at_the_stall_knows_that_lift_curves_bend():
    """A section that stalls two degrees past its straight line takes the wing two degrees further, not its CLmax."""
    straight = section(1.5)
    bent = SimpleNamespace(**vars(straight), alpha_stall=-0.07 + 1.5 / (2 * math.pi) + math.radians(2))
    one, other = (wing_clmax(straight_taper(8, 8, 0.5), s) for s in (straight, bent))
    assert other.alpha_stall - one.alpha_stall == pytest.approx(math.radians(2), rel=1e-9)
    assert other.clmax.value == one.clmax.value


def test_trim_is_a_share_and_its_range_a_rectangle():
    found = wing_clmax(straight_taper(7, 7, 0.8), section(1.5, 0.05))
    assert found.trimmed.value == pytest.approx(0.96 * found.clmax.value)
    tail = next(b for b in found.trimmed.budget() if b.name.startswith("tail load"))
    assert tail.contribution == pytest.approx(found.clmax.value * 0.08 / math.sqrt(12))
    given = Estimate("trim loss", 0.05, "-", {Source("tail arm", "shared"): 0.01})
    other = wing_clmax(straight_taper(7, 7, 0.8), section(1.5, 0.05), trim_loss=given)
    assert other.trimmed.value == pytest.approx(0.95 * found.clmax.value)


def test_same_limit_everywhere_passes_its_uncertainty_on_in_proportion():
    """One section all along and no twist: CLmax is a pure number times clmax."""
    found = wing_clmax(straight_taper(7, 7, 0.6), section(1.5, 0.075))
    assert found.clmax.parts[TABLE] == pytest.approx(0.05 * found.clmax.value, rel=0.02)


def test_a_source_shared_by_two_wings_cancels_in_their_ratio():
    wing = straight_taper(7, 7, 0.9, flap=(0.5, 2.0))
    plain = wing_clmax(wing, section(1.5, 0.15))
    flapped = wing_clmax(wing, section(1.5, 0.15), increments=[SpanIncrement(0.5, 2.0, 0.8, -0.15)])
    only = Estimate("r", plain.clmax.value, "-", {TABLE: plain.clmax.parts[TABLE]})
    ratio = Estimate("r", flapped.clmax.value, "-", {TABLE: flapped.clmax.parts[TABLE]}).ratio_to(only)
    assert ratio.standard_uncertainty < 0.4 * 0.1 * ratio.value


SPAN_RULE = [(0.0, 0.6, 1.0), (0.0, 0.6, 0.5), (0.13, 0.55, 1.0), (0.13, 0.55, 0.5), (0.0, 1.0, 1.0), (0.0, 1.0, 0.5)]


def test_flap_gain_beside_the_span_rule():
    """dCLmax = 0.92 dclmax S_flapped / S (DATCOM's factor at zero sweep, from memory) knows no planform.

    A rectangular wing, whose root is loaded most, gains more from an inboard limit than a tapered one: within 30 %
    each, and in the mean within 10 %.
    """
    ratios = []
    for inner, outer, taper in SPAN_RULE:
        wing = straight_taper(7, 7, taper, side=3.5 * inner)
        flap = SpanIncrement(3.5 * inner, 3.5 * outer, 1.0, -math.radians(12))
        gain = wing_clmax(wing, section(1.5), increments=[flap]).spread - wing_clmax(wing, section(1.5)).spread
        ratios.append(gain / (0.92 * wing.area_between(3.5 * inner, 3.5 * outer) / 7))
    assert 0.7 < min(ratios) and max(ratios) < 1.3, ratios
    assert np.mean(ratios) == pytest.approx(1.0, abs=0.1)


def test_whole_span_device_is_another_section():
    wing = straight_taper(7, 7, 0.7, washout=0.03)
    device = wing_clmax(wing, section(1.5), increments=[SpanIncrement(0.0, 3.5, 0.4, -0.1)])
    other = wing_clmax(wing, section(1.9, alpha0=-0.17))
    for name in ("first_touch", "spread", "all_at_limit", "alpha_stall"):
        assert getattr(device, name) == pytest.approx(getattr(other, name), rel=1e-3)


def test_lowering_a_flap_lowers_the_stall_angle():
    wing = straight_taper(7, 7, 1.0)
    flap = SpanIncrement(0.3, 2.0, 0.9, -0.2)
    assert wing_clmax(wing, section(1.5), increments=[flap]).alpha_stall < wing_clmax(wing, section(1.5)).alpha_stall


def test_washout_moves_the_stall_inboard_and_gives_the_ailerons_margin():
    margins, places = [], []
    for washout in (0.0, 0.03, 0.06):
        found = wing_clmax(straight_taper(7, 7, 0.6, washout=washout, aileron=(2.2, 3.4)), section(1.5))
        margins.append(found.aileron_margin)
        places.append(found.first_touch_at)
    assert np.all(np.diff(margins) > 0.01) and np.all(np.diff(places) < 0)


def test_stall_seen_elsewhere():
    """Tufts let go further out than predicted: the interval grows, and both readings bracket the number."""
    wing = straight_taper(7, 7, 1.0)
    plain, seen = wing_clmax(wing, section(1.5)), wing_clmax(wing, section(1.5), first_stall=2.0)
    assert seen.clmax.standard_uncertainty >= plain.clmax.standard_uncertainty
    assert plain.first_touch * 0.97 < seen.clmax.value < 1.5
    assert any("2.00 m" in n for n in seen.notes)
    same = wing_clmax(wing, section(1.5), first_stall=plain.first_touch_at)
    assert same.clmax.value == pytest.approx(plain.clmax.value, rel=0.01)
