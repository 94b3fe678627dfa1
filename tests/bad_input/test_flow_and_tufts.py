"""Devices and tufts that cannot be: each refused with what was given and what is needed, or marked and wider."""

import math

import pytest

from aerolib.case.problems import CaseError
from aerolib.case.schema import Device as Row
from aerolib.case.tufts import parse_tufts
from aerolib.estimate import Estimate, Source
from aerolib.physics.boundary_layer import march
from aerolib.physics.lifting_line import straight_taper
from aerolib.physics.panel import section_flow
from aerolib.predicted.devices import CleanWing, Device, Vanes, flow_control_increment
from aerolib.predicted.devices.flow_control import KNOT
from aerolib.predicted.devices.stalling import StallingSection
from aerolib.predicted.section import SectionLift
from aerolib.predicted.section.shapes import shape_of
from aerolib.show.sections.flow_control import item
from aerolib.study import open_study
from aerolib.study.devices import device_of, devices_of
from aerolib.together.posterior import posterior

PLAN = straight_taper(9.0, 13.0, 0.9, aileron=(2.6, 4.3), flap=(0.5, 2.5))
SHAPE = shape_of("NACA 4415").coordinates
SECTION = SectionLift("NACA 4415", 2.2e6, math.radians(-4.0), 5.9, Estimate("clmax", 1.5, "-"), 0.26, "trailing edge",
                      0.15, SHAPE)  # fmt: skip
GOOD = {"height": 0.008, "length": 0.024, "angle": 0.26, "pitch": 0.06, "station": 0.15, "inner": 0.5, "outer": 4.4}


def ask(device, planform=PLAN, **named):
    return flow_control_increment(device, CleanWing(planform, {0.0: SECTION}, 45 * KNOT, **named))


@pytest.mark.parametrize(
    "change, words",
    [
        ({"height": math.nan}, "height"), ({"height": 0.0}, "height"), ({"height": "8 mm"}, "height"),
        ({"height": 8.0}, "is the unit right"), ({"length": math.inf}, "length"), ({"pitch": -0.05}, "spacing"),
        ({"angle": 15.0}, "angle"), ({"angle": 0.0}, "angle"), ({"station": 15.0}, "chord station"),
        ({"station": math.nan}, "chord station"), ({"outer": 0.4}, "no span"), ({"inner": -0.2}, "span_inner"),
        ({"pitch": 0.01}, "below the"), ({"pitch": 0.05, "outer": 0.52}, "no vane fits"),
        ({"arrangement": "both"}, "counter-rotating or co-rotating"), ({"shape": "delta"}, "triangle or rectangle"),
    ],
)  # fmt: skip
def test_vanes_that_cannot_be(change, words):
    with pytest.raises(ValueError, match=words):
        Vanes(**{**GOOD, **change})


@pytest.mark.parametrize(
    "device, words",
    [
        (Vanes(**{**GOOD, "outer": 4.6}), "beyond the tip, 4.5 m"),
        (Vanes(**{**GOOD, "height": 0.16, "length": 0.2, "pitch": 0.4}), "more than a tenth of the chord"),
        (Vanes(**GOOD, surface="under the tailplane"), "the airplane described has wing, flap, aileron"),
        (Vanes(**GOOD, surface="ahead of rudder"), "describe it"),
        (Vanes(**GOOD, surface="nose wheel"), "the airplane described has"),
        (Device("fixed slot", 0.5, 5.0), "beyond the tip"),
    ],
)  # fmt: skip
def test_devices_this_airplane_cannot_have(device, words):
    with pytest.raises(ValueError, match=words):
        ask(device)


@pytest.mark.parametrize(
    "surface", ["flap", "aileron", "elevator", "rudder", "trim tab", "balance horn", "flap, upper side"]
)
def test_a_surface_that_moves_needs_a_clearance(surface):
    with pytest.raises(ValueError, match="licensed person has cleared balance and flutter"):
        ask(Vanes(**GOOD, surface=surface), surfaces=("elevator", "rudder", "tailplane"))
    with pytest.raises(ValueError, match="cleared"):
        ask(Vanes(**GOOD, surface=surface, cleared="  "), surfaces=("elevator", "rudder", "tailplane"))


def test_a_cleared_flap_is_answered_and_gains_nothing():
    found = ask(Vanes(**GOOD, surface="flap", cleared="inspector, 2024-05-02"))
    assert found.gain is None and found.speed is None and "no gain of CLmax is known" in found.notes[0]
    no_flap = straight_taper(9.0, 13.0, 0.9)
    with pytest.raises(ValueError, match="has wing;"):
        ask(Vanes(**GOOD, surface="flap", cleared="inspector"), no_flap)


@pytest.mark.parametrize("height, length, pitch", [(0.025, 0.05, 0.08), (0.0003, 0.002, 0.01)])
def test_odd_heights_are_marked_not_refused(height, length, pitch):
    found = ask(Vanes(**{**GOOD, "height": height, "length": length, "pitch": pitch}))
    assert found.outside and found.drag.value > 0.0 and item(found)["outside_tested_range"]


def test_unknown_device():
    with pytest.raises(ValueError, match="known are vortex generators, fixed slot"):
        Device("turbo", 0.5, 4.0)


@pytest.mark.parametrize("points", [SHAPE[:10], SHAPE[:, 0], SHAPE * [1.0, 0.0], SHAPE * math.nan])
def test_points_that_are_no_section(points):
    with pytest.raises(ValueError, match="section coordinates"):
        section_flow(points)


@pytest.mark.parametrize(
    "named, words", [({"reynolds": 5e4}, "Reynolds"), ({"clmax": 3.1}, "clmax"), ({"clmax": 0.2}, "clmax")]
)
def test_sections_the_layer_is_not_computed_for(named, words):
    with pytest.raises(ValueError, match=words):
        StallingSection(**{"coordinates": SHAPE, "reynolds": 2e6, "alpha0": -0.07, "slope": 5.9, "clmax": 1.5, **named})


def test_a_layer_past_separation_stays_finite():
    """A speed that falls to nothing: the layer lets go, and no number is not a number."""
    import numpy as np

    arc = np.linspace(0.0, 1.0, 200)
    layer = march(arc, 1.0 - 0.99 * arc, 2e6)
    assert np.isfinite(layer.shape).all() and layer.shape[-1] > 2.4 and np.isfinite(layer.thickness).all()


def test_posterior_of_nothing():
    with pytest.raises(ValueError, match="neither a prediction nor a measurement"):
        posterior(None, None)
    with pytest.raises(ValueError, match="no uncertainty above zero"):
        posterior(Estimate("p", -1.0, "m/s"), None)
    a = Estimate("p", -1.0, "m/s", {Source("x", "shared"): 0.5})
    with pytest.raises(ValueError, match="one unit"):
        posterior(a, Estimate("m", 0.1, "-", {Source("y", "shared"): 0.05}))


FULL = {"name": "row", "kind": "vane pair", "surface": "wing, upper side", "height": "8 mm", "length": "24 mm",
        "chord_station": "12 %", "span_inner": "0.6 m", "span_outer": "4.1 m", "pitch": "60 mm",
        "angle": "15 deg"}  # fmt: skip


@pytest.fixture(scope="module")
def demo():
    from aerolib.case.shipped import demo_folder

    return open_study(demo_folder())


@pytest.mark.parametrize(
    "change, words",
    [
        ({"kind": "vortex generater"}, "did you mean 'vortex generators'"), ({"height": None}, "height is missing"),
        ({"pitch": None}, "pitch is missing"), ({"span_outer": None}, "span_outer is missing"),
        ({"count": 0}, "count is 0"), ({"pitch": "5 mm"}, "below the"), ({"span_inner": "4.2 m"}, "no span"),
    ],
)  # fmt: skip
def test_rows_of_devices(demo, change, words):
    row = Row(**{k: v for k, v in {**FULL, **change}.items() if v is not None})
    with pytest.raises(CaseError, match=words) as e:
        device_of(row, demo.aircraft)
    assert "[[device]] 'row'" in str(e.value)


def test_count_stands_for_the_pitch(demo):
    row = Row(**{**{k: v for k, v in FULL.items() if k != "pitch"}, "count": 200})
    found = device_of(row, demo.aircraft)
    assert found.pitch == pytest.approx(2 * 2 * 3.5 / 200) and found.count == 200


def test_one_bad_device_does_not_hide_the_others(case_folder):
    path = case_folder / "aircraft.toml"
    path.write_text(
        path.read_text() + '\n[[device]]\nname = "odd"\nkind = "fixed slot"\nspan_inner = "1 m"\nspan_outer = "9 m"\n'
    )
    found, problems = devices_of(open_study(case_folder))
    assert len(found) == 1 and len(problems) == 1 and "'odd'" in problems[0] and "beyond the tip" in problems[0]


HEADER = "modification,configuration,ias [kt],surface,span_station [m],chord_station [%]\n"


@pytest.mark.parametrize(
    "text, words",
    [
        ("", "row 1 is empty"), (HEADER.replace(" [kt]", ""), "'ias' has no unit"),
        (HEADER.replace(" [%]", ""), "`chord_station \\[%\\]`"),
        (HEADER.replace("surface,", ""), "`surface` is missing"),
        (HEADER.replace("surface", "sorface"), "did you mean 'surface'"),
        (HEADER + "before,clean,43,wing,0.75,162\n", "162 in column .* 0 to 100 %"),
        (HEADER + "before,clean,43,wing,7.5,62\n", "0 to 4.30 m"),
        (HEADER + "before,clean,43,wing,-1,62\n", "not on the wing"),
        (HEADER + "befor,clean,43,wing,0.75,62\n", "did you mean 'before'"),
        (HEADER + "before,clean,43,roof,0.75,62\n", "surface 'roof'"),
        (HEADER + "before,clean,,wing,0.75,62\n", "no ias"),
        (HEADER + "before,clean,4.3,wing,0.75,62\n", "another unit"),
        (HEADER + "before,clean,x,wing,0.75,62\n", "'x' in column `ias"),
        (HEADER + "before,clean,43,wing,nan,62\n", "'nan' in column"),
    ],
)  # fmt: skip
def test_tufts(demo, text, words):
    with pytest.raises(CaseError, match=words):
        parse_tufts(text.encode(), demo.aircraft)


def test_tufts_say_everything_wrong_at_once_and_none_is_fine(demo):
    with pytest.raises(CaseError) as e:
        parse_tufts((HEADER + "x,clean,43,wing,0.75,162\nbefore,y,43,wing,0.75,62\n").encode(), demo.aircraft)
    assert len(e.value.problems) == 3
    empty = parse_tufts(HEADER.encode(), demo.aircraft)
    assert len(empty.ias) == 0 and empty.first_stall("before", "clean") is None
    semicolon = HEADER.replace(",", ";") + "before;clean;43;wing;0,75;62\n"
    assert parse_tufts(semicolon.encode(), demo.aircraft).span_station == pytest.approx([0.75])
