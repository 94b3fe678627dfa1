"""Smoothing and lowest places of a recorded trace against scipy.signal, which is too slow to load for a report."""

import numpy as np
import pytest
from scipy.signal import find_peaks, savgol_filter

from aerolib.measured.recording.smooth import by_parabolas, lowest_places


@pytest.mark.parametrize("width", [5, 17, 31])
def test_parabolas(width):
    values = 25.0 + np.random.default_rng(width).normal(size=200).cumsum()
    assert by_parabolas(values, width) == pytest.approx(savgol_filter(values, width, 2), rel=1e-12)
    rate = savgol_filter(values, width, 2, deriv=1, delta=0.1)
    assert by_parabolas(values, width, 0.1) == pytest.approx(rate, rel=1e-9, abs=1e-9)
    shortest = values[:width]  # one stretch, no middle to slide
    assert by_parabolas(shortest, width) == pytest.approx(savgol_filter(shortest, width, 2), rel=1e-12)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("digits", [0, 6])  # with digits 0: level stretches and equal lows
def test_lowest_places(seed, digits):
    values = np.round(np.random.default_rng(seed).normal(size=1500).cumsum(), digits)
    for apart in (1, 8, 80):
        expected, _ = find_peaks(-values, prominence=1.3, distance=apart)
        assert lowest_places(values, 1.3, apart) == list(expected)


def test_no_place_without_two_sides():
    assert lowest_places(np.linspace(30.0, 20.0, 50), 1.3, 8) == []
    assert lowest_places(np.full(50, 20.0), 1.3, 8) == []
