"""The load factor at the stall: what holds for every row of the table, for a recorded one, and for every ending."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from aerolib.case.folder import Case, parse_aircraft
from aerolib.case.stalls import parse_stalls
from aerolib.measured.recording.channels import EVENTS, Corrections, Recording, channel
from aerolib.measured.recording.stalls import find_stalls
from aerolib.measured.stalls import ENDINGS, STALLED, ErrorSizes, loadfactor, reduce_stalls
from aerolib.show.print.card_parts import LEGEND
from aerolib.study import Study
from aerolib.study.stalls import warnings_of
from tests.cards import AIRCRAFT, FIRST, HEADER

ROOT = Path(__file__).resolve().parents[2]
KT = 1852 / 3600
CARD = {"ias": [22.0, 22.1, 21.9], "wing_area": 12.0, "weight": 500.0, "reference_weight": 500.0, "flight": list("112"),
        "pressure_altitude": 1000.0, "errors": ErrorSizes(position=0.1, reading_flight=0.1)}  # fmt: skip


def reduced(**more):
    return reduce_stalls(**{**CARD, **more}).items[0]


def relative(item):
    low, high = item.clmax.interval95
    return math.log(high / low)


def spread(name, rate):
    """All that the table's row does not know of n at a rate [kt/s], and n."""
    kind, ended = ("minimum", name) if name in ("mush", "stop") else (name, "break")
    nan = np.array([np.nan])
    f = loadfactor.load_factors(np.array([kind]), np.array([ended]), np.array([rate * KT]), nan, nan, np.array([22.0]))
    return math.sqrt(sum(float(x[0]) ** 2 for x in (f.character, f.shared, f.unnoted, f.alone))), float(f.n[0])


@pytest.mark.parametrize("name", ["minimum", "mush", "stop", "break", "unknown"])
def test_beyond_its_last_node_the_table_is_never_surer_than_there(name):
    last = loadfactor.TABLE[name][-1][0]
    at_last, n = spread(name, last)
    assert at_last > 0.01
    for rate in np.linspace(last, 9.0, 20):
        wider, beyond = spread(name, rate)
        assert wider >= at_last * (1 - 1e-12) and 0.3 < beyond <= n * (1 + 1e-12), rate


def test_a_fast_entry_is_no_surer_and_is_told():
    last = loadfactor.TABLE["minimum"][-1][0]
    at, above = (reduced(entry_rate=rate * KT) for rate in (last - 0.01, last + 1.5))
    assert relative(above) > relative(at)
    assert above.clmax.value < at.clmax.value
    assert any(f"faster than {last:g} kt/s" in n for n in above.notes)
    assert not any(f"faster than {last:g} kt/s" in n for n in at.notes)


def test_a_mush_measures_clmax_and_less_surely_than_a_break():
    broke, mushed = (reduced(ended=e, entry_rate=1.0 * KT) for e in STALLED)
    assert mushed.clmax is not None and mushed.limit == "wing" and (mushed.breaks, mushed.bounds) == (3, 0)
    (of_mush, n_mush), (of_break, n_break) = spread("mush", 1.0), spread("minimum", 1.0)
    assert of_mush / n_mush > of_break / n_break and broke.limit == "wing"
    assert [s.ended for s in mushed.speeds_seen] == ["mush"]
    assert any("mush" in n for n in mushed.notes)
    both = reduced(ended=["break", "mush", "break"], entry_rate=1.0 * KT)
    assert both.breaks == 3
    assert {s.ended: s.stalls for s in both.speeds_seen} == {"break": 2, "mush": 1}


def test_states_that_end_alike_share_the_character_of_the_stall():
    """An airplane stalls as it stalls before and after; where the endings differ, nothing of the table cancels."""

    def shared(first, second):
        states, ended = ["before"] * 2 + ["after"] * 2, [first] * 2 + [second] * 2
        card = {**CARD, "ias": [22.0] * 4, "flight": list("1212"), "modification": states, "ended": ended}
        items = reduce_stalls(**card, entry_rate=KT).items
        a, b = ({s for s in i.clmax.parts if s.name == "load factor, shared" and "character" in s.label} for i in items)
        return a & b

    assert shared("break", "break") and not shared("break", "mush")


def read(**cells):
    """The small case with one row, and these columns beside those it has."""
    row = dict(zip(HEADER.split(","), FIRST.split(",")), **cells)
    aircraft = parse_aircraft(AIRCRAFT.replace("[indicator]", '[indicator]\nload_factor_axis = "flight path"').encode())
    table = parse_stalls(f"{','.join(row)}\n{','.join(row.values())}\n".encode(), aircraft)
    return Study(Case(Path("."), aircraft, table, {}))


def test_a_meter_read_at_the_lowest_speed_is_kept_and_not_used():
    plain = read().reduction.items[0].clmax
    for where in ("", "lowest speed"):
        case = read(load_factor="0.85", load_factor_at=where)
        assert case.reduction.items[0].clmax.value == plain.value
        assert case.stalls.si["load_factor"] == [0.85]  # it stays in the file
        assert any("row 2" in w and "load factor is not used" in w for w in warnings_of(case))
    old = read(load_factor="0.85")  # a file without the new column
    assert old.reduction.items[0].clmax.value == plain.value


def test_a_load_factor_of_highest_lift_or_of_a_held_speed_is_used():
    lower, higher = (
        read(load_factor=n, load_factor_at="highest lift").reduction.items[0].clmax for n in ("0.9", "0.99")
    )
    assert higher.value / lower.value == pytest.approx(1.1, rel=1e-9)
    case = read(load_factor="0.98", speed_kind="steady")
    assert case.reduction.points.load_factor_origin.tolist() == ["recorded"]
    assert not any("load factor is not used" in w for w in warnings_of(case))


# --- a recording with a stall that is known exactly --------------------------------------------------

LOW = 20.0  # m/s


def flown(early=0.5, late=1.0, drop=0.3):
    """Speed falls by `early` kt/s to 1.15 times the lowest, then by `late`; n dies away before the lowest speed."""
    t = np.arange(0.0, 60.0, 0.1)
    last = 0.15 * LOW / (late * KT)
    to_low = 35.0 - t  # s
    speed = np.where(to_low > last, 1.15 * LOW + early * KT * (to_low - last), LOW + late * KT * to_low)
    speed = np.where(to_low < 0, LOW + 1.5 * np.minimum(-to_low, 6.0), speed)
    n = 0.98 - 0.08 * np.clip(1 - to_low / 2.5, 0.0, 1.0) ** 2 - drop * np.exp(-((to_low + 1.0) ** 2) / 0.3)
    height = 1000.0 - 12.0 * np.clip(-to_low, 0.0, 6.0)
    record = Recording("flown", {"ias": channel(t, speed), "normal_g": channel(t, n), "altitude": channel(t, height)})
    before = to_low >= 0
    return record, float(LOW**2 * np.max((n / speed**2)[before])), float(n[np.argmin(np.abs(to_low))])


def test_the_recorded_load_factor_is_that_of_highest_lift():
    record, peak, at_lowest = flown()
    found = find_stalls(record, Corrections(pitot_lag=0.0)).stalls[0]
    assert peak > at_lowest + 0.01
    assert found.load_factor * (LOW / found.ias) ** 2 == pytest.approx(peak, abs=0.01)


@pytest.mark.parametrize("late", [0.8, 1.5])
def test_the_entry_rate_is_that_of_the_last_tenth_of_the_speed_as_indicated(late):
    """Whatever went before, and whatever the needle's correction makes of it."""
    record, *_ = flown(early=0.3, late=late)
    for to_cas in (None, lambda v: 2.0 * v - 15.0):
        found = find_stalls(record, Corrections(pitot_lag=0.0), to_cas).stalls[0]
        assert found.entry_rate / KT == pytest.approx(late, rel=0.1)


def test_what_only_sank_is_proposed_as_a_mush():
    record, *_ = flown(drop=0.0)
    found = find_stalls(record, Corrections(pitot_lag=0.0)).stalls[0]
    assert (found.signs, found.ended) == (("sank",), "mush")
    blind = Recording("flown", {k: v for k, v in record.channels.items() if k != "normal_g"})
    assert find_stalls(blind, Corrections(pitot_lag=0.0)).stalls[0].ended == "break"  # nobody can tell


def test_every_ending_is_known_where_endings_are_told():
    schema = json.loads((ROOT / "tests" / "schema" / "report.schema.json").read_text())
    assert json.dumps(schema).count('"mush"') == json.dumps(schema).count('"early"')
    legend, workbook = dict(LEGEND)["ended"], (ROOT / "workbooks" / "01-clmax-from-stalls.ipynb").read_text()
    for word in ENDINGS:
        assert word in legend and f"`{word}`" in workbook
    assert set(STALLED) <= set(EVENTS)


TELL_THE_RATE = (
    "workbooks/01-clmax-from-stalls.ipynb", "workbooks/05-stalls-from-a-recording.ipynb", "README.md",
    "aerolib/case/template_README.md", "aerolib/show/print/card_parts.py",
)  # fmt: skip


@pytest.mark.parametrize("name", TELL_THE_RATE)
def test_entry_rate_has_one_definition(name):
    text = (ROOT / name).read_text()
    assert "last 10 % of speed" in text and "last ten knots" not in text
