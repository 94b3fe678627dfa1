"""Flap settings that cannot be: the message names what was given, what is needed, what to do."""

import math

import numpy as np
import pytest

from aerolib.physics.lifting_line import straight_taper
from aerolib.predicted.flap.increment import flap_increment, kind_of
from aerolib.predicted.flap.span import flap_span, trimmed_clmax

DEG = math.pi / 180
WING = straight_taper(8.6, 10.6, 0.9, aileron=(2.4, 4.1))


@pytest.mark.parametrize(
    "kind, ratio, deflection, more, words",
    [
        ("sloted", 0.25, 0.5, {}, "did you mean 'slotted'"),
        ("fowler", 0.25, 0.5, {}, "did you mean 'Fowler'"),
        ("zap", 0.25, 0.5, {}, "known: plain, split"),
        ("slotted", 25.0, 0.5, {}, "write 0.25 for 25 %"),
        ("slotted", 0.55, 0.5, {}, "0.05 to 0.5 of the chord"),
        ("slotted", 0.01, 0.5, {}, "0.05 to 0.5 of the chord"),
        ("slotted", 0.25, 55 * DEG, {}, "55 deg is beyond the method for a slotted flap: it covers 0 to 50"),
        ("plain", 0.25, -20 * DEG, {}, "it covers -15 to 60"),
        ("slotted", 0.25, 38.0, {}, "was it meant in degrees"),
        ("slotted", 0.25, 0.5, {"thickness": 12.0}, "thickness 12 is more than the whole chord"),
        ("slotted", 0.25, 0.5, {"thickness": 0.01}, "single-surface wing"),
        ("plain", 0.25, 0.5, {"extension": 0.1}, "a plain flap adds nothing to the chord"),
        ("Fowler", 0.25, 0.5, {}, "give what it adds to the chord"),
        ("Fowler", 0.25, np.array([0.5, 0.6]), {"extension": np.array([0.1, 0.0])}, "give what it adds to the chord"),
        ("Fowler", 0.25, 0.5, {"extension": 0.4}, "more than the flap's own chord"),
        ("Fowler", 0.25, 0.5, {"extension": -0.1}, "0 or more of the chord"),
        ("slotted", 0.25, 0.5, {"gap": 0.01}, "the slot of a slotted flap is part of its kind"),
        ("plain", 0.25, 0.5, {"gap": 0.05}, "up to 0.02"),
        ("plain", math.nan, 0.5, {}, "not a finite number"),
        ("plain", 0.25, np.array([0.5, np.inf]), {}, "not a finite number"),
        ("plain", 0.25, 0.5, {"reynolds": 0.0}, "reynolds is 0"),
    ],
)
def test_settings(kind, ratio, deflection, more, words):
    with pytest.raises(ValueError) as e:
        flap_increment(kind, ratio, deflection, **more)
    assert words in str(e.value)


def test_one_bad_setting_of_many():
    with pytest.raises(ValueError, match="70 deg is beyond the method"):
        flap_increment("plain", 0.25, np.array([10, 70, 20]) * DEG)


@pytest.mark.parametrize(
    "ends, cutouts, words",
    [
        ((0.5, 2.6), (), "reaches over the aileron (from 2.4 m)"),
        ((2.3, 0.5), (), "inner end below the outer end"),
        ((0.5, 5.0), (), "half span, 4.3 m"),
        ((0.5, 2.0), ((1.8, 2.2),), "inside the flap"),
        ((0.5, 2.0), ((0.6, 1.2), (1.0, 1.4)), "clear of the other cut-outs"),
        ((0.5, 2.0), ((0.5, 2.0),), "take away the whole flap"),
    ],
)
def test_span(ends, cutouts, words):
    with pytest.raises(ValueError) as e:
        flap_span(WING, *ends, cutouts)
    assert words in str(e.value)


def test_trim_needs_a_wing_and_an_arm_in_chords():
    section = flap_increment("plain", 0.25, 0.5)
    with pytest.raises(ValueError, match="that of a section"):
        trimmed_clmax(section)
    wing = flap_increment("plain", 0.25, 0.5, span=flap_span(WING, 0.5, 2.3))
    with pytest.raises(ValueError, match="divide the arm by the MAC"):
        trimmed_clmax(wing, 39.5)


def test_an_estimate_is_one_number():
    with pytest.raises(ValueError, match="2 settings"):
        flap_increment("plain", 0.25, np.array([0.2, 0.3])).estimate()


def test_kinds_are_known_by_name():
    assert kind_of("double slotted").name == "double slotted"
