"""A stall that cannot be is set aside and said, and the rest is reported; a card wrong as a whole is refused.

Coefficients are this file's own arithmetic, CL = W g / (0.5 rho0 V^2 S), at a recorded load factor of 1.
"""

from __future__ import annotations

import json

import pytest

from aerolib.__main__ import main
from aerolib.case.problems import CaseError
from aerolib.study import open_study
from aerolib.study.stalls import warnings_of

AREA, G, RHO0, KT, LB = 12.0, 9.80665, 1.225, 1852.0 / 3600.0, 0.45359237
AIRCRAFT = (
    f'format = 1\n[wing]\narea = "{AREA} m2"\n[weights]\nempty = "400 kg"\nmaximum = "600 kg"\n'
    '[indicator]\nload_factor_axis = "flight path"\n'
)
HEADER = "modification,configuration,flight,ias [kt],speed_kind,ended,pressure_altitude [ft],{},power,load_factor\n"


def speed_for(cl, weight=550.0):
    """Speed [kt] at which a weight [kg] asks for a coefficient."""
    return (weight * G / (0.5 * RHO0 * AREA * cl)) ** 0.5 / KT


def row(cl=1.5, weight="550", ended="break", power="idle", load=550.0, flight=1):
    return f"before,clean,{flight},{speed_for(cl, load):.4f},steady,{ended},0,{weight},{power},1.0\n"


def card(*rows, weight="weight [kg]"):
    return HEADER.format(weight) + "".join(rows)


def test_one_impossible_row_is_set_aside_and_said(write_case, tmp_path, capsys):
    """29 kt for 29 m/s: CL 5.7, the other four are reported."""
    folder = write_case(AIRCRAFT, card(row(), row(1.52), row(1.5 / KT**2), row(1.48), row()))
    case = open_study(folder)
    assert case.stalls.set_aside == (4,) and case.stalls.row.tolist() == [2, 3, 5, 6]
    assert main(["report", str(folder), "--out", str(tmp_path / "out"), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["clmax"][0]["breaks"] == 4
    assert data["clmax"][0]["value"] == pytest.approx(1.5, abs=0.01)
    (note,) = (n for n in data["notes"] if "set aside" in n)
    assert "`stalls.csv` row 4" in note and "5.67" in note and "in m/s it would be 1.5" in note
    assert len(case.stalls.frame) == 5  # what is saved is what the owner wrote


@pytest.mark.parametrize("low", [0.4, 0.5])
def test_a_row_below_the_bounds_too(low, write_case):
    case = open_study(write_case(AIRCRAFT, card(row(), row(), row(low))))
    assert case.stalls.set_aside == (4,)
    assert case.reduction["before", "clean"].breaks == 2


def test_most_of_the_card_impossible_is_refused(write_case):
    case = open_study(write_case(AIRCRAFT, card(row(), *[row(1.5 / KT**2)] * 3)))
    with pytest.raises(CaseError) as caught:
        case.reduction
    assert str(caught.value).count("is the column in m/s?") == 3


@pytest.mark.parametrize(("ended", "power"), [("stop", "idle"), ("break", "full")])
def test_power_and_stop_may_reach_six(ended, power, write_case):
    odd = row(5.0, ended=ended, power=power)
    result = open_study(write_case(AIRCRAFT, card(row(), row(), odd))).reduction
    assert len(result.points.cl) == 3 and max(result.points.cl) == pytest.approx(5.0, rel=0.01)
    assert any("row 4" in n and "under-reads at high angle of attack" in n for n in result.notes)
    beyond = open_study(write_case(AIRCRAFT, card(row(), row(), row(6.5, ended=ended, power=power)), "beyond"))
    assert beyond.stalls.set_aside == (4,)


def test_an_early_recovery_may_lie_low(write_case):
    assert open_study(write_case(AIRCRAFT, card(row(), row(0.5, ended="early")))).stalls.set_aside == ()


def test_no_row_hides_what_is_wrong_with_another(write_case):
    """Row 2 cannot be, row 6 was read in mph: both are said, in one go."""
    rows = [row(1.5 / KT**2), row(), row(), row(), row(1.5 * (1609.344 / 1852.0) ** 2), row()]
    case = open_study(write_case(AIRCRAFT, card(*rows)))
    assert any("row 2" in w and "set aside" in w for w in warnings_of(case))
    with pytest.raises(CaseError, match=r"row 6: .*mph"):
        case.reduction


def test_a_wrong_weight_is_blamed_and_not_the_speed(write_case):
    stalls = card(*[row(1.0, "150,60")] * 3, row(1.0, "1500,60"), weight="crew [kg],fuel [l]")
    case = open_study(write_case(AIRCRAFT, stalls))
    assert case.stalls.set_aside == (5,)
    (said,) = (w for w in warnings_of(case) if "set aside" in w)
    assert "1943 kg from `crew, fuel, load`" in said and "400 to 600 kg" in said  # 400 + 1500 + 60 * 0.72
    assert "ias" not in said


def test_kilograms_typed_under_pounds(write_case):
    stalls = card(*[row(1.2, "190,60")] * 3, row(1.2, "88,60"), weight="crew [lb],fuel [l]")
    with pytest.raises(CaseError) as caught:
        open_study(write_case(AIRCRAFT, stalls))
    assert "row 5: 88 in column `crew [lb]` is a crew of 40 kg" in str(caught.value)
    assert "in kg it would be 88 kg" in str(caught.value) and "left_out" in str(caught.value)


def test_a_crew_off_by_the_ratio_of_the_units_is_asked_about(write_case):
    """Alone or with a passenger gives nearly the same ratio, so this is a question and no refusal."""
    stalls = card(*[row(1.2, "330,60")] * 3, row(1.2, "150,60"), weight="crew [lb],fuel [l]")
    case = open_study(write_case(AIRCRAFT, stalls))
    assert case.reduction["before", "clean"].breaks == 4
    assert any("row 5" in w and "stand to each other as kg and lb do" in w for w in warnings_of(case))


KG_AND_LB, LITERS = "stand to each other as kg and lb do", "stand to each other as liters and US gal do"


def asked(write_case, words, header, *flights):
    """What is asked of a card whose flights, of two stalls each, have these cells."""
    rows = [row(1.2, cells, flight=f) for f, cells in enumerate(flights, 1) for _ in range(2)]
    return [w for w in open_study(write_case(AIRCRAFT, card(*rows, weight=header))).stalls.warnings if words in w]


@pytest.mark.parametrize(
    ("header", "flights"),
    [
        ("crew [lb],fuel [l]", ("330,60", "154,60")),
        ("crew [lb],fuel [l]", ("330,60", "154,60", "320,60", "345,60")),
        ("crew [kg],fuel [l]", ("75,60", "165,60")),
    ],
)
def test_a_whole_flight_in_another_unit_is_asked_about(write_case, header, flights):
    """Flight 2 is rows 4 and 5: 154 under lb beside 330 is 2.14, 165 under kg beside 75 is 2.2; a kg is 2.2046 lb."""
    (said,) = asked(write_case, KG_AND_LB, header, *flights)
    assert "rows 4, 5: " in said and f"{flights[1].split(',')[0]} in column `crew" in said


def test_liters_under_gallons_are_asked_about(write_case):
    """68 liters are 18 US gallons: beside flights with 17 to 19 gallons, 68 is 3.78 times the usual."""
    (said,) = asked(write_case, LITERS, "crew [lb],fuel [US gal]", "170,18", "170,68", "170,19", "170,17")
    assert "rows 4, 5: 68 in column `fuel [US gal]`" in said


def test_crews_and_fuel_that_vary_are_not_asked_about(write_case):
    for k, flights in enumerate((("330,18", "300,9", "250,5"), ("170,5", "200,12", "360,18"))):
        folder = write_case(AIRCRAFT, card(*[row(1.2, c, flight=f) for f, c in enumerate(flights)],
                                           weight="crew [lb],fuel [US gal]"), f"varied{k}")  # fmt: skip
        assert not any("stand to each other" in w for w in open_study(folder).stalls.warnings)


def test_the_workbook_takes_a_corrected_row_back(write_case):
    case = open_study(write_case(AIRCRAFT, card(row(), row(), row(1.5 / KT**2))))
    frame = case.stalls.frame.copy()
    frame.loc[4, "ias [kt]"] = f"{speed_for(1.5):.4f}"
    again = case.changed(stalls=frame)
    assert again.stalls.set_aside == () and len(again.stalls.row) == 3
