"""Landing attitude and tail in the report: what limits changes with CG, flap and modification; one CG for CLmax."""

import json
import math
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from aerolib.case.problems import CaseError
from aerolib.consequences.trim import measured_at_reference_cg
from aerolib.show.finding import Steps
from aerolib.show.sections import landing_attitude, sections_of
from aerolib.study import open_study
from aerolib.study.airframe import airframe_of, attitude_of

ROOT = Path(__file__).resolve().parents[2]
INCH = 0.0254


@pytest.fixture(scope="module")
def demo():
    case = open_study(ROOT / "data" / "demo")
    return case, case.reduction


@pytest.fixture(scope="module")
def tail(demo):
    return sections_of(demo[0], names=("tail_authority",))[0][0]


def schema(name):
    return json.loads((ROOT / "tests" / "schema" / "estimates" / f"{name}.json").read_text(encoding="utf-8"))


def test_what_limits_changes_with_cg_flap_and_modification(tail):
    items = tail.data["tail_authority"]
    jsonschema.validate(items, schema("tail_authority"))
    at = {(i["cg_percent_mac"], i["modification"], i["configuration"], i["in_ground_effect"]): i for i in items}
    cgs = sorted({k[0] for k in at})
    assert len(cgs) == 3 and len(at) == 3 * 2 * 3 * 2

    def limit(*key):
        return at[key]["binding_limit"]

    forward, flown, aft = cgs
    assert limit(forward, "after", "flap 38", False) != limit(aft, "after", "flap 38", False)
    assert limit(flown, "after", "clean", False) != limit(flown, "after", "flap 38", False)
    assert limit(flown, "before", "flap 38", False) != limit(flown, "after", "flap 38", False)
    assert "forward CG asks" in tail.html and "raises what the wing can carry" in tail.html
    for key, item in at.items():
        low, high = item["interval95_kt"]
        assert low <= item["slowest_speed_kt"] <= high
        assert item["slowest_speed_with_tail_devices_kt"] <= item["slowest_speed_kt"] + 0.05
        further_aft = [k for k in at if k[1:] == key[1:] and k[0] > key[0]]
        assert all(at[k]["slowest_speed_kt"] <= item["slowest_speed_kt"] + 0.05 for k in further_aft)


def test_as_flown_the_model_says_what_the_flights_said(demo, tail):
    """Breaks aloft everywhere but 'after, flap 38', which ended on the stop: the flights' own word."""
    case, result = demo
    flown = {(i.modification, i.configuration): i.limit for i in result.items if i.power == "idle"}
    middle = sorted({i["cg_percent_mac"] for i in tail.data["tail_authority"]})[1]
    for i in tail.data["tail_authority"]:
        if i["cg_percent_mac"] == middle and not i["in_ground_effect"]:
            limit = {"wing": "wing", "elevator": "elevator stop"}[flown[i["modification"], i["configuration"]]]
            assert i["probabilities"][limit] > 0.5, i


def test_landing_attitude(demo):
    case, _ = demo
    made = landing_attitude.finding(case)
    jsonschema.validate(made.data["landing_attitude"], schema("landing_attitude"))
    usable = next(p for p in made.parts if isinstance(p, Steps)).items
    assert len({s.slots["cg"].value for s in usable}) == 3  # the usable share at three centers of gravity
    gear, slots = case.aircraft.gear, next(p.slots for p in made.parts if "Loaded" in getattr(p, "words", ""))
    assert [slots[k].value for k in ("extended", "loaded")] == [gear.ground_angle, gear.ground_angle_loaded]
    slow, fast = (attitude_of(case, None, None, gear_angle=a).items[0].gear_speed.value
                  for a in (math.radians(6.0), math.radians(8.0)))  # fmt: skip
    assert slow > fast  # a flatter stance is reached faster


def test_clmax_at_one_cg_by_hand(demo):
    """CL (1 + (h_ref - h) c/l_t), with chord, leading edge and arm as they stand in aircraft.toml."""
    case, result = demo
    w, stalls = case.aircraft.weights, case.stalls
    cg = (stalls.si["cg"] - w.mac_leading_edge) / w.mac
    reference, k = 0.28, w.mac / case.aircraft.tail.arm
    moved = {(m.modification, m.configuration, m.power): m
             for m in measured_at_reference_cg(result, cg, reference, k)}  # fmt: skip
    t = stalls.text
    item = result["before", "clean"]
    mine = (t["modification"] == "before") & (t["configuration"] == "clean") & (t["power"] == "idle")
    mine &= t["ended"] == "break"
    h = np.mean(stalls.si["cg"][mine]) / w.mac - w.mac_leading_edge / w.mac
    by_hand = item.clmax.value * (1 + (reference - h) * w.mac / case.aircraft.tail.arm)
    got = moved["before", "clean", "idle"]
    assert got.clmax.value == pytest.approx(by_hand, rel=1e-9) and got.clmax.value > item.clmax.value
    low, high = item.clmax.interval95
    scale = by_hand / item.clmax.value
    assert got.clmax.interval95 == pytest.approx((low * scale, high * scale))
    assert ("after", "flap 38", "idle") not in moved  # ended on the stop: no CLmax to move
    nothing = measured_at_reference_cg(result, np.full(len(cg), np.nan), reference, k)
    assert nothing == ()


def test_without_measures_a_sentence(case_folder):
    text = (case_folder / "aircraft.toml").read_text()
    kept = text[: text.index("[tail]")] + text[text.index("[", text.index("[tail]") + 6) :]
    (case_folder / "aircraft.toml").write_text(kept)
    case = open_study(case_folder)
    made = sections_of(case, names=("tail_authority",))[0][0]
    assert made.data == {"tail_authority": None} and "quarter chord of the tailplane" in made.html
    with pytest.raises(CaseError, match="arm"):
        airframe_of(case)
