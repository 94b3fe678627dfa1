"""The layer of slowed air at the skin: laminar by Thwaites, turbulent by Head, and where it lets go.

All in chords, free-stream speeds and one Reynolds number: theta in chords, speeds over the free stream. Arrays carry
any leading axes (incidences, layouts) and the stations along the surface last.

    laminar    theta^2 = 0.45 / (Re ue^6) int ue^5 ds
    turbulent  dtheta/ds = cf/2 - (2 + H) (theta/ue) due/ds
               d(ue theta H1)/ds = ue CE,   CE = 0.0306 (H1 - 3)^-0.6169 + what a device adds
               cf = 0.246 10^(-0.678 H) Re_theta^-0.268
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

LAMINAR_SEPARATION = -0.09  # of lambda, Thwaites
TURBULENT_START = 1.4  # H just behind transition: common practice, no source
LEAST_H1 = 3.32  # of the entrainment shape factor; the layer has long let go there

SOURCE = (
    "Thwaites (1949) to transition (Michel's criterion) or laminar separation, Head's entrainment method (1958) behind "
    "it with the fits of H1 by Cebeci and Bradshaw; constants from memory"
)


def plate_thickness(length, reynolds):
    """Thickness of a turbulent layer on a flat plate.

    delta = 0.37 x Re_x^(-1/5)

    Parameters
    ----------
    length : [m]
        From the start of the turbulent layer.
    reynolds : [-]
        Of that length.

    Returns
    -------
    float or array [m]

    Valid range: Reynolds numbers from 5e5 to 1e7. Source: Prandtl's seventh-root law, in any textbook.
    """
    return 0.37 * np.asarray(length, dtype=float) * np.asarray(reynolds, dtype=float) ** -0.2


def skin_friction(shape, re_theta):
    """Turbulent skin friction.

    cf = 0.246 10^(-0.678 H) Re_theta^(-0.268)

    Parameters
    ----------
    shape : [-]
        H, displacement over momentum thickness.
    re_theta : [-]

    Returns
    -------
    array [-]

    Source: Ludwieg and Tillmann, NACA TM 1285 (1950).
    """
    return 0.246 * 10.0 ** (-0.678 * np.asarray(shape)) * np.maximum(re_theta, 20.0) ** -0.268


def entrainment_shape(shape):
    """Head's H1 of a shape factor H [-]: (delta - delta*) over theta [-]."""
    shape = np.asarray(shape, dtype=float)
    thin, thick = np.maximum(shape - 1.1, 0.01), np.maximum(shape - 0.6778, 0.01)
    return 3.3 + np.where(shape <= 1.6, 0.8234 * thin**-1.287, 1.5501 * thick**-3.064)


def shape_of_entrainment(h1):
    """Shape factor H of Head's H1 [-], the inverse of `entrainment_shape` [-]."""
    d = np.maximum(np.asarray(h1, dtype=float) - 3.3, 1e-3)
    return np.where(d >= 2.0, 1.1 + 0.8599 * d**-0.777, 0.6778 + 1.1536 * d**-0.326)


def thwaites(arc, speed, reynolds):
    """Momentum thickness and shape factor of a laminar layer.

    theta^2 = 0.45 / (Re ue^6) int_0^s ue^5 ds,  lambda = theta^2 Re due/ds

    Parameters
    ----------
    arc : [chords]
        From the stagnation point or the plate's edge.
    speed : [-]
        At the layer's edge, over the free stream.
    reynolds : [-]
        Of the chord.

    Returns
    -------
    theta : array (..., n) [chords]
    shape : array (..., n) [-]
    pressure : array (..., n) [-]
        lambda; laminar separation at -0.09.

    Source: Thwaites, Aeronautical Quarterly 1 (1949); H(lambda) as fitted by Cebeci and Bradshaw (from memory).
    """
    arc, speed = np.broadcast_arrays(np.asarray(arc, float), np.asarray(speed, float))
    step, fifth = np.diff(arc, axis=-1), np.maximum(speed, 0.0) ** 5
    integral = np.zeros(arc.shape)
    # Between stations ue is linear, so ue^5 integrates to (b^6 - a^6) / (6 (b - a)), here as its even sum.
    a, b = np.maximum(speed[..., :-1], 0.0), np.maximum(speed[..., 1:], 0.0)
    mean = (fifth[..., :-1] + fifth[..., 1:] + a * b * (a**3 + a * a * b + a * b * b + b**3)) / 6.0
    integral[..., 1:] = np.cumsum(step * mean, axis=-1)
    gradient = np.gradient(speed, axis=-1) / np.gradient(arc, axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        squared = 0.45 / reynolds * integral / np.maximum(speed, 1e-6) ** 6
    # At the stagnation point ue = k s, and the integral gives theta^2 = 0.075 / (Re k).
    start = 0.075 / (reynolds * np.maximum(gradient, 1e-3))
    squared = np.where((speed > 1e-4) & (integral > 0.0), squared, np.where(speed > 0.5, 0.0, start))
    pressure = np.clip(squared * reynolds * gradient, -0.12, 0.25)
    shape = np.where(pressure >= 0.0, 2.61 - 3.75 * pressure + 5.24 * pressure**2,
                     2.088 + 0.0731 / (np.maximum(pressure, -0.13) + 0.14))  # fmt: skip
    return np.sqrt(squared), shape, pressure


def laminar_end(arc, speed, reynolds, theta, pressure, trip=np.inf):
    """Index of the station where the layer turns turbulent.

    Re_theta >= 1.174 (1 + 22400 / Re_s) Re_s^0.46, or lambda <= -0.09, or the trip

    Parameters
    ----------
    arc, speed, theta, pressure : [chords, -, chords, -]
        As `thwaites` takes and gives them.
    reynolds : [-]
    trip : [chords]
        Along the surface, from the stagnation point.

    Returns
    -------
    array (...) [-]
        Counted in stations, with a fraction: 12.4 lies between stations 12 and 13.

    Source: Michel's criterion as given by Cebeci and Smith (from memory).
    """
    re_s = np.maximum(reynolds * speed * arc, 1.0)
    excess = np.stack([
        reynolds * speed * theta / (1.174 * (1.0 + 22400.0 / re_s) * re_s**0.46) - 1.0,
        (LAMINAR_SEPARATION - pressure) / 0.09,
        np.broadcast_to(arc - np.asarray(trip, dtype=float)[..., None], arc.shape),
    ])  # fmt: skip
    excess[..., 0] = -1.0
    met = excess >= 0.0
    met[..., -1] = True
    k = np.argmax(met, axis=-1)[..., None]
    low, high = np.take_along_axis(excess, k - 1, -1), np.take_along_axis(excess, k, -1)
    with np.errstate(invalid="ignore"):  # no trip: minus infinity on both sides
        share = np.where(high > low, np.clip(-low / np.where(high > low, high - low, 1.0), 0.0, 1.0), 1.0)
    return np.min((k - 1 + np.nan_to_num(share, nan=1.0))[..., 0], axis=0)


@dataclass(frozen=True)
class Layer:
    """A layer along a surface; leading axes as given, stations last."""

    theta: np.ndarray  # [chords]
    shape: np.ndarray  # H [-]
    thickness: np.ndarray  # delta [chords]
    laminar_end: np.ndarray  # (...) in stations, with a fraction


def march(arc, speed, reynolds, *, start=None, added=0.0, trip=np.inf) -> Layer:
    """The layer along a surface, laminar then turbulent.

    Heun's step of the two equations of Head, station by station, all leading axes at once

    Parameters
    ----------
    arc : [chords]
    speed, reynolds : [-]
    start : (theta [chords], H) or None [-]
        Turbulent from the first station; None: laminar from the stagnation point.
    added : [-]
        Entrainment that a device adds to CE at each station.
    trip : [chords]
        Where the layer is turbulent at the latest.

    Returns
    -------
    Layer [chords]

    Valid range: attached flow; behind H = 2.4 the numbers say no more than that the flow has let go.
    """
    arc, speed, added = np.broadcast_arrays(*(np.asarray(a, float) for a in (arc, speed, added)))
    step = np.diff(arc, axis=-1)
    gradient = np.diff(speed, axis=-1) / np.maximum(step, 1e-12)
    lead, n = arc.shape[:-1], arc.shape[-1]
    theta, h1 = np.empty(arc.shape), np.empty(arc.shape)
    if start is None:
        laminar, laminar_shape, pressure = thwaites(arc, speed, reynolds)
        end = laminar_end(arc, speed, reynolds, laminar, pressure, trip)
        theta[..., 0] = laminar[..., 0]
        h1[..., 0] = entrainment_shape(TURBULENT_START)
    else:
        end = np.zeros(lead)
        theta[..., 0], h1[..., 0] = start[0], entrainment_shape(start[1])
        laminar = laminar_shape = None
    first = entrainment_shape(TURBULENT_START)
    for i in range(n - 1):
        u, g, ds = speed[..., i], gradient[..., i], step[..., i]
        u2 = np.maximum(speed[..., i + 1], 0.05)
        t, h = theta[..., i], h1[..., i]
        if laminar is not None:  # the share of this step that is turbulent
            part = np.clip(i + 1.0 - end, 0.0, 1.0)
            t = np.where(part < 1.0, laminar[..., i] + (1.0 - part) * (laminar[..., i + 1] - laminar[..., i]), t)
            u, ds = u + (1.0 - part) * ds * g, part * ds
        a_t, a_h = _rates(t, h, np.maximum(u, 0.05), g, reynolds, added[..., i])
        guess_t = np.maximum(t + ds * a_t, 1e-9)
        guess_h = np.clip(h + ds * a_h, LEAST_H1, 14.0)
        b_t, b_h = _rates(guess_t, guess_h, u2, g, reynolds, added[..., i + 1])
        new_t = np.maximum(t + 0.5 * ds * (a_t + b_t), 1e-9)
        new_h = np.clip(h + 0.5 * ds * (a_h + b_h), LEAST_H1, 14.0)
        if laminar is not None:
            new_t = np.where(part <= 0.0, laminar[..., i + 1], new_t)
            new_h = np.where(part <= 0.0, first, new_h)
        theta[..., i + 1], h1[..., i + 1] = new_t, new_h
    shape = shape_of_entrainment(h1)
    thickness = theta * (h1 + shape)
    if laminar is not None:
        before = np.arange(n) <= end[..., None]
        shape = np.where(before, laminar_shape, shape)
        # A laminar layer's own thickness, quadratic profile: delta = 7.5 theta.
        thickness = np.where(before, 7.5 * theta, thickness)
    return Layer(theta, shape, thickness, end)


def _rates(theta, h1, speed, gradient, reynolds, added):
    """dtheta/ds and dH1/ds of Head's method."""
    shape = shape_of_entrainment(h1)
    friction = skin_friction(shape, reynolds * speed * theta)
    grow = 0.5 * friction - (2.0 + shape) * theta / speed * gradient
    entrained = 0.0306 * (h1 - 3.0) ** -0.6169 + added
    return grow, (entrained - h1 * (grow + theta * gradient / speed)) / theta


def separation(station, shape, limit):
    """Where the shape factor first passes a limit, linear between stations.

    Parameters
    ----------
    station : [chords]
        Chordwise stations, rising where it matters.
    shape : [-]
        H; laminar stations set below the limit by the caller.
    limit : [-]

    Returns
    -------
    array (...) [chords]
        The last station where the limit is never passed.
    """
    station, shape, limit = np.broadcast_arrays(station, shape, np.asarray(limit, dtype=float)[..., None])
    limit = limit[..., :1]
    over = shape >= limit
    k = np.where(over.any(axis=-1), np.argmax(over, axis=-1), shape.shape[-1] - 1)[..., None]
    j = np.maximum(k - 1, 0)
    h0, h1 = np.take_along_axis(shape, j, -1), np.take_along_axis(shape, k, -1)
    x0, x1 = np.take_along_axis(station, j, -1), np.take_along_axis(station, k, -1)
    share = np.where(h1 > h0, np.clip((limit - h0) / np.where(h1 > h0, h1 - h0, 1.0), 0.0, 1.0), 1.0)
    return (x0 + share * (x1 - x0))[..., 0]
