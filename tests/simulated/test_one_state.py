"""Simulated, not measured: legs flown in one state only. `python tests/simulated/one_state.py` flies 300 campaigns:

with legs in both states the ratio's interval holds the truth in 99.0 %, half-width 11.9 %; in 'after' only in 98.0 %,
16.8 %; in 'before' only in 99.0 %, 17.0 %; in none its half-width is 33.2 %. With the other state taken as right it is
24.5 and 26.0 %, and off by 14.1 % (root mean square; 8.5 % when borrowed) where the legs were flown in 'before'.
"""

import numpy as np
import pytest
from one_state import campaign, table

SEEDS = range(5000, 5060)


@pytest.fixture(scope="module")
def one():
    return [campaign(seed, ("after only", "before only")) for seed in SEEDS]


def test_the_ratio_of_legs_in_one_state_covers_about_95_percent(one):
    print("\n(simulated) ratio of CLmax, 60 campaigns", *table(one), sep="\n")
    held = np.array([[r.holds for r in c.values()] for c in one])
    assert held.mean() >= 0.93 and held.mean(axis=0).min() >= 0.90
    for name in ("after only", "before only"):  # and no wider than that takes: 1.96 for a normal distribution
        off, half = np.array([(c[name].off, c[name].half) for c in one]).T
        assert 1.7 < np.median(half) / np.sqrt(np.mean(off**2)) < 2.8


def test_it_is_narrower_than_with_the_other_state_taken_as_right(one):
    """And off by less: what both states share no longer stands in the ratio."""
    names = ("after only", "before only")
    zero = [campaign(seed, [f"{n} as zero" for n in names]) for seed in SEEDS[:20]]
    print("\n(simulated) the same with the other state taken as right", *table(zero), sep="\n")
    off = {}
    for n in names:
        mine, theirs = [c[n] for c in one[:20]], [c[f"{n} as zero"] for c in zero]
        assert np.median([r.half for r in mine]) < 0.8 * np.median([r.half for r in theirs])
        off[n] = [np.mean([r.off**2 for r in x]) for x in (mine, theirs)]
    borrowed, as_zero = np.sqrt(np.mean(list(off.values()), axis=0))
    assert borrowed < 0.85 * as_zero
