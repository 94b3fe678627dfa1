"""What must hold of a section whatever its numbers are."""

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from waiting import PATIENCE

from aerolib.case.published import measured_lift, section_table
from aerolib.predicted.section import section_lift
from aerolib.predicted.section.neuralfoil import first_maximum, raw_curve
from aerolib.predicted.section.shapes import four_digit, shape_of

TABLE = section_table()
NAMES = [r["section"] for r in TABLE]


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(NAMES), st.floats(0.4e6, 20e6), st.booleans(), st.floats(0.0, 0.01), st.floats(0.0, 0.001))
def test_any_table_section(name, reynolds, rough, gap, step):
    plain = section_lift(name, reynolds, table=TABLE)
    worse = section_lift(name, reynolds, table=TABLE, rough=rough, gap=gap, surface_break=step)
    if plain.thickness > 0.07 or not rough:  # at 6 % standard roughness was measured to cost nothing
        assert worse.clmax.value <= plain.clmax.value + 1e-12
    assert 0.4 < worse.clmax.value < 2.1 and worse.clmax.standard_uncertainty > 0.0
    # the lift curve starts at its zero, rises, and ends at clmax
    alpha = np.linspace(plain.alpha0, plain.alpha_stall, 40)
    curve = plain.cl(alpha)
    assert curve[0] == pytest.approx(0.0, abs=1e-9) and np.all(np.diff(curve[np.isfinite(curve)]) > -1e-9)
    assert np.isnan(plain.cl(plain.alpha_stall + 0.1))
    assert worse.name == name and any("placard" in c for c in worse.cautions)


def test_below_the_table_is_said_and_wider():
    at = [section_lift("NACA 2412", re, table=TABLE) for re in (3e6, 1.5e6, 0.75e6)]
    widths = [a.clmax.standard_uncertainty / a.clmax.value for a in at]
    assert widths[0] < widths[1] < widths[2]
    assert at[0].clmax.value > at[1].clmax.value > at[2].clmax.value
    assert not any("below the measured" in c for c in at[0].cautions)
    assert all(any("below the measured" in c for c in a.cautions) for a in at[1:])
    above = section_lift("NACA 2412", 15e6, table=TABLE)
    assert above.clmax.value == section_lift("NACA 2412", 9e6, table=TABLE).clmax.value
    assert any("above the measured" in c for c in above.cautions)


def test_curve_ends_at_clmax_with_its_bend():
    for name in ("NACA 2412", "NACA 63_3-418", "NACA 4412"):
        s = section_lift(name, 3e6, table=TABLE)
        assert s.cl(s.alpha_stall) == pytest.approx(s.clmax.value, abs=1e-9)
        step = 1e-4
        assert (s.cl(s.alpha_stall) - s.cl(s.alpha_stall - step)) / step < 0.02 * s.slope  # level at the top


def test_first_maximum_not_the_highest():
    # a curve made for it: a top of 1.5 at 15 degrees, then a dip and a higher rise
    alpha = np.radians(np.arange(-4.0, 30.0, 0.5))
    first = 1.5 - 40.0 * (alpha - np.radians(15.1)) ** 2
    cl = np.where(alpha < np.radians(20.0), first, 1.0 + 8.0 * (alpha - np.radians(20.0)))
    assert cl.max() > 1.6
    found = first_maximum(alpha, cl)
    assert found[0] == pytest.approx(1.5, abs=1e-9) and found[1] == pytest.approx(np.radians(15.1), abs=1e-9)
    with pytest.raises(ValueError, match="no maximum"):
        first_maximum(alpha, 5.0 * alpha)


def test_symmetry_and_camber():
    flat, up = shape_of("NACA 0012"), shape_of("NACA 2412")
    assert abs(np.degrees(raw_curve(flat, 3e6).alpha0)) < 0.05  # a symmetrical section lifts nothing at zero
    assert raw_curve(up, 3e6).alpha0 < raw_curve(flat, 3e6).alpha0
    points = four_digit("0015")
    np.testing.assert_allclose(points[:, 1], -points[::-1, 1], atol=1e-12)


def test_measured_curves_belong_to_their_table():
    for row in TABLE:
        curves = measured_lift(row["section"])
        for condition in ("3e6", "6e6", "9e6"):
            points = curves.get(f"{condition} smooth")
            if points and row[f"clmax_{condition}"]:
                assert max(cl for _, cl in points) == pytest.approx(row[f"clmax_{condition}"], abs=6e-4)


def test_a_table_section_needs_no_aerosandbox():
    code = (
        "import sys\nfrom aerolib.case.published import section_table\n"
        "from aerolib.predicted.section import section_lift\ntable = section_table()\n"
        "section_lift('NACA 2412', 2e6, table=table)\nprint('aerosandbox' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=PATIENCE, check=True)
    assert run.stdout.strip() == "False"
