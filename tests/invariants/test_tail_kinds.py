"""Conventional, T, all-moving and V tails of one case: what is computed, what is said, what is refused."""

import pytest

from aerolib.case.problems import CaseError
from aerolib.study import open_study
from aerolib.study.airframe import airframe_of, airplane_of, missing


@pytest.fixture
def with_tail(case_folder):
    """Function (kind, line to add, key to leave out) -> the demonstration with that tail."""

    def change(kind, more="", without=None):
        path = case_folder / "aircraft.toml"
        text = path.read_text(encoding="utf-8").replace('kind = "conventional"', f'kind = "{kind}"\n{more}')
        if without:
            text = "\n".join(x for x in text.splitlines() if not x.startswith(f"{without} ="))
        path.write_text(text, encoding="utf-8")
        return open_study(case_folder)

    return change


def test_all_moving_turns_as_a_whole_and_its_tab_adds(with_tail):
    """Without a tab one degree of tail is one degree; a tab that goes twice as far adds 0.4 a degree of its own."""
    case = with_tail("all-moving", without="elevator_chord")
    assert missing(case, "tail") == []
    airplane, notes = airplane_of(case)
    assert airplane.effectiveness == 1.0 and any("tab_ratio is not given" in n for n in notes)
    path = case.folder / "aircraft.toml"
    path.write_text(path.read_text().replace('kind = "all-moving"', 'kind = "all-moving"\ntab_ratio = "2"'))
    assert airplane_of(open_study(case.folder))[0].effectiveness == pytest.approx(1.8)


def test_a_tail_with_an_elevator_needs_its_chord(with_tail):
    assert any("elevator_chord" in w for w in missing(with_tail("conventional", without="elevator_chord"), "tail"))


def test_t_tail_is_computed_and_its_own_danger_said(with_tail):
    case = with_tail("T")
    _, notes = airplane_of(case)
    assert any("deep stall" in n for n in notes)


def test_v_tail_is_refused_before_anything_is_asked_for(with_tail):
    case = with_tail("V", without="elevator_chord")
    with pytest.raises(CaseError, match="mixes pitch and yaw") as e:
        airframe_of(case)
    assert "elevator_chord" not in str(e.value)
