"""Devices in the report: the JSON is the estimate, the tuft plan reads back, a case that knows little gets a word."""

import io
import json
import math
import tomllib
from pathlib import Path

import pdfplumber
import pytest

from aerolib.__main__ import main
from aerolib.show.comparing import comparison_data
from aerolib.show.print.tuft_plan import CHORD_STATIONS, tuft_plan, tuft_stations
from aerolib.show.render import body_html
from aerolib.show.sections.flow_control import KEYS, finding
from aerolib.study import open_study
from aerolib.study.devices import device_of, estimate
from aerolib.study.layout import wing_stations

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"


@pytest.fixture(scope="module")
def case():
    return open_study(DEMO)


@pytest.fixture(scope="module")
def made(case):
    return finding(case)


def test_the_json_is_the_estimate(case, made):
    assert set(made.data) == set(KEYS)
    item = made.data["flow_control"][0]
    one = estimate(device_of(case.aircraft.device[0], case.aircraft), case.clean_wing)
    assert item["delta_clmax"] == pytest.approx(one.gain.value, rel=1e-5)
    assert item["delta_stall_speed_1g_kt"] == pytest.approx(one.speed.value * 3600 / 1852, rel=1e-5)
    assert item["interval95"][0] <= 0.0 <= item["interval95"][1] and 0.0 < item["probability_one_knot"] < 1.0
    assert item["contest"]["decided"] is False and item["model"] == item["contest"]["model"]
    json.dumps(made.data, allow_nan=False)


def test_the_posterior_by_hand(made):
    found = made.data["posterior"][0]
    p, m, best = (found[k] for k in ("prior", "measured", "posterior"))
    weights = [x["standard_uncertainty"] ** -2 for x in (p, m)]
    assert best["value"] == pytest.approx((weights[0] * p["value"] + weights[1] * m["value"]) / sum(weights), rel=1e-4)
    assert best["standard_uncertainty"] == pytest.approx(sum(weights) ** -0.5, rel=1e-4)


def test_the_page_shows_what_it_must(made):
    for words in ("Worth buying?", "undecided", "Published tests favor devices that worked", "CG at its forward limit",
                  "Airspeed calibration", "The verdict of the comparison does not use the prediction"):  # fmt: skip
        assert words in body_html(made), words
    page = body_html(made)
    assert page.count("<img") == 3 and "alt=''" not in page
    assert " safe " not in page and "safer" not in page


def test_the_verdict_does_not_use_the_prediction(case):
    """The comparison of a case with another device is the same to the last digit."""
    before = comparison_data(case.comparison)
    assert comparison_data(case.changed(device=()).comparison) == before


def test_tuft_plan_is_the_wing(case, made):
    toml = tomllib.loads((DEMO / "aircraft.toml").read_text(encoding="utf-8"))
    half = 0.5 * float(toml["wing"]["span"].split()[0])
    with pdfplumber.open(io.BytesIO(made.files["tuft-plan.pdf"])) as pdf:
        assert len(pdf.pages) == 1
        text = pdf.pages[0].extract_text()
        assert math.isclose(float(pdf.pages[0].width), 595.3, abs_tol=1.0)
    stations = wing_stations(case.aircraft)[0]
    for y, chord, backs in tuft_stations(stations):
        assert 0.0 < y < half and f"{y:.2f} {chord:.2f}" in text
        assert f"{1000 * backs[0]:.0f}" in text and backs == pytest.approx([x * chord for x in CHORD_STATIONS])
    for words in ("Camera", "tufts.csv", "Tail underside", "Flap", "No spin"):
        assert words in text
    again = tuft_plan(stations, case.name, case.aircraft.tail.span)
    assert again == made.files["tuft-plan.pdf"]  # the same bytes each time


def test_estimate_and_layout_say_the_same(case):
    """The boundary layer at the vanes, the distance to separation and the mass: one value in both workbooks."""
    one, left = case.devices[0][0], case.layouts[0]
    here = {g.quantity: g.value for g in left.guidance}
    height = here["height over boundary-layer thickness at the stall"]
    assert height == f"{one.explained.height_ratio:.2f} ({1e3 * one.explained.thickness:.1f} mm thick)"
    assert here["distance ahead of separation"] == f"{one.explained.ahead:.0f} heights"
    assert one.mass == case.fitted["after"].mass and one.weighed
    # By hand: 40 and 39 positions of 4.2 g.
    assert one.mass == pytest.approx(79 * 0.0042)


def test_tufts_and_marks_stand_on_the_same_chords(case):
    """As measured, not scaled to the area: 1.26 m from the root to the middle of the half span."""
    stations = wing_stations(case.aircraft)[0]
    assert all(chord == pytest.approx(1.26) for y, chord, _ in tuft_stations(stations) if y <= 2.15)
    assert all(p.chord == pytest.approx(1.26) for p in case.layouts[0].positions if p.span <= 2.15)


def test_the_demonstrations_tufts_are_its_generators(case):
    import importlib.util

    spec = importlib.util.spec_from_file_location("make_tufts", DEMO / "make_tufts.py")
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    assert (DEMO / "tufts.csv").read_text(encoding="utf-8") == "\n".join(made.rows()) + "\n"
    assert "aerolib" not in {m.split(".")[0] for m in vars(made)}
    seen = case.case.optional("tufts.csv").first_stall("before", "clean")
    assert seen == pytest.approx((0.75, 0.62))


def test_a_case_without_devices_gets_the_plan_and_a_word(case_folder):
    path = case_folder / "aircraft.toml"
    text = path.read_text(encoding="utf-8")
    for table in ("[[modification.fitted]]", "[[device]]"):
        while table in text:
            start = text.index(table)
            ends = [text.find("\n[", start + 1), len(text)]
            text = text[:start] + text[min(e for e in ends if e > 0) + 1 :]
    path.write_text(text, encoding="utf-8")
    case = open_study(case_folder)
    made = finding(case)
    assert made.data == {"flow_control": None, "posterior": None} and "No [[device]]" in body_html(made)
    assert list(made.files) == ["tuft-plan.pdf"]


def test_a_case_without_a_wing_gets_what_to_measure(write_case, tmp_path, capsys):
    from cards import AIRCRAFT, STALLS

    folder = write_case(AIRCRAFT, STALLS)
    case = open_study(folder)
    made = finding(case)
    assert (
        made.data == {"flow_control": None, "posterior": None}
        and "span is missing" in body_html(made)
        and not made.files
    )
    assert main(["report", str(folder), "--out", str(tmp_path / "r"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["flow_control"] is None
