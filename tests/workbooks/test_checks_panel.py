"""The panel of the checks without a browser."""

import csv
import shutil
from pathlib import Path

import pytest

from aerolib.show.panels.checks import ChecksPanel
from aerolib.study import open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def panel():
    return ChecksPanel(open_study(DEMO))


def test_every_check_is_shown_with_both_means(panel):
    """Plain means of the file: flights of four readings each weigh alike."""
    assert panel.error.value == ""
    with (DEMO / "checks.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for quantity in {r["quantity"] for r in rows}:
        assert quantity in panel.result.value and quantity in panel.picture.image.alt
        item = next(i for i in panel.comparison.items if i.quantity == quantity)
        for state in ("before", "after"):
            seen = [
                float(r["value"].split()[0]) for r in rows if (r["quantity"], r["modification"]) == (quantity, state)
            ]
            assert getattr(item, state).value == pytest.approx(sum(seen) / len(seen), rel=1e-6)
    assert "no worse than that" in panel.picture.caption.value and "cautions" in panel.result.value


def test_a_limit_decides_what_is_no_worse(panel):
    """The owner's limit beyond the worse end of the interval is 'no worse than', and short of it is not shown."""
    item = panel.comparison.items[0]
    worst = -item.difference.interval95[0]  # a speed: higher is better
    assert item.better == 1 and worst > 0.5 and panel.limit.value == item.no_worse_than == 3.0
    picture, drawn = panel.picture.image.value, panel.picture.drawn
    panel.limit.value = worst + 0.5
    assert "no worse than" in panel.comparison.items[0].verdict and "kt less" in panel.comparison.items[0].verdict
    assert panel.picture.image.value != picture and panel.picture.drawn == drawn + 1
    panel.limit.value = worst - 0.5
    assert panel.comparison.items[0].verdict == "not shown"
    panel.limit.value = 0.0
    assert panel.comparison.items[0].no_worse_than is None
    panel.limit.value = -1.0
    assert "zero or more" in panel.error.value and panel.comparison.items[0].no_worse_than is None
    assert [i.no_worse_than for i in panel.comparison.items[1:]] == [
        i.no_worse_than for i in open_study(DEMO).checks.items[1:]
    ]


def test_another_check_shows_its_own_limit_and_draws_nothing(panel):
    drawn = panel.picture.drawn
    panel.check.value = ("roll time", "flap 20", "idle")
    assert panel.limit.value == pytest.approx(panel.comparison["roll time", "flap 20", "idle"].no_worse_than)
    assert panel.unit.value.startswith("s ") and panel.picture.drawn == drawn


def test_the_states_turned_round(panel):
    before = panel.comparison.items[0].difference
    panel.before.value = "after"
    assert "two different modifications" in panel.error.value
    panel.after.value = "before"
    assert panel.error.value == ""
    turned = panel.comparison.items[0].difference
    assert turned.value == pytest.approx(-before.value)
    assert turned.interval95 == pytest.approx([-x for x in before.interval95[::-1]])


def test_a_case_without_checks_says_what_to_note(tmp_path):
    for name in ("aircraft.toml", "stalls.csv"):
        shutil.copy(DEMO / name, tmp_path / name)
    panel = ChecksPanel(open_study(tmp_path))
    assert "checks.csv" in panel.error.value and panel.comparison is None
    lines = (DEMO / "checks.csv").read_text(encoding="utf-8").split("\n")
    (tmp_path / "checks.csv").write_text("\n".join([lines[0], *(x for x in lines if x.startswith("before"))]))
    assert "two states" in ChecksPanel(open_study(tmp_path)).error.value.replace("\n", " ")
