"""From the simulated stalls to the load-factor table: `python data/simulated/fit.py`, after make.py.

The table says by how much the weight must be multiplied before  CL = n W / (q S)  is used with a speed read in a real
stall instead of a steady 1 g flight. It is fitted on the own airplanes only; the stock airplanes then say how good
it is. Every airplane-pilot pair has its own offset, drawn from one population (a random effect): that part of the
scatter is shared by all stalls of one owner, and repeating the stall does not average it away.
"""

import csv
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

from stalls import read_rows  # noqa: E402

KINDS = ("minimum", "break", "steady")
NODES = (0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0)  # kt/s
RATES = (0.25, 3.2)  # kt/s: the stalls the fit looks at
UNKNOWN_UP_TO = 2.0  # kt/s: somebody who aims at the usual 1 kt/s is taken not to miss it by more than this
# A steady speed hardly knows how it was reached: a straight line is plenty. The others bend.
ORDER = {"minimum": 2, "break": 2, "steady": 1}
# What no table-driven airplane can contain, as a standard uncertainty of n; the reasons are in simulated.md.
EXTRA_SD = 0.012
RHO0 = 1.225


def is_stall(row):
    """Tell whether the airplane was stalled: in a steep zoom the nose can fall before the lift has peaked."""
    return row["clmax_hand"] is None or row["clmax_forces"] > 0.97 * row["clmax_hand"]


def select(rows, kind):
    """Return the rows of a kind that take part in the fit."""
    # A staircase of held speeds has no rate; its lowest speed belongs to "steady".
    return [
        row
        for row in rows
        if row["source"] == "own"
        and row[f"n_{kind}"] is not None
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
    for kind in KINDS:
        used = select(rows, kind)
        rate = np.array([row["entry_rate_kt_s"] for row in used])
        factor = np.array([row[f"n_{kind}"] for row in used])
        pair = np.array([row["pair"] for row in used])
        predict = fit(rate, factor, pair, ORDER[kind], varying=kind != "steady")
        for node in NODES:
            if supported(rate, pair, node):
                near = (rate > node / 1.25) & (rate < node * 1.25)
                mean, between, within = (float(v[0]) for v in predict(node))
                out.append(_line(kind, node, mean, between, within, int(near.sum())))
        # Rate unknown: every rate an owner who means to slow down gently may have flown, so the scatter holds the
        # differences between the rates as well.
        gentle = rate <= UNKNOWN_UP_TO
        mean, between, within = (float(v[0]) for v in fit(rate[gentle], factor[gentle], pair[gentle], 0, False)(1.0))
        out.append(_line(kind, None, mean, between, within, int(gentle.sum())))
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


def score(rows, lines):
    """Score the table on the stock airplanes, every flight by itself.

    Parameters: rows, of stalls.csv; lines, from `table`.
    Returns: list of dict, one a row of load_factor_check.csv; errors are of CLmax, in percent.
    """
    out = []
    for kind in KINDS:
        stock = [
            row
            for row in rows
            if row["source"] == "stock"
            and row[f"n_{kind}"] is not None
            and (kind == "steady" or row["style"] != "steps")
        ]
        # The row for an unknown rate promises nothing above its limit: what it does there is shown by itself.
        gentle = [row for row in stock if row["entry_rate_kt_s"] <= UNKNOWN_UP_TO]
        hasty = [row for row in stock if row["entry_rate_kt_s"] > UNKNOWN_UP_TO]
        for known, flights in (("yes", stock), ("no", gentle), ("no, above 2 kt/s", hasty)):
            groups = ("all", *sorted({row["airplane"] for row in flights})) if flights else ()
            for group in groups:
                chosen = [row for row in flights if group in ("all", row["airplane"])]
                out.append(
                    {
                        "kind": kind,
                        "rate_known": known,
                        "airplanes": group,
                        **_errors(chosen, lines, kind, known == "yes"),
                    }
                )
    return out


def _errors(flights, lines, kind, known):
    error, plain, own_u, full_u = [], [], [], []
    for row in flights:
        n, between, within = look_up(lines, kind, row["entry_rate_kt_s"] if known else None)
        lift = 0.5 * RHO0 * row[f"cas_{kind}_m_s"] ** 2 * row["wing_area_m2"] * row["clmax_forces"]
        error.append((n * row["weight_N"] - row["thrust_sin_alpha_N"]) / lift - 1)
        plain.append(row["weight_N"] / lift - 1)
        scale = row["weight_N"] / lift
        own_u.append(scale * np.hypot(between, within))
        full_u.append(scale * np.sqrt(between**2 + within**2 + EXTRA_SD**2))
    error, plain, own_u, full_u = map(np.array, (error, plain, own_u, full_u))
    return {
        "flights": len(error),
        "cards": len({row["pair"] for row in flights}),
        "plain_mean_error_percent": 100 * plain.mean(),
        "mean_error_percent": 100 * error.mean(),
        "sd_error_percent": 100 * error.std(ddof=1) if len(error) > 1 else None,
        "worst_error_percent": 100 * error[np.argmax(np.abs(error))],
        "inside95_without_extra": int((np.abs(error) <= 1.96 * own_u).sum()),
        "inside95_with_extra": int((np.abs(error) <= 1.96 * full_u).sum()),
        "standard_uncertainty_percent": 100 * full_u.mean(),
    }


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
    """Fit, write and print the table; unless `--no-score`, also score it on the stock airplanes."""
    rows = read_rows()
    lines = table(rows)
    write(HERE / "load_factor.csv", lines)
    show(lines)
    if "--no-score" not in sys.argv:
        checks = score(rows, lines)
        write(HERE / "load_factor_check.csv", checks)
        print()
        show(checks)


if __name__ == "__main__":
    main()
