"""Stalls below the scale beside readable ones: the readable ones are the fastest, and their mean is no CLmax.

Truth by formula: every stall is a held, steady one, so CL = m g / (0.5 rho0 V^2 S) at the speed it happened at, and one
below the scale proves more than CL at the scale's end.
"""

from __future__ import annotations

import math

import pytest

from aerolib.show.comparing import change_line
from aerolib.show.render import cells, said
from aerolib.show.sections.clmax import result_table
from aerolib.study import open_study

G, RHO0, MPH, KNOT = 9.80665, 1.225, 0.44704, 1852.0 / 3600.0
AREA, MASS, MAXIMUM, SCALE, LIMIT = 12.0, 400.0, 450.0, 40, 3.8  # m2, kg, kg, mph, -
SAID = "the wing stalled below the scale"
AIRCRAFT = f"""format = 1
name = "Short scale, invented for the tests"
invented = true
[limits]
load_factor = "{LIMIT:g} -"
[wing]
area = "{AREA:g} m2"
[weights]
empty = "300 kg"
maximum = "{MAXIMUM:g} kg"
[indicator]
scale_starts = "{SCALE} mph"
position_within = "1 mph"
[[configuration]]
name = "clean"
flap = "0 deg"
"""
BARE = ("44", "44.5", "43.5", "44", "44.5")
HIDDEN = ("41", "<40", "<40", "<40", "<40")  # four of five below the scale
QUARTER = ("41", "40.5", "41", "<40")


def lift(mph: float) -> float:
    """CL in steady flight at a speed [mph]: m g = 0.5 rho0 V^2 S CL."""
    return MASS * G / (0.5 * RHO0 * (mph * MPH) ** 2 * AREA)


def opened(folder, pilots=("P", "P"), kinds=("steady", "steady"), **states):
    """A case of two flights in each state, every flight with the same readings."""
    lines = ["modification,configuration,flight,ias [mph],speed_kind,ended,weight [kg],power,pilot"]
    for pilot, kind, (m, dial) in zip(pilots, kinds, states.items()):
        lines += [f"{m},clean,{m}{day},{v},{kind},break,{MASS:g},idle,{pilot}" for day in (1, 2) for v in dial]
    folder.mkdir()
    (folder / "aircraft.toml").write_text(AIRCRAFT, encoding="utf-8")
    (folder / "stalls.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return open_study(folder)


def row(study, state):
    head, *rows = cells(result_table(study.reduction))
    return dict(zip(head, next(r for r in rows if r[0] == state)))


def test_mostly_below_the_scale_is_a_lower_limit(tmp_path):
    case = opened(tmp_path / "c", bare=BARE, VG=HIDDEN)
    item = case.reduction["VG", "clean"]
    assert item.clmax is None and item.stall_speed_1g is None and item.with_n_equal_1 is None
    # Their own mean, that of the scale's end. A descent nobody noted takes cos(gamma) off: 0.98 at a glide of 1 in 5.
    assert item.lowest_reached.value == pytest.approx(lift(SCALE), rel=0.02)
    assert item.at_least < lift(SCALE) < item.lowest_reached.interval95[1]
    assert item.ending == SAID and any(SAID in n for n in item.notes)
    change = case.comparison["clean"]
    assert change.ratio is None and change.verdict is None and change.delta_speeds_seen == ()
    assert SAID in said(change_line(change))
    assert 1.0 < change.ratio_at_least < lift(SCALE) / lift(44.1)


def test_a_loss_is_not_hidden_by_the_readable_ones(tmp_path):
    """The other order: from below the scale to 42.7 mph is a loss of at least 12 %; no ratio near 1 may stand there."""
    case = opened(tmp_path / "c", VG=HIDDEN, bare=("42.5", "43", "42.5", "43", "42.5"))
    assert 1.0 - lift(42.7) / lift(SCALE) > 0.12
    change = case.comparison["clean"]
    assert change.ratio is None and change.ratio_at_least is None and SAID in change.bounded


def test_no_speed_that_protects_the_structure(tmp_path):
    """V_O = V_S sqrt(n), and V_S of eight stalls out of ten is only known to be lower than the scale's end."""
    bare, vg = opened(tmp_path / "c", bare=BARE, VG=HIDDEN).speeds.at(MASS).items
    assert vg.modification == "VG" and vg.maneuvering is None
    true = math.sqrt(LIMIT) * 44.1 * MPH  # where it is known, the careful end lies below the true one
    assert 0.8 * true < bare.maneuvering.value < true


@pytest.mark.parametrize(("dial", "measured"), [(QUARTER, True), ((*QUARTER[1:], "<40"), False)])
def test_a_quarter_is_the_most(tmp_path, dial, measured):
    item = opened(tmp_path / "c", bare=BARE, VG=dial).reduction["VG", "clean"]
    assert (item.clmax is not None) == measured == (item.at_least is None)


@pytest.mark.parametrize("hidden", [False, True])
def test_some_below_the_scale_stand_beside_the_verdict(tmp_path, hidden):
    """The same readable stalls: with a quarter below the scale a gain of a fifth is no longer 'shown'."""
    bare = ("48", "48.5", "48", "48.5")
    dial = QUARTER if hidden else QUARTER[:3]
    case = opened(tmp_path / "c", bare=bare, VG=dial)
    change, item = case.comparison["clean"], case.reduction["VG", "clean"]
    assert change.ratio.value == pytest.approx(lift(40.8) / lift(48.25), rel=0.02)
    assert change.verdict.words == ("suggested" if hidden else "shown")
    notes = [n for n in item.notes if "below the indicator's scale" in n]
    assert len(notes) == hidden and [n for n in notes if f"'VG': {n}" in change.leans_on] == notes


def test_lowest_seen_and_count(tmp_path):
    case = opened(tmp_path / "c", bare=BARE, VG=HIDDEN)
    told, at_maximum = row(case, "VG"), SCALE * MPH / KNOT * math.sqrt(MAXIMUM / MASS)  # kt, the reference weight
    assert told["lowest seen [kt CAS]"].startswith("below ")
    assert float(told["lowest seen [kt CAS]"].split()[1]) == pytest.approx(at_maximum, abs=0.1)
    assert told["stalls / flights"].startswith("2 + 8 below scale")
    assert row(case, "bare")["stalls / flights"] == "10 / 2"


def test_a_quarter_below_is_the_lowest_seen_too(tmp_path):
    told = row(opened(tmp_path / "c", bare=BARE, VG=QUARTER), "VG")
    assert told["lowest seen [kt CAS]"].startswith("below ")
    assert told["stalls / flights"].startswith("6 + 2 below scale")


@pytest.mark.parametrize(
    ("pilots", "words"),
    [(("", ""), "pilot not noted: taken as one and the same"), (("P", ""), "pilot noted in 'bare' only"),
     (("", "P"), "pilot noted in 'VG' only"), (("P", "P"), None)],
)  # fmt: skip
def test_a_pilot_nobody_noted_is_said(tmp_path, pilots, words):
    notes = [n for n in opened(tmp_path / "c", pilots, bare=BARE, VG=BARE).comparison.notes if "pilot" in n]
    assert len(notes) == (words is not None) and all(n.startswith(words) for n in notes)


@pytest.mark.parametrize("kinds", [("minimum", "unknown"), ("minimum", "minimum")])
def test_speeds_read_in_different_ways_are_said(tmp_path, kinds):
    notes = opened(tmp_path / "c", kinds=kinds, bare=BARE, VG=BARE).comparison.notes
    said_of = [n for n in notes if "speed_kind" in n]
    assert len(said_of) == (kinds[0] != kinds[1]) and all(k in n for n in said_of for k in kinds)
