"""An estimate stays itself when it is copied or goes through another process."""

import copy
import os
import pickle
import subprocess
import sys

import pytest

from aerolib.estimate import Estimate, Source

SCALE, DAY = Source("indicator scale", "shared"), Source("day to day", "flight", "before, 1")
BEFORE = Estimate("CLmax", 1.4, "-", {SCALE: 0.02, DAY: 0.01})
AFTER = Estimate("CLmax", 1.6, "-", {SCALE: 0.03, Source("day to day", "flight", "after, 1"): 0.01})
MADE_THERE = """
import pickle, sys
from aerolib.estimate import Estimate, Source
parts = {Source("indicator scale", "shared"): 0.03, Source("day to day", "flight", "after, 1"): 0.01}
sys.stdout.buffer.write(pickle.dumps(Estimate("CLmax", 1.6, "-", parts)))
"""


@pytest.mark.parametrize("seed", ["1", "2"])
def test_what_two_estimates_share_survives_another_process(seed):
    """Texts hash by a seed of their process: a stored hash would make equal sources miss each other."""
    done = subprocess.run([sys.executable, "-c", MADE_THERE], capture_output=True, check=True,
                          env={**os.environ, "PYTHONHASHSEED": seed})  # fmt: skip
    after = pickle.loads(done.stdout)
    assert after == AFTER
    assert BEFORE.covariance(after) == pytest.approx(0.02 * 0.03)
    assert BEFORE.ratio_to(after).parts == BEFORE.ratio_to(AFTER).parts


def test_the_correlation_computed_in_another_process_is_the_same():
    """Loaded there, beside an estimate made there."""
    code = (
        "import pickle, sys; from aerolib.estimate import Estimate, Source; "
        "loaded = pickle.load(sys.stdin.buffer); "
        "made = Estimate('CLmax', 1.4, '-', {Source('indicator scale', 'shared'): 0.02}); "
        "print(repr(made.covariance(loaded)), Source('indicator scale', 'shared') in loaded.parts)"
    )
    done = subprocess.run([sys.executable, "-c", code], input=pickle.dumps(AFTER), capture_output=True, check=True,
                          env={**os.environ, "PYTHONHASHSEED": "7"})  # fmt: skip
    covariance, found = done.stdout.split()
    assert float(covariance) == pytest.approx(BEFORE.covariance(AFTER)) == pytest.approx(0.0006)
    assert found == b"True"


@pytest.mark.parametrize("copied", [copy.copy, copy.deepcopy, lambda x: pickle.loads(pickle.dumps(x))])
def test_copies_are_equal_and_hash_alike(copied):
    again = copied(SCALE)
    assert again == SCALE and hash(again) == hash(SCALE)
    assert BEFORE.covariance(copied(AFTER)) == pytest.approx(0.0006)
