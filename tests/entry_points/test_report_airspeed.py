"""The airspeed system in the report: its JSON per configuration, and one sentence where no legs were flown."""

import csv
import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from aerolib.show.sections.airspeed import finding
from aerolib.study import open_study

SCHEMA = json.loads((Path(__file__).parents[1] / "schema" / "estimates" / "airspeed.json").read_text())


def of(folder):
    case = open_study(folder)
    found = finding(case)
    jsonschema.validate(json.loads(json.dumps(found.data["airspeed"])), SCHEMA)
    return found


def test_every_state_by_its_configuration(case_folder):
    rows = list(csv.DictReader((case_folder / "stalls.csv").read_text().splitlines()))
    items = {(s["modification"], s["configuration"]): s for s in of(case_folder).data["airspeed"]}
    assert set(items) == {(m, c) for m in ("before", "after") for c in ("clean", "flap 20", "flap 38")}
    for (m, c), item in items.items():
        low, high = item["interval95_kt"]
        half = 1.95996 * item["standard_uncertainty_kt"]  # of a normal distribution, from a table
        assert (low, high) == pytest.approx((item["correction_at_stall_kt"] - half, low + 2 * half), abs=1e-3)
        assert item["origin"] == "legs" and item["runs"] == 3
        ends = ("stop",) if (m, c) == ("after", "flap 38") else ("break",)
        mine = [r for r in rows if (r["modification"], r["configuration"], r["power"]) == (m, c, "idle")]
        mine = [r for r in mine if r["ended"] in ends and not r["left_out"]]
        stalls = [float(r["ias [kt]"].strip("<")) for r in mine]
        assert item["indicated_at_stall_kt"] == pytest.approx(np.median(stalls), abs=0.6)
        # lift coefficients go as the calibrated speed squared; the weights differ by some percent, n is 0.95
        assert 1.0 < item["extension"] < 1.5


def test_no_legs_is_null_and_says_what_to_do(case_folder):
    (case_folder / "airspeed_legs.csv").unlink()
    found = of(case_folder)
    assert found.data == {"airspeed": None} and "Workbook 04" in found.parts[0] and "legs" in found.parts[0]


def test_an_uncalibrated_after_says_so(case_folder):
    """Without legs and table of its own it borrows, is wider, and the reader of the stalls is told."""
    file = case_folder / "airspeed_legs.csv"
    full = {(s["modification"], s["configuration"]): s for s in of(case_folder).data["airspeed"]}
    file.write_text("\n".join(r for r in file.read_text().splitlines() if not r.startswith("after")) + "\n")
    toml = case_folder / "aircraft.toml"
    text = toml.read_text()
    start, end = text.index("[[indicator.position]]"), text.index("[[configuration]]")
    toml.write_text(text[:start] + text[end:])
    borrowed = {(s["modification"], s["configuration"]): s for s in of(case_folder).data["airspeed"]}
    after = [k for k in borrowed if k[0] == "after"]
    lent = [k for k in after if borrowed[k]["origin"] == "legs of another state"]
    told = open_study(case_folder).reduction.notes
    assert lent and len(after) == 3
    for key in after:
        assert borrowed[key]["origin"] != "legs"
        assert any("no legs in this state" in n for n in borrowed[key]["notes"])
        assert any(f"airspeed, after, {borrowed[key]['flap']}: no legs in this state" in n for n in told)
    for key in lent:
        assert borrowed[key]["standard_uncertainty_kt"] > 1.3 * full[key]["standard_uncertainty_kt"]
