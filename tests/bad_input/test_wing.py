"""What can be wrong with a wing: each case gives one message that says where, what was given and what to do."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from aerolib.case.aircraft import parse_aircraft
from aerolib.case.problems import CaseError
from aerolib.estimate import Estimate
from aerolib.physics.lifting_line import LiftingLine, Planform, straight_taper
from aerolib.predicted.wing import SpanIncrement, wing_clmax
from aerolib.study.planform import planform_of

WING = {
    "area": "12.0 m2", "span": "9.0 m", "chord_root": "1.40 m", "chord_tip": "1.27 m", "twist": "-1 deg",
    "flap_inner": "0.5 m", "flap_outer": "2.2 m", "aileron_inner": "2.3 m", "aileron_outer": "4.2 m",
}  # fmt: skip


def aircraft(fuselage="", **changes):
    lines = [f'{k} = "{v}"' for k, v in {**WING, **changes}.items() if v is not None]
    wing = "\n".join(lines)
    return parse_aircraft(
        f'format = 1\n[wing]\n{wing}\n[weights]\nempty = "350 kg"\nmaximum = "600 kg"\n'
        f"[fuselage]\n{fuselage}\n".encode()
    )


def test_the_measures_as_they_are():
    wing = planform_of(aircraft('width = "1.0 m"'))
    assert wing.area == pytest.approx(12.0) and wing.side == 0.5
    assert wing.flap == (0.5, 2.2) and wing.aileron == (2.3, 4.2)
    assert wing.twist_at([0.0, 0.5, 4.5]) == pytest.approx(np.radians([0.0, 0.0, -1.0]))
    assert any("scaled" in n for n in planform_of(aircraft(area="12.5 m2")).notes)
    assert any("twist" in n for n in planform_of(aircraft(twist=None)).notes)
    assert planform_of(aircraft(flap_kind="none")).flap is None
    middle = planform_of(aircraft(chord_middle="1.40 m", area="12.3 m2"))
    assert middle.chord_at(2.25) == pytest.approx(middle.chord_at(0.0))


MEASURES = {
    "no span": ({"span": None}, ["`aircraft.toml` [wing] span is missing", "tip to tip"]),
    "no chords": ({"chord_root": None, "chord_tip": None}, ["chord_root is missing", "chord_tip is missing"]),
    "half the span": ({"span": "4.5 m"}, ["6.008 m2", "12 m2", "tip to tip"]),
    "aspect ratio": ({"span": "6.5 m", "chord_root": "2.0 m", "chord_tip": "1.7 m", "flap_inner": None,
                      "flap_outer": None, "aileron_inner": None, "aileron_outer": None},
                     ["aspect ratio 3.5", "below 4"]),
    "flap over aileron": ({"flap_outer": "2.6 m"}, ["flap (to 2.6 m)", "aileron (from 2.3 m)"]),
    "flap past the tip": ({"flap_outer": "5.2 m", "aileron_inner": None, "aileron_outer": None}, ["5.2 m", "4.5 m"]),
    "flap inside out": ({"flap_inner": "2.2 m", "flap_outer": "0.5 m"}, ["flap", "inner end below outer"]),
    "one end": ({"aileron_outer": None}, ["aileron_outer is missing"]),
    "swept": ({"sweep": "25 deg"}, ["sweep 25 degrees", "15"]),
}  # fmt: skip


@pytest.mark.parametrize("case", MEASURES)
def test_measures_that_cannot_be(case):
    changes, words = MEASURES[case]
    with pytest.raises(CaseError) as caught:
        planform_of(aircraft(**changes))
    assert "`aircraft.toml` [wing]" in str(caught.value)
    assert all(w in str(caught.value) for w in words), str(caught.value)


def section(clmax=1.5, alpha0=-0.07, slope=2 * math.pi):
    return SimpleNamespace(alpha0=alpha0, slope=slope, clmax=Estimate("clmax", clmax, "-"))


GOOD = straight_taper(8.0, 9.0, 0.8)
CALLS = {
    "chord zero at the tip": (lambda: straight_taper(8.0, 9.0, 0.0), "above 0"),
    "chord zero": (lambda: Planform(8.0, (0.0, 4.0), (1.0, 0.0)), "every chord"),
    "stations": (lambda: Planform(8.0, (0.0, 3.0), (1.0, 0.9)), "half the span, 4 m"),
    "lengths": (lambda: Planform(8.0, (0.0, 2.0, 4.0), (1.0, 0.9)), "3, 2, 3"),
    "twist in degrees": (lambda: Planform(8.0, (0.0, 4.0), (1.0, 0.9), (0.0, -2.0)), "in degrees"),
    "low aspect ratio": (lambda: straight_taper(6.0, 9.1, 1.0), "below 4"),
    "fuselage": (lambda: straight_taper(8.0, 9.0, 1.0, side=5.0), "half-width 5 m"),
    "slope per degree": (lambda: LiftingLine(GOOD, 0.1), "per degree"),
    "step off the wing": (lambda: LiftingLine(GOOD).loading(0.0, [(1.0, 5.0, 0.1)]), "half the span, 4 m"),
    "step inside out": (lambda: LiftingLine(GOOD).loading(0.0, [(2.0, 1.0, 0.1)]), "inner end below outer"),
    "deflection as shift": (lambda: SpanIncrement(0.5, 2.0, 0.9, -math.radians(40), "flap 40"), "flap 40.*deflection"),
    "shift in degrees": (lambda: SpanIncrement(0.5, 2.0, 0.9, -12.0), "in degrees"),
    "increment in percent": (lambda: SpanIncrement(0.5, 2.0, 90.0, -0.1), "percent"),
    "limit below zero": (
        lambda: wing_clmax(GOOD, section(1.0), increments=[SpanIncrement(0.0, 4.0, -1.2, 0.0)]),
        "above",
    ),
    "section place in percent": (lambda: wing_clmax(GOOD, {0.0: section(), 100.0: section()}), "0 to 1"),
    "no section": (lambda: wing_clmax(GOOD, {}), "0 to 1"),
    "first stall off the wing": (lambda: wing_clmax(GOOD, section(), first_stall=60.0), "not on the wing"),
    "trim loss in percent": (lambda: wing_clmax(GOOD, section(), trim_loss=Estimate("loss", 5.0, "-")), "in percent"),
}


@pytest.mark.parametrize("case", CALLS)
def test_arguments_that_cannot_be(case):
    call, words = CALLS[case]
    with pytest.raises(ValueError, match=words):
        call()
