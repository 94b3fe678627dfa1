"""The card for the knee: no height, no card; heights by hand; everything on the paper, in the owner's units."""

import re
from itertools import combinations

import pytest
from cards import AIRCRAFT, HEADER, STALLS

from aerolib.case.problems import CaseError
from aerolib.case.shipped import demo_folder
from aerolib.show.print.card import kneeboard_card
from aerolib.study import open_study

pdfplumber = pytest.importorskip("pdfplumber")
MM = 72.0 / 25.4
FOOT = 0.3048
SIZES = {"A5": (148.0, 210.0), "half Letter": (140.0, 216.0)}
METRIC = (
    STALLS.replace("ias [kt]", "ias [km/h]").replace("pressure_altitude [ft]", "pressure_altitude [m]")
    .replace("entry_rate [kt/s]", "entry_rate [km/h/s]").replace(",cg [m]", ",fuel [US gal],cg [m]")
)  # fmt: skip
HARDEST = {"power_stalls": True, "turning_stalls": True, "recovery_height": 700.0, "ground_elevation": 431.0}


def metric():
    """The small case in km/h, metres and gallons, with one height lost."""
    head, *rows = METRIC.strip().split("\n")
    names = head.split(",")
    place, fuel = names.index("ias [km/h]"), names.index("fuel [US gal]")
    out = [head + ",height_lost [m]"]
    for k, row in enumerate(rows):
        cells = row.split(",")
        cells.insert(fuel, "")
        cells[place] = f"{1.852 * float(cells[place]):.0f}"
        out.append(",".join([*cells, "61" if k == 2 else ""]))
    return "\n".join(out) + "\n"


def read(path):
    with pdfplumber.open(path) as pdf:
        pages = list(pdf.pages)
        return pages, [" ".join(page.extract_text().replace("\xa0", " ").split()) for page in pages]


def split(texts):
    """Texts of part 1 and of part 2."""
    first, second = ([t for t in texts if t.startswith(n)] for n in ("1 Build-up", "2 Measuring"))
    assert first + second == texts
    return " ".join(first), second


@pytest.fixture(scope="module")
def demo():
    return open_study(demo_folder())


@pytest.fixture
def out(tmp_path):
    return tmp_path / "card.pdf"


@pytest.fixture
def small(write_case):
    return open_study(write_case(AIRCRAFT, STALLS))


def many():
    """The small case with twelve configurations of long names, and a long modification."""
    rows = "".join(
        f'\n[[configuration]]\nname = "flap {40 - k} with the inboard slats taped and the doors off"\n'
        f'flap = "{40 - k} deg"\n'
        for k in range(10)
    )
    return (AIRCRAFT.split("[[modification]]")[0] + rows + '\n[[modification]]\nname = "before"\n'
            '\n[[modification]]\nname = "after"\n\n[[modification]]\n'
            'name = "after, with the second row of generators moved forward by two percent"\n').replace(
                "Wren, invented", "Wren, an airplane with a name longer than any line of the card can hold, invented"
            )  # fmt: skip


CARDS = (
    ("demonstration", {"recovery_height": 1524.0}),
    ("demonstration", {"recovery_height": 1524.0, "stalls": 8, "build_up_done": True}),
    ("demonstration", HARDEST),
    ("metric", {"recovery_height": 1524.0, "stalls": 1, "ground_elevation": -40.0}),
    ("metric", HARDEST | {"stalls": 12, "build_up_done": True}),
    ("twelve configurations", HARDEST | {"stalls": 3}),
)


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize(("of", "asked"), CARDS, ids=[f"{of}-{len(asked)}" for of, asked in CARDS])
@pytest.mark.filterwarnings("ignore:LOW recovery height:UserWarning")
def test_nothing_leaves_the_margins_or_overlaps(of, asked, paper, demo, write_case, out):
    case = demo
    if of != "demonstration":
        case = open_study(write_case(many() if of == "twelve configurations" else AIRCRAFT, metric()))
    assert kneeboard_card(case, str(out), paper=paper, **asked) == out
    pages, texts = read(out)
    for number, (page, text) in enumerate(zip(pages, texts, strict=True), start=1):
        assert (page.width / MM, page.height / MM) == pytest.approx(SIZES[paper], abs=0.1)
        assert f"{number} of {len(pages)}" in text
        assert "safe" not in text.lower()
        words = page.extract_words(x_tolerance=1.5)
        drawn = [d for d in (*page.lines, *page.rects, *page.curves) if d["width"] < page.width - 1]
        assert len(words) > 100 and len(drawn) > 15
        for d in (*words, *drawn):
            assert 6.7 * MM < d["x0"] and d["x1"] < page.width - 6.7 * MM, d
            assert 6.7 * MM < d["top"] and d["bottom"] < page.height - 6.7 * MM, d
        for a, b in combinations(words, 2):
            apart = (
                a["x1"] <= b["x0"] or b["x1"] <= a["x0"] or a["bottom"] <= b["top"] + 1 or b["bottom"] <= a["top"] + 1
            )
            assert apart, (a["text"], b["text"])
        for line in page.lines:
            for w in words:  # no rule runs through a word: letters reach from 25 % to 80 % of its height
                tall = w["bottom"] - w["top"]
                inside = w["x0"] < line["x1"] - 0.5 and line["x0"] + 0.5 < w["x1"] or w["x0"] < line["x0"] < w["x1"]
                top, bottom = w["top"] + 0.25 * tall, w["top"] + 0.8 * tall
                assert not (inside and line["top"] < bottom and line["bottom"] > top), (w["text"], line["x0"])


def test_what_is_read_in_flight_is_large_and_black(demo, out):
    kneeboard_card(demo, out, recovery_height=1524.0)
    pages, _ = read(out)
    for page in pages:
        foot = min(c["top"] for c in page.chars if c["size"] < 7.5)
        assert foot > 0.8 * page.height
        sizes = {round(c["size"], 1) for c in page.chars if c["top"] < foot}
        assert min(sizes - {8.0}) >= 9.0  # 8: the sum behind the entry height, read on the ground
        colours = {c["non_stroking_color"] for c in page.chars} | {d["stroking_color"] for d in page.lines}
        assert colours <= {(0,), (0.0,), (0, 0, 0), 0}


PART_1 = (
    "Controls full and free", "clearance at every device", "Devices counted", "Essential crew only", "Ballast secured",
    "middle CG before the limits, forward before aft",
    "Test area within reach of a landing field should the engine stop at idle",
    "approach to the stall, recovery at the first sign", "stall at idle, clean", "stall at idle, flap 20",
    "Stop the test if:", "bank beyond 15 degrees that the controls do not check", "stick force lightens or reverses",
    "ailerons act the wrong way", "controls or tail shake, other than known buffet", "more height lost than planned",
    "250 ft in a stall", "a device is missing", "turbulence", "signed", "AC 90-89A (1995), page 46",
    "(read second-hand)",
)  # fmt: skip
PART_2 = (
    "date", "flight", "crew", "CG [in]", "pressure altitude [ft]", "temperature [deg C]", "IAS", "kind", "ended",
    "warning", "buffet", "rate", "lost", "fuel", "remarks", "m minimum", "b break", "s steady", "s stop", "e early",
    "u unknown", "<35", "power: idle", "kt/s",
)  # fmt: skip
FOOT_OF_ALL = (
    "No spin is planned", "a recovery shown before a change is no evidence after it", "permit or certificate",
    "Placards, markings and approach speeds stay unchanged", "more height where the height lost", "modification: after",
    "enter no lower than", "recovery complete by", "INVENTED: not for flight", "licensed instructor or inspector",
)  # fmt: skip


@pytest.mark.parametrize("paper", SIZES)
def test_each_part_says_what_it_must(demo, out, paper):
    kneeboard_card(demo, out, recovery_height=1524.0, paper=paper)
    _, texts = read(out)
    first, second = split(texts)
    for words in PART_1:
        assert words in first, words
    for words in ("Stop the test if", "turbulence", "first sign", "Controls full and free"):
        assert words not in " ".join(second), words
    for text in texts:
        for words in FOOT_OF_ALL:
            assert words in text, words
    for text in second:
        for words in PART_2:
            assert words in text, words
        assert "Do not use this page until every box of part 1 is ticked and signed." in text
    grids = re.findall(r"(clean|flap \d+) power: idle", " ".join(second))
    assert grids == ["clean", "flap 20", "flap 38"]
    assert first.index("idle, clean") < first.index("idle, flap 20") < first.index("idle, flap 38")
    assert "power stalls" not in first and "turning" not in first and "LOW" not in first


def test_power_and_turning_stalls_only_when_asked(demo, out):
    kneeboard_card(demo, out, recovery_height=1524.0, power_stalls=True)
    first, second = split(read(out)[1])
    assert "power stalls" in first and "turning stalls" not in first and "bank ___" not in second[0]
    assert "power ____" in second[0] and "power: idle" not in second[0]
    kneeboard_card(demo, out, recovery_height=1524.0, turning_stalls=True)
    first, second = split(read(out)[1])
    assert "power stalls" not in first and "turning stalls" in first and "bank ___" in second[0]


def test_a_build_up_done_opens_part_two(demo, out):
    kneeboard_card(demo, out, recovery_height=1524.0, build_up_done=True, modification="before")
    first, second = split(read(out)[1])
    assert "Stop the test if" in first
    for text in second:
        assert "Do not use" not in text and "ticked and signed on" in text and "modification: before" in text


def test_rows_are_as_many_as_asked(demo, out):
    for rows in (2, 5):
        kneeboard_card(demo, out, recovery_height=1524.0, stalls=rows)
        pages, texts = read(out)
        numbers = [
            w["text"] for p, t in zip(pages, texts) if t.startswith("2") for w in p.extract_words() if w["x0"] < 12 * MM
        ]
        assert [n for n in numbers if n.isdigit()][1:].count(str(rows)) >= 3
        assert str(rows + 1) not in numbers[-3:]


def test_flap_settings_rise_whatever_their_order_in_the_file(write_case, out):
    case = open_study(write_case(many(), STALLS))
    kneeboard_card(case, out, recovery_height=1524.0, height_lost=80.0)
    first, _ = split(read(out)[1])
    found = re.findall(r"stall at idle, (clean|full flap|flap \d+)", first)
    # Full flap is 35 degrees, like the tenth of the others, and stands before it in the file.
    settings = [*(f"flap {k}" for k in range(31, 35)), "full flap", *(f"flap {k}" for k in range(35, 41))]
    assert found == ["clean", *settings] and "1 Build-up, continued" in first


def cells(page):
    """The numbers of the two cells on top: altimeter on QNH, above ground; entry first."""
    band = page.crop((0, 18 * MM, page.width, 36 * MM))
    halves = [band.crop((x, 18 * MM, x + page.width / 2, 36 * MM)) for x in (0, page.width / 2)]
    out = []
    for half in halves:
        for smallest, largest in ((13, 15), (8.5, 9.5)):
            bold = half.filter(lambda o, a=smallest, b=largest: "Bold" in o.get("fontname", "") and a < o["size"] < b)
            out.append(" ".join(bold.extract_text().split()))
        assert re.search("altimeter on QNH", " ".join(half.extract_text().split()))
    return out


def test_entry_height_by_hand_in_feet(demo, out):
    # 5,000 ft above ground; the card's largest loss is 250 ft: 5,000 + 3 x 250 = 5,750; ground at 1,240 ft: 6,990.
    assert max(demo.stalls.si["height_lost"]) == pytest.approx(250 * FOOT)
    kneeboard_card(demo, out, recovery_height=5000 * FOOT, ground_elevation=1240 * FOOT)
    with pdfplumber.open(out) as pdf:
        for page in pdf.pages:
            assert cells(page) == ["6,990 ft", "5,750 ft", "6,240 ft", "5,000 ft"]
    assert "5,000 + 3 x 250 (largest height lost so far) = 5,750 ft" in read(out)[1][0]
    assert "Ground elevation 1,240 ft, altimeter on QNH" in read(out)[1][0]


def test_entry_height_by_hand_in_metres(write_case, out):
    # 1,500 + 3 x 61 = 1,683 m, rounded up to 1,685; ground at 212 m counts as 215: 1,900 and 1,715 m.
    case = open_study(write_case(AIRCRAFT, metric()))
    kneeboard_card(case, out, recovery_height=1500.0, ground_elevation=212.0)
    _, texts = read(out)
    first, second = split(texts)
    assert "1,500 + 3 x 61 (largest height lost so far) = 1,683 m above ground, rounded up to 1,685 m" in first
    with pdfplumber.open(out) as pdf:
        for page in pdf.pages:
            assert cells(page) == ["1,900 m", "1,685 m", "1,715 m", "1,500 m"]
    for unit in ("km/h", "km/h/s", "US gal", "[m]", "<64.8"):
        assert unit in second[0], unit
    assert "kt" not in second[0]


def test_the_larger_of_estimate_and_record_counts(demo, out):
    kneeboard_card(demo, out, recovery_height=5000 * FOOT, height_lost=400 * FOOT)
    assert "5,000 + 3 x 400 (estimate of the height lost) = 6,200 ft" in read(out)[1][0]
    kneeboard_card(demo, out, recovery_height=5000 * FOOT, height_lost=100 * FOOT)
    assert "3 x 250 (largest height lost so far)" in read(out)[1][0]


def test_a_stall_left_out_lost_its_height_all_the_same(write_case, out):
    head, first, *rest = STALLS.strip().split("\n")
    assert head == HEADER and head.endswith("left_out")
    text = "\n".join([head + ",height_lost [ft]", first + "needle stuck,900", *(r + ",100" for r in rest)]) + "\n"
    kneeboard_card(open_study(write_case(AIRCRAFT, text)), out, recovery_height=5000 * FOOT)
    assert "3 x 900" in read(out)[1][0]


def test_heights_not_lost_are_asked_for(small, out):
    with pytest.raises(CaseError, match="no row of `stalls.csv` has its height_lost noted; give an estimate"):
        kneeboard_card(small, out, recovery_height=1500.0)
    assert not out.exists()
    kneeboard_card(small, out, recovery_height=5000 * FOOT, height_lost=300 * FOOT)
    assert "5,000 + 3 x 300 (estimate of the height lost) = 5,900 ft" in read(out)[1][0]


@pytest.mark.parametrize("height", (None, 0.0, -300.0, float("nan"), "5000 ft", True))
def test_no_height_no_card(demo, out, height):
    with pytest.raises(CaseError) as e:
        kneeboard_card(demo, out, recovery_height=height)
    assert not out.exists()
    said = str(e.value)
    for words in (
        "height above ground, in meters, at which recovery must be complete", "AC 90-89A (1995), page 46: 5,000 ft",
        "Transport Canada TP 13984: stalls recovered at or above 2,000 ft", "14 CFR 91.303: aerobatics never below",
        "(read)", "(read second-hand)", "Common practice, no source: not below 3,000 ft",
    ):  # fmt: skip
        assert words in said, words
    assert "safe" not in said.lower()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"recovery_height": 5000.0}, "recovery_height is 5000 m, that is 16,404 ft.*were feet meant"),
        ({"ground_elevation": float("inf")}, "ground_elevation is inf; needed is"),
        ({"height_lost": 0.0}, "height_lost is 0.0; needed is"),
        ({"height_lost": 2000.0}, "height_lost is 2000.0; needed is"),
        ({"paper": "A4"}, "no card on 'A4'; write 'A5' or 'half Letter'"),
        ({"modification": "aftr"}, "no modification 'aftr'; did you mean 'after'"),
        ({"stalls": 0}, "stalls = 0 does not fit.*1 to 12"),
        ({"stalls": 13}, "stalls = 13 does not fit"),
        ({"stalls": 4.0}, "stalls = 4.0 does not fit"),
    ],
)
def test_refusals(demo, out, given, said):
    with pytest.raises(CaseError, match=said):
        kneeboard_card(demo, out, **({"recovery_height": 1524.0} | given))
    assert not out.exists()


def test_below_3000_ft_the_card_and_a_warning_say_so(demo, out):
    with pytest.warns(UserWarning, match="common practice, no source"):
        kneeboard_card(demo, out, recovery_height=2990 * FOOT)
    for text in read(out)[1]:
        assert "LOW recovery height" in text and "3,000 ft (914 m) above ground (common practice, no source)" in text
    kneeboard_card(demo, out, recovery_height=3000 * FOOT)  # a warning would be an error here
    assert not any("LOW" in text for text in read(out)[1])


def test_the_same_card_twice_is_the_same_file(demo, tmp_path):
    one, two = (kneeboard_card(demo, tmp_path / n, recovery_height=1524.0).read_bytes() for n in ("a.pdf", "b.pdf"))
    assert one == two
