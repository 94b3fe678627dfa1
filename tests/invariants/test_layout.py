"""What must hold for every layout: readings, zones, sides; and what the fitted record says."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aerolib.predicted.layout import FittedRow, KeepOut, Row, device_layout, fitted_record, guidance
from aerolib.predicted.layout.fitted import NAMES
from aerolib.predicted.layout.positions import MOVED_AT_MOST
from aerolib.show.layout_words import moved_or_dropped

WING = np.array([(0.0, 1.4, 0.0), (0.5, 1.4, 0.0), (2.5, 1.2, 0.1), (4.5, 0.9, 0.3)])
ROW = {"first": 0.7, "last": 4.2, "pitch": 0.07, "chord_station": 0.1, "height": 0.012, "length": 0.03, "gap": 0.036,
       "angle": math.radians(16.0), "datum": 0.5}  # fmt: skip


def layout(**change):
    return device_layout(Row(stations=WING, **{**ROW, **change}))


def test_the_tape_lies_along_a_swept_and_tapered_row():
    a = layout()
    x = [np.interp(p.span, WING[:, 0], WING[:, 2] + 0.1 * WING[:, 1]) for p in a.positions]
    for p, q, x1, x2 in zip(a.positions, a.positions[1:], x, x[1:]):
        assert q.tape - p.tape == pytest.approx(0.07)
        if not p.span < 2.5 < q.span:  # no bend between the two
            assert math.hypot(q.span - p.span, x2 - x1) == pytest.approx(0.07)
    p = a.positions[0]  # one straight piece from the datum: the row falls back by (0.1 + 0.1 x -0.2) / 2 m a metre
    assert p.tape == pytest.approx(0.2 * math.hypot(1.0, 0.04))
    assert p.chord == pytest.approx(1.4 - 0.2 * 0.2 / 2.0)
    assert p.along_chord == pytest.approx(0.1 * p.chord)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0.6, 4.2), st.floats(0.005, 0.4), st.floats(0.0, 0.2)), max_size=4),
       st.floats(0.05, 0.2))  # fmt: skip
def test_nothing_stands_in_a_zone_and_everything_planned_is_accounted_for(zones, pitch):
    keep = [KeepOut(f"zone {i}", a, a + w, clearance=c / 10) for i, (a, w, c) in enumerate(zones)]
    try:
        a = layout(pitch=pitch, keep_out=tuple(keep))
    except ValueError as e:
        assert "leave no position" in str(e)
        return
    free = layout(pitch=pitch)
    assert sorted([p.number for p in a.positions] + [d.number for d in a.dropped]) == [p.number for p in free.positions]
    half = 0.5 * (0.036 + 0.03 * math.sin(math.radians(16.0)))
    for p in a.positions:
        assert all(p.span + half <= z.inner - z.clearance + 1e-6 or p.span - half >= z.outer + z.clearance - 1e-6
                   for z in keep)  # fmt: skip
        if p.moved_from is not None:
            assert 0.0 < abs(p.tape - p.moved_from) <= MOVED_AT_MOST * pitch + 1e-9
            assert any("moved" in s and f"position {p.number} " in s for s in moved_or_dropped(a))
    for d in a.dropped:
        assert any("dropped" in s and str(d.number) in s for s in moved_or_dropped(a))


def test_sides_differ_by_their_own_zones_only():
    zone = KeepOut("vent", 2.0, 2.3, side="right")
    left, right = (layout(side=s, keep_out=(zone,)) for s in ("left", "right"))
    kept = {p.number for p in right.positions}
    assert left.count > right.count and right.dropped
    for p in left.positions:
        if p.number in kept and next(q for q in right.positions if q.number == p.number).moved_from is None:
            assert p == next(q for q in right.positions if q.number == p.number)


def test_a_zone_ahead_of_or_behind_the_vanes_does_not_count():
    ahead, behind = KeepOut("warning vane", 2.0, 2.4, 0.0, 0.05), KeepOut("aileron gap", 2.0, 4.0, 0.7, 1.0)
    assert not layout(keep_out=(ahead, behind)).dropped
    assert layout(chord_station=0.03, keep_out=(ahead,)).dropped


def test_guidance_says_where_it_is_left():
    common = {**ROW, "height": 0.010, "length": 0.025, "pitch": 0.06, "gap": 0.03, "chord_station": 0.15}

    def lines(layer=0.015, ahead=35.0, **change):
        return guidance(Row(stations=WING, **{**common, **change}), layer, ahead)

    within = {g.quantity: g.within for g in lines()}
    assert all(within.values()) and len(within) == 7

    def outside(**change):
        return [g.quantity for g in lines(**change) if g.within is False]

    # h/delta 0.5 to 1.0; length 2 to 3 h; angle 15 to 18; pitch 5 to 7 h; gap 2.5 to 3.5 h; 10 to 30 %; 10 to 60 h
    assert outside(layer=0.021) == outside(layer=0.009) == ["height over boundary-layer thickness at the stall"]
    assert outside(length=0.035) == ["vane length over height"]
    assert outside(angle=math.radians(25.0)) == ["vane angle"]
    assert outside(pitch=0.045) == outside(pitch=0.075) == ["spacing of pairs over height"]
    assert outside(gap=0.04) == ["gap within a pair over height"]
    assert outside(chord_station=0.08) == ["chord position"]
    assert outside(ahead=65.0) == ["distance ahead of separation"]
    (gone,) = [g for g in lines(ahead=-1.0) if g.quantity == "distance ahead of separation"]
    assert "no gain" in gone.note
    single = [g for g in lines(gap=None, pitch=0.025) if g.within is False]
    assert [g.quantity for g in single] == ["spacing of single vanes over height"]
    unknown = [g.within for g in lines(None, None)]
    assert unknown.count(None) == 2


LEFT = FittedRow("vanes", "wing, upper side", "left", start=0.590, pitch=0.072, chord_distance=0.151, height=0.012,
                 angle=0.28, count=40, spares=2, mass_each=0.004, station=0.2, inspected_by="an inspector")  # fmt: skip
RIGHT = replace(LEFT, side="right")


def test_alike_sides_say_nothing():
    record = fitted_record([LEFT, RIGHT], empty_mass=400.0, empty_cg=0.3)
    assert (record.count, record.spares, record.warnings) == (80, 4, ())
    # By hand: 80 x 4 g = 0.32 kg at 0.2 m on 400 kg at 0.3 m; spares are not aboard.
    assert record.mass == pytest.approx(0.32)
    assert record.cg_shift == pytest.approx(0.32 * (0.2 - 0.3) / 400.32)


@pytest.mark.parametrize(
    "name, step",
    [("start", 0.005), ("pitch", 0.002), ("chord_distance", 0.002), ("height", 0.0005), ("angle", math.radians(2.0))],
)
def test_left_and_right_beyond_the_tolerance(name, step):
    for factor, said in ((0.9, 0), (1.2, 1)):
        other = replace(RIGHT, **{name: getattr(LEFT, name) + factor * step})
        warnings = fitted_record([LEFT, other]).warnings
        assert len(warnings) == said
        assert not said or (NAMES.get(name, name) in warnings[0] and "tolerance" in warnings[0])


def test_count_other_than_planned_is_shown_and_not_corrected():
    planned = [layout(device="vanes", side=side, pitch=0.072, last=3.68) for side in ("left", "right")]
    assert {p.count for p in planned} == {42}
    record = fitted_record([LEFT, replace(RIGHT, count=39)], planned=planned)
    assert record.count == 79
    assert any("fitted 40, planned 42" in n for n in record.notes)
    assert any("fitted 39, planned 42" in n for n in record.notes)
    assert any("40 on the left, 39 on the right" in w for w in record.warnings)


def test_one_side_alone_is_warned_of():
    assert any("left only" in w and "both sides" in w for w in fitted_record([LEFT]).warnings)
    assert any("inspected" in w for w in fitted_record([replace(LEFT, inspected_by=""), RIGHT]).warnings)
