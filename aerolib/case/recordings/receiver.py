"""Recordings of a satellite receiver: GPX 1.1 and NMEA 0183, through libraries that know the formats."""

from __future__ import annotations

import datetime
import math
import re
from itertools import islice

import numpy as np

from aerolib.case.problems import CaseError
from aerolib.case.recordings.table import Raw
from aerolib.case.schema import Log
from aerolib.measured.recording.times import DAY, in_order
from aerolib.units import to_si

EPOCH = datetime.date(1970, 1, 1).toordinal()
EQUATOR, FLATTENING = 6378137.0, 1.0 / 298.257223563  # WGS 84 [m], [-]
PIECE = 2000  # points given to the parser at a time: all at once would take many times the file's size
_ROOT = re.compile(rb"<gpx\b[^>]*>")


def read_gpx(data: bytes, log: Log, place: str) -> Raw:
    """Track points of a GPX file: time, height, and ground speed and track from the positions where it has none."""
    import gpxpy

    root = _ROOT.search(data)
    if root is None:
        raise CaseError(f"{place} is no GPX file: it has no <gpx> in it; is its format another one?")
    head = root[0].decode("utf-8", "replace") + "<trk><trkseg>"
    tables, notes, points = [], [], _points(data)
    while piece := b"".join(islice(points, PIECE)):
        try:
            parsed = gpxpy.parse(head + piece.decode("utf-8", "replace") + "</trkseg></trk></gpx>")
        except (gpxpy.gpx.GPXException, ValueError) as e:
            raise CaseError(f"{place} cannot be read as GPX: {e}; export it from the receiver again") from None
        tables.append(np.array([_point(p) for p in parsed.tracks[0].segments[0].points], dtype=float))
    if not tables:
        raise CaseError(f"{place} has no track points; a recording is needed, not a route or a list of places")
    if b"</gpx>" not in data[-4096:]:
        notes.append("the file ends in the middle; all points before that were read")
    time, latitude, longitude, height, speed, course = np.concatenate(tables).T
    if not np.isfinite(time).any():
        raise CaseError(f"{place}: its points have no times; switch them on in the receiver")
    time, order, mended = in_order(time)  # first: a velocity needs the time between stamps that are written alike
    latitude, longitude, height, speed, course = (x[order] for x in (latitude, longitude, height, speed, course))
    notes += mended
    values = {"altitude": height}
    if np.isfinite(speed).mean() > 0.9 and np.isfinite(course).mean() > 0.9:
        values["ground_speed"], values["track"] = speed, np.radians(course)
    else:
        values["ground_speed"], values["track"] = _velocity(time, latitude, longitude)
        notes.append("ground speed and track were made from the positions, over two steps")
    notes.append("altitude is the receiver's height, not pressure altitude")
    return Raw(time, values, notes=notes, dated=True, columns="those of GPX")


def _points(data: bytes):
    """Every closed track point, each part of the file looked at once however many are never closed."""
    opening, closing = b"<trkpt", b"</trkpt>"
    start, end = data.find(opening), -1
    while start >= 0:
        if end < start and (end := data.find(closing, start)) < 0:
            return
        following = data.find(opening, start + len(opening))
        if not 0 <= following < end:
            yield data[start : end + len(closing)]
        start = following


def _point(p) -> tuple:
    speed, course = p.speed, p.course
    for e in p.extensions or ():
        for inner in e.iter():
            tag = str(inner.tag).rsplit("}", 1)[-1].lower()
            if tag in ("speed", "course") and inner.text:
                try:
                    value = float(inner.text)
                except ValueError:
                    continue
                speed, course = (value, course) if tag == "speed" else (speed, value)
    nan = math.nan
    return (p.time.timestamp() if p.time else nan, p.latitude, p.longitude,
            nan if p.elevation is None else p.elevation, nan if speed is None else speed,
            nan if course is None else course)  # fmt: skip


def _velocity(time, latitude, longitude):
    """Ground speed [m/s] and track [rad] from positions on the ellipsoid, from the neighbours on either side."""
    phi, lam = np.radians(latitude), np.unwrap(np.radians(longitude))
    e2 = FLATTENING * (2.0 - FLATTENING)
    w = np.sqrt(1.0 - e2 * np.sin(phi) ** 2)
    north_radius, east_radius = EQUATOR * (1.0 - e2) / w**3, EQUATOR / w * np.cos(phi)
    speed, track = np.full(len(time), np.nan), np.full(len(time), np.nan)
    if len(time) < 3:
        return speed, track
    dt = time[2:] - time[:-2]
    ok = np.isfinite(dt) & (dt > 0.0) & (dt < 20.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        north = (phi[2:] - phi[:-2]) * north_radius[1:-1] / dt
        east = (lam[2:] - lam[:-2]) * east_radius[1:-1] / dt
    speed[1:-1] = np.where(ok, np.hypot(east, north), np.nan)
    track[1:-1] = np.where(ok, np.arctan2(east, north) % (2.0 * math.pi), np.nan)
    return speed, track


def read_nmea(data: bytes, log: Log, place: str) -> Raw:
    """NMEA 0183 sentences: RMC gives time, ground speed and track, GGA the height; others are passed over."""
    import pynmea2

    rows, days, bad, void = list[tuple[float, float, float]](), [], 0, 0
    heights: dict[float, list[tuple[int, float]]] = {}
    for line in data.splitlines():
        start = line.find(b"$")
        if start < 0 or line[start + 3 : start + 6] not in (b"RMC", b"GGA"):
            continue
        try:
            s = pynmea2.parse(line[start:].decode("ascii").strip(), check=True)
            stamp = _seconds(s.timestamp)
            if s.sentence_type == "GGA":
                if s.altitude is not None and s.gps_qual:
                    heights.setdefault(stamp, []).append((len(rows), float(s.altitude)))
            elif s.status != "A":
                void += 1
            else:
                course = math.nan if s.true_course is None else math.radians(s.true_course)
                rows.append((stamp, to_si(float(s.spd_over_grnd), "kt", "speed"), course))
                days.append(s.datestamp.toordinal() - EPOCH if s.data[8] else math.nan)
        except (pynmea2.ParseError, UnicodeDecodeError, AttributeError, TypeError, ValueError):
            bad += 1
    if not rows:
        raise CaseError(
            f"{place} holds no RMC sentence with a fix{f', and {bad} that cannot be read' if bad else ''}; switch RMC "
            "on in the receiver, and GGA for the height"
        )
    notes = [f"{bad} sentences could not be read or fail their checksum; left out"] if bad else []
    notes += [f"{void} sentences without a fix; left out"] if void else []
    notes.append("altitude is the receiver's height, not pressure altitude")
    table = np.array(rows)
    # A GGA has no date: of those with one time of day the nearest in the file is meant.
    height = np.array([_nearest(heights.get(t, [(0, math.nan)]), k) for k, t in enumerate(table[:, 0].tolist())])
    values = {"ground_speed": table[:, 1], "track": table[:, 2], "altitude": height}
    time, dated = table[:, 0], bool(np.isfinite(days).all())
    if dated:
        time = time + DAY * np.array(days)
        late = np.maximum.accumulate(time) - time > 0.5 * DAY  # the clock passed midnight before the date did
        time = time + DAY * late
        if len(set(np.floor(time / DAY).tolist())) > 1:
            notes.append("the recording passes midnight; the date of each sentence was used")
    return Raw(time, values, notes=notes, of_day=not dated, dated=dated, columns="those of NMEA")


def _nearest(heights: list[tuple[int, float]], row: int) -> float:
    return min(heights, key=lambda h: abs(h[0] - row))[1]


def _seconds(stamp) -> float:
    """Seconds after midnight of a time of day."""
    return stamp.hour * 3600.0 + stamp.minute * 60.0 + stamp.second + stamp.microsecond * 1e-6
