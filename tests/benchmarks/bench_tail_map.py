"""The tail's map over CG, speed, flap and modification, against its target and against one lattice solve a point."""

import time
from pathlib import Path

import numpy as np

LIMIT, RATIO, REPEATS = 2.0, 500.0, 3  # seconds, times faster
POINTS = 100  # centres of gravity, and speeds
DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"


def timed(function) -> float:
    start = time.perf_counter()
    function()
    return time.perf_counter() - start


def main() -> bool:
    import aerosandbox as asb

    from aerolib.consequences.balance import Flap, Loading, elevator_needed, lift_limits
    from aerolib.consequences.tail_authority import middle
    from aerolib.study import open_study
    from aerolib.study.airframe import airframe_of

    case = open_study(DEMO)
    frame = airframe_of(case)
    a = middle(frame.airplane)
    flaps = [middle(f) for _, f in frame.flaps]
    eight = (flaps + [Flap("more", f.lift, f.moment, f.clmax + 0.1) for f in flaps])[:8]  # 4 flaps, 2 modifications
    cg, speed = np.linspace(0.10, 0.40, POINTS), np.linspace(18.0, 40.0, POINTS)
    cl = Loading(case.reference_weight, frame.wing_area).lift(speed)[:, None]

    def whole():
        with np.errstate(invalid="ignore"):
            for f in eight:
                for x in (np.inf, frame.height_over_span):
                    elevator_needed(a, f, cl, cg, x)
                    lift_limits(a, f, cg, x)

    def surface(name, span, chord, at, z, twist):
        ends = [asb.WingXSec(xyz_le=[at, y, z], chord=chord, twist=twist, airfoil=asb.Airfoil("naca0012"))
                for y in (0.0, 0.5 * span)]  # fmt: skip
        return asb.Wing(name=name, symmetric=True, xsecs=ends)

    t = case.aircraft.tail
    both = [surface("wing", a.span, a.mean_chord, 0.0, 0.0, 2.0), surface("tail", t.span, t.chord, t.arm, 0.1, -1.0)]
    airplane = asb.Airplane(wings=both, s_ref=frame.wing_area, b_ref=a.span, c_ref=a.mean_chord)

    def solve():
        asb.VortexLatticeMethod(airplane, asb.OperatingPoint(velocity=25.0, alpha=8.0), spanwise_resolution=5,
                                chordwise_resolution=8).run()  # fmt: skip

    whole(), solve()
    ours, theirs = min(timed(whole) for _ in range(REPEATS)), min(timed(solve) for _ in range(REPEATS))
    many = POINTS * POINTS * len(eight)
    ratio = theirs / (ours / many)
    print(f"{many:,} points, aloft and near the ground: {1e3 * ours:.0f} ms (target {LIMIT:g} s); one lattice solve of "
          f"wing and tail {1e3 * theirs:.0f} ms: {ratio:,.0f} times faster a point (target {RATIO:g})")  # fmt: skip
    return ours <= LIMIT and ratio >= RATIO


if __name__ == "__main__":
    raise SystemExit(not main())
