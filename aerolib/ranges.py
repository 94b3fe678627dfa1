"""What an argument can be at all: one range for each name, checked where a function is called.

The ranges are wide: they catch NaN, a sign, a unit or a decimal point. What a method is good for stands with it.
"""

from __future__ import annotations

import functools
import inspect
import math
from collections.abc import Mapping

import numpy as np

ANGLE = (-1.6, 1.6, "rad")
RANGES = {  # name: least, most, unit; our judgement of what light airplanes and their tests can hold
    "air_density": (0.2, 1.6, "kg/m3"),
    "approach": (1.0, 340.0, "m/s"),
    "area": (0.01, 1000.0, "m2"),
    "arm_over_span": (0.05, 3.0, "-"),
    "aspect_ratio": (0.3, math.inf, "-"),
    "calibrated_airspeed": (0.0, 340.0, "m/s"),
    "cg": (-2.0, 3.0, "-"),
    "chord": (0.02, 20.0, "m"),
    "chord_over_arm": (0.01, 2.0, "-"),
    "clmax": (0.05, 8.0, "-"),
    "clmax_clean": (0.2, 4.0, "-"),
    "clmin": (-8.0, 0.0, "-"),
    "cruise_speed": (1.0, 340.0, "m/s"),
    "crosswind": (-100.0, 100.0, "m/s"),
    "density": (0.2, 1.6, "kg/m3"),
    "descent": (-0.5, 0.5, "rad"),
    "diameter": (0.05, 10.0, "m"),
    "dive_speed": (1.0, 340.0, "m/s"),
    "effective_span": (0.1, 2.0, "-"),
    "elevator_share": (0.0, 1.0, "-"),
    "falls_to": (0.0, 1.0, "-"),
    "flap_clmax": (0.05, 8.0, "-"),
    "flap_speed": (1.0, 340.0, "m/s"),
    "gust": (0.0, 50.0, "m/s"),
    "headwind": (-100.0, 100.0, "m/s"),
    "height_over_span": (0.03, math.inf, "-"),
    "incidence": ANGLE,
    "lift_coefficient": (-8.0, 12.0, "-"),
    "lift_off": (1.0, 340.0, "m/s"),
    "limit": (1.0, 20.0, "-"),
    "mass": (10.0, 50_000.0, "kg"),
    "negative_limit": (-20.0, 0.0, "-"),
    "obstacle": (0.0, 1000.0, "m"),
    "power": (0.0, 5e6, "W"),
    "pressure_difference": (-5e4, 9e4, "Pa"),
    "quality": (0.1, 2.0, "-"),
    "revolutions": (0.0, 500.0, "1/s"),
    "reynolds": (1.0, 1e10, "-"),
    "side": (0.0, 50.0, "m"),
    "slope": (0.3, 12.0, "1/rad"),
    "span": (0.5, 200.0, "m"),
    "span_factor": (0.001, 1.0, "-"),
    "speed": (0.0, 340.0, "m/s"),
    "stall": (1.0, 340.0, "m/s"),
    "stall_speed": (1.0, 340.0, "m/s"),
    "sweep": (-0.8, 0.8, "rad"),
    "tail_above_wing": (-2.0, 2.0, "-"),
    "tail_devices": (0.0, 2.0, "-"),
    "taper": (0.02, 3.0, "-"),
    "thickness": (0.0, 1.0, "-"),
    "touchdown": (1.0, 340.0, "m/s"),
    "true": (0.0, 340.0, "m/s"),
    "true_airspeed": (0.0, 340.0, "m/s"),
    "washout": (-0.5, 0.5, "rad"),
    "weight": (1.0, 1e6, "N or kg"),
    "wind": (-100.0, 100.0, "m/s"),
    "wing_area": (0.2, 1000.0, "m2"),
    "wing_loading": (5.0, 1e5, "N/m2"),
}


def check(name: str, value, low: float, high: float, unit: str) -> None:
    """Refuse a value, or an array or mapping with a value, that is not a number between two ends; None passes.

    Parameters
    ----------
    name : str [-]
        As the caller knows it.
    value : float or array [-]
        In that unit, as all of these.
    low, high : float [-]
    unit : str [-]

    Returns
    -------
    None [-]

    Raises
    ------
    ValueError
        Names the argument, what was given and what is needed.
    """
    if value is None or (isinstance(value, float) and low <= value <= high):
        return
    try:
        array = np.asarray(list(value.values()) if isinstance(value, Mapping) else value, dtype=float)
    except (TypeError, ValueError):
        raise ValueError(f"{name} is {value!r}; it must be a number [{unit}]") from None
    bad = ~((array >= low) & (array <= high))
    if bad.any():
        raise ValueError(
            f"{name} is {array[bad].flat[0]:g}; it must lie between {low:g} and {high:g} [{unit}]: is its unit right?"
        )


def in_range(*without: str, **own: tuple[float, float, str]):
    """Decorator: the arguments that stand in `RANGES` are checked by name before the function begins.

    Keywords are ranges (low, high, unit) of arguments that mean something else here, or stand nowhere else.

    Parameters
    ----------
    without : str [-]
        Arguments that the function checks itself, in words of its own.

    Returns
    -------
    function [-]
        That decorates.
    """

    def decorate(function):
        names = tuple(inspect.signature(function).parameters)
        ranges = {**RANGES, **own}
        checked = {n: ranges[n] for n in names if n in ranges and n not in without}

        @functools.wraps(function)
        def wrapper(*args, **kwargs):
            for name, value in (*zip(names, args), *kwargs.items()):
                if name in checked:
                    check(name, value, *checked[name])
            return function(*args, **kwargs)

        return wrapper

    return decorate
