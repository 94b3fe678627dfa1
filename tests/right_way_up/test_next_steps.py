"""What to do next answers the card in hand: a stall that broke is not answered with 'fly to a stall break'."""

import pytest

from aerolib.show.sections.clmax import steps_of
from aerolib.study import open_study

AIRCRAFT = 'format = 1\nname = "Bare"\n[wing]\narea = "11.2 m2"\n[weights]\nempty = "330 kg"\nmaximum = "560 kg"\n'
ROWS = "".join(f"stock,clean,1,{v},minimum,{{ended}},1150,{{power}}\n" for v in (45, 46, 45))
HEAD = "modification,configuration,flight,ias [mph],speed_kind,ended,weight [lb],power\n"


@pytest.mark.parametrize(
    "ended, power, words, never",
    [
        ("break", "", "column `power`", "stall break"),
        ("break", "2200 rpm", "throttle closed", "stall break"),
        ("early", "idle", "stall break", "column `power`"),
    ],
)
def test_the_first_step_fits_the_card(write_case, ended, power, words, never):
    study = open_study(write_case(AIRCRAFT, HEAD + ROWS.format(ended=ended, power=power)))
    said = " ".join(steps_of(study.reduction))
    assert words in said and never not in said
