"""What may stand in `checks.csv`: each quantity, how it is read, and which way is better."""

from __future__ import annotations

from dataclasses import dataclass

NOT_NOTED = "not noted"


@dataclass(frozen=True)
class Reading:
    """How one quantity is read in one kind of unit; every size is our judgment, with no source.

    The day scatter's prior has its median at `day` times the mean value, and not below `day_least`.
    """

    kind: str  # of unit, a key of `aerolib.units.SPELLINGS`
    better: int  # +1 higher is better, -1 lower is better, 0 neither
    unit: str  # the usual one
    uncertainty: float  # standard, of one reading, in `unit`
    day: float  # of the value [-]
    day_least: float  # in `unit`
    lowest: float  # what can be, in `unit`
    highest: float


_HIGHER, _LOWER, _NEITHER = ((Reading("speed", b, "kt", 1.0, 0.02, 0.2, 5.0, 400.0),) for b in (+1, -1, 0))
QUANTITIES: dict[str, tuple[Reading, ...]] = {
    "speed at fixed rpm": _HIGHER,
    "timed climb": (
        Reading("speed", +1, "ft/min", 30.0, 0.08, 10.0, 1.0, 10000.0),
        Reading("time", -1, "s", 3.0, 0.08, 1.0, 1.0, 7200.0),  # one height gain in both states
    ),
    "lowest level speed": _LOWER,
    "sink rate at idle": (Reading("speed", -1, "ft/min", 40.0, 0.06, 10.0, 1.0, 6000.0),),
    "power-on stall speed": _LOWER,
    "warning speed": _NEITHER,
    "buffet speed": _NEITHER,
    "height lost": (Reading("length", -1, "ft", 30.0, 0.15, 10.0, 0.0, 5000.0),),
    "wing drop": (Reading("angle", -1, "deg", 5.0, 0.25, 3.0, 0.0, 180.0),),
    "roll time": (Reading("time", -1, "s", 0.2, 0.05, 0.05, 0.1, 60.0),),
    "stick force": (Reading("force", 0, "N", 3.0, 0.10, 1.0, -1000.0, 1000.0),),
    "elevator position": (
        Reading("angle", 0, "deg", 1.0, 0.05, 0.5, -60.0, 60.0),
        Reading("length", 0, "mm", 5.0, 0.05, 3.0, -1000.0, 1000.0),
    ),
    "trim position": (
        Reading("ratio", 0, "%", 3.0, 0.05, 2.0, -1000.0, 1000.0),
        Reading("angle", 0, "deg", 0.5, 0.05, 0.3, -60.0, 60.0),
        Reading("length", 0, "mm", 3.0, 0.05, 2.0, -1000.0, 1000.0),
    ),
    "take-off roll": (Reading("length", -1, "m", 15.0, 0.12, 5.0, 1.0, 5000.0),),
    "landing roll": (Reading("length", -1, "m", 15.0, 0.15, 5.0, 1.0, 5000.0),),
}
BY_NEEDLE = ("speed at fixed rpm", "lowest level speed", "power-on stall speed", "warning speed", "buffet speed")
NEEDS_POWER = ("speed at fixed rpm", "timed climb", "lowest level speed", "power-on stall speed")
ALWAYS = {
    "wing drop": "to which side stands in the remarks and is not compared",
    **dict.fromkeys(("take-off roll", "landing roll"), "wind, slope and surface are not taken out; see the remarks"),
    "roll time": "from 30 degrees of bank to 30 the other way, at 1.3 times the stall speed of that state",
}


def reading_of(name, kinds, where) -> Reading:
    """The one way a quantity was read.

    Parameters
    ----------
    name : str [-]
        A key of `QUANTITIES`.
    kinds : text array (N,) [-]
        Kind of unit of every reading, empty: the quantity's first.
    where : str [-]
        For the message.

    Returns
    -------
    Reading [-]

    Raises
    ------
    ValueError
        Unknown quantity, two kinds, or a kind it is not read in.
    """
    if name not in QUANTITIES:
        raise ValueError(f"'{name}' is not a known quantity; there are {', '.join(QUANTITIES)}")
    known = QUANTITIES[name]
    given = {k or known[0].kind for k in kinds.tolist()}
    found = [r for r in known if r.kind in given]
    if len(given) > 1 or not found:
        needed = " or ".join(r.kind for r in known)
        raise ValueError(f"{where}: read as {' and as '.join(sorted(given))}; needed is one kind of unit: {needed}")
    return found[0]
