"""What was published about how vanes are laid out, and where a layout leaves it.

Each line has its source and how it was read. Ranges are ours, put together from the rows named; outside them a layout
is not wrong: nobody cited here tried it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerolib.predicted.layout.row import Row, in_mm

MEMORY, ABSTRACT = "from memory", "read in its abstract"
HEIGHT = (0.5, 1.0)  # of the layer's thickness at the stall
LEAST_HEIGHT = 0.3
LENGTH = (2.0, 3.0)  # heights
ANGLE = (math.radians(15.0), math.radians(18.0))
PITCH = (5.0, 7.0)  # heights, pairs
LEAST_PITCH = 3.0  # heights, single vanes all turned the same way
GAP = (2.5, 3.5)  # heights, within a pair
CHORD = (0.10, 0.30)
AHEAD = (10.0, 60.0)  # heights ahead of separation
FARTHEST = 100.0  # heights over which a vortex was followed
SOURCES = {
    "height": f"conventional vanes 0.8 to 1.0 (Lin 2002, {MEMORY}); below 0.5 is 'low-profile' there ({ABSTRACT})",
    "length": f"Pearcey 1961 and Godard and Stanislas 2006: 2; Baldacchino and others 2018: 3 ({MEMORY})",
    "angle": f"Baldacchino and others 2018: 15; Godard and Stanislas 2006: 18 ({MEMORY})",
    "pitch": f"Li and others 2019: 5 ({ABSTRACT}); Godard and Stanislas 2006: 6, Baldacchino 2018: 7 ({MEMORY})",
    "single": f"Pearcey 1961, single vanes turned the same way ({MEMORY})",
    "gap": f"Godard and Stanislas 2006: 2.5; Baldacchino and others 2018: 3.5 ({MEMORY})",
    "chord": f"Mueller-Vahl and others 2012: 15 to 20 % best on one section ({ABSTRACT}); Baldacchino 2018 ({MEMORY})",
    "flap": f"Lin and others 1994: 25 % of the flap's chord ({MEMORY})",
    "ahead": f"Godard and Stanislas 2006: 57; Lin 2002: 5 to 30, followed to about 100 ({MEMORY})",
}


@dataclass(frozen=True)
class GuidanceLine:
    """One quantity of a layout beside what was published; `within` is None where it cannot be said."""

    quantity: str
    value: str
    published: str
    source: str
    within: bool | None
    note: str = ""

    @property
    def verdict(self) -> str:
        """In one word."""
        return {True: "within", False: "OUTSIDE", None: "not judged"}[self.within]

    def text(self) -> str:
        """The line in words."""
        said = f"{self.quantity}: {self.value}; published {self.published}: {self.verdict}"
        return f"{said}. {self.note}" if self.note else said


def guidance(row: Row, layer_thickness: float | None = None, ahead: float | None = None) -> tuple[GuidanceLine, ...]:
    """A layout of vanes beside what was published.

    Every length is divided by the vane's height.

    Parameters
    ----------
    row : Row [m]
    layer_thickness : float [m]
        Of the boundary layer there at the stall; None where not computed.
    ahead : float [-]
        Row to separation at the stall, in vane heights; None where not computed.

    Returns
    -------
    tuple of GuidanceLine [-]

    Source: the rows named in `SOURCES`; no figure or table of theirs was seen.
    """
    h, angle = row.height, abs(row.angle)
    length, pitch = row.length / h, row.pitch / h
    lines = [
        _height(h, layer_thickness),
        _line("vane length over height", length, LENGTH, f"{length:.1f}", "length"),
        _line("vane angle", angle, ANGLE, f"{math.degrees(angle):.1f} deg", "angle", shown="15 to 18 deg"),
    ]
    if row.gap is None:
        lines.append(GuidanceLine("spacing of single vanes over height", f"{pitch:.1f}", "3 or more", SOURCES["single"],
                                  pitch >= LEAST_PITCH - 1e-9))  # fmt: skip
    else:
        lines.append(_line("spacing of pairs over height", pitch, PITCH, f"{pitch:.1f}", "pitch"))
        lines.append(_line("gap within a pair over height", row.gap / h, GAP, f"{row.gap / h:.1f}", "gap"))
    return (*lines, _chord(row.part, row.chord_station), _ahead(ahead))


def _height(height: float, layer: float | None) -> GuidanceLine:
    name = "height over boundary-layer thickness at the stall"
    if layer is None:
        return GuidanceLine(name, f"{in_mm(height)} high", "0.5 to 1.0", SOURCES["height"], None,
                            "boundary-layer thickness not computed")  # fmt: skip
    r, note = height / layer, ""
    if r > HEIGHT[1]:
        note = "taller than the boundary layer: more drag (common practice, no source)"
    elif r < LEAST_HEIGHT:
        note = f"below {LEAST_HEIGHT:g}: too low to count on"
    elif r < HEIGHT[0]:
        note = "low-profile: works where separation stays in one place, 5 to 30 heights behind"
    return _line(name, r, HEIGHT, f"{r:.2f} ({1e3 * layer:.1f} mm thick)", "height", note)


def _chord(part: str, station: float) -> GuidanceLine:
    percent, note = f"{100 * station:.1f} % of the local chord", ""
    if part != "wing":
        published = ("one case", SOURCES["flap"]) if part == "flap" else ("nothing found", "no source")
        return GuidanceLine("chord position", percent, *published, None)
    if station < CHORD[0]:
        note = "further forward: more lift, more drag and a more abrupt stall (Baldacchino 2018, from memory)"
    elif station > CHORD[1]:
        note = "further aft: less drag and less gain (Baldacchino 2018, from memory)"
    return _line("chord position", station, CHORD, percent, "chord", note, "10 to 30 %")


def _ahead(r: float | None) -> GuidanceLine:
    name, published = "distance ahead of separation", "10 to 60 heights"
    if r is None:
        return GuidanceLine(name, "not computed", published, SOURCES["ahead"], None,
                            "where the flow separates was not computed or tufted")  # fmt: skip
    note = "the flow has separated before it reaches the vanes: no gain can be expected" if r <= 0.0 else ""
    note = "farther than vortices were followed" if r > FARTHEST else note
    return _line(name, r, AHEAD, f"{r:.0f} heights", "ahead", note, published)


def _line(quantity, value, limits, shown_value, source, note="", shown="") -> GuidanceLine:
    low, high = limits
    within = low - 1e-9 <= value <= high + 1e-9
    return GuidanceLine(quantity, shown_value, shown or f"{low:g} to {high:g}", SOURCES[source], within, note)
