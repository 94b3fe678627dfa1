"""A recording of ten hours: read into arrays, over what the library underneath takes for the same file.

    python tests/benchmarks/bench_recordings.py

A CSV of 360,000 rows with its time as text against pandas.read_csv; 60,000 points of GPX against gpxpy.parse; for each
the peak memory (Linux) of one reading in a fresh process, above the library just imported, over the size of the file.
The files are random, from a fixed seed.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

CLONE = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(CLONE))
ROWS, POINTS, REPEATS = 360_000, 60_000, 3
TARGETS = {"csv": 10.0, "gpx": 3.0, "memory": 6.0}
PEAK = """
import sys
from pathlib import Path
import numpy, pandas, gpxpy, scipy.signal
from aerolib.case.recordings.logs import read_log
from aerolib.case.schema import Log

def status(key):
    return next(int(x.split()[1]) for x in Path("/proc/self/status").read_text().splitlines() if x.startswith(key))

Path("/proc/self/clear_refs").write_text("5")  # the highest so far is forgotten
before = status("VmRSS")
data = Path(sys.argv[1]).read_bytes()
r = read_log(data, Log(file="x", format=sys.argv[2]))
print((status("VmHWM") - before) * 1024 / len(data))
"""


def write_files(folder: Path) -> dict[str, Path]:
    """A CSV and a GPX file, written as text."""
    import numpy as np

    r = np.random.default_rng(5)
    t = 36000.0 + np.arange(ROWS) / 10.0
    ias, alt = 55 + 10 * np.sin(t / 40) + r.normal(0, 0.3, ROWS), 3000 + 400 * np.sin(t / 300)
    others = r.normal(0, 1, (ROWS, 5))
    lines = ["time,ias [kt],altitude [ft],normal_g,pitch [deg],bank [deg],heading [deg],ground_speed [kt]"]
    for k in range(ROWS):
        h, rest = divmod(t[k], 3600.0)
        lines.append(
            f"{int(h):02d}:{int(rest // 60):02d}:{rest % 60:04.1f},{ias[k]:.1f},{alt[k]:.0f},"
            f"{1 + 0.02 * others[k, 0]:.3f},{3 + others[k, 1]:.2f},{others[k, 2]:.2f},"
            f"{90 + others[k, 3]:.1f},{60 + others[k, 4]:.1f}"
        )
    (folder / "x.csv").write_text("\n".join(lines) + "\n")
    points = "".join(
        f'<trkpt lat="{47 + 1e-4 * k:.7f}" lon="{8 + 1e-5 * k:.7f}"><ele>{900 + k % 50}.5</ele>'
        f"<time>2024-05-0{1 + k // 30000}T{10 + k // 3600 % 10:02d}:{k // 60 % 60:02d}:{k % 60:02d}Z</time></trkpt>\n"
        for k in range(POINTS)
    )
    head = '<?xml version="1.0"?><gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">'
    (folder / "x.gpx").write_text(head + "<trk><trkseg>" + points + "</trkseg></trk></gpx>")
    return {"csv": folder / "x.csv", "gpx": folder / "x.gpx"}


def timed(function, *arguments) -> float:
    """Wall time of one call [s]."""
    start = time.perf_counter()
    function(*arguments)
    return time.perf_counter() - start


def main() -> bool:
    """Measure, print, and say whether the targets are met."""
    import gpxpy
    import pandas as pd

    from aerolib.case.recordings.logs import read_log
    from aerolib.case.schema import Log

    met = True
    with tempfile.TemporaryDirectory() as name:
        files = write_files(Path(name))
        under = {"csv": lambda p: pd.read_csv(p), "gpx": lambda p: gpxpy.parse(p.read_text())}
        for kind, path in files.items():
            log = Log(file="x", format=kind)

            def ours(p, log=log):
                read_log(p.read_bytes(), log)

            ours(path)
            pairs = [(timed(ours, path), timed(under[kind], path)) for _ in range(REPEATS)]
            a, b = (statistics.median(p[k] for p in pairs) for k in (0, 1))
            command = [sys.executable, "-c", PEAK, str(path), kind]
            peak = float(subprocess.run(command, cwd=CLONE, capture_output=True, text=True, check=True).stdout)
            good = a / b <= TARGETS[kind] and peak <= TARGETS["memory"]
            met = met and good
            print(f"{kind}: {a:.2f} s, library underneath {b:.2f} s: ratio {a / b:.1f}, target {TARGETS[kind]:g}")
            print(f"     peak memory {peak:.1f} of the file's size, target {TARGETS['memory']:g}; both targets "
                  f"{'met' if good else 'NOT met'}")  # fmt: skip
    return met


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
