"""Recordings of a case: what a [[log]] says, the file beside it, and the arrays that `find_stalls` takes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from aerolib.case.aircraft import AIRCRAFT, WITHIN_TO_STANDARD, error_sizes
from aerolib.case.inside import inside
from aerolib.case.problems import CaseError, nearest
from aerolib.case.recordings.receiver import read_gpx, read_nmea
from aerolib.case.recordings.table import read_table_of_times
from aerolib.case.schema import Aircraft, Log
from aerolib.case.tables import read_bytes
from aerolib.measured.recording.channels import CHANNELS, Channel, Corrections, Recording, channel, estimate_lag, joined
from aerolib.measured.recording.times import in_order

FOLDER = "logs"
READERS = {"csv": read_table_of_times, "panel": read_table_of_times, "gpx": read_gpx, "nmea": read_nmea}
_PLAUSIBLE = {  # lowest, highest [SI]: so wide that only another unit falls outside
    "ias": (-5.0, 200.0), "ground_speed": (0.0, 250.0), "altitude": (-600.0, 12000.0),
    "normal_g": (-6.0, 12.0), "forward_g": (-5.0, 5.0),
    "pitch": (-1.7, 1.7), "bank": (-7.0, 7.0), "heading": (-7.0, 14.0), "track": (-7.0, 14.0),
}  # fmt: skip


def read_log(data: bytes, log: Log) -> Recording:
    """The recording in the bytes of a file.

    Parameters
    ----------
    data : bytes [-]
    log : Log [-]
        What its [[log]] table says: format and columns.

    Returns
    -------
    Recording [SI]
        Notes say what had to be mended: rows out of order or with one stamp, midnight, cells that are no number.

    Raises
    ------
    CaseError
        Not a text, no time, no speed, or a column in another unit.
    """
    place = f"`{FOLDER}/{log.file}`"
    if b"\x00" in data[:1_000_000] or data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise CaseError(
            f"{place} is not a text file; needed is a table saved as CSV, a GPX file or NMEA sentences: export it from "
            "the recorder as one of these"
        )
    if not data or data.isspace():
        raise CaseError(f"{place} is empty; copy it from the recorder again")
    table = READERS[log.format](data, log, place)
    time, order, notes = in_order(table.time, table.of_day)
    if not len(time):
        raise CaseError(f"{place}: no row has a time that can be read; {table.time_help}")
    if table.dated:
        time = time - np.floor(time[0] / 86400.0) * 86400.0
    problems, channels = [], {}
    whole = len(order) == len(table.time) and not np.any(np.diff(order) != 1)
    for name, values in table.values.items():
        c = channel(time, values if whole else values[order])
        if not len(c.time):
            notes.append(f"{CHANNELS[name][1]} holds no number")
            continue
        low, high = _PLAUSIBLE[name]
        if not (low <= float(np.median(c.value)) <= high):
            problems.append(
                f"{place}: {name} is about {np.median(c.value):.4g} {CHANNELS[name][0]}; expected is {low:g} to "
                f"{high:g}: is its unit right?"
            )
        channels[name] = c
    if "ias" not in channels and "ground_speed" not in channels:
        problems.append(
            f"{place} holds neither an airspeed nor a ground speed; name the column in [log.columns] of `{AIRCRAFT}`, "
            f'such as ias = "AS [kt]"; its columns are {table.columns}'
        )
    if problems:
        raise CaseError(problems)
    events = sorted((float(time[k]), word) for row, word in table.events for k in np.flatnonzero(order == row))
    return Recording(log.file, channels, tuple(events), tuple(notes + table.notes), table.of_day or table.dated)


def corrections_of(log: Log, aircraft: Aircraft) -> Corrections:
    """Lags, mounting and offset as given; the indicator's lag where the recording's own is not, defaults elsewhere."""
    given = {
        "pitot_lag": error_sizes(aircraft).lag if log.pitot_lag is None else log.pitot_lag,
        "receiver_lag": log.receiver_lag,
        "mounting_angle": log.mounting_angle,
        "normal_offset": log.normal_offset,
    }
    for name in ("pitot_lag", "receiver_lag", "mounting_angle", "normal_offset"):
        within = getattr(log, f"{name}_within")
        given[f"{name}_uncertainty"] = None if within is None else abs(within) * WITHIN_TO_STANDARD
    return Corrections(**{k: v for k, v in given.items() if v is not None})


def log_of(case, file: str) -> Log:
    """The [[log]] table of a file."""
    for log in case.aircraft.log:
        if log.file == file:
            return log
    raise CaseError(f"`{AIRCRAFT}` has no [[log]] for '{file}'; {nearest(file, [x.file for x in case.aircraft.log])}")


def load_log(case, file: str) -> Recording:
    """The recording of one [[log]] of a case, completed by those that go with it.

    Parameters
    ----------
    case : Case [-]
    file : str [-]

    Returns
    -------
    Recording [SI]

    Raises
    ------
    CaseError
        As for `read_log`; or a clock offset that is not given and cannot be found.
    """
    log = log_of(case, file)
    recording = read_log(read_bytes(_path(case, file)), log)
    for other in case.aircraft.log:
        if other.goes_with == file and other.file != file:
            second = read_log(read_bytes(_path(case, other.file)), other)
            offset, told = _offset(recording, second, log, other, case.aircraft)
            recording = replace(joined(recording, second, offset), name=recording.name)
            recording = replace(recording, notes=(*recording.notes, told))
    return recording


def _path(case, file: str):
    if "/" in file or "\\" in file or file.startswith("."):
        raise CaseError(f"`{AIRCRAFT}` [[log]] file '{file}': write the name alone; the file stands in `{FOLDER}`")
    return inside(case.folder, f"{FOLDER}/{file}", f"`{AIRCRAFT}` [[log]] file")


def _offset(first: Recording, second: Recording, log: Log, other: Log, aircraft: Aircraft) -> tuple[float, str]:
    """The clock offset as given, or found from the two speeds once their lags are taken out."""
    if other.clock_offset is not None:
        return other.clock_offset, f"clock of {other.file} moved by {other.clock_offset:+g} s, as given"
    try:
        lag = estimate_lag(_freed(first, log, aircraft), _freed(second, other, aircraft))
    except ValueError as e:
        raise CaseError(
            f"the clocks of `{FOLDER}/{log.file}` and `{FOLDER}/{other.file}` cannot be compared: {e}; give "
            f"clock_offset in the [[log]] of {other.file}"
        ) from None
    return -lag.seconds, f"clock of {other.file} moved by {-lag.seconds:+.2f} s, found from the speeds: {lag.text()}"


def _freed(r: Recording, log: Log, aircraft: Aircraft) -> Channel:
    """The speed of a recording, its lag taken out."""
    lags = corrections_of(log, aircraft)
    return replace(r.speed, time=r.speed.time - (lags.pitot_lag if r.get("ias") else lags.receiver_lag))
