"""Can the gear reach the attitude: three-point or tail-strike speed beside the stall in ground effect."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from aerolib.atmosphere import DENSITY_0
from aerolib.consequences.balance import QUARTER, Airplane, Flap, Loading, flow, lift_limits
from aerolib.consequences.draws import ends
from aerolib.consequences.tail_authority import DRAWS, Seen, middle, taught
from aerolib.estimate import Estimate
from aerolib.ranges import ANGLE, in_range

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
    gear_speed: Estimate  # at which the gear's angle is the flight attitude [m/s]
    stall_speed: Estimate  # in ground effect [m/s]
    body_alpha: dict[float, float]  # angle of attack of the body at each of MARGINS times the stall speed [rad]
    first_contact: dict[float, str]  # the same keys
    gear_alpha: float  # angle of attack of the body at the gear's angle [rad]

    @property
    def wing_first(self) -> bool:
        """The wing stalls before the gear's angle is reached."""
        return self.body_alpha[1.0] < self.gear_alpha


@dataclass(frozen=True)
class UsableShare:
    """How much of a fall of the stall speed can be used at touchdown, for one flap setting."""

    flap: str
    limited_by: str  # wing, gear or tail: what sets the slowest touchdown of the later modification
    value: float | None = None  # None where there is no gain, or where it is not known well enough
    interval95: tuple[float, float] | None = None
    by_gear: float | None = None  # share that gear and wing alone would leave
    no_gain: bool = False  # the stall speed does not fall

    def headline(self) -> str:
        """One sentence: the gear's answer says gear, the tail's says tail."""
        if self.no_gain:
            return f"{self.flap}: the stall speed does not fall, so there is no gain to use"
        held = self.limited_by if self.limited_by in ("tail", "gear") else None
        if self.value is None or self.interval95 is None:
            rest = f"; after the change the {held} is the limiting factor at touchdown" if held else ""
            return f"{self.flap}: usable share of the gain not determinable{rest}"
        low, high = map(_percent, self.interval95)
        used = f"{_percent(self.value)} of the gain can be used at touchdown ({low} to {high})"
        if held is None or self.value >= ALLOWS:
            return f"{self.flap}: {used}"
        free = "all of it" if (self.by_gear or 0.0) >= ALLOWS else f"{_percent(self.by_gear or 0.0)} of it"
        more = f"; the gear would allow {free}" if held == "tail" else ""
        return f"{self.flap}: the {held} keeps you from using it{more}. {used}"


@dataclass(frozen=True)
class LandingAttitude:
    """What the gear allows, by flap setting and modification."""

    kind: str  # tail-wheel or nose-wheel
    ground_angle: float  # [rad]
    items: tuple[Touchdown, ...]
    usable: tuple[UsableShare, ...] = ()
    source: str = SOURCE
    cautions: tuple[str, ...] = CAUTIONS


@in_range(main_height=(-5.0, 5.0, "m"), other_height=(-5.0, 5.0, "m"), wheelbase=(0.1, 30.0, "m"))
def ground_angle(main_height: float, other_height: float, wheelbase: float) -> float:
    """Angle of a line on the airplane against the ground, from the heights of two of its points.

    theta = atan((z_front - z_rear)/distance)

    Parameters
    ----------
    main_height : [m]
        Height above the ground of a point of the leveling line at the main wheels.
    other_height : [m]
        The same at the tail or nose wheel.
    wheelbase : [m]
        Distance between the two along the ground.

    Returns
    -------
    float [rad]
        Nose up is positive where the other wheel is behind.
    """
    return math.atan((main_height - other_height) / wheelbase)


@in_range(
    eye_above_ground=(0.0, 10.0, "m"), eye_above_cowl=(-5.0, 5.0, "m"), eye_to_cowl=(0.05, 20.0, "m"), pitch=ANGLE
)
def over_the_nose(eye_above_ground: float, eye_above_cowl: float, eye_to_cowl: float, pitch: float) -> float:
    """How far ahead of the eye the ground is hidden by the nose.

    d = z_eye/tan(atan((z_eye - z_cowl)/x) - theta)

    Parameters
    ----------
    eye_above_ground : [m]
    eye_above_cowl : [m]
        Height of the eye above the top of the cowling, along the airplane's own axes.
    eye_to_cowl : [m]
        Distance of that point of the cowling ahead of the eye.
    pitch : [rad]

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
    height_over_span: float, density: float = DENSITY_0, descent: float = 0.0, cg: float | None = None,
    seen: Sequence[Seen] = (), draws: int = DRAWS, angle_within: float = math.radians(1.0),
) -> LandingAttitude:  # fmt: skip
    """Speed at which the gear's angle is the flight attitude, beside the stall in ground effect.

    alpha = theta + gamma; CL = k (a_g (alpha + i_w - alpha_0) + dCL_f); V = sqrt(2 W/(rho S min(CL, CLmax,g)))

    Parameters
    ----------
    a : [-]
    flaps : sequence of (modification, Flap) [-]
        First modification first.
    kind : [-]
        'tail-wheel' (all wheels touch) or 'nose-wheel' (the tail strikes).
    angle : [rad]
        Leveling line against the ground in that attitude.
    mass : [kg]
    wing_area : [m2]
    height_over_span : [-]
        Of the wing's quarter chord at touchdown.
    density : [kg/m3]
    descent : [rad]
        Of the flight path at touchdown, down is positive.
    cg : [-]
        Share of the MAC: with it, the slowest speed the tail can hold counts in the usable share.
    seen : sequence of Seen [-]
        Reweights the draws, as in `tail_authority`.
    draws : [-]
    angle_within : [rad]
        Of the ground angle, nineteen times in twenty.

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
            f"the ground angle is {math.degrees(angle):.1f} degrees; needed is the leveling line against the ground, "
            "nose up, above 0 and at most 25 degrees: digital level on that line, airplane standing (or tail held down)"
        )
    loading, gear = Loading(mass, wing_area, density), angle + descent
    many, flaps, _ = taught(a, flaps, seen, wing_area=wing_area, density=density, draws=draws)
    drawn_gear = gear + angle_within / 1.96 * np.random.default_rng(7).standard_normal(draws)
    usual, at = middle(many), QUARTER if cg is None else cg
    counted = ("gear", "wing") if cg is None else ("gear", "wing", "elevator stop", "tail stall")
    items, slowest = [], {}
    for modification, flap in flaps:
        one = middle(flap)
        drawn = _speeds(loading, lift_limits(many, flap, at, height_over_span, drawn_gear), counted)
        usually = lift_limits(usual, one, at, height_over_span, gear)
        nominal = {k: float(v) for k, v in _speeds(loading, usually, counted).items()}
        alpha = {k: float(flow(usual, one, usually["wing"] / k**2, height_over_span).alpha) for k in MARGINS}
        # no steady flight is slower than the stall: where the gear's angle lies beyond it, the wing sets the speed
        reached = np.maximum(drawn["gear"], drawn["wing"])
        items.append(Touchdown(
            flap=flap.name, modification=modification,
            gear_speed=Estimate("gear speed", max(nominal["gear"], nominal["wing"]), "m/s", {}, ends(reached)),
            stall_speed=Estimate("stall speed in ground effect", nominal["wing"], "m/s", {}, ends(drawn["wing"])),
            body_alpha=alpha, first_contact={k: _contact(kind, x - gear) for k, x in alpha.items()}, gear_alpha=gear,
        ))  # fmt: skip
        slowest[flap.name, modification] = drawn, nominal
    return LandingAttitude(kind, angle, tuple(items), tuple(_shares(flaps, slowest)))


def _speeds(loading: Loading, limits: dict[str, np.ndarray], names: Sequence[str]) -> dict[str, np.ndarray]:
    return {k: loading.speed(limits[k]) for k in names}


def _shares(flaps, slowest) -> list[UsableShare]:
    """(V_before - V_after)/(Vs_before - Vs_after) for every flap setting of the first and the last modification."""
    order = list(dict.fromkeys(m for m, _ in flaps))
    names = dict.fromkeys(f.name for _, f in flaps) if len(order) > 1 else {}
    both = {n: (slowest.get((n, order[0])), slowest.get((n, order[-1]))) for n in names}
    return [_share(n, *first, *last) for n, (first, last) in both.items() if first and last]


def _share(flap: str, drawn_first, first, drawn_last, last) -> UsableShare:
    """One flap setting, from draws and nominal values of the speed [m/s] that each limit leaves, first and last."""
    which = max(last, key=last.get)
    by = which if which in ("wing", "gear") else "tail"
    gain = first["wing"] - last["wing"]
    if gain < 0.05:  # a tenth of a knot
        return UsableShare(flap, by, no_gain=True)
    gained = drawn_first["wing"] - drawn_last["wing"]
    used = np.maximum.reduce([*drawn_first.values()]) - np.maximum.reduce([*drawn_last.values()])
    kept = np.abs(gained) > 0.25 * gain  # a share of nearly nothing says nothing
    low, high = ends(used[kept] / gained[kept])
    if high - low >= WIDE:
        return UsableShare(flap, by)
    all_of, by_gear = (
        (max(first[k] for k in names) - max(last[k] for k in names)) / gain for names in (last, ("gear", "wing"))
    )
    return UsableShare(flap, by, all_of, (low, high), by_gear)


def _percent(share: float) -> str:
    """'80 %', what lies outside 0 and 1 by the balance of small numbers cut off."""
    return f"{100 * min(max(share, 0.0), 1.0):.0f} %"


def _contact(kind: str, above: float) -> str:
    """What touches first when the flight attitude stands `above` the gear's angle [rad]."""
    if abs(above) <= TOGETHER:
        return "all wheels" if kind == "tail-wheel" else "mains, the tail just clear"
    other = "tail wheel" if kind == "tail-wheel" else "tail strikes"
    return other if above > 0.0 else "main wheels"
