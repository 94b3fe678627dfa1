"""The second invented case, a nose-wheel four-seater: its tail strikes, and everything before that works on it too."""

import importlib.util
import json
import math
import re
from pathlib import Path

import jsonschema
import pytest
from schemas import report_schema

from aerolib.__main__ import main
from aerolib.show.panels.landing import LandingPanel
from aerolib.show.panels.tail import TailPanel
from aerolib.study import open_study

CASE = Path(__file__).resolve().parents[2] / "data" / "nosewheel"
TRUTH = json.loads((CASE / "truth.json").read_text(encoding="utf-8"))
KT = 1852 / 3600


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    """report.json of the case, by the command."""
    out = tmp_path_factory.mktemp("out")
    assert main(["report", str(CASE), "--out", str(out)]) == 0
    return json.loads((out / "report.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def case():
    return open_study(CASE)


def test_the_committed_case_is_what_the_maker_makes(tmp_path):
    spec = importlib.util.spec_from_file_location("nosewheel_make", CASE / "make.py")
    make = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(make)
    make.main(folder=tmp_path)
    for file in tmp_path.iterdir():
        assert file.read_bytes() == (CASE / file.name).read_bytes(), file.name


def test_every_estimate_has_its_answer(data):
    jsonschema.Draft202012Validator(report_schema()).validate(data)
    empty = [key for key, value in data.items() if value in (None, [], {})]
    assert set(empty) <= {"recordings", "notes"}
    assert len(data["landing_attitude"]) == 6


def test_the_truth_lies_in_the_intervals(data):
    for t in TRUTH["clmax"]:
        (item,) = [i for i in data["clmax"] if all(i[k] == t[k] for k in ("modification", "configuration"))]
        assert item["interval95"][0] < t["clmax"] < item["interval95"][1], t


def test_the_tail_strikes(data):
    """Where the strike angle is reached faster than the stall near the ground, the tail touches first at the stall."""
    struck = 0
    for i in data["landing_attitude"]:
        first = i["first_contact"]["1"]
        assert first in ("tail strikes", "main wheels", "mains, the tail just clear")
        if i["three_point_speed_kt"] > i["stall_speed_ige_kt"] + 1.0:
            assert first == "tail strikes"
            struck += 1
        assert i["first_contact"]["1.2"] == "main wheels"
    assert struck >= 3


def test_what_binds_at_the_forward_limit_changes_with_flap_and_ground(data):
    forward = min(i["cg_percent_mac"] for i in data["tail_authority"])
    assert forward == pytest.approx(100 * (0.88 - 0.62) / 1.49, abs=0.01)
    found = {(i["configuration"], i["in_ground_effect"]): i["binding_limit"] for i in data["tail_authority"]
             if i["cg_percent_mac"] == forward}  # fmt: skip
    assert {found[f, False] for f in ("clean", "flap 10", "flap 35")} == {"wing"}
    assert found["clean", True] == "gear" and found["flap 35", True] == "elevator stop"


def test_panels(case):
    panel = LandingPanel(case)
    assert panel.error.value == ""
    panel.flap.value, panel.speed.value, panel.height.value = "clean", 56.0, 0.0
    area = float(re.search(r'^area = "([\d.]+) m2"', (CASE / "aircraft.toml").read_text(), re.M)[1])
    cl = TRUTH["reference_weight_kg"] * 9.80665 / (0.5 * 1.225 * (56.0 * KT) ** 2 * area)
    shown = float(re.search(r'class="cl">([\d.]+)', panel.result.value)[1])
    assert math.isclose(shown, cl, abs_tol=6e-4)
    assert "First the tail strikes." in panel.result.value and "hides" in panel.result.value
    assert "the tail (marked) strikes before" in panel.picture.caption.value
    tail = TailPanel(case)
    assert tail.error.value == "" and "elevator stop" in tail.result.value
    tail.cg.value = 30.0
    assert tail.error.value == "" and ">gear<" in tail.result.value
