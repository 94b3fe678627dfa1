"""`from aerolib import ...` is all that an example needs: README's lines run, and every name leads somewhere."""

import ast
import json
import re
from pathlib import Path

import pytest

import aerolib

ROOT = Path(__file__).resolve().parents[2]
PROMISED = (
    "read_case Study open_study reduce_stalls compare plan_test calibrate_airspeed section_lift wing_clmax "
    "flap_increment flow_control device_layout landing_attitude tail_authority operating_speeds Airplane Estimate "
    "CaseError"
).split()


def test_every_name_is_there_and_says_what_it_does():
    assert set(PROMISED) <= set(aerolib.__all__) <= set(dir(aerolib))
    for name in aerolib.__all__:
        assert (getattr(aerolib, name).__doc__ or "").strip(), name
    with pytest.raises(AttributeError, match="reduce_stall"):
        aerolib.reduce_stall


def test_a_type_checker_reads_the_same_names():
    tree = ast.parse(Path(aerolib.__file__).read_text(encoding="utf-8"))
    block = next(n for n in tree.body if isinstance(n, ast.If) and ast.unparse(n.test) == "TYPE_CHECKING")
    seen = {a.asname: (n.module, a.name) for n in block.body for a in n.names}
    assert set(seen) == set(aerolib.__all__)
    for name, (module, attribute) in seen.items():
        place, _, other = aerolib._PLACES[name].partition(":")
        assert (f"aerolib.{place}", other or name) == (module, attribute)


def blocks():
    """Python in README and in the prose of the workbooks: (where, source)."""
    texts = {"README.md": (ROOT / "README.md").read_text(encoding="utf-8")}
    for path in sorted((ROOT / "workbooks").glob("*.ipynb")):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        texts[path.name] = "\n".join("".join(c["source"]) for c in cells if c["cell_type"] == "markdown")
    return [(where, b) for where, text in texts.items() for b in re.findall(r"```python\n(.*?)```", text, re.S)]


def test_readmes_lines_run(monkeypatch, capsys):
    """At most five of them, run from the clone as a reader would; what they print are intervals and a verdict."""
    monkeypatch.chdir(ROOT)
    sources = [source for where, source in blocks() if where == "README.md"]
    assert sources and all(len([x for x in s.splitlines() if x.strip()]) <= 5 for s in sources)
    for source in sources:
        exec(compile(source, "README.md", "exec"), {})
    out = capsys.readouterr().out
    assert out.count("95 %") >= 3 and any(words in out for words in ("shown", "suggested"))


def test_examples_take_nothing_from_other_rooms():
    for where, source in blocks():
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.ImportFrom) and node.module.startswith("aerolib"):
                assert node.module == "aerolib", f"{where}: {ast.unparse(node)}"
                assert {a.name for a in node.names} <= set(aerolib.__all__)


def test_a_section_of_the_table_is_the_measured_one():
    """NACA TR 824 page 131, NACA 0006 at 6e6: 0.837 as printed in data/published/naca_tr824.csv."""
    found = aerolib.section_lift("NACA 0006", 6e6)
    assert found.clmax.value == pytest.approx(0.837, abs=5e-4) and "TR 824" in found.source
    assert "TR 824 (1945) page" not in aerolib.section_lift("NACA 0006", 6e6, table=None).source


def test_an_airplane_from_plain_numbers():
    """A rectangular wing and a tail by hand: A = 100/15; V_H = 2.4 x 5/(15 x 1.5) = 0.533; the 4412's zero lift."""
    section = aerolib.section_lift("NACA 4412", 3e6)
    a = aerolib.Airplane.from_geometry(
        aerolib.Planform(10.0, (0.0, 5.0), (1.5, 1.5)), section, mac=1.5, wing_incidence=0.03, tail_area=2.4,
        tail_span=3.1, tail_arm=5.0, tail_incidence=-0.02, elevator_up=0.45, elevator_share=0.4,
    )  # fmt: skip
    assert a.aspect_ratio == pytest.approx(100 / 15) and a.tail_volume == pytest.approx(0.5333, abs=1e-4)
    assert a.alpha0 == pytest.approx(section.alpha0, abs=1e-3) and a.stop_up == -0.45 and a.taper == 1.0
    # finite_slope by hand: A 4.004, 2 pi A/(2 + sqrt(A^2/0.81 + 4)); the 4412's moment 0.88 x -0.106 - 0.01
    assert a.tail_slope == pytest.approx(3.658, abs=0.001) and a.moment0 == pytest.approx(-0.103, abs=0.003)
    whole = aerolib.Airplane.from_geometry(
        aerolib.Planform(10.0, (0.0, 5.0), (1.5, 1.5)), section, mac=1.5, wing_incidence=0.03, tail_area=2.4,
        tail_span=3.1, tail_arm=5.0, tail_incidence=-0.02, elevator_up=0.2,
    )  # fmt: skip
    assert whole.effectiveness == 1.0
