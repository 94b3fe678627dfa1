"""Legs in one state only, or a correction that changed with one flap alone: what the comparison may say of it.

The invented airspeed system reads low by one pressure coefficient in both states, so that the ratio of CLmax is that of
the squared readings whatever was calibrated. Expected ratios are this file's own arithmetic.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from cards import AIRCRAFT

from aerolib.__main__ import main
from aerolib.measured.comparison import compare
from aerolib.show import render
from aerolib.show.comparing import change_line, comparison_data, legs_wanted, settled_by
from aerolib.show.panels.change import ChangePanel
from aerolib.show.sections.clmax import steps_of
from aerolib.show.terminal import report_text
from aerolib.study import open_study
from aerolib.study.stalls import stalls_of

PRESSURE = 0.15  # y = 1 - (V_i / V)^2
SPEED = {"before": 44.0, "after": 40.0}  # kt on the needle at the stall: 1.21 in CL, the same error in both
BARE = AIRCRAFT[: AIRCRAFT.index("[[indicator.position]]")] + AIRCRAFT[AIRCRAFT.index("[[configuration]]") :]
LEGS = "modification,configuration,run,power,ias [kt],ground_speed [kt],track [deg],pressure_altitude [ft],"
LEGS += "temperature [deg C],weight [kg]\n"
SLOW = (1.6, 1.3, 1.1)


def stalls():
    """Eight steady stalls a state on two flights at a recorded load factor of 1."""
    out = "modification,configuration,flight,ias [kt],speed_kind,ended,pressure_altitude [ft],weight [kg],power,"
    out += "load_factor\n"
    for m, v in SPEED.items():
        for k in range(8):
            out += f"{m},clean,{m[0]}{k % 2},{v + (k % 4 - 1.5) * 0.4:.1f},steady,break,0,550,idle,1.0\n"
    return out


def legs(*modifications, multiples=SLOW):
    """Runs of four legs without wind at sea level on a standard day, at these multiples of the needle's stall."""
    out = LEGS
    for m in modifications:
        for run, multiple in enumerate(multiples):
            needle = multiple * SPEED[m]
            true = needle / math.sqrt(1.0 - PRESSURE)
            for track in (10, 100, 190, 280):
                out += f"{m},clean,{run},idle,{needle:.1f},{true:.2f},{track},0,15,550\n"
    return out


@pytest.fixture
def with_legs(write_case):
    def read(text, aircraft=BARE, name="case"):
        folder = write_case(aircraft, stalls(), name)
        if text:
            (folder / "airspeed_legs.csv").write_text(text)
        return open_study(folder)

    return read


@pytest.mark.parametrize("flown", [("before", "after"), ("after",), ("before",), ()])
def test_the_ratio_does_not_owe_the_correction(flown, with_legs):
    """+21 % with legs in both states, in either, in none; 0.2.0 said +16 and +27 % in one."""
    change = with_legs(legs(*flown) if flown else "").comparison["clean"]
    assert change.ratio.value == pytest.approx(1.21, abs=0.02)


def test_a_stall_out_of_reach_beside_one_within_it(with_legs):
    """Legs before only, slowest at 1.2: 1.37 in CL to its own stall, 1.66 to that of after, which is not carried."""
    case = with_legs(legs("before", multiples=(1.6, 1.4, 1.2)))
    after = case.calibration["after", "flap 0 deg"]
    assert after.extension > 1.5 and after.correction is not None
    assert after.standard_uncertainty > 2.4 * 1852 / 3600  # the assumed error of 2.5 kt stands about what was kept
    assert case.comparison["clean"].ratio.value == pytest.approx(1.21, abs=0.03)


def test_own_legs_out_of_reach_beside_a_state_within_it(with_legs):
    text = legs("before") + legs("after", multiples=(1.7, 1.5, 1.35)).removeprefix(LEGS)
    case = with_legs(text)
    after = case.calibration["after", "flap 0 deg"]
    assert after.origin == "legs, out of reach" and after.extension > 1.5
    assert case.comparison["clean"].ratio.value == pytest.approx(1.21, abs=0.03)


def test_both_out_of_reach_leave_the_assumed_error(with_legs):
    found = with_legs(legs("before", "after", multiples=(1.7, 1.5, 1.4))).calibration
    assert {s.origin for s in found.states} == {"assumed"}


def test_a_table_in_one_state_is_lent_as_well(with_legs):
    """CAS 4 kt above the needle by the owner's table, before only: both states get it, and it nearly cancels."""
    table = '[[indicator.position]]\nmodification = "before"\nconfiguration = "clean"\n'
    table += 'points = [["35 kt", "39 kt"], ["60 kt", "64 kt"]]\nwithin = "1 kt"\n'
    case = with_legs("", BARE.replace("[[configuration]]", table + "[[configuration]]", 1))
    change = case.comparison["clean"]
    assert change.ratio.value == pytest.approx((48.0 / 44.0) ** 2, abs=0.02)
    assert any("'before, flap 0 deg'" in n and "after, flap 0 deg" in n for n in case.reduction.notes)
    assert change.leans_on and legs_wanted(case.comparison)
    own = {b.name: b.contribution for b in change.ratio.budget()}
    assert own["position error"] < 0.02 * change.ratio.value  # 1 kt (95 %) twice would be 0.033: it is one table


def test_what_differs_between_the_states_is_in_the_interval(with_legs):
    both, one, none = (with_legs(legs(*x) if x else "", name=f"case{k}").comparison["clean"]
                       for k, x in enumerate((("before", "after"), ("after",), ())))  # fmt: skip
    half = [math.log(c.ratio.interval95[1] / c.ratio.interval95[0]) / 2 for c in (both, one, none)]
    assert half[0] < half[1] < half[2]
    change = {b.name: b.contribution / one.ratio.value for b in one.ratio.budget()}["airspeed correction borrowed"]
    assert change == pytest.approx(2 * 1.5 / 42, rel=0.02)  # 1.5 kt at 42, twice in CL: the stated size
    assert half[1] > 1.9 * change
    assert "airspeed correction borrowed" not in {b.name for b in both.ratio.budget()}


def test_the_verdict_carries_the_sentence_wherever_it_stands(with_legs, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    case = with_legs(legs("after"))
    c = case.comparison
    (said,) = c["clean"].leans_on
    assert "'before' borrowed the airspeed correction of 'after'" in said
    assert said in render.said(change_line(c["clean"]))
    (step,) = legs_wanted(c)
    assert "legs in 'before' (clean)" in step and step in steps_of(case.reduction, c)
    assert "legs in 'before'" in settled_by(c["clean"])
    assert main(["report", str(case.folder), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert [i["leans_on"] for i in data["comparison"] if i["configuration"] == "clean"] == [[said]]
    assert case.reduction["before", "clean"].clmax.value == pytest.approx(
        550 * 9.80665 / (0.5 * 1.225 * 12 * (44 * 1852 / 3600) ** 2 / (1 - PRESSURE)), rel=0.02
    )


def test_with_legs_in_both_states_nothing_is_borrowed(with_legs):
    c = with_legs(legs("before", "after")).comparison
    assert c["clean"].leans_on == () and legs_wanted(c) == []


def test_a_gain_that_leans_on_one_correction_is_not_called_shown(case_folder):
    """The demonstration with flap 20: truth +9.5 %; +17 % was 'shown' on a correction that changed by -3.4 kt."""
    case = open_study(case_folder)
    given = stalls_of(case)
    kt = 1852 / 3600
    errors = replace(given.errors, reading=0.2 * kt, entry_rate=0.1 * kt, loading=0.5, day=0.004)
    sure, unaware = (compare(replace(given, errors=errors), calibration=x) for x in (case.calibration, None))
    assert str(unaware["flap 20"].verdict) == "a gain is shown"  # all that the intervals hold
    assert str(sure["flap 20"].verdict) == "a gain is suggested" == str(sure.verdict)
    c = case.comparison
    change = c["flap 20"]
    (said,) = change.leans_on
    assert [f"flap 20 deg: {said}"] == case.calibration.unlike()  # one sentence in 01, 03 and 04
    assert c["clean"].leans_on == ()
    assert any("flap 20" in why for why in c.leans_on())
    text = " ".join(report_text(case).split())
    assert text.count(said) >= 2  # with its setting, and with all settings together
    answer = ChangePanel(case).answer.value
    assert "flap 20, idle" in answer and "leans on it" in answer and "is shown" not in answer
    item = next(i for i in comparison_data(c) if i["configuration"] == "flap 20")
    assert item["leans_on"] == [said] and item["verdict"] == str(change.verdict)
