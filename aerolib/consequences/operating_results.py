"""What the operating speeds give back: before and after."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerolib.estimate import Estimate

ONE_G, LOWEST, TAIL = "1-g stall speed", "lowest steady speed reached", "slowest speed the tail can hold"

SOURCE = (
    "the factor 1.3 is that of 14 CFR 23.73 before amendment 64, which takes the minimum speed V_S0 (from memory); "
    "distances: Anderson, Aircraft Performance and Design (from memory); 1.2 times the stall speed over the obstacle: "
    "14 CFR 23.53 (from memory); V_O: 14 CFR 23.1507 (from memory), V_S sqrt(n) as in 23.335(c) (from memory; "
    "25.335(c), read, has the same form)"
)
CAUTIONS = (
    "A number from a calculation is not an approach speed: approved data, placards and local rules stand unchanged.",
    "It is not the rule's number either: V_REF of 14 CFR 23.73 is 1.3 times the minimum speed V_S0 (from memory), and "
    "this one stands on the speed that is named beside it, its uncertainty added.",
    "Take-off at the new stall speed leaves no margin for an engine that stops: the nose must come down at once, and "
    "there may be no height to do it.",
    "Below the speed of least power, slower is steeper: the sink needs power to arrest it, and a pull only adds to it.",
    "Rain or bugs on the wing, a wider spread of technique, floating and a late touchdown are not in it: distances are "
    "to be multiplied by what your own rules ask.",
)


@dataclass(frozen=True)
class Speeds:
    """The answers for one modification at one mass; speeds calibrated [m/s], distances [m]."""

    modification: str
    mass: float  # [kg]
    stall_speed: float
    approach: Estimate  # uncertainty added on the slow side; interval of the factor times the larger of stall and tail
    approach_indicated: float | None
    approach_stands_on: str  # ONE_G, LOWEST or TAIL
    touchdown_limit: str  # what sets the slowest touchdown: 'wing', 'tail' or 'gear'
    minimum_power: tuple[float, float]  # low and high
    maneuvering: Estimate | None  # V_O, its uncertainty taken off: one full input reaches the limit load
    maneuvering_indicated: float | None
    clean_calibrated: bool  # the airspeed system of this state, flaps up
    landing_roll: Estimate
    landing_over_obstacle: Estimate
    take_off_roll: Estimate | None = None
    take_off_over_obstacle: Estimate | None = None
    climb_speed: float | None = None  # of the steepest climb, never below 1.2 times the stall speed
    climb_gradient: Estimate | None = None  # [-]

    @property
    def tail_sets_it(self) -> bool:
        """The tail, not the wing, sets the approach."""
        return self.approach_stands_on == TAIL


@dataclass(frozen=True)
class OperatingSpeeds:
    """Before and after, at one mass."""

    items: tuple[Speeds, ...]
    factor: float
    roll_ratio: Estimate | None  # landing roll, last over first [-]
    take_off_ratio: Estimate | None  # take-off roll, last over first, at the same thrust [-]
    lift_change: tuple[Estimate, str] | None = None  # CLmax flaps up, last over first, and the verdict on it
    notes: tuple[str, ...] = ()
    source: str = SOURCE
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def maneuvering_ratio(self) -> Estimate | None:
        """V_O last over first [-]: the root of the ratio of CLmax, never of two careful ends."""
        if self.lift_change is None or self.one_calibrated is not None:
            return None
        lift = self.lift_change[0]
        low, high = (1.0 / math.sqrt(x) for x in lift.interval95[::-1])
        return Estimate("V_O ratio", 1.0 / math.sqrt(lift.value), "-", {}, (low, high))

    @property
    def one_calibrated(self) -> str | None:
        """The one of first and last modification whose airspeed system is calibrated, where the other's is not."""
        two = (self.items[0], self.items[-1])
        have = [i.modification for i in two if i.clean_calibrated]
        return have[0] if len(have) == 1 and len(self.items) > 1 else None
