"""The test plan against a table of sample sizes, another library, and the fit it stands for."""

import functools
import math

import numpy as np
import pytest

from aerolib import ErrorSizes
from aerolib.measured.plan import programme as room
from aerolib.measured.plan.power import two_sample_power
from aerolib.measured.stalls.mixed import fit_flights, mixture_quantiles
from aerolib.show.comparing import plan_advice, plan_data, plan_finding
from aerolib.show.render import as_text, body_html, said

KT = 1852 / 3600
# Two states whose load factor is known: what days, stalls and position errors do is then seen alone.
ALONE = ErrorSizes(reading=0.5 * KT, reading_flight=0.0, entry_rate=0.0, entry_rate_flight=0.0, loading=0.0, fuel=0.0)
plan_test = functools.partial(room.plan_test, load_factor_uncertainty=0.0, errors=ALONE)
# Two-sided two-sample t test at 5 %: the smallest n in each sample with this power, by standardised difference. Those
# of 80 % at 0.5, 0.8 and 1.0 are tabulated (Cohen 1988: 64, 26, 17); the rest by the noncentral t distribution.
DIFFERENCES = (0.2, 0.5, 0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0)
SMALLEST = {0.8: (394, 64, 26, 17, 12, 9, 6, 4, 4), 0.9: (527, 86, 34, 23, 16, 11, 7, 5, 4)}
EVEN = {"stall_scatter": 0.5 * KT, "day_scatter": 0.3 * KT, "position_uncertainty": 0.0}


def cell(plan, stalls, flights, calibrated=False):
    cells = plan.calibrated_cells if calibrated else plan.cells
    return next(c for c in cells if (c.stalls, c.flights) == (stalls, flights))


@pytest.mark.parametrize("power", SMALLEST)
def test_sample_sizes(power):
    for d, n in zip(DIFFERENCES, SMALLEST[power]):
        assert two_sample_power(d, n) >= power > two_sample_power(d, n - 1), d


def test_powers_as_printed():
    for n, d, power in ((64, 0.5, 0.80146), (26, 0.8, 0.807487), (17, 1.0, 0.807037)):
        assert two_sample_power(d, n) == pytest.approx(power, abs=6e-6)
    assert two_sample_power(0.0, [2, 5, 50]) == pytest.approx(0.05, abs=1e-9)
    assert two_sample_power(-1.0, 17) == two_sample_power(1.0, 17)


def test_far_from_the_limit_power_is_one():
    for d, n in ((4.5, 12), (10, 3), (100, 12), (1e6, 2), (1000, 5000)):
        assert two_sample_power(d, n) == pytest.approx(1.0, abs=1e-3)
    rising = two_sample_power(np.geomspace(0.1, 1e4, 400), 2)
    assert np.all(np.isfinite(rising)) and np.all(np.diff(rising) >= -1e-9)
    for bad in ((1.0, 1), (1.0, 2.5), (math.nan, 5), (math.inf, 5)):
        with pytest.raises(ValueError, match="2 or more"):
            two_sample_power(*bad)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_power_agrees_with_statsmodels():
    power = pytest.importorskip("statsmodels.stats.power").TTestIndPower()
    compared = 0
    for d in (0.2, 0.8, 1.5, 3.0):
        for n in (3, 6, 12, 40):
            for alpha in (0.01, 0.05):
                theirs = power.power(d, n, alpha)
                if math.isfinite(theirs):  # near 1 it is NaN at times
                    compared += 1
                    assert two_sample_power(d, n, alpha) == pytest.approx(theirs, abs=1e-7)
    assert compared > 25


def test_a_known_programme():
    """1 kt at 45 kt, 0.3 kt between days, 0.5 kt between stalls, no position error.

    A third of the time with two flights in each state and nine times in ten with four: that is a t test on the means of
    flights of six stalls, which knows nothing of days beforehand. The plan simulates `compare`, whose prior of the day
    scatter (0.27 kt here, about the truth) stands in for what two flights cannot tell: with two flights it shows the
    change twice as often; with four the prior matters little and the two agree.
    """
    difference = 1.0 / math.hypot(0.3, 0.5 / math.sqrt(6))
    assert two_sample_power(difference, 2) == pytest.approx(1 / 3, abs=0.08)
    assert two_sample_power(difference, 4) == pytest.approx(0.9, abs=0.08)
    plan = plan_test(1 * KT, 45 * KT, **EVEN)
    for stalls in (3, 4, 6):
        assert cell(plan, stalls, 4).probability_shown == pytest.approx(0.9, abs=0.08)
    assert 0.55 < cell(plan, 3, 2).probability_shown < 0.70
    assert (plan.recommended.stalls, plan.recommended.flights) == (2, 4)


@pytest.mark.parametrize("stalls, flights", [(2, 1), (3, 2), (4, 4)])
def test_the_closed_form_is_the_fit(stalls, flights):
    """Flight means and a grid over tau and kappa say what `fit_flights` says of every stall."""
    rng = np.random.default_rng(5)
    plan = plan_test(1 * KT, 45 * KT, stalls=(stalls,), flights=(flights,), **EVEN)
    flight = np.repeat(np.arange(2 * flights), stalls)
    group = flight // flights
    sigma, tau = 2 * 0.5 / 45, 2 * 0.3 / 45
    stated = room.Sizes.of(45 * KT, room.WEIGHT, ALONE).stall  # where the prior of kappa begins
    delta, count = -2 * math.log(1 - 1 / 45), 150
    shown, half = 0, 0.0

    def fitted(y, keep):
        _, which = np.unique(flight[keep], return_inverse=True)
        names = which.max() + 1
        return fit_flights(y[keep], np.full(keep.sum(), stated**2), group[keep], which, groups=2, flights=names,
                           flight_variance=np.zeros(names), day_median=0.012, day_log_sd=0.5)  # fmt: skip

    for _ in range(count):
        y = delta * group + tau * rng.standard_normal(2 * flights)[flight] + sigma * rng.standard_normal(len(flight))
        fit = fitted(y, np.ones(len(y), dtype=bool))
        c = fit.grid_covariance
        sd = np.sqrt(c[:, 0, 0] + c[:, 1, 1] - 2 * c[:, 0, 1])
        low, high = mixture_quantiles(fit.grid_probability, fit.grid_mean[1] - fit.grid_mean[0], sd, (0.025, 0.975))
        half += 22.5 * KT * (math.exp(-low / 2) - math.exp(-high / 2))
        one_left = [] if flights == 1 else [fitted(y, flight != f) for f in range(2 * flights)]
        shown += low >= 0 and all(f.mean[1] > f.mean[0] for f in one_left)
    mine = cell(plan, stalls, flights)
    luck = math.sqrt(mine.probability_shown * (1 - mine.probability_shown) / count)
    assert shown / count == pytest.approx(mine.probability_shown, abs=3.3 * luck)
    assert half / count == pytest.approx(mine.half_width, rel=0.03)


@pytest.mark.parametrize("day", [None, 0.0, 0.3 * KT])
def test_without_a_change_little_is_shown(day):
    plan = plan_test(0.0, 45 * KT, **{**EVEN, "day_scatter": day})
    for c in plan.cells:
        assert (
            c.probability_shown + c.probability_wrong < 0.06
        )  # by the rule 0.05, and three standard deviations of luck
    assert plan.recommended is None


def test_more_of_anything_never_hurts():
    plan = plan_test(1 * KT, 45 * KT, position_uncertainty=1 * KT, stall_scatter=0.5 * KT, day_scatter=0.3 * KT)
    cells = {(c.stalls, c.flights): c for c in plan.cells}
    then = {(c.stalls, c.flights): c for c in plan.calibrated_cells}
    for (s, f), c in cells.items():
        for table in (cells, then):
            more = table.get((s, f + 1))
            assert more is None or more.probability_shown > table[s, f].probability_shown - 0.02
            assert more is None or more.half_width < table[s, f].half_width
        assert then[s, f].probability_shown > c.probability_shown
        assert then[s, f].half_width < c.half_width
    shown = [plan_test(d * KT, 45 * KT, **EVEN).cells[5].probability_shown for d in (0.5, 1.0, 2.0, 4.0)]
    assert shown == sorted(shown) and shown[-1] > 0.99


def test_no_position_error_and_no_day_is_the_normal_interval():
    """Many stalls on many flights, where the prior has nothing left to say: 1.96 sqrt(2 (day^2 + stall^2 / s) / f)."""
    plan = plan_test(1 * KT, 45 * KT, stalls=(6,), flights=(40,), **EVEN)
    by_hand = 1.96 * math.sqrt(2 * (0.3**2 + 0.5**2 / 6) / 40)
    assert plan.cells[0].half_width / KT == pytest.approx(by_hand, rel=0.03)


def advice(plan):
    return [said(x) for x in plan_advice(plan)]


def test_days_that_differ_more_than_expected_are_said():
    assert not [x for x in advice(plan_test(1 * KT, 45 * KT, **EVEN)) if "no change at all" in x]
    wild = plan_test(1 * KT, 45 * KT, **{**EVEN, "day_scatter": 1 * KT})
    assert [x for x in advice(wild) if "no change at all" in x]


def test_what_is_flown_and_recorded():
    bonded = plan_test(3 * KT, 45 * KT, removable=False, configurations=2, loadings={"solo": (512.0, 0.41)}, **EVEN)
    assert sum(state == "before" for _, state, *_ in bonded.programme()) >= 2
    assert bonded.recommended.flights >= 2 and len(bonded.record_first) == 8
    assert bonded.programme()[0] == (1, "before", "solo", 512.0, 0.41)
    page = body_html(plan_finding(bonded))
    assert "512" in page and "0.410" in page
    loose = plan_test(1 * KT, 45 * KT, removable=True, **EVEN)
    rows = loose.programme()
    assert loose.record_first == () and {loading for _, _, loading, *_ in rows} == {"solo", "two-up"}
    assert [state for _, state, loading, *_ in rows if loading == "solo"][:4] == ["before", "after", "after", "before"]
    for plan in (bonded, loose):
        html, text = body_html(plan_finding(plan)), as_text(plan_finding(plan))
        assert "cautions" in html and "safe" not in html.lower() + text.lower()


def test_json():
    plan = plan_test(1 * KT, 45 * KT, **EVEN)
    item = plan_data(plan)
    assert item["change_kt"] == pytest.approx(1) and item["stall_speed_kt"] == pytest.approx(45)
    assert (item["stalls"], item["flights"]) == (2, 4) and len(item["cells"]) == len(item["calibrated_cells"]) == 16
    assert item["interval_half_width_kt"] == pytest.approx(plan.recommended.half_width / KT, rel=1e-5)
    none = plan_data(plan_test(0.1 * KT, 45 * KT, **EVEN))
    assert none["stalls"] is None and none["probability_shown"] is None


@pytest.mark.parametrize("change, speed, more, words", [
    (-1.0, 23.0, {}, "change is -1"), (math.nan, 23.0, {}, "change is nan"),
    (1.0, 0.0, {}, "stall_speed is 0"), (1.0, -5.0, {}, "stall_speed"), (20.0, 23.0, {}, "unit"),
    (1.0, 23.0, {"stalls": (2.5,)}, "whole numbers"), (1.0, 23.0, {"flights": ()}, "whole numbers"),
    (1.0, 23.0, {"flights": (0,)}, "whole numbers"), (1.0, 23.0, {"draws": 0}, "whole numbers"),
    (1.0, 23.0, {"day_scatter": -0.1}, "day_scatter"), (1.0, 23.0, {"stall_scatter": math.inf}, "stall_scatter"),
])  # fmt: skip
def test_bad_input(change, speed, more, words):
    with pytest.raises(ValueError, match=words):
        plan_test(change, speed, **more)


def test_a_load_factor_nobody_recorded_makes_a_change_harder_to_show():
    known, unknown = plan_test(KT, 45 * KT, **EVEN), room.plan_test(KT, 45 * KT, errors=ALONE, **EVEN)
    for a, b in zip(known.cells, unknown.cells):
        assert b.probability_shown <= a.probability_shown + 0.02 and b.half_width > a.half_width
    assert cell(unknown, 6, 4).probability_shown < cell(known, 6, 4).probability_shown - 0.2
