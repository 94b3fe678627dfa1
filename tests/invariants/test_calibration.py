"""What must hold of a circle through ground velocities whatever the numbers are."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aerolib.case.legs import FILE
from aerolib.measured.airspeed.calibration import calibrate_airspeed
from aerolib.measured.airspeed.circle import fit_circle
from aerolib.study import open_study
from aerolib.study.recordings import recorded

angles = st.lists(st.floats(0.0, 6.28), min_size=4, max_size=4)


def flown(v, wind, heading, sink=0.0):
    """Ground speeds and tracks of legs at these headings."""
    level = np.sqrt(v**2 - np.asarray(sink) ** 2)
    x, y = level * np.sin(heading) + wind[0], level * np.cos(heading) + wind[1]
    return np.hypot(x, y), np.arctan2(x, y)


@settings(max_examples=150, deadline=None)
@given(st.floats(15, 90), st.floats(-110, 110), st.floats(-110, 110), st.floats(-3.2, 3.2), st.floats(0.0, 6.28))
def test_any_wind_and_a_wrong_compass(v, wx, wy, off, first):
    """Airspeed and wind come back, however strong the wind; turning every track by one angle turns the wind alone."""
    heading = first + np.radians([0.0, 95.0, 170.0, 265.0])
    speed, track = flown(v, (wx, wy), heading)
    if speed.min() < 0.5:
        return
    c = fit_circle(speed, track)
    assert c.airspeed == pytest.approx(v, rel=1e-6)
    assert c.wind == pytest.approx((wx, wy), abs=1e-5)
    turned = fit_circle(speed, track + off)
    assert turned.airspeed == pytest.approx(v, rel=1e-6)
    assert turned.wind_speed == pytest.approx(np.hypot(wx, wy), abs=1e-5)


def test_gliding_legs():
    """With the sink rate the radius is the level part and the airspeed its hypotenuse with it."""
    heading = np.radians([20.0, 130.0, 250.0])
    speed, track = flown(25.0, (4.0, -3.0), heading, 3.0)
    assert fit_circle(speed, track, sink_rate=3.0).airspeed == pytest.approx(25.0, rel=1e-9)
    assert fit_circle(speed, track).airspeed == pytest.approx(np.sqrt(25.0**2 - 9.0), rel=1e-9)


def test_a_fourth_leg_shows_a_misread_one():
    speed, track = flown(30.0, (5.0, 2.0), np.radians([0.0, 90.0, 180.0, 270.0]))
    assert np.abs(fit_circle(speed, track).residuals).max() < 1e-9
    speed[2] += 2.0
    assert np.abs(fit_circle(speed, track).residuals).max() == pytest.approx(0.5, abs=0.05)


def test_two_days_whose_temperature_nobody_noted_do_not_cancel():
    """A perfect indicator, cold before and warm after, no temperatures: the error of the difference is stated."""
    kt, legs = 1852 / 3600, 4
    speeds, found = np.array([70.0, 56.0, 47.0]) * kt, {}
    for noted in (True, False):
        ias, gs, run, state, kelvin = [], [], [], [], []
        for modification, t in (("before", 273.15), ("after", 303.15)):
            for k, v in enumerate(speeds):
                ias += [v] * legs
                gs += [v * np.sqrt(t / 288.15)] * legs  # sea level: true airspeed goes with the root of the temperature
                run += [str(k)] * legs
                state += [modification] * legs
                kelvin += [t if noted else np.nan] * legs
        c = calibrate_airspeed(
            ias, gs, track=np.tile(np.radians([0, 90, 180, 270]), 6), run=run, modification=state, power="idle",
            temperature=kelvin, weight=600.0, wing_area=11.0,
            stalls={(m, "clean"): (42 * kt, 600.0) for m in ("before", "after")},
        )  # fmt: skip
        before, after = (c[m, "clean"].correction.at(600 * 9.80665) for m in ("before", "after"))
        v = 42 * kt
        difference = np.log(after.corrected(v) / before.corrected(v))
        b, a = before.parts_at(v), after.parts_at(v)
        u = np.sqrt(sum((a.get(s, 0.0) - b.get(s, 0.0)) ** 2 for s in {**a, **b}))
        found[noted] = (float(difference), float(u))
    assert abs(found[True][0]) < 2 * found[True][1]
    assert found[False][1] > found[True][1]
    assert abs(found[False][0]) < 3 * found[False][1]


def test_the_demonstration_is_narrower_with_its_legs(case_folder):
    """Half of the 95 % interval of CLmax: visibly narrower in every configuration that broke."""
    with_legs = {i.name: i.clmax for i in open_study(case_folder).reduction.items if i.clmax}
    (case_folder / FILE).unlink()
    text = (case_folder / "aircraft.toml").read_text()
    start, end = text.index("[[indicator.position]]"), text.index("[[configuration]]")
    (case_folder / "aircraft.toml").write_text(text[:start] + text[end:])  # nor the table of an earlier season
    bare = {i.name: i.clmax for i in open_study(case_folder).reduction.items if i.clmax}
    for name, clmax in with_legs.items():
        widths = [(e.interval95[1] - e.interval95[0]) / e.value for e in (clmax, bare[name])]
        assert widths[0] < 0.75 * widths[1], name


def test_the_budget_shows_the_share_of_the_legs(case_folder):
    for item in open_study(case_folder).reduction.items:
        if item.clmax:
            shares = {b.name: b.share for b in item.clmax.budget()}
            assert 0.02 < shares["airspeed legs"] < 0.6


def test_a_flap_setting_that_changes_otherwise_is_named(case_folder):
    """The demonstration's own: +4.2 kt before, +0.8 after with flap 20, while the others hardly moved."""
    (said,) = open_study(case_folder).calibration.unlike()
    assert said.startswith("flap 20 deg") and "leans on it" in said
    assert any("leans on it" in w for w in open_study(case_folder).reduction.notes)
    text = (case_folder / FILE).read_text().splitlines()
    card = (case_folder / "stalls.csv").read_text().splitlines()  # legs of a state that no stall was flown in
    (case_folder / "stalls.csv").write_text("\n".join(r for r in card if not r.startswith("after,clean")) + "\n")
    assert open_study(case_folder).calibration.unlike() == []  # two settings alone say nothing of each other
    kept = [line for line in text if not line.startswith("after,flap 20")]
    (case_folder / FILE).write_text("\n".join(kept) + "\n")
    assert open_study(case_folder).calibration.unlike() == []


def test_a_recording_is_read_with_the_corrections_of_its_state(case_folder):
    """Without a table of the owner's the legs give them: what is added at the stall is added in the recording too."""
    toml = case_folder / "aircraft.toml"
    text = toml.read_text()
    start, end = text.index("[[indicator.position]]"), text.index("[[configuration]]")
    toml.write_text(text[:start] + text[end:])
    study = open_study(case_folder)
    for log in study.aircraft.log:
        state = study.calibration[log.modification, "flap 0 deg"]
        added = float(recorded(study, log.file).to_cas(state.reading)) - state.reading
        assert abs(state.at_stall) > 0.5  # m/s: there is something to add
        assert added == pytest.approx(state.at_stall, abs=0.05)  # the weights differ by some percent
