"""Can the gear reach the attitude: three-point or tail-strike speed beside the stall in ground effect."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from aerolib.consequences.balance import Airplane, Flap, flow, lift_limits
from aerolib.consequences.tail_authority import DRAWS, GRAVITY, Seen, middle, taught
from aerolib.ranges import ANGLE, in_range
from aerolib.units import knots

TOGETHER = math.radians(0.5)  # attitudes closer than that touch together
WIDE = 0.8  # interval of a share beyond which it says nothing: our judgement
ALLOWS = 0.9  # share of the gain from which gear or tail is said to allow it: our judgement
MARGINS = (1.0, 1.1, 1.2)  # times the stall speed in ground effect

SOURCE = (
    "angle of attack on the ground from gear geometry; lift near the ground with the image's trailing and bound "
    "vortices; CLmax near the ground 0.90 to 1.00 of that aloft, never more (NACA TN 705, abstract; size from memory)"
)
CAUTIONS = (
    "A steady touchdown in still air: gusts, a late flare or a bounce reach other attitudes.",
    "A full-stall touchdown drops the airplane when the wing stalls; a stall near the ground is not recoverable.",
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
    body_alpha: dict[float, float]  # angle of attack of the body at each of MARGINS times the stall speed [rad]
    first_contact: dict[float, str]  # the same keys
    chance_gear_limits: float  # that the gear, not the wing, sets the slowest touchdown
    gear_alpha: float  # angle of attack of the body at the gear's angle [rad]

    @property
    def wing_first(self) -> bool:
        """The wing stalls before the gear's angle is reached."""
        return self.body_alpha[1.0] < self.gear_alpha

    def gear_words(self) -> str:
        """The speed at which the gear's angle is reached, or that the wing stalls before."""
        if self.wing_first:
            return (
                f"the wing stalls first, at {math.degrees(self.body_alpha[1.0]):.1f}\u00b0; the gear allows "
                f"{math.degrees(self.gear_alpha):.1f}\u00b0"
            )
        low, high = (knots(v) for v in self.gear_speed_interval95)
        return f"gear angle reached at {knots(self.gear_speed):.1f} kt ({low:.1f} to {high:.1f} kt)"

    def headline(self) -> str:
        """One sentence with speeds in knots CAS."""
        contact = ", ".join(f"{what} first at {k:g} V_S1g" for k, what in self.first_contact.items())
        return (
            f"{self.flap}, {self.modification}: {self.gear_words()}; 1-g stall in ground effect "
            f"{knots(self.stall_speed):.1f} kt; {contact}"
        )


@dataclass(frozen=True)
class UsableShare:
    """How much of a fall of the stall speed can be used at touchdown, for one flap setting."""

    flap: str
    value: float | None  # None where there is no gain, or where it is not known well enough
    interval95: tuple[float, float] | None
    limited_by: str  # wing, gear or tail: what sets the slowest touchdown of the later modification
    by_gear: float | None = None  # share that gear and wing alone would leave
    no_gain: bool = False  # the stall speed does not fall

    def headline(self) -> str:
        """One sentence: the gear's answer says gear, the tail's says tail."""
        if self.no_gain:
            return f"{self.flap}: the stall speed does not fall, so there is no gain to use"
        if self.value is None:
            held = {"tail": "the tail is the limiting factor", "gear": "the gear is the limiting factor"}
            rest = f"; after the change {held[self.limited_by]} at touchdown" if self.limited_by in held else ""
            return f"{self.flap}: usable share of the gain not determinable{rest}"
        used = (
            f"{_share(self.value)} of the gain can be used at touchdown ({' to '.join(map(_share, self.interval95))})"
        )
        if self.limited_by == "tail" and self.value < ALLOWS:
            gear = "all of it" if self.by_gear >= ALLOWS else f"{_share(self.by_gear)} of it"
            return f"{self.flap}: the tail keeps you from using it; the gear would allow {gear}. {used}"
        if self.limited_by == "gear" and self.value < ALLOWS:
            return f"{self.flap}: the gear keeps you from using it. {used}"
        return f"{self.flap}: {used}"


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
                "wing_stalls_first": i.wing_first,
                "touchdown_limited_by": u and u.limited_by,
                "usable_share_by_gear_alone": None if u is None or u.by_gear is None else round(u.by_gear, 3),
                "usable_share_of_gain": None if u is None or u.value is None else round(u.value, 3),
                "usable_share_interval95": u and u.interval95 and [round(v, 3) for v in u.interval95],
            })  # fmt: skip
        return out


@in_range(main_height=(-5.0, 5.0, "m"), other_height=(-5.0, 5.0, "m"), wheelbase=(0.1, 30.0, "m"))
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


@in_range(
    eye_above_ground=(0.0, 10.0, "m"), eye_above_cowl=(-5.0, 5.0, "m"), eye_to_cowl=(0.05, 20.0, "m"), pitch=ANGLE
)
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


@in_range("angle", angle_within=(0.0, 0.5, "rad"))
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
        Share of the MAC: with it, the slowest speed the tail can hold counts in the usable share.
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
        at, contact = {}, {}
        for k in MARGINS:
            alpha = float(flow(usual, middle(flap), float(nominal["wing"]) / k**2, height_over_span).alpha)
            at[k] = alpha
            contact[k] = _contact(kind, alpha - angle - descent)
        # no steady flight is slower than the stall: where the gear's angle lies beyond it, the wing sets the speed
        gear_speed = speed(np.minimum(limits["gear"], limits["wing"]))
        items.append(Touchdown(
            flap.name, modification, float(speed(np.minimum(nominal["gear"], nominal["wing"]))),
            _quantiles(gear_speed), stall, _quantiles(speed(limits["wing"])), at, contact,
            float(np.mean(limits["gear"] < limits["wing"])), angle + descent,
        ))  # fmt: skip
        counted = ("gear", "wing") if cg is None else ("gear", "wing", "elevator stop", "tail stall")
        slowest[flap.name, modification] = _Slowest(
            speed(np.minimum.reduce([limits[k] for k in counted])), speed(limits["wing"]),
            {k: float(speed(nominal[k])) for k in counted},
        )  # fmt: skip
    return LandingAttitude(kind, angle, tuple(items), tuple(_shares(flaps, slowest)), dict(inputs or {}), tuple(notes))


@dataclass(frozen=True)
class _Slowest:
    """Slowest touchdown and wing's stall as draws [m/s], and what each limit leaves at the nominal values [m/s]."""

    drawn: np.ndarray
    drawn_stall: np.ndarray
    nominal: dict[str, float]


def _shares(flaps, slowest) -> list[UsableShare]:
    """(V_before - V_after)/(Vs_before - Vs_after) for every flap setting of the first and the last modification."""
    order = list(dict.fromkeys(m for m, _ in flaps))
    if len(order) < 2:
        return []
    out = []
    for name in dict.fromkeys(f.name for _, f in flaps):
        if (name, order[0]) not in slowest or (name, order[-1]) not in slowest:
            continue
        first, last = slowest[name, order[0]], slowest[name, order[-1]]
        which = max(last.nominal, key=last.nominal.get)
        by = which if which in ("wing", "gear") else "tail"
        gain = first.nominal["wing"] - last.nominal["wing"]
        if gain < 0.05:  # a tenth of a knot
            out.append(UsableShare(name, None, None, by, no_gain=True))
            continue
        gained = first.drawn_stall - last.drawn_stall
        kept = np.abs(gained) > 0.25 * gain  # a share of nearly nothing says nothing
        ends = _quantiles((first.drawn - last.drawn)[kept] / gained[kept])
        if ends[1] - ends[0] >= WIDE:
            out.append(UsableShare(name, None, None, by))
            continue
        all_of, by_gear = (
            (max(first.nominal[k] for k in names) - max(last.nominal[k] for k in names)) / gain
            for names in (tuple(last.nominal), ("gear", "wing"))
        )
        out.append(UsableShare(name, all_of, ends, by, by_gear))
    return out


def _share(value: float) -> str:
    """'80 %', what lies outside 0 and 1 by the balance of small numbers cut off."""
    return f"{100 * min(max(value, 0.0), 1.0):.0f} %"


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
