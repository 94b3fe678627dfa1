"""A needle below its scale at a break: the wing stalled, and a lower limit is all that is known."""

from __future__ import annotations

import re

import pytest
from cards import AIRCRAFT, STALLS
from right_way_up.odd_cases import report

from aerolib.case.problems import CaseError
from aerolib.show.comparing import change_line
from aerolib.show.figures.change import change_picture
from aerolib.show.render import cells, said
from aerolib.show.sections.clmax import result_table, stated_table, steps_of
from aerolib.study import open_study

DENIED = re.compile(r"did not (break|stall)|not seen to stall|for want of a break|no break afterwards|was not seen")
SAID = "the wing stalled below the scale"


def below(state: str) -> str:
    """The card with every clean stall of one state below the scale of 35 kt."""
    return re.sub(rf"^({state},clean,\d),[\d.]+,", r"\1,<35,", STALLS, flags=re.M)


@pytest.mark.parametrize("state", ["before", "after"])
def test_nothing_denies_the_stall(write_case, tmp_path, state):
    told = report(write_case(AIRCRAFT, below(state)), tmp_path / "out")
    item = next(i for i in told.data["clmax"] if (i["modification"], i["configuration"]) == (state, "clean"))
    assert item["limit"] == "wing" and item["value"] is None and item["at_least"] > 0.0
    assert item["minimum_speed_kt"][0]["ended"] == "below scale"
    assert SAID in " ".join(item["notes"])
    page = re.sub(r"<[^>]*>", " ", told.page)
    for text in (told.text, page, str(told.data)):
        assert SAID in " ".join(text.split()) and not DENIED.search(" ".join(text.split()))


def test_the_headline_leads_with_it(write_case):
    case = open_study(write_case(AIRCRAFT, below("after")))
    item, change = case.reduction["after", "clean"], case.comparison["clean"]
    assert item.ending == SAID and item.clmax is None and item.at_least > 1.0
    assert SAID in said(change_line(change)) and change.ratio_at_least > 1.0
    assert SAID in change_picture(case.comparison).alternative
    head, *rows = cells(result_table(case.reduction))
    row = dict(zip(head, next(r for r in rows if r[:2] == ["after", "clean"])))
    assert row["limit"] != "wing" and row["lowest seen [kt CAS]"].startswith("below ")


def test_a_stop_is_still_no_stall(write_case):
    """The other way round: where the stick stopped first, nothing says that the wing stalled."""
    card = re.sub(r"^(after,clean,.*?),break,", r"\1,stop,", STALLS, flags=re.M)
    case = open_study(write_case(AIRCRAFT, card))
    for line in (case.reduction["after", "clean"].ending, said(change_line(case.comparison["clean"]))):
        assert "stick" in line and "the wing stalled" not in line


def test_what_to_do_next_and_the_stated_speed(write_case):
    air = AIRCRAFT.replace('flap = "0 deg"', 'flap = "0 deg"\nstated_stall_speed = "40 kt"')
    card = "\n".join(r for r in below("before").splitlines() if "full flap" not in r and not r.startswith("after"))
    case = open_study(write_case(air, card + "\n"))
    result = case.reduction
    assert all("break" not in s for s in steps_of(result)) and SAID in steps_of(result)[0]
    assert SAID in cells(stated_table(case))[1][-1]


def test_a_number_below_the_first_mark_was_not_read(write_case):
    """30 kt on a dial that starts at 35: refused with its row; the mark itself, and <35, can be read."""
    card = STALLS.replace("after,full flap,4,36,", "after,full flap,4,30,")
    with pytest.raises(CaseError) as caught:
        open_study(write_case(AIRCRAFT, card))
    (said,) = caught.value.problems
    for words in ("`stalls.csv` row 11: 30 in column `ias [kt]`", "35 kt", "scale_starts", "write <35 "):
        assert words in said
    for right in ("35", "<35"):
        open_study(write_case(AIRCRAFT, card.replace(",30,", f",{right},"), f"right{right[0]}"))


def test_the_first_mark_in_another_unit_than_the_column(write_case):
    """40 mph are 34.76 kt: 34.3 may be the mark rounded to whole knots, 34.2 cannot."""
    air = AIRCRAFT.replace('"35 kt"', '"40 mph"')
    card = STALLS.replace("after,full flap,4,36,", "after,full flap,4,34.3,")
    open_study(write_case(air, card))
    with pytest.raises(CaseError, match=r"row 11: 34\.2 .* 34\.76 kt"):
        open_study(write_case(air, card.replace("34.3", "34.2"), "slip"))
