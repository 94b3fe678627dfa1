"""Heights on the card for the knee: never a number without its setting; and no wing that 'breaks'."""

import pytest

from aerolib.case.problems import CaseError
from aerolib.case.shipped import demo_folder
from aerolib.show.panels import KneeboardPanel
from aerolib.show.print.card import kneeboard_card
from aerolib.show.sections.clmax import steps_of
from aerolib.study import open_study

pdfplumber = pytest.importorskip("pdfplumber")
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
FOOT = 0.3048


@pytest.fixture(scope="module")
def demo():
    return open_study(demo_folder())


def pages(path):
    """Of every page: its text on one line, and what is printed left of each 'altimeter', at the same height."""
    out = []
    with pdfplumber.open(path) as pdf:
        for page in pdf.pages:
            found = page.extract_words()
            left = []
            for w in (w for w in found if w["text"] == "altimeter" and w["bottom"] < 36 * 72 / 25.4):
                half = 0.0 if w["x0"] < page.width / 2 else page.width / 2
                beside = [o for o in found if abs(o["bottom"] - w["bottom"]) < 4 and half < o["x0"] < w["x0"]]
                left.append(" ".join(o["text"] for o in sorted(beside, key=lambda o: o["x0"])).replace("\xa0", " "))
            out.append((" ".join(page.extract_text().replace("\xa0", " ").split()), left))
    return out


def test_without_the_ground_the_line_on_qnh_stays_blank(demo, tmp_path):
    kneeboard_card(demo, tmp_path / "card.pdf", recovery_height=5000 * FOOT)
    found = pages(tmp_path / "card.pdf")
    for text, left in found:
        assert left == ["ft,", "ft,"] and text.count("altimeter on QNH") >= 2 and "on the altimeter" not in text
        assert "5,750 ft above ground" in text and "5,000 ft above ground" in text  # 5,000 + 3 x 250
    assert "Ground elevation not given" in found[0][0]


def test_with_the_ground_the_setting_stands_beside_the_number(demo, tmp_path):
    kneeboard_card(demo, tmp_path / "card.pdf", recovery_height=5000 * FOOT, ground_elevation=1240 * FOOT)
    found = pages(tmp_path / "card.pdf")
    for text, left in found:
        assert left == ["6,990 ft", "6,240 ft"] and text.count("altimeter on QNH") >= 2  # + 1,240
    assert "Ground elevation 1,240 ft, altimeter on QNH" in found[0][0]


@pytest.mark.parametrize("elevation", [float("nan"), 9000.0, "1240 ft", True])
def test_an_elevation_that_cannot_be(demo, tmp_path, elevation):
    with pytest.raises(CaseError, match="ground_elevation is"):
        kneeboard_card(demo, tmp_path / "card.pdf", recovery_height=1524.0, ground_elevation=elevation)


def test_the_panel_asks_for_the_elevation_and_sea_level_is_one(demo, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = KneeboardPanel(demo)
    assert panel.ground.value == ""  # nothing is assumed of the ground
    panel.recovery.value, panel.ground.value = "5000 ft", "0 ft"
    panel.write.click()
    assert panel.error.value == "" and pages(tmp_path / "kneeboard-after.pdf")[0][1] == ["5,750 ft", "5,000 ft"]


def test_a_card_of_bounds_only_asks_for_a_stall_break(case_folder):
    path = case_folder / "stalls.csv"
    path.write_text(path.read_text().replace(",break,", ",stop,"))
    case = open_study(case_folder)
    (step,) = steps_of(case.reduction)
    assert "stall break (nose or wing drops)" in step and "wing breaks" not in step
