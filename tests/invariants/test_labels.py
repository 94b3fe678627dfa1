"""Coding labels: the quick ways give what sorting gives."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from aerolib.measured.labels import MANY, coded, unique_rows

COLUMN = st.lists(st.text("ab ,é", max_size=3), min_size=1, max_size=40)


@given(COLUMN)
def test_coded_is_numpys_unique(values):
    column = np.array(values, dtype=np.str_)
    for found, wanted in zip(coded(column), np.unique(column, return_inverse=True)):
        assert found.tolist() == wanted.tolist()


@given(COLUMN, st.data())
def test_tuples_in_order_of_appearance(values, data):
    other = data.draw(st.lists(st.sampled_from("xyz"), min_size=len(values), max_size=len(values)))
    tuples, index = unique_rows(np.array(values), np.array(other))
    rows = [(str(a), str(b)) for a, b in zip(np.array(values).tolist(), other)]
    assert tuples == list(dict.fromkeys(rows)) and [tuples[i] for i in index] == rows


def test_more_combinations_than_a_table_holds():
    many = np.array([f"{k:03d}" for k in range(200)])
    rows = (many, many[::-1], np.roll(many, 7))
    assert 200**3 > MANY + 4 * 200
    tuples, index = unique_rows(*(np.repeat(c, 2) for c in rows))
    assert (
        tuples == [tuple(t) for t in zip(*(c.tolist() for c in rows))]
        and index.tolist() == np.repeat(np.arange(200), 2).tolist()
    )


def test_no_rows():
    tuples, index = unique_rows(np.array([], dtype=np.str_))
    assert tuples == [] and len(index) == 0
