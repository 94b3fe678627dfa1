"""The virtual stall of workbook 01, held to the stored flights by a reading and a formula of this test's own."""

import csv
import importlib.util
import re
import sys
from pathlib import Path

import numpy as np
import pytest

from aerolib.case.problems import CaseError
from aerolib.teach import virtual
from aerolib.teach.lesson import LessonPanel
from aerolib.teach.lesson_picture import late_needle, lesson_picture
from aerolib.teach.virtual import CHANNELS, nearest_stall, read_histories, virtual_stalls

SIMULATED = Path(__file__).resolve().parents[2] / "data" / "simulated"
ROWS = {r["id"]: r for r in csv.DictReader((SIMULATED / "stalls.csv").read_text().splitlines())}
KT = 1852 / 3600
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def panel():
    return LessonPanel()


CELLS = {"clmax": ("true", 1), "one-g": ("lowest speed with n = 1", 1), "percent": ("lowest speed with n = 1", 2),
         "table": ("lowest speed with the table", 1), "remaining": ("lowest speed with the table", 2)}  # fmt: skip
SAID = {"rate": r"entered at ([\d.]+) kt/s", "lowest": r"Lowest speed[^:]*: ([\d.]+) kt"}


def shown(panel, name):
    """A number of the result: in a cell of its table, or in its first sentence."""
    if name in SAID:
        return float(re.search(SAID[name], panel.result.value)[1])
    row, column = CELLS[name]
    cells = next(r for r in re.findall(r"<tr>(.*?)</tr>", panel.result.value) if r.startswith(f"<td>{row}"))
    return float(re.findall(r"<td>(.*?)</td>", cells)[column])


def by_hand(row):
    """CL from the lowest speed with n = 1, and its error in percent."""
    speed = float(row["cas_minimum_m_s"])
    cl = 2 * float(row["weight_N"]) / (1.225 * speed * speed * float(row["wing_area_m2"]))
    return cl, 100 * (cl / float(row["clmax"]) - 1)


@pytest.mark.parametrize("rate", [0.3, 0.5, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("pilot", ["release", "hold"])
def test_numbers_by_the_plain_formula(panel, rate, pilot):
    panel.rate.value, panel.pilot.value = rate, pilot
    assert panel.error.value == ""
    row = ROWS[panel.stall.id]
    cl, percent = by_hand(row)
    assert shown(panel, "one-g") == pytest.approx(cl, abs=0.00051)
    assert shown(panel, "percent") == pytest.approx(percent, abs=0.051)
    assert shown(panel, "rate") == pytest.approx(float(row["entry_rate_kt_s"]), abs=0.0051)
    assert shown(panel, "clmax") == pytest.approx(float(row["clmax"]), abs=0.00051)
    assert shown(panel, "lowest") == pytest.approx(float(row["cas_minimum_m_s"]) / KT, abs=0.051)
    assert f"{percent:.1f} % high" in panel.picture.caption.value
    assert f"{percent:+.1f} percent" in panel.picture.image.alt


def test_the_chosen_flight_is_the_nearest_that_fits(panel):
    kept = read_histories(SIMULATED / "histories.npz")
    for pilot in ("release", "hold"):
        fit = {
            i: float(r["entry_rate_kt_s"])
            for i, r in ROWS.items()
            if (r["source"], r["power"], r["ended"], r["hand_limit"], r["style"])
            == ("own", "off", "break", "lift", pilot)
            and r["airplane_kind"] == "ordinary"
            and np.argmin(np.abs(kept[i]["lift_coefficient"] - float(r["clmax_forces"]))) <= np.argmin(kept[i]["cas"])
            and 0.995 <= float(r["clmax_forces"]) / float(r["clmax"]) <= 1.03
        }
        panel.pilot.value = pilot
        for rate in np.arange(0.3, 3.05, 0.1):
            panel.rate.value = rate
            away = abs(fit[panel.stall.id] - panel.rate.value)
            assert away == pytest.approx(min(abs(x - panel.rate.value) for x in fit.values()), abs=1e-9)
        assert f"Of {len(fit)} virtual flights" in panel.result.value


@pytest.mark.parametrize("pilot", ["release", "hold"])
def test_a_faster_entry_misleads_more(panel, pilot):
    panel.pilot.value = pilot
    rates, errors, remaining = np.linspace(0.3, 3.0, 28).round(1), [], []
    for rate in rates:
        panel.rate.value = rate
        errors.append(shown(panel, "percent"))
        remaining.append(abs(shown(panel, "remaining")))
    slow, middle, fast = (np.mean(part) for part in (errors[:5], errors[7:12], errors[-8:]))
    assert 2 < slow < 0.7 * middle < 0.5 * fast
    assert np.corrcoef(rates, errors)[0, 1] > 0.7
    assert np.mean(remaining) < 0.25 * np.mean(errors)  # what the table is for


def test_the_table_is_applied_as_on_a_card(panel):
    panel.rate.value = 1.0
    rate = float(ROWS[panel.stall.id]["entry_rate_kt_s"])
    with (SIMULATED / "load_factor.csv").open() as file:
        rows = [r for r in csv.DictReader(file) if r["kind"] == "minimum" and r["entry_rate_kt_s"]]
    n = np.interp(rate, *zip(*((float(r["entry_rate_kt_s"]), float(r["load_factor"])) for r in rows)))
    cl, _ = by_hand(ROWS[panel.stall.id])
    assert shown(panel, "table") == pytest.approx(n * cl, abs=0.0015)
    assert shown(panel, "remaining") == pytest.approx(100 * (n * cl / panel.stall.clmax - 1), abs=0.1)


def test_only_another_flight_is_drawn_anew(panel):
    panel.rate.value = 2.5
    drawn, picture = panel.picture.drawn, panel.picture.image.value
    panel.rate.value = 2.6  # the same flight is still the nearest
    assert (panel.picture.drawn, panel.picture.image.value) == (drawn, picture)
    panel.late.value = True
    assert panel.picture.drawn == drawn + 1 and panel.picture.image.value != picture
    panel.late.value = False
    assert panel.picture.image.value == picture


def test_a_late_needle_misses_some_of_the_lowest_speed(panel):
    panel.rate.value = 1.0
    lowest, percent = shown(panel, "lowest"), shown(panel, "percent")
    panel.late.value = True
    assert shown(panel, "lowest") >= lowest and 0 < shown(panel, "percent") < percent
    stall = panel.stall
    ramp = virtual.VirtualStall(
        **{**vars(stall), "history": {"time": np.arange(50) / 10, "cas": 30 - np.arange(50) / 20}}
    )
    assert late_needle(ramp, 0.5) == pytest.approx(ramp.history["cas"] + 0.5 * 0.5)  # a steady loss: lag times rate
    assert late_needle(ramp, 0.0) is ramp.history["cas"]


def test_values_outside_and_bad_ones(panel):
    panel.rate.value = 99
    assert panel.rate.value == 3.0 and panel.error.value == ""
    panel.rate.value = -1
    assert panel.rate.value == 0.3
    before = panel.result.value
    panel.rate.value = float("nan")
    assert "entry rate must be a positive number" in panel.error.value and panel.result.value == before
    panel.rate.value = 1.0
    assert panel.error.value == "" and panel.result.value != before
    for rate in (0.0, -1.0, float("inf"), float("nan")):
        with pytest.raises(CaseError, match="entry rate"):
            nearest_stall("release", rate)
    with pytest.raises(CaseError, match="did you mean 'hold'"):
        nearest_stall("holds", 0.5)


def test_missing_or_broken_flights_are_said(monkeypatch, tmp_path):
    folder = tmp_path / "data" / "simulated"
    folder.mkdir(parents=True)
    monkeypatch.setattr(virtual, "shipped", lambda name: tmp_path / name)
    virtual_stalls.cache_clear()
    try:
        assert "install aerolib again" in LessonPanel().error.value
        (folder / "stalls.csv").write_bytes((SIMULATED / "stalls.csv").read_bytes())
        (folder / "histories.npz").write_bytes((SIMULATED / "histories.npz").read_bytes()[:5000])
        assert "install aerolib again" in LessonPanel().error.value
    finally:
        virtual_stalls.cache_clear()


def test_the_reader_agrees_with_the_generators_own():
    pytest.importorskip("jsbsim")  # which its neighbours import
    sys.path.insert(0, str(SIMULATED))
    try:
        spec = importlib.util.spec_from_file_location("simulated_histories", SIMULATED / "histories.py")
        theirs = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(theirs)
    finally:
        sys.path.remove(str(SIMULATED))
    path = SIMULATED / "histories.npz"
    want, have = theirs.read(path), read_histories(path)
    assert list(have) == list(want) and len(want) == len(ROWS)
    for name, channels in want.items():
        assert set(have[name]) == {"time", *CHANNELS}
        for channel, values in have[name].items():
            assert np.array_equal(values, channels[channel]), (name, channel)


def test_every_flight_tells_the_same_story():
    assert len(virtual_stalls()) > 50
    for stall in virtual_stalls():
        h, row = stall.history, ROWS[stall.id]
        assert h["lift_coefficient"][stall.at_clmax] == pytest.approx(float(row["clmax_forces"]), abs=2e-4)
        assert h["load_factor"][stall.at_clmax] == pytest.approx(float(row["lift_load_factor_at_clmax"]), abs=0.01)
        assert h["cas"][stall.at_lowest] == pytest.approx(float(row["cas_minimum_m_s"]), abs=0.002)
        assert stall.at_clmax <= stall.at_lowest  # the wing gives its most first
        assert h["load_factor"][stall.at_lowest] < 1
        assert stall.at_clmax < stall.hand_forward < len(h["time"]) - 1
        assert stall.at_lowest <= stall.hand_forward or stall.entry_rate > 2 * KT  # as the workbook says
        # Only the push of the recovery may lift the coefficient above CLmax (one pilot eases forward near the peak).
        assert h["lift_coefficient"][: stall.hand_forward].max() <= 1.006 * stall.highest
        assert h["vertical_speed"][-1] < 0  # 'still sinking'


def test_the_picture_has_a_fixed_size_and_words():
    for style in ("release", "hold"):
        picture = lesson_picture(nearest_stall(style, 0.5 * KT))
        assert (picture.width, picture.height) == (820, 520)
        assert picture.png[16:24] == (820).to_bytes(4, "big") + (520).to_bytes(4, "big")
        assert "Simulated" in picture.caption and "hand goes forward" in picture.alternative
