"""The workbooks in real JupyterLab: a number by the hand formula, before and after an edit; pictures that change."""

import csv
import math
import re
import tomllib
from pathlib import Path

import pytest
from waiting import PATIENCE_MS

from aerolib.teach.virtual import read_histories

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::DeprecationWarning")]
KT = 1852 / 3600
TOML = tomllib.loads((DEMO / "aircraft.toml").read_text())
ROWS = list(csv.DictReader((DEMO / "stalls.csv").read_text().splitlines()))
COLUMNS = list(ROWS[0])


def number(text: str) -> float:
    return float(text.split()[0])


AREA = number(TOML["wing"]["area"])


def disconnected(workbook) -> int:
    return workbook.page.locator(".aerolib-panel.jupyter-widgets-disconnected").count()


def restart(workbook) -> None:
    """Restart the kernel without the question, and wait until it is back."""
    workbook.page.evaluate("() => window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.restart()")
    workbook.page.wait_for_function(
        "() => window.jupyterapp.shell.currentWidget.sessionContext.session?.kernel?.status === 'idle'",
        timeout=PATIENCE_MS,
    )


def test_start_angles_and_restart(open_workbook):
    workbook = open_workbook("00-start.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    result = page.locator(".angles-result")
    speed = 55.0

    def expected(path):
        return 620 * 9.80665 * math.cos(math.radians(path)) / (0.5 * 1.225 * (speed * KT) ** 2 * AREA)

    result.locator(".cl").filter(has_text=f"{expected(-6.0):.3f}").wait_for()
    assert result.locator(".alpha").inner_text() == "15.0 deg"
    old = workbook.picture("angles")
    speed = 62.0
    for label, value in (("Calibrated airspeed [kt]", "62"), ("Pitch attitude [deg]", "4")):
        box = page.locator(".widget-slider", has_text=label).locator(".widget-readout")
        box.click()
        page.keyboard.press("Control+A")
        page.keyboard.type(value)
        page.keyboard.press("Enter")
    result.locator(".alpha").filter(has_text="10.0").wait_for()
    result.locator(".cl").filter(has_text=f"{expected(-6.0):.3f}").wait_for()
    workbook.wait_for_new_picture("angles", old)
    assert disconnected(workbook) == 0
    panels = page.locator(".aerolib-panel").count()
    restart(workbook)
    page.locator(".aerolib-panel.jupyter-widgets-disconnected").nth(panels - 1).wait_for()
    assert disconnected(workbook) == panels == 2
    mark = page.locator(".aerolib-panel").first.evaluate("e => getComputedStyle(e, '::before').content")
    assert "Run > Run All Cells" in mark


def cell_of(workbook, column: str, row: int):
    """Pixel of a cell in the table: column by its header, row by its place from the top."""
    widths = [max(76, 8 * len(c) + 28) for c in COLUMNS]
    box = workbook.page.locator(".stalls-grid canvas").first.bounding_box()
    k = COLUMNS.index(column)
    return box["x"] + 64 + sum(widths[:k]) + widths[k] / 2, box["y"] + 20 + 22 * row + 11


def by_hand(needle: float):
    """Calibrated speed [kt] and CL with n = 1 of the first row at this reading, by the hand formula.

    The needle is 0.3 s late; at the lowest reading, where the speed is turning, 0.15 of that counts.
    """
    row = ROWS[0]
    points = [[number(x) for x in p] for p in TOML["indicator"]["position"][0]["points"]]
    reading = needle - 0.15 * 0.3 * float(row["entry_rate [kt/s]"])
    (a, ca), (b, cb) = next((p, q) for p, q in zip(points, points[1:]) if p[0] <= reading <= q[0])
    knots = ca + (cb - ca) * (reading - a) / (b - a)
    weight = (number(TOML["weights"]["empty"]) + float(row["crew [lb]"])) * 0.45359237 + float(row["fuel [l]"]) * 0.72
    return knots, weight * 9.80665 / (0.5 * 1.225 * (knots * KT) ** 2 * AREA)


def type_into(workbook, column, row, text):
    page = workbook.page
    page.locator(".stalls-grid").first.scroll_into_view_if_needed()
    page.mouse.dblclick(*cell_of(workbook, column, row))
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def test_card_edit_bad_value_and_restart(open_workbook, demo_without_legs):
    workbook = open_workbook("01-clmax-from-stalls.ipynb", demo_without_legs)
    page = workbook.page
    assert workbook.errors() == []
    page.locator(".stalls-result table").wait_for()
    derivation = page.locator(".stalls-derivation")
    needle = int(ROWS[0]["ias [kt]"])

    def shown():
        """Calibrated speed [kt] and CL with n = 1 of the first row, as the page has them."""
        text = derivation.inner_text()
        return [float(re.search(p, text)[1]) for p in (r"calibrated ([\d.]+\d) kt", r"n = 1 it would read ([\d.]+\d)")]

    knots, cl = by_hand(needle)
    assert shown() == [pytest.approx(knots, abs=0.006), pytest.approx(cl, abs=0.0006)]
    stalls, budget = workbook.picture("stalls"), workbook.picture("budget")
    type_into(workbook, "ias [kt]", 0, str(needle + 3))
    page.locator(".stalls-derivation", has_text=f"showed {needle + 3:.1f} kt").wait_for()
    knots_after, cl_after = by_hand(needle + 3)
    assert cl_after < 0.93 * cl
    assert shown() == [pytest.approx(knots_after, abs=0.006), pytest.approx(cl_after, abs=0.0006)]
    workbook.wait_for_new_picture("stalls", stalls)
    workbook.wait_for_new_picture("budget", budget)

    answer = page.locator(".stalls-result").inner_text()
    type_into(workbook, "ias [kt]", 0, "abc")
    error = page.locator(".aerolib-error", has_text="'abc'")
    error.wait_for()
    assert "row 2" in error.inner_text() and "ias [kt]" in error.inner_text()
    assert page.locator(".stalls-result").inner_text() == answer
    page.get_by_role("button", name="Undo").click()
    error.wait_for(state="detached")

    assert disconnected(workbook) == 0
    restart(workbook)
    panels = page.locator(".aerolib-panel").count()
    page.locator(".aerolib-panel.jupyter-widgets-disconnected").nth(panels - 1).wait_for()
    assert disconnected(workbook) == panels == 4
    workbook.run_all()  # the kernel is new: it opens the demonstration itself
    page.wait_for_function("() => !document.querySelector('.aerolib-panel.jupyter-widgets-disconnected')")


def test_virtual_stall(open_workbook):
    """The flight nearest to the rate, and its error with n = 1, from the stored rows by the hand formula."""
    kept = read_histories(DEMO.parent / "simulated" / "histories.npz")
    rows = [
        r
        for r in csv.DictReader((DEMO.parent / "simulated" / "stalls.csv").read_text().splitlines())
        if (r["source"], r["airplane_kind"], r["power"], r["ended"], r["hand_limit"], r["style"])
        == ("own", "ordinary", "off", "break", "lift", "release")
        and 0.995 <= number(r["clmax_forces"]) / number(r["clmax"]) <= 1.03
        and abs(kept[r["id"]]["lift_coefficient"] - number(r["clmax_forces"])).argmin() <= kept[r["id"]]["cas"].argmin()
    ]

    def expected(rate):
        r = min(rows, key=lambda r: abs(number(r["entry_rate_kt_s"]) - rate))
        weight, area, speed, clmax = (number(r[k]) for k in ("weight_N", "wing_area_m2", "cas_minimum_m_s", "clmax"))
        return f"{100 * (weight / (0.5 * 1.225 * speed**2 * area) / clmax - 1):+.1f}"

    workbook = open_workbook("01-clmax-from-stalls.ipynb")
    page = workbook.page
    assert workbook.errors() == []
    percent = page.locator(".lesson-result tr", has_text="lowest speed with n = 1").locator("td").nth(2)
    percent.wait_for()
    assert percent.inner_text() == expected(1.0)
    old = workbook.picture("lesson")
    box = page.locator(".widget-slider", has_text="Entry rate [kt/s]").locator(".widget-readout")
    box.click()
    page.keyboard.press("Control+A")
    page.keyboard.type("2")
    page.keyboard.press("Enter")
    percent.filter(has_text=expected(2.0)).wait_for()
    assert float(expected(2.0)) > 1.5 * float(expected(1.0)) > 10
    new = workbook.wait_for_new_picture("lesson", old)
    page.get_by_label("The pilot").select_option(label="holds the stick back")
    page.locator(".lesson-result", has_text="holds the stick back").wait_for()
    workbook.wait_for_new_picture("lesson", new)
    assert disconnected(workbook) == 0


def test_before_and_after(open_workbook, demo_without_legs):
    workbook = open_workbook("03-before-and-after.ipynb", demo_without_legs)
    page = workbook.page
    assert workbook.errors() == []
    result = page.locator(".change-result")
    result.locator("li").first.wait_for()

    def lowest_speeds(flights):
        """Change of the lowest clean idle speed [kt CAS at the reference weight], by hand from the card."""
        out = {}
        for row in ROWS:
            key = row["modification"]
            if (row["configuration"], row["power"], row["ended"], row["left_out"]) != ("clean", "idle", "break", ""):
                continue
            if row["flight"] not in flights:
                continue
            rate = float(row["entry_rate [kt/s]"] or 1.0)
            points = [[number(x) for x in p] for p in TOML["indicator"]["position"][0]["points"]]
            reading = float(row["ias [kt]"]) - 0.15 * 0.3 * rate
            (a, ca), (b, cb) = next((p, q) for p, q in zip(points, points[1:]) if p[0] <= reading <= q[0])
            weight = (number(TOML["weights"]["empty"]) + float(row["crew [lb]"])) * 0.45359237
            weight += float(row["fuel [l]"]) * 0.72
            out.setdefault(key, []).append((ca + (cb - ca) * (reading - a) / (b - a)) * math.sqrt(620 / weight))
        mean = {k: math.exp(sum(map(math.log, v)) / len(v)) for k, v in out.items()}
        return mean["after"] - mean["before"]

    def shown():
        row = page.locator(".change-detail tr", has_text="clean, idle").inner_text()
        return float(re.search(r"lowest speed, minimum, break: ([+-][\d.]+) kt", row)[1])

    assert shown() == pytest.approx(lowest_speeds({"B1", "B2", "A1", "A2"}), abs=0.051)
    detail = page.locator(".change-detail")
    old, told = workbook.picture("change"), detail.inner_text()
    page.locator(".aerolib-panel select").nth(2).select_option("before, B1")
    page.wait_for_function("t => document.querySelector('.change-detail').innerText !== t", arg=told)
    assert shown() == pytest.approx(lowest_speeds({"B2", "A1", "A2"}), abs=0.051)
    workbook.wait_for_new_picture("change", old)


def test_plan(open_workbook):
    """The half-width by the hand formula, before and after two sliders were typed into; the picture follows."""
    workbook = open_workbook("02-plan-the-test.ipynb")
    page = workbook.page
    assert workbook.errors() == []

    def slider(label):
        return page.locator(".widget-slider", has_text=label).locator(".widget-readout")

    def expected():
        """3 stalls on each of 2 flights, from the two scatters the page shows [kt]."""
        stall, day = (number(slider(f"Scatter between {of}").inner_text()) for of in ("stalls", "days"))
        return 1.96 * math.sqrt(2 * (day**2 + stall**2 / 3) / 2)

    half = page.locator(".plan-by-hand .plan-half")
    half.wait_for()
    before = expected()
    assert number(half.inner_text()) == pytest.approx(before, abs=0.006)
    old = workbook.picture("plan")
    for label, value in (("Scatter between days", "0.2"), ("Change worth seeing", "3")):
        slider(label).click()
        page.keyboard.press("Control+A")
        page.keyboard.type(value)
        page.keyboard.press("Enter")
    page.locator(".plan-result", has_text="a change of 3.00 kt").wait_for()
    assert expected() < 0.8 * before
    half.filter(has_text=f"{expected():.2f}").wait_for()
    workbook.wait_for_new_picture("plan", old)
    assert disconnected(workbook) == 0
