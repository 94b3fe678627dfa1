"""What must not matter does not, and what must cancel does: units to reduced stalls."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from aerolib import ErrorSizes, Thrust, reduce_stalls
from aerolib.estimate import Estimate, Source
from aerolib.measured.airspeed.correction import SpeedCorrection, equivalent_airspeed, true_airspeed
from aerolib.measured.stalls import mixed
from aerolib.measured.stalls.mixed import fit_flights, mixture_quantiles
from aerolib.units import from_si, to_si

PER_STALL = ("ias", "weight", "configuration", "modification", "flight", "speed_kind", "ended", "entry_rate",
             "load_factor", "pressure_altitude")  # fmt: skip
NAN = math.nan


def _card(**changes):
    """Eleven stalls, two modifications, two configurations, four flights."""
    card = dict(
        ias=[24.8, 25.3, 24.6, 22.1, 22.4, 24.0, 23.6, 23.9, 21.2, 21.6, 21.3],
        weight=[610.0, 605.0, 622.0, 600.0, 618.0, 612.0, 608.0, 615.0, 606.0, 603.0, 611.0],
        configuration=["clean", "clean", "clean", "flap", "flap", "clean", "clean", "clean", "flap", "flap", "flap"],
        modification=["before"] * 5 + ["after"] * 6,
        flight=["1", "1", "2", "1", "2", "3", "3", "4", "3", "3", "4"],
        speed_kind=["minimum"] * 4 + ["break"] * 4 + ["steady"] * 3,
        ended=["break"] * 11,
        entry_rate=[0.5, 0.4, 0.5, NAN, 0.5, 0.45, 0.5, NAN, NAN, NAN, NAN],
        load_factor=[NAN, NAN, 0.95, NAN, NAN, NAN, NAN, 0.96, NAN, NAN, 0.99],
        pressure_altitude=[900.0, 950.0, 1000.0, NAN, 900.0, 1200.0, 900.0, 800.0, 900.0, NAN, 900.0],
        wing_area=13.0,
        reference_weight=640.0,
    )
    return {**card, **changes}


def _rows(card, chosen):
    return {key: [value[i] for i in chosen] if key in PER_STALL else value for key, value in card.items()}


def _by_name(result):
    return {item.name: item for item in result.items}


def _same(a, b, rel=1e-9):
    assert a.value == pytest.approx(b.value, rel=rel)
    assert a.standard_uncertainty == pytest.approx(b.standard_uncertainty, rel=rel)
    assert a.interval95 == pytest.approx(b.interval95, rel=rel)


def test_order_of_rows_does_not_matter():
    card = _card()
    order = np.random.default_rng(3).permutation(11)
    assert not np.array_equal(order, np.arange(11))
    straight, shuffled = reduce_stalls(**card), reduce_stalls(**_rows(card, order))
    np.testing.assert_allclose(shuffled.points.cl, straight.points.cl[order], rtol=1e-14)
    np.testing.assert_allclose(shuffled.points.standard_uncertainty, straight.points.standard_uncertainty[order])
    assert straight.day_scatter == pytest.approx(shuffled.day_scatter, rel=1e-9)
    others = _by_name(shuffled)
    for name, item in _by_name(straight).items():
        _same(item.clmax, others[name].clmax)
        _same(item.stall_speed_1g, others[name].stall_speed_1g)
        assert {b.name: b.share for b in item.clmax.budget()} == pytest.approx(
            {b.name: b.share for b in others[name].clmax.budget()}, rel=1e-9
        )


def test_names_of_flights_and_groups_do_not_matter():
    card = _card()
    renamed = {**card, "flight": [{"1": "d", "2": "a", "3": "zz", "4": "b"}[f] for f in card["flight"]],
               "configuration": [{"clean": "x", "flap": "a"}[c] for c in card["configuration"]]}  # fmt: skip
    one, two = reduce_stalls(**card), reduce_stalls(**renamed)
    _same(one["after", "flap"].clmax, two["after", "a"].clmax)
    _same(one["before", "clean"].clmax, two["before", "x"].clmax)


def test_arrays_equal_loops():
    card = _card()
    together = reduce_stalls(**card).points
    for i in range(11):
        alone = reduce_stalls(**_rows(card, [i])).points
        for name in ("cl", "cl_with_n_equal_1", "cas", "cas_at_reference_weight", "load_factor"):
            assert getattr(alone, name)[0] == pytest.approx(getattr(together, name)[i], rel=1e-13), name


def test_one_value_for_all_equals_an_array():
    card = _card(weight=[610.0] * 11, pressure_altitude=[900.0] * 11, speed_kind=["minimum"] * 11)
    one = reduce_stalls(**{**card, "weight": 610.0, "pressure_altitude": 900.0, "speed_kind": "minimum"})
    many = reduce_stalls(**card)
    for a, b in zip(one.items, many.items):
        _same(a.clmax, b.clmax, rel=1e-13)


def test_groups_that_share_no_flight_barely_meet():
    # they share the two scatters only: the value of a group moves by less than a twentieth of its uncertainty
    card = _card()
    together = reduce_stalls(**card)
    for modification in ("before", "after"):
        chosen = [i for i in range(11) if card["modification"][i] == modification]
        alone = reduce_stalls(**_rows(card, chosen))
        for item in alone.items:
            other = _by_name(together)[item.name].clmax
            assert abs(item.clmax.value - other.value) < 0.05 * other.standard_uncertainty


def test_twice_the_weight_on_twice_the_area():
    card = _card()
    small = ErrorSizes()
    large = replace(small, empty_weight=2 * small.empty_weight, loading=2 * small.loading, fuel=2 * small.fuel)
    double = {**card, "weight": [2 * w for w in card["weight"]], "wing_area": 26.0, "reference_weight": 1280.0}
    one, two = reduce_stalls(**card), reduce_stalls(**double, errors=large)
    for a, b in zip(one.items, two.items):
        _same(a.clmax, b.clmax)
        _same(a.stall_speed_1g, b.stall_speed_1g)


@pytest.mark.parametrize(
    "text, kind, key",
    [
        ("mph", "speed", "ias"),
        ("km/h", "speed", "ias"),
        ("lb", "mass", "weight"),
        ("ft", "altitude", "pressure_altitude"),
    ],
)
def test_the_owners_unit_does_not_matter(text, kind, key):
    card = _card()
    through = {**card, key: to_si(from_si(np.array(card[key]), text, kind), text, kind)}
    for a, b in zip(reduce_stalls(**card).items, reduce_stalls(**through).items):
        _same(a.clmax, b.clmax)


def test_wing_area_leaves_the_stall_speed():
    card = _card()
    one = reduce_stalls(**card)
    other = reduce_stalls(**{**card, "wing_area": 14.3}, errors=ErrorSizes(wing_area=0.2))
    for a, b in zip(one.items, other.items):
        assert b.clmax.value == pytest.approx(a.clmax.value * 13.0 / 14.3, rel=1e-9)
        assert b.clmax.standard_uncertainty / b.clmax.value > 0.2
        _same(a.stall_speed_1g, b.stall_speed_1g)
        assert "wing area" in {line.name for line in a.clmax.budget()}
        assert "wing area" not in {line.name for line in a.stall_speed_1g.budget()}


def test_idle_thrust_leaves_the_stall_speed():
    card = _card()
    one = reduce_stalls(**card, errors=ErrorSizes(idle_thrust=0.0))
    wide = reduce_stalls(**card, errors=ErrorSizes(idle_thrust=0.1))
    given = reduce_stalls(**card, thrust={"idle": Thrust(60.0, 20.0)}, errors=ErrorSizes(stall_incidence_uncertainty=0))
    for a, b, c in zip(one.items, wide.items, given.items):
        _same(a.stall_speed_1g, b.stall_speed_1g)
        assert "thrust" not in {line.name for line in b.stall_speed_1g.budget()}
        assert b.clmax.standard_uncertainty > a.clmax.standard_uncertainty
        assert c.clmax.value < a.clmax.value
        assert c.stall_speed_1g.value == pytest.approx(a.stall_speed_1g.value, rel=5e-5)


def test_incidence_of_a_given_thrust_leaves_the_stall_speed():
    # it enters by T sin(alpha) alone, which cancels: V = sqrt(2 (W - T sin(alpha)) / (rho0 S CLmax))
    def reduced(incidence):
        errors = ErrorSizes(stall_incidence=math.radians(incidence))
        return reduce_stalls(**_card(), thrust={"idle": Thrust(300.0, 0.0)}, errors=errors)["before", "clean"]

    low, high = reduced(10.0), reduced(20.0)
    assert high.clmax.value < 0.995 * low.clmax.value
    # The share of the thrust is averaged over stalls whose load factors differ by a tenth: cancels to second order.
    assert high.stall_speed_1g.value == pytest.approx(low.stall_speed_1g.value, rel=2e-4)
    assert "angle of attack at the stall" in {line.name for line in low.clmax.budget()}
    assert "angle of attack at the stall" not in {line.name for line in low.stall_speed_1g.budget()}


@pytest.mark.parametrize("recorded", [0.96, NAN])
@pytest.mark.parametrize("rise", [0.0, 5.0])
def test_effect_of_the_entry_rate_is_the_derivative_of_the_coefficient(recorded, rise):
    # `rise`: the correction grows by this over 10 m/s, so a knot on the needle is not a knot in CAS.
    # 0.3 m/s2 lies between two nodes of the table, where it has a slope.
    correction = SpeedCorrection(ias=[20.0, 30.0], add=[0.0, rise], origin="given")
    given = dict(ias=[25.0], wing_area=13.0, weight=600.0, reference_weight=620.0, speed_kind="break",
                 load_factor=recorded, pressure_altitude=0.0, position={("before", "clean"): correction})  # fmt: skip
    result = reduce_stalls(**given, entry_rate=0.3)
    item, step = result["before", "clean"], 0.01
    cl = [reduce_stalls(**given, entry_rate=rate).points.cl[0] for rate in (0.3 - step, 0.3 + step)]
    derivative = math.log(cl[1] / cl[0]) / (2 * step)
    lines = {line.name: line.contribution for line in item.clmax.budget()}
    expected = abs(derivative) * ErrorSizes().entry_rate * result.scatter_ratio * item.clmax.value
    assert lines["entry rate"] == pytest.approx(expected, rel=0.03)  # the lag moves the slope's own place a little


def test_a_scale_error_of_the_indicator_leaves_the_ratio():
    card = _card()
    small = reduce_stalls(**card, errors=ErrorSizes(indicator_scale=0.0))
    large = reduce_stalls(**card, errors=ErrorSizes(indicator_scale=0.05))
    ratios = [r["after", "flap"].clmax.ratio_to(r["before", "flap"].clmax) for r in (small, large)]
    _same(*ratios)
    assert large["after", "flap"].clmax.standard_uncertainty > 1.2 * small["after", "flap"].clmax.standard_uncertainty


def test_equal_sources_are_one_source():
    a = Estimate("a", 1.0, "-", {Source("scales", "shared"): 0.1})
    b = Estimate("b", 2.0, "-", {Source("scales", "shared"): 0.2})
    other = Estimate("c", 2.0, "-", {Source("scales", "shared", "second pair"): 0.2})
    assert a.covariance(b) == pytest.approx(0.02)
    assert a.covariance(other) == 0.0
    assert a.ratio_to(b).standard_uncertainty == pytest.approx(0.0, abs=1e-17)
    assert a.ratio_to(other).standard_uncertainty == pytest.approx(0.5 * math.sqrt(0.02))
    assert a.ratio_to(a).interval95 == pytest.approx((1.0, 1.0))


def test_budget_shares_sum_to_one():
    for item in reduce_stalls(**_card()).items:
        for estimate in (item.clmax, item.stall_speed_1g, *(s.speed for s in item.speeds_seen)):
            lines = estimate.budget()
            assert sum(line.share for line in lines) == pytest.approx(1.0, rel=1e-12)
            total = math.sqrt(sum(line.contribution**2 for line in lines))
            assert total == pytest.approx(estimate.standard_uncertainty, rel=1e-12)
            assert [line.contribution for line in lines] == sorted((line.contribution for line in lines), reverse=True)


def test_another_unit_changes_nothing_else():
    estimate = reduce_stalls(**_card())["before", "clean"].stall_speed_1g
    there = estimate.scaled(from_si(1.0, "kt", "speed"), "kt")
    assert there.value == pytest.approx(estimate.value * 3600 / 1852, rel=1e-13)
    assert [line.share for line in there.budget()] == pytest.approx([line.share for line in estimate.budget()])
    _same(there.scaled(1852 / 3600, "m/s"), estimate, rel=1e-12)
    low, high = there.scaled(-1.0, "kt").interval95
    assert low < high


@pytest.mark.parametrize("ending", ["stop", "early", "unknown"])
def test_bounds_on_other_flights_leave_the_breaks(ending):
    # they share the two scatters with the breaks, no more: the value moves by less than 1 % of its uncertainty
    card = _card()
    extra = dict(ias=[20.5, 20.8, 19.9], weight=[610.0] * 3, configuration=["clean", "clean", "flap"],
                 modification=["before", "before", "after"], flight=["8", "8", "9"], speed_kind=["minimum"] * 3,
                 ended=[ending] * 3, entry_rate=[0.5] * 3, load_factor=[NAN] * 3,
                 pressure_altitude=[900.0] * 3)  # fmt: skip
    more = {key: value + extra[key] if key in PER_STALL else value for key, value in card.items()}
    one, two = reduce_stalls(**card), reduce_stalls(**more)
    for a, b in zip(one.items, two.items):
        assert abs(a.clmax.value - b.clmax.value) < 0.01 * a.clmax.standard_uncertainty
        assert b.breaks == a.breaks
    assert sum(item.bounds for item in two.items) == 3


def test_flights_of_one_name_before_and_after_are_two():
    card = _card()
    alike = {**card, "flight": ["1", "1", "2", "1", "2", "1", "1", "2", "1", "1", "2"]}
    for a, b in zip(reduce_stalls(**card).items, reduce_stalls(**alike).items):
        _same(a.clmax, b.clmax, rel=1e-13)


def test_correction_and_reading_are_inverse():
    rng = np.random.default_rng(5)
    correction = SpeedCorrection(ias=[20.0, 25.0, 31.0, 40.0], add=[1.5, 0.4, -0.6, 0.0])
    v = rng.uniform(15.0, 45.0, 50)
    np.testing.assert_allclose(correction.reading(correction.corrected(v)), v, rtol=1e-13)
    turned = SpeedCorrection(ias=[40.0, 20.0, 31.0, 25.0], add=[0.0, 1.5, -0.6, 0.4])
    np.testing.assert_array_equal(turned.corrected(v), correction.corrected(v))
    assert np.all(correction.uncertainty(np.array([18.0, 45.0])) > correction.uncertainty(np.array([30.0, 30.0])))


def test_sea_level_airspeeds_are_one():
    v = np.linspace(10.0, 60.0, 11)
    np.testing.assert_allclose(equivalent_airspeed(v, 0.0), v, rtol=1e-11)
    np.testing.assert_allclose(true_airspeed(v, 0.0), v, rtol=2e-8)  # rho0 is printed with 4 digits


def test_one_normal_distribution():
    probabilities = np.array([1e-6, 0.025, 0.3, 0.5, 0.95, 1 - 1e-6])
    found = mixture_quantiles(np.array([1.0]), np.array([1.3]), np.array([0.2]), probabilities)
    np.testing.assert_allclose(found, stats.norm.ppf(probabilities, 1.3, 0.2), rtol=0, atol=1e-10)


def test_mixture_quantiles_are_where_its_distribution_function_says():
    p, mean, sd = np.array([0.2, 0.5, 0.3]), np.array([-1.0, 0.0, 4.0]), np.array([0.5, 1.0, 2.0])
    probabilities = np.array([0.01, 0.4, 0.99])
    found = mixture_quantiles(p, mean, sd, probabilities)
    np.testing.assert_allclose(stats.norm.cdf(found[:, None], mean, sd) @ p, probabilities, rtol=0, atol=1e-12)


def _small(seed=11, stalls=14, groups=3, flights=4, slope=True):
    rng = np.random.default_rng(seed)
    group, flight = np.arange(stalls) % groups, rng.integers(0, flights, stalls)
    flight[:flights] = np.arange(flights)
    data = dict(
        y=0.3 + 0.1 * group + rng.normal(0, 0.03, stalls),
        variance=rng.uniform(0.5, 2.0, stalls) * 4e-4,
        group=group,
        flight=flight,
        groups=groups,
        flights=flights,
        flight_variance=rng.uniform(0.5, 2.0, flights) * 2.5e-5,
        day_median=0.012,
        day_log_sd=0.5,
    )
    return data | ({"covariate": rng.uniform(-0.3, 0.5, stalls)} if slope else {})


def _dense(data, tau, kappa):
    """Generalised least squares with the whole covariance matrix: weights, covariance, restricted ln likelihood."""
    n = len(data["y"])
    x = np.zeros((n, data["groups"]))
    x[np.arange(n), data["group"]] = 1.0
    if "covariate" in data:
        x = np.column_stack([x, data["covariate"]])
    z = np.zeros((n, data["flights"]))
    z[np.arange(n), data["flight"]] = 1.0
    v = np.diag(kappa**2 * data["variance"]) + z @ np.diag(tau**2 + data["flight_variance"]) @ z.T
    v_inverse = np.linalg.inv(v)
    covariance = np.linalg.inv(x.T @ v_inverse @ x)
    weights = covariance @ x.T @ v_inverse
    residual = data["y"] - x @ weights @ data["y"]
    log_likelihood = -0.5 * (
        np.linalg.slogdet(v)[1] - np.linalg.slogdet(covariance)[1] + residual @ v_inverse @ residual
    )
    return weights, covariance, z, log_likelihood


@pytest.mark.parametrize("slope", [False, True])
@pytest.mark.parametrize("seed", [11, 12])
def test_fit_against_dense_least_squares(seed, slope):
    data = _small(seed, slope=slope)
    fit = fit_flights(**data)
    weights, _, z, _ = _dense(data, fit.tau, fit.kappa)
    np.testing.assert_allclose(fit.weights, weights[:3], rtol=0, atol=1e-10)
    np.testing.assert_allclose(fit.flight_loading, weights[:3] @ z, rtol=0, atol=1e-10)
    of_group = np.equal.outer(np.arange(3), data["group"])
    np.testing.assert_allclose(np.where(of_group, fit.weights, 0.0).sum(axis=1), 1.0, rtol=1e-10)
    np.testing.assert_allclose(fit.weights.sum(axis=1), 1.0, rtol=1e-10)


@pytest.mark.parametrize("slope", [False, True])
def test_posterior_against_dense_likelihood(slope):
    # the stated model over the module's own grid, each point by the whole covariance matrix
    data = _small(21, slope=slope)
    fit = fit_flights(**data)
    tau, kappa = (g.ravel() for g in np.meshgrid(data["day_median"] * mixed.TAU_STEPS, mixed.KAPPA_STEPS))
    solved = [_dense(data, t, k) for t, k in zip(tau, kappa)]
    log_p = np.array([s[3] for s in solved])
    log_p += stats.norm.logpdf(np.log(tau / data["day_median"]), 0, data["day_log_sd"])
    log_p += stats.norm.logpdf(np.log(kappa), 0, mixed.PRIOR_KAPPA_LOG_SD)
    p = np.exp(log_p - log_p.max())
    p /= p.sum()
    np.testing.assert_allclose(fit.grid_probability, p, rtol=1e-7, atol=1e-12)
    means = np.array([s[0] @ data["y"] for s in solved]).T
    np.testing.assert_allclose(fit.grid_mean, means[:3], rtol=0, atol=1e-10)
    np.testing.assert_allclose(fit.mean, means[:3] @ p, rtol=0, atol=1e-10)
    sds = np.array([np.sqrt(np.diagonal(s[1])) for s in solved]).T
    np.testing.assert_allclose(fit.grid_sd, sds[:3], rtol=1e-8)
    assert fit.tau == pytest.approx(math.sqrt(p @ tau**2), rel=1e-8)
    assert fit.kappa == pytest.approx(math.sqrt(p @ kappa**2), rel=1e-8)
    if slope:
        middle = means[3] @ p
        assert fit.slope == pytest.approx(middle, abs=1e-10)
        assert fit.slope_sd == pytest.approx(math.sqrt(p @ (sds[3] ** 2 + (means[3] - middle) ** 2)), rel=1e-8)


def test_without_scatter_of_its_own_it_is_the_weighted_mean():
    data = _small(7, slope=False) | dict(day_median=1e-9, flight_variance=np.zeros(4))
    fit = fit_flights(**data, kappa_steps=np.array([1.0]))
    for g in range(3):
        chosen = data["group"] == g
        w = 1.0 / data["variance"][chosen]
        assert fit.mean[g] == pytest.approx(np.average(data["y"][chosen], weights=w), rel=1e-12)
        low, high = fit.quantiles(g, (0.025, 0.975))
        assert (high - low) / 2 == pytest.approx(stats.norm.ppf(0.975) / math.sqrt(w.sum()), rel=1e-8)


def test_a_level_added_to_everything_moves_every_mean_by_it():
    data = _small(9)
    one, two = fit_flights(**data), fit_flights(**(data | {"y": data["y"] + 5.0}))
    np.testing.assert_allclose(two.mean, one.mean + 5.0, rtol=1e-12)
    np.testing.assert_allclose(two.grid_sd, one.grid_sd, rtol=1e-9)
    assert two.slope == pytest.approx(one.slope, abs=1e-10)


def test_more_stalls_make_it_surer_more_flights_surer_still():
    def width(stalls, flights):
        data = dict(y=np.tile([0.29, 0.31], stalls // 2), variance=np.full(stalls, 4e-4),
                    group=np.zeros(stalls, dtype=int), flight=np.arange(stalls) // 2 % flights, groups=1,
                    flights=flights, flight_variance=np.full(flights, 2.5e-5), day_median=0.02,
                    day_log_sd=0.5)  # fmt: skip
        low, high = fit_flights(**data).quantiles(0, (0.025, 0.975))
        return high - low

    assert width(4, 1) > width(12, 1) > width(12, 3) > width(12, 6)
