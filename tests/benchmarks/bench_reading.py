"""A hundred thousand stalls: read, checked, reduced and grouped with their uncertainty, over reading the file alone.

    python tests/benchmarks/bench_reading.py [--profile]

Compared, in turns, with pandas.read_csv of the same file. The card is random, from a fixed seed: 2,000 flights,
two modifications, three configurations.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path

CLONE = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(CLONE))
TARGET = 20.0
STALLS, FLIGHTS = 100_000, 2_000
REPEATS = 5
AIRCRAFT = """\
format = 1
[wing]
area = "12 m2"
[weights]
empty = "400 kg"
maximum = "600 kg"
cg_forward = "0.40 m"
cg_aft = "0.60 m"
[[indicator.position]]
modification = "before"
configuration = "clean"
points = [["35 kt", "37 kt"], ["60 kt", "61 kt"]]
within = "2 kt"
[[configuration]]
name = "clean"
flap = "0 deg"
[[configuration]]
name = "flap 20"
flap = "20 deg"
[[configuration]]
name = "flap 38"
flap = "38 deg"
[[modification]]
name = "before"
[[modification]]
name = "after"
"""


def write_case(folder: Path) -> None:
    """The case, written as text."""
    import numpy as np

    r = np.random.default_rng(1)
    flight = r.integers(0, FLIGHTS, STALLS)
    configuration = r.integers(0, 3, STALLS)
    weight = r.integers(500, 600, STALLS)
    ias = np.round((46 - 3 * configuration - 2 * (flight % 2)) * (weight / 560) ** 0.5 + r.normal(0, 0.6, STALLS), 1)
    columns = {
        "modification": np.array(["before", "after"])[flight % 2],
        "configuration": np.array(["clean", "flap 20", "flap 38"])[configuration],
        "flight": [f"F{f}" for f in flight],
        "ias [kt]": ias,
        "speed_kind": ["minimum"] * STALLS,
        "ended": np.where(r.random(STALLS) < 0.05, "early", "break"),
        "buffet_ias [kt]": np.round(ias + 2, 1),
        "pressure_altitude [ft]": r.integers(2000, 5000, STALLS),
        "temperature [deg C]": r.integers(-5, 20, STALLS),
        "weight [kg]": weight,
        "cg [m]": np.round(r.uniform(0.45, 0.55, STALLS), 3),
        "power": ["idle"] * STALLS,
        "entry_rate [kt/s]": np.round(r.uniform(0.5, 2.0, STALLS), 1),
        "remarks": [""] * STALLS,
    }
    lines = [",".join(columns), *(",".join(map(str, row)) for row in zip(*columns.values()))]
    (folder / "stalls.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (folder / "aircraft.toml").write_text(AIRCRAFT, encoding="utf-8")


def timed(function, *arguments) -> float:
    """Wall time of one call [s]."""
    start = time.perf_counter()
    function(*arguments)
    return time.perf_counter() - start


def everything(folder: Path) -> None:
    """What a report needs: every stall read, checked and reduced, every group with its interval."""
    from aerolib.study import open_study

    result = open_study(folder).reduction
    assert len(result.items) == 6
    assert all(i.clmax.interval95[0] < i.clmax.value for i in result.items)


def main(profile: bool = False) -> bool:
    """Measure, print, and say whether the target is met."""
    import pandas as pd

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_case(folder)
        everything(folder)
        pairs = [(timed(everything, folder), timed(pd.read_csv, folder / "stalls.csv")) for _ in range(REPEATS)]
        if profile:
            import cProfile
            import pstats

            with cProfile.Profile() as p:
                everything(folder)
            pstats.Stats(p).sort_stats("cumulative").print_stats(35)
    ours, theirs = (statistics.median(p[k] for p in pairs) for k in (0, 1))
    met = ours / theirs <= TARGET
    print(f"{STALLS:,} stalls read, checked and reduced: {ours:.2f} s, pandas.read_csv of the file {theirs:.3f} s: "
          f"ratio {ours / theirs:.1f}, target {TARGET:g}: {'met' if met else 'NOT met'}")  # fmt: skip
    return met


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--profile", action="store_true", help="print where the time goes")
    sys.exit(0 if main(parser.parse_args().profile) else 1)
