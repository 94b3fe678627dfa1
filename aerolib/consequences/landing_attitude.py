"""Can the gear reach the attitude: three-point or tail-strike speed beside the stall in ground effect."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from aerolib.consequences.balance import Airplane, Flap, flow, lift_limits
from aerolib.consequences.tail_authority import DRAWS, GRAVITY, Seen, middle, taught
from aerolib.units import knots

TOGETHER = math.radians(0.5)  # attitudes closer than that touch together
WIDE = 0.8  # interval of a share beyond which it says nothing: our judgement
MARGINS = (1.0, 1.1, 1.2)  # times the stall speed in ground effect

SOURCE = (
    "incidence on the ground from gear geometry; lift near the ground with the image's trailing and bound vortices; "
    "CLmax near the ground 0.90 to 1.00 of that aloft, never more (NACA TN 705, abstract; size from memory)"
)
CAUTIONS = (
    "A steady touchdown in still air: gusts, a late flare or a bounce reach other attitudes.",
    "A full-stall touchdown drops the airplane when the wing lets go; a wing that drops there cannot be caught.",
    "Nothing here changes an approach speed or a placard.",
)


@dataclass(frozen=True)
class Touchdown:
    """One flap setting and modification."""

    flap: str
    modification: str
    gear_speed: float  # at which the gear's angle is the flight attitude [m/s]
    gear_speed_interval95: tuple[float, float]
    stall_speed: float  # in ground effect [m/s]
    stall_speed_interval95: tuple[float, float]
    body_incidence: dict[float, float]  # at each of MARGINS times the stall speed [rad]
    first_contact: dict[float, str]  # the same keys
    chance_gear_binds: float  # that the gear, not the wing, sets the slowest touchdown

    def headline(self) -> str:
        """One sentence with speeds in knots."""
        low, high = (knots(v) for v in self.gear_speed_interval95)
        contact = ", ".join(f"{what} first at {k:g} Vs" for k, what in self.first_contact.items())
        return (
            f"{self.flap}, {self.modification}: gear angle reached at {knots(self.gear_speed):.1f} kt ({low:.1f} to "
            f"{high:.1f} kt), stall in ground effect {knots(self.stall_speed):.1f} kt; {contact}"
        )


@dataclass(frozen=True)
class UsableShare:
    """How much of a fall of the stall speed can be used at touchdown, for one flap setting."""

    flap: str
    value: float | None  # None where the stall speed does not change
    interval95: tuple[float, float] | None

    def headline(self) -> str:
        """One sentence."""
        if self.value is None:
            return f"{self.flap}: the stall speed does not change, so there is no gain to use"
        low, high = self.interval95
        said = f"{self.flap}: {self.value:.0%} of the gain can be used at touchdown ({low:.0%} to {high:.0%})"
        return said if high - low < WIDE else f"{said}: the gain is not known well enough to say"


@dataclass(frozen=True)
class LandingAttitude:
    """What the gear allows, by flap setting and modification."""

    kind: str  # tail-wheel or nose-wheel
    ground_angle: float  # [rad]
    items: tuple[Touchdown, ...]
    usable: tuple[UsableShare, ...] = ()
    inputs: dict[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    source: str = SOURCE
    cautions: tuple[str, ...] = CAUTIONS

    def __str__(self) -> str:
        return "\n".join(x.headline() for x in (*self.items, *self.usable))

    def _repr_html_(self) -> str:
        rows = "".join(f"<li>{html.escape(x.headline())}</li>" for x in (*self.items, *self.usable))
        notes = "".join(f"<li>{html.escape(n)}</li>" for n in (*self.notes, *self.cautions))
        return f"<ul>{rows}</ul><ul class='cautions'>{notes}</ul><p>{html.escape(self.source)}.</p>"

    def as_list(self) -> list[dict]:
        """Plain data for the JSON: speeds in knots; the usable share stands with the later modification."""
        share = {u.flap: u for u in self.usable}
        last = self.items[-1].modification if self.items else None
        out = []
        for i in self.items:
            u = share.get(i.flap) if i.modification == last else None
            out.append({
                "modification": i.modification, "configuration": i.flap,
                "three_point_speed_kt": round(knots(i.gear_speed), 2),
                "interval95_kt": [round(knots(v), 2) for v in i.gear_speed_interval95],
                "stall_speed_ige_kt": round(knots(i.stall_speed), 2),
                "stall_speed_ige_interval95_kt": [round(knots(v), 2) for v in i.stall_speed_interval95],
                "first_contact": {f"{k:g}": v for k, v in i.first_contact.items()},
                "usable_share_of_gain": None if u is None or u.value is None else round(u.value, 3),
                "usable_share_interval95": u and u.interval95 and [round(v, 3) for v in u.interval95],
            })  # fmt: skip
        return out


def ground_angle(main_height: float, other_height: float, wheelbase: float) -> float:
    """Angle of a line on the airplane against the ground, from the heights of two of its points.

    theta = atan((z_front - z_rear)/distance)

    Parameters
    ----------
    main_height : float [m]
        Height above the ground of a point of the datum line at the main wheels.
    other_height : float [m]
        The same at the tail or nose wheel.
    wheelbase : float [m]
        Distance between the two along the ground.

    Returns
    -------
    float [rad]
        Nose up is positive where the other wheel is behind.
    """
    if not wheelbase > 0.0:
        raise ValueError(f"the distance between the wheels is {wheelbase:.3g} m; it must be above zero")
    return math.atan((main_height - other_height) / wheelbase)


def over_the_nose(eye_above_ground: float, eye_above_cowl: float, eye_to_cowl: float, pitch: float) -> float:
    """How far ahead of the eye the ground is hidden by the nose.

    d = z_eye/tan(atan((z_eye - z_cowl)/x) - theta)

    Parameters
    ----------
    eye_above_ground : float [m]
    eye_above_cowl : float [m]
        Height of the eye above the top of the cowling, along the airplane's own axes.
    eye_to_cowl : float [m]
        Distance of that point of the cowling ahead of the eye.
    pitch : float [rad]

    Returns
    -------
    float [m]
        Infinite where the nose hides the horizon.
    """
    down = math.atan2(eye_above_cowl, eye_to_cowl) - pitch
    return eye_above_ground / math.tan(down) if down > 0.0 else math.inf


def landing_attitude(
    a: Airplane, flaps: Sequence[tuple[str, Flap]], *, kind: str, angle: float, mass: float, wing_area: float,
    height_over_span: float, density: float = 1.225, descent: float = 0.0, cg: float | None = None,
    seen: Sequence[Seen] = (), draws: int = DRAWS,
    angle_within: float = math.radians(1.0), inputs: dict[str, str] | None = None, notes: Sequence[str] = (),
) -> LandingAttitude:  # fmt: skip
    """Speed at which the gear's angle is the flight attitude, beside the stall in ground effect.

    alpha = theta + gamma; CL = k (a_g (alpha + i_w - alpha_0) + dCL_f); V = sqrt(2 W/(rho S min(CL, CLmax,g)))

    Parameters
    ----------
    a : Airplane [-]
    flaps : sequence of (modification, Flap) [-]
        First modification first.
    kind : str [-]
        'tail-wheel' (all wheels touch) or 'nose-wheel' (the tail strikes).
    angle : float [rad]
        Body datum against the ground in that attitude.
    mass : float [kg]
    wing_area : float [m2]
    height_over_span : float [-]
        Of the wing's quarter chord at touchdown.
    density : float [kg/m3]
    descent : float [rad]
        Of the flight path at touchdown, down is positive.
    cg : float [-]
        Share of the mean chord: with it, the slowest speed the tail can hold counts in the usable share.
    seen : sequence of Seen [-]
        Reweights the draws, as in `tail_authority`.
    draws : int [-]
    angle_within : float [rad]
        Of the ground angle, nineteen times in twenty.
    inputs : dict of str [-]
    notes : sequence of str [-]

    Returns
    -------
    LandingAttitude [-]

    Raises
    ------
    ValueError
        A gear kind that is not known; an angle that is not above zero.

    Valid range: h/b 1/15 to 1/2; angles to 25 degrees.
    """
    if kind not in ("tail-wheel", "nose-wheel"):
        raise ValueError(f"gear kind '{kind}' is not known; write tail-wheel or nose-wheel")
    if not 0.0 < angle <= math.radians(25.0):
        raise ValueError(
            f"the ground angle is {math.degrees(angle):.1f} degrees; needed is the datum line against the ground, nose "
            "up, above 0 and at most 25 degrees: digital level on the datum line, airplane standing (or tail held down)"
        )
    many, flaps, _ = taught(a, flaps, seen, wing_area=wing_area, density=density, draws=draws)
    usual = middle(many)
    gear = angle + descent + angle_within / 1.96 * np.random.default_rng(7).standard_normal(draws)
    items, slowest = [], {}
    for modification, flap in flaps:
        limits = lift_limits(many, flap, 0.25 if cg is None else cg, height_over_span, gear)
        nominal = lift_limits(usual, middle(flap), 0.25 if cg is None else cg, height_over_span, angle + descent)

        def speed(cl):
            return np.sqrt(2.0 * mass * GRAVITY / (density * wing_area * np.maximum(cl, 1e-9)))

        stall = float(speed(nominal["wing"]))
        incidence, contact = {}, {}
        for k in MARGINS:
            alpha = float(flow(usual, middle(flap), float(nominal["wing"]) / k**2, height_over_span).alpha)
            incidence[k] = alpha
            contact[k] = _contact(kind, alpha - angle - descent)
        # no steady flight is slower than the stall: where the gear's angle lies beyond it, the wing sets the speed
        gear_speed = speed(np.minimum(limits["gear"], limits["wing"]))
        items.append(Touchdown(
            flap.name, modification, float(speed(np.minimum(nominal["gear"], nominal["wing"]))),
            _quantiles(gear_speed), stall, _quantiles(speed(limits["wing"])), incidence, contact,
            float(np.mean(limits["gear"] < limits["wing"])),
        ))  # fmt: skip
        parts = [limits["gear"], limits["wing"]]
        ends = [nominal["gear"], nominal["wing"]]
        if cg is not None:
            parts += [limits["elevator stop"], limits["tail stall"]]
            ends += [nominal["elevator stop"], nominal["tail stall"]]
        slowest[flap.name, modification] = (
            speed(np.minimum.reduce(parts)), speed(limits["wing"]),
            float(speed(np.minimum.reduce(ends))), stall,
        )  # fmt: skip
    return LandingAttitude(kind, angle, tuple(items), tuple(_shares(flaps, slowest)), dict(inputs or {}), tuple(notes))


def _shares(flaps, slowest) -> list[UsableShare]:
    """(V_before - V_after)/(Vs_before - Vs_after) for every flap setting of the first and the last modification."""
    order = list(dict.fromkeys(m for m, _ in flaps))
    if len(order) < 2:
        return []
    out = []
    for name in dict.fromkeys(f.name for _, f in flaps):
        if (name, order[0]) not in slowest or (name, order[-1]) not in slowest:
            continue
        v0, s0, n0, m0 = slowest[name, order[0]]
        v1, s1, n1, m1 = slowest[name, order[-1]]
        if abs(m0 - m1) < 0.05:  # a tenth of a knot
            out.append(UsableShare(name, None, None))
            continue
        gained = s0 - s1
        kept = np.abs(gained) > 0.25 * abs(m0 - m1)  # a share of nearly nothing says nothing
        share = (v0 - v1)[kept] / gained[kept]
        out.append(UsableShare(name, (n0 - n1) / (m0 - m1), _quantiles(share)))
    return out


def _contact(kind: str, above: float) -> str:
    """What touches first when the flight attitude stands `above` the gear's angle."""
    if abs(above) <= TOGETHER:
        return "all wheels" if kind == "tail-wheel" else "mains, the tail just clear"
    if kind == "tail-wheel":
        return "tail wheel" if above > 0.0 else "main wheels"
    return "tail strikes" if above > 0.0 else "main wheels"


def _quantiles(values) -> tuple[float, float]:
    low, high = np.quantile(values, [0.025, 0.975])
    return float(low), float(high)
