"""Text labels turned into groups."""

from __future__ import annotations

import math

import numpy as np

MANY = 10_000
FEW = 6  # distinct texts up to which finding them one by one is quicker than sorting all rows


def coded(column):
    """Distinct values [-] of a text `column` [-], sorted, and each row's index into them."""
    column = np.asarray(column)
    code = np.full(len(column), -1)
    values: list[str] = []
    for _ in range(FEW):
        first = int(np.argmin(code)) if len(code) else 0
        if not len(code) or code[first] >= 0:
            order = np.argsort(np.array(values, dtype=column.dtype))
            rank = np.empty_like(order)
            rank[order] = np.arange(len(order))
            return np.array(values, dtype=column.dtype)[order], rank[code]
        code[column == column[first]] = len(values)
        values.append(column[first])
    return np.unique(column, return_inverse=True)


def unique_rows(*columns):
    """The distinct tuples of columns (in order of appearance) and each row's index into them.

    Parameters
    ----------
    columns : text arrays (N,), or what `coded` made of them [-]

    Returns
    -------
    tuples : list of tuples of text [-]
    index : int array (N,) [-]
    """
    known = [c if isinstance(c, tuple) else coded(c) for c in columns]
    codes = np.zeros(len(known[0][1]), dtype=np.int64)
    for values, code in known:
        codes = codes * len(values) + code
    possible = math.prod(len(values) for values, _ in known)
    if possible > MANY + 4 * len(codes):  # then a table of all of them would be larger than sorting is slow
        codes = np.unique(codes, return_inverse=True)[1]
        possible = int(codes.max()) + 1
    first = np.full(possible, len(codes))
    first[codes[::-1]] = np.arange(len(codes))[::-1]  # of a repeated index the last value stays
    order = np.argsort(first, kind="stable")[: int(np.sum(first < len(codes)))]
    rank = np.empty(possible, dtype=np.int64)
    rank[order] = np.arange(len(order))
    return [tuple(str(values[code[i]]) for values, code in known) for i in first[order]], rank[codes]


def joined(*names: str) -> str:
    """Names in one label [-]; one that holds a comma is quoted, so that two lists never give the same label."""
    return ", ".join(f'"{n}"' if "," in n or '"' in n else n for n in names)
