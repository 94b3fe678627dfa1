"""Speeds a pilot could act on: V_O follows CLmax, one approach speed, and the dial spoken of in its own unit."""

import csv
import dataclasses
import io
import math
import re

import numpy as np
import pytest

from aerolib.consequences.operating_speeds import Needle, State, operating_speeds
from aerolib.estimate import Estimate
from aerolib.measured.airspeed.calibration import calibrate_airspeed
from aerolib.show.finding import Table
from aerolib.show.panels.operating import OperatingPanel
from aerolib.show.panels.tail import TailPanel
from aerolib.show.render import as_text, body_html, reader_of, said
from aerolib.show.sections import airspeed, sections_of
from aerolib.show.sections import operating_speeds as page
from aerolib.study import open_study
from aerolib.study.plausible import _unusual
from aerolib.study.speeds import operating_of
from aerolib.study.stalls import inputs_of, warnings_of

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
KT, MPH = 1852 / 3600, 0.44704
GIVEN = {"mass": 600.0, "wing_area": 11.0, "span_factor": 0.055, "limit": 3.8}
NEEDLE = Needle(np.array([30.0, 90.0]) * KT, np.array([33.0, 90.0]) * KT)


def two_states(before_needle, after_needle):
    """CLmax rose (the stall fell from 44 to 43 kt), yet the careful end rises: 39.1 to 42.2 kt, by unlike errors."""
    return [
        State("before", 38 * KT, 0.5, clean_stall_speed=44 * KT, clean_uncertainty=3 * KT, clean_needle=before_needle),
        State("after", 37 * KT, 0.5, clean_stall_speed=43 * KT, clean_uncertainty=0.5 * KT, clean_needle=after_needle),
    ]


def clmax(ratio):
    return Estimate("ratio", ratio, "-", {}, (0.97 * ratio, 1.03 * ratio)), "a gain is suggested"


def test_v_o_follows_clmax_and_not_two_unlike_ends():
    rose = operating_speeds(two_states(NEEDLE, NEEDLE), **GIVEN, lift_change=clmax((44 / 43) ** 2))
    assert rose.items[0].maneuvering.value < rose.items[1].maneuvering.value  # the trap: what was taken off has shrunk
    ratio = rose.maneuvering_ratio
    assert ratio.value == pytest.approx(43 / 44) and ratio.interval95[0] < ratio.value < ratio.interval95[1]
    told = page.maneuvering(rose).slots
    assert told["way"] == "falls" and told["change"].value == pytest.approx(1 / 44)
    fell = operating_speeds(two_states(NEEDLE, NEEDLE), **GIVEN, lift_change=clmax((43 / 44) ** 2))
    assert fell.maneuvering_ratio.value == pytest.approx(44 / 43)
    told = page.maneuvering(fell).slots
    assert told["way"] == "rises" and told["change"].value == pytest.approx(1 / 43)


@pytest.mark.parametrize("needles, which", [((NEEDLE, None), "before"), ((None, NEEDLE), "after")])
def test_no_change_of_v_o_where_one_state_is_calibrated(needles, which):
    one = operating_speeds(two_states(*needles), **GIVEN, lift_change=clmax(1.1))
    assert one.maneuvering_ratio is None and one.one_calibrated == which
    told = page.maneuvering(one).slots
    assert told["state"] == which and "change" not in told
    assert [i["manoeuvring_ratio"] for i in page.data_of(one)] == [None, None]


def test_legs_in_one_state_give_no_change_of_v_o(case_folder):
    toml = case_folder / "aircraft.toml"
    toml.write_text(re.sub(r"\[\[indicator\.position\]\]\n(?:[^\[\n].*\n)*", "", toml.read_text()))
    legs = case_folder / "airspeed_legs.csv"
    legs.write_text("\n".join(r for r in legs.read_text().splitlines() if not r.startswith("before,")) + "\n")
    case = open_study(case_folder)
    made = page.finding(case)
    data = made.data["operating_speeds"]
    assert {d["modification"]: d["calibrated_flaps_up"] for d in data} == {"before": False, "after": True}
    assert all(d["manoeuvring_ratio"] is None for d in data)
    assert made.answer[0].slots["state"] == "after" and "change" not in made.answer[0].slots


@pytest.fixture(scope="module")
def demo():
    from pathlib import Path

    return open_study(Path(__file__).resolve().parents[2] / "data" / "demo")


def test_v_o_of_the_demonstration_changes_as_the_root_of_the_comparison(demo):
    comparison = demo.comparison
    data = page.finding(demo).data["operating_speeds"]
    last = data[-1]
    ratio = comparison["clean"].ratio
    assert last["manoeuvring_ratio"] == pytest.approx(1 / math.sqrt(ratio.value), abs=5e-5)
    assert last["manoeuvring_ratio_interval95"] == pytest.approx([x**-0.5 for x in ratio.interval95[::-1]], abs=5e-5)
    assert data[0]["manoeuvring_ratio"] is None


def approaches(panel):
    """Calibrated speed [kt] of the approach's rows in workbook 11's table."""
    rows = re.findall(r"<tr><td>([^<]*)</td><td>([\d.]+)</td>", panel.table.value)
    assert "approach" in rows[0][0]
    return float(rows[0][1]), float(rows[1][1])


@pytest.mark.parametrize("mass", [620.0, 500.0])
def test_one_approach_speed_in_11_and_12_and_the_json(demo, mass):
    items = {i.modification: i for i in operating_of(demo).at(mass).items}
    tail, speeds = TailPanel(demo), OperatingPanel(demo)
    tail.mass.value = speeds.mass.value = mass
    tail.flap.value = "flap 38"
    for name, item in items.items():
        tail.modification.value = name
        for tail.cg.value in (20.0, 29.0):  # the CG of the slider moves the elevator, not the approach
            assert approaches(tail) == pytest.approx([item.approach.value / KT] * 2, abs=0.051)
        table = next(p for p in speeds.told.parts if isinstance(p, Table))
        shown = next(row[3] for row in table.rows if row[1] == name)
        assert shown.value == item.approach.value and table.columns[3].head == "approach"
    if mass == 620.0:
        for d in page.finding(demo).data["operating_speeds"][2:]:
            assert d["approach_kt"]["value"] == pytest.approx(items[d["modification"]].approach.value / KT, abs=0.0051)


def test_the_approach_says_what_it_stands_on():
    """By hand: 1.3 (38 + 1.645 x 0.5) = 50.5 kt on the wing; a tail that holds no less than 42 kt asks for 54.6."""
    speed = {"stall_speed": 38 * KT, "stall_uncertainty": 0.5 * KT}
    states = [State("a", **speed), State("b", **speed, stall_kind="lowest steady speed reached"),
              State("c", **speed, slowest_tail_speed=42 * KT)]  # fmt: skip
    found = operating_speeds(states, **GIVEN)
    assert [round(i.approach.value / KT, 1) for i in found.items] == [50.5, 50.5, 54.6]
    stands_on = [i["approach_stands_on"] for i in page.data_of(found)]
    assert stands_on == ["1-g stall speed", "lowest steady speed reached", "slowest speed the tail can hold"]


def in_mph(folder, keep=lambda row: True):
    """The demonstration with a dial in mph: what was read off it, in stalls and legs, turned into mph."""
    for name in ("stalls.csv", "airspeed_legs.csv"):
        head, *rows = csv.reader((folder / name).read_text().splitlines())
        at = [k for k, c in enumerate(head) if c.endswith("ias [kt]")]
        assert at
        for row in rows:
            for k in at:
                if row[k]:
                    below = "<" * row[k].startswith("<")
                    row[k] = f"{below}{float(row[k].lstrip('<')) * KT / MPH!r}"
        out = io.StringIO()
        rows = [r for r in rows if name == "stalls.csv" or keep(r)]
        csv.writer(out, lineterminator="\n").writerows([[c.replace("ias [kt]", "ias [mph]") for c in head], *rows])
        (folder / name).write_text(out.getvalue())
    return open_study(folder)


ON_DIAL = re.compile(
    r"([\d.]+)\s*(kt|mph) indicated|indicated[^.;<\n]*?([\d.]+) (kt|mph)\b|needle[^.;<\n]*?[\d.]+ (kt|mph)\b"
)


def test_a_dial_in_mph_is_spoken_of_in_mph(case_folder, demo):
    case = in_mph(case_folder)
    plain = operating_of(demo).at(620.0)
    found = operating_of(case).at(620.0)
    table = next(p for p in page.finding_of(operating_of(case), [found], "calm").parts if isinstance(p, Table))
    rows, column = table.rows, [c.head for c in table.columns].index("approach, indicated")
    assert any(i.approach_indicated is not None for i in found.items)
    for row, item, other in zip(rows, found.items, plain.items):
        if other.approach_indicated is None:
            assert item.approach_indicated is None
            continue
        assert item.approach_indicated == pytest.approx(other.approach_indicated, rel=1e-3)  # the same speed
        assert row[column] == f"{item.approach_indicated / MPH:.0f} mph"
    legs = body_html(airspeed.finding(case), reader_of("mph"))
    assert legs.count("[mph IAS]") == 3 and "kt IAS" not in legs
    told = [as_text(page.finding(case)), *(x.html for x in sections_of(case, names=("operating_speeds",))[0]), legs,
            *case.calibration.sentences(), *warnings_of(case), *inputs_of(case).values()]  # fmt: skip
    units = [next(g for g in m.groups()[1::2] + m.groups()[-1:] if g) for t in told for m in ON_DIAL.finditer(t)]
    assert set(units) <= {"mph"}  # none is asked for: a sentence may name no reading, but never one in knots


def test_no_leg_is_advised_below_the_stall_on_that_dial(case_folder):
    """Without the slow runs a slower one is asked for: in mph, and above every stall that was read off the dial."""
    case = in_mph(case_folder, keep=lambda row: row[2] != "3")
    advised = 0
    for s in case.calibration.states:
        for note in s.notes:
            if "run near" in note:
                speed, unit = re.search(r"run near (\d+) (\S+) indicated", note).groups()
                assert unit == "mph" and float(speed) > s.reading / MPH + 1.0
                advised += 1
    assert advised >= 4


@pytest.mark.parametrize("unit, size", [("kt", KT), ("mph", MPH), ("km/h", 1 / 3.6)])
@pytest.mark.parametrize("low", [-4.0, 0.0, 6.0])
@pytest.mark.parametrize("heavier", [1.0, 1.2])
def test_advice_through_the_calibration_of_the_state(unit, size, low, heavier):
    """A needle that reads `low` knots low near the stall: 1.1 times the calibrated stall speed, back on that dial."""
    shown = np.repeat([75.0, 65.0, 58.0], 3)  # slowest run still far from a stall at 36 kt on the needle
    cas = shown + low * (55.0 / shown) ** 2
    track = np.tile(np.radians([0.0, 120.0, 240.0]), 3)
    found = calibrate_airspeed(
        shown * KT, cas * KT, track=track, run=np.repeat(["1", "2", "3"], 3), flap="clean", weight=550.0 * heavier,
        wing_area=12.0, pressure_altitude=0.0, temperature=288.15, stalls={("before", "clean"): (36.0 * KT, 550.0)},
        speed_unit=unit,
    )  # fmt: skip
    note = next(n for n in found.states[0].notes if "run near" in n)
    advised, said = re.search(r"run near (\d+) (\S+) indicated", note).groups()
    stall_at_their_weight = 36.0 * math.sqrt(heavier) * KT / size
    above, kg, lb = map(
        float, re.search(r"about (\d+)% above the stall as this dial .* at (\d+) kg \((\d+) lb\)", note).groups()
    )
    assert said == unit and float(advised) >= 1.1 * stall_at_their_weight
    assert above == pytest.approx(100 * (float(advised) / stall_at_their_weight - 1), abs=0.51)
    assert (kg, lb) == pytest.approx((550 * heavier, 550 * heavier / 0.45359237), abs=0.51)


def landing(before, after, **ground):
    """Answers and sentences of two states that stall at these speeds [kt]; `ground` as in `State`."""
    found = operating_speeds(
        [State(n, v * KT, 0.5 * KT, **ground) for n, v in (("before", before), ("after", after))], **GIVEN
    )
    return found, " ".join(getattr(x, "words", x) for x in page.changes(found))


def test_a_tail_that_limits_near_the_ground_alone_keeps_the_roll_and_lets_the_approach_fall():
    """Aloft the wing decides: 1.3 (44 + 0.82) = 58.3 and 1.3 (41 + 0.82) = 54.4 kt; near the ground both need 46 kt."""
    found, said = landing(44, 41, touchdown_speed=46 * KT, touchdown_uncertainty=0.0)
    assert [round(i.approach.value / KT, 1) for i in found.items] == [58.3, 54.4]
    assert not any(i.tail_sets_it for i in found.items)
    assert [i.touchdown_limit for i in found.items] == ["tail", "tail"]
    assert found.roll_ratio.value == pytest.approx(1.0, abs=0.02)
    assert "cannot be used in the landing" in said and "sets the approach" not in said
    free, said = landing(44, 41)
    assert free.roll_ratio.value == pytest.approx((41 / 44) ** 2, abs=0.02) and "tail" not in said
    half, said = landing(44, 41, touchdown_speed=42 * KT, touchdown_uncertainty=0.0)
    assert [i.touchdown_limit for i in half.items] == ["wing", "tail"] and "cannot be used" not in said
    assert free.roll_ratio.value < half.roll_ratio.value < found.roll_ratio.value


def test_the_tail_sets_an_approach_only_by_its_own_number(case_folder):
    """An elevator that goes further up: aloft the wing stalls first, near the ground the tail still limits."""
    toml = case_folder / "aircraft.toml"
    toml.write_text(toml.read_text().replace('elevator_up_reached = "18 deg"', 'elevator_up_reached = "20.5 deg"'))
    case = open_study(case_folder)
    answers = {(i.modification, i.in_ground_effect): i for i in case.tail(None).items if i.flap == "flap 38"}
    states = {s.modification: s for s in operating_of(case).states}
    for (name, near), i in answers.items():
        assert i.slowest_speed.value >= i.held_speed.value - 1e-9
        held = states[name].touchdown_speed if near else states[name].slowest_tail_speed
        assert held == i.held_speed.value  # never the wing's speed under the tail's name
    found = operating_of(case).at(620.0)
    for i in found.items:
        s = states[i.modification]
        own, wing = (v + 1.645 * u for v, u in ((s.slowest_tail_speed, s.tail_uncertainty),
                                                (s.stall_speed, s.stall_uncertainty)))  # fmt: skip
        assert i.tail_sets_it == (own > wing) and i.approach.value == pytest.approx(1.3 * max(own, wing))
    said = " ".join(getattr(x, "words", x) for x in page.changes(found))
    assert ("cannot be used" in said) == all(answers[s, True].limit == "elevator stop" for s in states)
    if "cannot be used" in said:
        assert found.roll_ratio.value == pytest.approx(1.0, abs=0.02)


def test_one_tail_asks_for_one_approach(demo):
    """The tail of the demonstration is the same before and after, whatever the wing does."""
    first, last = operating_of(demo).at(620.0).items
    assert first.tail_sets_it and last.tail_sets_it
    assert first.approach.value == pytest.approx(last.approach.value, abs=0.05 * KT)
    told = [getattr(x, "words", x) for x in page.changes(operating_of(demo).at(620.0))]
    assert "the landing roll stays the same" in told  # not 'shorter by 0.00 %'


def test_no_speed_of_least_power_below_the_stall_is_printed():
    """A row that stalls amid, above and below its speeds of least power."""
    free = operating_speeds([State("a", 20 * KT, 0.1)], **GIVEN).items[0]
    low, high = (v / KT for v in free.minimum_power)
    for stall in (low - 1, 0.5 * (low + high), high + 1):
        found = operating_speeds([State("a", stall * KT, 0.1)], **GIVEN)
        table = page.Table(page.columns_of(found), (page._row(found, found.items[0], "kt"),))
        cell = said(table.rows[0][[c.head for c in table.columns].index("least power")])
        side = said(page._side(found.items[0]))
        told = [float(x) for x in re.findall(r"[\d.]+", cell)]
        assert all(x >= stall - 0.05 for x in told) and ("below the stall" in cell) == (len(told) < 2)
        assert all(float(x) >= stall - 0.05 for x in re.findall(r"[\d.]+(?= kt)|[\d.]+(?= to)", side))


def test_power_explains_an_unusual_clmax(case_folder):
    """Stalls with power at 3.5: no wing area, weight or unit is to be doubted; the same at idle is."""
    result = open_study(case_folder).reduction
    item = result["before", "clean"]
    high = dataclasses.replace(item, clmax=Estimate("CLmax", 3.5, "-", {}, (3.3, 3.7)))
    powered = dataclasses.replace(high, power="full", apparent=True)
    assert [n for n in _unusual(dataclasses.replace(result, items=(powered,)))] == []
    assert len(_unusual(dataclasses.replace(result, items=(high,)))) == 1
