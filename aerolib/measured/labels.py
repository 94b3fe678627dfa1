"""Text labels turned into groups."""

from __future__ import annotations

import numpy as np


def coded(column):
    """Distinct values [-] of a text `column` [-] and each row's index into them: sorting texts is worth doing once."""
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
    columns = [c if isinstance(c, tuple) else coded(c) for c in columns]
    codes = np.zeros(len(columns[0][1]), dtype=np.int64)
    for values, code in columns:
        codes = codes * len(values) + code
    _, first, index = np.unique(codes, return_index=True, return_inverse=True)
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return [tuple(str(values[code[i]]) for values, code in columns) for i in first[order]], rank[index]


def joined(*names: str) -> str:
    """Names in one label [-]; one that holds a comma is quoted, so that two lists never give the same label."""
    return ", ".join(f'"{n}"' if "," in n or '"' in n else n for n in names)
