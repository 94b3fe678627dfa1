"""From the simulated stalls to the load-factor table: `python data/simulated/fit.py`, after make.py.

The table says by how much the weight must be multiplied before  CL = n W / (q S)  is used with a speed read in a real
stall instead of a steady 1 g flight; the CLmax meant is that of steady flight. It is fitted on the own airplanes only;
tests/simulated/accuracy.py says how good it is on the check and stock airplanes. Every airplane-pilot pair has its own
offset, drawn from one population (a random effect): that part of the scatter is shared by all stalls of one owner, and
repeating the stall does not average it away. What of it an airplane keeps when its wing is modified is written apart
(`character_sd`); how much that is, flights of the own airplanes after a modification tell.
"""

import csv
import math
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

from stalls import read_rows  # noqa: E402

# Row of the table: which speed it goes with, and how the stall ended. "recorded" goes with a load factor taken at
# highest lift: by what it must be multiplied, because the lift in flight lags behind that of steady flight.
ROWS = {
    "minimum": ("minimum", ("break",)),
    "mush": ("minimum", ("mush",)),
    "stop": ("minimum", ("stop",)),
    "break": ("break", ("break",)),
    "steady": ("steady", ("break", "mush", "stop")),
    "recorded": ("recorded", ("break", "mush")),
}
NODES = (0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0)  # kt/s
RATES = (0.25, 3.2)  # kt/s: the stalls the fit looks at
UNKNOWN_UP_TO = 2.0  # kt/s: somebody who aims at the usual 1 kt/s is taken not to miss it by more than this
# A steady speed hardly knows how it was reached: a straight line is plenty. The others bend.
ORDER = {"minimum": 2, "stop": 2, "break": 2, "steady": 1, "recorded": 1}
# What no table-driven airplane can contain, as a standard uncertainty of n; the reasons are in simulated.md.
EXTRA_SD = 0.015
# What of the offset between pairs a modification is taken to change, at least: our judgement. Vortex generators may
# change a stall more than the changed airplanes of `population.py` are.
NOT_KEPT = 0.4
RHO0 = 1.225


def is_stall(row):
    """Tell whether the airplane was stalled: in a steep zoom the nose can fall before the lift has peaked."""
    return row["clmax_hand"] is None or row["clmax_forces"] > 0.97 * row["clmax_hand"]


def factor(row, speed):
    """Return the factor on the weight that belongs to a speed of a stall, None where there is no such speed."""
    if speed == "recorded":
        return row["clmax"] / row["clmax_forces"] if row["hand_limit"] == "lift" else None
    return row[f"n_{speed}"]


def select(rows, kind):
    """Return the rows that take part in the fit of a row of the table."""
    speed, endings = ROWS[kind]
    # A staircase of held speeds has no rate; its lowest speed belongs to "steady".
    return [
        row
        for row in rows
        if row["source"] == "own"
        and row["ended"] in endings
        and (row["hand_limit"] == "lift" or kind in ("stop", "steady"))  # the others say what a wing at its limit does
        and factor(row, speed) is not None
        and is_stall(row)
        and row["entry_rate_kt_s"] <= RATES[1]
        and (kind == "steady" or (row["style"] != "steps" and row["entry_rate_kt_s"] >= RATES[0]))
    ]


def fit(rate, factor, pair, order, varying=True):
    """Fit n = polynomial(rate) + offset of the pair + scatter of the stall by restricted maximum likelihood.

    Parameters: rate, shape (n,) [kt/s]; factor, shape (n,) [-]; pair, shape (n,) of labels; order of the polynomial;
    varying, whether both standard deviations may grow or shrink with the rate.
    Returns: function of rate (m,) that gives tuple of mean, between_sd, within_sd, each shape (m,) [-].
    """
    design = np.vander(rate, order + 1, increasing=True)
    members = [np.flatnonzero(pair == label) for label in np.unique(pair)]

    def deviations(x, at):
        slope_b, slope_w = (x[2], x[3]) if varying else (0.0, 0.0)
        return np.exp(x[0] + slope_b * (at - 1)), np.exp(x[1] + slope_w * (at - 1))

    def solve(x):
        between, within = deviations(x, rate)
        normal, right = np.zeros((order + 1, order + 1)), np.zeros(order + 1)
        log_det, blocks = 0.0, []
        for m in members:
            covariance = np.outer(between[m], between[m]) + np.diag(within[m] ** 2)
            weight = np.linalg.inv(covariance)
            normal += design[m].T @ weight @ design[m]
            right += design[m].T @ weight @ factor[m]
            log_det += np.linalg.slogdet(covariance)[1]
            blocks.append((m, weight))
        coefficients = np.linalg.solve(normal, right)
        left = factor - design @ coefficients
        misfit = sum(left[m] @ weight @ left[m] for m, weight in blocks)
        # A slope of the standard deviations that nothing in the data asks for stays near zero.
        prior = np.sum((x[2:] / 0.3) ** 2) if varying else 0.0
        return coefficients, log_det + misfit + np.linalg.slogdet(normal)[1] + prior

    start = np.log([0.015, 0.01]).tolist() + ([0.0, 0.0] if varying else [])
    found = minimize(
        lambda x: solve(x)[1], start, method="Nelder-Mead", options={"xatol": 1e-5, "fatol": 1e-6, "maxiter": 8000}
    )
    coefficients = solve(found.x)[0]

    def predict(at):
        at = np.atleast_1d(np.asarray(at, dtype=float))
        return (np.vander(at, order + 1, increasing=True) @ coefficients, *deviations(found.x, at))

    return predict


def supported(rate, pair, node):
    """Tell whether a node lies inside the data: stalls on both sides, and four pairs within a quarter of it."""
    near = (rate > node / 1.25) & (rate < node * 1.25)
    return bool(rate.min() <= node <= rate.max() and len(np.unique(pair[near])) >= 4)


def table(rows):
    """Return the load-factor table.

    Parameters: rows, of stalls.csv.
    Returns: list of dict, one a row of load_factor.csv; the entry rate of the last row of a kind is None (unknown).
    """
    out = []
    for kind, (speed, _) in ROWS.items():
        used = select(rows, kind)
        if kind == "mush":
            out += beside(out, used)
            continue
        rate = np.array([row["entry_rate_kt_s"] for row in used])
        factors = np.array([factor(row, speed) for row in used])
        pair = np.array([row["pair"] for row in used])
        predict = fit(rate, factors, pair, ORDER[kind], varying=kind != "steady")
        for node in NODES:
            if supported(rate, pair, node):
                near = (rate > node / 1.25) & (rate < node * 1.25)
                mean, between, within = (float(v[0]) for v in predict(node))
                out.append(_line(kind, node, mean, between, within, int(near.sum())))
        # Rate unknown: every rate an owner who means to slow down gently may have flown, so the scatter holds the
        # differences between the rates as well.
        gentle = rate <= UNKNOWN_UP_TO
        mean, between, within = (float(v[0]) for v in fit(rate[gentle], factors[gentle], pair[gentle], 0, False)(1.0))
        out.append(_line(kind, None, mean, between, within, int(gentle.sum())))
    return out


def beside(lines, used):
    """Return the row of the mush: too few to stand alone, it is that of the break moved by what the mushes differ.

    Parameters: lines of the break's lowest speed; used, the stalls that mushed.
    Returns: list of dict. The spread between pairs is never below that of the break, and holds how well the move is
    known.
    """
    left = {}
    for row in used:
        left.setdefault(row["pair"], []).append(row["n_minimum"] - look_up(lines, "minimum", row["entry_rate_kt_s"])[0])
    means = np.array([np.mean(x) for x in left.values()])
    move, spread = float(means.mean()), float(means.std(ddof=1))
    out = []
    for line in lines:
        between = math.hypot(max(line["between_sd"], spread), spread / math.sqrt(len(means)))
        n = line["load_factor"] + move
        out.append(_line("mush", line["entry_rate_kt_s"], n, between, line["within_sd"], len(used)))
    return out


def not_kept(rows, lines):
    """Return which part of the offset between pairs a modification of the airplane changes, between 0 and 1.

    Parameters: rows, of stalls.csv; lines, as `table` makes them.
    Returns: tuple of the standard deviation of one state's own part over that of the whole offset [-], and how many
    pairs were flown in both states and ended alike.
    """
    squares, expected, whole = [], [], []
    left = {}  # (pair, row of the table) to what the table leaves of n in each stall
    for row in rows:
        for kind in ("minimum", "mush"):
            speed, endings = ROWS[kind]
            rate = row["entry_rate_kt_s"]
            if row["source"] in ("own", "changed") and row["ended"] in endings and row["style"] != "steps":
                if row["hand_limit"] == "lift" and is_stall(row) and RATES[0] <= rate <= RATES[1]:
                    n, between, within = look_up(lines, kind, rate)
                    left.setdefault((row["pair"], kind), []).append((row[f"n_{speed}"] - n, between, within))
    for (pair, kind), first in left.items():
        second = left.get((f"{pair}m", kind))
        if second:
            a, b = np.array(first), np.array(second)
            squares.append((a[:, 0].mean() - b[:, 0].mean()) ** 2)
            expected.append(sum(np.mean(x[:, 2] ** 2) / len(x) for x in (a, b)))  # of the stalls' own scatter
            whole.append(np.mean(a[:, 1]) ** 2 + np.mean(b[:, 1]) ** 2)
    return math.sqrt(min(1.0, max(0.0, sum(squares) - sum(expected)) / sum(whole))), len(squares)


def divided(lines, part):
    """Return the table with the offset between pairs divided into what an airplane keeps and what it does not."""
    out = []
    for line in lines:
        own = part * line["between_sd"]
        kept = math.sqrt(line["between_sd"] ** 2 - own**2)
        head = {name: line[name] for name in ("kind", "entry_rate_kt_s", "load_factor")}
        tail = {name: line[name] for name in ("within_sd", "n_stalls")}
        out.append({**head, "character_sd": kept, "between_sd": own, **tail})
    return out


def _line(kind, rate, mean, between, within, n):
    return {
        "kind": kind,
        "entry_rate_kt_s": rate,
        "load_factor": mean,
        "between_sd": between,
        "within_sd": within,
        "n_stalls": n,
    }


def look_up(lines, kind, rate):
    """Return the factor and its two standard deviations at a rate: linear between nodes, held beyond the last ones.

    Parameters: lines, from `table`; kind, text; rate, scalar [kt/s] or None for unknown.
    Returns: tuple of load factor, between_sd, within_sd [-].
    """
    names = ("load_factor", "between_sd", "within_sd")
    if rate is None:
        line = next(x for x in lines if x["kind"] == kind and x["entry_rate_kt_s"] is None)
        return tuple(line[name] for name in names)
    known = [x for x in lines if x["kind"] == kind and x["entry_rate_kt_s"] is not None]
    at = [x["entry_rate_kt_s"] for x in known]
    return tuple(float(np.interp(rate, at, [x[name] for x in known])) for name in names)


def one_g(rows):
    """Return how high a load factor of 1 reads at the lowest speed, by entry rate, over all airplanes.

    Parameters: rows, of stalls.csv.
    Returns: list of dict: lowest and highest rate [kt/s], number of stalls, and the excess [percent]: the mean, and
    what one stall in forty stays below and above.
    """
    out = []
    for low, high in ((0.3, 0.75), (0.75, 1.5), (1.5, 2.5)):
        chosen = [
            row
            for row in rows
            if low <= row["entry_rate_kt_s"] < high
            and row["style"] != "steps"
            and row["ended"] in ("break", "mush")
            and is_stall(row)
        ]
        lift = [0.5 * RHO0 * row["cas_minimum_m_s"] ** 2 * row["wing_area_m2"] * row["clmax"] for row in chosen]
        high_by = np.array([100 * (row["weight_N"] / x - 1) for row, x in zip(chosen, lift)])
        ends = np.percentile(high_by, [2.5, 97.5])
        line = {"from_kt_s": low, "to_kt_s": high, "n_stalls": len(chosen), "mean_percent": float(high_by.mean())}
        out.append({**line, "lowest_percent": float(ends[0]), "highest_percent": float(ends[1])})
    return out


def write(path, lines):
    """Write rows as CSV; None becomes an empty cell, numbers get five significant digits."""
    with open(path, "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(lines[0])
        for line in lines:
            writer.writerow("" if v is None else f"{v:.5g}" if isinstance(v, float) else v for v in line.values())


def show(lines):
    """Print rows in columns."""
    cells = [list(lines[0])] + [
        ["unknown" if v is None else f"{v:.4g}" if isinstance(v, float) else str(v) for v in line.values()]
        for line in lines
    ]
    widths = [max(map(len, column)) for column in zip(*cells)]
    for row in cells:
        print("  ".join(cell.rjust(width) for cell, width in zip(row, widths)))


def main():
    """Fit, write and print the table, and how high n = 1 reads."""
    rows = read_rows()
    lines, high = table(rows), one_g(rows)
    part, count = not_kept(rows, lines)
    print(f"of the offset between pairs a modification changes {part:.2f} (standard deviations, {count} pairs)")
    lines = divided(lines, max(part, NOT_KEPT))
    for name, what in (("load_factor.csv", lines), ("one_g.csv", high)):
        write(HERE / name, what)
        show(what)
        print()


if __name__ == "__main__":
    main()
