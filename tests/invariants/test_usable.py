"""What gear and tail let an airplane use of a predicted gain: words that follow the geometry."""

import re

from aerolib.case.folder import read_case
from aerolib.case.usable import usable_words


def shares(text, where):
    return [int(x) for x in re.findall(r"(\d+)%", text.split(f"{where} limit:")[1].split(";")[0])]


def test_forward_uses_less_than_aft_and_a_wide_gear_uses_more(case_folder):
    case = read_case(case_folder)
    text = usable_words(case, case.reduce(), 0.95)
    assert sum(shares(text, "forward")) < sum(shares(text, "aft"))
    toml = (case_folder / "aircraft.toml").read_text()
    strong = toml.replace('elevator_up_reached = "18 deg"', 'elevator_up_reached = "26 deg"')
    (case_folder / "aircraft.toml").write_text(strong.replace('ground_angle = "12.5 deg"', 'ground_angle = "20 deg"'))
    free = read_case(case_folder)
    assert sum(shares(usable_words(free, free.reduce(), 0.95), "aft")) > sum(shares(text, "aft"))


def test_nothing_to_use_and_nothing_known(case_folder):
    case = read_case(case_folder)
    assert "no lower" in usable_words(case, case.reduce(), 1.0)
    toml = (case_folder / "aircraft.toml").read_text()
    (case_folder / "aircraft.toml").write_text(toml.replace('wing_height = "1.80 m"', ""))
    case = read_case(case_folder)
    assert "wing_height" in usable_words(case, case.reduce(), 0.95)
