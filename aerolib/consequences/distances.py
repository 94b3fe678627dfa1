"""Landing and take-off distances: ratios first, meters where drag and thrust are known well enough."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from aerolib.atmosphere import GRAVITY
from aerolib.ranges import in_range
from aerolib.units import KNOT

OBSTACLE = 15.24  # 50 ft [m]
# friction coefficients: braked, rolling; lows and highs from memory (textbook tables), grass wide
SURFACES = {
    "dry asphalt": ((0.25, 0.40), (0.02, 0.03)),
    "wet asphalt": ((0.15, 0.30), (0.02, 0.05)),
    "dry short grass": ((0.18, 0.30), (0.04, 0.07)),
    "wet short grass": ((0.08, 0.20), (0.05, 0.09)),
    "long or soft grass": ((0.10, 0.25), (0.08, 0.14)),
}
# Published factors on the distance over the obstacle from dry paved ground: (landing, take-off). Wet grass, landing:
# UK CAA GM1 CAT.POL.A.335, 'as much as 60 %' (read). The others: a study page on CAP 698 (read, so second-hand).
PUBLISHED_FACTORS = {"dry short grass": (1.15, 1.20), "wet short grass": (1.60, 1.30)}
MUCH_WIND = 16.0 * KNOT  # [m/s]
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


@in_range(slope=(-0.5, 0.5, "rad"), drag=(-1.0, 5.0, "-"), lift=(-5.0, 8.0, "-"), friction=(0.0, 1.5, "-"))
def landing_roll(
    touchdown: float | np.ndarray, *, mass: float, wing_area: float, density: float, drag: float | np.ndarray,
    lift: float | np.ndarray, friction: float | np.ndarray, slope: float = 0.0, headwind: float = 0.0,
) -> np.ndarray:  # fmt: skip
    """Ground roll from touchdown to a stop.

    s = (V_T - V_w)^2 m/(2 [D + mu (W cos t - L) + W sin t]) with D and L at 0.7 V_T

    Parameters
    ----------
    touchdown : [m/s]
        True airspeed.
    mass : [kg]
    wing_area : [m2]
    density : [kg/m3]
    drag, lift : [-]
        Coefficients on the ground.
    friction : [-]
        With brakes.
    slope : [rad]
        Uphill is positive.
    headwind : [m/s]

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


@in_range(path=(0.005, 1.0, "rad"))
def landing_air_distance(
    approach: float | np.ndarray, stall: float | np.ndarray, path: float | np.ndarray, *, headwind: float = 0.0,
    obstacle: float = OBSTACLE,
) -> np.ndarray:  # fmt: skip
    """From the obstacle to touchdown: a straight approach and a flare.

    R = V_f^2/(0.2 g), V_f = 1.23 V_S; s = (h - R (1 - cos t))/tan t + R sin t, less the wind's share

    Parameters
    ----------
    approach : [m/s]
        True airspeed over the obstacle.
    stall : [m/s]
    path : [rad]
        Of the descent, positive.
    headwind : [m/s]
    obstacle : [m]

    Returns
    -------
    array [m]

    Source: Anderson, *Aircraft Performance and Design*, flare at 1.2 g (from memory).
    """
    radius = (1.23 * np.asarray(stall, float)) ** 2 / (0.2 * GRAVITY)
    flare_height = np.minimum(radius * (1.0 - np.cos(path)), obstacle)
    air = (obstacle - flare_height) / np.tan(path) + radius * np.sin(path)
    return air * np.maximum(1.0 - headwind / np.asarray(approach, float), 0.0)


@in_range(slope=(-0.5, 0.5, "rad"), drag=(-1.0, 5.0, "-"), lift=(-5.0, 8.0, "-"), friction=(0.0, 1.5, "-"))
def take_off_roll(
    lift_off: float | np.ndarray, *, mass: float, wing_area: float, density: float, drag: float | np.ndarray,
    lift: float | np.ndarray, friction: float | np.ndarray, thrust: Callable[[np.ndarray], np.ndarray],
    slope: float = 0.0, headwind: float = 0.0,
) -> np.ndarray:  # fmt: skip
    """Ground roll to lift-off, integrated over the speed.

    s = integral of m (V - V_w)/(T - D - mu (W cos t - L) - W sin t) dV from V_w to V_LO

    Parameters
    ----------
    lift_off : [m/s]
        True airspeed.
    mass : [kg]
    wing_area : [m2]
    density : [kg/m3]
    drag, lift : [-]
        Coefficients in the roll.
    friction : [-]
        Rolling.
    thrust : function of speed [m/s] giving thrust [N]
        Gets speeds with the shape of `lift_off` behind one axis.
    slope : [rad]
    headwind : [m/s]

    Returns
    -------
    array [m]
        Infinite where the thrust does not accelerate the airplane to that speed; zero where the wind alone carries it.
    """
    v = np.linspace(headwind, np.maximum(lift_off, headwind), 100)
    q = 0.5 * density * v * v * wing_area
    w = mass * GRAVITY
    force = thrust(np.maximum(v, 0.0)) - q * drag - friction * np.maximum(w * math.cos(slope) - q * lift, 0.0)
    force = force - w * math.sin(slope)
    with np.errstate(divide="ignore", invalid="ignore"):
        roll = np.trapezoid(mass * (v - headwind) / force, v, axis=0)
    return np.where(np.any(force <= 0.0, axis=0), np.inf, roll)


@in_range(gradient=(-1.0, 5.0, "-"))
def climb_distance(gradient: float | np.ndarray, obstacle: float = OBSTACLE) -> np.ndarray:
    """Distance along the ground from lift-off to the obstacle at a steady climb.

    sin g = (T - D)/W; s = h/tan g

    Parameters
    ----------
    gradient : [-]
        Thrust minus drag over weight.
    obstacle : [m]

    Returns
    -------
    array [m]
        Infinite where nothing is left over.
    """
    g = np.clip(np.asarray(gradient, float), 0.0, 1.0)
    with np.errstate(divide="ignore"):
        return np.where(g > 0.0, obstacle / np.tan(np.arcsin(g)), np.inf)


@in_range(zero_lift_drag=(0.001, 1.0, "-"))
def climb_gradient(
    speed: float | np.ndarray, *, mass: float, wing_area: float, density: float, zero_lift_drag: float | np.ndarray,
    span_factor: float, thrust: Callable[[np.ndarray], np.ndarray],
) -> np.ndarray:  # fmt: skip
    """Thrust left over in unaccelerated flight, as a share of the weight: the sine of the climb angle.

    (T - D)/W, D = q S (CD0 + K CL^2), CL = W/(q S)

    Parameters
    ----------
    speed : [m/s]
        True airspeed.
    mass : [kg]
    wing_area : [m2]
    density : [kg/m3]
    zero_lift_drag : [-]
    span_factor : [-]
        K, 1/(pi A e).
    thrust : function of speed [m/s] giving thrust [N]

    Returns
    -------
    array [-]

    Source: Anderson, *Aircraft Performance and Design*; valid for small climb angles (L = W).
    """
    w = mass * GRAVITY
    q = 0.5 * density * np.asarray(speed, float) ** 2 * wing_area
    return (thrust(np.asarray(speed, float)) - q * zero_lift_drag - span_factor * w * w / q) / w


@in_range()
def wind_addition(wind: float, gust: float) -> float:
    """What is usually added to the approach speed for wind.

    the larger of half of what gusts exceed the mean wind, and a quarter of a mean wind of more than 16 kt

    Parameters
    ----------
    wind : [m/s]
        Mean.
    gust : [m/s]
        Highest in gusts; no less than the mean.

    Returns
    -------
    float [m/s]

    Raises
    ------
    ValueError
        A gust below the mean wind, or a negative wind.

    Source: H. Andersen, *Flight Theory PPL(A)*, 2025, p. 523 (read).
    """
    if not 0.0 <= wind <= gust:
        raise ValueError(
            "gusts are told as the highest wind, so they cannot be below the mean wind; nor is wind negative"
        )
    return max(0.5 * (gust - wind), 0.25 * wind if wind > MUCH_WIND else 0.0)


@in_range()
def drift_angle(crosswind: float, speed: float) -> float:
    """Angle of the nose to the runway that a crosswind asks for; slower flight needs more of it.

    sin d = V_x/V

    Parameters
    ----------
    crosswind : [m/s]
    speed : [m/s]
        True airspeed.

    Returns
    -------
    float [rad]
    """
    return math.asin(min(max(crosswind / speed, -1.0), 1.0))
