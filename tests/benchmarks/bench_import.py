"""How long until the library answers: a new process that imports it and reads one quantity.

    python tests/benchmarks/bench_import.py

Compared, in turns, with a new process that imports what it stands on. A ratio, so that it says the same on
a slow machine.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

CLONE = Path(__file__).resolve().parents[2]
TARGET = 1.3
OURS = "from aerolib import reduce_stalls; from aerolib.units import parse_quantity; parse_quantity('48 kt', 'speed')"
THEIRS = "import numpy, scipy.stats, pydantic"
REPEATS = 7


def seconds(code: str) -> float:
    """Wall time of a new process."""
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, env={**os.environ, "PYTHONPATH": str(CLONE)})
    return time.perf_counter() - start


def main() -> bool:
    """Measure, print, and say whether the target is met."""
    for code in (OURS, THEIRS):  # once, for the disk and the compiled files
        seconds(code)
    pairs = [(seconds(OURS), seconds(THEIRS)) for _ in range(REPEATS)]
    ours, theirs = (statistics.median(p[k] for p in pairs) for k in (0, 1))
    met = ours / theirs <= TARGET
    print(f"first answer in a new process: {ours:.2f} s, its imports alone {theirs:.2f} s: ratio {ours / theirs:.2f}, "
          f"target {TARGET:g}: {'met' if met else 'NOT met'}")  # fmt: skip
    return met


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
