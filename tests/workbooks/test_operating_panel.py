"""The panel and the section of the operating speeds, without a browser: speeds by this test's own formulae."""

import math
import re

import jsonschema
import numpy as np
import pytest

from aerolib.show.finding import Table
from aerolib.show.panels.operating import OperatingPanel
from aerolib.show.sections.operating_speeds import finding
from aerolib.study import open_study
from aerolib.study.speeds import operating_of

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
KT = 1852 / 3600


@pytest.fixture(scope="module")
def demo():
    from pathlib import Path

    return open_study(Path(__file__).resolve().parents[2] / "data" / "demo")


@pytest.fixture
def panel(demo):
    return OperatingPanel(demo)


def cell(panel, name, modification):
    """A number of the table [kt]."""
    table = next(p for p in panel.told.parts if isinstance(p, Table))
    column = {"stall": 2, "approach": 3}[name]
    assert name in table.columns[column].head
    return next(row[column].value for row in table.rows if row[1] == modification) / KT


def test_weight_goes_with_the_root(panel):
    first = cell(panel, "stall", "before")
    panel.mass.value = 480
    assert cell(panel, "stall", "before") == pytest.approx(first * math.sqrt(480 / 620), abs=0.1)
    assert panel.distances.drawn == 2 and panel.diagram.drawn == 2


def test_stall_speeds_are_those_of_the_report(panel, demo):
    item = next(i for i in demo.reduction.items if (i.modification, i.configuration) == ("before", "flap 38"))
    assert cell(panel, "stall", "before") == pytest.approx(item.stall_speed_1g.value / KT, abs=0.051)
    held = next(i for i in demo.reduction.items if (i.modification, i.configuration) == ("after", "flap 38"))
    by_hand = math.sqrt(2 * 620 * 9.80665 / (1.225 * 10.68 * held.lowest_reached.value)) / KT  # no break: lowest held
    assert cell(panel, "stall", "after") == pytest.approx(by_hand, abs=0.051)
    assert "the stick reached its stop" in panel.result.value


def test_operating_maneuvering_speed_falls_as_clmax_rises(panel, demo):
    """The table: the clean stall speed on its slow side times the root of 3.8. The change: the root of CLmax."""
    clean = {}
    for i in demo.reduction.items:
        if i.configuration == "clean" and i.power == "idle":
            low, high = i.stall_speed_1g.interval95
            clean[i.modification] = (i.stall_speed_1g.value - 1.645 * (high - low) / 3.92) / KT
    table = next(p for p in panel.told.parts if isinstance(p, Table))
    column = next(k for k, c in enumerate(table.columns) if c.head.startswith("V_O, its"))
    for row in table.rows:
        assert row[column].value / KT == pytest.approx(clean[row[1]] * math.sqrt(3.8), abs=0.02)
    change, told = demo.comparison["clean"].ratio, panel.told.answer[0].slots
    assert change.value > 1.0 and told["way"] == "falls"
    assert told["change"].value == pytest.approx(1.0 - change.value**-0.5)


def test_only_what_changed_is_drawn(panel):
    panel.surface.value = "wet short grass"
    assert panel.distances.drawn == 2 and panel.diagram.drawn == 1
    assert "landing 1.6" in panel.result.value
    panel.crosswind.value = 10
    assert panel.distances.drawn == 2 and "points into the wind" in panel.wind.value


def test_the_hand_line_gives_the_approach(panel):
    """The numbers shown, put into the formula by this test, give the approach shown."""
    panel.gusts.value = 8
    for line in re.findall(r"<li>(.*?)</li>", panel.by_hand.value):
        terms = [float(k) * (float(v) + 1.645 * float(u)) for k, v, u in
                 re.findall(r"([\d.]+) · \(([\d.]+) \+ 1\.645 · ([\d.]+)\)", line)]  # fmt: skip
        assert len(terms) == 2
        assert float(re.search(r"wind: ([\d.]+) kt", line)[1]) == pytest.approx(max(terms) + 4.0, abs=0.15)


def test_wind_addition(panel):
    before = cell(panel, "approach", "before")
    panel.gusts.value = 12
    assert 'operating-gust">6.0 kt' in panel.wind.value
    assert cell(panel, "approach", "before") == pytest.approx(before + 6, abs=1.01)


@pytest.mark.parametrize(
    "control, value, words",
    [("factor", 1.15, "no approach speed is printed"), ("slope", 7.0, "outside this method"),
     ("headwind", -12.0, "other direction")],
)  # fmt: skip
def test_outside_the_method(panel, control, value, words):
    before, good = panel.result.value, getattr(panel, control).value
    getattr(panel, control).value = value
    assert words in panel.error.value and panel.result.value == before
    getattr(panel, control).value = good
    assert panel.error.value == ""


def test_section_and_its_schema(demo):
    import json
    from pathlib import Path

    schema = json.loads((Path(__file__).parents[1] / "schema" / "estimates" / "operating_speeds.json").read_text())
    one = finding(demo)
    data = one.data["operating_speeds"]
    jsonschema.validate(data, schema)
    assert len(data) == 4 and {round(d["weight_kg"]) for d in data} == {477, 620}
    assert "can now overload the wing" in one.answer[0].words and any("-0.8" in str(c) for c in one.cautions)


def drop(text, *keys):
    for key in keys:
        text = re.sub(rf"(?m)^{key} = .*\n", "", text)
    return text


def test_without_thrust_limits_or_tail(case_folder):
    path = case_folder / "aircraft.toml"
    path.write_text(drop(path.read_text(), "rated_power", "load_factor", "elevator_up", "cruise_speed"))
    case = open_study(case_folder)
    shown = OperatingPanel(case)
    assert shown.error.value == "" and "not known" in shown.result.value and "rated_power" in shown.result.value
    assert "[limits] load_factor is missing" in shown.lacks.value
    assert "what the tail can hold is not known" in shown.result.value
    data = finding(case).data["operating_speeds"]
    assert data[0]["take_off_roll_m"]["value"] is None and data[0]["manoeuvring_kt"]["value"] is None
    tail_free = operating_of(case).at(620.0).items[0]
    stall, low, high = (x for x in (tail_free.stall_speed, *_interval(case)))
    assert tail_free.approach.value == pytest.approx(1.3 * (stall + 1.645 * (high - low) / 3.92), abs=1e-4)


def _interval(case):
    return next(i for i in case.reduction.items
                if (i.modification, i.configuration) == ("before", "flap 38")).stall_speed_1g.interval95  # fmt: skip


def test_clean_wing_that_was_not_seen_to_stall(case_folder):
    """Where the stick stopped first, flaps up, panel and section still stand: picture drawn, nothing overlooked."""
    path = case_folder / "stalls.csv"
    rows = [
        re.sub(r",(break|unknown|early),", ",stop,", r) if r.startswith("after,clean") else r
        for r in path.read_text().splitlines()
    ]
    path.write_text("\n".join(rows) + "\n")
    case = open_study(case_folder)
    shown = OperatingPanel(case)
    assert shown.error.value == shown.lacks.value == "" and shown.diagram.drawn == 1
    assert "after, clean: the stick reached its stop" in shown.result.value
    assert len(finding(case).data["operating_speeds"]) == 4


def test_hardly_any_load(case_folder):
    """An airplane whose maximum is 30 kg above empty still gets its sliders."""
    path = case_folder / "aircraft.toml"
    path.write_text(re.sub(r'(?m)^empty = ".*"', 'empty = "590 kg"', path.read_text()))
    shown = OperatingPanel(open_study(case_folder))
    assert shown.mass.min == pytest.approx(558.0) and shown.mass.max == 620.0


def test_no_configuration_in_both(case_folder):
    path = case_folder / "stalls.csv"
    rows = path.read_text().splitlines()
    keep = [r for r in rows if not (r.startswith("after") and ",flap" not in r)]
    keep = [r for r in keep if not (r.startswith("before") and ",flap" in r)]
    path.write_text("\n".join(keep) + "\n")
    case = open_study(case_folder)
    assert finding(case).data["operating_speeds"] is None
    assert "landing configuration in each" in OperatingPanel(case).error.value


def test_needle_round_trip(demo):
    """Where it is calibrated, the needle's reading corrected by the state's own correction is the approach speed."""
    from aerolib.study.calibration import corrections_of

    ready = operating_of(demo)
    one = ready.at(477.0).items[0]
    correction = corrections_of(demo)["before", "flap 38 deg"].at(477.0 * 9.80665)
    assert float(correction.corrected(np.array(one.approach_indicated))) == pytest.approx(one.approach.value, abs=0.03)
