"""Make the library of simulated stalls: `python data/simulated/make.py` (about a minute; jsbsim and tqdm needed).

Writes stalls.csv and histories.npz beside this file. The same seed gives the same flights; a second platform may
differ in the last digits. `refly` flies chosen stalls again, to compare.
"""

import argparse
import csv
import multiprocessing
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))  # also when loaded by path from a test

import histories  # noqa: E402
import population  # noqa: E402
from card import fly_card, reduction_error  # noqa: E402


def plan():
    """Return every flight of the library.

    Returns: dict of id to Planned, own airplanes first.
    """
    plans = population.plan_own() + population.plan_check() + population.plan_stock()
    return {planned.id: planned for planned in plans}


def refly(ids):
    """Fly chosen stalls again.

    Parameters: ids, iterable of ids as in stalls.csv.
    Returns: dict of id to row (dict of text and numbers, None where empty), the columns of stalls.csv.
    """
    flights = plan()
    return {name: fly_card(flights[name])[0] for name in ids}


def _text(value):
    if value is None:
        return ""
    return value if isinstance(value, str) else f"{value:.6g}"


def main(folder=HERE):
    """Fly everything and write both files."""
    from tqdm import tqdm

    rows, flights, worst = [], {}, 0.0
    began = time.perf_counter()
    with multiprocessing.Pool() as pool:
        flown = pool.imap(fly_card, plan().values())
        for values, flight in tqdm(flown, total=len(plan()), unit="stall", desc="flying"):
            worst = max(worst, abs(reduction_error(flight)))
            rows.append(values)
            flights[values["id"]] = flight
    seconds = (time.perf_counter() - began) / len(rows)
    with open(Path(folder) / "stalls.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(rows[0])
        writer.writerows([_text(value) for value in row.values()] for row in rows)
    histories.write(Path(folder) / "histories.npz", flights)
    print(f"{len(rows)} stalls, {seconds:.3f} s each; full reduction against forces: worst {100 * worst:.2f} %")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--out", default=HERE, help="folder to write to (default: beside this file)")
    main(parser.parse_args().out)
