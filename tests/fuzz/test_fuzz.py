"""1,500 seeded cases, some as whole reports: read, or refused in words; never a traceback, a hang, an absurd number."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
import run

RUNS, EVERY = 1500, 300
GOOD = {"read", "refused"}


@pytest.fixture(scope="module")
def found():
    return run.campaign(RUNS, first=0, every=EVERY)


def test_every_run_is_accounted_for(found):
    assert len(found) >= RUNS
    classes = {r["class"] for r in found}
    assert GOOD <= classes  # the campaign reaches both: a fuzzer that is always refused tests nothing
    print(run.table(found))


def test_nothing_but_answers_and_sentences(found):
    wrong = [r for r in found if r["class"] not in GOOD]
    assert wrong == []


def test_a_refusal_names_a_file_and_what_to_do(found):
    """Long enough to be a sentence, and about a file or folder of the case."""
    for r in found:
        if r["class"] == "refused":
            assert "`" in r["said"] and len(r["said"]) > 40, r


def test_the_bounds_see():
    assert run.beyond({"operating_speeds": [{"approach_kt": 396.0}]}) == ["operating_speeds.approach_kt = 396"]
    assert run.beyond({"clmax": [{"value": 1.5}], "layout": [{"value": 900.0}]}) == []
