"""Equal content is computed once, whoever built it; other content again; what is forgotten is the oldest."""

import numpy as np
import pytest

from aerolib.estimate import Estimate, Source
from aerolib.memo import Memo, digest


def double(x, *, times=2):
    return times * np.asarray(x)


def test_equal_content_is_computed_once():
    memo = Memo()
    first = memo(double, np.arange(3.0), times=3)
    assert memo(double, np.arange(3.0), times=3) is first
    assert memo.computed["test_memo.double"] == 1 or sum(memo.computed.values()) == 1
    assert memo(double, np.arange(4.0), times=3).tolist() == [0.0, 3.0, 6.0, 9.0]
    assert sum(memo.computed.values()) == 2


def test_a_failure_is_not_kept():
    memo = Memo()
    for _ in range(2):
        with pytest.raises(TypeError):
            memo(double, 1, times=None)
    assert not memo.computed


def test_the_oldest_is_forgotten_first():
    memo = Memo(kept=2)
    for x in (1, 2, 1, 3, 1, 2):
        memo(double, x)
    assert sum(memo.computed.values()) == 4  # 1, 2, 3, and 2 again


def estimate(label):
    return Estimate("x", 1.0, "-", {Source("a", "stall", label): 0.1})


@pytest.mark.parametrize(
    "a, b",
    [
        (1, 1.0), (1, True), (1, "1"), ((1, 2), [1, 2]), (("ab", "c"), ("a", "bc")), (np.zeros(2), np.zeros(2, int)),
        (np.zeros((1, 4)), np.zeros((2, 2))), (0.0, -0.0), (estimate("p"), estimate("q")), ({"a": 1}, {"a": 2}),
    ],
)  # fmt: skip
def test_other_content_has_another_digest(a, b):
    assert digest(a) != digest(b)


def test_equal_content_has_one_digest():
    assert digest((estimate("p"), {"k": np.arange(3)}, {3, 1})) == digest((estimate("p"), {"k": np.arange(3)}, {1, 3}))
    assert digest(np.arange(10)[::2]) == digest(np.array([0, 2, 4, 6, 8]))
