"""Names that nobody takes for two, and one date in all its spellings."""

from __future__ import annotations

import pytest
from cards import AIRCRAFT, STALLS

from aerolib.case.dates import iso_dates
from aerolib.case.problems import CaseError, folded
from aerolib.study import open_study
from aerolib.study.leftout import explain_left_out

ALIKE = [
    ("before", "Before"), ("full flap", "Full Flap"), ("flap 20", "flap-20"), ("flap 20", "flap_20"), ("VGs", "v g s"),
    ("flap 20", "flap20"), ("flap 20", "Flap\u201320"),
]  # fmt: skip
UNLIKE = [("1-1", "11"), ("flap 10", "flap -10"), ("flap 10", "flap 20"), ("A1", "A2"), ("4.1", "41"), ("VG", "VGs")]


@pytest.mark.parametrize(("one", "other"), ALIKE)
def test_names_for_one_thing(one, other):
    assert folded(one) == folded(other)


@pytest.mark.parametrize(("one", "other"), UNLIKE)
def test_names_for_two_things(one, other):
    assert folded(one) != folded(other)


BARE = "\n".join(AIRCRAFT.split("\n[[")[0].split("\n"))  # no [[...]] table: every name of the card is new
CHECKS = "modification,configuration,quantity,value,flight\n"
TUFTS = "modification,configuration,ias [kt],surface,span_station [m],chord_station [%]\n"
LEGS = "modification,configuration,run,ias [kt],ground_speed [kt],track [deg],pressure_altitude [ft]\n"
SLIPS = {
    "state": (("after,clean,4,41,", "After,clean,4,41,"), {}, ["row 10", "'After'", "'after'", "row 8"]),
    "configuration": (("after,full flap", "after,Full-Flap"), {}, ["row 11", "'Full-Flap'", "'full flap'"]),
    "power": (("idle,1.2,P", "Idle,1.2,P"), {}, ["row 4", "'Idle'", "'idle'"]),
    "pilot": (("1.2,P,", "1.2,p,"), {}, ["row 4", "pilot 'p'", "'P'"]),
    "checks": (("", ""), {"checks.csv": CHECKS + "BEFORE,clean,speed at fixed rpm,96 kt,1\n"},
               ["`checks.csv` row 2", "'BEFORE'", "'before'", "`stalls.csv` row 2"]),
    "tufts": (("", ""), {"tufts.csv": TUFTS + "before,Clean,40,wing,1,50\n"},
              ["`tufts.csv` row 2", "'Clean'", "'clean'"]),
    "legs": (("", ""), {"airspeed_legs.csv": LEGS + "before,full_flap,1,60,60,0,3000\n"},
             ["`airspeed_legs.csv` row 2", "'full_flap'", "'full flap'"]),
}  # fmt: skip


@pytest.mark.parametrize(("slip", "files", "told"), SLIPS.values(), ids=SLIPS)
def test_a_name_written_in_two_ways_is_refused(write_case, slip, files, told):
    folder = write_case(BARE, STALLS.replace(*slip, 1) if slip[0] else STALLS)
    for name, text in files.items():
        (folder / name).write_text(text)
    with pytest.raises(CaseError) as caught:
        open_study(folder)
    for words in told:
        assert words in str(caught.value)


def one_row_as(name, of="after"):
    """The small card without a list, its state `of` (four rows) named as `name` in row 8, and `of` as wanted."""
    return STALLS.replace("after,clean,3,41,", f"{name},clean,3,41,", 1).replace("\nafter,", f"\n{of},") + "".join(
        f"{of},clean,4,41.{k},minimum,break,3100,12,540,0.50,idle,1.1,P,,\n" for k in range(3)
    )


@pytest.mark.parametrize(("name", "meant"), [("VG", "VGs"), ("VGs", "VG"), ("aftr", "after"), ("aftter", "after"),
                                             ("afher", "after"), ("with VG", "with VGs"), ("vg", "VGs")])  # fmt: skip
def test_a_state_of_one_row_one_letter_off_another_is_refused(write_case, name, meant):
    with pytest.raises(CaseError) as caught:
        open_study(write_case(BARE, one_row_as(name, meant)))
    said = str(caught.value)
    for words in ("`stalls.csv` row 8", f"'{name}'", f"did you mean '{meant}'", "list both", "[[modification]]"):
        assert words in said


@pytest.mark.parametrize(("name", "other"), [("A", "B"), ("1", "2"), ("VG 1", "VG 2"), ("kit A", "kit B"), ("VG", "VT"),
                                             ("2026-04-26", "2026-04-27"), ("state1", "state2")])  # fmt: skip
def test_short_names_and_figures_are_names_of_their_own(write_case, name, other):
    assert open_study(write_case(BARE, one_row_as(name, other))).states == ("before", name, other)


def test_listed_names_and_states_with_rows_enough_are_kept(write_case):
    listed = BARE + "".join(f'\n[[modification]]\nname = "{n}"\n' for n in ("before", "VG", "VGs"))
    assert open_study(write_case(listed, one_row_as("VG", "VGs"))).states == ("before", "VG", "VGs")
    halves = STALLS.replace("before,", "VG,").replace("after,", "VGs,")
    assert open_study(write_case(BARE, halves, "halves")).states == ("VG", "VGs")


def test_a_name_beside_the_list_is_refused_with_the_nearest(write_case):
    with pytest.raises(CaseError, match=r"row 8.*'AFTER'.*did you mean 'after'"):
        open_study(write_case(AIRCRAFT, STALLS.replace("after,clean,3", "AFTER,clean,3", 1)))


def test_two_tables_of_one_name_are_refused(write_case):
    text = AIRCRAFT + '[[modification]]\nname = "After"\n'
    with pytest.raises(CaseError, match=r"\[\[modification\]\].*'After'.*'after'"):
        open_study(write_case(text, STALLS))


def test_an_edited_card_is_looked_at_too(write_case):
    case = open_study(write_case(BARE, STALLS))
    frame = case.stalls.frame.copy()
    frame.loc[2, "modification"] = "Before"
    with pytest.raises(CaseError, match=r"'Before'|'before'"):
        case.changed(stalls=frame)


# --- dates: what each text means is written here by hand -------------------------------------------------
THE_26TH = ["2026-04-26",
            "2026/4/26", "26/4/2026", "26.4.26", "26-4-2026", "4/26/2026", "26 Apr 2026", "April 26, 2026",
            "26. April 2026", "26-Apr-26", "Sun 26 Apr 2026", "26th April 2026", "Apr 26"]  # fmt: skip
NO_DATE = ["B1", "1", "12", "1/2", "11.5", "flight 3", "May", "2026", "31/2/2026", "2026-02-31", "1-1", "26 Apr am"]


def dates(*labels):
    problems: list[str] = []
    return iso_dates(labels, range(2, 2 + len(labels)), "stalls.csv", problems).tolist(), problems


@pytest.mark.parametrize("text", THE_26TH)
def test_one_day_in_every_spelling(text):
    assert dates("2026-04-26", text) == (["2026-04-26", "2026-04-26"], [])


@pytest.mark.parametrize("text", NO_DATE)
def test_a_name_is_left_as_it_is(text):
    assert dates(text) == ([text], [])


def test_a_day_that_can_be_two_is_asked_for():
    _, problems = dates("1", "4/12/26")
    assert len(problems) == 1
    for words in ("`stalls.csv` row 3", "4/12/26", "2026-12-04", "2026-04-12"):
        assert words in problems[0]


@pytest.mark.parametrize(
    ("other", "day"), [("26/4/2026", "2026-12-04"), ("4/26/2026", "2026-04-12")], ids=["day first", "month first"]
)
def test_the_other_dates_of_the_file_tell_which(other, day):
    assert dates("4/12/26", other)[0][0] == day and not dates("4/12/26", other)[1]


def test_where_the_file_writes_both_ways_it_is_asked():
    assert len(dates("4/12/26", "26/4/2026", "4/26/2026")[1]) == 1


def test_a_date_without_year_takes_the_only_year_and_asks_for_one_of_two():
    assert dates("26 April", "26 apr") == (["26 April", "26 April"], [])
    _, problems = dates("26 Apr", "2025-05-01", "2026-05-01")
    assert len(problems) == 1 and "2025-04-26" in problems[0] and "2026-04-26" in problems[0]


def test_the_question_reaches_the_owner(write_case):
    with pytest.raises(CaseError, match=r"`stalls.csv` row 2: flight '4/12/26'.*2026-12-04"):
        open_study(write_case(AIRCRAFT, STALLS.replace("before,clean,1,", "before,clean,4/12/26,", 1)))


def test_a_row_left_out_is_read_as_the_others_are(write_case):
    """Alone, 4/12/26 could be two days; beside 26/4/2026 it is one, whether its row is used or not."""
    card = STALLS.replace("before,clean,2,", "before,clean,4/12/26,").replace(
        "before,clean,1,", "before,clean,26/4/2026,"
    )
    head, first, *rest = card.splitlines()
    third = rest[1]
    assert "4/12/26" in third
    rest[1] = third.removesuffix(",,") + ",,a slip"
    case = open_study(write_case(AIRCRAFT, "\n".join([head, first, *rest]) + "\n"))
    (told,) = explain_left_out(case)
    assert "would have given CLmax" in told and "its flight" in told and "2026-12-04" in case.stalls.text["flight"]
