"""A recording of a case as `find_stalls` takes it: its file, its lags, and the airspeed corrections of its state."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerolib.atmosphere import GRAVITY
from aerolib.case.aircraft import error_sizes, flaps_of, instrument_of
from aerolib.case.problems import CaseError
from aerolib.case.recordings import FOLDER, load_log, log_of
from aerolib.case.recordings import corrections_of as lags_of
from aerolib.case.schema import Log
from aerolib.measured.airspeed.calibration import LIFT_AT_STALL
from aerolib.measured.airspeed.correction import correction_of
from aerolib.measured.recording import Corrections, Recording, find_stalls
from aerolib.measured.recording.results import StallsFound
from aerolib.study.calibration import corrections_of, typical_stalls

if TYPE_CHECKING:
    from aerolib.study import Study


@dataclass(frozen=True)
class Recorded:
    """One recording, the stalls in it, and what they were found with."""

    log: Log
    recording: Recording
    found: StallsFound
    corrections: Corrections
    to_cas: Callable


def recorded(study: Study, file: str) -> Recorded:
    """The recording of a [[log]] and its stalls [SI]; CaseError where it cannot be read or holds no speed."""
    log = log_of(study.case, file)
    recording, lags, to_cas = load_log(study.case, file), lags_of(log, study.aircraft), calibrated_of(study, log)
    try:
        return Recorded(log, recording, find_stalls(recording, lags, to_cas), lags, to_cas)
    except ValueError as e:
        raise CaseError(f"`{FOLDER}/{file}`: {e}") from None


def calibrated_of(study: Study, log: Log) -> Callable:
    """Calibrated airspeed [m/s] of a reading [m/s], by the same corrections as the stalls of the log's state."""
    configuration, flaps = log.configuration or "", flaps_of(study.aircraft)
    state = log.modification or "", flaps.get(configuration, configuration)
    instrument, change = instrument_of(study.aircraft), error_sizes(study.aircraft).change
    position = correction_of(corrections_of(study), state, change)
    if position is None:
        return instrument.corrected
    weight = log.weight or typical_stalls(study, flaps).get(state, (None, study.reference_weight))[1]
    bound = position.at(LIFT_AT_STALL * weight * GRAVITY)
    return lambda ias: bound.corrected(instrument.corrected(ias))
