"""Bounds of every answer: what no light airplane does is not printed but explained.

The key an answer stands under in the JSON says its kind and its unit; a row of `BOUNDS` is all a new one needs. The
limits are judgments of ours, far outside what is expected: they catch inputs that cannot be together.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

BOUNDS = (  # pattern of the key, lowest, highest, what it is
    (r"(stall_speed|slowest_speed|three_point_speed)\w*_kt", 10.0, 120.0, "kt"),
    (r"approach\w*_kt", 12.0, 160.0, "kt"),
    (r"man\w+vring\w*_kt|man\w+vering\w*_kt", 20.0, 260.0, "kt"),
    (r"climb_speed_kt", 15.0, 200.0, "kt"),
    (r"delta_(stall|speed)\w*_kt", -40.0, 40.0, "kt"),
    (r"\w+_roll_m|\w+_obstacle_m", 5.0, 6000.0, "m"),
    (r"climb_gradient_percent", -60.0, 90.0, "%"),
    (r"top_speed_percent", -60.0, 20.0, "%"),
    (r"forward_cg_limit_percent_mac", -250.0, 250.0, "% of the chord"),
    (r"usable_share_of_gain", -1.0, 2.0, ""),
    (r"delta_clmax|delta_section_clmax", -2.0, 3.0, ""),
    (r"probability\w*|probabilities", 0.0, 1.0, ""),
    (r"clmax|section_clmax|predicted", -0.5, 6.0, ""),
)
_KINDS = tuple((re.compile(pattern), (low, high, unit)) for pattern, low, high, unit in BOUNDS)


def absurd(data, key: str = "", state: str = "") -> list[str]:
    """A sentence for every answer beyond its bounds; empty where all are possible.

    Parameters
    ----------
    data : dict or list [-]
        As it goes into the JSON: the unit is that of the key.
    key : str [-]
        What `data` stands under.
    state : str [-]
        Modification and configuration it belongs to.

    Returns
    -------
    list of text [-]
    """
    out = []
    for name, low, high, unit, value, of in _numbers(data, key, state):
        if not low <= value <= high:
            place = f" of {of}" if of else ""
            allowed = f"{low:g} to {high:g} {unit}".rstrip()
            out.append(
                f"{name.replace('_', ' ')}{place} would be {value:.4g}, outside the {allowed} of any light airplane: "
                "not shown; some measures it stands on cannot be right together, check them in `aircraft.toml`"
            )
    return out


def _numbers(data, key: str, state: str) -> Iterator[tuple[str, float, float, str, float, str]]:
    if isinstance(data, dict):
        names = [str(data[k]) for k in ("modification", "configuration", "device") if data.get(k)]
        state = ", ".join(names) or state
        for k, v in data.items():
            # The middle and the ends of one answer stand under its name; the ends may lie anywhere.
            if k != "interval95":
                yield from _numbers(v, key if k == "value" and key else str(k), state)
    elif isinstance(data, list | tuple):
        if "interval" not in key:
            for v in data:
                yield from _numbers(v, key, state)
    elif isinstance(data, int | float) and not isinstance(data, bool) and "interval" not in key:
        for low, high, unit in (bounds for pattern, bounds in _KINDS if pattern.fullmatch(key)):
            yield (key, low, high, unit, float(data), state)
            return
