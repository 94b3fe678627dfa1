"""A whole report of 100,000 stalls over one of 1,000, and its memory: `aerolib report` as an owner runs it.

    python tests/benchmarks/bench_report_size.py

The card is the demonstration's, repeated with half a knot of scatter, twenty stalls a flight. CPU time of each run; the
target is a ratio, since most of a short report is pictures and sheets whose number does not grow.
"""

from __future__ import annotations

import csv
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

CLONE = Path(__file__).resolve().parents[2]
DEMO = CLONE / "data" / "demo"
TARGET, MOST_GB = 4.0, 1.0
FEW, MANY, A_FLIGHT = 1_000, 100_000, 20


def write_case(folder: Path, stalls: int) -> None:
    """The demonstration with a longer card."""
    shutil.copytree(DEMO, folder)
    with (DEMO / "stalls.csv").open(newline="", encoding="utf-8") as file:
        head, *rows = csv.reader(file)
    place = {h.split(" ")[0]: k for k, h in enumerate(head)}
    rows = [r for r in rows if not r[place["left_out"]] and not r[place["ias"]].startswith("<")]
    noise = random.Random(1)
    with (folder / "stalls.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(head)
        for k in range(stalls):
            row = list(rows[k % len(rows)])
            row[place["flight"]] = f"{row[place['modification']]}, day {k // A_FLIGHT}"
            row[place["ias"]] = f"{float(row[place['ias']]) + noise.gauss(0.0, 0.5):.1f}"
            writer.writerow(row)


def cost(folder: Path, out: Path) -> tuple[float, float]:
    """CPU time [s] of one report and the largest memory of any so far [GB]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "aerolib", "report", str(folder), "--out", str(out)]
    environment = {**os.environ, "PYTHONPATH": str(CLONE), "OPENBLAS_NUM_THREADS": "1"}
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return spent, after.ru_maxrss / 1e6


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        times = []
        for stalls in (FEW, MANY):
            write_case(Path(place) / str(stalls), stalls)
            spent, memory = cost(Path(place) / str(stalls), Path(place) / f"out{stalls}")
            times.append(spent)
            print(f"{stalls:,} stalls: {spent:.1f} s of CPU, at most {memory:.2f} GB")
    ratio = times[1] / times[0]
    print(f"ratio {ratio:.1f} (target at most {TARGET:g}), memory {memory:.2f} GB (at most {MOST_GB:g})")
    sys.exit(0 if ratio <= TARGET and memory <= MOST_GB else 1)
