"""What must hold for any device: bounds, the rules of the contest, the sweep against the single call."""

import math

import numpy as np
import pytest

from aerolib.case.published import published
from aerolib.estimate import Estimate, Source
from aerolib.physics.lifting_line import straight_taper
from aerolib.predicted.flow_contest import MODELS, TRIVIAL, WITHIN, Pair, hold_contest, interval_score
from aerolib.predicted.flow_control import KNOT, NOT_FIRST, flow_control_increment
from aerolib.predicted.flow_devices import KINDS, Device
from aerolib.predicted.flow_sweep import sweep_vanes
from aerolib.predicted.flow_wing import top_speed_change, wing_curve
from aerolib.predicted.section import SectionLift
from aerolib.predicted.section.shapes import shape_of
from aerolib.predicted.vanes import Vanes
from aerolib.predicted.wing import SpanIncrement, wing_clmax
from aerolib.together.posterior import posterior, spread
from aerolib.together.worth import worth_buying

SPEED = 45 * KNOT
PLAN = straight_taper(9.0, 13.0, 0.9, washout=0.02, aileron=(2.6, 4.3), flap=(0.5, 2.5), side=0.5)


def lift(stall="trailing edge", name="NACA 4415", clmax=1.5):
    known = Estimate("clmax", clmax, "-", {Source("table", "shared"): 0.08})
    return SectionLift(name, 2.2e6, math.radians(-4.0), 5.9, known, math.radians(15.0), stall, 0.15,
                       shape_of(name).coordinates)  # fmt: skip


SECTIONS = {0.0: lift(), 1.0: lift()}


def row(**changes):
    given = {"height": 0.008, "length": 0.024, "angle": math.radians(15), "pitch": 0.05, "station": 0.15, "inner": 0.5,
             "outer": 4.4}  # fmt: skip
    return Vanes(**{**given, **changes})


def result(device=None, sections=SECTIONS, **named):
    return flow_control_increment(device or row(), PLAN, sections, stall_speed=SPEED, **named)


def test_the_shipped_interval_is_wide_and_reaches_zero():
    for device in (row(), row(inner=1.5), row(station=0.4), row(height=0.004, length=0.012), row(inner=0.8, outer=2.0)):
        found = result(device)
        for e in (found.section, found.gain):
            assert e.standard_uncertainty >= 0.40 * abs(e.value)
        assert found.section.interval95[0] <= 0.0 and found.gain.interval95[0] <= 0.0 <= found.speed.interval95[1]
        assert found.contest.decided is False and found.contest.scores == () and found.contest.model == TRIVIAL


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
        assert found.outside and "outside the tested range" in found.headline()
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
    assert "approach" not in found.headline() and found.text().count("Nothing here plans a spin") == 1


def test_devices_that_do_not_add():
    found = result(beside=("fixed slot",))
    assert any("not added" in n for n in found.notes)


def pairs(sources, each, read=True, seed=3):
    r = np.random.default_rng(seed)
    out = []
    for s in range(sources):
        for _ in range(each):
            computed = r.uniform(0.1, 0.6)
            gain = 0.8 * computed + r.normal(0.0, 0.02)
            out.append(Pair(f"invented source {s}", 1.5, 1.5 + gain, 2e6, 0.15, read, computed, 0.6, r.uniform(10, 60)))
    return out


def test_interval_score_by_hand():
    """Gneiting and Raftery: width 1 inside; 0.2 below the lower end costs 40 x 0.2 more."""
    assert interval_score(0.0, 1.0, 0.5) == pytest.approx(1.0)
    assert interval_score(0.0, 1.0, np.array([-0.2, 1.1])) == pytest.approx([9.0, 5.0])


def test_the_contest_needs_enough_that_was_read():
    for few in ((), pairs(4, 5), pairs(5, 2), pairs(6, 4, read=False)):
        found = hold_contest(few)
        assert (
            not found.decided and found.scores == () and found.model == TRIVIAL and "No score was computed" in found.why
        )
    odd = pairs(6, 4)
    odd = [Pair(p.source, p.clean, p.treated, 6e6, p.thickness, True, p.computed, p.strength, p.distance) for p in odd]
    assert not hold_contest(odd).decided  # Reynolds number out of the range that counts
    with pytest.raises(ValueError, match="three models"):
        hold_contest((), {TRIVIAL: MODELS[TRIVIAL]})


def test_the_contest_finds_the_model_that_made_the_pairs():
    found = hold_contest(pairs(6, 4))
    assert found.decided and found.model == "computed layer" and found.pairs == 24 and found.sources == 6
    by = {s.model: s for s in found.scores}
    assert len(by) >= 3 and by["computed layer"].score < 0.5 * by[TRIVIAL].score
    for s in found.scores:
        assert s.coverage > 0.8 and s.median_width > 0.0 and "median width" in found.text()


def test_a_source_is_left_out_whole():
    """A model that could see the left-out source would hit it exactly."""
    seen = []

    def spy(given):
        seen.append({p.source for p in given})
        return lambda p: (0.0, 1.0)

    hold_contest(pairs(5, 3), {**MODELS, "spy": spy})
    assert len(seen) == 5 and all(len(s) == 4 for s in seen)


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
    assert found.conflict and "Usual causes" in found.text() and found.as_dict("kt", "speed")["conflict"] is True
    assert "does not use the prediction" in found.text()


def test_sweep_agrees_with_the_single_call():
    stations, heights = np.array([0.1, 0.3]), np.array([0.005, 0.012])
    swept = sweep_vanes(row(), PLAN, SECTIONS, stall_speed=SPEED, station=stations, height=heights, inner=[0.5, 2.0])
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
    whole = sweep_vanes(row(), PLAN, SECTIONS, stall_speed=SPEED, station=np.linspace(0.1, 0.5, 5),
                        progress=lambda done, total: told.append((done, total)))  # fmt: skip
    assert whole.complete and told[0] == (0, 5) and told[-1] == (5, 5)
    cut = sweep_vanes(row(), PLAN, SECTIONS, stall_speed=SPEED, station=np.linspace(0.1, 0.5, 5),
                      progress=lambda done, total: done < 2)  # fmt: skip
    assert not cut.complete and np.isfinite(cut.gain[:2]).all() and np.isnan(cut.gain[2:]).all()


def test_worth_buying_says_everything_asked():
    found = worth_buying(result(), stall_speed=SPEED, stall_scatter=0.25, day_scatter=0.15, position_uncertainty=1.0)
    text = found.text()
    for words in ("Likely change", "gear and tail", "top speed", " g", "Would your test show it",
                  "airspeed calibration", "tuft", "weigh", "gaps", "leading edge", "rigging"):  # fmt: skip
        assert words in text
    assert "approach" not in "".join(a for _, a in found.lines()) and 0.0 < found.chance < 1.0
    sharp = worth_buying(result(), stall_speed=SPEED, stall_scatter=0.1, day_scatter=0.05, position_uncertainty=0.1,
                         flights=4)  # fmt: skip
    assert sharp.chance > found.chance + 0.2


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
