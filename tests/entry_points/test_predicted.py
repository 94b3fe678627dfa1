"""The predicted lift in report and JSON: every configuration, and what is said where the case says too little."""

import json
from pathlib import Path

import jsonschema
import pytest

from aerolib.show.finding import Heading
from aerolib.show.render import body_html
from aerolib.show.sections.predicted import finding
from aerolib.study import open_study

ROOT = Path(__file__).resolve().parents[2]
SCHEMA = json.loads((ROOT / "tests" / "schema" / "estimates" / "predicted.json").read_text())
AIRCRAFT = (ROOT / "data" / "demo" / "aircraft.toml").read_text()
STALLS = (ROOT / "data" / "demo" / "stalls.csv").read_text()


@pytest.fixture
def case_without(write_case):
    """The demonstration without the lines that start so."""

    def made(*starts):
        text = "\n".join(x for x in AIRCRAFT.splitlines() if not x.startswith(starts))
        return open_study(write_case(text, STALLS, "-".join(s.split()[0] for s in starts)))

    return made


def test_every_configuration_once():
    case = open_study(ROOT / "data" / "demo")
    found = finding(case)
    items = found.data["predicted"]
    jsonschema.validate(items, SCHEMA)
    names = [c.name for c in case.aircraft.configuration]
    for kind in ("wing", "trimmed"):
        mine = [i for i in items if i["kind"] == kind and i.get("quantity") == "CLmax"]
        assert [i["configuration"] for i in mine] == names
    wing, trimmed = ({i["configuration"]: i for i in items if i["kind"] == k and i.get("quantity") == "CLmax"}
                     for k in ("wing", "trimmed"))  # fmt: skip
    for name in names:
        loss = trimmed[name]["trim_loss"]  # by the tail's balance: without its geometry it would be 4 % of 0 to 8
        assert 0.0 < loss < 0.12 and loss != 0.04
        assert trimmed[name]["value"] == pytest.approx((1 - loss) * wing[name]["value"], rel=1e-4)
        low, high = trimmed[name]["interval95"]
        assert low < trimmed[name]["value"] < high
        assert wing[name]["first_touch"] < wing[name]["value"] < wing[name]["all_at_limit"]
    assert json.loads(json.dumps(items)) == items
    assert found.cautions and [p.words for p in found.parts if isinstance(p, Heading)][: len(names)] == names
    assert len(found.answer) == len(names)


@pytest.mark.parametrize("start, words", [
    ("span =", "[wing] span is missing"), ("chord_tip", "chord_tip is missing"), ("section =", "section"),
])  # fmt: skip
def test_too_little_is_null_and_says_what_to_measure(case_without, start, words):
    found = finding(case_without(start))
    assert found.data == {"predicted": None}
    assert "Not predicted" in body_html(found) and words in body_html(found) and found.answer == ()


def test_a_flap_half_described_leaves_the_clean_wing(case_without):
    found = finding(case_without("flap_kind", "flap_chord"))
    items = found.data["predicted"]
    jsonschema.validate(items, SCHEMA)
    assert [i["configuration"] for i in items if i["kind"] == "trimmed" and i.get("quantity") == "CLmax"] == ["clean"]
    assert "flap_kind" in body_html(found)


def test_an_unknown_section_offers_the_nearest(write_case):
    text = AIRCRAFT.replace('section = "NACA 4412"', 'section = "NACX 44 12 B"')
    found = finding(open_study(write_case(text, STALLS, "unknown")))
    assert found.data["predicted"] is None and "NACX 44 12 B" in body_html(found)
