"""Recordings as they come: out of order, past midnight, cut off, binary, in other units; flights without a stall."""

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from aerolib.case.problems import CaseError
from aerolib.case.recordings.logs import read_log
from aerolib.case.schema import Log
from aerolib.measured.recording.channels import Corrections, Recording, channel, corrected, estimate_lag, mounting_angle
from aerolib.measured.recording.ground import airspeed_from_ground
from aerolib.measured.recording.results import FoundStall
from aerolib.measured.recording.stalls import find_stalls, measure_at
from aerolib.measured.recording.times import in_order
from aerolib.show.render import table_html
from aerolib.show.sections.recordings import stalls_table

KT = 1852 / 3600
NO_LAG = Corrections(pitot_lag=0.0, receiver_lag=0.0)


def csv_log(**columns):
    return Log.model_validate({"file": "x.csv", "columns": columns})


def trace(start=0.0, low=40.0, rate=1.0, back=2.0, held=0.0):
    """Airspeeds [m/s] five times a second: 60 kt, down to `low` and back; the lowest is at the time returned."""
    down, up = (60.0 - low) / rate, (60.0 - low) / back
    knots_at = [0, 10, 10 + down, 10 + down + held, 10 + down + held + up, 40 + down + held + up]
    t = np.arange(0.0, knots_at[-1], 0.2)
    v = np.interp(t, knots_at, [60, 60, low, low, 60, 60])
    v = np.convolve(np.pad(v, 3, mode="edge"), np.ones(7) / 7, "valid")
    return start + t, v * KT, start + 10 + down


def flight(lost=40.0, **also):
    """One stall with a height: level, then `lost` metres within six seconds."""
    t, v, when = trace(**{k: also.pop(k) for k in ("low", "rate", "held") if k in also})
    height = 1000.0 - np.interp(t, [when, when + 6.0], [0.0, lost])
    channels = {"ias": channel(t, v), "altitude": channel(t, height)}
    channels.update({k: channel(t, f(t, when)) for k, f in also.items()})
    return Recording("x", channels), when


def only(recording):
    items = find_stalls(recording, NO_LAG).items
    assert len(items) == 1
    return items[0]


def test_a_plain_stall():
    s = only(flight()[0])
    assert s.refused is None and s.ended == "break" and s.signs == ("sank",)
    assert s.height_lost == pytest.approx(40.0, abs=1.5)


@pytest.mark.parametrize(
    "also, words",
    [
        ({"lost": 0.0}, "no height was lost"),
        ({"bank": lambda t, w: np.where(t < w + 2, math.radians(25.0), 0.0)}, "25 deg of bank"),
        ({"heading": lambda t, w: np.clip(t, 0, w) * math.radians(6.0)}, "6 deg a second"),
        ({"heading": lambda t, w: np.clip(t - w, 0, None) * math.radians(60.0) % (2 * math.pi)}, "a spin or spiral"),
        ({"normal_g": lambda t, w: np.where(t < w, 1.3, 0.8)}, "a load factor of 1.30"),
        ({"rate": 10.0, "low": 36.0}, "a zoom"),
    ],
)  # fmt: skip
def test_what_is_no_stall_point_says_why(also, words):
    s = only(flight(**also)[0])
    assert words in s.refused
    assert math.isfinite(s.ias)  # nothing is lost: it is measured all the same


def test_steady_flight_taxiing_and_a_landing_have_no_stall():
    t = np.arange(0.0, 300.0, 0.5)
    steady = Recording("x", {"ias": channel(t, 25.0 + 0.2 * np.sin(t))})
    landing = Recording("x", {"ias": channel(t, np.interp(t, [0, 100, 130, 150, 300], [30, 30, 22, 3, 3]))})
    for r in (steady, landing):
        found = find_stalls(r, NO_LAG)
        assert not found.items and "no stall was found" in found.notes[-1]


def test_slowing_down_in_a_descent_is_no_stall_beside_one():
    """Two approaches in one recording: 40 kt with a break, then 50 kt and a steady descent of 2 m/s throughout."""
    t, v, when = trace()
    t2, v2, _ = trace(start=t[-1] + 0.2, low=50.0)
    time, speed = np.concatenate([t, t2]), np.concatenate([v, v2])
    height = 1000.0 - 2.0 * time - np.interp(time, [when, when + 6.0], [0.0, 40.0])
    found = find_stalls(Recording("x", {"ias": channel(time, speed), "altitude": channel(time, height)}), NO_LAG)
    assert [s.refused is None for s in found.items] == [True, False]
    assert "only slowed down" in found.items[1].refused


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 2**32 - 1))
@pytest.mark.filterwarnings("error")
def test_any_wandering_recording_is_searched_without_a_fault(seed):
    r = np.random.default_rng(seed)
    n, step = int(r.integers(8, 200)), r.choice([0.02, 0.1, 0.5, 1.0, 3.0, 8.0])
    t = np.cumsum(r.exponential(step, n))
    begins = {
        "altitude": (1000, 2.0),
        "normal_g": (1, 0.03),
        "pitch": (0, 0.01),
        "bank": (0, 0.01),
        "heading": (0, 0.1),
    }
    walk = {k: start + np.cumsum(r.normal(0.0, by, n)) for k, (start, by) in begins.items()}
    kept = {k: channel(t, np.where(r.random(n) < r.choice([0.03, 0.5, 1.0]), x, np.nan)) for k, x in walk.items()}
    speed = channel(t, 25.0 + np.cumsum(r.normal(0.0, r.choice([0.1, 1.0, 3.0]), n)))
    found = find_stalls(Recording("x", {"ias": speed, **{k: c for k, c in kept.items() if len(c.time)}}))
    assert all(math.isfinite(s.ias) and s.standard_uncertainty > 0.0 for s in found.items)
    rows = [("undecided", str(s.time), s) for s in found.items]
    assert table_html(stalls_table(rows, found.has_airspeed)).count("<tr>") == 1 + len(found.items)


def test_a_gap_at_the_stall_and_one_before_it():
    r, when = flight()
    c = r.channels["ias"]
    for hole, refused in (((when - 3, when + 3), True), ((2.0, 9.0), False)):
        keep = (c.time < hole[0]) | (c.time > hole[1])
        found = find_stalls(Recording("x", {**r.channels, "ias": channel(c.time[keep], c.value[keep])}), NO_LAG)
        assert len(found.items) == 1 and "gap" in " ".join(found.notes)
        assert bool(found.items[0].refused) == refused


def test_nothing_to_find_stalls_in():
    with pytest.raises(ValueError, match="neither an indicated airspeed nor a ground speed"):
        find_stalls(Recording("x", {"altitude": channel([0, 1], [1, 2])}))
    with pytest.raises(ValueError, match="needed are at least 8"):
        find_stalls(Recording("x", {"ground_speed": channel([0, 1], [1, 2])}))
    with pytest.raises(ValueError, match="nothing was recorded"):
        measure_at(flight()[0], 1e5, NO_LAG)


def test_midnight_disorder_and_stamps():
    day = 86400.0
    t, order, notes = in_order([day - 2, day - 1, 0.0, 1.0], of_day=True)
    assert np.allclose(np.diff(t), 1.0) and "midnight" in notes[0]
    t, order, notes = in_order([3.0, 1.0, 2.0, np.nan])
    assert t.tolist() == [1.0, 2.0, 3.0] and order.tolist() == [1, 2, 0] and len(notes) == 2
    t, order, notes = in_order([0.0, 0.0, 1.0, 1.0, 2.0])
    assert t.tolist() == [0.0, 0.5, 1.0, 1.5, 2.0] and "2 rows share" in notes[0]
    t, order, notes = in_order([1.0, day - 1, 2.0], of_day=True)  # a straggler from before midnight
    assert t.tolist() == [day - 1, day + 1, day + 2] and order.tolist() == [1, 0, 2]


@pytest.mark.parametrize("text, seconds", [
    ("10:00:00.5,10:00:01.5", 36000.5), ("00:05.5,00:06.5", 5.5), ("12.5,13.5", 12.5),
    ("2024-05-01T10:00:00.5Z,2024-05-01T10:00:01.5Z", 36000.5),
])  # fmt: skip
def test_times_as_people_write_them(text, seconds):
    rows = "".join(f"{t},{40 + k}\n" for k, t in enumerate(text.split(",")))
    r = read_log(f"time,ias [kt]\n{rows}".encode(), csv_log())
    assert r.get("ias").time.tolist() == [seconds, seconds + 1.0]
    assert r.get("ias").value[0] == pytest.approx(40 * KT)


def test_a_header_of_their_own_a_semicolon_a_mark_and_bad_cells():
    text = (
        "\ufeffsome logger 1.2\nZeit;AS;Nz\n10:00:00;40,5;1,0\n10:00:01;--;1,1\n10:00:02;41,5;\n10:00:03;42;1,0;7;8\n"
    )
    r = read_log(text.encode(), csv_log(time="Zeit", ias="AS [kt]", normal_g="Nz"))
    assert np.allclose(r.get("ias").value / KT, [40.5, 41.5, 42.0]) and len(r.get("normal_g").time) == 3
    assert any("1 cells of 'AS' are no number" in n for n in r.notes)


@pytest.mark.parametrize("data, words", [
    (b"\x00\x01\x02PK", "not a text file"), ("time,ias [kt]\n".encode("utf-16"), "not a text file"),
    (b" \n", "is empty"),
    (b"time,ias [kt]\n", "no rows below"), (b"UTC,ias [kt]\n1,2\n", "no column is called `time`"),
    (b"time,speed\n1,40\n", "neither an airspeed nor a ground speed"), (b"time,ias\n1,40\n", "has no unit"),
    (b"time,ias [ft]\n1,40\n", "unit of"), (b"time,ias [kt]\nmorning,40\n", "'morning' is no time"),
    (b"time,ias [m/s]\n1,4000\n2,4000\n", "is its unit right"), (b"just words", "no column is called `time`"),
])  # fmt: skip
def test_messages(data, words):
    with pytest.raises(CaseError, match="logs/x.csv") as e:
        read_log(data, csv_log())
    assert words in str(e.value)


def test_a_wrong_name_is_answered_with_the_nearest():
    with pytest.raises(CaseError, match="did you mean 'AIRSPEED'"):
        read_log(b"time,AIRSPEED\n1,40\n", csv_log(ias="AIRSPED [kt]"))


GPX = (
    '<?xml version="1.0"?><gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>a'
    "</name><trkseg>{}</trkseg></trk></gpx>"
)


def points(n, name=""):
    """A track due north at 30 m/s; a degree at 45 degrees north is 111,131.75 m long (WGS 84, from memory)."""
    return "".join(
        f'<trkpt lat="{45 + 30 * (k - n / 2) / 111131.75:.8f}" lon="8"><ele>900</ele>'
        f"<time>2024-05-01T23:59:{50 + k:02d}Z</time>{name}</trkpt>\n" if k < 10 else
        f'<trkpt lat="{45 + 30 * (k - n / 2) / 111131.75:.8f}" lon="8"><ele>900</ele>'
        f"<time>2024-05-02T00:00:{k - 10:02d}Z</time>{name}</trkpt>\n" for k in range(n)
    )  # fmt: skip


def test_gpx_speed_from_positions_across_midnight_and_cut_off():
    log = Log(file="x.gpx", format="gpx")
    whole = GPX.format(points(20)).encode()
    r = read_log(whole, log)
    c = r.get("ground_speed")
    assert len(c.time) == 18 and np.allclose(np.diff(c.time), 1.0)
    assert c.value == pytest.approx(30.0, abs=0.02) and np.allclose(np.cos(r.get("track").value), 1.0, atol=1e-4)
    cut = read_log(whole[: whole.index(b"00:00:08")], log)
    assert len(cut.get("ground_speed").time) == 16 and "ends in the middle" in " ".join(cut.notes)
    for data, words in ((b"<kml></kml>", "no GPX file"), (GPX.format("").encode(), "no track points")):
        with pytest.raises(CaseError, match=words):
            read_log(data, log)


def nmea(body):
    check = 0
    for letter in body:
        check ^= ord(letter)
    return f"${body}*{check:02X}\r\n"


def test_nmea_with_a_bad_checksum_and_midnight():
    log = Log(file="x.nmea", format="nmea")
    rmc = "GPRMC,{},A,4500.000,N,00800.000,E,043.0,084.4,010524,,"
    good = [nmea(rmc.format(t)) for t in ("235958.00", "235959.00", "000000.00")]
    height = nmea("GPGGA,235959.00,4500.0,N,00800.0,E,1,08,0.9,545.4,M,46.9,M,,")
    bad = nmea(rmc.format("000001.00")).replace("043.0", "093.0")
    r = read_log("".join([good[0], "noise\r\n", good[1], height, good[2], bad]).encode(), log)
    c = r.get("ground_speed")
    assert np.allclose(c.value, 43.0 * KT) and np.allclose(np.diff(c.time), 1.0)
    assert r.get("altitude").value.tolist() == [545.4]
    assert any("1 sentences could not be read" in n for n in r.notes) and any("midnight" in n for n in r.notes)
    with pytest.raises(CaseError, match="no RMC sentence"):
        read_log(b"$GPGSV,1,1*00\r\n", log)


@pytest.mark.parametrize("hertz", [5, 10])
def test_gpx_at_several_hertz_with_stamps_in_whole_seconds(hertz):
    """30 m/s due north, the stamp cut off at the second: the stamps are spread before a velocity is made of them."""
    n = 20 * hertz
    body = "".join(
        f'<trkpt lat="{45 + 30 * (k - n / 2) / hertz / 111131.75:.9f}" lon="8"><ele>900</ele>'
        f"<time>2024-05-01T10:00:{k // hertz:02d}Z</time></trkpt>" for k in range(n)
    )  # fmt: skip
    r = read_log(GPX.format(body).encode(), Log(file="x.gpx", format="gpx"))
    c = r.get("ground_speed")
    assert np.median(c.value) == pytest.approx(30.0, abs=0.05) and np.ptp(c.value) < 0.2
    assert np.allclose(np.diff(c.time), 1.0 / hertz) and any("share their time" in n for n in r.notes)


def test_gpx_that_is_never_closed_is_read_once():
    """Points that are never closed are passed over, however many; those that are closed are read."""
    open_ = '<trkpt lat="45" lon="8">' * 50_000
    with pytest.raises(CaseError, match="no track points"):
        read_log(f"<gpx>{open_}".encode(), Log(file="x.gpx", format="gpx"))
    r = read_log(GPX.format('<trkpt lat="45" lon="8"/>' + points(5) + open_).encode(), Log(file="x.gpx", format="gpx"))
    assert len(r.get("ground_speed").time) == 3


@pytest.mark.parametrize("head, texts", [
    ("time [ms]", ("12500", "12600")), ("time [s]", ("12.5", "12.6")),
    ("time", ("1714557612500", "1714557612600")), ("time", ("1714557612.5", "1714557612.6")),
])  # fmt: skip
def test_times_in_milliseconds_and_since_1970(head, texts):
    """A tenth of a second between rows, however it is written; 1714557612 is 2024-05-01 10:00:12 (GNU date)."""
    r = read_log(f"{head},ias [kt]\n{texts[0]},40\n{texts[1]},41\n".encode(), csv_log())
    time = r.get("ias").time
    assert np.diff(time) == pytest.approx([0.1], abs=1e-5)
    assert time[0] == pytest.approx(36012.5 if head == "time" else 12.5, abs=1e-5)


def test_milliseconds_that_are_not_said_to_be_are_asked_about():
    rows = "".join(f"{100 * k},{60 - k}\n" for k in range(20))
    with pytest.raises(CaseError, match=r"every 100 s.*time \[ms\]"):
        read_log(f"time,ias [kt]\n{rows}".encode(), csv_log())


def test_nmea_of_two_days():
    """The same clock time on two dates is a day apart, and each height goes to its own."""
    rmc = "GPRMC,{},A,4500.000,N,00800.000,E,043.0,084.4,{},,"
    gga = "GPGGA,{},4500.0,N,00800.0,E,1,08,0.9,{},M,46.9,M,,"
    said = [nmea(x) for date, height in (("010524", 500.0), ("020524", 900.0)) for t in ("100000.00", "100001.00")
            for x in (gga.format(t, height), rmc.format(t, date))]  # fmt: skip
    r = read_log("".join(said).encode(), Log(file="x.nmea", format="nmea"))
    assert r.get("ground_speed").time.tolist() == [36000.0, 36001.0, 122400.0, 122401.0]
    assert r.get("altitude").value.tolist() == [500.0, 500.0, 900.0, 900.0]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.binary(max_size=400), st.sampled_from(["csv", "panel", "gpx", "nmea"]), st.booleans())
def test_any_bytes_are_read_or_refused_with_a_message(data, form, with_head):
    head = {"csv": b"time,ias [kt]\n00:00:01,40\n", "panel": b"time,ias [kt],event\n1:00,40,\n",
            "gpx": GPX.format(points(3)).encode()[:-20], "nmea": nmea("GPRMC,1,A,4500.0,N").encode()}[form]  # fmt: skip
    try:
        r = read_log(head + data if with_head else data, Log(file="x", format=form))
    except CaseError as e:
        assert "logs/x" in str(e) and len(str(e)) < 2000
    else:
        assert all(np.all(np.diff(c.time) >= 0) and np.isfinite(c.value).all() for c in r.channels.values())


def test_tilt_of_a_degree_is_1_7_percent_of_g():
    level = Recording("x", {"normal_g": channel([0.0], [math.cos(math.radians(1.0))]),
                            "forward_g": channel([0.0], [math.sin(math.radians(1.0))])})  # fmt: skip
    assert level.channels["forward_g"].value[0] == pytest.approx(0.0175, abs=5e-5)
    out = corrected(level, Corrections(mounting_angle=math.radians(1.0)))
    assert out.get("forward_g").value[0] == pytest.approx(0.0, abs=1e-12)
    assert out.get("normal_g").value[0] == pytest.approx(1.0, abs=1e-12)
    standing = math.radians(13.0)  # 11.5 of ground angle and 1.5 of tilt
    assert mounting_angle([math.cos(standing)], [math.sin(standing)], math.radians(11.5)) == pytest.approx(
        math.radians(1.5)
    )


def test_lag_between_two_speeds_and_none_in_common():
    t = np.arange(0.0, 300.0, 0.2)
    v = 25.0 + 4.0 * np.sin(t / 7.0) + 2.0 * np.sin(t / 2.9)
    noise = np.random.default_rng(3).normal(0.0, 0.1, len(t))
    lag = estimate_lag(channel(t, v + noise), channel(t + 1.7, v + 6.0), largest=10.0)
    assert lag.seconds == pytest.approx(1.7, abs=0.1) and lag.correlation > 0.9
    with pytest.raises(ValueError, match="little in common"):
        estimate_lag(channel(t, v), channel(t, np.random.default_rng(4).normal(25, 1, len(t))), largest=10.0)
    with pytest.raises(ValueError, match="overlap"):
        estimate_lag(channel(t, v), channel(t + 1000.0, v), largest=10.0)


def at(heading, speed, wind, sink, when=0.0, refused=None):
    level, h = math.sqrt(speed**2 - sink**2), math.radians(heading)
    v = level * math.sin(h) + wind[0], level * math.cos(h) + wind[1]
    return FoundStall(when, 1.0, 0.1, 1.0, ground_velocity=v, sink_rate=sink, refused=refused)


@pytest.mark.parametrize("headings", [(10, 130, 250), (0, 90, 180, 270), (0, 180)])
def test_ground_velocities_give_back_airspeed_and_wind(headings):
    """By construction: airspeed 22 m/s with 3 m/s of sink in it, wind 6 m/s from the north."""
    speed = airspeed_from_ground([at(h, 22.0, (0.0, -6.0), 3.0, 60.0 * k) for k, h in enumerate(headings)])
    assert speed.true_airspeed == pytest.approx(22.0, abs=1e-6)
    assert speed.wind_speed == pytest.approx(6.0, abs=1e-6)
    assert math.cos(speed.wind_from) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("stalls, words", [
    ([at(0, 22, (0, 0), 3)], "1 stalls have a ground velocity"),
    ([at(0, 22, (0, 0), 3), at(180, 22, (0, 0), 3, refused="a turn")], "1 stalls have"),
    ([at(0, 22, (0, 0), 3), at(60, 22, (0, 0), 3)], "fly a third"),
    ([at(h, 22, (0, 0), 3) for h in (0, 10, 20)], "cannot be told apart"),
    ([at(h, 22, (0, 0), 3, 900.0 * k) for k, h in enumerate((0, 120, 240))], "30 min apart"),
])  # fmt: skip
def test_ground_velocities_that_say_nothing(stalls, words):
    with pytest.raises(ValueError, match=words):
        airspeed_from_ground(stalls)
