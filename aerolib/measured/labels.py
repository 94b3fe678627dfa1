"""Text labels turned into groups."""

from __future__ import annotations

import numpy as np


def unique_rows(*columns):
    """The distinct tuples of text columns (in order of appearance) and each row's index into them."""
    codes = np.zeros(len(columns[0]), dtype=np.int64)
    for column in columns:
        values, code = np.unique(column, return_inverse=True)
        codes = codes * len(values) + code
    _, first, index = np.unique(codes, return_index=True, return_inverse=True)
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return [tuple(str(c[i]) for c in columns) for i in first[order]], rank[index]
