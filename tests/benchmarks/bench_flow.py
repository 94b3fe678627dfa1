"""20,000 layouts against their target, one layout against the single call, a change of the panel and its picture."""

import time
from pathlib import Path
from statistics import median

import numpy as np

LIMIT, SCALAR, PANEL, REPEATS = 60.0, 2.0, 2.0, 9
DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"


def timed(function) -> float:
    start = time.perf_counter()
    function()
    return time.perf_counter() - start


def main() -> bool:
    from aerolib.predicted.devices import sweep_vanes
    from aerolib.show.figures.devices import layer_picture
    from aerolib.show.panels.flow import FlowPanel
    from aerolib.study import open_study
    from aerolib.study.devices import device_of, estimate

    case = open_study(DEMO)
    airplane, vanes = case.clean_wing, device_of(case.aircraft.device[0], case.aircraft)
    axes = {"station": np.linspace(0.05, 0.65, 20), "height": np.linspace(0.003, 0.02, 10),
            "pitch": np.linspace(0.04, 0.15, 10), "inner": np.linspace(0.6, 3.0, 10)}  # fmt: skip
    told = []
    whole = timed(lambda: sweep_vanes(vanes, airplane, **axes, progress=lambda done, total: told.append(done)))
    one = lambda: sweep_vanes(vanes, airplane)  # noqa: E731
    single = lambda: estimate(vanes, airplane)  # noqa: E731
    one(), single()
    pairs = [(timed(single), timed(one)) for _ in range(REPEATS)]
    scalar = median(a / b for a, b in pairs)
    panel = FlowPanel(case)
    heights = iter(np.linspace(4.0, 20.0, 2 * REPEATS + 2))

    def change():
        panel.sliders["height"].value = round(2 * next(heights)) / 2

    chord = float(airplane.planform.chord_at(2.6))
    change()
    changes = [(timed(change), timed(lambda: layer_picture(panel.result, chord)))
               for _ in range(REPEATS)]  # fmt: skip
    ratio = median(a / b for a, b in changes)
    print(f"20,000 layouts: {whole:.0f} s (target {LIMIT:g}), {len(told)} words of progress; single call over a sweep "
    f"of one "
          f"{scalar:.2f} (target {SCALAR:g}); a change of the panel {1e3 * median(a for a, _ in changes):.0f} ms, "
          f"over its "
          f"picture {ratio:.2f} (target {PANEL:g})")  # fmt: skip
    return whole <= LIMIT and scalar <= SCALAR and ratio <= PANEL


if __name__ == "__main__":
    raise SystemExit(not main())
