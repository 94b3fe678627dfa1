"""The bench check of the indicator: heights of water, a leak, and what of them is shared."""

import numpy as np
import pytest

from aerolib.case.aircraft import instrument_of, parse_aircraft
from aerolib.case.problems import CaseError
from aerolib.measured.airspeed.calibration import calibrate_airspeed
from aerolib.measured.airspeed.correction import SpeedCorrection
from aerolib.study import open_study

KT = 1852 / 3600
HEAD = 'format = 1\n[wing]\narea = "11 m2"\n[weights]\nempty = "400 kg"\nmaximum = "600 kg"\n[indicator]\n'


def bench(line):
    return instrument_of(parse_aircraft((HEAD + line).encode()))


def test_the_printed_heights_leave_a_good_needle_alone():
    """14.9, 26.5, 41.5 mm at 30, 40, 50 kt as printed: within the rounding of 0.05 mm and 0.2 % of cold water."""
    found = bench('manometer = [["30 kt", "14.9 mm"], ["40 kt", "26.5 mm"], ["50 kt", "41.5 mm"]]')
    for v in (30.0, 40.0, 50.0):
        assert found.corrected(v * KT) / KT == pytest.approx(v, abs=0.12)
    # a millimetre at 30 kt is 1.0 kt: half of 1/14.9 of the speed, by hand; nineteen times in twenty
    assert found.uncertainty(40 * KT) / KT == pytest.approx(0.5 * 30 / 14.9 / 1.96, rel=0.02)


def test_a_needle_that_reads_low_is_corrected_upwards():
    """40 kt by the needle at the column of 44 kt: 26.5 (44/40)^2 mm by hand."""
    found = bench(f'manometer = [["40 kt", "{26.5 * 1.21:.2f} mm"]]\nmanometer_within = "0.5 mm"')
    assert found.corrected(40 * KT) / KT == pytest.approx(44.0, abs=0.1)


@pytest.mark.parametrize(
    "line, words",
    [
        ('manometer = [["30 kt", "-14.9 mm"]]', "manometer"),
        ('manometer = [["30 kt", "14.9 kt"]]', "manometer"),
        ('manometer = [["30 kt", "41.5 mm"], ["50 kt", "14.9 mm"]]', "manometer"),
        ('manometer = [["30 kt", "14.9 mm"], ["30 kt", "15.9 mm"]]', "manometer"),
        ('leak = "half a knot"', "leak"),
    ],
)
def test_a_bench_check_that_cannot_be_is_refused_with_its_place(line, words):
    with pytest.raises(CaseError) as caught:
        bench(line)
    assert "aircraft.toml" in str(caught.value) and words in str(caught.value)


@pytest.mark.parametrize("leak, said", [("0.5 kt", False), ("6 kt", True)])
def test_a_large_leak_is_said(case_folder, leak, said):
    file = case_folder / "aircraft.toml"
    file.write_text(file.read_text().replace('leak = "0.5 kt"', f'leak = "{leak}"'))
    found = open_study(case_folder).calibration
    assert any("mend it" in s for s in found.sentences()) is said
    assert found.inputs["leak"].startswith(leak.split()[0])


def test_the_bench_is_shared_and_what_remains_is_the_states_own(case_folder):
    """A needle found to read 2 kt low by water: the calibrated speeds of the legs stay, position error takes less."""
    plain = open_study(case_folder).calibration
    file = case_folder / "aircraft.toml"
    rows = ", ".join(f'["{v} kt", "{v + 2} kt"]' for v in (30, 50, 80))
    file.write_text(
        file.read_text().replace("leak = ", f'instrument = [{rows}]\ninstrument_within = "0.4 kt"\nleak = ')
    )
    bench = open_study(case_folder).calibration
    assert [r.cas for r in bench.runs] == [r.cas for r in plain.runs]
    assert np.allclose([r.inner - r.ias for r in bench.runs], 2 * KT)
    for a, b in zip(plain.states, bench.states):  # needle to calibrated at the stall: the legs say it, bench or not
        assert abs(a.at_stall - b.at_stall) < 2 * a.standard_uncertainty, a.name


def test_a_pure_instrument_error_leaves_no_position_error():
    """Legs flown with nothing but the error the bench found: the state keeps none of its own."""
    cas = np.repeat(np.array([75.0, 60.0, 50.0]) * KT, 4)
    found = calibrate_airspeed(
        cas - 2 * KT, cas, track=np.tile(np.radians([0, 90, 180, 270]), 3), run=np.repeat(["1", "2", "3"], 4),
        power="idle", weight=600.0, wing_area=11.0, temperature=288.15, stalls={("before", "clean"): (43 * KT, 600.0)},
        instrument=SpeedCorrection(np.array([30, 90]) * KT, np.array([2, 2]) * KT, 0.2 * KT),
    )  # fmt: skip
    (state,) = found.states
    kept = state.correction.at(600 * 9.80665).corrected(45 * KT) / KT - 45
    assert kept == pytest.approx(0.0, abs=0.02)
    assert state.at_stall / KT == pytest.approx(2.0, abs=0.02)
