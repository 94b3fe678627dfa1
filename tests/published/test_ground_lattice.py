"""Ground effect beside a vortex lattice and its image, by a general-purpose library (aerosandbox)."""

import math

import numpy as np
import pytest

from aerolib.physics import ground_effect as ge

HEIGHTS = (0.10, 0.15, 0.20, 0.30, 0.50)
INCIDENCE = 3.0  # degrees: the linear range


@pytest.fixture(scope="module")
def lattice():
    """Function (span, aspect ratio, taper, height or None) -> lift and drag coefficient of the upper wing, solution."""
    import aerosandbox as asb

    def solve(span, aspect, taper, height=None, along=30, across=3):
        root = 2 * span / (aspect * (1 + taper))

        def wing(name, z, sign):
            sections = [
                asb.WingXSec(xyz_le=[0.25 * (root - c), y, z], chord=c, twist=sign * INCIDENCE,
                             airfoil=asb.Airfoil("naca0002"))
                for y, c in ((-span / 2, root * taper), (0.0, root), (span / 2, root * taper))
            ]  # fmt: skip
            return asb.Wing(name=name, symmetric=False, xsecs=sections)

        wings = [wing("up", height or 0.0, 1.0)] + ([] if height is None else [wing("image", -height, -1.0)])
        area = span * span / aspect
        airplane = asb.Airplane(wings=wings, s_ref=area, b_ref=span, c_ref=area / span, xyz_ref=[0, 0, 0])
        point = asb.OperatingPoint(velocity=30.0, alpha=0.0)
        found = asb.VortexLatticeMethod(airplane=airplane, op_point=point, spanwise_resolution=along,
                                        chordwise_resolution=across)  # fmt: skip
        found.run()
        forces = found.forces_geometry[: len(found.forces_geometry) // len(wings)].sum(axis=0)
        q = 0.5 * point.atmosphere.density() * 30.0**2 * area
        return float(forces[2] / q), float(forces[0] / q), found

    return solve


@pytest.mark.parametrize("aspect, taper", [(7.0, 1.0), (8.0, 0.4)])
def test_drag_and_slope(lattice, aspect, taper):
    """Within 3 % from a tenth of the span up: induced drag at the same lift, and lift at the same incidence."""
    lift, drag, _ = lattice(10.0, aspect, taper)
    slope = lift / math.radians(INCIDENCE)
    for x in HEIGHTS:
        near_lift, near_drag, _ = lattice(10.0, aspect, taper, 10.0 * x)
        relief = float(ge.induced_relief(x, aspect, taper))
        assert 1 - relief == pytest.approx((near_drag / near_lift**2) / (drag / lift**2), rel=0.03), x
        ours = float(ge.slope_in_ground(slope, aspect, relief, 1 / (aspect * x))) / slope
        assert ours == pytest.approx(near_lift / lift, rel=0.03), x
        print(f"A {aspect}, taper {taper}, h/b {x}: slope {ours:.3f}, lattice {near_lift / lift:.3f}")


def test_downwash_difference_is_inside_what_is_carried(lattice):
    """At the tail, 0.45 b behind and 0.05 b above: downwash near the ground over aloft, printed beside ours."""
    span, aspect = 10.0, 7.0

    def downwash(height):
        cl, _, found = lattice(span, aspect, 1.0, height, along=20, across=3)
        y = np.linspace(-1.2, 1.2, 5)
        z = (height or 0.0) + 0.05 * span
        points = np.column_stack([np.full(5, 0.45 * span), y, np.full(5, z)])
        return -np.mean(found.get_velocity_at_points(points)[:, 2]) / 30.0 / cl

    free = downwash(None)
    for x in (0.15, 0.2, 0.3, 0.5):
        theirs = downwash(x * span) / free
        ours = float(ge.downwash_ratio(x, 0.05))
        print(f"h/b {x}: downwash ratio {ours:.3f}, lattice {theirs:.3f}")
        assert abs(ours / theirs - 1.0) < 0.25
