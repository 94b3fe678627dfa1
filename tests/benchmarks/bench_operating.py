"""A slider of the operating speeds against its own pictures, in one run."""

import time
import warnings
from pathlib import Path
from statistics import median

TARGET, REPEATS = 2.0, 20


def timed(function, *arguments) -> float:
    start = time.perf_counter()
    function(*arguments)
    return time.perf_counter() - start


def main() -> bool:
    warnings.simplefilter("ignore")
    from aerolib.show.figures.operating import distances_picture
    from aerolib.show.panels.operating import OperatingPanel
    from aerolib.show.sections.operating_speeds import diagram_of
    from aerolib.study import open_study

    study = open_study(Path(__file__).resolve().parents[2] / "data" / "demo")
    shown = OperatingPanel(study)

    def change(k):
        shown.mass.value = 480 + k

    def pictures():
        found = study.speeds.at(shown.mass.value)
        distances_picture(found.items, "somewhere")
        diagram_of(study.speeds, found)

    changes, draws = [], []
    for k in range(1, REPEATS + 1):
        changes.append(timed(change, k))
        draws.append(timed(pictures))
    ratio = median(changes) / median(draws)
    print(f"weight of the operating speeds: change {1e3 * median(changes):.0f} ms, its pictures "
          f"{1e3 * median(draws):.0f} ms, "
          f"ratio {ratio:.2f} (target {TARGET:g}: {'met' if ratio <= TARGET else 'MISSED'})")  # fmt: skip
    return ratio <= TARGET


if __name__ == "__main__":
    raise SystemExit(not main())
