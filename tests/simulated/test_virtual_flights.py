"""Simulated: fresh flights of airplanes with known lift tables, through what an owner with a recorder has.

The truth is the lift coefficient of the simulator's own forces; neither it nor alpha is handed to the reduction.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

pytest.importorskip("jsbsim")

import card
import fly
import population
import scores
from campaign import G

from aerolib.measured.stalls import reduce_stalls

BANK = math.radians(30.0)


def airplane(flap_deg, short=False, **changed):
    """An airplane like those of the library, from a seed of its own."""
    kind = "short" if short else "ordinary"
    return replace(population.draw_airplane(population.Draw(77), "fresh", flap_deg, kind), **changed)


def pilot(rate):
    """A tidy pilot in the middle of the library's ranges; rate in kt/s."""
    return fly.Pilot(
        rate=rate * fly.KT, start_ratio=1.35 + 0.1 * rate, speed_gain=0.05, speed_integral=0.2, pitch_gain=2.5,
        rate_gain=1.0, lag=0.12, forward_rate=0.05, tremor=0.003, phases=(0.0, 1.0, 2.0, 3.0, 4.0), reaction=0.5,
        notice=1.5, final_pull=0.3, push=0.2, style="release", patience=5.0, step=0.5,
    )  # fmt: skip


def own(rate, flap_deg=0.0, power="off", short=False, **changed):
    """Fly one of our own airplanes."""
    a = airplane(flap_deg, short, **changed)
    return fly.fly(fly.Task(a, pilot(rate), flap_deg / 40, power, a.weight, 1500.0))


def stock(rate, flap=0.0, power="off"):
    """Fly one of the airplanes that ship with the flight-dynamics library, a passenger of 700 N aboard."""
    return fly.fly(fly.Task("c172p", pilot(rate), flap, power, 700.0, 1500.0))


def highest_lift(flight):
    """Index of the highest lift coefficient before the hand goes forward."""
    h = flight.history
    attempt = (h["time"] > flight.slowing) & (h["time"] <= flight.recovery)
    return int(np.argmax(np.where(attempt, h["lift_coefficient"], -np.inf)))


def reduce_recorded(flight, power, alpha=None):
    """CLmax of one flight by the library, and by the forces."""
    h, k = flight.history, highest_lift(flight)
    item = scores.reduce_instant(h, k, weight=flight.weight, wing_area=flight.wing_area, height=h["height"][k],
                                 power=power, thrust=h["thrust"][k], alpha=alpha)  # fmt: skip
    return item.clmax.value, h["lift_coefficient"][k]


def reduce_lowest(flight, k=None):
    """CLmax with n = 1 at an index of the record, the lowest speed where none is given."""
    h = flight.history
    if k is None:
        k = int(np.argmin(np.where(h["time"] > flight.slowing, h["cas"], np.inf)))
    return reduce_stalls(
        [h["cas"][k]], wing_area=flight.wing_area, weight=flight.weight / G, reference_weight=flight.weight / G,
        load_factor=1.0, power="off", pressure_altitude=h["height"][k], errors=scores.ErrorSizes(lag=0.0),
    ).items[0].clmax.value  # fmt: skip


FLIGHTS = {
    "own, clean, off, 0.5 kt/s": (own, {"rate": 0.5}),
    "own, clean, idle, 1 kt/s": (own, {"rate": 1.0, "power": "idle"}),
    "own, flap 40, off, 1 kt/s": (own, {"rate": 1.0, "flap_deg": 40.0}),
    "own, flap 40, idle, 0.5 kt/s": (own, {"rate": 0.5, "flap_deg": 40.0, "power": "idle"}),
    "shipped, clean, off, 1 kt/s": (stock, {"rate": 1.0}),
    "shipped, clean, idle, 0.5 kt/s": (stock, {"rate": 0.5, "power": "idle"}),
    "shipped, full flap, idle, 1 kt/s": (stock, {"rate": 1.0, "flap": 1.0, "power": "idle"}),
}


@pytest.mark.parametrize("name", FLIGHTS)
def test_a_recorded_stall_gives_the_lift_coefficient_of_the_forces(name):
    how, given = FLIGHTS[name]
    reduced, truth = reduce_recorded(how(**given), given.get("power", "off"))
    assert reduced == pytest.approx(truth, rel=0.003)


def test_our_own_airplane_reaches_the_clmax_of_its_tables():
    """A third way to the same number: the tables with Cm = 0, no flight at all."""
    steady = airplane(0.0).hand_clmax(0.0)[0]
    reduced, _ = reduce_recorded(own(0.5, lag=0.01), "off")
    assert reduced == pytest.approx(steady, rel=0.005)
    lagging, _ = reduce_recorded(own(0.5, lag=7.0), "off")
    assert 1.005 < lagging / steady < 1.06  # for a moment a wing shows more than it can carry steadily


def test_thrust_left_in_shows():
    """What taking it out is worth: the same idle stall, with the thrust called zero."""
    flight = own(1.0, power="idle", idle_thrust=0.06)
    h, k = flight.history, highest_lift(flight)
    lift = h["lift_coefficient"][k] * h["dynamic_pressure"][k] * flight.wing_area
    share = h["thrust"][k] * math.sin(h["alpha"][k]) / lift
    assert share > 0.004
    item = scores.reduce_instant(h, k, weight=flight.weight, wing_area=flight.wing_area, height=h["height"][k],
                                 power="idle", thrust=0.0)  # fmt: skip
    assert item.clmax.value / h["lift_coefficient"][k] - 1 == pytest.approx(share, abs=0.001)


def test_a_banked_stall(monkeypatch):
    """In a turn n is far from 1. Nobody uses the rudder, so it slips, and alpha takes bank and slip b as well:

    sin(gamma) + sin(b) sin(bank) cos(pitch) = cos(b) (sin(pitch) cos(alpha) - cos(pitch) cos(bank) sin(alpha))
    """
    noted, get, look = [], fly._Model.get, fly._Model.look

    def leaning(model, name):  # the pilot's hand on the aileron takes 30 degrees for level
        return get(model, name) - (BANK if name == "attitude/phi-rad" else 0.0)

    def look_and_note(model):
        noted.append((get(model, "attitude/phi-rad"), get(model, "aero/beta-rad")))
        return look(model)

    monkeypatch.setattr(fly._Model, "get", leaning)
    monkeypatch.setattr(fly._Model, "look", look_and_note)
    flight = own(0.5)
    h, k = flight.history, highest_lift(flight)
    bank, slip = noted[k]
    assert bank == pytest.approx(BANK, abs=math.radians(5.0))
    up, level = math.sin(h["pitch"][k]), math.cos(h["pitch"][k]) * math.cos(bank)
    across = math.sin(slip) * math.sin(bank) * math.cos(h["pitch"][k])
    left = (h["vertical_speed"][k] / h["tas"][k] + across) / math.cos(slip)
    alpha = math.atan2(up, level) - math.asin(left / math.hypot(up, level))
    reduced, truth = reduce_recorded(flight, "off", alpha)
    assert reduced == pytest.approx(truth, rel=0.003)
    assert reduce_lowest(flight, k) < 0.95 * truth  # n = 1 reads low in a turn


@pytest.mark.parametrize("how", [own, stock])
def test_n_equal_to_one_reads_high_and_more_so_for_a_faster_entry(how):
    high = {}
    for rate in (0.5, 1.0, 2.0):
        flight = how(rate)
        high[rate] = reduce_lowest(flight) / flight.history["lift_coefficient"][highest_lift(flight)] - 1
    assert high[1.0] > 0.02
    assert high[0.5] < high[1.0] < high[2.0]


def test_a_stick_on_its_stop_ends_in_a_bound():
    flight = own(0.5, short=True)
    h = flight.history
    assert card.ended(flight) == "stop", "this airplane was to mush on its stop"
    result = reduce_stalls(
        [h["cas"][h["time"] > flight.slowing].min()] * 2, wing_area=flight.wing_area, weight=flight.weight / G,
        reference_weight=flight.weight / G, ended="stop", power="off", entry_rate=0.5 * fly.KT,
        pressure_altitude=1500.0,
    ).items[0]  # fmt: skip
    assert result.clmax is None and result.stall_speed_1g is None
    assert (result.breaks, result.bounds, result.limit) == (0, 2, "elevator")
    reached = h["lift_coefficient"][highest_lift(flight)]
    assert 0.7 * reached < result.at_least <= reached
