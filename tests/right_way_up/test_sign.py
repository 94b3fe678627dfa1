"""The sign of a change is that of the airplane, whatever the states are called and wherever they stand."""

from __future__ import annotations

import html
import re

import pytest
from right_way_up.odd_cases import CLEAN, ODD, UNIT, Flown, Odd, report, stall_speed_1g, two_states

from aerolib.measured.comparison import compare
from aerolib.show.panels.change import ChangePanel
from aerolib.show.panels.stalls import StallsPanel
from aerolib.study import open_study
from aerolib.study.stalls import stalls_of

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
NAMES = [("stock", "VGs"), ("VGs", "stock"), ("before", "after"), ("after", "before"), ("A", "B"), ("B", "A")]


def words(page: str) -> str:
    """A page without its tags and pictures."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", page)).split())


@pytest.mark.parametrize("better", ["first", "last"])
@pytest.mark.parametrize("names", NAMES, ids="-".join)
def test_the_first_in_the_file_came_first(tmp_path, names, better):
    """A bare card: the state of its first row is 'before', and the verdict has the sign that was built in."""
    odd = two_states(*names, *(CLEAN if better == "last" else CLEAN[::-1]))
    case = open_study(odd.write(tmp_path / "case"))
    found, result = case.comparison, case.reduction
    assert (found.before, found.after) == names == case.states
    assert list(dict.fromkeys(i.modification for i in result.items)) == list(names)
    true = odd.true_ratio(*names)
    assert (found["clean"].ratio.value > 1.0) == (true > 1.0)
    assert found["clean"].verdict.direction == ("gain" if true > 1.0 else "loss")
    assert found["clean"].verdict.words != "not shown"
    assert (found["clean"].delta_stall_speed_1g.value < 0.0) == (true > 1.0)


@pytest.mark.parametrize(("name", "odd"), ODD.items(), ids=ODD)
def test_terminal_page_and_data_say_a_gain(told, name, odd):
    """Every odd case has gained by construction: nobody is told of a loss, and each says what was read."""
    told = told(name)
    first, last = odd.states[0].name, odd.states[-1].name
    change = told.change
    assert (change["before"], change["after"]) == (first, last)
    assert change["ratio"] > 1.0 and change["delta_stall_speed_1g_kt"] < 0.0 and "gain" in change["verdict"]
    low, high = change["interval95"]
    assert low <= odd.true_ratio(first, last) <= high
    read = told.data["read"]
    assert [s["modification"] for s in read["states"]] == [s.name for s in odd.states]
    assert not read["order_in_doubt"] and read["text"].startswith(f'Before = "{first}"')
    for text in (" ".join(told.text.split()), words(told.page)):
        assert read["text"] in text and "a gain is" in text
        assert not re.search(r"a loss is (shown|suggested)", text)


def test_one_day_in_three_spellings_is_one_flight(tmp_path):
    odd = ODD["one date in three spellings"]
    case = open_study(odd.write(tmp_path / "case"))
    assert [[d.isoformat() for d in sorted(s.days)] for s in case.case.flown] == [
        ["2026-04-26", "2026-04-27"], ["2026-05-12", "2026-05-13"]]  # fmt: skip
    assert case.case.flights == 4 and {i.flights for i in case.reduction.items} == {2}
    assert "2 flights, 26 and 27 April 2026" in case.case.read and "2 flights, 12 and 13 May 2026" in case.case.read


def test_dates_against_the_order_of_the_file_are_asked_about(tmp_path):
    """The file begins with the later state: nothing is compared, the rest is reported, one sentence asks."""
    later_first = (("2026-05-12", "2026-05-13"), ("2026-04-26", "2026-04-27"))
    odd = two_states("VGs", "stock", *CLEAN[::-1], flights=later_first)
    told = report(odd.write(tmp_path / "case"), tmp_path / "out")
    assert told.data["comparison"] is None and told.data["read"]["order_in_doubt"]
    assert {i["modification"] for i in told.data["clmax"]} == {"VGs", "stock"}
    for text in (" ".join(told.text.split()), words(told.page), told.data["read"]["text"]):
        assert "[[modification]]" in text and not re.search(r"a (loss|gain) is", text)
    listed = Odd(odd.states, listed=("stock", "VGs"))
    case = open_study(listed.write(tmp_path / "listed"))
    assert case.case.order_in_doubt is None and case.comparison["clean"].verdict.direction == "gain"


def test_flown_alternately_is_no_contradiction(tmp_path):
    days = (("2026-05-12", "2026-05-14"), ("2026-05-12", "2026-05-13"))
    case = open_study(two_states("off", "on", *CLEAN, flights=days).write(tmp_path / "case"))
    assert case.case.order_in_doubt is None and case.comparison is not None


def test_the_list_of_the_owner_comes_before_file_and_dates(tmp_path):
    days = (("2026-05-12",), ("2026-04-26",))
    odd = two_states("VGs", "stock", *CLEAN[::-1], flights=days, listed=("stock", "VGs"))
    case = open_study(odd.write(tmp_path / "case"))
    assert case.states == ("stock", "VGs") and case.comparison["clean"].ratio.value > 1.0


def test_every_place_has_the_same_order(tmp_path):
    """Legs, checks and tufts name the last state first; the order stays that of stalls.csv."""
    odd = two_states("stock", "VGs", legs_in=("VGs", "stock"), files={
        "checks.csv": "modification,configuration,quantity,value\n"
                      "VGs,clean,speed at fixed rpm,90 kt\nstock,clean,speed at fixed rpm,96 kt\n",
        "tufts.csv": "modification,configuration,ias [kt],surface,span_station [m],chord_station [%]\n"
                     "VGs,clean,40,wing,1.0,60\nstock,clean,42,wing,2.0,50\n"})  # fmt: skip
    case = open_study(odd.write(tmp_path / "case"))
    wanted = ["stock", "VGs"]
    assert list(case.states) == wanted
    for file in ("stalls.csv", "checks.csv", "tufts.csv", "airspeed_legs.csv"):
        assert case.case.states_in(file) == wanted
    checks = case.checks
    assert (checks.before, checks.after) == ("stock", "VGs") and checks.items[0].difference.value < 0.0
    assert list(dict.fromkeys(s.modification for s in case.calibration.states)) == wanted
    panel = ChangePanel(case)
    assert (panel.before.value, panel.after.value) == ("stock", "VGs")
    for shown in (panel.read, StallsPanel(case).read):
        assert html.escape(case.case.read) in shown.value


def test_three_states_compare_first_and_last(tmp_path):
    odd = ODD["three states"]
    case = open_study(odd.write(tmp_path / "case"))
    found = case.comparison
    assert (found.before, found.after) == ("stock", "VGs and cuff")
    assert case.case.read.index('"stock"') < case.case.read.index('"VGs"') < case.case.read.index('"VGs and cuff"')
    middle = compare(stalls_of(case), "VGs", "VGs and cuff")
    assert middle["clean"].ratio.value > 1.0


def test_one_state_says_so(tmp_path):
    case = open_study(Odd((Flown("before", CLEAN[0], ("1", "2")),)).write(tmp_path / "case"))
    assert case.comparison is None and case.case.read.startswith("One state was flown")


@pytest.mark.parametrize("name", ["a bare card, VGs second", "a dial in mph that reads low"])
def test_the_change_on_the_dial_is_in_the_dials_unit(told, name):
    """By the built-in truth: what the dial shows at both stall speeds, their difference; no interval uncalibrated."""
    case = ODD[name]
    first, last = (stall_speed_1g(s.clmax["clean"], 600.0) for s in case.states)
    less = (first - last) / UNIT[case.unit]
    line = next(x for x in re.split(r"\n- ", told(name).text) if x.startswith("clean, idle: CLmax"))
    value, unit, rest = re.search(r"on your dial about ([\d.]+) (\S+) (.*?);", " ".join(line.split())).groups()
    assert unit == case.unit and float(value) == pytest.approx(less, abs=0.5)
    assert "less" in rest and ("not calibrated" in rest) == (not case.legs_in)
