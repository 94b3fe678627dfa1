"""Twelve invented stalls from card to coefficient (data/published/synthetic_pack.md: synthetic, our arithmetic)."""

import numpy as np
import pytest
from scipy import constants as c

from aerolib import reduce_stalls

AREA, REFERENCE = 140.0 * c.foot**2, 1600.0 * c.pound


def _reduce(rows, bias=0.0):
    column = {key: [row[key] for row in rows] for key in rows[0]}
    return reduce_stalls(
        (np.array(column["cas [kt]"]) + bias) * c.knot, wing_area=AREA, reference_weight=REFERENCE,
        weight=np.array(column["weight [lb]"]) * c.pound, modification=column["modification"],
        speed_kind="steady", load_factor=1.0, pressure_altitude=0.0,
    )  # fmt: skip


def test_every_stall(published, as_printed):
    rows = published("synthetic_pack")
    assert len(rows) == 12
    points = _reduce(rows).points
    for row, cl, cas, corrected in zip(rows, points.cl, points.cas, points.cas_at_reference_weight):
        assert cas / c.knot == pytest.approx(row["cas [kt]"], rel=1e-14)
        as_printed(cl, row["lift_coefficient [-]"], row)
        as_printed(corrected / c.knot, row["cas_at_1600_lb [kt]"], row)


@pytest.mark.parametrize("modification, cl, speed", [("before", 1.326159, 50.457335), ("after", 1.443528, 48.363500)])
def test_means(published, modification, cl, speed):
    # printed to 1e-6 (computed outside the library)
    points = _reduce([row for row in published("synthetic_pack") if row["modification"] == modification]).points
    assert np.mean(points.cl) == pytest.approx(cl, abs=0.5e-6)
    assert np.mean(points.cas_at_reference_weight) / c.knot == pytest.approx(speed, abs=0.5e-6)


@pytest.mark.parametrize("bias, ratio", [(0.0, 1.088503), (3.0, 1.083313), (5.0, 1.080186)])
def test_a_bias_in_knots_mostly_leaves_the_ratio(published, bias, ratio):
    # ratio of the means, printed to 1e-6 (computed outside the library)
    points = _reduce(published("synthetic_pack"), bias).points
    assert np.mean(points.cl[6:]) / np.mean(points.cl[:6]) == pytest.approx(ratio, abs=0.5e-6)


def test_group_means_lie_where_the_stalls_do(published):
    # the fit works on ln CL with weights of its own: within a twentieth of the standard error of the plain mean
    result = _reduce(published("synthetic_pack"))
    for modification, mean, sd in (("before", 1.326159, 0.022647), ("after", 1.443528, 0.027021)):
        found = result[modification, "clean"].clmax.value
        assert found == pytest.approx(mean * (1.0 - 0.5 * (sd / mean) ** 2), abs=0.05 * sd / np.sqrt(6))
