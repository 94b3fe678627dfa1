"""The contracts of the house: who may import whom, what a docstring says, where things stand.

Every rule is a function that returns the offences it found, and is first shown something that offends.
"""

import ast
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from waiting import PATIENCE

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = "aerolib"
FLOORS = {
    "units": 0, "atmosphere": 0, "estimate": 0, "memo": 0, "answers": 0, "ranges": 0, "sources": 0,
    "physics": 1, "measured": 1, "predicted": 1,
    "consequences": 2, "together": 2,
    "case": 3,
    "study": 4,
    "show": 5,
    "teach": 6,
    "__main__": 7,
}  # fmt: skip
ALSO_ALLOWED = {("atmosphere", "ranges"), ("measured", "physics"), ("predicted", "physics")}
HEAVY = {"pandas", "matplotlib", "ipywidgets", "IPython", "aerosandbox"}
FILES = {"pathlib", "os", "io", "shutil", "tempfile", "csv", "json", "tomlkit", "tomllib"}
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "workbooks", "aerolib", "tests", "data", "LICENSE"}
LONGEST = 600  # lines of a module: longer ones are usually two


def _modules():
    """Dotted name without the package -> path, for every module but the package's own front door."""
    base = ROOT / PACKAGE
    found = {}
    for path in sorted(base.rglob("*.py")):
        parts = path.relative_to(base).with_suffix("").parts
        if parts != ("__init__",):
            found[".".join(part for part in parts if part != "__init__")] = path
    assert len(found) > 10
    return found


MODULES = _modules()
LOWER = {name: path for name, path in MODULES.items() if FLOORS.get(name.split(".")[0], 9) <= 2}


def _imported(tree, module, is_package=False):
    """(dotted module, line) of everything a tree imports, relative imports made absolute."""
    here = [PACKAGE, *module.split(".")]
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = here[: len(here) - node.level + is_package] if node.level else []
            source = ".".join([*base, *([node.module] if node.module else [])])
            if source == PACKAGE:  # from aerolib import units
                yield from ((f"{PACKAGE}.{alias.name}", node.lineno) for alias in node.names)
            else:
                yield source, node.lineno


def floor_offences(source, module, is_package=False):
    """Imports of a module that do not go down, or go to a neighbour."""
    room, offences = module.split(".")[0], []
    if room not in FLOORS:
        return [f"{module}: the room '{room}' has no floor"]
    for name, line in _imported(ast.parse(source), module, is_package):
        parts = name.split(".")
        if parts[0] != PACKAGE:
            continue
        other = parts[1] if len(parts) > 1 else None
        if other == room or (room, other) in ALSO_ALLOWED:
            continue
        if other == "__version__" and FLOORS[room] >= 3:
            continue
        if other not in FLOORS:
            offences.append(f"{module}:{line} imports {name}, which is no room")
        elif FLOORS[other] >= FLOORS[room]:
            offences.append(f"{module}:{line} (floor {FLOORS[room]}) imports {name} (floor {FLOORS[other]})")
    return offences


@pytest.mark.parametrize(
    "module, source, count",
    [
        ("units", "from aerolib.atmosphere import GRAVITY", 1),
        ("measured.stall", "from aerolib.predicted.wing import x", 1),
        ("measured.stall", "from aerolib.physics.thrust import x", 0),
        ("physics.thrust", "from aerolib.measured import stall", 1),
        ("measured.stall", "def f():\n    from aerolib.case.folder import read_case", 1),
        (
            "measured.stall",
            "from . import grouping\nfrom ..units import to_si\nfrom ..show import figures",
            1,
        ),
        ("case.folder", "from aerolib import show, units", 1),
        ("show.report", "import aerolib.case.folder\nfrom aerolib import __version__", 0),
        ("attic.thing", "import numpy", 1),
        ("case.folder", "from aerolib import reduce_stalls", 1),
    ],
)
def test_floor_rule_sees(module, source, count):
    assert len(floor_offences(source, module)) == count


@pytest.mark.parametrize("module", MODULES)
def test_imports_go_down(module):
    path = MODULES[module]
    assert floor_offences(path.read_text(encoding="utf-8"), module, path.name == "__init__.py") == []


def circles(sources):
    """Circles of files: every import counts but those for types alone; {module: source} -> list of chains."""
    links = {}
    for module, (source, _package) in sources.items():
        tree = ast.parse(source)
        for node in ast.walk(tree):  # what only a type checker reads is no import
            if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
                node.body = [ast.Pass()]
        found = set()
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith(f"{PACKAGE}."):
                base = node.module.removeprefix(f"{PACKAGE}.")
                found |= {f"{base}.{a.name}" if f"{base}.{a.name}" in sources else base for a in node.names}
            elif isinstance(node, ast.Import):
                found |= {a.name.removeprefix(f"{PACKAGE}.") for a in node.names}
        links[module] = {x for x in found if x in sources and x != module}
    out, done = [], set()

    def walk(module, chain):
        if module in chain:
            out.append(" -> ".join([*chain[chain.index(module) :], module]))
        elif module not in done:
            for other in sorted(links[module]):
                walk(other, [*chain, module])
            done.add(module)

    for module in sorted(links):
        walk(module, [])
    return out


def test_circle_rule_sees():
    a, b = "from aerolib.b import x", "def f():\n    from aerolib.a import y"
    assert circles({"a": (a, False), "b": (b, False)}) == ["a -> b -> a"]
    typed = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from aerolib.a import y"
    assert circles({"a": (a, False), "b": (typed, False)}) == []


def test_no_file_imports_itself_by_way_of_others():
    """A study's own rooms are its parts: they are imported where a property is first asked."""
    sources = {m: (p.read_text(encoding="utf-8"), p.name == "__init__.py") for m, p in MODULES.items()}
    assert circles(sources) == []


def file_offences(source, module):
    """Files, pictures and tables in a module of the lower floors; in a function only the heavy libraries may stand."""
    tree, offences = ast.parse(source), []
    inside = {
        id(node)
        for outer in ast.walk(tree)
        if isinstance(outer, ast.FunctionDef | ast.AsyncFunctionDef)
        for node in ast.walk(outer)
    }
    for node in ast.walk(tree):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and not node.level:
            names = [node.module or ""]
        for name in names:
            top = name.split(".")[0]
            if top in FILES or (top in HEAVY and id(node) not in inside):
                offences.append(f"{module}:{node.lineno} imports {name}")
        if isinstance(node, ast.Call):
            called = getattr(node.func, "id", None) or getattr(node.func, "attr", None)
            if called in {"open", "read_text", "write_text", "loadtxt", "savetxt", "print", "input"}:
                offences.append(f"{module}:{node.lineno} calls {called}()")
    return offences


@pytest.mark.parametrize(
    "source, count",
    [
        ("import pandas as pd", 1),
        ("from matplotlib.figure import Figure", 1),
        ("def f():\n    import aerosandbox", 0),
        ("def f():\n    from pathlib import Path", 1),
        ("def f():\n    return open('x')", 1),
        ("class A:\n    import IPython", 1),
        ("import numpy as np\nfrom scipy.special import ndtr", 0),
    ],
)
def test_file_rule_sees(source, count):
    assert len(file_offences(source, "x")) == count


@pytest.mark.parametrize("module", LOWER)
def test_lower_floors_know_no_files_or_pictures(module):
    assert file_offences(LOWER[module].read_text(encoding="utf-8"), module) == []


def test_importing_the_library_is_light():
    heavy = sorted(HEAVY)
    code = f"import sys, aerolib; print([m for m in {heavy!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=PATIENCE)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[]"


NOT_A_NUMBER = {"str", "bool", "Path", "bytes"}  # needs no unit in a short helper


def _section(doc, title):
    """Lines under a title underlined with dashes, up to the next one or to unindented prose; None without it."""
    lines = doc.split("\n")
    for i, line in enumerate(lines[:-1]):
        if line.strip() == title and re.fullmatch(r"-{3,}", lines[i + 1].strip()):
            body = lines[i + 2 :]
            for j, later in enumerate(body[:-1]):
                if re.fullmatch(r"-{3,}", body[j + 1].strip()) and later.strip():
                    return body[:j]
            return body
    return None


def docstring_offences(source, module):
    """Public functions with arguments: every argument and the result named with a bracketed unit.

    A short helper may have one line instead, which names a unit in brackets unless it takes text only.
    """
    offences = []
    for node in ast.parse(source).body:
        if not isinstance(node, ast.FunctionDef) or node.name.startswith("_"):
            continue
        a = node.args
        given = [*a.posonlyargs, *a.args, *a.kwonlyargs, *([a.vararg] if a.vararg else [])]
        if not given:
            continue
        where, doc = f"{module}.{node.name}", ast.get_docstring(node)
        if not doc:
            offences.append(f"{where}: no docstring")
            continue
        parameters, returns = _section(doc, "Parameters"), _section(doc, "Returns")
        if parameters is None:
            numeric = [x.arg for x in given if ast.unparse(x.annotation or ast.Name("?")) not in NOT_A_NUMBER]
            if "\n" in doc.strip():
                offences.append(f"{where}: more than one line, but no Parameters")
            elif numeric and not re.search(r"\[[^\]]+\]", doc):
                offences.append(f"{where}: neither Parameters nor a unit in brackets for {', '.join(numeric)}")
            continue
        entries = [re.match(r"(\w[\w, ]*?) *: .*\[[^\]]+\]", line) for line in parameters]
        named = {name.strip() for entry in entries if entry for name in entry.group(1).split(",")}
        signature = {x.arg for x in given}
        for missing in sorted(signature - named):
            offences.append(f"{where}: '{missing}' is not in Parameters with a unit in brackets")
        for extra in sorted(named - signature):
            if node.args.kwarg is None or extra != node.args.kwarg.arg:
                offences.append(f"{where}: Parameters names '{extra}', which is no argument")
        if returns is None:
            offences.append(f"{where}: no Returns")
        elif not any(re.search(r"\[[^\]]+\]", line) for line in returns):
            offences.append(f"{where}: Returns names no unit in brackets")
    return offences


_WHOLE = "def f(a, b):\n    '''Sum.\n\n    Parameters\n    ----------\n    a : float [m]\n    b : float{}\n{}    '''"
_RETURNS = "\n    Returns\n    -------\n    float{}\n"


@pytest.mark.parametrize(
    "source, words",
    [
        (_WHOLE.format(" [m]", _RETURNS.format(" [m]")), None),
        (_WHOLE.format("", _RETURNS.format(" [m]")), "'b' is not in Parameters"),
        (_WHOLE.format(" [m]\n    c : float [m]", _RETURNS.format(" [m]")), "'c', which is no argument"),
        (_WHOLE.format(" [m]", _RETURNS.format("")), "Returns names no unit"),
        (_WHOLE.format(" [m]", ""), "no Returns"),
        ("def f(a): pass", "no docstring"),
        ("def f(a):\n    'Twice a length.'", "neither Parameters nor a unit"),
        ("def f(a):\n    'Twice a length [m].'", None),
        ("def f(a: str):\n    'Without its blanks.'", None),
        ("def f(a: str):\n    'Two\\n\\n    paragraphs.'", "more than one line"),
        ("def f():\n    pass\ndef _g(a):\n    pass", None),
    ],
)
def test_docstring_rule_sees(source, words):
    offences = docstring_offences(source, "x")
    assert (offences == []) if words is None else (len(offences) == 1 and words in offences[0]), offences


@pytest.mark.parametrize("module", LOWER)
def test_public_functions_say_their_units(module):
    assert docstring_offences(LOWER[module].read_text(encoding="utf-8"), module) == []


def style_offences(source, module):
    """Functions that draw in whatever style the reader's matplotlibrc asks for."""
    offences = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef):
            names = [c.func.id for c in ast.walk(node) if isinstance(c, ast.Call) and isinstance(c.func, ast.Name)]
            if "new_figure" in names and "own_style" not in names:
                offences.append(f"{module}:{node.lineno} {node.name} draws outside own_style")
    return offences


@pytest.mark.parametrize(
    "source, count",
    [
        ("def f():\n    figure = new_figure(1, 2)", 1),
        ("@own_style()\ndef f():\n    figure = new_figure(1, 2)", 0),
        ("def f():\n    with own_style():\n        figure = new_figure(1, 2)", 0),
    ],
)
def test_style_rule_sees(source, count):
    assert len(style_offences(source, "m")) == count


@pytest.mark.parametrize("module", [m for m in MODULES if m.startswith("show.")])
def test_everything_is_drawn_in_our_own_style(module):
    assert style_offences(MODULES[module].read_text(encoding="utf-8"), module) == []


FACTORS = {  # exact by definition: the pound and yard agreement of 1959, the international nautical mile, ISO 2533:1975
    "kt": 1852.0 / 3600.0, "lb": 0.45359237, "ft": 0.3048, "in": 0.0254, "mph": 0.44704, "NM": 1852.0, "mi": 1609.344,
    "lbf": 4.4482216152605, "g0": 9.80665,
}  # fmt: skip


def factor_offences(source, module):
    """Numbers in code that turn one unit into another: they belong into `units.py`, and g0 into `atmosphere.py`."""
    return [
        f"{module}:{node.lineno}: {node.value!r} is {name}"
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float) and node.value
        for name, factor in FACTORS.items()
        if any(abs(node.value / f - 1.0) < 2e-4 for f in (factor, 1.0 / factor))
    ]


@pytest.mark.parametrize(
    "source, count", [("v = x * 0.5144", 1), ("v = x * 1.943844", 1), ("'1 kt = 0.5144 m/s'", 0), ("v = 0.5 * x", 0)]
)
def test_factor_rule_sees(source, count):
    assert len(factor_offences(source, "m")) == count


@pytest.mark.parametrize("module", [m for m in MODULES if m not in ("units", "atmosphere")])
def test_no_conversion_factor_outside_the_units(module):
    assert factor_offences(MODULES[module].read_text(encoding="utf-8"), module) == []


def test_no_module_is_too_long():
    paths = [path for folder in (PACKAGE, "tests") for path in (ROOT / folder).rglob("*.py")]
    assert len(paths) > 20
    lengths = {path.relative_to(ROOT).as_posix(): len(path.read_text(encoding="utf-8").splitlines()) for path in paths}
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST} == {}


def notebook_offences(text, name):
    """A committed workbook: nothing ran in it, few and short cells, no code that belongs in the library."""
    book, offences = json.loads(text), []
    if "widgets" in book.get("metadata", {}):
        offences.append(f"{name}: metadata.widgets")
    cells = [cell for cell in book["cells"] if cell["cell_type"] == "code"]
    if len(cells) > 10:
        offences.append(f"{name}: {len(cells)} code cells")
    for i, cell in enumerate(cells):
        lines = [line for line in "".join(cell["source"]).splitlines() if line.strip()]
        if cell["outputs"]:
            offences.append(f"{name}, code cell {i}: outputs")
        if cell["execution_count"] is not None:
            offences.append(f"{name}, code cell {i}: execution count")
        if len(lines) > 10:
            offences.append(f"{name}, code cell {i}: {len(lines)} lines")
        if any(re.match(r"\s*(async\s+def|def|class)\b", line) for line in lines):
            offences.append(f"{name}, code cell {i}: def or class")
    return offences


def test_notebook_rule_sees():
    def cell(source="1", outputs=(), count=None):
        return {"cell_type": "code", "source": source, "outputs": list(outputs), "execution_count": count}

    def found(*cells, **metadata):
        return len(notebook_offences(json.dumps({"cells": cells, "metadata": metadata}), "x"))

    assert found(cell(), {"cell_type": "markdown", "source": "def"}) == 0
    code = cell("x\n" * 11), cell("def f(): pass"), cell(" class A: pass")
    assert found(cell(outputs=[{}]), cell(count=3), *code) == 5
    assert found(*[cell()] * 11, widgets={}) == 2


def test_workbooks_are_clean():
    books = sorted((ROOT / "workbooks").glob("*.ipynb"))
    if not books:
        pytest.skip("no workbooks yet")
    assert [o for book in books for o in notebook_offences(book.read_text(encoding="utf-8"), book.name)] == []


@pytest.fixture(scope="module")
def kept():
    """Files that git tracks or would add, relative to the clone."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    try:
        done = subprocess.run(command, cwd=ROOT, capture_output=True, timeout=PATIENCE)
    except FileNotFoundError:
        pytest.skip("git is not installed")
    if done.returncode != 0 or not (ROOT / ".git").exists():
        pytest.skip("not a git checkout")
    names = [name for name in done.stdout.decode().split("\0") if name and (ROOT / name).is_file()]
    assert len(names) > 20
    return names


# Written in pieces, so that this file does not offend itself.
ABSOLUTE = re.compile(r"(?<![\w.~$}])/(?:" + "|".join(("work", "root", "tmp/dev", r"home/\w+", r"Users/\w+")) + r")/")


def test_absolute_path_rule_sees():
    for start in ("work", "root", "tmp/dev", "home/ann", "Users/ann"):
        assert ABSOLUTE.search(f'open("/{start}/main/x")')
    for text in ("data/work/x", "~/root/x", "workbooks/x", "https://a.b/work/x", "../root/x"):
        assert not ABSOLUTE.search(text), text


def test_no_absolute_path_of_a_machine(kept):
    offences, texts = [], 0
    for name in kept:
        data = (ROOT / name).read_bytes()
        if b"\0" in data[:8000]:
            continue
        texts += 1
        for number, line in enumerate(data.decode("utf-8", errors="replace").splitlines(), 1):
            if ABSOLUTE.search(line):
                offences.append(f"{name}:{number}: {line.strip()[:80]}")
    assert texts > 20
    assert offences == []


def test_top_level_holds_the_fixed_names_only(kept):
    top = {name.split("/")[0] for name in kept}
    assert {name for name in top if not name.startswith(".")} - TOP_LEVEL == set()
    assert {"aerolib", "tests", "data", "pyproject.toml", "LICENSE"} <= top
