"""10,000 flap settings against the same expressions inline; the flap panel against its own picture, in one run."""

import time
import warnings
from pathlib import Path
from statistics import median

import numpy as np

TARGET, REPEATS, SETTINGS = 10.0, 50, 10_000
PANEL_TARGET, PANEL_REPEATS = 2.0, 30


def inline(ratio, deflection, thickness):
    cos = 2.0 * ratio - 1.0
    t, sin = np.arccos(cos), np.sqrt(1.0 - cos * cos)
    half = np.pi - t + sin
    kept = 0.9 / np.sqrt(1.0 + (deflection / (np.deg2rad(45.0) * (0.2 / ratio) ** 0.25)) ** 2)
    lift = 2.0 * half * kept * deflection
    share = sin / half + (1.0 - sin / half) * np.clip((thickness - 0.0952) / 0.0972, 0.0, 1.0)
    clean = np.interp(thickness, (0.06, 0.12, 0.24), (0.91, 1.53, 1.33))
    clmax = lift * np.maximum(share, 0.959 - 0.34 * clean)
    moment = -0.65 * sin * (1.0 - cos) * kept * deflection
    drag = 0.9 * ratio**1.38 * np.sin(deflection) ** 2
    return lift, clmax, -lift / (2.0 * np.pi), (clmax - lift) / (2.0 * np.pi), moment, drag


def timed(function, *arguments) -> float:
    start = time.perf_counter()
    function(*arguments)
    return time.perf_counter() - start


def main() -> bool:
    from aerolib.predicted.flap.increment import flap_increment

    draw = np.random.default_rng(1)
    ratio, thickness = draw.uniform(0.1, 0.4, SETTINGS), draw.uniform(0.08, 0.2, SETTINGS)
    deflection = draw.uniform(0.0, 0.8, SETTINGS)
    ours, theirs = [], []
    for _ in range(REPEATS):
        theirs.append(timed(inline, ratio, deflection, thickness))
        ours.append(timed(lambda: flap_increment("slotted", ratio, deflection, thickness=thickness)))
    factor = median(ours) / median(theirs)
    print(f"{SETTINGS} flap settings: {1e3 * median(ours):.2f} ms, inline {1e3 * median(theirs):.2f} ms, ratio "
          f"{factor:.2f} (target {TARGET:g}: {'met' if factor <= TARGET else 'MISSED'})")  # fmt: skip
    return factor <= TARGET


def panel() -> bool:
    warnings.simplefilter("ignore")
    from aerolib.show.figures.flap import flap_picture
    from aerolib.show.panels.flaps import FlapPanel
    from aerolib.study import open_study

    shown = FlapPanel(open_study(Path(__file__).resolve().parents[2] / "data" / "demo"))

    def change(k):
        shown.deflection.value = 20 + k % 20

    changes, draws = [], []
    for k in range(1, PANEL_REPEATS + 1):
        changes.append(timed(change, k))
        gain = shown.gain(shown.settings(), 0.3 + 0.01 * k)
        line = shown._line(shown.settings(), gain)
        draws.append(timed(flap_picture, line, gain, shown.clean, shown.points))
    ratio = median(changes) / median(draws)
    print(f"a slider of the flap: change {1e3 * median(changes):.0f} ms, its picture {1e3 * median(draws):.0f} ms, "
          f"ratio {ratio:.2f} (target {PANEL_TARGET:g}: {'met' if ratio <= PANEL_TARGET else 'MISSED'})")  # fmt: skip
    return ratio <= PANEL_TARGET


if __name__ == "__main__":
    raise SystemExit(not all([main(), panel()]))
