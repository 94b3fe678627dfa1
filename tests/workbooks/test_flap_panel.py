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
from aerolib.predicted.flap import KINDS
from aerolib.show.figures.flap import lift_curve
from aerolib.show.panels.flaps import FlapPanel
from aerolib.show.render import body_html
from aerolib.show.sections import predicted
from aerolib.show.sections.reconciled import finding
from aerolib.study import open_study
from aerolib.study.flaps import GAIN, measured_gains

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
    return FlapPanel(case)


def shown(panel, name):
    return float(re.search(rf'class="flap-{name}">([^<]*)<', panel.by_hand.value)[1])


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
    assert 0.5 * found < shown(panel, "trimmed") < 2 * found


def test_the_flap_as_it_stands_is_that_of_report_and_data(panel, case):
    """One value: panel, picture, page and data; the wing with the flap down less the wing with the flap up."""
    items = {i["configuration"]: i for i in predicted.finding(case).data["predicted"] if i.get("quantity") == GAIN}
    of_wing = {n: w.trimmed.value for n, w in case.wings[0].items()}
    for name, degrees in (("flap 20", 20), ("flap 38", 38)):
        panel.deflection.value = degrees
        assert shown(panel, "trimmed") == pytest.approx(items[name]["value"], abs=0.006)
        assert items[name]["value"] == pytest.approx(of_wing[name] - of_wing["clean"], rel=1e-5)
        assert [shown(panel, k) for k in ("low", "high")] == pytest.approx(items[name]["interval95"], abs=0.006)
        assert f"{items[name]['value']:.2f}" in panel.picture.image.alt
        assert items[name]["method"] == predicted.WHOLE_WING
    assert case.airframe.flaps[1][1].lift.mean() == pytest.approx(
        case.flap_gains[0][case.airframe.flaps[1][1].name].increment.lift, rel=0.02
    )


def test_its_interval_is_not_made_of_two_intervals(case):
    """What both wings share cancels: the range is far from that of two separate ones, and not below the flap's own."""
    for name, gain in case.flap_gains[0].items():
        both = [case.wings[0][n].trimmed.standard_uncertainty for n in (name, "clean")]
        assert gain.clmax.standard_uncertainty < 0.5 * math.hypot(*both)
        assert {"method of the flap's clmax", "method of the flap's lift"} <= {b.name for b in gain.clmax.budget()}


def test_by_the_area_only_where_the_wing_cannot_be_predicted(tmp_path):
    """A flap that shifts the zero-lift angle by more than the lifting line takes (25 degrees)."""
    shifted = changed(
        tmp_path, ('flap = "38 deg"', 'flap = "60 deg"'), ('flap_chord = "0.29 m"', 'flap_chord = "0.6 m"'),
        ('flap_kind = "slotted"', 'flap_kind = "double slotted"'),
    )  # fmt: skip
    found, problems = shifted.flap_gains
    assert not found["flap 38"].whole_wing and "flap 38" not in shifted.wings[0] and problems == {}
    item = next(i for i in predicted.finding(shifted).data["predicted"]
                if i["configuration"] == "flap 38" and i.get("quantity") == GAIN)  # fmt: skip
    assert item["method"] == predicted.BY_AREA
    assert "by the area the flap stands on" in body_html(predicted.finding(shifted))


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
    if kind == "Fowler":
        assert "what it adds to the chord" in panel.error.value
        panel.extension.value = 0.08
    assert panel.error.value == "" and f"{kind} flap" in panel.by_hand.value
    assert "Placards" in panel.result.value


def test_without_a_case():
    panel = FlapPanel()
    assert panel.error.value == "" and "invented" in panel.origin and panel.points == ()
    assert shown(panel, "short") == pytest.approx(0.92 * 1.3 * shown(panel, "area"), abs=0.006)


def test_lift_curve_of_the_picture():
    alpha, lift = lift_curve(-4 * DEG, 4.8, 1.5)
    assert lift.max() == pytest.approx(1.5, abs=1e-3)
    assert lift[0] == 0.0 and alpha[0] == -4 * DEG
    assert (np.diff(lift)[:12] > 0).all() and lift[-1] < 1.5
    assert np.gradient(lift, alpha)[:10] == pytest.approx(4.8)


def test_settings_are_those_of_the_file(case):
    settings = case.flap_settings
    assert settings.kind == "slotted" and settings.chord_ratio == pytest.approx(0.29 / 1.26, rel=0.01)
    assert settings.span.parts == ((0.55, 2.35),) and settings.thickness == pytest.approx(0.12, abs=0.001)
    assert settings.tail_arm == pytest.approx(3.95 / 1.24)


def test_the_demonstrations_gain_lies_in_the_range(case):
    """The invented airplane's flap, by its own truth; a consistency check, not an outside one."""
    truth = {(t["modification"], t["configuration"]): t["clmax"] for t in TRUTH["clmax"]}
    found, problems = case.flap_gains
    assert set(found) == {"flap 20", "flap 38"} and problems == {}
    for name, one in found.items():
        low, high = one.clmax.interval95
        assert low < truth["before", name] - truth["before", "clean"] < high


def test_measured_gain_is_the_difference_of_two_results(case, result):
    gains = {(m, c): e for m, c, _, e in measured_gains(case)}
    by = {(i.modification, i.configuration): i.clmax for i in result.items if i.power == "idle" and i.clmax}
    for (m, c), e in gains.items():
        assert e.value == pytest.approx(by[m, c].value - by[m, "clean"].value)
        apart = math.hypot(by[m, c].standard_uncertainty, by[m, "clean"].standard_uncertainty)
        assert e.standard_uncertainty < apart  # what both share cancels


def test_reconciled_section_and_json(case):
    found = finding(case)
    schema = json.loads((ROOT / "tests" / "schema" / "estimates" / "reconciled.json").read_text())
    jsonschema.validate(found.data["reconciled"], schema)
    pairs, problems = case.reconciled
    assert problems == [] and len(pairs) == len(found.data["reconciled"]) == 6
    for item in found.data["reconciled"]:
        assert item["ratio"] == pytest.approx(item["measured"] / item["predicted"], rel=1e-4)
        assert item["interval95"][0] < item["ratio"] < item["interval95"][1]
        assert item["words"] in body_html(found).replace("&#x27;", "'")
    assert {i["modification"] for i in found.data["reconciled"] if i["quantity"] == "CLmax"} == {"before"}


def test_no_flap_and_no_measures_are_said(tmp_path):
    none = changed(tmp_path, ('flap_kind = "slotted"', 'flap_kind = "none"'))
    assert none.flap_settings is None and none.flap_gains == ({}, {})
    assert "has no flap" in FlapPanel(none).origin


def test_missing_measures_are_named(tmp_path):
    lacking = changed(tmp_path, ('flap_chord = "0.29 m"\n', ""))
    with pytest.raises(CaseError, match="flap_chord is missing"):
        _ = lacking.flap_settings
    found, problems = lacking.flap_gains
    assert found == {} and all("flap_chord is missing" in p[0] for p in problems.values())
    assert "flap_chord is missing" in FlapPanel(lacking).origin
    told = finding(lacking)
    assert all(i["quantity"] == "CLmax" for i in told.data["reconciled"]) and "flap_chord" in body_html(told)


def test_a_fowler_flap_needs_what_it_adds_to_the_chord(tmp_path):
    """Refused in the case with the place, and by the estimate; with the measure it is predicted."""
    kind = ('flap_kind = "slotted"', 'flap_kind = "Fowler"')
    lacking = changed(tmp_path, kind)
    with pytest.raises(CaseError, match=r"\[wing\] flap_chord_extension is missing"):
        _ = lacking.flap_settings
    assert "flap_chord_extension" in body_html(predicted.finding(lacking))
    (tmp_path / "more").mkdir()
    given = changed(tmp_path / "more", kind, ("aileron_inner", 'flap_chord_extension = "0.1 m"\naileron_inner'))
    assert given.flap_gains[0]["flap 20"].clmax.value > 0.0


def test_cut_outs_extension_and_gap_are_read(tmp_path):
    more = 'flap_cutouts = [["1.0 m", "1.2 m"]]\nflap_chord_extension = "0.05 m"\naileron_inner'
    settings = changed(tmp_path, ("aileron_inner", more)).flap_settings
    assert settings.span.parts == ((0.55, 1.0), (1.2, 2.35)) and settings.extension == pytest.approx(
        0.05 / 1.26, rel=0.01
    )


def test_deflection_beyond_the_method_is_said(tmp_path):
    far = changed(tmp_path, ('name = "flap 38"\nflap = "38 deg"', 'name = "flap 38"\nflap = "58 deg"'))
    found, problems = far.flap_gains
    assert list(found) == ["flap 20"] and "58 deg is beyond the method for a slotted flap" in problems["flap 38"][0]
