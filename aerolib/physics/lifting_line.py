"""The lifting line of an unswept wing: spanwise loading, lift slope, induced drag, and a flap as a step in incidence.

    sum_n A_n sin(n t) [4 b / (a0 c) + n / sin t] = alpha(t),    y = (b/2) cos t,    n = 1, 3, 5, ...

cl = 4 b/c sum A_n sin(n t), CL = pi A A_1, CDi = pi A sum n A_n^2 (Glauert, The Elements of Aerofoil and Airscrew
Theory, 1926, chapter XI; formulae from memory). Symmetric loadings only.

A flap end is a step in alpha. The circulation stays continuous there, with a logarithmic infinity in its slope, which a
sine series converges to only slowly. So the step is taken out: the circulation whose induced angle is exactly one over
the flapped span and zero outside it has a closed form (`step_circulation`), and the series only has to carry the
continuous remainder.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from aerolib.ranges import in_range

LEAST_ASPECT_RATIO = 4.0  # below it the lifting line reads high: common practice, no source
MOST_SWEEP = np.deg2rad(15.0)  # beyond it the loading moves to the tip: common practice, no source
HALF_STATIONS = 100  # of one half of the span


@dataclass(frozen=True)
class Planform:
    """A straight-edged wing seen from above: chord and twist at stations of the half span, linear between them."""

    span: float  # tip to tip [m]
    station: tuple[float, ...]  # from the centreline, first 0, last span / 2 [m]
    chord: tuple[float, ...]  # [m]
    twist: tuple[float, ...] = ()  # against the root, washout negative [rad]; empty: none
    sweep: float = 0.0  # of the quarter-chord line, back positive [rad]
    flap: tuple[float, float] | None = None  # inner and outer end of the flap [m]
    aileron: tuple[float, float] | None = None  # inner and outer end of the aileron [m]
    side: float = 0.0  # half-width of the fuselage, through which the wing is counted [m]
    notes: tuple[str, ...] = ()  # what was assumed

    def __post_init__(self):
        if not self.twist:
            object.__setattr__(self, "twist", (0.0,) * len(self.station))
        y, c, half = np.asarray(self.station), np.asarray(self.chord), 0.5 * self.span
        if not (len(y) == len(c) == len(self.twist) >= 2):
            raise ValueError(
                f"station, chord and twist have {len(y)}, {len(c)}, {len(self.twist)} values; give as many of each, "
                "at least 2"
            )
        if not (self.span > 0.0 and np.all(np.diff(y) > 0.0) and y[0] == 0.0 and abs(y[-1] - half) < 1e-6 * half):
            raise ValueError(
                f"stations {self.station} m do not go outward from 0 to half the span, {half:g} m; give them so"
            )
        if not np.all(c > 0.0):
            raise ValueError(
                f"chords {self.chord} m: every chord must be above zero; the tip chord is just inside its rounding"
            )
        if not np.all(np.abs(self.twist) < 0.35):
            raise ValueError(f"twist {self.twist} rad: expected within 0.35 rad (20 degrees); is it in degrees?")
        if self.aspect_ratio < LEAST_ASPECT_RATIO:
            raise ValueError(
                f"aspect ratio {self.aspect_ratio:.2f} is below {LEAST_ASPECT_RATIO:g}, where a lifting line reads "
                "high; a method with chordwise stations is needed, which is not here"
            )
        if abs(self.sweep) > MOST_SWEEP:
            raise ValueError(
                f"sweep {np.rad2deg(self.sweep):.0f} degrees is beyond {np.rad2deg(MOST_SWEEP):.0f}, where this "
                "lifting line of an unswept wing does not hold"
            )
        if not 0.0 <= self.side < half:
            raise ValueError(f"the fuselage's half-width {self.side:g} m is not within half the span, {half:g} m")
        for name in ("flap", "aileron"):
            ends = getattr(self, name)
            if ends is not None and not 0.0 <= ends[0] < ends[1] <= half * (1.0 + 1e-9):
                raise ValueError(
                    f"{name} from {ends[0]:g} to {ends[1]:g} m: needed is inner end below outer end, within half the "
                    f"span, {half:g} m"
                )
        if self.flap and self.aileron and self.flap[1] > self.aileron[0] + 1e-9 and self.aileron[1] > self.flap[0]:
            raise ValueError(
                f"the flap (to {self.flap[1]:g} m) reaches over the aileron (from {self.aileron[0]:g} m); "
                "give each its own span"
            )

    @property
    def area(self) -> float:
        """Both halves [m2]."""
        return 2.0 * float(np.trapezoid(self.chord, self.station))

    @property
    def aspect_ratio(self) -> float:
        """Span squared over area [-]."""
        return self.span**2 / self.area

    def chord_at(self, y) -> np.ndarray:
        """Chord [m] at distances from the centreline [m]."""
        return np.interp(y, self.station, self.chord)

    def twist_at(self, y) -> np.ndarray:
        """Twist [rad] at distances from the centreline [m]."""
        return np.interp(y, self.station, self.twist)

    def area_between(self, inner: float, outer: float) -> float:
        """Area of both halves between two distances from the centreline [m2]."""
        y = np.unique(np.clip(np.r_[inner, outer, self.station], inner, outer))
        return 2.0 * float(np.trapezoid(self.chord_at(y), y))


@in_range("taper")
def straight_taper(
    span: float, area: float, taper: float, *, washout: float = 0.0, flap=None, aileron=None, side: float = 0.0
) -> Planform:
    """A straight-tapered planform.

    c_root = 2 S / (b (1 + taper))

    Parameters
    ----------
    span : [m]
    area : [m2]
    taper : [-]
        Tip chord over root chord, above 0 to 3.
    washout : [rad]
        Nose-down twist of the tip against the root, linear between; a positive number.
    flap, aileron : (float, float) or None [m]
        Distances of the ends from the centreline.
    side : [m]
        Half-width of the fuselage.

    Returns
    -------
    Planform [m]
    """
    if not 0.0 < taper <= 3.0:
        raise ValueError(f"taper {taper:g}: tip chord over root chord must be above 0, at most 3")
    root = 2.0 * area / (span * (1.0 + taper))
    return Planform(
        span, (0.0, 0.5 * span), (root, taper * root), (0.0, -washout), flap=flap, aileron=aileron, side=side
    )


def step_circulation(angle, edge) -> np.ndarray:
    """Circulation over 2 b V whose induced angle is one from the tips inward to `edge`, zero inside it.

    S = (2/pi) [e sin t + (y - k) L(t, e) - (y + k) L(pi - t, e)],  y = cos t, k = cos e,
    L(t, e) = 1/2 ln |sin((t + e)/2) / sin((t - e)/2)|

    It is the sum of the series with n A_n = (4/pi) int_0^e sin x sin(n x) dx over odd n (our derivation).

    Parameters
    ----------
    angle : [rad]
        t, from the tip.
    edge : [rad]
        e: the step reaches from the tips (0) inward to here; pi/2 is the whole span.

    Returns
    -------
    float or array [-]
    """
    t, e = np.asarray(angle, dtype=float), np.asarray(edge, dtype=float)
    y, k = np.cos(t), np.cos(e)

    def part(distance, s):  # (y - k) ln(...), zero where y = k
        with np.errstate(divide="ignore", invalid="ignore"):
            log = 0.5 * np.log(np.abs(np.sin(0.5 * (s + e)) / np.sin(0.5 * (s - e))))
        return np.where(np.abs(distance) < 1e-12, 0.0, distance * np.nan_to_num(log, posinf=0.0, neginf=0.0))

    return 2.0 / np.pi * (e * np.sin(t) + part(y - k, t) - part(y + k, np.pi - t))


@dataclass(frozen=True)
class Loading:
    """Solutions of a lifting line: leading axes as given, stations last."""

    lift_coefficient: np.ndarray  # (...) of the wing [-]
    induced_drag: np.ndarray  # (...) coefficient [-]
    section_lift: np.ndarray  # (..., N + 1) local cl, the root last [-]


class LiftingLine:
    """A wing solved once; loadings for any incidence, twist and flap setting are then products with its inverse.

    Parameters
    ----------
    planform : Planform [m]
        Or anything with `span`, `area` and `chord_at(y)`, for a shape with curved edges.
    section_slope : [1/rad]
        Lift slope of the sections; at `y` where it varies.
    count : [-]
        N, stations of one half of the span.

    Attributes
    ----------
    y : array (N + 1,) [m]
        y = (b/2) cos t, t = (i - 1/2) pi / (2 N), outermost first, then the root, where the series is read off.
    slope : float [1/rad]
        Of the wing.
    slope_factor, drag_factor : float [-]
        tau and delta of a = a0 / (1 + (1 + tau) a0 / (pi A)) and CDi = (1 + delta) CL^2 / (pi A), untwisted.
    additional : array (N + 1,) [-]
        Local cl at CL = 1, untwisted.
    area_share : array (N,) [-]
        Of the wing, belonging to each station but the root; sums to 1.
    """

    def __init__(self, planform, section_slope=2.0 * np.pi, count: int = HALF_STATIONS):
        slope = np.broadcast_to(np.asarray(section_slope, dtype=float), (count + 1,))
        if not np.all((slope > 1.0) & (slope < 10.0)):
            raise ValueError(f"section lift slope {slope.min():.3g} per radian: expected 1 to 10; is it per degree?")
        self.planform, self.count = planform, count
        self.angle = np.append((np.arange(1, count + 1) - 0.5) * np.pi / (2 * count), 0.5 * np.pi)
        self.y = 0.5 * planform.span * np.cos(self.angle)
        self.y[-1] = 0.0
        self.section_slope = slope
        self.aspect_ratio = planform.span**2 / planform.area
        self.area_share = planform.chord_at(self.y[:-1]) * np.sin(self.angle[:-1])
        self.area_share /= self.area_share.sum()
        self._n = 2 * np.arange(count) + 1
        self._to_cl = 4.0 * planform.span / planform.chord_at(self.y)
        sine = np.sin(np.outer(self.angle, self._n))
        matrix = (sine * (self._to_cl / slope)[:, None] + self._n * sine / np.sin(self.angle)[:, None])[:count]
        self._inverse = np.linalg.inv(matrix)
        self._series = sine * self._to_cl[:, None]
        flat = self.loading(1.0)
        self.slope = float(flat.lift_coefficient)
        self.additional = flat.section_lift / self.slope
        self.drag_factor = float(flat.induced_drag) * np.pi * self.aspect_ratio / self.slope**2 - 1.0
        mean = float(np.mean(slope))
        self.slope_factor = (mean / self.slope - 1.0) * np.pi * self.aspect_ratio / mean - 1.0

    def loading(self, incidence=0.0, steps: Sequence[tuple] = ()) -> Loading:
        """Loading of a continuous incidence and of steps of incidence over parts of the span.

        A_n = A_n(step, closed form) + A_n(remainder, by collocation)

        Parameters
        ----------
        incidence : float or array (..., N + 1) [rad]
            Chord line against the undisturbed air, less the zero-lift angle, at `y`.
        steps : sequence of (inner, outer, shift) [m, m, rad]
            Distances of the ends from the centreline, and the incidence added between them: float or array (...).

        Returns
        -------
        Loading [-]
        """
        half = 0.5 * self.planform.span
        alpha = np.asarray(incidence, dtype=float)
        alpha = alpha[..., :-1] if alpha.ndim else np.broadcast_to(alpha, (self.count,))
        known, extra = 0.0, 0.0  # coefficients and local cl of the steps
        for inner, outer, shift in steps:
            if not 0.0 <= inner < outer <= half * (1.0 + 1e-9):
                raise ValueError(
                    f"a step from {inner:g} to {outer:g} m: needed is inner end below outer end, within half the span, "
                    f"{half:g} m"
                )
            shift = np.asarray(shift, dtype=float)[..., None]
            ends = np.arccos(np.minimum([inner / half, outer / half], 1.0))
            known = known + shift * (self._coefficients(ends[0]) - self._coefficients(ends[1]))
            extra = extra + shift * self.step_lift(inner, outer)
        remainder = alpha - (extra / self.section_slope)[..., :-1] if len(steps) else alpha
        fitted = remainder @ self._inverse.T
        a = fitted + known
        pi_a = np.pi * self.aspect_ratio
        return Loading(pi_a * a[..., 0], pi_a * np.sum(self._n * a * a, axis=-1), fitted @ self._series.T + extra)

    def induced_angle(self) -> np.ndarray:
        """Induced angle at every station but the root for a local cl of one at each of them.

        alpha_i = sum_n n A_n sin(n t) / sin t, with A_n the sine transform of c cl / (4 b)

        Returns
        -------
        array (N, N) [rad]
        """
        sine = self._series[:-1] / self._to_cl[:-1, None]
        return (self._n * sine / np.sin(self.angle[:-1])[:, None]) @ np.linalg.inv(sine) / self._to_cl[:-1]

    def step_lift(self, inner: float, outer: float) -> np.ndarray:
        """Local cl at `y` of the circulation whose induced angle is one between two distances and zero elsewhere.

        Parameters
        ----------
        inner, outer : float [m]

        Returns
        -------
        array (N + 1,) [1/rad]
        """
        ends = np.arccos(np.minimum(np.array([inner, outer]) / (0.5 * self.planform.span), 1.0))
        return self._to_cl * (step_circulation(self.angle, ends[0]) - step_circulation(self.angle, ends[1]))

    def _coefficients(self, edge: float) -> np.ndarray:
        """A_n of `step_circulation`: (4 / (n pi)) int_0^e sin x sin(n x) dx."""
        n = self._n
        lower = np.where(n == 1, edge, np.sin((n - 1) * edge) / np.maximum(n - 1, 1))
        return 2.0 / (n * np.pi) * (lower - np.sin((n + 1) * edge) / (n + 1))
