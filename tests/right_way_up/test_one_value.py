"""One quantity, one value: a walk over data, page and terminal of both demonstrations and of five odd cases.

A quantity is what it is (name), of what (state, configuration, power) and where (weight, CG, near the ground). Every
place that shows it is collected with the precision it is printed with; two that differ by more than that contradict.
"""

from __future__ import annotations

import functools
import math
import re
from collections import defaultdict
from html.parser import HTMLParser

import pytest
from right_way_up.odd_cases import ODD

CASES = ("demo", "nosewheel", *ODD)
# Column of a table -> what it shows; the rest of the key stands in the other columns of its row.
COLUMNS = {
    r"CLmax( as reduced| as flown)?": "CLmax",
    r"CLmax with n = 1": "CLmax with n = 1",
    r"1-g stall speed \[kt CAS\]": "1-g stall speed",
    r"stall, landing \[kt CAS\]": "stall speed",
    r"approach.* \[kt CAS\]": "approach",
    r"(one full input|V_O).*\[kt CAS\].*": "limit-load speed",
    r"landing roll \[m\]": "landing roll",
    r"take-off roll \[m\]": "take-off roll",
    r"slowest \[kt CAS\]": "slowest the tail holds",
    r"forward CG limit.*": "forward CG limit",
    r"gear angle reached at \[kt CAS\]": "gear angle reached",
    r"stall near the ground \[kt CAS\]": "stall near the ground",
    r"CLmax added.*": "flap increment, predicted",
    r"needle at the stall \[kt\]": "needle at the stall",
    r"add \[kt\]": "correction at the stall",
}
NUMBER = re.compile(r"[+\-]?\d+(?:\.(\d+))?")


class Tables(HTMLParser):
    """Every table of a page, as rows of cells."""

    def __init__(self, page):
        super().__init__()
        self.tables, self._open = [], False
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        if tag == "table":
            self.tables.append([])
        elif tag == "tr" and self.tables:
            self.tables[-1].append([])
        elif tag in ("td", "th") and self.tables and self.tables[-1]:
            self.tables[-1][-1].append("")
            self._open = True

    def handle_endtag(self, tag):
        self._open = self._open and tag not in ("td", "th")

    def handle_data(self, data):
        if self._open:
            self.tables[-1][-1][-1] += data


def terminal_table(text):
    """The table in the terminal, by the widths of its rule, in the form of a page's table."""
    lines = text.splitlines()
    rule = next(i for i, line in enumerate(lines) if re.fullmatch(r"-+(  -+)+", line))
    start = max(i for i in range(rule) if not lines[i].strip()) + 1
    end = next(i for i in range(rule, len(lines)) if not lines[i].strip())
    spans = [m.span() for m in re.finditer("-+", lines[rule])]
    head = [" ".join(" ".join(line[a:b] for line in lines[start:rule]).split()) for a, b in spans]
    return [head, *([line[a:b].strip() for a, b in spans] for line in lines[rule + 1 : end])]


class Walk:
    """Every value found, by what it is of."""

    def __init__(self, told):
        self.found = defaultdict(list)  # key -> (value, half a unit of its last place, where)
        self.data = told.data
        self.weight = told.data["reference_weight_kg"]
        self.near = [t["cg_percent_mac"] for t in told.data["tail_authority"] or []][:1]
        self.by_flap = {(a["modification"], a["flap"]): a["configuration"] for a in told.data["airspeed"] or []}
        self._data()
        for table in Tables(told.page).tables:
            self._table(table, "page")
        self._table(terminal_table(told.text), "terminal")
        for where, text in (("page", told.page), ("terminal", " ".join(told.text.split()))):
            self._sentences(re.sub(r"<[^>]*>", "\n", text), where)

    def add(self, where, value, half, *key):
        if value is not None:
            self.found[key].append((float(value), half, where))

    def number(self, where, value, *key, decimals=None):
        """A number of the data: six figures, or as many decimals as are written."""
        if value is not None:
            self.add(where, value, 0.5 * 10.0**-decimals if decimals else 5e-6 * abs(value) + 1e-9, *key)

    def _data(self):
        d = self.data
        cl = {}
        for i in d["clmax"]:
            of = (i["modification"], i["configuration"], i["power"])
            cl[of] = i["value"]
            self.number("clmax", i["value"], "CLmax", *of)
            self.number("clmax", i["with_n_equal_1"], "CLmax with n = 1", *of)
            self.number("clmax", i["stall_speed_1g_kt"], "1-g stall speed", *of)
            for s in i["minimum_speed_kt"]:
                self.number("clmax", s["value"], "lowest speed", *of, s["kind"], s["ended"])
        for c in d["comparison"] or []:
            if c["configuration"] is None:
                continue
            of = (c["configuration"], c["power"])
            self.number("comparison", c["ratio"], "ratio", *of)
            self.number("comparison", c["delta_stall_speed_1g_kt"], "change of stall speed", *of)
            ends = [cl.get((c[k], *of)) for k in ("before", "after")]
            if None not in ends and c["wing_area_m2"] is None:
                self.add("clmax, after over before", ends[1] / ends[0], 1e-5, "ratio", *of)
        for r in d["reconciled"] or []:
            of = (r["modification"], r["configuration"], r["power"])
            name = "CLmax" if r["quantity"] == "CLmax" else "flap increment"
            self.number("reconciled", r["measured"], name, *of)
            self.number("reconciled", r["predicted"], f"{name}, predicted", r["configuration"])
            up = cl.get((of[0], "clean", of[2]))
            if name == "flap increment" and None not in (up, cl.get(of)):
                self.add("clmax, flap down less up", cl[of] - up, 2e-5, name, *of)
        of_wing = {p["configuration"]: p["value"] for p in d["predicted"] or []
                   if (p.get("kind"), p.get("quantity")) == ("trimmed", "CLmax")}  # fmt: skip
        for p in d["predicted"] or []:
            if p.get("kind") == "trimmed":
                name = "CLmax, predicted" if p["quantity"] == "CLmax" else "flap increment, predicted"
                self.number("predicted", p["value"], name, p["configuration"])
        for name, value in of_wing.items():
            if name != "clean" and "clean" in of_wing:
                self.add(
                    "predicted, flap down less up", value - of_wing["clean"], 2e-5, "flap increment, predicted", name
                )
        for p in d["posterior"] or []:
            of = p["of"].rsplit(", ", 2)[1:]
            self.number("posterior", p["measured"] and p["measured"]["value"], "change of stall speed", *of)
            self.number("posterior", p["prior"] and p["prior"]["value"], "change, predicted", p["device"])
        for f in d["flow_control"] or []:
            self.number("flow_control", f["delta_stall_speed_1g_kt"], "change, predicted", f["device"])
        for a in d["airspeed"] or []:
            of = (a["modification"], a["configuration"])
            self.number("airspeed", a["indicated_at_stall_kt"], "needle at the stall", *of)
            self.number("airspeed", a["correction_at_stall_kt"], "correction at the stall", *of)
        if d["test_plan"]:
            first = next(i for i in d["clmax"] if i["stall_speed_1g_kt"])
            self.number("test_plan", d["test_plan"]["stall_speed_kt"], "1-g stall speed", first["modification"],
                        first["configuration"], first["power"])  # fmt: skip
        for a in d["landing_attitude"] or []:
            of = (a["modification"], a["configuration"])
            self.number("landing_attitude", a["three_point_speed_kt"], "gear angle reached", *of, decimals=2)
            self.number("landing_attitude", a["stall_speed_ige_kt"], "stall near the ground", *of, decimals=2)
        for t in d["tail_authority"] or []:
            if t["cg_percent_mac"] in self.near:
                where = "near the ground" if t["in_ground_effect"] else "aloft"
                of = (t["modification"], t["configuration"], where)
                self.number("tail_authority", t["slowest_speed_kt"], "slowest the tail holds", *of, decimals=2)
                self.number("tail_authority", t["forward_cg_limit_percent_mac"], "forward CG limit", *of, decimals=2)
        for o in d["operating_speeds"] or []:
            of = (o["modification"], round(o["weight_kg"]))
            self.number("operating_speeds", o["stall_speed_kt"], "stall speed", *of, decimals=2)
            self.number("operating_speeds", o["approach_kt"]["value"], "approach", *of, decimals=2)
            for key, name in (("manoeuvring_kt", "limit-load speed"), ("landing_roll_m", "landing roll"),
                              ("take_off_roll_m", "take-off roll")):  # fmt: skip
                self.number("operating_speeds", o[key] and o[key]["value"], name, *of, decimals=1)
            if cl.get((o["modification"], o["configuration"], "idle")):
                k, of = math.sqrt(self.weight / o["weight_kg"]), (o["modification"], o["configuration"], "idle")
                where = "operating_speeds, to the reference weight"
                self.add(where, o["stall_speed_kt"] * k, 0.01 * k, "1-g stall speed", *of)

    def _table(self, rows, where):
        if not rows:
            return
        head = rows[0]
        for row in rows[1:]:
            cells = dict(zip(reversed(head), reversed(row)))  # of two columns of one name the first
            if "group" in cells:
                of = tuple(cells["group"].rsplit(", ", 2))
                if "lowest speed [kt CAS]" in cells:
                    of_kind = (*of, cells["kind"], cells["ended"])
                    self._cell(where, cells["lowest speed [kt CAS]"], "lowest speed", *of_kind)
            elif "weight [kg]" in cells:
                of = (cells["modification"], int(cells["weight [kg]"]))
            elif "modification" in cells:
                c = cells.get("configuration", cells.get("flap"))
                c = self.by_flap.get((cells["modification"], c), c)
                of = (cells["modification"], c, *(cells[k] for k in ("power", "where") if k in cells))
            else:
                of = (cells.get("configuration"),)
            for name, text in cells.items():
                for pattern, quantity in COLUMNS.items():
                    if re.fullmatch(pattern, name) and "at least" not in text:
                        self._cell(where, text, quantity, *of)
            if "quantity" in cells and "measured" in cells:
                name = "CLmax" if cells["quantity"] == "CLmax" else "flap increment"
                self._cell(where, cells["measured"], name, *of, "idle")
                self._cell(where, cells["predicted"], f"{name}, predicted", cells["configuration"])

    def _sentences(self, text, where):
        """'clean, idle: CLmax +10 % (...); 1-g stall speed -2.2 kt (...)'."""
        for c in self.data["comparison"] or []:
            start = re.escape(f"{c['configuration']}, {c['power']}: CLmax ")
            for m in re.finditer(start + r"([+\-]\d+) %[^;\n]*(?:; 1-g stall speed ([+\-][\d.]+) kt)?", text):
                self.add(where, 1.0 + int(m[1]) / 100.0, 0.005, "ratio", c["configuration"], c["power"])
                if m[2]:
                    self._cell(where, m[2], "change of stall speed", c["configuration"], c["power"])

    def _cell(self, where, text, *key):
        if found := NUMBER.match(text.removeprefix("below ")):
            self.add(where, float(found[0]), 0.5 * 10.0 ** -len(found[1] or ""), *key)

    def twice(self):
        """Keys with more than one place."""
        return {k: v for k, v in self.found.items() if len(v) > 1}

    def contradictions(self):
        """Keys whose places differ by more than what is printed, with all their values."""
        return {
            key: places for key, places in self.twice().items()
            for least, most in [(min(places), max(places))]
            if most[0] - least[0] > least[1] + most[1] + 1e-9
        }  # fmt: skip


@pytest.fixture(scope="module")
def walk(told):
    """A walk by the name of a case."""
    return functools.cache(lambda name: Walk(told(name)))


@pytest.mark.parametrize("name", CASES)
def test_no_quantity_has_two_values(walk, name):
    assert walk(name).contradictions() == {}


@pytest.mark.parametrize(("name", "least"), [("demo", 60), ("nosewheel", 60), *((n, 8) for n in ODD)])
def test_the_walk_finds_what_stands_twice(walk, name, least):
    """A walk that found nothing would find no contradiction either."""
    found = walk(name).twice()
    assert len(found) >= least, sorted(found)
    assert {"CLmax", "1-g stall speed", "ratio", "change of stall speed"} <= {k[0] for k in found}
    assert any(len({w for _, _, w in places}) >= 3 for places in found.values())


def test_a_contradiction_is_found(walk):
    """One value of the data moved by one in its third figure."""
    w = walk("three states")
    key = next(k for k in w.twice() if k[0] == "CLmax")
    value, half, where = w.found[key][0]
    w.found[key][0] = (1.01 * value, half, where)
    assert key in w.contradictions()
    w.found[key][0] = (value, half, where)
