"""What was published about how vanes are laid out, and where a layout leaves it.

Each line has its source and how it was read. Ranges are ours, put together from the rows named; outside them a layout
is not wrong: nobody cited here tried it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

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

    def text(self) -> str:
        """The line in words."""
        said = {True: "within", False: "OUTSIDE", None: "not judged"}[self.within]
        return f"{self.quantity}: {self.value}; published {self.published}: {said}" + (
            f". {self.note}" if self.note else ""
        )


def guidance(
    *, part: str, height: float, length: float, angle: float, pitch: float, gap: float | None, chord_station: float,
    chord: float, layer_thickness: float | None = None, separation: float | None = None,
) -> tuple[GuidanceLine, ...]:  # fmt: skip
    """A layout of vanes beside what was published.

    Every length is divided by the vane's height; the distance to separation is (x_sep - x) c / h.

    Parameters
    ----------
    part : str [-]
        'wing', 'flap' or 'tailplane'.
    height, length : float [m]
        Of one vane.
    angle : float [rad]
        Vane to the local flow.
    pitch : float [m]
        From one position to the next.
    gap : float [m]
        Middle to middle of the two vanes of a pair; None where vanes stand alone.
    chord_station : float [-]
        Front end of the vanes over the local chord.
    chord : float [m]
        Mean over the row.
    layer_thickness : float [m]
        Of the boundary layer there at the stall; None where not computed.
    separation : float [-]
        Chord station where the flow lets go at the stall; None where not computed.

    Returns
    -------
    tuple of GuidanceLine [-]

    Source: the rows named in `SOURCES`; no figure or table of theirs was seen.
    """
    degrees, pairs = math.degrees(abs(angle)), gap is not None
    out = []
    if layer_thickness is None:
        out.append(GuidanceLine("height over layer thickness at the stall", f"{1e3 * height:.1f} mm high", "0.5 to 1.0",
                                SOURCES["height"], None, "layer thickness not computed"))  # fmt: skip
    else:
        r = height / layer_thickness
        note = "" if r <= HEIGHT[1] else "taller than the layer: more drag (common practice, no source)"
        note = note if r >= LEAST_HEIGHT else f"below {LEAST_HEIGHT:g}: too low to count on"
        if LEAST_HEIGHT <= r < HEIGHT[0]:
            note = "low-profile: works where separation stays in one place, 5 to 30 heights behind"
        shown = f"{r:.2f} ({1e3 * layer_thickness:.1f} mm thick)"
        out.append(_line("height over layer thickness at the stall", r, HEIGHT, shown, "height", note))  # fmt: skip
    out.append(_line("vane length over height", length / height, LENGTH, f"{length / height:.1f}", "length"))
    out.append(_line("vane angle", abs(angle), ANGLE, f"{degrees:.1f} deg", "angle", shown="15 to 18 deg"))
    if pairs:
        out.append(_line("pitch of pairs over height", pitch / height, PITCH, f"{pitch / height:.1f}", "pitch"))
        out.append(_line("gap within a pair over height", gap / height, GAP, f"{gap / height:.1f}", "gap"))
    else:
        r = pitch / height
        out.append(GuidanceLine("pitch of single vanes over height", f"{r:.1f}", "3 or more", SOURCES["single"],
                                r >= LEAST_PITCH - 1e-9))  # fmt: skip
    percent = f"{100 * chord_station:.1f} % of the local chord"
    if part == "wing":
        note = ""
        if chord_station < CHORD[0]:
            note = "further forward: more lift, more drag and a more abrupt stall (Baldacchino 2018, from memory)"
        elif chord_station > CHORD[1]:
            note = "further aft: less drag and less gain (Baldacchino 2018, from memory)"
        out.append(_line("chord position", chord_station, CHORD, percent, "chord", note, "10 to 30 %"))
    elif part == "flap":
        out.append(GuidanceLine("chord position", percent, "one case", SOURCES["flap"], None))
    else:
        out.append(GuidanceLine("chord position", percent, "nothing found", "no source", None))
    if separation is None:
        out.append(GuidanceLine("distance ahead of separation", "not computed", "10 to 60 heights", SOURCES["ahead"],
                                None, "where the flow lets go was not computed or tufted"))  # fmt: skip
    else:
        r = (separation - chord_station) * chord / height
        note = "the flow has let go before it reaches the vanes: no gain can be expected" if r <= 0.0 else ""
        note = "farther than vortices were followed" if r > FARTHEST else note
        out.append(
            _line("distance ahead of separation", r, AHEAD, f"{r:.0f} heights", "ahead", note, "10 to 60 heights")
        )
    return tuple(out)


def _line(quantity, value, limits, shown_value, source, note="", shown=""):
    low, high = limits
    within = low - 1e-9 <= value <= high + 1e-9
    return GuidanceLine(quantity, shown_value, shown or f"{low:g} to {high:g}", SOURCES[source], within, note)
