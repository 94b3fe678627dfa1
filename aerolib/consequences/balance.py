"""Moments about the center of gravity: what the tail must give, and what it can.

alpha is the angle of attack of the leveling line; CG stations are shares of the MAC behind its leading edge; the
elevator is negative trailing edge up. Everything is linear in CL at one height, so the lift coefficient at which
the stop, the tail's own stall or the gear is the limit is a quotient, and a map costs one array expression.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.physics import ground_effect as ge
from aerolib.physics.lifting_line import LiftingLine, Planform
from aerolib.physics.tail import downwash_slope, effective_deflection, elevator_effectiveness, finite_slope
from aerolib.physics.thin import moment_of_mean_line
from aerolib.predicted.section import SectionLift
from aerolib.ranges import ANGLE, in_range

QUARTER = 0.25
MEASURED_OVER_THEORY = 0.88  # moment of a section: NACA 4412 measured -0.093 over -0.106, from memory
BODY_MOMENT = -0.01  # of a light airplane's fuselage at zero lift: a judgement of ours
TAIL_QUALITY = 0.90  # section slope of a tail with hinge gap over 2 pi: a judgement of ours
TAB = 0.4  # of the tail's own effect, for a tab of about a fifth of its chord: from the usual chart, from memory
# Moment of the fuselage by where the wing's quarter chord sits along it: NACA TR 711, values per radian from memory
FUSELAGE = ((0.1, 0.115), (0.2, 0.172), (0.3, 0.344), (0.4, 0.487), (0.5, 0.688), (0.6, 0.888), (0.7, 1.146))
QUARTER_ALONG_BODY = 0.28  # where it is not known
LIMITS = ("wing", "elevator stop", "tail stall", "gear")


@dataclass(frozen=True)
class Airplane:
    """What the balance needs, each a float or arrays of one shape (one entry a draw)."""

    span: float  # [m]
    mean_chord: float  # [m]
    aspect_ratio: float
    taper: float
    slope: float | np.ndarray  # wing, out of ground effect [1/rad]
    alpha0: float | np.ndarray  # zero-lift angle of attack of the wing's chord, flaps up [rad]
    wing_incidence: float  # [rad]
    moment0: float | np.ndarray  # wing and body at zero lift, flaps up [-]
    fuselage_slope: float | np.ndarray  # moment of the fuselage with angle of attack [1/rad]
    tail_volume: float  # tail area times arm over wing area times MAC [-]
    tail_slope: float | np.ndarray  # [1/rad]
    tail_incidence: float  # [rad]
    tail_above_wing: float  # over the span [-]
    downwash: float | np.ndarray  # d epsilon/d alpha out of ground effect [-]
    effectiveness: float | np.ndarray  # tau [-]
    stop_up: float | np.ndarray  # elevator at its upper stop as reached in flight, negative [rad]
    tail_pressure: float | np.ndarray = 0.90  # dynamic pressure at the tail over that of flight, no power [-]
    tail_clmax: float | np.ndarray = 0.95  # largest download coefficient of the tail [-]
    falls_to: float | np.ndarray = 0.60  # elevator effectiveness left at 40 degrees [-]
    effective_span: float = math.pi / 4  # of the wake, over the span [-]
    relief: str = "planform"  # 'planform' or 'exponential': the form of the ground's relief
    bound_vortex: bool = True  # the loss at high lift near the ground
    ground_downwash_error: float | np.ndarray = 0.0  # relative, in ground effect only [-]

    @classmethod
    def from_geometry(
        cls, planform: Planform, section: SectionLift, *, mac: float, wing_incidence: float, tail_area: float,
        tail_span: float, tail_arm: float, tail_incidence: float, elevator_up: float,
        elevator_share: float | None = None, tab_ratio: float = 0.0, tail_above_wing: float = 0.0,
        fuselage: tuple[float, float] | None = None,
    ) -> Airplane:  # fmt: skip
        """The airplane from its measures: lift and zero-lift angle by the lifting line, tail and downwash by DATCOM.

        V_H = S_t l_t/(S c);  Cm0 = 0.88 cm_theory - 0.01;  Cm_alpha,f = K w^2 L/(S c)

        Parameters
        ----------
        planform : Planform [m]
        section : SectionLift [-]
            Of the root.
        mac : float [m]
        wing_incidence, tail_incidence : float [rad]
            Chord lines against the leveling line, nose up positive.
        tail_area : float [m2]
            With the elevator.
        tail_span, tail_arm : float [m]
            Arm: quarter chord of the wing to that of the tail.
        elevator_up : float [rad]
            At the upper stop as reached in flight, positive.
        elevator_share : float [-]
            Elevator chord over tail chord; None: all of the tail moves.
        tab_ratio : float [-]
            Of an all-moving tail: tab deflection over that of the tail.
        tail_above_wing : float [m]
        fuselage : (float, float) [m]
            Width and length; a middling fuselage where None.

        Returns
        -------
        Airplane [-]

        Source: USAF DATCOM, NACA TR 711 and the usual elevator chart, all from memory; see `physics/tail.py`.
        """
        line = LiftingLine(planform, section.slope)
        zero = float(line.loading(np.asarray(planform.twist_at(line.y)) - section.alpha0).lift_coefficient)
        taper = float(planform.chord_at(0.5 * planform.span) / planform.chord_at(0.0))
        span, area, body = planform.span, planform.area, 0.12
        if fuselage is not None:
            width, length = fuselage
            body = float(np.interp(QUARTER_ALONG_BODY, *np.transpose(FUSELAGE)) * width**2 * length / (area * mac))
        return cls(
            span=span, mean_chord=mac, aspect_ratio=planform.aspect_ratio, taper=taper, slope=line.slope,
            alpha0=-zero / line.slope, wing_incidence=wing_incidence, moment0=_moment0(section.coordinates),
            fuselage_slope=body, tail_volume=tail_area * tail_arm / (area * mac),
            tail_slope=float(finite_slope(tail_span**2 / tail_area, TAIL_QUALITY)), tail_incidence=tail_incidence,
            tail_above_wing=tail_above_wing / span,
            downwash=downwash_slope(planform.aspect_ratio, taper, tail_arm / span, tail_above_wing / span),
            effectiveness=1.0 + tab_ratio * TAB if elevator_share is None else elevator_effectiveness(elevator_share),
            stop_up=-elevator_up,
        )  # fmt: skip


@dataclass(frozen=True)
class Flap:
    """One flap setting with the modification's effect on the wing."""

    name: str = "clean"
    lift: float | np.ndarray = 0.0  # lift at fixed angle of attack [-]
    moment: float | np.ndarray = 0.0  # moment about the quarter chord at fixed angle of attack [-]
    clmax: float | np.ndarray = 1.4  # wing's, out of ground effect [-]
    clmax_ground_ratio: float | np.ndarray = 0.95  # near the ground over aloft [-]


@dataclass(frozen=True)
class Loading:
    """What the wing carries, and the air that carries it: at sea level, speeds are calibrated."""

    mass: float  # [kg]
    wing_area: float  # [m2]
    density: float = DENSITY_0  # [kg/m3]

    def speed(self, lift_coefficient):
        """sqrt(2 W/(rho S CL)) [m/s] of steady flight at a lift coefficient [-]."""
        return np.sqrt(self.lift(1.0) / np.maximum(lift_coefficient, 1e-9))

    def lift(self, speed):
        """Lift coefficient 2 W/(rho S V^2) [-] of steady flight at a speed [m/s]."""
        return 2.0 * self.mass * GRAVITY / (self.density * self.wing_area * speed**2)


@dataclass(frozen=True)
class Flow:
    """Angles at one lift coefficient and height."""

    alpha: np.ndarray  # leveling line [rad]
    downwash: np.ndarray  # [rad]
    tail_alpha: np.ndarray  # angle of attack of the tail's chord, elevator neutral [rad]
    slope: np.ndarray  # [1/rad]


@in_range()
def flow(a: Airplane, flap: Flap, lift_coefficient, height_over_span=math.inf) -> Flow:
    """Angles of attack of body and tail at a lift coefficient.

    alpha = (CL/k - dCL_f)/a_g + alpha_0 - i_w, k = (1 - u/V)^2 near the ground;
    eps = (eps_g/eps) (de/da)/a CL; alpha_t = alpha + i_t - eps

    Parameters
    ----------
    a, flap, lift_coefficient : [-]
    height_over_span : [-]
        Infinite aloft.

    Returns
    -------
    Flow [rad]
    """
    cl = np.asarray(lift_coefficient, float)
    slope, ratio, kept = _ground(a, cl, height_over_span)
    alpha = (cl - kept * flap.lift) / slope + a.alpha0 - a.wing_incidence
    downwash = ratio * a.downwash / a.slope * cl
    return Flow(alpha, downwash, alpha + a.tail_incidence - downwash, slope)


@in_range()
def tail_load_needed(a: Airplane, flap: Flap, lift_coefficient, cg, height_over_span=math.inf) -> np.ndarray:
    """Tail lift coefficient that balances the airplane; negative is a download.

    CL_t = (Cm0 + dCm_f + CL (h - 1/4) + Cm_alpha,f alpha)/(q_t/q V_H)

    Parameters
    ----------
    a, flap : [-]
    lift_coefficient : [-]
        Of the whole airplane.
    cg : [-]
        Share of the MAC.
    height_over_span : [-]

    Returns
    -------
    array [-]
    """
    f = flow(a, flap, lift_coefficient, height_over_span)
    cl, h = np.asarray(lift_coefficient, float), np.asarray(cg, float)
    moment = a.moment0 + flap.moment + cl * (h - QUARTER) + a.fuselage_slope * f.alpha
    return moment / (a.tail_pressure * a.tail_volume)


@in_range()
def elevator_needed(a: Airplane, flap: Flap, lift_coefficient, cg, height_over_span=math.inf) -> np.ndarray:
    """Elevator that balances the airplane.

    d = (CL_t/a_t - alpha_t)/tau, before the loss at large deflection is undone

    Parameters
    ----------
    a, flap, lift_coefficient : [-]
    cg : [-]
        Share of the MAC.
    height_over_span : [-]

    Returns
    -------
    array [rad]
        Negative is trailing edge up; not a number where no deflection gives that much.
    """
    f = flow(a, flap, lift_coefficient, height_over_span)
    load = tail_load_needed(a, flap, lift_coefficient, cg, height_over_span)
    return _undo((load / a.tail_slope - f.tail_alpha) / a.effectiveness, a.falls_to)


@in_range()
def tail_load_available(a: Airplane, flap: Flap, lift_coefficient, height_over_span=math.inf) -> np.ndarray:
    """The most negative tail lift coefficient: elevator at its upper stop, no further than the tail's own stall.

    CL_t = max(a_t (alpha_t + tau d_stop), -CL_t,max)

    Parameters
    ----------
    a, flap, lift_coefficient, height_over_span : [-]

    Returns
    -------
    array [-]
    """
    f = flow(a, flap, lift_coefficient, height_over_span)
    at_stop = a.tail_slope * (f.tail_alpha + a.effectiveness * effective_deflection(a.stop_up, a.falls_to))
    return np.maximum(at_stop, -np.asarray(a.tail_clmax, float))


@in_range(gear_alpha=ANGLE)
def lift_limits(
    a: Airplane, flap: Flap, cg, height_over_span=math.inf, gear_alpha: float | None = None
) -> dict[str, np.ndarray]:
    """Largest lift coefficient that each of the limits leaves, for a steady airplane.

    Parameters
    ----------
    a, flap : [-]
    cg : [-]
        Share of the MAC.
    height_over_span : [-]
    gear_alpha : [rad]
        Angle of attack of the body that the gear allows; None aloft.

    Returns
    -------
    dict of array [-]
        'wing', 'elevator stop', 'tail stall', and 'gear' where an angle is given; infinite where one never limits.
    """
    near = np.isfinite(np.asarray(height_over_span, float))
    limits = {"wing": flap.clmax * np.where(near, flap.clmax_ground_ratio, 1.0)}
    for name in ("elevator stop", "tail stall", *(() if gear_alpha is None else ("gear",))):
        at = flap.clmax  # near the ground the loss goes with the lift itself: a few rounds settle it
        for _ in range(6):
            at = np.clip(at, 0.0, 1.5 * flap.clmax)
            found = at = _one_limit(a, flap, name, np.asarray(cg, float), _ground(a, at, height_over_span), gear_alpha)
            if not near.any() or not a.bound_vortex:
                break
        limits[name] = found
    shape = np.broadcast_shapes(*(np.shape(v) for v in limits.values()))
    return {k: np.broadcast_to(v, shape) for k, v in limits.items()}


def _one_limit(a: Airplane, flap: Flap, name: str, h, ground, gear_alpha):
    """The lift coefficient that one limit leaves, with slope, downwash and loss near the ground given."""
    slope, ratio, kept = ground
    if name == "gear":
        return slope * (gear_alpha - a.alpha0 + a.wing_incidence) + kept * flap.lift
    rest = a.alpha0 - a.wing_incidence - kept * flap.lift / slope  # angle of attack = CL/slope + rest
    power = a.tail_pressure * a.tail_volume
    # moment of wing and body: m0 + m1 CL; of the tail: t0 + t1 CL
    m0 = a.moment0 + flap.moment + a.fuselage_slope * rest
    m1 = h - QUARTER + a.fuselage_slope / slope
    if name == "tail stall":
        return _first(m0 + power * a.tail_clmax, -m1)
    t0, t1 = rest + a.tail_incidence, 1.0 / slope - ratio * a.downwash / a.slope
    stop = a.effectiveness * effective_deflection(a.stop_up, a.falls_to)
    # needed (m0 + m1 CL)/power falls below available a_t (t0 + t1 CL + stop): the stop is the limit
    return _first(m0 - power * a.tail_slope * (t0 + stop), power * a.tail_slope * t1 - m1)


def limiting(limits: dict[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """The smallest of the limits and which it is.

    Parameters
    ----------
    limits : dict of array [-]

    Returns
    -------
    lift_coefficient : array [-]
    which : array of int [-]
        Index into the keys in their order.
    """
    stacked = np.stack([np.asarray(v, float) for v in limits.values()])
    return stacked.min(axis=0), stacked.argmin(axis=0)


@in_range()
def forward_cg_limit(a: Airplane, flap: Flap, lift_coefficient, height_over_span=math.inf) -> np.ndarray:
    """Most forward CG at which the tail still balances a lift coefficient.

    h = 1/4 + (q_t/q V_H CL_t,available - Cm0 - dCm_f - Cm_alpha,f alpha)/CL

    Parameters
    ----------
    a, flap, lift_coefficient, height_over_span : [-]

    Returns
    -------
    array [-]
        Share of the MAC.
    """
    f = flow(a, flap, lift_coefficient, height_over_span)
    available = tail_load_available(a, flap, lift_coefficient, height_over_span)
    rest = a.moment0 + flap.moment + a.fuselage_slope * f.alpha
    return QUARTER + (a.tail_pressure * a.tail_volume * available - rest) / np.asarray(lift_coefficient, float)


@in_range(more_clmax=(0.0, 2.0, "-"), more_at_large_deflection=(0.0, 2.0, "-"))
def with_tail_devices(a: Airplane, more_clmax, more_at_large_deflection) -> Airplane:
    """The airplane with devices on the tail: its own limit and the elevator at large angles, nothing else.

    Parameters
    ----------
    a : [-]
    more_clmax : [-]
        Gain of the tail's largest download coefficient.
    more_at_large_deflection : [-]
        Gain of the share of effectiveness left at 40 degrees; the share never exceeds 1.

    Returns
    -------
    Airplane [-]
    """
    return replace(
        a, tail_clmax=a.tail_clmax + more_clmax, falls_to=np.minimum(a.falls_to + more_at_large_deflection, 1.0)
    )


def _moment0(coordinates: np.ndarray | None) -> float:
    """Moment of wing and body at zero lift, from the section's mean line."""
    if coordinates is None:
        return -0.05
    points = np.asarray(coordinates, float)
    nose = int(np.argmin(points[:, 0]))
    upper, lower = points[: nose + 1][::-1], points[nose:]
    x = np.linspace(0.0, 1.0, 401)
    mean = 0.5 * (np.interp(x, upper[:, 0], upper[:, 1]) + np.interp(x, lower[:, 0], lower[:, 1]))
    return MEASURED_OVER_THEORY * moment_of_mean_line(x, mean) + BODY_MOMENT


def _ground(a: Airplane, lift_coefficient, height_over_span):
    """At a height: lift slope, downwash over that aloft, and the share of lift that the image's bound vortex leaves."""
    x = np.asarray(height_over_span, float)
    if a.relief == "planform":
        relief = ge.induced_relief(x, a.aspect_ratio, a.taper)
    else:
        relief = ge.exponential(np.where(np.isinf(x), 1e9, x))
    ratio = ge.downwash_ratio(x, a.tail_above_wing, a.effective_span)
    ratio = ratio * np.where(np.isinf(x), 1.0, 1.0 + a.ground_downwash_error)
    kept = ge.speed_at_wing(lift_coefficient, a.aspect_ratio, x) ** 2 if a.bound_vortex else 1.0
    chord = 1.0 / (a.aspect_ratio * x) if a.relief == "planform" else 0.0
    return kept * ge.slope_in_ground(a.slope, a.aspect_ratio, relief, chord), ratio, kept


def _first(excess, fall):
    """CL at which `excess - fall CL` turns negative; infinite where it never does, zero where it is so at once."""
    excess, fall = np.asarray(excess, float), np.asarray(fall, float)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = excess / fall
    return np.where(fall > 0.0, np.maximum(at, 0.0), np.where(excess < 0.0, 0.0, np.inf))


def _undo(effective, falls_to):
    """The deflection whose effective size this is: the other way round `effective_deflection`."""
    from aerolib.physics.tail import FALLS_FROM

    e = np.asarray(effective, float)
    size = np.abs(e)
    widest = math.radians(40.0)
    k = (1.0 - np.asarray(falls_to, float)) * widest / (widest - FALLS_FROM) ** 2
    # size = d - k (d - f)^2 with x = d - f: k x^2 - x + (size - f) = 0
    x = size - FALLS_FROM
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.where(k > 0.0, (1.0 - np.sqrt(1.0 - 4.0 * k * x)) / (2.0 * k), x)
    return np.sign(e) * np.where(x > 0.0, FALLS_FROM + root, size)
