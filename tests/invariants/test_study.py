"""A study computes each thing once; another study computes only what its change touched; and neither changes."""

import functools
import importlib
import pkgutil
import sys
from collections import Counter, OrderedDict
from pathlib import Path

import pytest

import aerolib
from aerolib.case.problems import CaseError
from aerolib.memo import MEMO, Memo, digest
from aerolib.show.jsonform import as_json
from aerolib.show.report import points_csv, report_html
from aerolib.show.sections import Door, sections_of
from aerolib.show.terminal import report_text
from aerolib.study import open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
ESTIMATES = (
    "reduce_stalls", "compare", "calibrate_airspeed", "plan_test", "section_lift", "wing_clmax", "flow_control",
    "device_layout", "landing_attitude", "tail_authority", "operating_speeds",
)  # fmt: skip


@pytest.fixture
def calls(monkeypatch):
    """How often each estimate ran with the same content, wherever it was called from: (name, digest) -> times."""
    for module in pkgutil.walk_packages(aerolib.__path__, "aerolib."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    counted = Counter()
    monkeypatch.setattr(MEMO, "results", OrderedDict())  # what another test computed is not an answer of this one

    def counting(name, function):
        @functools.wraps(function)
        def run(*arguments, **named):
            counted[name, digest((arguments, sorted(named.items())))] += 1
            return function(*arguments, **named)

        return run

    for name in ESTIMATES:
        place, _, attribute = aerolib._PLACES[name].partition(":")
        bare = {"section_lift": "predicted.section"}.get(name, place)
        function = getattr(importlib.import_module(f"aerolib.{bare}"), attribute or name)
        instead = counting(name, function)
        for module in [m for n, m in sys.modules.items() if n.startswith("aerolib.")]:
            for key, value in list(vars(module).items()):
                if value is function:
                    monkeypatch.setattr(module, key, instead)
    return counted


def test_one_report_runs_every_estimate_once_for_each_distinct_input(calls):
    study = open_study(DEMO, memo=Memo())
    door = Door()
    sections, more = sections_of(study, door)
    as_json(study, door, more)
    report_html(study, sections)
    points_csv(study)
    report_text(study)
    assert {name for name, _ in calls} == set(ESTIMATES)  # the counter sees every one of them
    assert {call: times for call, times in calls.items() if times > 1} == {}


def asked(study):
    """Every estimate of a study that a section stands on."""
    return (study.calibration, study.reduction, study.comparison, study.planform, study.sections, study.wings,
            study.flap_gains, study.devices, study.layouts, study.attitude(), study.tail(),
            study.speeds)  # fmt: skip


def ran(study, then):
    """Functions that ran, and how often, from here to the answers of another study."""
    before = Counter(study.memo.computed)
    asked(then)
    return {name.rpartition(".")[2]: times for name, times in (study.memo.computed - before).items()}


@pytest.fixture(scope="module")
def study():
    one = open_study(DEMO, memo=Memo())
    asked(one)
    return one


def test_the_same_files_read_again_compute_nothing(study):
    assert ran(study, open_study(DEMO, memo=study.memo)) == {}


def test_another_weight_of_one_stall_leaves_legs_and_shape_alone(study):
    frame = study.case.stalls.frame.copy()
    column = next(c for c in frame.columns if c.startswith("ias"))
    frame.loc[frame.index[0], column] = str(float(frame[column].iloc[0]) + 1.0)
    other = study.changed(stalls=frame)
    found = ran(study, other)
    assert found["reduce_stalls"] == 1 and found["compare"] == 1
    assert other.reduction.items[0].clmax.value != study.reduction.items[0].clmax.value
    assert other.planform == study.planform and other.case.aircraft is study.case.aircraft


def test_a_study_does_not_change(study):
    with pytest.raises(AttributeError, match="changed"):
        study.reduction = None
    before = dict(study._kept)
    assert study.changed(draws=0) is not study and study._kept == before


def test_what_a_case_lacks_is_asked_for_once_and_told_each_time(study):
    """A CaseError is kept like any answer: the same words, and nothing is computed again."""
    lacking = study.changed(tail=study.aircraft.tail.model_copy(update={"arm": None}))
    told, before = [], Counter(study.memo.computed)
    for _ in range(2):
        with pytest.raises(CaseError) as error:
            lacking.airframe
        told.append(str(error.value))
    assert told[0] == told[1] and "[tail] arm" in told[0]
    assert study.memo.computed == before
