"""The trade's words: what a reader of report, terminal, files, workbooks or messages sees has no word of our own.

Each row of WORDS is a pattern and what to say instead; each row of MEANT a pattern that stays, and why.
"""

from __future__ import annotations

import ast
import html
import json
import re
from pathlib import Path

import pytest
from right_way_up.odd_cases import report

import aerolib.study.stalls as room

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "data"

WORDS = {
    r"wing breaks": "stall break (nose or wing drops)",
    r"on the altimeter(?!,? (on|set to) QNH)": "altimeter on QNH",
    r"\bbind(s|ing)?\b": "limits",
    r"calibrat\w* (your |the |an )?(airspeed )?(indicator|needle)": "airspeed calibration (position error)",
    r"true (air)?speed at the stall": "calibrated airspeed",
    r"\bincidence\b": "angle of attack; incidence is the rigging angle",
    r"\bpitch (of|between|from) (the |one )?(device|vane|generator|pair)|device pitch": "spacing",
    r"breaks? (that|which) limit": "exceeds",
    r"(?<!standard )\bmean chord": "MAC or standard mean chord",
    r"\d ?% sure": "one-sided 95 % limit",
    r"\bmixed\b": "combined (of a stall); kept apart",
    r"\bneedles?\b": "indicated airspeed, or the indicator",
    r"\blet(s|ting)? go\b": "separates, stalls, releases the stick",
    r"(?<!boundary )\blayer (is|lets|at|below|above)\b|than the layer\b": "boundary layer",
    r"steepest climb": "best angle, V_X",
    r"\bover 15 m\b": "from or to 15 m (50 ft)",
    r"\buphill\b|wind from ahead": "runway slope, headwind",
    r"first touch\b": "CL at first section stall",
    r"extension to the stall": "extrapolation",
    r"miss the circle": "residual",
    r"(?<!uncertainty )\bstandard contribution": "standard-uncertainty contribution",
    r"truth held": "coverage",
    r"\bsigmas?\b": "standard uncertainties apart",
    r"\boracle": "the width if all shared errors were known",
    r"weighing datum": "reference datum",
    r"(body )?datum line|body datum": "leveling line",
    r"\bledger\b": "summary of changes",
    r"\bVs\b": "V_S1g or the minimum speed",
    r"\bsafer?\b|\bsafely\b": "nothing is called safe",
    r"did not break, so": "no stall break after the change, lower limit only",
    r"nothing is said of": "not included",
    r"not known well enough": "not determinable",
    r"mean'? ships": "the value given is the table's mean",
    r"flights teach": "fitted to N flights",
    r"cannot be landed with": "cannot be used in the landing",
    r"the slip behind": "the likely mistake",
    r"relieved where|robbed where": "name the span and the lift change",
    r"cannot be caught": "a stall near the ground is not recoverable",
    r"holds? zero": "includes zero",
    r"again and again": "use this template at every position",
    r"does not fly with": "do not fly with",
    r"nothing in the box": "continue only if no stop condition occurred",
    r"\bcent(re|red|res|reline)\b": "center",
    r"\b(milli|centi|kilo)?metres?\b|\b\w*litres?\b|\bfibre": "meter, liter, fiber",
    r"manoeuv": "maneuver",
    r"colour|favour|neighbour|behaviour|harbour|vapour": "color, favor ...",
    r"(?<!/)aerofoil|aeroplane|aluminium|\bgrey\b|\bmould|draught|\btyres?\b|\bploughs?\b": "airfoil, airplane ...",
    r"programme": "test program",
    r"judgement|\blicences?\b|\bdefence\b|\bwhilst\b|\blearnt\b|\bageing\b": "judgment, license ...",
    r"\w(modell|labell|levell|travell|cancell|signall|fuell)(ed|ing)\b|\b(modell|labell|levell|travell|cancell)(ed|ing)\b":
        "modeled, leveling ...",
    r"\b(\w+(al|mal|in|im|or|tr|og|it)is(e|ed|es|ing|ation)|analys(e|ed|es))\b(?<!raise)(?<!raised)(?<!raises)":
        "-ize, analyze",
}  # fmt: skip
MEANT = {
    r"\[(wing|tail)\] incidence|\b(wing|tail|tailplane)('s)? incidence": "the rigging angle",
    r"incidence at the tip minus incidence at the root|less incidence at the tip": "the rigging angle",
    r"\(sigma\^": "the density ratio in a formula",
    r"from ground velocities alone: true airspeed at the stall": "a true airspeed is what a receiver's tracks give",
}
# Names of the files' own that a program reads: keys of tables and of report.json, modules, formats and CSS classes.
CODE = re.compile(r"`[^`]*`|<code>.*?</code>|\{[^{}]*\}", re.S)
IDENTIFIER = re.compile(r"[a-z][\w.-]*")


def offences(text: str) -> list[str]:
    """Every word of ours that stands in a text: where, and what to say."""
    text = CODE.sub(" ", text)
    for meant in MEANT:
        text = re.sub(meant, " ", text, flags=re.I | re.M)
    return [
        f"'{text[max(0, m.start() - 40) : m.end() + 40]}': {say}"
        for word, say in WORDS.items()
        for m in re.finditer(word, text, re.I)
    ]


def page_text(page: str) -> str:
    """What is read of a page: no styles, scripts or pictures; a picture's text for those who cannot see it stays."""
    page = re.sub(r"<(style|script)\b.*?</\1>", " ", page, flags=re.S)
    page = re.sub(r"<img[^>]*?alt=\"([^\"]*)\"[^>]*>", r" \1 ", page)
    return html.unescape(re.sub(r"<(?!code|/code)[^>]*>", " ", page))


def sentences(data) -> list[str]:
    """Every text of a JSON value that is more than a name."""
    if isinstance(data, dict):
        return [s for v in data.values() for s in sentences(v)]
    if isinstance(data, list):
        return [s for v in data for s in sentences(v)]
    return [data] if isinstance(data, str) and " " in data else []


def literals(path: Path) -> list[str]:
    """Every text of a module that is more than a name and no docstring; `{}` where a value goes in."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    whole = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr) and isinstance(n.value, ast.Constant)}
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            whole.update(id(part) for part in node.values)
            found.append("".join(p.value if isinstance(p, ast.Constant) else "{}" for p in node.values))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in whole:
            found.append(node.value)
    return [text for text in found if not IDENTIFIER.fullmatch(text)]


def settings(text: str) -> str:
    """Remarks of a settings file and the texts of its values: keys are the contract's."""
    return re.sub(r"^#?\w+ = ", "", text, flags=re.M)


def cells(path: Path) -> str:
    """Markdown of a workbook."""
    book = json.loads(path.read_text(encoding="utf-8"))
    return "\n".join("".join(c["source"]) for c in book["cells"] if c["cell_type"] == "markdown")


@pytest.fixture(scope="module", params=["demo", "nosewheel"])
def told(request, tmp_path_factory):
    """What the report of a demonstration says; its Monte Carlo check is a short one."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(room, "DRAWS", room.FEWEST_DRAWS)
        return report(DATA / request.param, tmp_path_factory.mktemp(request.param) / "out")


def test_the_page_says_the_trades_words(told):
    text = page_text(told.page)
    assert len(text) > 20_000
    assert not offences(text)


def test_the_terminal_says_the_trades_words(told):
    assert len(told.text) > 1_000
    assert not offences(told.text)


def test_the_sentences_for_programs_say_the_trades_words(told):
    said = sentences(told.data)
    assert len(said) > 100
    assert not [o for s in said for o in offences(s)]


@pytest.mark.parametrize("path", sorted((ROOT / "workbooks").glob("*.ipynb")), ids=lambda p: p.stem)
def test_the_workbooks_say_the_trades_words(path):
    assert not offences(re.sub(r"\$[^$]*\$", " ", cells(path)))


FILES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "tests" / "README.md",
         *sorted(DATA.glob("*/*.md")), *sorted((ROOT / "aerolib" / "case").glob("template_*")),
         *sorted(DATA.glob("*/aircraft.toml"))]  # fmt: skip


@pytest.mark.parametrize("path", FILES, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_the_files_an_owner_reads_say_the_trades_words(path):
    text = path.read_text(encoding="utf-8")
    assert not offences(settings(text) if path.suffix == ".toml" else text)


def test_messages_labels_captions_and_sheets_say_the_trades_words():
    """Every text in the code that is no name: an error, a label or a sheet need not be made to be read."""
    read = {path: literals(path) for path in sorted((ROOT / "aerolib").rglob("*.py"))}
    assert sum(map(len, read.values())) > 3_000
    assert not [f"{p.relative_to(ROOT)}: {o}" for p, texts in read.items() for t in texts for o in offences(t)]


def test_the_list_finds_what_it_should():
    for text in (
        "fly until the wing breaks", "5,750 ft on the altimeter", "the tail binds", "calibrate the indicator by GPS",
        "its incidence is 15 degrees", "pitch of the vanes", "95 % sure", "stall: mixed", "the needle showed 44",
        "the flow lets go", "taller than the layer", "0.7 sigmas apart", "the manoeuvring speed", "our judgement",
        "a row is modelled", "digitised by others", "this is safer", "along the datum line", "2 metres",
    ):  # fmt: skip
        assert offences(text), text
    for text in ("[wing] incidence", "altimeter on QNH", "the standard mean chord", "pitch attitude", "`pitch`",
                 "a modeled row", "raised", "boundary layer is thick"):  # fmt: skip
        assert not offences(text), text
