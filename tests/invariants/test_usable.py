"""What gear and tail let an airplane use of a predicted gain: words that follow the geometry."""

import re

from aerolib.study import open_study
from aerolib.study.usable import usable_words


def shares(text, where):
    """Shares in percent at one CG limit; of a flap setting whose share is not determinable, none."""
    at = text.split(f"CG at its {where} limit:")[1].split("CG at its")[0]
    return [int(x) for x in re.findall(r"(\d+) % of the gain", at)]


def test_forward_uses_less_than_aft_and_a_wide_gear_uses_more(case_folder):
    case = open_study(case_folder)
    text = usable_words(case, 0.95)
    assert shares(text, "forward") and max(shares(text, "forward")) < 20
    assert "tail" in text.split("CG at its aft")[0] and "gear keeps" not in text.split("CG at its aft")[0]
    toml = (case_folder / "aircraft.toml").read_text()
    strong = toml.replace('elevator_up_reached = "18 deg"', 'elevator_up_reached = "26 deg"')
    (case_folder / "aircraft.toml").write_text(strong.replace('ground_angle = "12.5 deg"', 'ground_angle = "20 deg"'))
    free = open_study(case_folder)
    assert sum(shares(usable_words(free, 0.95), "aft")) >= 200 > sum(shares(text, "aft"))


def test_nothing_to_use_and_nothing_known(case_folder):
    case = open_study(case_folder)
    assert "no lower" in usable_words(case, 1.0)
    toml = (case_folder / "aircraft.toml").read_text()
    (case_folder / "aircraft.toml").write_text(toml.replace('wing_height = "1.80 m"', ""))
    case = open_study(case_folder)
    assert "wing_height" in usable_words(case, 0.95)
