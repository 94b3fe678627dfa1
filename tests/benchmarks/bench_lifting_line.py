"""The lifting line at 200 stations beside aerosandbox's, in one run; and 10,000 flap settings at once."""

import time

import numpy as np

from aerolib.physics.lifting_line import LiftingLine, straight_taper


def best(function, times=5) -> float:
    """Shortest of a few runs [s]."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        function()
        found.append(time.perf_counter() - start)
    return min(found)


def main() -> bool:
    import aerosandbox as asb

    wing = straight_taper(8.0, 8.0, 0.6, washout=0.03)
    sections = [asb.WingXSec([-0.25 * c, y, 0], chord=c, twist=np.degrees(t), airfoil=asb.Airfoil("naca0012"))
                for y, c, t in zip(wing.station, wing.chord, wing.twist)]  # fmt: skip
    plane = asb.Airplane(wings=[asb.Wing(xsecs=sections, symmetric=True)], s_ref=8.0, b_ref=8.0, c_ref=1.0)
    point = asb.OperatingPoint(velocity=45, alpha=5.0)

    def ours():
        line = LiftingLine(wing, 6.2, count=100)  # 100 on each half
        return float(line.loading(np.radians(5.0) + wing.twist_at(line.y)).lift_coefficient)

    def theirs():
        return float(asb.LiftingLine(plane, point, model_size="large", spanwise_resolution=100).run()["CL"])

    a, b = best(ours, 20), best(theirs, 3)
    print(f"200 stations: ours {1e3 * a:.2f} ms (CL {ours():.4f}), aerosandbox {1e3 * b:.0f} ms (CL {theirs():.4f}); "
          f"ratio {b / a:.0f} (target above 1: {'met' if b > a else 'MISSED'})")  # fmt: skip
    line = LiftingLine(wing, 6.2, count=60)
    shifts = np.linspace(0.0, 0.3, 10_000)
    c = best(lambda: line.loading(0.1, [(0.5, 2.4, shifts)]))
    d = best(lambda: [line.loading(0.1, [(0.5, 2.4, s)]) for s in shifts[:200]], 3) * 50
    print(f"10,000 flap settings: at once {1e3 * c:.0f} ms, one by one {1e3 * d:.0f} ms; ratio {d / c:.0f}")
    return b > a


if __name__ == "__main__":
    raise SystemExit(not main())
