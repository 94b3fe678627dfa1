"""Landing and take-off distances: ratios first, metres where drag and thrust are known well enough."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

GRAVITY = 9.80665  # [m/s2]
OBSTACLE = 15.24  # 50 ft [m]
# friction coefficients: braked, rolling; lows and highs from memory (textbook tables), grass wide
SURFACES = {
    "dry asphalt": ((0.25, 0.40), (0.02, 0.03)),
    "wet asphalt": ((0.15, 0.30), (0.02, 0.05)),
    "dry short grass": ((0.18, 0.30), (0.04, 0.07)),
    "wet short grass": ((0.10, 0.20), (0.05, 0.09)),
    "long or soft grass": ((0.10, 0.25), (0.08, 0.14)),
}
STEEPEST = math.atan(0.05)  # slope of the ground [rad]
MOST_TAILWIND = 5.1  # 10 kt [m/s]


@dataclass(frozen=True)
class Ground:
    """Where it happens: surface, slope (uphill positive), headwind (tailwind negative)."""

    surface: str = "dry asphalt"
    slope: float = 0.0  # [rad]
    headwind: float = 0.0  # [m/s]

    def __post_init__(self):
        if self.surface not in SURFACES:
            raise ValueError(f"surface '{self.surface}' is not known; known: {', '.join(SURFACES)}")
        if abs(self.slope) > STEEPEST:
            raise ValueError(
                f"a slope of {100 * math.tan(self.slope):.1f} % is outside this method (5 %): ask who knows the field"
            )
        if self.headwind < -MOST_TAILWIND:
            raise ValueError("more than 10 kt of tailwind is outside this method: use the other direction")

    @property
    def braked(self) -> tuple[float, float]:
        """Friction coefficient with brakes, low and high [-]."""
        return SURFACES[self.surface][0]

    @property
    def rolling(self) -> tuple[float, float]:
        """Friction coefficient without brakes, low and high [-]."""
        return SURFACES[self.surface][1]


def landing_roll(
    touchdown: float | np.ndarray, *, mass: float, wing_area: float, density: float, drag: float | np.ndarray,
    lift: float | np.ndarray, friction: float | np.ndarray, slope: float = 0.0, headwind: float = 0.0,
) -> np.ndarray:  # fmt: skip
    """Ground roll from touchdown to a stop.

    s = (V_T - V_w)^2 m/(2 [D + mu (W cos t - L) + W sin t]) with D and L at 0.7 V_T

    Parameters
    ----------
    touchdown : array [m/s]
        True airspeed.
    mass : float [kg]
    wing_area : float [m2]
    density : float [kg/m3]
    drag, lift : array [-]
        Coefficients on the ground.
    friction : array [-]
        With brakes.
    slope : float [rad]
        Uphill is positive.
    headwind : float [m/s]

    Returns
    -------
    array [m]

    Source: Anderson, *Aircraft Performance and Design*, mean force at 0.7 V_T (formula and CJ-1 example from memory).
    """
    v = np.asarray(touchdown, float)
    q = 0.5 * density * (0.7 * v) ** 2 * wing_area
    w = mass * GRAVITY
    force = q * drag + friction * np.maximum(w * math.cos(slope) - q * lift, 0.0) + w * math.sin(slope)
    ground = np.maximum(v - headwind, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(force > 0.0, ground**2 * mass / (2.0 * force), np.inf)


def landing_air_distance(
    approach: float | np.ndarray, stall: float | np.ndarray, path: float, *, headwind: float = 0.0,
    obstacle: float = OBSTACLE,
) -> np.ndarray:  # fmt: skip
    """From the obstacle to touchdown: a straight approach and a flare.

    R = V_f^2/(0.2 g), V_f = 1.23 V_S; s = (h - R (1 - cos t))/tan t + R sin t, less the wind's share

    Parameters
    ----------
    approach : array [m/s]
        True airspeed over the obstacle.
    stall : array [m/s]
    path : float [rad]
        Of the descent, positive.
    headwind : float [m/s]
    obstacle : float [m]

    Returns
    -------
    array [m]

    Source: Anderson, *Aircraft Performance and Design*, flare at 1.2 g (from memory).
    """
    radius = (1.23 * np.asarray(stall, float)) ** 2 / (0.2 * GRAVITY)
    flare_height = np.minimum(radius * (1.0 - math.cos(path)), obstacle)
    air = (obstacle - flare_height) / math.tan(path) + radius * math.sin(path)
    return air * np.maximum(1.0 - headwind / np.asarray(approach, float), 0.0)


def take_off_roll(
    lift_off: float, *, mass: float, wing_area: float, density: float, drag: float, lift: float, friction: float,
    thrust: Callable[[np.ndarray], np.ndarray], slope: float = 0.0, headwind: float = 0.0,
) -> float:  # fmt: skip
    """Ground roll to lift-off, integrated over the speed.

    s = integral of m (V - V_w)/(T - D - mu (W cos t - L) - W sin t) dV from V_w to V_LO

    Parameters
    ----------
    lift_off : float [m/s]
        True airspeed.
    mass : float [kg]
    wing_area : float [m2]
    density : float [kg/m3]
    drag, lift : float [-]
        Coefficients in the roll.
    friction : float [-]
        Rolling.
    thrust : function of speed [m/s] giving thrust [N]
    slope : float [rad]
    headwind : float [m/s]

    Returns
    -------
    float [m]
        Infinite where the thrust does not accelerate the airplane to that speed.
    """
    v = np.linspace(headwind, lift_off, 200)
    q = 0.5 * density * v * v * wing_area
    w = mass * GRAVITY
    force = thrust(np.maximum(v, 0.0)) - q * drag - friction * np.maximum(w * math.cos(slope) - q * lift, 0.0)
    force = force - w * math.sin(slope)
    if (force <= 0.0).any():
        return math.inf
    return float(np.trapezoid(mass * (v - headwind) / force, v))


def climb_distance(speed: float, excess_force: float, mass: float, obstacle: float = OBSTACLE) -> float:
    """Distance along the ground from lift-off to the obstacle at a steady climb.

    tan g = excess/W; s = h/tan g

    Parameters
    ----------
    speed : float [m/s]
        True airspeed, kept.
    excess_force : float [N]
        Thrust minus drag.
    mass : float [kg]
    obstacle : float [m]

    Returns
    -------
    float [m]
        Infinite where nothing is left over.
    """
    gradient = excess_force / (mass * GRAVITY)
    if gradient <= 0.0:
        return math.inf
    return obstacle / math.tan(math.asin(min(gradient, 1.0)))
