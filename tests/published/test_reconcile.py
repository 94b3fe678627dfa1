"""Difference, ratio and calibration of correlated values against the `uncertainties` package (linear propagation)."""

import pytest
from uncertainties import ufloat

from aerolib.estimate import Estimate, Source
from aerolib.together.reconcile import reconcile

AREA, DAY, METHOD, SECTION = (Source(n, "shared") for n in ("wing area", "day", "method", "section"))


def test_against_another_library():
    area, day, method, section = (ufloat(0.0, 1.0) for _ in range(4))
    ours = (
        Estimate("m", 1.62, "-", {AREA: 0.03, DAY: 0.05}),
        Estimate("p1", 1.41, "-", {AREA: 0.02, METHOD: 0.11, SECTION: 0.06}),
        Estimate("p2", 1.83, "-", {AREA: 0.025, METHOD: 0.16, SECTION: 0.02}),
    )
    m = 1.62 + 0.03 * area + 0.05 * day
    p1 = 1.41 + 0.02 * area + 0.11 * method + 0.06 * section
    p2 = 1.83 + 0.025 * area + 0.16 * method + 0.02 * section
    found = reconcile(ours[0], ours[1])
    assert found.difference.standard_uncertainty == pytest.approx((m - p1).std_dev, rel=1e-12)
    assert found.sigmas == pytest.approx((m - p1).nominal_value / (m - p1).std_dev, rel=1e-12)
    assert found.ratio.value == pytest.approx((m / p1).nominal_value, rel=1e-12)
    assert found.ratio.standard_uncertainty == pytest.approx((m / p1).std_dev, rel=1e-12)
    later, theirs = found.calibrate(ours[2]), p2 * m / p1
    assert later.value == pytest.approx(theirs.nominal_value, rel=1e-12)
    assert later.standard_uncertainty == pytest.approx(theirs.std_dev, rel=1e-12)
