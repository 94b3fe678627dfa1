"""What must hold for any device: bounds, the rule, the sweep against the single call."""

import math
from dataclasses import replace

import numpy as np
import pytest

from aerolib.case.published import published
from aerolib.estimate import Estimate, Source
from aerolib.physics.lifting_line import straight_taper
from aerolib.predicted.devices import (
    KINDS,
    CleanWing,
    Device,
    Vanes,
    contest_of,
    flow_control_increment,
    sweep_vanes,
    wing_curve,
)  # fmt: skip
from aerolib.predicted.devices.flow_control import KNOT, NOT_FIRST
from aerolib.predicted.devices.rule import WITHIN
from aerolib.predicted.devices.wing import top_speed_change
from aerolib.predicted.section import SectionLift
from aerolib.predicted.section.shapes import shape_of
from aerolib.predicted.wing import SpanIncrement, wing_clmax
from aerolib.show.render import as_text, said
from aerolib.show.sections.flow_control import device_parts, headline, posterior_item, posterior_parts, worth
from aerolib.together.posterior import posterior, spread
from aerolib.together.worth import Program, chance_shown

SPEED = 45 * KNOT
PLAN = straight_taper(9.0, 13.0, 0.9, washout=0.02, aileron=(2.6, 4.3), flap=(0.5, 2.5), side=0.5)


def lift(stall="trailing edge", name="NACA 4415", clmax=1.5):
    known = Estimate("clmax", clmax, "-", {Source("table", "shared"): 0.08})
    return SectionLift(name, 2.2e6, math.radians(-4.0), 5.9, known, math.radians(15.0), stall, 0.15,
                       shape_of(name).coordinates)  # fmt: skip


SECTIONS = {0.0: lift(), 1.0: lift()}
WING = CleanWing(PLAN, SECTIONS, SPEED)


def row(**changes):
    given = {"height": 0.008, "length": 0.024, "angle": math.radians(15), "pitch": 0.05, "station": 0.15, "inner": 0.5,
             "outer": 4.4}  # fmt: skip
    return Vanes(**{**given, **changes})


def result(device=None, sections=SECTIONS, beside=(), **named):
    return flow_control_increment(device or row(), CleanWing(PLAN, sections, SPEED, **named), beside)


def test_the_shipped_interval_is_wide_and_reaches_zero():
    for device in (row(), row(inner=1.5), row(station=0.4), row(height=0.004, length=0.012), row(inner=0.8, outer=2.0)):
        found = result(device)
        for e in (found.section, found.gain):
            assert e.standard_uncertainty >= 0.40 * abs(e.value)
        assert found.section.interval95[0] <= 0.0 and found.gain.interval95[0] <= 0.0 <= found.speed.interval95[1]
        assert found.contest.pairs == 0


def test_the_estimate_does_not_follow_the_computation():
    """Inside the tested range the size of vanes changes the explanation, never the estimate."""
    low, high = result(row(height=0.0075, length=0.0225)), result(row(height=0.012, length=0.036, pitch=0.07))
    assert high.explained.computed > 1.3 * low.explained.computed
    assert high.gain.value == low.gain.value and high.speed.interval95 == low.speed.interval95


def test_a_span_that_does_not_stall_first_gains_nothing():
    curve = wing_curve(PLAN, SECTIONS, 3.2, 4.4)
    starts = float(np.interp(0.0, curve.increment, curve.touch))
    assert starts < 2.5  # the inner wing lets go first
    outer, whole = result(row(inner=3.2)), result()
    assert (
        NOT_FIRST in outer.notes and abs(outer.gain.value) < 0.02 and outer.full_span == pytest.approx(whole.full_span)
    )
    assert whole.gain.value > 0.1 and NOT_FIRST not in whole.notes
    assert outer.probability_one_knot < 0.3 < whole.probability_one_knot


def test_more_span_never_gains_less():
    gains = [result(row(inner=x)).gain.value for x in (3.0, 2.2, 1.4, 0.5)]
    assert np.all(np.diff(gains) > -0.01)


@pytest.mark.parametrize(
    "stall, station, expected", [("thin", 0.1, 0.0), ("leading edge", 0.3, 0.0), ("mixed", 0.9, 0.0)]
)
def test_nothing_is_expected_where_nothing_is_known(stall, station, expected):
    found = result(row(station=station), {0.0: lift(stall), 1.0: lift(stall)})
    assert found.section.value == expected and any("nothing is expected" in n for n in found.notes)
    assert found.section.interval95[0] < 0.0 < found.section.interval95[1]


def test_tufts_take_the_place_of_the_computation():
    behind = result(row(station=0.5), let_go=0.45)
    assert behind.section.value == 0.0 and any("as the tufts show it" in n for n in behind.notes)
    seen = result(row(inner=2.5), first_stall=3.6)
    assert seen.gain.value > result(row(inner=2.5)).gain.value + 0.02
    assert "tufts" in seen.inputs["where the stall starts"]


def test_outside_the_tested_range_is_marked_and_wider():
    tall, low, usual = (
        result(row(height=0.03, length=0.06, pitch=0.09)),
        result(row(height=0.0003, length=0.002)),
        result(),
    )
    for found in (tall, low):
        assert found.outside and "outside the tested range" in said(headline(found))
        assert found.section.standard_uncertainty > 1.4 * usual.section.standard_uncertainty
    assert tall.drag.value > 5 * low.drag.value  # the vane's own drag
    assert not usual.outside


def test_top_speed():
    """dCd 0.002 on CD0 0.035 to 0.050 at fixed power costs 1.8 to 1.3 %: the cube root by hand."""
    assert 100 * top_speed_change(0.002, np.array([0.035, 0.050])) == pytest.approx([-1.84, -1.30], abs=0.005)
    assert top_speed_change(0.0, 0.04) == 0.0 and top_speed_change(-0.001, 0.04) > 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_every_device_answers(kind):
    found = result(Device(kind, 0.5, 4.4))
    assert abs(found.gain.value) < 0.001 if KINDS[kind].gain == 0.0 else found.gain.value * KINDS[kind].gain > 0.0
    assert found.gain.interval95[0] <= found.gain.value <= found.gain.interval95[1]
    assert "approach" not in "".join(said(p) for p in device_parts(found) if not hasattr(p, "items"))


def test_devices_that_do_not_add():
    found = result(beside=("fixed slot",))
    assert any("not added" in n for n in found.notes)


def test_the_rule_ships_until_enough_was_read():
    """Twelve pairs from five sources, read with their geometry, in the range of light airplanes."""
    whole = [{"source": f"invented {i % 6}", "reynolds": 2e6, "thickness": 0.15, "read": True} for i in range(24)]
    for few in ((), whole[:11], [{**p, "read": False} for p in whole], [{**p, "reynolds": 6e6} for p in whole]):
        assert "No score was computed" in contest_of(few).why
    assert (contest_of(whole).pairs, contest_of(whole).sources) == (24, 6)
    assert "No score" not in contest_of(whole).why


def test_posterior_by_hand():
    """Prior -2 with 1, measured -1 with 0.5 m/s: weights 1 and 4, mean -1.2, standard deviation 0.447."""
    p = Estimate("p", -2.0, "m/s", {Source("table", "shared"): 1.0})
    m = Estimate("m", -1.0, "m/s", {Source("flights", "shared"): 0.5})
    found = posterior(p, m)
    assert found.best.value == pytest.approx(-1.2) and found.best.standard_uncertainty == pytest.approx(math.sqrt(0.2))
    assert found.sigmas == pytest.approx(1.0 / math.sqrt(1.25)) and not found.conflict
    off = posterior(p, m, use_prior=False)
    assert off.best is m and off.prior is p and not off.prior_used
    assert posterior(p, None).best is p and posterior(None, m).best is m
    assert spread(found.best) < min(spread(p), spread(m))


def test_conflict_is_flagged_with_its_causes():
    p = Estimate("p", -3.0, "m/s", {Source("table", "shared"): 0.5})
    m = Estimate("m", 1.0, "m/s", {Source("flights", "shared"): 0.5})
    found = posterior(p, m)
    told = " ".join(map(said, posterior_parts(found)[1].items))
    assert found.conflict and "Usual causes" in told and posterior_item(result(), found)["conflict"] is True
    assert "does not use the prediction" in told


def test_sweep_agrees_with_the_single_call():
    stations, heights = np.array([0.1, 0.3]), np.array([0.005, 0.012])
    swept = sweep_vanes(row(), WING, station=stations, height=heights, inner=[0.5, 2.0])
    for i, x in enumerate(stations):
        for j, h in enumerate(heights):
            for m, y in enumerate((0.5, 2.0)):
                one = result(row(station=x, height=h, length=3 * h, inner=y))
                here = (i, j, 0, m)
                assert swept.gain[here] == pytest.approx(one.gain.value, abs=1e-12)
                assert swept.change[here] == pytest.approx(one.speed.value, abs=1e-12)
                assert swept.probability[here] == pytest.approx(one.probability_one_knot, abs=1e-12)
                assert swept.computed[here] == pytest.approx(one.explained.computed, abs=1e-12)
                assert bool(swept.outside[here]) == bool(one.outside)


def test_a_sweep_tells_how_far_it_is_and_stops_when_asked():
    told = []
    whole = sweep_vanes(row(), WING, station=np.linspace(0.1, 0.5, 5),
                        progress=lambda done, total: told.append((done, total)))  # fmt: skip
    assert whole.complete and told[0] == (0, 5) and told[-1] == (5, 5)
    cut = sweep_vanes(row(), WING, station=np.linspace(0.1, 0.5, 5),
                      progress=lambda done, total: done < 2)  # fmt: skip
    assert not cut.complete and np.isfinite(cut.gain[:2]).all() and np.isnan(cut.gain[2:]).all()


def test_worth_buying_says_everything_asked():
    program = Program(SPEED, 0.25, 0.15, 1.0)
    page = worth(None, result(), program)
    text = as_text(page)
    for words in ("Likely change", "gear and tail", "top speed", " g", "Would your test show it",
                  "Airspeed calibration", "Tuft", "Weigh", "gaps", "leading edge", "rigging"):  # fmt: skip
        assert words in text
    assert "approach" not in as_text(replace(page, cautions=()))
    chance = chance_shown(result().speed, program)
    assert 0.0 < chance < 1.0
    assert chance_shown(result().speed, Program(SPEED, 0.1, 0.05, 0.1, flights=4)) > chance + 0.2


def test_the_rule_is_the_table():
    means = {}
    for r in published("vg_pairs"):
        if r["in_mean"] == "yes":
            assert 11 <= r["thickness [%]"] <= 21 and 0.7e6 <= r["reynolds"] <= 4e6
            means.setdefault(r["source"], []).append(r["treated"] - r["clean"])
    mean = np.mean([np.mean(x) for x in means.values()])
    assert result().section.value == pytest.approx(mean, abs=0.0006) and WITHIN >= 0.40 and WITHIN * 1.96 >= 1.0


def test_the_curve_is_the_wing():
    """The curve's wing is `wing_clmax`, trimmed by the middle of what the tail may cost."""
    for increment in (0.0, 0.25):
        devices = [SpanIncrement(1.0, 4.0, increment, 0.0)] if increment else []
        for seen in (None, 3.0):
            whole = wing_clmax(PLAN, SECTIONS, increments=devices, first_stall=seen)
            curve = wing_curve(PLAN, SECTIONS, 1.0, 4.0, seen)
            assert curve.before + curve.at(increment) == pytest.approx(whole.trimmed.value, abs=1e-9)
            assert np.interp(increment, curve.increment, curve.margin) == pytest.approx(whole.aileron_margin, abs=1e-9)
