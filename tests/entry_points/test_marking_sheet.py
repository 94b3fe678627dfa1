"""The marking sheet measured back from the PDF: every tile, both papers, to 0.2 mm; the preflight card."""

import io
import math
import re

import numpy as np
import pytest

from aerolib.case.shipped import demo_folder
from aerolib.predicted.layout import KeepOut, Row, device_layout
from aerolib.show.print.marking_sheet import marking_sheet, tiles_of
from aerolib.show.print.preflight_card import preflight_card
from aerolib.show.sections.layout import card_of
from aerolib.study import open_study
from aerolib.study.layout import plan_layouts

pdfplumber = pytest.importorskip("pdfplumber")
MM = 72.0 / 25.4
SIZES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
STRAIGHT = [(0.0, 1.05, 0.0), (4.8, 1.05, 0.0)]
LENGTH, GAP, ANGLE = 0.030, 0.036, math.radians(16.0)


def layout(side="left", pitch=0.06, last=4.09, stations=STRAIGHT, **more):
    row = {"first": 0.61, "last": last, "pitch": pitch, "chord_station": 0.12, "height": 0.012, "length": LENGTH,
           "angle": ANGLE, "gap": GAP, "datum": 0.51, "side": side}  # fmt: skip
    return device_layout(Row(stations=stations, **(row | more)))


def pages_of(data):
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        return list(pdf.pages)


def told(data):
    """All words ahead of the tiles."""
    return " ".join(" ".join(p.extract_text() for p in pages_of(data)[:-1]).split())


def segments(page):
    """Straight lines of a page as (x1, y1, x2, y2) in mm from its lower left corner."""
    height = float(page.height)
    out = []
    for shape in page.lines + page.curves:
        (x1, y1), (x2, y2) = ((float(x) / MM, (height - float(y)) / MM) for x, y in (shape["pts"][0], shape["pts"][-1]))
        out.append((x1, y1, x2, y2))
    return np.array(out)


def labels(page):
    """(reading [mm], height of the label on the page [mm]) of every mark of a tile."""
    height = float(page.height)
    words = page.extract_words(keep_blank_chars=True)
    found = [(re.fullmatch(r"([+-]?[\d.]+) mm", w["text"]), (height - float(w["bottom"])) / MM) for w in words]
    return sorted((float(m[1]), y) for m, y in found if m and m[1] != "100")


def marks(page):
    """Heights [mm] of the marks across the row line."""
    lines = segments(page)
    wide = 1e3 * LENGTH * math.cos(ANGLE) + 24.0
    level = np.abs(lines[:, 1] - lines[:, 3]) < 1e-3
    across = level & (np.abs(np.abs(lines[:, 0] - lines[:, 2]) - wide) < 0.2)
    return np.unique(np.round(lines[across, 1], 4))


def check_tile(page, tile, paper):
    """Every mark where its printed reading says, from the thick line's own reading; vanes and bars at true size."""
    assert (float(page.width) / MM, float(page.height) / MM) == pytest.approx(SIZES[paper], abs=0.05)
    at, told = marks(page), labels(page)
    assert [r for r, _ in told] == pytest.approx([r for _, r in tile.marks], abs=0.051)
    assert len(at) == len(told)
    thick = min(at, key=lambda y: abs(y - next(l for r, l in told if abs(r - tile.register) < 0.06) - 3.0))
    for y, (reading, label) in zip(at, told):
        assert y - thick == pytest.approx(reading - tile.register, abs=0.2 + 0.05)  # 0.05: printed to 0.1
        assert abs(y - label) < 5.0  # the label stands beside its mark
    lines = segments(page)
    size = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1])
    turned = (np.abs(size - 1e3 * LENGTH) < 0.2) & (np.abs(lines[:, 1] - lines[:, 3]) > 1.0)
    vanes = lines[turned]
    assert len(vanes) == 2 * len(at)
    for x1, y1, x2, y2 in vanes:
        assert math.degrees(math.atan2(abs(y2 - y1), abs(x2 - x1))) == pytest.approx(16.0, abs=0.4)
        y = min(at, key=lambda v: abs(v - y1))
        assert abs(0.5 * (y1 + y2) - y) == pytest.approx(0.5e3 * GAP, abs=0.2)  # middle to middle
        assert abs(y1 - y) < abs(y2 - y)  # the front ends are closer together
    bars = lines[np.abs(size - 100.0) < 0.2]
    assert {bool(abs(b[0] - b[2]) < 1e-3) for b in bars} == {True, False}  # one along the tape, one across


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("side", ["left", "right"])
def test_every_tile_is_true(paper, side):
    """A tile for every stretch, one position moved and some dropped; no reading is 100, which is the bar's label."""
    zones = [KeepOut("fuel cap", 1.30, 1.42), KeepOut("vent", 2.055, 2.06)]
    a = layout(side, pitch=0.062, first=0.615, keep_out=tuple(zones))
    assert a.dropped and not a.even
    tiles = tiles_of(a, paper, every=True)
    pages = pages_of(marking_sheet(a, paper, every=True))
    drawn = pages[-len(tiles) :]
    assert [n for t in tiles for n, _ in t.marks] == [str(p.number) for p in a.positions]
    assert [r for t in tiles for _, r in t.marks] == pytest.approx([1e3 * p.tape for p in a.positions])
    for page, tile in zip(drawn, tiles):
        check_tile(page, tile, paper)
        text = page.extract_text()
        assert f"thick line on TAPE {tile.register:.1f} mm" in text
        assert all(w in text for w in (side.upper(), "ROOT", "TIP", "FORWARD", "100 mm"))
        assert ("RIGHT" if side == "left" else "LEFT") not in text


@pytest.mark.parametrize("paper", SIZES)
def test_one_repeating_tile_at_constant_pitch(paper):
    a = layout("left", keep_out=(KeepOut("fuel cap", 1.30, 1.42),))
    (tile,) = tiles_of(a, paper)
    assert tile.repeating and a.count < 59
    pages = pages_of(marking_sheet(a, paper))
    check_tile(pages[-1], tile, paper)
    table = " ".join(p.extract_text() for p in pages if "Readings" in p.extract_text()).split()
    for p in a.positions:  # the table has the reading of every position, and of no other
        assert f"{1e3 * p.tape:.1f}".removesuffix(".0") in table
    for d in a.dropped:
        assert f"{1e3 * d.tape:.1f}".removesuffix(".0") not in table


@pytest.mark.parametrize("paper", SIZES)
def test_left_and_right_are_mirrored(paper):
    """The same marks and vanes, mirrored about the middle of the page; below the surface the other way round."""

    def last(side, underneath=False):
        lines = segments(pages_of(marking_sheet(layout(side, underneath=underneath), paper))[-1])
        size = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1])
        wide = 1e3 * LENGTH * math.cos(ANGLE) + 24.0
        mine = lines[(np.abs(size - 1e3 * LENGTH) < 0.2) | (np.abs(size - wide) < 0.2)]
        return sorted(map(tuple, np.round(np.vstack([mine[:, :2], mine[:, 2:]]), 2).tolist()))

    left, right = last("left"), last("right")
    width = SIZES[paper][0]
    mirrored = sorted((round(width - x, 2), y) for x, y in left)
    assert left != right and len(left) > 10
    assert np.array(mirrored) == pytest.approx(np.array(right), abs=0.2)
    assert last("left", underneath=True) == right


def test_vanes_meet_the_flow_on_a_swept_row():
    """Row swept back by 20 degrees: vanes at +-16 degrees about the flight direction, that is 20 degrees off square."""
    lean = math.tan(math.radians(20.0))
    a = layout(stations=[(0.0, 1.05, 0.0), (4.8, 1.05, 4.8 * lean)])
    lines = segments(pages_of(marking_sheet(a))[-1])
    size = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1])
    vanes = lines[(np.abs(size - 1e3 * LENGTH) < 0.2) & (np.abs(lines[:, 1] - lines[:, 3]) > 1.0)]
    turns = {round(math.degrees(math.atan2(y2 - y1, abs(x2 - x1)))) for x1, y1, x2, y2 in vanes}
    assert turns == {36, 4}


def test_distances_and_steps_are_printed():
    case = open_study(demo_folder())
    left = plan_layouts(case)[0]
    text = told(marking_sheet(left, airplane=case.name, invented=True))
    # By hand: 12 % of 1260 mm; 330 mm of spar line less that, at the datum.
    assert "151.2 (first)" in text and "along the skin" in text
    assert "INVENTED" in text and "dropped at fuel cap" in text and "pull-test" in text and "licensed inspector" in text
    assert "stitching of the main spar" in text and "wing root rib, 510 mm" in text
    assert "safe" not in text.casefold()


@pytest.mark.parametrize("paper", SIZES)
def test_no_remark_is_left_out(paper):
    """More remarks than a page holds go on to the next; so do the cautions behind them."""
    notes = [f"remark {i}: {'a long word or two ' * 8}" for i in range(60)]
    data = marking_sheet(device_layout(Row(stations=STRAIGHT, first=0.61, last=4.09, pitch=0.06, chord_station=0.12,
                                           height=0.012, length=LENGTH, angle=ANGLE, gap=GAP, datum=0.51),
                                       notes=tuple(notes)), paper)  # fmt: skip
    text = told(data)
    assert (
        all(f"remark {i}:" in text for i in range(60)) and "licensed inspector" in text and "more remarks" not in text
    )


def test_section_unknown_gives_no_distance_along_the_skin():
    text = told(marking_sheet(layout()))
    assert "straightedge along the chord line, a square" in text and "126 mm" in text


def test_forty_tiles_and_their_progress():
    """Two positions a tile at 150 mm, 80 positions."""
    a = layout(pitch=0.15, last=0.61 + 0.15 * 79 + 0.001, stations=[(0.0, 1.05, 0.0), (13.0, 1.05, 0.0)])
    seen = []
    data = marking_sheet(a, every=True, progress=lambda done, of: seen.append((done, of)))
    pages = pages_of(data)
    assert a.count == 80 and len(tiles_of(a, every=True)) == 40
    assert len(pages) >= 42 and seen[-1] == (len(pages), len(pages))


def test_progress_may_stop_the_work():
    def stop(done, of):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        marking_sheet(layout(), progress=stop)


def test_preflight_card_counts_what_was_fitted():
    """40 and 39 pairs were fitted: 80 and 78 vanes."""
    case = open_study(demo_folder())
    (page,) = pages_of(card_of(case, case.layouts, case.fitted))
    text = " ".join(page.extract_text().split())
    assert "LEFT 80" in text and "RIGHT 78" in text and "ALL 158" in text and "Do not fly with 2 or more vanes" in text
    assert (float(page.width) / MM, float(page.height) / MM) == pytest.approx((148.0, 210.0), abs=0.05)
    inside = [w for w in page.extract_words() if float(w["x1"]) > float(page.width) - 5 * MM]
    assert not inside  # nothing runs off the edge
    (page,) = pages_of(preflight_card([("vanes", "left", None)]))
    assert "______ or more" in page.extract_text() and "?" in page.extract_text()


def test_preflight_card_of_what_is_planned():
    """Nothing fitted yet: 40 pairs on either side are planned, and nowhere does the card call them fitted."""
    case = open_study(demo_folder())
    (page,) = pages_of(card_of(case, case.layouts, {}))
    text = " ".join(page.extract_text().split())
    assert "LEFT 80" in text and "ALL 160" in text and "planned" in text and "are those fitted" not in text


@pytest.mark.parametrize("paper", SIZES)
def test_nothing_runs_off_the_page(paper):
    for a in plan_layouts(open_study(demo_folder())):
        for page in pages_of(marking_sheet(a, paper, airplane="A very long name of an airplane " * 4)):
            for w in page.extract_words():
                assert 4 * MM < float(w["x0"]) and float(w["x1"]) < float(page.width) - 4 * MM, w["text"]
                assert 4 * MM < float(w["top"]) and float(w["bottom"]) < float(page.height) - 4 * MM, w["text"]


@pytest.mark.parametrize("paper, behind", [("A4", 87), ("Letter", 90)])
def test_the_tape_lies_where_the_scale_is(paper, behind):
    """Step 4 says how far behind the row line to stick the tape: as far as the tile's scale stands from it."""
    pages = pages_of(marking_sheet(layout(), paper))
    assert f"{behind} mm behind it" in told(marking_sheet(layout(), paper))
    lines = segments(pages[-1])
    upright = np.abs(lines[:, 0] - lines[:, 2]) < 1e-3
    tall = lines[upright & (np.abs(lines[:, 1] - lines[:, 3]) > 150.0)]
    row, scale = max(tall[:, 0]), min(tall[:, 0])  # the left sheet: forward is to the right
    assert row - scale == pytest.approx(behind, abs=0.5)
