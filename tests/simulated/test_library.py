"""Simulated: the library of stalls can be flown again, and the constants of aerolib are the ones made from it."""

import ast
import csv
import os
from pathlib import Path

import fit
import numpy as np
import pytest
from stalls import HERE as DATA
from stalls import read_rows

from aerolib.measured import loadfactor

FLOWN_AGAIN = 20
HALF_DIGIT = 0.5e-4 * (1 + 1e-9)  # the library prints four decimals
# Where a relative 1e-3 says nothing, because the value may be near zero: columns that end so, and their floors.
FLOORS = {"_m_s": 0.02, "_kt_s": 0.005, "height_lost_entry_m": 0.1, "thrust_sin_alpha_N": 0.2}


@pytest.fixture(scope="module")
def table():
    """load_factor.csv: (kind, rate or None) to (n, between, within)."""
    with (DATA / "load_factor.csv").open(newline="", encoding="utf-8") as file:
        return {
            (row["kind"], float(row["entry_rate_kt_s"]) if row["entry_rate_kt_s"] else None): np.array(
                [float(row[c]) for c in ("load_factor", "between_sd", "within_sd")]
            )
            for row in csv.DictReader(file)
        }


def differences(again, before):
    """Columns in which a stall flown again is not the one on file."""
    out = []
    for name, value in before.items():
        new = again[name]
        if value is None or isinstance(value, str) or new is None:
            same = new == value
        else:
            floor = next((f for end, f in FLOORS.items() if name.endswith(end)), 0.0)
            same = new == pytest.approx(value, rel=1e-3, abs=floor)
        if not same:
            out.append((name, value, new))
    return out


def test_stalls_chosen_at_random_are_flown_again():
    pytest.importorskip("jsbsim")
    import make

    seed = int.from_bytes(os.urandom(4), "little")
    rows = {row["id"]: row for row in read_rows()}
    chosen = np.random.default_rng(seed).choice(sorted(rows), FLOWN_AGAIN, replace=False).tolist()
    again = make.refly(chosen)
    wrong = {name: differences(again[name], rows[name]) for name in chosen}
    wrong = {name: offences for name, offences in wrong.items() if offences}
    assert not wrong, f"seed {seed}: {wrong}"


def test_a_changed_stall_would_be_noticed():
    row = read_rows()[0]
    assert differences(row, row) == []
    for name, value in row.items():
        if isinstance(value, float) and value:
            changed = {**row, name: value * 1.01 + 0.05}
            assert [d[0] for d in differences(changed, row)] == [name]
    assert [d[0] for d in differences({**row, "ended": "stop"}, row)] == ["ended"]


def test_the_lowest_speed_as_in_the_table(table):
    nodes = {rate for kind, rate in table if kind == "minimum" and rate is not None}
    assert nodes == {row[0] for row in loadfactor.TABLE["minimum"]}
    for rate, *numbers in loadfactor.TABLE["minimum"]:
        assert np.abs(table["minimum", rate] - numbers).max() <= HALF_DIGIT, rate


def test_the_break_as_in_the_table(table):
    """Below the first node of the break: n of the lowest speed, with the spread of that node."""
    nodes = sorted(rate for kind, rate in table if kind == "break" and rate is not None)
    slower = [rate for kind, rate in table if kind == "minimum" and rate is not None and rate < nodes[0]]
    assert sorted([*slower, *nodes]) == [row[0] for row in loadfactor.TABLE["break"]]
    for rate, *numbers in loadfactor.TABLE["break"]:
        wanted = table["break", max(rate, nodes[0])].copy()
        if rate < nodes[0]:
            wanted[0] = table["minimum", rate][0]
        assert np.abs(wanted - numbers).max() <= HALF_DIGIT, rate


def test_the_unknown_rate_as_in_the_table(table):
    lowest, broke = table["minimum", None], table["break", None]
    assert np.abs(lowest - loadfactor.UNKNOWN_RATE["minimum"]).max() <= HALF_DIGIT
    # For the break: n and spread of the lowest speed, the wider of the two, with the scatter of the break.
    assert np.abs([lowest[0], lowest[1], broke[2]] - np.array(loadfactor.UNKNOWN_RATE["break"])).max() <= HALF_DIGIT
    assert lowest[1] > broke[1]


def test_steady_before_a_break_as_in_the_table(table):
    assert np.abs(table["steady", None] - loadfactor.STEADY_BEFORE_BREAK).max() <= HALF_DIGIT


def test_an_unknown_kind_lies_between_the_lowest_speed_and_a_steady_one(table):
    steady = table["steady", None][0]
    rows = [(table["minimum", rate][0], *numbers) for rate, *numbers in loadfactor.TABLE["unknown"]]
    rows.append((table["minimum", None][0], *loadfactor.UNKNOWN_RATE["unknown"]))
    for lowest, n, shared, _ in rows:
        assert n == pytest.approx((lowest + steady) / 2, abs=0.0011)
        assert shared >= (steady - lowest) / 2  # it reaches both


def test_what_the_flights_cannot_contain_is_said_once():
    assert loadfactor.BEYOND_SIMULATION == fit.EXTRA_SD


def imported(source):
    """Top names of everything a module imports."""
    out = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            out |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            out.add((node.module or "").split(".")[0])
    return out


def test_nothing_simulated_imports_the_library():
    assert imported("from aerolib.measured import stall") == {"aerolib"}
    own = sorted(DATA.glob("*.py"))
    assert len(own) > 5
    generator = Path(__file__).with_name("campaign.py")
    for path in [*own, generator]:
        source = path.read_text(encoding="utf-8")
        assert "aerolib" not in imported(source), path.name
        assert "import_module" not in source and "__import__" not in source, path.name
