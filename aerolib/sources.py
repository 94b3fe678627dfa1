"""The register of the sources of error: name, meaning, remedy, and in what each cancels.

What a remedy leaves of a source is our judgment.
"""

from __future__ import annotations

from dataclasses import dataclass

BORROWED = "airspeed correction borrowed"  # its label: flap | who borrows | who lends


@dataclass(frozen=True)
class Known:
    """What is known of the source of one name."""

    name: str
    meaning: str = ""
    remedy: str = ""  # what an owner can do about it
    left: float = 1.0  # of its size after that [-]
    cancels_in_speed: bool = False  # it stands in the airspeed and in CLmax: the stall speed does not have it
    of_lift_alone: bool = False  # a speed as flown does not have it


REGISTER = {
    k.name: k
    for k in (
        Known(
            "position error",
            "the static pressure is taken in disturbed air, so calibrated and indicated speed differ",
            "airspeed calibration (position error) with GPS legs, down to near the stall",
            0.33,
        ),
        Known(BORROWED, "", "fly airspeed legs in this state: its correction is that of another", 0.33),
        Known(
            "load factor, shared",
            "the table that stands in for the load factor may be off for this airplane and pilot",
            "record the load factor, or time every entry and stay below 1 kt/s",
            0.5,
            of_lift_alone=True,
        ),
        Known("load factor, each stall", "how much one entry differs from the next", "fly more stalls", 0.6),
        Known("reading", "", "film the indicator, or fly more stalls", 0.5),
        Known(
            "reading, each flight",
            "what every reading of one flight has in common: where the eye sits, light, friction",
            "film the indicator square on",
            0.4,
        ),
        Known("entry rate", "", "time the entry", 0.5),
        Known(
            "entry rate, pilot's habit",
            "one pilot may judge every entry faster or slower than it was",
            "time the entry on the film of the indicator",
            0.3,
        ),
        Known("entry rate, each flight", "", "time the entry on the film of the indicator", 0.5),
        Known("entry rate not noted", "", "note the entry rate of every stall", 0.1),
        Known(
            "day to day",
            "what changes between flights beyond what is listed: air, rigging, pilot",
            "fly on two more days",
            0.7,
        ),
        Known(
            "loading",
            "crew and baggage of one flight, as weighed or guessed",
            "weigh crew and baggage before each flight",
            0.5,
        ),
        Known("weighing", "", "weigh the empty airplane on better scales", 0.5),
        Known("weight not noted", "", "note crew and fuel of every stall", 0.1),
        Known("indicator scale", "", "check the indicator on a water manometer", 0.4),
        Known("indicator", "", "check the indicator on a water manometer", 0.4),
        Known(
            "wing area", "", "measure the wing again by more stations", 0.5, cancels_in_speed=True, of_lift_alone=True
        ),
        Known("thrust", cancels_in_speed=True, of_lift_alone=True),
        Known("angle of attack at the stall", cancels_in_speed=True, of_lift_alone=True),
        Known("altitude not noted", of_lift_alone=True),
    )
}
CANCELS_IN_SPEED = frozenset(k.name for k in REGISTER.values() if k.cancels_in_speed)
NOT_IN_A_SPEED = frozenset(k.name for k in REGISTER.values() if k.of_lift_alone)
