"""Legs that cannot be used: each says which, what is wrong and what to do; what can be kept is kept."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from aerolib.case.legs import FILE, parse_legs
from aerolib.case.problems import CaseError
from aerolib.measured.airspeed.calibration import calibrate_airspeed
from aerolib.measured.airspeed.circle import fit_circle
from aerolib.study import open_study

D = np.radians


@pytest.mark.parametrize(
    "speeds, tracks, words",
    [
        ([60, 61, 62], [10, 12, 200], "nearly the same track"),
        ([60, 61, 62], [10, 10, 130], "legs 1 and 2"),
        ([60, 61, 62], [10, 30, 50], "degrees of each other"),
        ([60, 61], [10, 130], "need three legs or more"),
        ([60, 0, 62], [10, 130, 250], "above zero"),
        ([60, 61, 62], [10, math.nan, 250], "a track"),
    ],
)
def test_geometry_that_says_nothing_is_refused(speeds, tracks, words):
    with pytest.raises(ValueError, match=words):
        fit_circle(speeds, D(tracks))


def test_no_glide():
    with pytest.raises(ValueError, match="is its unit right"):
        fit_circle([25.0, 26.0, 27.0], D([0, 120, 240]), sink_rate=20.0)


def run(speeds=(60, 60, 60, 60), ias=56.0, **more):
    """One run of four legs without wind."""
    kt = 1852 / 3600
    return calibrate_airspeed(
        np.full(4, ias * kt), np.array(speeds) * kt, track=D([0, 90, 180, 270]), power="idle", weight=600.0,
        wing_area=11.0, **{"temperature": 288.15, "stalls": {("before", "clean"): (42 * kt, 600.0)}, **more},
    )  # fmt: skip


@pytest.mark.parametrize(
    "given_, words",
    [
        ({"ias": 30.0}, "another unit"),
        ({"pressure_altitude": np.array([0, 0, 0, 300.0])}, "one height"),
        ({"pressure_altitude": math.nan}, "note it"),
        ({"power": np.array(["idle", "idle", "level", "idle"])}, "more than one power"),
    ],
)
def test_a_run_is_left_out_with_its_reason(given_, words):
    given_ = dict(given_)
    power = given_.pop("power", None)
    found = run(**given_) if power is None else calibrate_airspeed(
        [30.0] * 4, [30.0] * 4, track=D([0, 90, 180, 270]), power=power, weight=600.0, wing_area=11.0)  # fmt: skip
    assert found.runs == () and words in found.refused[0]


def test_readings_apart_in_one_run():
    found = calibrate_airspeed(np.array([30.0, 30.0, 33.0]), [30.0] * 3, track=D([0, 120, 240]), weight=600.0,
                               wing_area=11.0)  # fmt: skip
    assert "one reading" in found.refused[0]


HEADER = (
    "modification,configuration,run,power,ias [kt],ground_speed [kt],track [deg],pressure_altitude [ft],"
    "temperature [deg C],place\n"
)
LINE = "before,clean,1,level,60,{},{},3000,9,{}\n"
GOOD = HEADER + "".join(LINE.format(v, t, "field") for v, t in ((62, 0), (60, 90), (58, 180), (60, 270)))


@pytest.fixture
def with_legs(case_folder):
    def read(text):
        (case_folder / FILE).write_text(text)
        return open_study(case_folder)

    return read


def test_the_good_file_is_read(with_legs):
    case = with_legs(GOOD)
    assert len(case.calibration.runs) == 1


@pytest.mark.parametrize(
    "old, new, words",
    [
        ("ground_speed [kt]", "ground_speed [furlong]", ["row 1", "furlong"]),
        (",62,", ",,", ["row 2", "ground_speed"]),
        (",62,", ",6x,", ["row 2", "6x"]),
        (",62,", ",6200,", ["row 2", "another unit"]),
        ("before,clean,1,level,60,62", "befor,clean,1,level,60,62", ["row 2", "'befor'", "before"]),
        ("before,clean,1,level,60,62,0", "before,clean,1,level,60,62,", ["row 2", "track"]),
        (",track [deg]", ",tracks [deg]", ["row 1", "track"]),
        ("ias [kt]", "ias", ["row 1", "ias"]),
    ],
)
def test_every_mistake_names_file_and_place(with_legs, old, new, words):
    with pytest.raises(CaseError) as caught:
        with_legs(GOOD.replace(old, new, 1)).calibration
    assert all(w in str(caught.value) for w in [FILE, *words]), str(caught.value)


def test_two_places_are_said(with_legs):
    case = with_legs(GOOD.replace("180,3000,9,field", "180,3000,9,coast"))
    assert any("coast and field" in n for n in case.calibration.sentences())


def test_a_left_out_leg_stays_out(with_legs):
    text = GOOD.replace("place\n", "left_out\n").replace(",field", ",").replace("58,180,3000,9,", "58,180,3000,9,gust")
    found = with_legs(text).calibration
    assert len(found.runs[0].circle.residuals) == 3


def test_no_legs_is_no_error(case_folder):
    (case_folder / FILE).unlink()
    assert open_study(case_folder).calibration is None


DEMO = open_study(Path(__file__).resolve().parents[2] / "data" / "demo")
PLAIN = GOOD.encode()


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.integers(0, len(PLAIN) - 1),
    st.binary(max_size=4) | st.text('0123456789.,-;ab\n"', max_size=4),
    st.integers(0, 6),
)
def test_anything_is_calibrated_from_or_explained(place, put, cut):
    """Bytes in, out or changed anywhere: a calibration, or one message that names the file."""
    put = put.encode() if isinstance(put, str) else put
    try:
        legs = parse_legs(PLAIN[:place] + put + PLAIN[place + cut :], DEMO.aircraft)
        found = DEMO.changed(tables={FILE: legs}).calibration
    except CaseError as e:
        assert FILE in str(e)
    else:
        assert found is None or found.runs or found.refused
