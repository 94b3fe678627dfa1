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

from aerolib.measured.stalls import loadfactor

FLOWN_AGAIN = 20
HALF_DIGIT = 0.5e-4 * (1 + 1e-9)  # the library prints four decimals
# Where a relative 1e-3 says nothing, because the value may be near zero: columns that end so, and their floors.
FLOORS = {"_m_s": 0.02, "_kt_s": 0.005, "height_lost_entry_m": 0.1, "thrust_sin_alpha_N": 0.2}


@pytest.fixture(scope="module")
def table():
    """load_factor.csv: (kind, rate or None) to (n, kept by the airplane, between pairs, within)."""
    columns = ("load_factor", "character_sd", "between_sd", "within_sd")
    with (DATA / "load_factor.csv").open(newline="", encoding="utf-8") as file:
        return {
            (row["kind"], float(row["entry_rate_kt_s"]) if row["entry_rate_kt_s"] else None): np.array(
                [float(row[c]) for c in columns]
            )
            for row in csv.DictReader(file)
        }


def at_unknown_rate(table, kind):
    """n, all that the stalls of one card share, each stall."""
    n, kept, between, within = table[kind, None]
    return np.array([n, np.hypot(kept, between), within])


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


@pytest.mark.parametrize("kind", ["minimum", "mush", "stop", "recorded"])
def test_a_row_as_in_the_table(table, kind):
    assert {rate for k, rate in table if k == kind and rate is not None} == {r[0] for r in loadfactor.TABLE[kind]}
    for rate, *numbers in loadfactor.TABLE[kind]:
        assert np.abs(table[kind, rate] - numbers).max() <= HALF_DIGIT, rate


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
    lowest, broke = at_unknown_rate(table, "minimum"), at_unknown_rate(table, "break")
    for kind in ("minimum", "mush", "stop"):
        assert np.abs(at_unknown_rate(table, kind) - loadfactor.UNKNOWN_RATE[kind]).max() <= HALF_DIGIT
    # For the break: n of the lowest speed, the wider of the two spreads, with the scatter of the break.
    wanted = np.array([lowest[0], max(lowest[1], broke[1]), broke[2]])
    assert np.abs(wanted - np.array(loadfactor.UNKNOWN_RATE["break"])).max() <= HALF_DIGIT


def test_steady_before_a_break_as_in_the_table(table):
    assert np.abs(at_unknown_rate(table, "steady") - loadfactor.STEADY_BEFORE_BREAK).max() <= HALF_DIGIT


def test_an_unknown_kind_lies_between_the_lowest_speed_and_a_steady_one(table):
    steady = table["steady", None][0]
    rows = [(table["minimum", rate][0], n, shared) for rate, n, _, shared, _ in loadfactor.TABLE["unknown"]]
    rows.append((table["minimum", None][0], *loadfactor.UNKNOWN_RATE["unknown"][:2]))
    for lowest, n, shared in rows:
        assert n == pytest.approx((lowest + steady) / 2, abs=0.0011)
        assert shared >= (steady - lowest) / 2  # it reaches both


def test_the_table_is_made_from_the_own_airplanes_alone():
    """Nothing that it is scored on takes part: without those flights it is the same."""
    rows = read_rows()
    own = [row for row in rows if row["source"] in ("own", "changed")]
    assert {row["source"] for row in rows} - {row["source"] for row in own} == {"check", "stock"}
    for kind in fit.ROWS:
        assert {row["source"] for row in fit.select(rows, kind)} == {"own"}


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
