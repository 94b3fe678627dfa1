"""Shape of a wing section: from its NACA number by formula, from aerosandbox's database, or from the owner's points."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from functools import cache

import numpy as np

STATIONS = 80  # on each side, closer together at the nose
THINNEST = 0.03  # largest thickness over chord below which a section is not treated


@dataclass(frozen=True)
class Shape:
    """A section: points from the trailing edge over the upper side to the nose and back, and what they measure."""

    name: str
    coordinates: np.ndarray  # (n, 2) over the chord [-]
    thickness: float  # largest, over the chord [-]
    camber: float  # largest of the mean line, over the chord [-]
    origin: str


def canonical(name: str) -> str:
    """A section's name without what people write differently: 'naca 63(1)-212' and 'NACA 63_1-212' are one."""
    text = re.sub(r"\s+", "", str(name)).casefold().replace("_", "").replace("airfoil", "").replace("naca", "")
    text = re.sub(r"\((\d)\)(?=[-a])", r"\1", text)
    text = text.replace("u.s.a.", "usa").replace("clark-y", "clarky").replace("fx-", "fx")
    return re.sub(r"-(?=\d{4,5}$)", "", text)


def four_digit(digits: str) -> np.ndarray:
    """Points of a NACA four-digit section.

    y_t = 5 t (0.2969 sqrt(x) - 0.1260 x - 0.3516 x^2 + 0.2843 x^3 - 0.1015 x^4), set square to the mean line
    m/p^2 (2 p x - x^2) ahead of p, m/(1-p)^2 (1 - 2 p + 2 p x - x^2) behind it

    Parameters
    ----------
    digits : str [-]
        Camber in percent, its place in tenths, thickness in percent: '4412'.

    Returns
    -------
    array [-]
        (n, 2) over the chord; the trailing edge is open by about 2 % of the thickness, as the formula has it.

    Source: NACA Report 460 (1933), as reprinted in textbooks; from memory, checked against published ordinates.
    """
    m, p, t = int(digits[0]) / 100.0, int(digits[1]) / 10.0, int(digits[2:]) / 100.0
    if bool(m) != bool(p):
        raise ValueError(
            f"NACA {digits}: camber and its place are both zero or neither; '0012' and '2412' are sections"
        )
    x = _stations()
    if not m:
        return _around(x, np.zeros_like(x), np.zeros_like(x), t)
    ahead = x < p
    k = np.where(ahead, m / p**2, m / (1.0 - p) ** 2)
    mean = k * (np.where(ahead, 0.0, 1.0 - 2.0 * p) + 2.0 * p * x - x * x)
    return _around(x, mean, 2.0 * k * (p - x), t)


# Standard mean lines of the five-digit series: r and k1 (NACA Report 537 and TR 824, from memory).
_FIVE = {
    "210": (0.0580, 361.4),
    "220": (0.1260, 51.64),
    "230": (0.2025, 15.957),
    "240": (0.2900, 6.643),
    "250": (0.3910, 3.230),
}


def five_digit(digits: str) -> np.ndarray:
    """Points of a NACA five-digit section with a plain mean line.

    mean line k/6 (x^3 - 3 r x^2 + r^2 (3 - r) x) ahead of r, k r^3/6 (1 - x) behind it; thickness as of four digits

    Parameters
    ----------
    digits : str [-]
        '23012': mean line 210 to 250, then the thickness in percent.

    Returns
    -------
    array [-]
        (n, 2) over the chord.

    Source: NACA Report 537 (1935) and TR 824; constants from memory.
    """
    if digits[:3] not in _FIVE:
        raise ValueError(
            f"NACA {digits}: the mean line {digits[:3]} is not one of {', '.join(_FIVE)}; give the section's points"
        )
    r, k = _FIVE[digits[:3]]
    x = _stations()
    mean = np.where(x < r, k / 6 * (x**3 - 3 * r * x**2 + r**2 * (3 - r) * x), k * r**3 / 6 * (1 - x))
    slope = np.where(x < r, k / 6 * (3 * x**2 - 6 * r * x + r**2 * (3 - r)), -k * r**3 / 6)
    return _around(x, mean, slope, int(digits[3:]) / 100.0)


def shape_of(section: str | np.ndarray, others: tuple[str, ...] = ()) -> Shape:
    """Shape of a named or supplied section.

    Parameters
    ----------
    section : str or array [-]
        A name ('NACA 4412', 'Clark Y'), or points over the chord, shape (n, 2), from the trailing edge over the upper
        side to the nose and back along the lower side.
    others : tuple of str [-]
        More names to offer when this one is not known.

    Returns
    -------
    Shape [-]

    Raises
    ------
    ValueError
        Unknown name (the nearest are offered), points that are no section, a single surface.
    """
    if not isinstance(section, str):
        return _measured("supplied points", checked_points(section), "points supplied")
    key = canonical(section)
    if not key:
        raise ValueError(
            "the section has no name; write it as on the drawings, such as 'NACA 4412', or give its points"
        )
    if re.search(r"single.?surface|one.?surface|single.?skin", section.casefold()):
        raise ValueError(_SINGLE)
    if re.fullmatch(r"\d{4}", key):
        return _measured(f"NACA {key}", _thick(four_digit(key), key), "NACA four-digit formula")
    if re.fullmatch(r"\d{5}", key) and key[:3] in _FIVE:
        return _measured(f"NACA {key}", _thick(five_digit(key), key), "NACA five-digit formula")
    names = database()
    if key not in names and key.replace("-", "") in names:  # 'FX 63-137'
        key = key.replace("-", "")
    if key not in names:
        raise ValueError(unknown(section, [*others, *_FORMULAE, *names.values()]))
    import aerosandbox as asb

    points = asb.Airfoil(names[key]).repanel(n_points_per_side=STATIONS).coordinates
    return _measured(section.strip(), checked_points(points), f"aerosandbox's section database, '{names[key]}'")


_FORMULAE = tuple(f"NACA {d}" for d in ("0012", "2412", "2415", "4409", "4412", "4415", "23012", "23015", "23018"))
_SINGLE = (
    "a single-surface wing (one skin, no lower surface) is out of range: its section has no thickness and its nose no "
    "radius, and neither the measured sections nor NeuralFoil hold such a one; measure its stall instead"
)


def unknown(name: str, known: list[str]) -> str:
    """Sentence for a section that nobody holds, with the nearest names.

    Parameters
    ----------
    name : str [-]
    known : list of str [-]

    Returns
    -------
    str [-]
    """
    keys: dict[str, str] = {}
    for k in known:
        keys.setdefault(canonical(k), k)
    near = [keys[k] for k in difflib.get_close_matches(canonical(name), list(keys), n=3, cutoff=0.55)]
    said = f"did you mean {' or '.join(repr(n) for n in near)}?" if near else "nothing like it is known."
    return (
        f"the section '{name}' is not known; {said} Write the name as on the drawings, or give the points of the "
        "section: a column of x and a column of y over the chord, from the trailing edge over the upper side"
    )


@cache
def database() -> dict[str, str]:
    """Names in aerosandbox's section database by canonical name (costs its import, about a second)."""
    from importlib.resources import files

    folder = files("aerosandbox") / "geometry" / "airfoil" / "airfoil_database"
    names = sorted(f.name[:-4] for f in folder.iterdir() if f.name.endswith(".dat"))
    out: dict[str, str] = {}
    for n in names:
        out.setdefault(canonical(n), n)
        # 'naca632615' in the database is 63_2-615, 'naca63206' is 63-206, 'n63412' 63_1-412; 'ls417' is LS(1)-0417
        m = re.fullmatch(r"(?:naca|n)(6[3-7])(\d?)(\d)(\d\d)(a\d\d)?", n)
        if m:
            mean = f",a=0.{m[5][2]}" if m[5] else ""
            out.setdefault(f"{m[1]}{m[2]}-{m[3]}{m[4]}{mean}", n)
            if int(m[4]) >= 12 and not m[2]:  # the subscript is left out: it goes with the thickness
                out.setdefault(f"{m[1]}{(int(m[4]) - 9) // 3}-{m[3]}{m[4]}{mean}", n)
        m = re.fullmatch(r"ls(4\d\d)(mod)?", n)
        if m:
            out[f"ls(1)-0{m[1]}{m[2] or ''}"] = n
            out[f"ls10{m[1]}{m[2] or ''}"] = n
    return out


def checked_points(points) -> np.ndarray:
    """Points of a section as they are needed, or an error that says what to do.

    Parameters
    ----------
    points : array [-]
        (n, 2), x and y over the chord.

    Returns
    -------
    array [-]
        The same, as floats.
    """
    p = np.asarray(points, float)
    if p.ndim != 2 or p.shape[1] != 2 or len(p) < 15 or not np.isfinite(p).all():
        raise ValueError(
            "the points of a section are two columns, x and y over the chord, at least 15 rows of numbers; given is "
            f"an array of shape {p.shape}"
            + ("" if p.ndim != 2 or np.isfinite(p).all() else " with cells that are no number")
        )
    x, y = p.T
    if x.max() > 2.0:
        raise ValueError(
            f"x runs from {x.min():.4g} to {x.max():.4g}; it must run from 0 at the nose to 1 at the trailing edge: "
            "divide both columns by the chord (by 100 where they are in percent)"
        )
    if abs(x.min()) > 0.02 or abs(x.max() - 1.0) > 0.02:
        raise ValueError(
            f"x runs from {x.min():.4g} to {x.max():.4g}; it must run from 0 at the nose to 1 at the trailing edge: "
            "subtract the x of the nose from the first column, then divide both columns by the chord"
        )
    nose = int(np.argmin(x))
    if x[0] < 0.5 or x[-1] < 0.5 or nose in (0, len(p) - 1):
        raise ValueError(
            "the points do not begin and end at the trailing edge; list them from the trailing edge over the upper "
            "side to the nose and back along the lower side: where a file has both sides from nose to tail, turn the "
            "first half round"
        )
    if abs(x[0] - x[-1]) > 0.05 or np.hypot(*(p[0] - p[-1])) > 0.05:
        raise ValueError(
            f"the section is not closed: it begins at x {x[0]:.3f}, y {y[0]:.3f} and ends at x {x[-1]:.3f}, y "
            f"{y[-1]:.3f}; add the points missing up to the trailing edge on both sides"
        )
    to_nose, to_tail = x[: nose + 1], x[nose:]
    back = max((to_nose - np.minimum.accumulate(to_nose)).max(), (np.maximum.accumulate(to_tail) - to_tail).max())
    if back > 0.02:
        raise ValueError(
            "x does not run evenly from the trailing edge to the nose and back; sort each side by x, upper side first, "
            "and remove points that stand twice"
        )
    grid = np.linspace(0.05, 0.95, 19)
    upper = np.interp(grid, x[nose::-1], y[nose::-1])
    lower = np.interp(grid, x[nose:], y[nose:])
    if (upper - lower).mean() < 0.0:
        raise ValueError(
            "the lower side stands first; list the points from the trailing edge over the upper side to the nose: turn "
            "the whole list round"
        )
    if (upper - lower).max() < THINNEST:
        raise ValueError(f"the section is {100 * (upper - lower).max():.1f} % thick: {_SINGLE}")
    if (upper - lower).max() > 0.35:
        raise ValueError(
            f"the section is {100 * (upper - lower).max():.0f} % thick; 3 to 35 % is treated: is y over the chord?"
        )
    return p


def _measured(name: str, points: np.ndarray, origin: str) -> Shape:
    x, y = points.T
    nose = int(np.argmin(x))
    upper, lower = (x[nose::-1], y[nose::-1]), (x[nose:], y[nose:])
    grid = np.linspace(0.02, 0.98, 97)
    above, below = np.interp(grid, *upper), np.interp(grid, *lower)
    thick, mean = float((above - below).max()), 0.5 * (above + below)
    return Shape(name, points, thick, float(mean[np.argmax(np.abs(mean))]), origin)


def _thick(points: np.ndarray, digits: str) -> np.ndarray:
    if not 3 <= int(digits[-2:]) <= 35:
        raise ValueError(f"NACA {digits} is {int(digits[-2:])} % thick; 3 to 35 % is treated")
    return points


def _stations() -> np.ndarray:
    return 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, STATIONS)))


def _around(x, mean, slope, t) -> np.ndarray:
    half = 5.0 * t * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)
    angle = np.arctan(slope)
    dx, dy = half * np.sin(angle), half * np.cos(angle)
    upper, lower = np.column_stack((x - dx, mean + dy)), np.column_stack((x + dx, mean - dy))
    return np.vstack((upper[::-1], lower[1:]))
