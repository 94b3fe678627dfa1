"""Before and after: what must not matter does not, and what both states share cancels."""

import math
from dataclasses import replace

import numpy as np
import pytest

from aerolib import ErrorSizes, SpeedCorrection, compare
from aerolib.measured.comparison.results import SHOWN, SUGGESTED, verdict_of
from aerolib.measured.stalls import Stalls
from aerolib.show.comparing import comparison_lines
from aerolib.show.render import said
from aerolib.units import from_si, to_si

KT = 1852 / 3600
RATE = 0.5


def card(seed=4, gain=0.12, configurations=("clean", "flap 20", "full flap"), flights=3, stalls=3, rates=None, **more):
    """Stalls of an invented airplane in several configurations on every flight, with readings that scatter."""
    rng = np.random.default_rng(seed)
    rows = [
        (m, c, f"{f + 1}", 26.0 * 0.9**k * math.exp(-0.5 * gain * (m == "after")) * math.exp(0.01 * rng.normal()))
        for m in ("before", "after") for f in range(flights) for k, c in enumerate(configurations)
        for _ in range(stalls)
    ]  # fmt: skip
    modification, configuration, flight, ias = (list(column) for column in zip(*rows))
    return {
        "ias": np.array(ias), "modification": modification, "configuration": configuration, "flight": flight,
        "weight": 600.0 + rng.uniform(-20, 20, len(ias)), "entry_rate": np.full(len(ias), RATE), "wing_area": 13.0,
        "reference_weight": 620.0, "pressure_altitude": 800.0, **more,
    }  # fmt: skip


def budget(change):
    """{name: (contribution, scope)}."""
    return {line.name: (line.contribution, line.scope) for line in change.ratio.budget()}


def same(a, b, rel=1e-6):
    assert a.value == pytest.approx(b.value, rel=rel)
    assert a.interval95 == pytest.approx(b.interval95, rel=rel)
    assert a.standard_uncertainty == pytest.approx(b.standard_uncertainty, rel=rel)


def everything_same(a, b, rel=1e-6):
    assert [c.name for c in a.changes] == [c.name for c in b.changes] and len(a.changes) == 3
    for x, y in zip(a.changes, b.changes):
        same(x.ratio, y.ratio, rel)
        same(x.delta_clmax, y.delta_clmax, rel)
        same(x.delta_stall_speed_1g, y.delta_stall_speed_1g, rel)
        assert x.probability_improved == pytest.approx(y.probability_improved, rel=rel)
        assert x.without == pytest.approx(y.without, rel=rel) and len(x.without) == 6
        assert str(x.verdict) == str(y.verdict)
    same(a.common, b.common, rel)
    assert a.agree == b.agree


@pytest.mark.parametrize("gain", [0.12, 0.0, -0.08])
def test_swapped_states_mirror(gain):
    there = compare(Stalls(**card(gain=gain)))
    back = compare(Stalls(**card(gain=gain)), before="after", after="before")
    for x, y in zip(there.changes, back.changes):
        assert x.ratio.value * y.ratio.value == pytest.approx(1.0, rel=1e-9)
        assert x.ratio.interval95[0] * y.ratio.interval95[1] == pytest.approx(1.0, rel=1e-9)
        assert x.probability_improved + y.probability_improved == pytest.approx(1.0, abs=1e-12)
        assert x.verdict.words == y.verdict.words and {x.verdict.direction, y.verdict.direction} == {"gain", "loss"}
        assert {k: -v for k, v in x.without.items()} == pytest.approx(y.without, abs=1e-9)
        assert (x.verdict.direction == "gain") == (x.ratio.value > 1.0) == (x.probability_improved > 0.5)
        seen = [(a.value, -b.value) for a, b in zip(x.delta_speeds_seen, y.delta_speeds_seen)]
        assert seen and all(a == pytest.approx(b, rel=1e-9) for a, b in seen)
    assert there.common.value * back.common.value == pytest.approx(1.0, rel=1e-9)


def test_numbers_belong_together():
    for change in compare(Stalls(**card())).changes:
        r = change.ratio
        assert r.interval95[0] < r.value < r.interval95[1]
        # V ratio = R ** -0.5; the change of CLmax is (R - 1) of the first; ends map onto ends.
        before = change.delta_clmax.value / (r.value - 1.0)
        ends = [(x / before) + 1.0 for x in change.delta_clmax.interval95]
        assert ends == pytest.approx(r.interval95, rel=1e-9)
        v = change.delta_stall_speed_1g
        speed = v.value / (r.value**-0.5 - 1.0)
        assert [speed * (x**-0.5 - 1.0) for x in reversed(r.interval95)] == pytest.approx(v.interval95, rel=1e-9)
        # idle, reference weight 620 kg, 13 m2: L = W / 1, as the thrust is zero
        assert speed == pytest.approx(math.sqrt(2 * 620.0 * 9.80665 / (1.225 * 13.0 * before)), rel=1e-6)


def test_what_the_states_share_cancels():
    """At equal rates and one weight: by name in the budget, and by blowing each of them up."""
    given = card(weight=600.0)
    plain = compare(Stalls(**given)).changes
    for change in plain:
        told, largest = budget(change), max(x for x, _ in budget(change).values())
        for name in ("wing area", "indicator scale"):
            assert name not in told
        for name, (size, _) in told.items():
            if name == "weighing":
                assert size < 1e-3 * largest, name
        assert told["position error"][1] == "state"
    for name, value in (("wing_area", 0.2), ("empty_weight", 50.0), ("indicator_scale", 0.05)):
        worse = compare(Stalls(**{**given, "errors": replace(ErrorSizes(), **{name: value})})).changes
        for a, b in zip(plain, worse):
            same(a.ratio, b.ratio, rel=1e-4)


def test_the_rule_of_the_load_factor_stays_where_the_rates_differ():
    """Twice the rate afterwards: the rule's error grows, and the ratio itself moves by n."""
    rates = np.where(np.array(card()["modification"]) == "after", 2.0 * RATE, RATE)
    even, uneven = compare(Stalls(**card()))["clean"], compare(Stalls(**card(entry_rate=rates)))["clean"]

    def rule(change):
        return sum(x for n, (x, scope) in budget(change).items() if n.startswith("load factor") and scope == "shared")

    assert rule(uneven) > rule(even) + 1e-4
    assert uneven.ratio.value < even.ratio.value  # the faster entry has the smaller n


def test_the_position_error_does_not_cancel():
    """Each state its own: both in squares, 2 u / V each; one known in both states moves the ratio by little."""
    u = 1.5 * KT
    sizes = ErrorSizes(position=u)
    change = compare(Stalls(**card(configurations=("clean",), errors=sizes)))["clean"]
    v = {
        m: np.exp(np.mean(np.log(card(configurations=("clean",))["ias"][np.array(card(configurations=("clean",))[
            "modification"]) == m]))) for m in ("before", "after")
    }  # fmt: skip
    expected = change.ratio.value * math.hypot(*(2 * u / x for x in v.values()))
    assert budget(change)["position error"][0] == pytest.approx(expected, rel=0.02)  # the indicator's lag apart
    known = SpeedCorrection(ias=[20.0], add=[1.0 * KT], standard_uncertainty=u)
    for flown in (("before", "after"), ("before",), ("after",)):  # the other state borrows it: tests/right_way_up
        position = {(m, "clean"): known for m in flown}
        ratio = compare(Stalls(**card(configurations=("clean",), position=position, errors=sizes)))["clean"].ratio
        moved = math.log(ratio.value / change.ratio.value)
        assert moved == pytest.approx(2 * math.log1p(KT / v["before"]) - 2 * math.log1p(KT / v["after"]), abs=2e-3)


def test_order_of_rows_does_not_matter():
    given = card()
    order = np.random.default_rng(2).permutation(len(given["ias"]))
    shuffled = {k: np.asarray(v)[order] if np.ndim(v) == 1 else v for k, v in given.items()}
    a, b = compare(Stalls(**given)), compare(Stalls(**shuffled))
    by_name = {c.name: c for c in b.changes}
    everything_same(a, replace(b, changes=tuple(by_name[c.name] for c in a.changes)))


def test_units_and_size_do_not_matter():
    """Knots and pounds converted by hand give the same; an airplane of twice the area and weight has the same ratio."""
    given = card()
    knots, pounds = given["ias"] / KT, given["weight"] / 0.45359237
    converted = {
        **given, "ias": [to_si(x, "kt", "speed") for x in knots], "weight": [to_si(x, "lb", "mass") for x in pounds],
        "wing_area": to_si(from_si(13.0, "ft2", "area"), "ft2", "area"),
    }  # fmt: skip
    everything_same(compare(Stalls(**given)), compare(Stalls(**converted)))
    errors = ErrorSizes()
    double = replace(errors, **{n: 2 * getattr(errors, n) for n in ("empty_weight", "loading", "fuel")})
    larger = {**given, "wing_area": 26.0, "weight": 2 * given["weight"], "reference_weight": 1240.0, "errors": double}
    everything_same(compare(Stalls(**given)), compare(Stalls(**larger)))


def test_a_third_modification_changes_nothing():
    given = card()
    third = card(seed=9, gain=0.5)
    n = len(given["ias"])
    per_stall = [k for k, v in given.items() if np.ndim(v) == 1]
    both = {k: np.concatenate([given[k], third[k]]) if k in per_stall else given[k] for k in given}
    both["modification"] = np.array([*given["modification"], *["another wing"] * n])
    everything_same(compare(Stalls(**given)), compare(Stalls(**both)), rel=1e-12)
    assert compare(Stalls(**both), after="another wing")["clean"].ratio.value != pytest.approx(
        compare(Stalls(**given))["clean"].ratio.value, rel=0.02
    )


@pytest.mark.parametrize("seed", range(12))
def test_the_common_ratio_lies_between(seed):
    """Also where one configuration has many more stalls than the others, and other flights."""
    given = card(seed=seed, flights=2, errors=ErrorSizes(position=0.1 * KT))
    if seed % 2:
        rng = np.random.default_rng(seed)
        first = np.unique([f"{m}{c}" for m, c in zip(given["modification"], given["configuration"])], return_index=True)
        keep = rng.random(len(given["ias"])) < np.where(np.array(given["configuration"]) == "clean", 1.0, 0.4)
        keep[first[1]] = True
        given = {k: np.asarray(v)[keep] if np.ndim(v) == 1 else v for k, v in given.items()}
    found = compare(Stalls(**given))
    ratios = [c.ratio.value for c in found.changes]
    assert len(ratios) == 3 and max(ratios) > min(ratios)
    assert min(ratios) < found.common.value < max(ratios)
    # No wider than the best of them.
    assert found.common.standard_uncertainty <= min(c.ratio.standard_uncertainty / c.ratio.value for c in
                                                    found.changes) * found.common.value * (1 + 1e-9)  # fmt: skip


def test_configurations_that_differ_do_not_agree():
    sure = {"errors": ErrorSizes(position=0.1 * KT)}
    assert compare(Stalls(**card(**sure))).agree is True
    given = card(**sure)
    flapped = np.array([m == "after" and c == "full flap" for m, c in zip(given["modification"],
                                                                          given["configuration"])])  # fmt: skip
    found = compare(Stalls(**{**given, "ias": np.where(flapped, given["ias"] * 1.08, given["ias"])}))
    assert found.agree is False
    assert "do not agree" in said(comparison_lines(found)[0])


def test_thresholds_of_the_verdict():
    below = 1e-12
    for p, words in ((SHOWN, "shown"), (SHOWN - below, "suggested"), (SUGGESTED, "suggested"),
                     (SUGGESTED - below, "not shown"), (0.5, "not shown"), (1.0, "shown")):  # fmt: skip
        assert verdict_of(p, {}).words == words, p
    for p, words in ((1.0 - SHOWN - below, "shown"), (0.03, "suggested"), (0.2 - below, "suggested"),
                     (0.2 + below, "not shown"), (0.0, "shown")):  # fmt: skip
        assert verdict_of(p, {}).words == words, p
        assert verdict_of(p, {}).direction == "loss"
    assert (SHOWN, SUGGESTED) == (0.975, 0.80)  # as the words of the result and of the README promise


def test_one_flight_may_take_shown_away():
    agreed = {"before, 1": 0.05, "after, 1": 0.01, "after, 2": None}
    assert verdict_of(0.99, agreed).words == "shown"
    for left in (-1e-9, 0.0):
        turned = verdict_of(0.99, {**agreed, "after, 3": left})
        assert (turned.words, turned.decided_by) == ("suggested", "after, 3")
        assert "without flight after, 3" in str(turned)
    loss = verdict_of(0.01, {"before, 1": -0.05, "after, 1": 1e-9})
    assert (loss.words, loss.direction, loss.decided_by) == ("suggested", "loss", "after, 1")
    assert verdict_of(0.01, {"before, 1": -0.05}).words == "shown"


def test_every_flight_is_left_out_once():
    given = card(flights=3)
    change = compare(Stalls(**given))["clean"]
    assert sorted(change.without) == [f"{m}, {f}" for m in ("after", "before") for f in (1, 2, 3)]
    # Each equals the comparison of the card without that flight.
    for name, left in change.without.items():
        kept = np.array([f"{m}, {f}" != name for m, f in zip(given["modification"], given["flight"])])
        rest = {k: np.asarray(v)[kept] if np.ndim(v) == 1 else v for k, v in given.items()}
        assert left == pytest.approx(math.log(compare(Stalls(**rest))["clean"].ratio.value), rel=1e-9)


def test_without_the_only_flight_nothing_is_left():
    assert compare(Stalls(**card(flights=1)))["clean"].without == {"before, 1": None, "after, 1": None}


def test_what_legs_leave_open_is_alike_between_flap_settings():
    """The port is the same with another flap: the stated correlation, for a table's error and for what legs leave."""
    from aerolib.estimate import Source
    from aerolib.measured.comparison.change import ALIKE, _as_one_airplane

    open_error = "position error beyond the legs"
    one, two = (
        _as_one_airplane({Source(open_error, "state", f"{flap} | before | level"): 0.08}, {})
        for flap in ("clean", "flap 20")
    )
    assert sum(p * two.get(s, 0.0) for s, p in one.items()) / 0.08**2 == pytest.approx(ALIKE)
    assert sum(p * p for p in one.values()) == pytest.approx(0.08**2)
