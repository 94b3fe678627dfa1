"""Wind and true airspeed from ground velocities: the circle through them.

Flown at one airspeed, every ground velocity is the wind plus the same airspeed in another direction, so the ground
velocities lie on a circle: its centre is the wind, its radius the airspeed.

    |g_i - w| = sqrt(V**2 - s_i**2)          s_i: sink rate, where the legs were glides
    |w + sqrt(V**2 - s_i**2) u_i| = |g_i|    u_i: unit vector of a known heading, where the track was not noted

Turning every track by the same angle (magnetic for true, or a variation of long ago) turns the wind and leaves V.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

HIGHEST_DILUTION = 3.0  # error of the airspeed over that of one leg, beyond which nothing is given: our judgement
WEAKEST_DIRECTION = 0.25  # smallest singular value of the legs' directions, in the same sense
TRACK = math.radians(1.0)  # standard uncertainty of a track or heading [rad]: our judgement
CLOSE = 0.2  # how far (ln) from what the needle says an airspeed may be and still be believed


@dataclass(frozen=True)
class Circle:
    """Airspeed and wind of one run."""

    airspeed: float  # true [m/s]
    wind: tuple[float, float]  # where the air moves to: east, north [m/s]
    residuals: np.ndarray  # (n,) of each leg, measured less fitted [m/s]
    covariance: np.ndarray  # (3, 3) of airspeed, wind east, wind north for legs good within `leg` [m2/s2]
    headings: np.ndarray  # (n,) in the sense of the tracks [rad]
    dilution: float  # error of the airspeed over that of one leg [-]
    leg: float  # standard uncertainty of a leg's speed the covariance is for [m/s]

    @property
    def standard_uncertainty(self) -> float:
        """Of the airspeed [m/s]."""
        return math.sqrt(self.covariance[0, 0])

    @property
    def wind_speed(self) -> float:
        """[m/s]."""
        return math.hypot(*self.wind)

    @property
    def wind_from(self) -> float:
        """Direction the wind blows from, in the sense of the tracks [rad], 0 to 2 pi."""
        return math.atan2(-self.wind[0], -self.wind[1]) % (2.0 * math.pi)


def fit_circle(ground_speed, track=None, *, heading=None, sink_rate=0.0, leg=0.35, expected=None) -> Circle:
    """True airspeed and wind from three or more legs flown at one airspeed.

    min sum (hypot(|g_i - w|, s_i) - V)^2: exact for three legs, geometric least squares for more

    Parameters
    ----------
    ground_speed : array (n,) [m/s]
    track : array (n,) or None [rad]
        Clockwise from north, true or magnetic alike.
    heading : array (n,) or None [rad]
        Where tracks were not noted.
    sink_rate : float or array (n,) [m/s]
        Of gliding legs, positive down.
    leg : float [m/s]
        Standard uncertainty of the speed of one leg.
    expected : float or None [m/s]
        What the needle makes of the airspeed: chooses between two answers of legs at known headings.

    Returns
    -------
    Circle [m/s]

    Raises
    ------
    ValueError
        Fewer than three legs; legs whose directions leave the airspeed open; two answers that fit alike.

    Valid range: a wind that is the same on every leg; a wind stronger than the airspeed is no trouble with tracks.
    Source: D. Gray, "Using GPS to accurately establish True Airspeed", June 1998 (three legs, any tracks); SFTE
    Reference Handbook 2013 ch. 4 (equations); geometric circle fit as orthogonal distance regression.
    """
    gs = np.atleast_1d(np.asarray(ground_speed, dtype=float))
    sink = np.broadcast_to(np.asarray(sink_rate, dtype=float), gs.shape)
    angle = np.atleast_1d(np.asarray(heading if track is None else track, dtype=float))
    if len(gs) < 3:
        raise ValueError(f"{len(gs)} leg{'s' if len(gs) != 1 else ''}: three unknowns (airspeed and two of the wind) "
                         "need three legs or more; fly another on a track well apart")  # fmt: skip
    if angle.shape != gs.shape or not np.all(np.isfinite(angle)) or not np.all(np.isfinite(gs) & (gs > 0.0)):
        raise ValueError("every leg needs a ground speed above zero and a track (or every one a heading)")
    if not np.all(np.isfinite(sink)) or np.any(np.abs(sink) >= 0.7 * gs.max()):
        raise ValueError("the sink rate of a leg is no glide: is its unit right?")
    east, north = np.sin(angle), np.cos(angle)
    if track is not None:
        return _by_tracks(gs * east, gs * north, sink, leg, angle)
    return _by_headings(gs, east, north, sink, leg, expected)


def _by_tracks(gx, gy, sink, leg, track):
    rows = np.column_stack([2.0 * gx, 2.0 * gy, np.ones_like(gx)])
    (wx, wy, c), *_ = np.linalg.lstsq(rows, gx**2 + gy**2, rcond=None)
    start = (math.hypot(math.sqrt(max(c + wx**2 + wy**2, 1.0)), sink.mean()), wx, wy)

    def parts(p):
        dx, dy = gx - p[1], gy - p[2]
        r = np.maximum(np.sqrt(dx**2 + dy**2 + sink**2), 1e-9)
        return r - p[0], np.column_stack([-np.ones_like(r), -dx / r, -dy / r])

    p, off, jacobian = _fitted(parts, start, track)
    dx, dy = gx - p[1], gy - p[2]
    # A track that is off turns the ground velocity: what that does along the radius is the crosswind's share.
    across = np.abs(gy * dx - gx * dy) / np.maximum(np.hypot(dx, dy), 1e-9)
    return _circle(p, off, jacobian, across, leg, np.arctan2(dx, dy))


def _by_headings(gs, ux, uy, sink, leg, expected):
    heading = np.arctan2(ux, uy)
    rows = np.column_stack([np.ones_like(gs), ux, uy])
    if np.linalg.svd(rows, compute_uv=False)[-1] < WEAKEST_DIRECTION:
        raise ValueError(_too_alike(heading, "heading"))
    (a, b, c), *_ = np.linalg.lstsq(rows, gs**2, rcond=None)  # g^2 = (w^2 + h^2) + 2 h (w . u)
    root = math.sqrt(max(0.25 * a * a - 0.25 * (b * b + c * c), 0.0))

    def parts(p):
        h = np.sqrt(np.maximum(p[0] ** 2 - sink**2, 1e-6))
        x, y = p[1] + h * ux, p[2] + h * uy
        g = np.maximum(np.hypot(x, y), 1e-9)
        return g - gs, np.column_stack([(x * ux + y * uy) / g * p[0] / h, x / g, y / g])

    found = []
    for squared in (0.5 * a + root, 0.5 * a - root):  # airspeed above the wind, or below it
        h = math.sqrt(max(squared, 1e-3))
        try:
            found.append(_fitted(parts, (math.hypot(h, sink.mean()), 0.5 * b / h, 0.5 * c / h), heading))
        except ValueError as e:
            refused = e
    if not found:
        raise refused
    if expected is None:
        best = max(found, key=lambda f: f[0][0])
    else:
        ordered = sorted(found, key=lambda f: abs(math.log(f[0][0] / expected)))
        best, others = ordered[0], [f for f in ordered[1:] if abs(math.log(f[0][0] / ordered[0][0][0])) > 0.03]
        for other in others:
            if abs(math.log(other[0][0] / expected)) < CLOSE:
                raise ValueError(
                    f"the wind is about as strong as the airspeed, and without tracks {best[0][0]:.3g} and "
                    f"{other[0][0]:.3g} m/s fit alike: note the track of every leg, or fly on a calmer day"
                )
    p, off, jacobian = best
    h = math.sqrt(max(p[0] ** 2 - float(np.mean(sink)) ** 2, 0.0))
    across = h * np.abs(p[1] * uy - p[2] * ux) / gs
    return _circle(p, off, jacobian, across, leg, heading)


def _fitted(parts, start, angle):
    from scipy.optimize import least_squares

    solved = least_squares(lambda p: parts(p)[0], start, jac=lambda p: parts(p)[1], method="lm", xtol=1e-12, ftol=1e-12)
    off, jacobian = parts(solved.x)
    if not (np.all(np.isfinite(solved.x)) and solved.x[0] > 0.0):
        raise ValueError(_too_alike(angle, "track"))
    weakest = np.linalg.svd(jacobian, compute_uv=False)[-1]
    if weakest < WEAKEST_DIRECTION or _dilution(jacobian) > HIGHEST_DILUTION:
        raise ValueError(_too_alike(angle, "track"))
    return solved.x, off, jacobian


def _dilution(jacobian) -> float:
    return math.sqrt(np.linalg.inv(jacobian.T @ jacobian)[0, 0])


def _too_alike(angle, what) -> str:
    """Which legs are to blame, counted from 1."""
    turns = np.abs((angle[:, None] - angle[None, :] + math.pi) % (2 * math.pi) - math.pi)
    apart = [(turns[i, j], i, j) for i in range(len(angle)) for j in range(i)]
    nearest, i, j = min(apart)
    named = math.degrees(nearest)
    if len(angle) == 3 and named < 20.0:
        why = f"legs {j + 1} and {i + 1} have nearly the same {what} ({named:.0f} degrees apart)"
    elif max(apart)[0] < math.radians(100.0):
        why = f"all legs lie within {math.degrees(max(apart)[0]):.0f} degrees of each other"
    else:
        why = "the legs are nearly parallel"
    return (f"{why}, so airspeed and wind cannot be told apart: an error of one knot in a leg would be more than "
            f"{HIGHEST_DILUTION:g} in the airspeed; fly three {what}s about 120 degrees apart, or four at right "
            "angles")  # fmt: skip


def _circle(p, off, jacobian, across, leg, headings):
    own = leg**2 + (TRACK * across) ** 2
    solve = np.linalg.pinv(jacobian)
    covariance = (solve * own) @ solve.T
    return Circle(float(p[0]), (float(p[1]), float(p[2])), off, covariance, headings, _dilution(jacobian), leg)
