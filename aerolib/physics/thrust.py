"""Thrust and slipstream of a propeller: an actuator disc with a stated loss, and what they do to a stall.

A propeller that pushes air at the wing raises the lift an airplane has at a given speed without the wing's CLmax
being any higher. This module says how much of a power-on stall speed that explains.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from aerolib.ranges import in_range

LOSS = (0.70, 0.85)  # shaft power that an ideal disc would need for the same thrust: fixed pitch, from memory
SPREAD = (1.0, 2.0)  # Smelt and Davies' lambda, narrow to wide jet
ZERO_THRUST_ADVANCE = (1.0, 1.25)  # advance ratio without thrust, over pitch/diameter: a judgement of ours
STATIC_COEFFICIENT = (0.07, 0.12)  # thrust coefficient T/(rho n^2 D^4) standing still: from memory
STOPPED_DRAG = (0.03, 0.10)  # drag coefficient on the disc area of a stopped two-blade propeller: from memory
FEATHERED_DRAG = (0.002, 0.01)  # the same, feathered: from memory

SOURCE = (
    "momentum theory (Glauert's actuator disc); slipstream lift in proportion to the gain of velocity, after Smelt and "
    "Davies, R&M 1788 (1937), constants from memory"
)


@in_range()
def disc_velocity(power: float | np.ndarray, speed: float | np.ndarray, density: float, area: float) -> np.ndarray:
    """Velocity that a disc adds to the air passing through it.

    P = 2 rho A (V + v)^2 v

    Parameters
    ----------
    power : [W]
        Shaft power times the loss factor.
    speed : [m/s]
        True airspeed, zero or more.
    density : [kg/m3]
    area : [m2]
        Disc area.

    Returns
    -------
    array [m/s]
        v at the disc; twice that far behind.
    """
    v = np.asarray(speed, float)
    k = np.asarray(power, float) / (2.0 * density * area)
    s = v + np.cbrt(k)  # V + v; above the root, from where Newton's steps come down without overshoot
    for _ in range(60):
        with np.errstate(invalid="ignore", divide="ignore"):
            step = np.where(s > 0.0, (s**3 - v * s * s - k) / (3.0 * s * s - 2.0 * v * s), 0.0)
        s = s - step
        if np.all(np.abs(step) <= 1e-12 * (1.0 + s)):
            break
    return s - v


@in_range()
def disc_thrust(power: float | np.ndarray, speed: float | np.ndarray, density: float, area: float) -> np.ndarray:
    """Thrust of an ideal disc.

    T = 2 rho A (V + v) v

    Parameters
    ----------
    power : [W]
        Shaft power times the loss factor.
    speed : [m/s]
    density : [kg/m3]
    area : [m2]

    Returns
    -------
    array [N]
        Standing still: (2 rho A P^2)^(1/3).
    """
    v = disc_velocity(power, speed, density, area)
    return 2.0 * density * area * (np.asarray(speed, float) + v) * v


@dataclass(frozen=True)
class PropellerThrust:
    """Thrust in one state of the engine, as a range."""

    state: str  # power, idle, stopped, feathered
    value: float  # [N]
    interval: tuple[float, float]  # [N]; all but certain, not 95 %
    slipstream: tuple[float, float]  # slipstream over flight speed far behind, low and high [-]
    why: str
    source: str = SOURCE

    @property
    def standard_uncertainty(self) -> float:
        """Of a rectangular distribution over the interval [N]."""
        return (self.interval[1] - self.interval[0]) / math.sqrt(12.0)


@in_range(pitch=(0.05, 10.0, "m"))
def thrust(
    state: str, speed: float, density: float, *, weight: float, diameter: float | None = None,
    power: float | None = None, pitch: float | None = None, revolutions: float | None = None,
) -> PropellerThrust:  # fmt: skip
    """Thrust of a propeller at a speed, in one of four states.

    power: disc theory with a loss of 0.70 to 0.85. idle: T = rho n^2 D^4 C_T0 (1 - J/J0), an interval that always
    reaches zero. stopped, feathered: drag of the blades.

    Parameters
    ----------
    state : [-]
        'power', 'idle', 'stopped' or 'feathered'.
    speed : [m/s]
        True airspeed.
    density : [kg/m3]
    weight : [N]
        For the idle interval where the propeller is not known.
    diameter, pitch : [m]
        Of the propeller.
    power : [W]
        Shaft power, for 'power'.
    revolutions : [1/s]
        Turns a second at idle.

    Returns
    -------
    PropellerThrust [N]

    Raises
    ------
    ValueError
        A state that is not known, or power without diameter and shaft power.
    """
    area = None if diameter is None else math.pi * diameter**2 / 4.0
    q = 0.5 * density * speed**2
    if state == "power":
        if area is None or power is None:
            raise ValueError("thrust with power needs the propeller diameter and the shaft power in that setting")
        ends = [float(disc_thrust(loss * power, speed, density, area)) for loss in LOSS]
        jets = [1.0 + 2.0 * float(disc_velocity(loss * power, speed, density, area)) / speed for loss in LOSS]
        why = f"ideal disc with {LOSS[0]:.0%} to {LOSS[1]:.0%} of the shaft power"
        return PropellerThrust(state, sum(ends) / 2, (ends[0], ends[1]), (jets[0], jets[1]), why)
    if state == "idle":
        if diameter is None or pitch is None or revolutions is None:
            half = 0.024 * weight
            return PropellerThrust(
                state, 0.0, (-half, half), (1.0, 1.0),
                "propeller or idle speed not given: 2.4 % of the weight either way",
            )  # fmt: skip
        advance = speed / (revolutions * diameter)
        ends = [
            density * revolutions**2 * diameter**4 * c * (1.0 - advance / (j * pitch / diameter))
            for c in STATIC_COEFFICIENT for j in ZERO_THRUST_ADVANCE
        ]  # fmt: skip
        low, high = min(*ends, 0.0), max(*ends, 0.0)
        why = f"advance ratio {advance:.2f}, pitch over diameter {pitch / diameter:.2f}; zero is never excluded"
        return PropellerThrust(state, (low + high) / 2, (low, high), (1.0, 1.0), why)
    if state in ("stopped", "feathered"):
        if area is None:
            raise ValueError(f"the drag of a {state} propeller needs its diameter")
        low, high = (-c * q * area for c in (STOPPED_DRAG if state == "stopped" else FEATHERED_DRAG))
        return PropellerThrust(
            state, (low + high) / 2, (high, low), (1.0, 1.0), "drag of the blades on the disc area, from memory"
        )
    raise ValueError(f"engine state '{state}' is not known; write power, idle, stopped or feathered")


@dataclass(frozen=True)
class PowerOnStall:
    """A stall speed with power beside the one without, and what explains the difference."""

    speed_off: float  # [m/s]
    speed_on: tuple[float, float]  # [m/s], slowest and fastest of the ranges
    thrust_only: float  # [m/s], the vertical part of the thrust alone
    thrust: tuple[float, float]  # [N]
    source: str = SOURCE


@in_range(loss=(0.0, 1.0, "-"), spread=(0.0, 3.0, "-"))
def power_on_stall(
    *, weight: float, wing_area: float, chord: float, clmax: float, density: float, power: float, diameter: float,
    incidence: float, loss: tuple[float, float] = LOSS, spread: tuple[float, float] = SPREAD,
    method: str = "velocity",
) -> PowerOnStall:  # fmt: skip
    """Stall speed with power, the wing's CLmax unchanged.

    W = q S CLmax (1 + lambda s D_s c/S) + T sin(alpha), s = V_s/V - 1

    Parameters
    ----------
    weight : [N]
    wing_area : [m2]
    chord : [m]
        Of the wing in the slipstream.
    clmax : [-]
        Without power.
    density : [kg/m3]
    power : [W]
        Shaft power.
    diameter : [m]
    incidence : [rad]
        Of the thrust line to the flight path at the stall.
    loss : [-]
        Low and high of the power an ideal disc would need.
    spread : [-]
        Low and high of lambda: how much of the jet's extra velocity becomes lift.
    method : [-]
        'velocity'. 'immersed area' (the whole jet's dynamic pressure on the wing behind the disc) is refused.

    Returns
    -------
    PowerOnStall [m/s]

    Raises
    ------
    ValueError
        The refused method: with 100 hp on a 600 kg airplane it gives a CL near 6.

    Source: Smelt and Davies, R&M 1788; lambda from memory.
    """
    if method != "velocity":
        raise ValueError(
            f"method '{method}' is refused: dynamic pressure of the jet times the area behind the disc gives lift "
            "coefficients near 6 for a light airplane; the velocity-proportional form is used"
        )
    off = math.sqrt(2.0 * weight / (density * wing_area * clmax))
    area = math.pi * diameter**2 / 4.0

    def balance(lam: float, share: float) -> tuple[float, float]:
        from scipy.optimize import brentq

        def excess(v: float) -> float:
            w = float(disc_velocity(share * power, v, density, area))
            t = 2.0 * density * area * (v + w) * w
            jet = v + 2.0 * w
            contracted = diameter * math.sqrt((v + w) / jet)
            gain = lam * (jet / v - 1.0) * contracted * chord / wing_area
            return 0.5 * density * v * v * wing_area * clmax * (1.0 + gain) + t * math.sin(incidence) - weight

        if excess(1.0) >= 0.0:
            raise ValueError("thrust alone carries the weight: this is no stall; check power and thrust line")
        v = brentq(excess, 1.0, 1.2 * off)
        return v, float(disc_thrust(share * power, v, density, area))

    slow, t_high = balance(spread[1], loss[1])
    fast, t_low = balance(spread[0], loss[0])
    only, _ = balance(0.0, sum(loss) / 2)
    return PowerOnStall(off, (slow, fast), only, (t_low, t_high))
