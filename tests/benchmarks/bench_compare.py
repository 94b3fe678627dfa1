"""A hundred thousand stalls compared before and after, over reading and checking the same card.

    python tests/benchmarks/bench_compare.py [--profile]

In turns, in one run: the comparison of a card already read, and `read_case` of its folder. The card is that of
bench_reading.py: 2,000 flights, two modifications, three configurations.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]
from bench_reading import STALLS, timed, write_case  # noqa: E402

TARGET = 2.0
REPEATS = 5


def main(profile: bool = False) -> bool:
    """Measure, print, and say whether the target is met."""
    from aerolib.case.folder import read_case
    from aerolib.study import Memo, open_study
    from aerolib.study.stalls import comparison_of

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_case(folder)
        case = open_study(folder, memo=Memo(kept=0))
        found = case.comparison
        assert len(found.changes) == 3 and found.common is not None
        assert all(c.stalls is not None for c in found.changes)
        pairs = [(timed(comparison_of, case), timed(read_case, folder)) for _ in range(REPEATS)]
        if profile:
            import cProfile
            import pstats

            with cProfile.Profile() as p:
                comparison_of(case)
            pstats.Stats(p).sort_stats("cumulative").print_stats(35)
    ours, theirs = (statistics.median(p[k] for p in pairs) for k in (0, 1))
    met = ours / theirs <= TARGET
    print(f"{STALLS:,} stalls compared: {ours:.2f} s, read and checked: {theirs:.2f} s: ratio {ours / theirs:.1f}, "
          f"target {TARGET:g}: {'met' if met else 'NOT met'}")  # fmt: skip
    return met


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--profile", action="store_true", help="print where the time goes")
    sys.exit(0 if main(parser.parse_args().profile) else 1)
