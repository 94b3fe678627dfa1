"""100,000 Monte Carlo draws of the demonstration against drawing their random numbers, in one run (median of 5)."""

import time
from pathlib import Path
from statistics import median

import numpy as np

TARGET, DRAWS, REPEATS = 3.0, 100_000, 5


def timed(function) -> float:
    start = time.perf_counter()
    function()
    return time.perf_counter() - start


def main() -> bool:
    from aerolib import reduce_stalls
    from aerolib.measured.stalls.montecarlo import CHUNK
    from aerolib.study import open_study

    given = open_study(Path(__file__).resolve().parents[2] / "data" / "demo").arguments()
    stalls = len(given["ias"])
    shared = len(reduce_stalls(**given).items[0].clmax.parts)  # of the order of what one draw needs beside the stalls

    def numbers():
        rng, step = np.random.default_rng(1), CHUNK // stalls
        for start in range(0, DRAWS, step):
            m = min(step, DRAWS - start)
            rng.random(m)
            rng.standard_normal((m, shared))
            for _ in range(2):
                rng.standard_normal((m, stalls))

    def drawn():
        reduce_stalls(**given, draws=DRAWS)

    numbers(), drawn()
    pairs = [(timed(drawn), timed(numbers)) for _ in range(REPEATS)]
    ratio = median(a / b for a, b in pairs)
    print(f"{DRAWS:,} draws of {stalls} stalls: {median(a for a, _ in pairs):.2f} s, their random numbers "
          f"{median(b for _, b in pairs):.2f} s, ratio {ratio:.2f} (target {TARGET:g}: "
          f"{'met' if ratio <= TARGET else 'MISSED'})")  # fmt: skip
    return ratio <= TARGET


if __name__ == "__main__":
    raise SystemExit(not main())
