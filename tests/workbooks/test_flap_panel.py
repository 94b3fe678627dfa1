"""The flap panel and the section beside measured values, without a browser."""

import json
import math
import re
import shutil
import tomllib
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from aerolib.case.problems import CaseError
from aerolib.predicted.flap.increment import KINDS
from aerolib.show.flap_figure import lift_curve
from aerolib.show.panels.flaps import flap_panel
from aerolib.show.sections.reconciled import section
from aerolib.study import open_study
from aerolib.study.flaps import flap_html, flap_items, flap_settings, measured_gains, reconciled

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "data" / "demo"
TOML = tomllib.loads((DEMO / "aircraft.toml").read_text())
TRUTH = json.loads((DEMO / "truth.json").read_text())
DEG = math.pi / 180
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture(scope="module")
def case():
    return open_study(DEMO)


@pytest.fixture(scope="module")
def result(case):
    return case.reduction


@pytest.fixture
def panel(case):
    return flap_panel(case)


def shown(panel, name):
    return float(re.search(rf"class='flap-{name}'>([^<]*)<", panel.by_hand.value)[1])


def changed(tmp_path, *edits):
    """The demonstration with other words in `aircraft.toml`."""
    shutil.copytree(DEMO, tmp_path / "case")
    text = (DEMO / "aircraft.toml").read_text()
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new, 1)
    (tmp_path / "case" / "aircraft.toml").write_text(text)
    return open_study(tmp_path / "case")


def test_theory_and_short_form_by_hand(panel):
    for ratio, outer in ((0.2, 2.0), (0.35, 1.5)):
        panel.chord_ratio.value, panel.outer.value = ratio, outer
        theta = math.acos(2 * ratio - 1)
        assert shown(panel, "theory") == pytest.approx(2 * (math.pi - theta + math.sin(theta)), abs=0.0006)
        assert shown(panel, "short") == pytest.approx(0.92 * 1.3 * shown(panel, "area"), abs=0.006)
    panel.inner.value = 0.0
    panel.outer.value = 1.0  # 1 m of a root chord of 1.26 m on each side: the tape says
    area = float(TOML["wing"]["area"].split()[0])
    assert shown(panel, "area") == pytest.approx(2 * 1.26 / area, rel=0.01)
    assert panel.error.value == ""


def test_wing_and_trim_follow_from_the_section(panel):
    found = shown(panel, "section") * 0.92 * shown(panel, "area")
    assert shown(panel, "wing") == pytest.approx(found, abs=0.008)
    assert 0 < shown(panel, "trimmed") < shown(panel, "wing")
    assert 0.5 * found < shown(panel, "line") < 2 * found


def test_picture_is_drawn_only_when_something_changed(panel):
    drawn, old = panel.picture.drawn, panel.picture.image.value
    panel.deflection.value = 25
    assert panel.picture.drawn == drawn + 1 and panel.picture.image.value != old
    panel._update()
    assert panel.picture.drawn == drawn + 1
    assert "25 deg" in panel.picture.image.alt


def test_a_bad_setting_is_said_and_mended(panel):
    drawn = panel.picture.drawn
    panel.outer.value = 3.2
    assert "reaches over the aileron" in panel.error.value and panel.picture.drawn == drawn
    panel.outer.value = 2.3
    assert panel.error.value == ""
    panel.kind.value = "plain"
    panel.deflection.value = 65
    assert "beyond the method for a plain flap" in panel.error.value
    panel.deflection.value = 40
    assert panel.error.value == ""


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind(panel, kind):
    panel.kind.value = kind
    assert panel.error.value == "" and f"{kind} flap" in panel.by_hand.value
    assert "Placards" in panel.result.value


def test_without_a_case():
    panel = flap_panel()
    assert panel.error.value == "" and "invented" in panel.origin.value and panel.points == ()
    assert shown(panel, "short") == pytest.approx(0.92 * 1.3 * shown(panel, "area"), abs=0.006)


def test_lift_curve_of_the_picture():
    alpha, lift = lift_curve(-4 * DEG, 4.8, 1.5)
    assert lift.max() == pytest.approx(1.5, abs=1e-3)
    assert lift[0] == 0.0 and alpha[0] == -4 * DEG
    assert (np.diff(lift)[:12] > 0).all() and lift[-1] < 1.5
    assert np.gradient(lift, alpha)[:10] == pytest.approx(4.8)


def test_settings_are_those_of_the_file(case):
    settings = flap_settings(case)
    assert settings.kind == "slotted" and settings.chord_ratio == pytest.approx(0.29 / 1.26, rel=0.01)
    assert settings.span.parts == ((0.55, 2.35),) and settings.thickness == pytest.approx(0.12, abs=0.001)
    assert settings.tail_arm == pytest.approx(3.95 / 1.24)


def test_the_demonstrations_gain_lies_in_the_range(case):
    """The invented airplane's flap, by its own truth; a consistency check, not an outside one."""
    truth = {(t["modification"], t["configuration"]): t["clmax"] for t in TRUTH["clmax"]}
    items = {i["configuration"]: i for i in flap_items(case)}
    assert set(items) == {"flap 20", "flap 38"}
    for name, item in items.items():
        gain = truth["before", name] - truth["before", "clean"]
        assert item["interval95"][0] < gain < item["interval95"][1]
        assert name in flap_html(case)


def test_measured_gain_is_the_difference_of_two_results(case, result):
    gains = {(m, c): e for m, c, _, e in measured_gains(case)}
    by = {(i.modification, i.configuration): i.clmax for i in result.items if i.power == "idle" and i.clmax}
    for (m, c), e in gains.items():
        assert e.value == pytest.approx(by[m, c].value - by[m, "clean"].value)
        apart = math.hypot(by[m, c].standard_uncertainty, by[m, "clean"].standard_uncertainty)
        assert e.standard_uncertainty < apart  # what both share cancels


def test_reconciled_section_and_json(case, result):
    found = section(case, result, None)
    schema = json.loads((ROOT / "tests" / "schema" / "estimates" / "reconciled.json").read_text())
    jsonschema.validate(found.data["reconciled"], schema)
    pairs, problems = reconciled(case)
    assert problems == [] and len(pairs) == len(found.data["reconciled"]) == 6
    for item in found.data["reconciled"]:
        assert item["ratio"] == pytest.approx(item["measured"] / item["predicted"], rel=1e-4)
        assert item["interval95"][0] < item["ratio"] < item["interval95"][1]
        assert item["words"] in found.html.replace("&#x27;", "'")
    assert {i["modification"] for i in found.data["reconciled"] if i["quantity"] == "CLmax"} == {"before"}


def test_no_flap_and_no_measures_are_said(tmp_path):
    none = changed(tmp_path, ('flap_kind = "slotted"', 'flap_kind = "none"'))
    assert flap_settings(none) is None and flap_items(none) == []
    assert "has no flap" in flap_panel(none).origin.value


def test_missing_measures_are_named(tmp_path):
    lacking = changed(tmp_path, ('flap_chord = "0.29 m"\n', ""))
    with pytest.raises(CaseError, match="flap_chord is missing"):
        flap_settings(lacking)
    assert flap_items(lacking) == [] and "flap_chord is missing" in flap_html(lacking)
    assert "flap_chord is missing" in flap_panel(lacking).origin.value
    data = section(lacking, lacking.reduction, None)
    assert all(i["quantity"] == "CLmax" for i in data.data["reconciled"]) and "flap_chord" in data.html


def test_cut_outs_extension_and_gap_are_read(tmp_path):
    more = 'flap_cutouts = [["1.0 m", "1.2 m"]]\nflap_chord_extension = "0.05 m"\naileron_inner'
    settings = flap_settings(changed(tmp_path, ("aileron_inner", more)))
    assert settings.span.parts == ((0.55, 1.0), (1.2, 2.35)) and settings.extension == pytest.approx(
        0.05 / 1.26, rel=0.01
    )


def test_deflection_beyond_the_method_is_said(tmp_path):
    far = changed(tmp_path, ('name = "flap 38"\nflap = "38 deg"', 'name = "flap 38"\nflap = "58 deg"'))
    assert [i["configuration"] for i in flap_items(far)] == ["flap 20"]
    assert "58 deg is beyond the method for a slotted flap" in flap_html(far)
