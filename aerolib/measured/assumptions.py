"""What is assumed where an owner gave nothing: the sizes of the errors, the thrust."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerolib.units import KNOT


@dataclass(frozen=True)
class ErrorSizes:
    """Standard uncertainties of the sources, each to be replaced by the owner's own where known.

    The defaults are judgments of ours (no source) for a tape measure, three bathroom-type scales and an
    indicator read by eye.
    """

    wing_area: float = 0.01  # relative [-], shared
    empty_weight: float = 3.0  # [kg], shared: the scales
    loading: float = 3.0  # [kg], each flight: crew and baggage
    fuel: float = 2.0  # [kg], each stall
    indicator_scale: float = 0.005  # relative [-], shared
    # [m/s], each modification and flap setting, where no correction is given: 5 kt (95 %), what certification allows
    # at 1.3 times the stall (former 14 CFR 23.1323); at the stall itself it may be more.
    position: float = 2.5 * KNOT
    # Relative [-], each state that borrows another's correction: what a modification changes of the position error,
    # 1.5 kt at 42. Our judgement: no flight of both states is published; those of data/demo (invented) show 1 to 2 kt.
    change: float = 0.036
    reading: float = 0.6 * KNOT  # [m/s], each stall
    reading_flight: float = 0.7 * KNOT  # [m/s], each flight: where the eye sits, light, a needle that sticks
    entry_rate: float = 0.3 * KNOT  # [m/s2], each stall, where it was noted
    entry_rate_flight: float = 0.15 * KNOT  # [m/s2], each flight: how it was timed that day
    entry_rate_pilot: float = 0.3 * KNOT  # [m/s2], each pilot: the habit of judging it high or low
    lag: float = 0.3  # delay of the indicator [s]
    lag_uncertainty: float = 0.2  # [s], shared
    idle_thrust: float = 0.012  # of the weight [-], shared within one power: about zero, either sign
    stall_incidence: float = math.radians(15.0)  # of the leveling line [rad]
    stall_incidence_uncertainty: float = math.radians(3.0)  # [rad], shared
    recorded_load_factor: float = 0.0  # [-], shared: of converting a recorded n from another axis
    day: float = 0.012  # median of the prior of the day scatter of ln CL [-]
    day_log_sd: float = 0.5  # spread of that prior [-]

    def __post_init__(self):
        for name, value in vars(self).items():
            if not (math.isfinite(value) and value >= 0.0):
                raise ValueError(f"the error size '{name}' must be zero or more and finite; it is {value}")
            if name in ("day", "day_log_sd") and value == 0.0:
                raise ValueError(f"the error size '{name}' must be above zero; 1e-9 stands for none")


@dataclass(frozen=True)
class Thrust:
    """Thrust at the stall in one power setting; `known` is False where none was given."""

    value: float = 0.0  # [N]
    standard_uncertainty: float | None = None  # [N]; None: the default share of the weight
    known: bool = True

    def __post_init__(self):
        if not math.isfinite(self.value):
            raise ValueError(f"the thrust must be a finite number of newtons; it is {self.value}")
