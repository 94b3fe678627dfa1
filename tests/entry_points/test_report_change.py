"""The report's part on before and after: each flight, each stall, every check with its notes."""

import re
import shutil
from pathlib import Path

import pytest

from aerolib.show.render import body_html
from aerolib.show.sections import sections_of
from aerolib.show.sections.change import finding
from aerolib.study import open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


def of(folder):
    found = finding(open_study(folder))
    return None if found is None else body_html(found)


def test_the_demonstration():
    case = open_study(DEMO)
    found = next(s for s in sections_of(case)[0] if s.title.startswith("Before and"))
    for flight in ("before, B1", "before, B2", "after, A1", "after, A2"):
        assert re.search(rf"{flight}: [+-]\d+ %", found.html)
    row = int(re.search(r"row (\d+) of stalls.csv moves it most", found.html)[1])
    assert (DEMO / "stalls.csv").read_text(encoding="utf-8").split("\n")[row - 1].split(",")[1] == "clean"
    assert found.html.count("<img ") == 1 and "no worse than that" in found.html
    assert "Recorded and compared, not modeled" in found.html


def test_stalls_without_checks_checks_without_after_and_neither(tmp_path):
    for name in ("aircraft.toml", "stalls.csv"):
        shutil.copy(DEMO / name, tmp_path / name)
    assert "moves it most" in of(tmp_path) and "<img" not in of(tmp_path)
    lines = (DEMO / "stalls.csv").read_text(encoding="utf-8").strip().split("\n")
    modification = lines[0].split(",").index("modification")
    (tmp_path / "stalls.csv").write_text("\n".join(x for x in lines if x.split(",")[modification] != "after") + "\n")
    assert of(tmp_path) is None
    shutil.copy(DEMO / "checks.csv", tmp_path / "checks.csv")
    assert "<img" in of(tmp_path) and "moves it most" not in of(tmp_path)


def test_names_cannot_break_the_page(tmp_path):
    for name in ("aircraft.toml", "stalls.csv", "checks.csv"):
        text = (DEMO / name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(text.replace("B1", "<b>1").replace("B3", "<b>3"), encoding="utf-8")
    page = of(tmp_path)
    assert "<b>" not in page and "&lt;b&gt;1" in page
