"""Calibrated, equivalent and true airspeed against data/published/airspeed_conversion.md."""

import numpy as np
import pytest
from scipy import constants

from aerolib.atmosphere import density
from aerolib.measured.airspeed.correction import equivalent_airspeed, impact_pressure, true_airspeed


def _given(row):
    cas = row["calibrated_airspeed [kt]"] * constants.knot
    h = row["pressure_altitude [ft]"] * constants.foot
    celsius = row["air_temperature [deg C]"]
    return cas, h, None if celsius is None else celsius + constants.zero_Celsius


def test_conversions_at_printed_precision(published, as_printed):
    # equations: SFTE Reference Handbook 2013 ch. 4 (seen); numbers computed from them, printed to 1e-4
    for row in published("airspeed_conversion"):
        cas, h, temperature = _given(row)
        as_printed(impact_pressure(cas), row["impact_pressure [Pa]"], row)
        as_printed(equivalent_airspeed(cas, h) / constants.knot, row["equivalent_airspeed [kt]"], row)
        as_printed(true_airspeed(cas, h, temperature) / constants.knot, row["true_airspeed [kt]"], row)
        shortcut = cas / np.sqrt(density(h, temperature) / 1.225) / constants.knot
        as_printed(shortcut, row["calibrated_over_root_sigma [kt]"], row)


def test_in_knots_as_the_handbook_writes_it():
    # SFTE Reference Handbook 2013 ch. 4 (seen): Vc = 1479 sqrt((qc/2116 + 1)^(2/7) - 1) kt, qc in lb/ft2;
    # its constants have four digits
    cas = np.array([40.0, 60.0, 100.0]) * constants.knot
    pounds = impact_pressure(cas) / (constants.lbf / constants.foot**2)
    theirs = 1479.0 * np.sqrt((pounds / 2116.0 + 1.0) ** (2.0 / 7.0) - 1.0)
    np.testing.assert_allclose(theirs, cas / constants.knot, rtol=0.5 / 1479 + 0.5 * 0.5 / 2116)


@pytest.mark.parametrize("knots, feet, percent", [(60.0, 10000.0, 0.05), (40.0, 5000.0, 0.05)])
def test_compressibility_is_as_small_as_claimed(knots, feet, percent):
    # computed from the same equations: below 60 kt and 10,000 ft at most 0.05 %
    cas = knots * constants.knot
    assert 0.0 < 1.0 - equivalent_airspeed(cas, feet * constants.foot) / cas <= percent / 100.0


def test_impact_pressure_tends_to_the_incompressible_one():
    # series of the same equation: qc = q (1 + M^2/4 + M^4/40 + ...), a0 = 340.2940 m/s computed from ISO 2533
    v = np.array([10.0, 30.0, 60.0])
    m = v / 340.2940
    q = 0.5 * 1.225 * v**2
    np.testing.assert_allclose(impact_pressure(v), q * (1 + m**2 / 4 + m**4 / 40), rtol=1e-7)
