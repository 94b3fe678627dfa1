"""Simulated, not measured: 200 invented cards with a known truth, reduced, and the truth looked for in the intervals.

The cards come from data/demo/make.py, which knows nothing of the library. How wide an interval has to be is
worked out here from the error sizes in that file, by hand.
"""

from __future__ import annotations

import ast
import csv
import importlib.util
import json
import math
from collections import defaultdict
from pathlib import Path

import numpy as np
import pytest

from aerolib.case.aircraft import parse_aircraft
from aerolib.case.folder import Case
from aerolib.case.stalls import parse_stalls
from aerolib.study import Study, open_study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
TABLE = DEMO.parent / "simulated" / "load_factor.csv"
BEYOND = 0.015  # of the load factor: what the simulated flights cannot contain, in data/simulated/simulated.md
SEEDS = range(1, 201)


def load_maker():
    """data/demo/make.py as a module."""
    spec = importlib.util.spec_from_file_location("demo_make", DEMO / "make.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


make = load_maker()
STATES = list(make.CLMAX)
REACHED_BY_ELEVATOR = [s for s in STATES if s in make.ELEVATOR_LIMIT]
BROKEN = [s for s in STATES if s not in make.ELEVATOR_LIMIT]
SHORT_SCALE = ("before", "flap 38"), ("after", "flap 20")  # their stalls lie about the end of the scale


def test_the_maker_imports_nothing_of_the_library():
    tree = ast.parse((DEMO / "make.py").read_text(encoding="utf-8"))
    imported = {a.name.split(".")[0] for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names}
    imported |= {(n.module or "").split(".")[0] for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}
    assert imported == {"__future__", "csv", "io", "json", "math", "pathlib", "random"}
    called = {n.func.id for n in ast.walk(tree) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)}
    assert not called & {"__import__", "eval", "exec"}


@pytest.mark.parametrize("name", ["stalls.csv", "aircraft.toml", "README.md", "truth.json"])
def test_the_committed_demonstration_is_what_the_maker_makes(name, tmp_path):
    make.main(folder=tmp_path)
    assert (tmp_path / name).read_bytes() == (DEMO / name).read_bytes()
    make.main(folder=tmp_path, seed=make.SEED + 1)
    if name != "README.md":
        assert (tmp_path / name).read_bytes() != (DEMO / name).read_bytes()


def test_the_committed_demonstration_holds_its_truth():
    truth = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))
    result = open_study(DEMO).reduction
    found = 0
    for entry in truth["clmax"]:
        item = result[entry["modification"], entry["configuration"]]
        if item.clmax is None:
            assert item.at_least <= entry["reachable"]
            continue
        found += 1
        low, high = item.clmax.interval95
        assert low <= entry["clmax"] <= high, item.name
        low, high = (v * 3600 / 1852 for v in item.stall_speed_1g.interval95)
        assert low <= entry["stall_speed_1g_kt"] <= high, item.name
    assert found == len(BROKEN) == 5


def test_the_committed_demonstration_holds_the_truth_of_its_change():
    """Ratio and change of the 1-g stall speed within their intervals; 'at least' where the stick met its stop."""
    truth = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))
    of = {(e["modification"], e["configuration"]): e for e in truth["clmax"]}
    found = open_study(DEMO).comparison
    assert (found.before, found.after) == ("before", "after") and found.common is not None
    held = []
    for configuration in dict.fromkeys(c for _, c in of):
        before, after, change = of["before", configuration], of["after", configuration], found[configuration]
        if change.ratio is None:
            # The speed reached bounds what the airplane can reach: elevator, not wing.
            assert change.ratio_at_least <= after["reachable"] / before["clmax"], configuration
            continue
        held.append(configuration)
        true = after["clmax"] / before["clmax"]
        assert change.ratio.interval95[0] <= true <= change.ratio.interval95[1], configuration
        low, high = (v * 3600 / 1852 for v in change.delta_stall_speed_1g.interval95)
        assert low <= after["stall_speed_1g_kt"] - before["stall_speed_1g_kt"] <= high, configuration
        low, high = found.common.interval95
        assert low <= true <= high, configuration
    assert held == ["clean", "flap 20"]


@pytest.fixture(scope="module")
def trials():
    """For every state: (value, low, high, breaks) of each card with a value, and the bound of each without."""
    values, bounds, speeds = defaultdict(list), defaultdict(list), defaultdict(list)
    for seed in SEEDS:
        rows, area_told, _ = make.draw(seed)
        aircraft = parse_aircraft(make.aircraft_text(area_told).encode())
        result = (
            Study(Case(DEMO, aircraft, parse_stalls(make.csv_text(rows).encode(), aircraft), {})).trusting().unjudged
        )
        for state in STATES:
            item = result[state]
            if item.clmax is None:
                bounds[state].append(item.at_least)
            else:
                values[state].append((item.clmax.value, *item.clmax.interval95, item.breaks))
                speeds[state].append((item.stall_speed_1g.value, *item.stall_speed_1g.interval95))
    return {k: np.array(v) for k, v in values.items()}, bounds, {k: np.array(v) for k, v in speeds.items()}


def spread_between_airplanes():
    """Standard uncertainty of the load factor at 1 kt/s that all stalls of one card share."""
    with TABLE.open(newline="", encoding="utf-8") as file:
        row = next(r for r in csv.DictReader(file) if (r["kind"], r["entry_rate_kt_s"]) == ("minimum", "1"))
    return math.hypot(float(row["character_sd"]), float(row["between_sd"]), BEYOND)


def half_widths(state, breaks):
    """(oracle's, least honest) 95 % half-width of ln CL for a state, from the sizes in make.py.

    The oracle is told every shared value of this card: position, scale, area, weights, lag, thrust, load factor
    rule, days. What is left is the scatter of single stalls over the square root of their number. Nobody flies with
    an oracle: the least honest width adds, in squares, all that it was told, and of the load factor rule what is known
    of airplanes at large: nobody told the owner that this one stalls as abruptly as it does.
    """
    weight, rate = 560.0, 1.0  # kg and kt/s: the middle of the card
    n = make.lowest_load_factor(rate)
    v = math.sqrt(2 * n * weight * make.G / (make.RHO0 * make.WING_AREA * make.CLMAX[state])) / make.KT
    per_n_slope = (make.lowest_load_factor(0.0) - make.lowest_load_factor(1.0)) / n
    reading = math.hypot(make.READING_ERROR, 1 / math.sqrt(12))  # read to the knot
    noted = math.hypot(make.RATE_ERROR, 0.2 / math.sqrt(12))  # noted to 0.2 kt/s
    stall = [2 * reading / v, make.N_STALL_ERROR / n, make.FUEL_ERROR / weight, per_n_slope * noted]
    oracle = math.hypot(*stall) / math.sqrt(breaks)
    flights = math.sqrt(2)
    told = [2 * make.POSITION_WITHIN[state[0]] / 1.96 / v, 2 * make.SCALE_ERROR, make.AREA_ERROR,
            make.WEIGHING_ERROR / weight, spread_between_airplanes() / n, make.DAY / flights,
            make.IDLE_THRUST_ERROR * math.sin(math.radians(15)) / n, make.LOADING_ERROR / weight / flights,
            2 * 0.2 * make.LAG_ERROR * rate / v]  # fmt: skip
    return 1.96 * oracle, 1.96 * math.hypot(oracle, *told)


def test_each_state_is_covered_as_often_as_it_says(trials):
    """95 % intervals over 200 cards: 90 to 99.5 % hold the truth, with a mean error below 4.5 %.

    The invented airplane stalls abruptly and its lift does not lag: 0.921 at 1 kt/s by make.py, where the table of
    airplanes at large has 0.885, with 4 % between them. So it reads low by about their difference.
    """
    values, bounds, _ = trials
    report = []
    for state in BROKEN:
        v = values[state]
        assert len(v) + len(bounds[state]) == len(SEEDS)
        # Too many below the scale for a value: rare, but many a card where the scale ends amid the stalls of a state.
        assert len(v) >= (0.5 if state in SHORT_SCALE else 0.98) * len(SEEDS)
        truth = make.CLMAX[state]
        held = float(np.mean((v[:, 1] <= truth) & (truth <= v[:, 2])))
        error = float(np.mean(v[:, 0]) / truth - 1)
        report.append((state, held, error))
    print("\n(simulated) state, holds the truth, mean error")
    for state, held, error in report:
        print(f"  {state}: {held:.1%}, {error:+.2%}")
    assert all(0.90 <= held <= 0.995 for _, held, _ in report), report
    # Where the scale ends amid the stalls, the cards with a value are those that read CL low: chosen by that error they
    # have more of it, and their intervals must hold all the same.
    assert all(-0.045 <= error <= 0.0 for state, _, error in report if state not in SHORT_SCALE), report


def test_all_states_together(trials):
    """Pooled over states, for CLmax and for the 1-g stall speed: 93 to 98.5 %."""
    values, _, speeds = trials
    held, held_speed = [], []
    for state in BROKEN:
        truth = make.CLMAX[state]
        speed = math.sqrt(2 * make.MAXIMUM * make.G / (make.RHO0 * make.WING_AREA * truth))
        held += ((values[state][:, 1] <= truth) & (truth <= values[state][:, 2])).tolist()
        held_speed += ((speeds[state][:, 1] <= speed) & (speed <= speeds[state][:, 2])).tolist()
    print(f"\n(simulated) pooled: CLmax {np.mean(held):.1%}, 1-g stall speed {np.mean(held_speed):.1%}")
    assert 0.93 <= np.mean(held) <= 0.985
    assert 0.93 <= np.mean(held_speed) <= 0.985


def test_the_intervals_are_no_wider_than_honesty_needs(trials):
    """Median half-width below 1.2 times the least honest one.

    What is left of the 1.2 goes to things the reduction cannot know: it takes 0.6 kt for a reading where 0.53 was
    drawn, it does not know the scatter between days or stalls and integrates over both, and a calibration's error
    grows beyond its first point at 35 kt. Narrower than honest by a tenth would be a source forgotten.
    """
    values, _, _ = trials
    print("\n(simulated) state, half-width, over the oracle's, over the least honest one")
    for state in BROKEN:
        v = values[state]
        half = float(np.median((v[:, 2] - v[:, 1]) / 2 / v[:, 0]))
        oracle, honest = half_widths(state, float(np.median(v[:, 3])))
        print(f"  {state}: {half:.1%}, {half / oracle:.1f}, {half / honest:.2f}")
        assert half > oracle
        assert 0.9 < half / honest < 1.2


def test_bounds_hold(trials):
    """'At least' is 95 % sure: it is not above what the elevator can reach in 93 % or more."""
    _, bounds, _ = trials
    for state in REACHED_BY_ELEVATOR:
        assert len(bounds[state]) == len(SEEDS)
        held = float(np.mean([b <= make.ELEVATOR_LIMIT[state] for b in bounds[state]]))
        print(f"\n(simulated) bound of {state}: holds in {held:.1%}, median {np.median(bounds[state]):.2f}")
        assert held >= 0.93
        # A bound that always holds says nothing: within 25 % of what was reached it is of use.
        assert np.median(bounds[state]) > 0.75 * make.ELEVATOR_LIMIT[state]
    for state in SHORT_SCALE:  # the wing's own limit, where too many stalls lie below the scale
        held = [b <= make.CLMAX[state] for b in bounds[state]]
        print(f"\n(simulated) bound of {state}, below the scale: {sum(held)} of {len(held)} hold")
        assert len(held) > 20 and np.mean(held) >= 0.93
