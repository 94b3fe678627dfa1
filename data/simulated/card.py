"""What the owner writes on the card after a simulated stall, and beside it what was true."""

import math

import numpy as np
from airplane import Airplane
from fly import KT, LOG_HZ, RHO0, fly

KINDS = ("minimum", "break", "steady")
NEAR_LOWEST = 0.25  # m/s: the stall is reached when the speed comes this close to its lowest
STEADY_S = 3.0  # a speed is steady when for this long ...
STEADY_RANGE = 0.5  # m/s ... the needle stays within this (1 kt)
LATE_S = 1.0  # a break later than this after the lowest speed gives no speed at the break
STOP_S = 2.0  # a stick this long on its stop before anything dropped: ended on the stop


def lowest_steady_speed(cas, allowed):
    """Return the lowest speed held steady.

    Parameters: cas, shape (n,) at 10 Hz [m/s]; allowed, shape (n,), bool, where to look.
    Returns: mean speed of the lowest steady stretch [m/s], or None where there is none.
    """
    length = round(STEADY_S * LOG_HZ) + 1
    if len(cas) < length:
        return None
    windows = np.lib.stride_tricks.sliding_window_view(cas, length)
    inside = np.lib.stride_tricks.sliding_window_view(allowed, length).all(axis=1)
    steady = inside & (np.ptp(windows, axis=1) <= STEADY_RANGE)
    return float(windows[steady].mean(axis=1).min()) if steady.any() else None


def ended(flight):
    """Return "break", "mush" or "stop", as somebody aboard would say.

    A nose that drops makes a break, if the stick has not lain on its stop for some time. An airplane that only sinks,
    with the stick short of its stop when that began, mushes.
    """
    stop = math.inf if flight.stop_time is None else flight.stop_time
    if flight.break_time is not None and flight.break_time <= stop + STOP_S:
        return "break"
    return "mush" if flight.sink_time is not None and flight.sink_time < stop else "stop"


def in_time(flight):
    """Tell whether the break came with the lowest speed, so that "the speed at the break" says something.

    An airplane can mush through its lowest speed and drop its nose only when the speed is rising again.
    """
    end = round(flight.break_time * LOG_HZ)
    late = flight.history["time"][: end + 1] > flight.slowing
    lowest = int(np.argmin(np.where(late, flight.history["cas"][: end + 1], np.inf)))
    return (end - lowest) / LOG_HZ <= LATE_S


def stall_instant(flight):
    """Return the index of the stall: the moment the speed has all but reached its lowest."""
    h = flight.history
    late = h["time"] > flight.slowing
    lowest = h["cas"][late].min()
    return int(np.argmax(late & (h["cas"] <= lowest + NEAR_LOWEST)))


def entry(flight, index):
    """Return rate and height loss over the last 10 % of speed: from 1.1 to 1.0 times the lowest.

    Parameters: flight, a Flight; index, of the stall.
    Returns: tuple of deceleration in CAS [m/s2] and height lost [m].
    """
    h = flight.history
    lowest = h["cas"][h["time"] > flight.slowing].min()
    before = np.flatnonzero(h["cas"][:index] >= 1.1 * lowest)
    if not len(before):
        raise RuntimeError("the approach to the stall is too short")
    first = before[-1]
    seconds = (index - first) / LOG_HZ
    return (h["cas"][first] - h["cas"][index]) / seconds, h["height"][first] - h["height"][index]


def row(planned, flight):
    """Return the row of stalls.csv.

    Parameters: planned, a Planned; flight, a Flight.
    Returns: dict of text and numbers; None where there is no such value.
    """
    h, task = flight.history, planned.task
    steps = task.pilot.style == "steps"
    # The true CLmax belongs to the stall, not to the push: an elevator that moves down adds lift for an instant.
    attempt = (h["time"] > flight.slowing) & (h["time"] <= flight.recovery)
    best = int(np.argmax(np.where(attempt, h["lift_coefficient"], -np.inf)))
    clmax = h["lift_coefficient"][best]
    thrust_part = h["thrust"][best] * np.sin(h["alpha"][best])
    index = stall_instant(flight)
    rate, height_lost = entry(flight, index)
    how = ended(flight)

    speeds = dict.fromkeys(KINDS)
    speeds["minimum"] = float(h["cas"][h["time"] > flight.slowing].min())
    if how == "break" and in_time(flight):
        speeds["break"] = float(h["cas"][round(flight.break_time * LOG_HZ)])
    quiet = h["time"] < min(t for t in (flight.recovery, flight.break_time, flight.sink_time) if t is not None)
    if steps:
        speeds["steady"] = lowest_steady_speed(h["cas"], quiet & (h["cas"] < 1.12 * flight.expected))
    elif how == "stop":
        speeds["steady"] = lowest_steady_speed(h["cas"], quiet & (h["time"] >= flight.stop_time))

    hand = limit = None
    if isinstance(task.airplane, Airplane):
        hand, _, at_stop = task.airplane.hand_clmax(40 * task.flap)
        limit = "stop" if at_stop else "lift"
    # What a wing can carry steadily; the flight itself may show more for a moment, because the separation lags.
    steady = hand if limit == "lift" else clmax
    values = {
        "id": planned.id,
        "source": planned.source,
        "airplane_kind": planned.airplane_kind,
        "airplane": planned.airplane_id,
        "pilot": planned.pilot_id,
        "pair": planned.pair_id,
        "flap": planned.flap,
        "power": task.power,
        "style": task.pilot.style,
        "ended": how,
        "weight_N": flight.weight,
        "wing_area_m2": flight.wing_area,
        "height_m": h["height"][index],
        "commanded_rate_kt_s": task.pilot.rate / KT,
        "entry_rate_kt_s": rate / KT,
        "height_lost_entry_m": height_lost,
        "sink_rate_m_s": -h["vertical_speed"][index],
        "clmax": steady,
        "clmax_forces": clmax,
        "clmax_hand": hand,
        "hand_limit": limit,
        "thrust_sin_alpha_N": thrust_part,
        "lift_load_factor_at_clmax": h["load_factor"][best],
    }
    for kind, cas in speeds.items():
        values[f"cas_{kind}_m_s"] = cas
        # The factor on the weight that makes  CL = (n W - T sin alpha) / (q S)  give the steady CLmax at this speed.
        values[f"n_{kind}"] = (
            None if cas is None else ((steady * 0.5 * RHO0 * cas**2 * flight.wing_area + thrust_part) / flight.weight)
        )
    return values


def reduction_error(flight):
    """Return the relative error of the full reduction (load factor along the lift, thrust removed) in one flight.

    Parameters: flight, a Flight.
    Returns: scalar [-]; it checks signs, axes and units, and should be within 0.003.
    """
    h = flight.history
    attempt = (h["time"] > flight.slowing) & (h["time"] <= flight.recovery)
    lift = flight.weight * h["load_factor"] - h["thrust"] * np.sin(h["alpha"])
    reduced = lift / (0.5 * RHO0 * h["cas"] ** 2 * flight.wing_area)
    return float(reduced[attempt].max() / h["lift_coefficient"][attempt].max() - 1)


def fly_card(planned):
    """Fly one planned stall.

    Parameters: planned, a Planned.
    Returns: tuple of the row (dict) and the Flight.
    """
    flight = fly(planned.task)
    return row(planned, flight), flight
