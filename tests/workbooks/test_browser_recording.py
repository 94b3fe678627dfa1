"""The workbook of recordings in real JupyterLab: stalls accepted, one rejected; numbers from the CSV alone."""

import csv
import json
from pathlib import Path

import pytest

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
LOG = "sedge-b5-logger.csv"
pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::DeprecationWarning")]


def lowest_reading(of: int) -> float:
    """The lowest airspeed of the file [kt] within 8 s of where the truth has this approach."""
    when = json.loads((DEMO / "logs_truth.json").read_text())[LOG][of - 1]["time_s"]
    rows = csv.DictReader(x for x in (DEMO / "logs" / LOG).read_text().splitlines() if not x.startswith("#"))
    seconds = [(sum(float(p) * f for p, f in zip(r["UTC"].split(":"), (3600, 60, 1))), float(r["AS"])) for r in rows]
    return min(v for t, v in seconds if abs(t - when) < 8.0)


def test_accept_and_reject(open_workbook):
    workbook = open_workbook("05-stalls-from-a-recording.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    count = page.locator(".recording-summary .recording-count")
    count.wait_for()
    assert count.inner_text() == "0"
    verdict = page.locator(".recording-verdict")
    lowest = page.locator(".recording-summary .recording-lowest")
    assert lowest_reading(1) != lowest_reading(6)

    old = workbook.picture("recording")
    verdict.get_by_role("button", name="accepted").click()
    count.filter(has_text="1").wait_for()
    assert float(lowest.inner_text()) == pytest.approx(lowest_reading(1), abs=0.051)
    new = workbook.wait_for_new_picture("recording", old)

    stall = workbook.picture("stall")
    page.get_by_label("Approach").select_option(label="6 at 10:46:23.8")
    workbook.wait_for_new_picture("stall", stall)
    new = workbook.wait_for_new_picture("recording", new)
    verdict.get_by_role("button", name="accepted").click()
    count.filter(has_text="2").wait_for()
    both = min(lowest_reading(1), lowest_reading(6))
    assert float(lowest.inner_text()) == pytest.approx(both, abs=0.051)
    new = workbook.wait_for_new_picture("recording", new)

    verdict.get_by_role("button", name="rejected").click()
    count.filter(has_text="1").wait_for()
    assert float(lowest.inner_text()) == pytest.approx(lowest_reading(1), abs=0.051)
    workbook.wait_for_new_picture("recording", new)

    page.get_by_role("button", name="Add accepted").click()
    page.locator(".aerolib-error", has_text="read-only").wait_for()
