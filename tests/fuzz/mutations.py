"""What people, programs and strangers do to a case: seeded changes of its files that keep their structure.

`slip` is what an owner writes by mistake and means something else; `broken` is what cannot be meant; `hostile` is what
a stranger writes so that some medium acts on it. Nothing here imports the library: it is the other side.
"""

from __future__ import annotations

import random
import re
import shutil
from dataclasses import dataclass
from pathlib import Path

DATA = Path(__file__).resolve().parents[2] / "data"
BARE = (
    'format = 1\nname = "Bare"\n\n[wing]\narea = "11.2 m2"\n\n[weights]\nempty = "330 kg"\nmaximum = "560 kg"\n',
    "modification,configuration,flight,ias [mph],speed_kind,ended,weight [lb]\n"
    + "".join(f"stock,clean,2026-04-2{d},{v},minimum,break,1{w}0\n" for d in "67" for v, w in ((44, 15), (45, 14)))
    + "".join(f"VGs,clean,2026-05-0{d},{v},minimum,break,1{w}0\n" for d in "34" for v, w in ((41, 15), (40, 14))),
)
INJECTIONS = (
    "=HYPERLINK(1,2)", "+cmd|' /C x'!A0", "@SUM(A1)", "<script>alert(1)</script>", "<img src=x onerror=alert(1)>",
    "{{ 7*7 }}", "{% raw %}", "$\\frac{1}{0}$", "$\\bad{", "VG $95 #1, $3", "\\input{x}", "\x1b[31mred\x1b[0m",
    "\x1b]0;title\x07", "\u202egnp", "\ufeff", "a" * 400, "../../etc/passwd", "file:///etc/passwd", "%s%n", "{0}",
    "Ol' \"Daisy\"", "ö ñ 飛行機", "nul", "name\r\nX: y", "\u202e", "\u0000", "&lt;b&gt;",
)  # fmt: skip
NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?")
UNITS = {
    "m": ("ft", "in", "cm", "mm"), "in": ("m", "cm", "ft"), "ft": ("m", "in"), "kt": ("mph", "km/h", "m/s"),
    "mph": ("kt", "km/h"), "kg": ("lb",), "lb": ("kg",), "m2": ("sq ft",), "deg": ("rad", "%"), "l": ("kg", "US gal"),
    "kW": ("hp", "W"), "%": ("-", "m"), "ft/min": ("m/s", "kt"),
}  # fmt: skip
ODD_NUMBERS = (
    "0",
    "-1",
    "1e9",
    "-0",
    "nan",
    "inf",
    "1e-9",
    "999999",
    "0x10",
    "1_0",
    "1,5",
    "1.050",
    "−45",
    "٣",
    "12 345",
)
DATES = ("26/4/2026", "2026-04-26", "26 Apr 2026", "4/12/26", "April 26", "26.4.26")
STATES = ("Before", "before ", "AFTER", "after-2", "vg's", "A", "B", "stock")


@dataclass(frozen=True)
class Change:
    """One change: what kind of doing it was, and where."""

    kind: str  # slip, broken, hostile
    what: str


def seeded(seed: int, folder: Path) -> list[Change]:
    """Write case number `seed` into `folder` (made here); what was changed in it."""
    r = random.Random(seed)
    start = r.choice(("demo", "demo", "nosewheel", "bare", "bare"))
    if start == "bare":
        folder.mkdir(parents=True)
        for name, text in zip(("aircraft.toml", "stalls.csv"), BARE):
            (folder / name).write_text(text, encoding="utf-8")
    else:
        ignored = shutil.ignore_patterns("*.py", "*.json", "__pycache__")
        shutil.copytree(DATA / start, folder, ignore=ignored)
    files = sorted(p for p in folder.rglob("*") if p.is_file() and p.suffix in (".toml", ".csv"))
    if r.random() < 0.5:  # recordings are long; half of the time they stay whole
        files = [p for p in files if p.parent == folder]
    changes = [Change("start", start)]
    for _ in range(r.choice((1, 1, 1, 2, 3))):
        path = r.choice(files)
        how = _toml if path.suffix == ".toml" else _csv
        if r.random() < 0.08:
            how = _bytes
        data = path.read_bytes()
        new, change = how(r, data)
        path.write_bytes(new)
        changes.append(Change(change.kind, f"{path.name}: {change.what}"))
    return changes


def _bytes(r: random.Random, data: bytes) -> tuple[bytes, Change]:
    at = r.randrange(len(data) + 1)
    how = r.choice(("flip", "cut", "insert", "double", "bom", "utf16", "latin", "cr"))
    if how == "flip":
        data = data[:at] + bytes(x ^ 0x20 for x in data[at : at + r.randrange(1, 9)]) + data[at + 8 :]
    elif how == "cut":
        data = data[:at]
    elif how == "insert":
        data = data[:at] + bytes(r.randrange(256) for _ in range(r.randrange(1, 40))) + data[at:]
    elif how == "double":
        data = data + data
    elif how == "bom":
        data = b"\xef\xbb\xbf" + data
    elif how == "utf16":
        data = data.decode("utf-8", "replace").encode("utf-16")
    elif how == "latin":
        data = data.replace(b"e", "é".encode("latin-1"), 3)
    else:
        data = data.replace(b"\n", b"\r\n" if r.random() < 0.5 else b"\r")
    return data, Change("broken", how)


def _number(r: random.Random, text: str) -> tuple[str, Change]:
    """A number that is wrong in the way people are wrong."""
    value = float(text)
    how = r.choice(("x10", "/10", "sign", "inches", "feet", "thousands", "zero", "odd", "slightly"))
    if how == "odd":
        odd = r.choice(ODD_NUMBERS)
        return odd, Change("broken", f"{text} -> {odd}")
    factor = {"x10": 10.0, "/10": 0.1, "sign": -1.0, "inches": 39.37, "feet": 3.28084, "thousands": 1000.0, "zero": 0.0,
              "slightly": r.uniform(0.9, 1.1)}[how]  # fmt: skip
    return f"{value * factor:.6g}", Change("slip", f"{text} {how}")


def _toml(r: random.Random, data: bytes) -> tuple[bytes, Change]:
    lines = data.decode("utf-8", "replace").split("\n")
    at = [i for i, x in enumerate(lines) if "=" in x and not x.lstrip().startswith("#")]
    heads = [i for i, x in enumerate(lines) if x.startswith("[")]
    if not at:
        return data, Change("slip", "nothing to change")
    i = r.choice(at)
    key, _, value = lines[i].partition("=")
    how = r.choice(("number", "number", "number", "unit", "unit", "delete", "key", "type", "inject", "inject", "double",
                    "head", "deep", "quote", "file"))  # fmt: skip
    change = Change("broken", f"{key.strip()} {how}")
    found = NUMBER.search(value)
    if how == "number" and found:
        new, change = _number(r, found[0])
        lines[i] = f"{key}={value[: found.start()]}{new}{value[found.end() :]}"
        change = Change(change.kind, f"{key.strip()}: {change.what}")
    elif how == "unit" and found:
        unit = re.search(r"\d ?([a-zA-Z/%]+[0-9]?)\"", value)
        if unit and unit[1] in UNITS:
            other = r.choice(UNITS[unit[1]])
            lines[i] = lines[i].replace(f'{unit[1]}"', f'{other}"', 1)
            change = Change("slip", f"{key.strip()}: {unit[1]} -> {other}")
        else:
            lines[i] = lines[i].replace('"', "", 2)
    elif how == "delete":
        del lines[i]
        change = Change("slip", f"{key.strip()} deleted")
    elif how == "key":
        lines[i] = lines[i].replace(key.strip(), key.strip()[:-1] + r.choice("sxz"), 1)
    elif how == "type":
        lines[i] = f"{key}= {r.choice(('true', '[]', '{}', '[1, 2]', '3', '2026-04-26', '[[1]]', '-1.5e400'))}"
    elif how == "inject":
        text = r.choice(INJECTIONS)
        lines[i] = f"{key}= '''{text}'''" if "'''" not in text else lines[i]
        change = Change("hostile", f"{key.strip()}: {text[:30]!r}")
    elif how == "double":
        lines.insert(i, lines[i])
    elif how == "head" and heads:
        j = r.choice(heads)
        lines[j] = r.choice((lines[j][:-1], "[" + lines[j] + "]", lines[j].replace("[", "", 1), "[x" + lines[j][1:]))
    elif how == "deep":
        lines.append(".".join("a" * r.choice((3, 500, 3000))) + " = 1")
    elif how == "quote":
        lines[i] = lines[i].replace('"', r.choice(("'", "“", "", '""')), 1)
    elif how == "file":
        j = next((j for j in heads if lines[j].startswith("[wing]")), 0)
        name = r.choice(("../secret.txt", "/etc/passwd", "a" * 300, "x\\u0000y", "sub/points.txt", "stalls.csv", "."))
        lines.insert(j + 1, f'section_file = "{name}"')
        change = Change("hostile", f"section_file {name[:20]}")
    return "\n".join(lines).encode("utf-8", "replace"), change


def _csv(r: random.Random, data: bytes) -> tuple[bytes, Change]:
    lines = data.decode("utf-8", "replace").split("\n")
    if len(lines) < 2:
        return data, Change("slip", "nothing to change")
    delimiter = ";" if lines[0].count(";") > lines[0].count(",") else ","
    head, i = lines[0].split(delimiter), r.randrange(1, len(lines))
    cells = lines[i].split(delimiter)
    j = r.randrange(len(cells))
    name = head[j] if j < len(head) else "?"
    how = r.choice(("number", "number", "number", "column", "column", "header", "unit", "unit", "word", "inject", "row",
                    "delimiter", "comma", "date", "state", "drop", "swap", "quote", "long"))  # fmt: skip
    change = Change("broken", f"row {i} {name} {how}")
    if how == "number" and NUMBER.fullmatch(cells[j]):
        cells[j], change = _number(r, cells[j])
        change = Change(change.kind, f"row {i} {name}: {change.what}")
    elif how == "column":  # the same slip down a whole column, as a wrong unit is
        factor = r.choice((10.0, 0.1, -1.0, 1.852, 0.514444, 0.45359237, 2.20462, 3.28084, 25.4))
        for k in range(1, len(lines)):
            row = lines[k].split(delimiter)
            if j < len(row) and NUMBER.fullmatch(row[j]):
                row[j] = f"{float(row[j]) * factor:.5g}"
                lines[k] = delimiter.join(row)
        return "\n".join(lines).encode(), Change("slip", f"{name} times {factor:g}")
    elif how == "header":
        head[j % len(head)] = r.choice((name.upper(), name.replace("[", "("), name[:-2], "", name + " ", "x"))
        lines[0] = delimiter.join(head)
    elif how == "unit":
        found = re.search(r"\[(.*)\]", name)
        if found and found[1] in UNITS:
            other = r.choice(UNITS[found[1]])
            head[j] = name.replace(found[0], f"[{other}]")
            lines[0] = delimiter.join(head)
            change = Change("slip", f"{name} -> {other}")
    elif how == "word":
        cells[j] = r.choice(("break", "stop", "mush", "unknown", "left wing", "abc", "<35", ">35", "n/a", "36-37", "-"))
    elif how == "inject":
        cells[j] = '"' + r.choice(INJECTIONS).replace('"', '""') + '"'
        change = Change("hostile", f"row {i} {name}: {cells[j][:30]!r}")
    elif how == "row":
        lines[i:i] = [lines[i]] * r.choice((1, 2, 30))
        change = Change("slip", f"row {i} repeated")
    elif how == "delimiter":
        lines = [x.replace(delimiter, r.choice((";", "\t", "|"))) for x in lines]
    elif how == "comma":
        lines = [x.replace(",", ";").replace(".", ",") for x in lines]
        change = Change("slip", "decimal commas")
    elif how == "date" and "flight" in head:
        cells[head.index("flight") % len(cells)] = r.choice(DATES)
        change = Change("slip", f"row {i}: a date")
    elif how == "state":
        cells[0] = r.choice(STATES)
        change = Change("slip", f"row {i}: state {cells[0]!r}")
    elif how == "drop":
        lines = [delimiter.join(c for k, c in enumerate(x.split(delimiter)) if k != j) for x in lines]
        change = Change("slip", f"{name} dropped")
    elif how == "swap":
        k = r.randrange(len(cells))
        cells[j], cells[k] = cells[k], cells[j]
    elif how == "quote":
        cells[j] = '"' + cells[j]
    elif how == "long":
        cells[j] = "9" * r.choice((50, 5_000))
    if i < len(lines) and how not in ("row", "delimiter", "comma", "drop"):
        lines[i] = delimiter.join(cells)
    return "\n".join(lines).encode("utf-8", "replace"), change
