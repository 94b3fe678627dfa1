"""Which airplanes, which pilots, which flights: every number drawn, from one seed.

The ranges are what is physically ordinary for light airplanes (said beside each); simulated.md tells which of them
changed after a score on the stock airplanes had been seen, and why. Only `random.Random.random` is used, whose
sequence Python guarantees, so the same seed gives the same flights on every platform and version.
"""

import math
import random
from dataclasses import dataclass, fields, replace

from airplane import FLAPS_DEG, FT, LBF, Airplane, G, Separating
from fly import KT, Pilot, Task

SEED = 20250
PAIRS = 96  # every fourth with the elevator stop before the lift peak, every fourth docile
STALLS_PER_PAIR = 6
STOCK_FLIGHTS = 60
CHECK_PAIRS, CHECK_STALLS = 12, 3  # of every kind
# Stock model, the flap settings flown (0 to 1), the power settings flown.
STOCK = (
    ("c172p", (0.0, 1 / 3, 1.0), ("off", "idle")),
    ("c182", (0.0, 1 / 3, 1.0), ("off", "idle")),
    ("sgs126", (0.0, 1.0), ("off",)),
)
# Chord lengths that the separation needs to follow: quoted for thin and thick sections near their peak (from memory).
LAG = (2.5, 7.0)
# What the table is scored on: wing area [m2], aspect ratio, wing loading [kg/m2], drag at no lift, lift lost four
# degrees beyond the peak, nose-down moment of the stall [per rad]. Ordinary for the kind; common knowledge.
CHECK = {
    "ultralight": ((11, 16), (5.5, 8.0), (22, 32), (0.04, 0.065), (0.08, 0.25), (1.0, 6.0)),
    "motor glider": ((14, 19), (12, 18), (32, 45), (0.016, 0.024), (0.06, 0.2), (1.0, 6.0)),
    "tourer": ((13, 17), (6.0, 8.0), (55, 80), (0.026, 0.036), (0.08, 0.3), (1.0, 8.0)),
    "six-seater": ((16, 18), (6.5, 8.0), (80, 95), (0.026, 0.034), (0.08, 0.3), (1.0, 8.0)),
    "docile ultralight": ((11, 16), (5.5, 8.0), (22, 32), (0.04, 0.065), (0.03, 0.08), (0.2, 1.0)),
    "docile tourer": ((13, 17), (6.0, 8.0), (55, 80), (0.026, 0.036), (0.03, 0.08), (0.2, 1.0)),
}


@dataclass(frozen=True)
class Planned:
    """One flight of the plan: names and the task."""

    id: str
    # "own", the table is made from them; "changed", the same after a modification; "check" and "stock" take no part.
    source: str
    airplane_kind: str
    airplane_id: str
    pilot_id: str
    pair_id: str
    flap: str  # as the owner would write it
    task: Task


class Draw:
    """Random numbers from one repeatable stream."""

    def __init__(self, seed):
        self._random = random.Random(seed).random

    def uniform(self, low, high):
        return low + (high - low) * self._random()

    def log(self, low, high):
        return math.exp(self.uniform(math.log(low), math.log(high)))

    def choice(self, items):
        return items[int(self._random() * len(items))]

    def normal(self, sd):
        # Twelve uniform numbers: near enough to a bell, and bounded at six sd.
        return sd * (sum(self._random() for _ in range(12)) - 6)


def draw_airplane(draw, name, flap_deg, kind="ordinary"):
    """Draw one airplane.

    Parameters: draw, a Draw; name, text; flap_deg, the flap it will be flown with [deg];
    kind, "short" where the elevator stop is to come before the lift peak, "docile" where the lift peak is flat, the
    nose hardly wants to fall and elevator is left, else "ordinary".
    Returns: an Airplane.
    """
    docile = kind == "docile"
    low, high = {"short": (-4.0, -1.0), "ordinary": (0.5, 9.0), "docile": (3.0, 12.0)}[kind]
    return Airplane(
        name=name,
        wing_area=draw.uniform(9, 18),
        aspect_ratio=draw.uniform(5.5, 9.5),
        wing_loading=draw.uniform(25, 90) * G,  # microlight to four-seat tourer
        lift_zero=draw.uniform(0.1, 0.4),
        peak_lift=draw.uniform(1.3, 1.8),  # of the table; the download takes 0.05 to 0.2 of it
        # from a leading-edge to a trailing-edge stall
        rounding=draw.log(0.015, 0.03) if docile else draw.log(0.006, 0.035),
        # from a lift that levels out to a third lost in four degrees; docile: 3 to 8 % lost there
        fall=draw.log(0.9, 2.2) if docile else draw.log(0.6, 8.0),
        floor=draw.uniform(0.6, 0.85),
        flap_lift=draw.uniform(0.35, 0.8),  # plain to slotted flaps over half the span
        flap_moment=draw.uniform(-0.15, 0.02),
        flap_drag=draw.uniform(0.03, 0.11),
        drag_zero=draw.uniform(0.028, 0.065),  # clean four-seater to draggy open airplane
        span_efficiency=draw.uniform(0.65, 0.85),
        stall_drag=draw.uniform(0.7, 2.2),
        moment_slope=draw.uniform(-1.3, -0.4),  # CG forward to aft
        # the tail leaves the downwash, the wing's lift moves aft; docile: hardly
        stall_moment=draw.log(0.2, 1.0) if docile else draw.log(1.0, 10.0),
        elevator_moment=draw.uniform(-1.7, -0.9),
        elevator_lift=draw.uniform(0.3, 0.5),
        pitch_damping=draw.uniform(-20, -8),
        alpha_rate_damping=draw.uniform(-8, -3),
        gyration=draw.uniform(0.75, 1.15),
        trim_lift=draw.uniform(0.35, 0.7),
        stop_margin=math.radians(draw.uniform(low, high)),
        stop_flap=flap_deg,
        idle_thrust=draw.uniform(0.01, 0.06),
        idle_zero_speed=draw.uniform(1.4, 2.5),
        lag=draw.uniform(*LAG),
    )


def draw_check(draw, name, kind, flap_deg):
    """Draw an airplane to score the table on: of one kind an owner knows, with another form of lift curve.

    Parameters: draw, a Draw; name, text; kind, of `CHECK`; flap_deg [deg].
    Returns: a Separating airplane.
    """
    area, aspect, loading, drag, lost, moment = CHECK[kind]
    plain = draw_airplane(draw, name, flap_deg)
    given = {f.name: getattr(plain, f.name) for f in fields(plain)}
    given |= {
        "wing_area": draw.uniform(*area),
        "aspect_ratio": draw.uniform(*aspect),
        "wing_loading": draw.uniform(*loading) * G,
        "drag_zero": draw.uniform(*drag),
        "stall_moment": draw.log(*moment),
        "stop_margin": math.radians(draw.uniform(2.0, 10.0)),
    }
    return Separating(**given, lost=draw.uniform(*lost))


def draw_habits(draw, style, number):
    """Draw the habits of one pilot: what stays the same from stall to stall.

    Parameters: draw, a Draw; style, "release", "hold" or "steps"; number of the pilot, which spreads the rates aimed
    at evenly (golden section) instead of leaving gaps to chance.
    Returns: a Pilot, whose rate is the pilot's aim.
    """
    aim = draw.log(0.3, 0.8) if style == "steps" else 0.4 * (3.0 / 0.4) ** (number * 0.6180339887 % 1)
    return Pilot(
        rate=aim * KT,
        start_ratio=draw.uniform(1.35, 1.6),
        speed_gain=draw.log(0.03, 0.09),
        speed_integral=draw.uniform(0.1, 0.3),
        pitch_gain=draw.uniform(1.5, 3.5),
        rate_gain=draw.uniform(0.6, 1.5),
        lag=draw.uniform(0.08, 0.25),
        forward_rate=draw.log(0.01, 1.0),
        tremor=draw.log(0.002, 0.01),
        phases=(0.0,) * 5,
        reaction=draw.uniform(0.2, 1.2),
        notice=draw.uniform(1.0, 6.0),
        final_pull=draw.log(0.1, 0.6),
        push=draw.uniform(0.0, 0.4),
        style=style,
        patience=draw.uniform(3.0, 8.0),
        step=draw.uniform(0.4, 1.0),
    )


def draw_attempt(draw, habits):
    """Draw what differs from one stall of a pilot to the next.

    Parameters: draw, a Draw; habits, a Pilot.
    Returns: a Pilot.
    """
    rate = habits.rate * math.exp(draw.normal(0.3))
    if habits.style != "steps":
        rate = min(3.0 * KT, max(0.3 * KT, rate))
    # A quick deceleration needs a longer run to become established, a slow one must not take minutes.
    start = habits.start_ratio * (1 + draw.normal(0.02)) + 0.08 * (rate / KT - 1)
    return replace(
        habits,
        rate=rate,
        start_ratio=1.25 if habits.style == "steps" else min(1.85, max(1.28, start)),
        speed_gain=habits.speed_gain * math.exp(draw.normal(0.15)),
        pitch_gain=habits.pitch_gain * math.exp(draw.normal(0.1)),
        rate_gain=habits.rate_gain * math.exp(draw.normal(0.1)),
        phases=tuple(draw.uniform(0, 2 * math.pi) for _ in range(5)),
        reaction=habits.reaction * math.exp(draw.normal(0.3)),
        patience=habits.patience * math.exp(draw.normal(0.15)),
    )


def plan_own(seed=SEED):
    """Return the flights on the own airplanes: one airplane, one pilot, one flap and power setting a pair.

    Parameters: seed, int.
    Returns: list of Planned.
    """
    draw, modified, flights = Draw(seed), Draw(seed + 3), []
    for pair in range(PAIRS):
        kind = {3: "short", 1: "docile"}.get(pair % 4, "ordinary")
        style = "steps" if pair % 7 == 6 else draw.choice(("release", "release", "hold"))
        airplane = draw_airplane(draw, f"own{pair + 1:02d}", FLAPS_DEG[pair % 3], kind)
        habits = draw_habits(draw, style, pair)
        flights += _pair(draw, airplane, "own", kind, habits, pair, STALLS_PER_PAIR)
        if kind != "short" and style != "steps":
            flights += _pair(modified, modify(modified, airplane), "changed", kind, habits, pair, CHECK_STALLS)
    return flights


def modify(draw, airplane):
    """Draw what a modification of the wing may make of an airplane: more lift, and another stall.

    Parameters: draw, a Draw; airplane, an Airplane.
    Returns: an Airplane.
    """
    return replace(
        airplane,
        name=f"{airplane.name}m",
        peak_lift=airplane.peak_lift + draw.uniform(0.0, 0.3),
        rounding=airplane.rounding * math.exp(draw.normal(0.3)),
        fall=airplane.fall * math.exp(draw.normal(0.3)),
        stall_moment=airplane.stall_moment * math.exp(draw.normal(0.3)),
    )


def plan_check(seed=SEED):
    """Return the flights the table is scored on: the kinds of `CHECK`, each as often, no staircases.

    Parameters: seed, int.
    Returns: list of Planned.
    """
    draw, flights = Draw(seed + 2), []
    for pair in range(CHECK_PAIRS * len(CHECK)):
        kind = list(CHECK)[pair % len(CHECK)]
        style = draw.choice(("release", "release", "hold"))
        turn = pair // len(CHECK)  # every flap with every power
        airplane = draw_check(draw, f"check{pair + 1:02d}", kind, FLAPS_DEG[turn % 3])
        habits, power = draw_habits(draw, style, pair), ("off", "idle")[turn // 3 % 2]
        flights += _pair(draw, airplane, "check", kind, habits, pair, CHECK_STALLS, power)
    return flights


def _pair(draw, airplane, source, kind, habits, pair, stalls, power=None):
    flights = []
    for stall in range(stalls):
        attempt = draw_attempt(draw, habits)
        weight = airplane.weight * (1 + draw.uniform(-0.05, 0.05))  # fuel and passengers
        flap = airplane.stop_flap
        power = power or ("off", "idle")[pair // 3 % 2]
        task = Task(airplane, attempt, flap / 40, power, weight, draw.uniform(600, 2500))
        name, pilot = f"{airplane.name}-{stall + 1:02d}", f"pilot{airplane.name.lstrip('own')}"
        flights.append(Planned(name, source, kind, airplane.name, pilot, airplane.name, f"{flap:g} deg", task))
    return flights


def plan_stock(seed=SEED):
    """Return the flights on the stock airplanes: pilots drawn as for the own airplanes, three stalls each.

    Parameters: seed, int.
    Returns: list of Planned.
    """
    draw, flights = Draw(seed + 1), []
    for pair in range(STOCK_FLIGHTS // 3):
        model, flaps, powers = STOCK[pair % 3]
        flap = flaps[pair // 3 % len(flaps)]
        power = powers[pair // 3 % len(powers)]
        # One pilot in seven is a stepper, as among the own airplanes.
        style = "steps" if pair % 7 == 6 else draw.choice(("release", "release", "hold"))
        habits = draw_habits(draw, style, pair)
        # The glider's model comes without its pilot; the others have one.
        ballast = (draw.uniform(150, 230) if model == "sgs126" else draw.uniform(0, 300)) * LBF
        for stall in range(3):
            attempt = draw_attempt(draw, habits)
            task = Task(model, attempt, flap, power, ballast + draw.uniform(0, 40) * LBF, draw.uniform(2000, 8000) * FT)
            flights.append(
                Planned(
                    f"{model}-{pair + 1:02d}-{stall + 1}",
                    "stock",
                    f"stock {model}",
                    model,
                    f"stockpilot{pair + 1:02d}",
                    f"{model}-{pair + 1:02d}",
                    f"{round(100 * flap)} %",
                    task,
                )
            )
    return flights
