"""Before and after as a table: what would settle it, and what one flight or one stall does to it."""

from __future__ import annotations

import html
import math

from aerolib.measured.changes import Comparison
from aerolib.units import knots


def change_table(c: Comparison, in_file) -> str:
    """What would settle each change, its lowest speeds, and what each flight and each stall does to it.

    Parameters
    ----------
    c : Comparison [-]
    in_file : int array (N,) [-]
        Row in `stalls.csv` of every stall of the two states.

    Returns
    -------
    str [-]
        An HTML table.
    """
    rows = []
    for x in c.changes:
        speeds = "; ".join(f"{e.name}: {knots(e.value):+.1f} kt ({knots(e.interval95[0]):+.1f} to "
                           f"{knots(e.interval95[1]):+.1f})" for e in x.delta_speeds_seen) or "-"  # fmt: skip
        without = "; ".join(f"{f}: {100 * math.expm1(v):+.0f} %" for f, v in x.without.items() if v is not None) or "-"
        stall = "-"
        if x.stalls is not None:
            low, high, most = (100 * math.expm1(v) for v in (x.stalls.low, x.stalls.high, x.stalls.value))
            stall = (f"{low:+.1f} to {high:+.1f} %; row {in_file[x.stalls.stall]} of stalls.csv moves it most "
                     f"({x.stalls.name}): {most:+.1f} % without it")  # fmt: skip
        rows.append((x.name, x.settled_by() or "-", speeds, without, stall))
    head = ("configuration", "what would settle it", "lowest speeds as flown, CAS", "change without one flight",
            "change without one stall")  # fmt: skip
    body = "".join("<tr>" + "".join(f"<td>{html.escape(v)}</td>" for v in r) + "</tr>" for r in rows)
    return f"<table class='wide'><tr>{''.join(f'<th>{h}</th>' for h in head)}</tr>{body}</table>"
