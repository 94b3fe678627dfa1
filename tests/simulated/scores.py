"""aerolib set against what is simulated: every score as errors, hits and widths. Used by the tests and accuracy.py."""

from __future__ import annotations

import importlib.util
import math
from dataclasses import dataclass
from pathlib import Path

import campaign
import fit
import numpy as np
from stalls import HERE as DATA
from stalls import read_rows

from aerolib.case.aircraft import parse_aircraft
from aerolib.case.folder import Case
from aerolib.case.stalls import parse_stalls
from aerolib.measured.airspeed.correction import SpeedCorrection, true_airspeed
from aerolib.measured.recording.channels import Channel, Corrections, Recording
from aerolib.measured.recording.stalls import find_stalls
from aerolib.measured.stalls import ErrorSizes, Thrust, reduce_stalls
from aerolib.measured.stalls.loadfactor import flight_path_load_factor, from_floor_meter, of_steady_flight
from aerolib.study import Study

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
G = campaign.G
KT = campaign.KT
SURE = {"wing_area": 0.0, "empty_weight": 0.0, "loading": 0.0, "fuel": 0.0, "indicator_scale": 0.0, "position": 0.0,
        "reading": 0.0, "reading_flight": 0.0, "entry_rate": 0.0, "entry_rate_flight": 0.0, "entry_rate_pilot": 0.0,
        "lag": 0.0, "lag_uncertainty": 0.0, "idle_thrust": 0.0,
        "stall_incidence_uncertainty": 0.0, "day": 1e-9}  # fmt: skip

SHIPPED = "three airplanes that ship with the flight-dynamics library"


@dataclass(frozen=True)
class Score:
    """Relative errors, whether the truth was held, relative half-widths, and these over the oracle's: (n,) each."""

    errors: np.ndarray
    held: np.ndarray
    halves: np.ndarray
    ratios: np.ndarray | None = None

    @property
    def coverage(self):
        """Share of the intervals that hold the truth."""
        return float(np.mean(self.held))


def _score(found, truths, oracles=None):
    """From Estimates, truths and, where there is one, the oracle's half-widths."""
    value = np.array([e.value for e in found])
    low, high = np.array([e.interval95 for e in found]).T
    truth, halves = np.array(truths), (high - low) / 2 / value
    held = (low <= truth) & (truth <= high)
    return Score(value / truth - 1, held, halves, None if oracles is None else halves / np.array(oracles))


# --- a recorder: one instant, everything known -----------------------------------------------------


def reduce_instant(h, k, *, weight, wing_area, height, power, thrust, alpha=None):
    """CLmax from one instant of a noise-free record, through nothing but what an owner can record.

    Parameters: h, dict of channels (n,) [SI, rad]; k, index; weight [N]; wing_area [m2]; height [m]; power, text;
    thrust [N]; alpha [rad], where it does not follow from pitch and vertical speed (a bank).
    Returns: a Clmax of the library.
    """
    cas = float(h["cas"][k])
    if alpha is None:
        alpha = float(h["pitch"][k] - math.asin(h["vertical_speed"][k] / true_airspeed(cas, height)))
    n = flight_path_load_factor(h["nz"][k], h["nx"][k], alpha)
    return reduce_stalls(
        [cas], wing_area=wing_area, weight=weight / G, reference_weight=weight / G, load_factor=float(n),
        power=power, pressure_altitude=height, thrust={power: Thrust(float(thrust), 0.0)},
        errors=ErrorSizes(**{**SURE, "stall_incidence": alpha}),
    ).items[0]  # fmt: skip


def recorder(progress=lambda items: items):
    """Errors of the full reduction at the highest lift of every stall of the library (n,), as parts of the truth."""
    import histories

    recorded, errors = histories.read(DATA / "histories.npz"), []
    for row in progress(read_rows()):
        h = recorded[row["id"]]
        k = int(np.argmin(np.abs(h["lift_coefficient"] - row["clmax_forces"])))
        item = reduce_instant(
            h, k, weight=row["weight_N"], wing_area=row["wing_area_m2"], power=row["power"],
            height=row["height_m"] + h["height"][k], thrust=h["thrust"][k] * row["weight_N"],
        )  # fmt: skip
        errors.append(item.clmax.value / row["clmax_forces"] - 1)
    return np.array(errors)


# --- airplanes the load factors were not made from -------------------------------------------------


def unseen_rows(speed="minimum", fastest=3.0):
    """Stalls of the check and stock airplanes with a speed of a kind, entered at up to a rate [kt/s].

    A staircase of held speeds counts as steady only; what ended on the stop gives a bound and no CLmax.
    """
    return [
        row
        for row in read_rows()
        if row["source"] in ("check", "stock") and row["entry_rate_kt_s"] <= fastest and fit.is_stall(row)
        and row[f"cas_{speed}_m_s"]
        and (speed == "steady" or (row["style"] != "steps" and row["ended"] in ("break", "mush")))
    ]  # fmt: skip


def unseen(rows, sizes=None, speed="minimum", **given):
    """Every one of these stalls by itself, with nothing but the load factor unknown.

    The days are taken as all alike (day = 1e-9): only the load factor's own uncertainty is left. Taken out as given
    is thrust, at the incidence the reduction assumes. A steady speed is handed over as a break. The truth is the CLmax
    of steady flight.
    """
    found, truths, sure = [], [], ErrorSizes(**SURE, **(sizes or {}))
    for row in rows:
        thrust = row["thrust_sin_alpha_N"] / math.sin(sure.stall_incidence)
        how = {"entry_rate": row["entry_rate_kt_s"] * KT, "ended": "break" if speed == "steady" else row["ended"]}
        item = reduce_stalls(
            [row[f"cas_{speed}_m_s"]], wing_area=row["wing_area_m2"], weight=row["weight_N"] / G,
            reference_weight=row["weight_N"] / G, speed_kind=speed,
            power=row["power"], thrust={row["power"]: Thrust(thrust, 0.0)}, errors=sure,
            pressure_altitude=row["height_m"], **{**how, **given},
        ).items[0]  # fmt: skip
        found.append(item.clmax)
        truths.append(row["clmax"])
    return _score(found, truths)


def by_kind(fastest=1.5):
    """Scores of the lowest speed of unseen airplanes, up to a rate [kt/s]: by kind of airplane, by ending."""
    groups = {}
    for row in unseen_rows(fastest=fastest):
        for name in (SHIPPED if row["source"] == "stock" else row["airplane_kind"], row["ended"]):
            groups.setdefault(name, []).append(row)
    return {name: unseen(rows) for name, rows in groups.items()}


def recorded(rows, seed=1, **noise):
    """The same stalls with the load factor that `find_stalls` takes from a recorder's two channels, and noise.

    Parameters: rows, of stalls.csv; seed, of the noise; noise, standard deviations `ias` [m/s] and `normal_g` [-].
    Returns: Score; only the load factor is unknown.
    """
    import histories

    kept, rng, out = histories.read(DATA / "histories.npz"), np.random.default_rng(seed), []
    for row in rows:
        h = kept[row["id"]]
        flow = {name: h[channel] + rng.normal(0.0, noise.get(name, 0.0), len(h["time"]))
                for name, channel in (("ias", "cas"), ("normal_g", "nz"))}  # fmt: skip
        time = h["time"] - h["time"][0]
        record = Recording("virtual", {name: Channel(time, values) for name, values in flow.items()})
        stall = min(
            find_stalls(record, Corrections(pitot_lag=0.0)).items,
            key=lambda s: abs(s.time + h["time"][0]),
            default=None,
        )
        if stall is None or not math.isfinite(stall.load_factor):
            continue  # the stored piece ends before the speed is regained
        alpha = float(np.interp(stall.time + h["time"][0], h["time"], h["alpha"]))
        n = from_floor_meter(np.array([stall.load_factor]), alpha, 0.0)[0]
        n, lag = of_steady_flight(n, np.array([stall.entry_rate]))
        one = unseen([{**row, "cas_minimum_m_s": stall.ias}], {"recorded_load_factor": lag}, load_factor=n)
        out.append((one.errors[0], one.held[0], one.halves[0]))
    return Score(*np.array(out).T)


# --- whole campaigns -------------------------------------------------------------------------------


def reduce_campaign(c, **changed):
    """A campaign through the library, told the sizes its errors were drawn with.

    Parameters: c, a Campaign; changed, arguments of `reduce_stalls` that differ.
    Returns: a Clmax of the library.
    """
    sizes = ErrorSizes(
        wing_area=campaign.WING_AREA, empty_weight=campaign.EMPTY_WEIGHT, loading=campaign.LOADING, fuel=campaign.FUEL,
        indicator_scale=campaign.SCALE, reading=c.reading, entry_rate=campaign.RATE, lag=campaign.LAG,
        lag_uncertainty=campaign.LAG_SD, idle_thrust=campaign.IDLE_THRUST, day=campaign.DAY_MEDIAN,
        day_log_sd=campaign.DAY_LOG_SD, **c.told,
    )  # fmt: skip
    position = SpeedCorrection(standard_uncertainty=c.position, origin="legs flown, simulated")
    given = {
        "wing_area": c.wing_area, "weight": c.weight, "reference_weight": float(c.weight.mean()),
        "speed_kind": "minimum", "ended": c.ended, "power": c.power, "flight": c.flight,
        "pressure_altitude": c.pressure_altitude, "entry_rate": c.entry_rate, "errors": sizes,
        "position": {("before", "clean"): position}, **changed,
    }  # fmt: skip
    return reduce_stalls(c.ias, **given).items[0]


def score_campaigns(variant, each, progress=lambda items: items, chosen=None):
    """Campaigns of every pair that breaks (of the library, or of `chosen`), in one variant."""
    found, truths, oracles = [], [], []
    for c in campaign.campaigns(campaign.that_break(chosen), variant, each, progress):
        found.append(reduce_campaign(c).clmax)
        truths.append(c.truth)
        oracles.append(c.oracle)
    return _score(found, truths, oracles)


def score_bounds(each, progress=lambda items: items):
    """Campaigns that ended on the stop: 'at least' over what was reached (n,), less one."""
    out = []
    for c in campaign.campaigns(campaign.on_the_stop(), campaign.PLAIN, each, progress):
        item = reduce_campaign(c)
        assert item.clmax is None and item.stall_speed_1g is None and item.bounds == len(c.ias)
        out.append(item.at_least / c.reached - 1)
    return np.array(out)


# --- the demonstration -----------------------------------------------------------------------------


def demonstration(seeds, progress=lambda items: items):
    """The invented card of data/demo/make.py, drawn anew with every seed; configurations that break."""
    spec = importlib.util.spec_from_file_location("demo_make", DEMO / "make.py")
    make = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(make)
    found, truths, oracles = [], [], []
    for seed in progress(seeds):
        rows, area, _ = make.draw(seed)
        aircraft = parse_aircraft(make.aircraft_text(area).encode())
        result = (
            Study(Case(Path("."), aircraft, parse_stalls(make.csv_text(rows).encode(), aircraft), {}))
            .trusting()
            .unjudged
        )
        for state, truth in make.CLMAX.items():
            item = result[state]
            if state not in make.ELEVATOR_LIMIT and item.clmax is not None:
                found.append(item.clmax)
                truths.append(truth)
                oracles.append(_demonstration_oracle(make, truth, item.breaks))
    return _score(found, truths, oracles)


def _demonstration_oracle(make, truth, breaks):
    """95 % half-width of ln CL for who is told every shared error and the days, in the middle of the card."""
    weight, rate = 560.0, 1.0  # kg, kt/s
    n = make.lowest_load_factor(rate)
    v = math.sqrt(2 * n * weight * make.G / (make.RHO0 * make.WING_AREA * truth)) / make.KT
    slope = (make.lowest_load_factor(0.0) - n) / rate / n
    own = [2 * math.hypot(make.READING_ERROR, 1 / math.sqrt(12)) / v, make.N_STALL_ERROR / n,
           make.FUEL_ERROR / weight, slope * math.hypot(make.RATE_ERROR, 0.2 / math.sqrt(12))]  # fmt: skip
    return 1.96 * math.hypot(*own) / math.sqrt(breaks)
