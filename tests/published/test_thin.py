"""Moment of a mean line beside the closed form, and draws that share what their estimates share."""

import math

import numpy as np
import pytest

from aerolib.consequences.draws import draw_together
from aerolib.estimate import Estimate, Source
from aerolib.physics.thin import moment_of_mean_line


def test_parabolic_mean_line():
    """z = 4 f x (1 - x): cm about the quarter chord -pi f (Glauert), so -0.1257 for 4 %."""
    x = np.linspace(0, 1, 801)
    assert moment_of_mean_line(x, 4 * 0.04 * x * (1 - x)) == pytest.approx(-math.pi * 0.04, abs=2e-5)


def test_naca_4412():
    """Theory -0.106 (Abbott and von Doenhoff's table for this mean line, from memory)."""
    x, p = np.linspace(0, 1, 2001), 0.4
    z = np.where(x < p, 0.04 / p**2 * (2 * p * x - x * x), 0.04 / (1 - p) ** 2 * (1 - 2 * p + 2 * p * x - x * x))
    assert moment_of_mean_line(x, z) == pytest.approx(-0.106, abs=5e-4)


def test_draws_share_their_sources():
    area = Source("area", "shared")
    one = Estimate("one", 1.4, "-", {area: 0.03, Source("day", "flight", "B"): 0.02})
    two = Estimate("two", 1.6, "-", {area: 0.03, Source("day", "flight", "A"): 0.02})
    a, b = draw_together([one, two], 40_000)
    assert a.std() == pytest.approx(one.standard_uncertainty, rel=0.02)
    assert np.cov(a, b)[0, 1] == pytest.approx(one.covariance(two), rel=0.05)
    alone = draw_together([two], 40_000)[0]
    assert (alone == b).all()
    wide = Estimate("wide", 1.0, "-", {area: 0.03}, (0.8, 1.2))
    assert draw_together([wide], 40_000)[0].std() == pytest.approx(0.2 / 1.96, rel=0.02)
