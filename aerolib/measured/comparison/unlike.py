"""What differed between two states besides the modification: what a comparison cannot tell apart from it."""

from __future__ import annotations

import numpy as np

from aerolib.measured.labels import coded, joined

WEIGHT_DIFFERS = 0.03  # of the weight [-], between ranges that do not overlap, before a note says so: our judgement
CG_DIFFERS = 0.01  # [m], the same for the centre of gravity: our judgement
IDENTICAL = 3  # readings, all alike, before they show the resolution of the reading: our judgement


def unlike(f, stalls, before, after) -> list[str]:
    """Notes on one flight a state, pilots, loadings, single stalls and identical readings.

    Parameters
    ----------
    f : Fitted [-]
    stalls : Stalls [SI]
        Those of these two modifications only, as they were fitted.
    before, after : [-]

    Returns
    -------
    list of str [-]
    """
    states = {m: stalls.modification == m for m in (before, after)}
    notes = [f"'{m}' is one flight: whatever was different that day counts as the change, within the prior of "
             "the day scatter; a second day would show it"
             for m, mine in states.items() if len(np.unique(f.flight_index[mine])) == 1]  # fmt: skip
    notes += _pilots(stalls.pilot, states)
    named: dict[str, list[str]] = {}  # note without its configuration -> configurations
    for c, p in dict.fromkeys(k[1:3] for k in f.keys):
        here = (stalls.configuration == c) & (stalls.power == p)
        if not all(np.any(here & mine) for mine in states.values()):
            continue
        for note in _one_setting(here, states, stalls, f.reduced.weight):
            named.setdefault(note, []).append(joined(c, p))
    return notes + [f"{'; '.join(where)}: {note}" for note, where in named.items()]


def pilots_apart(stalls):
    """Pilot of every stall of two states (N,): unnamed ones are one and the same, unless one state alone has names.

    Then nothing says that the other state was flown by one of them, or who the rest are.

    Parameters
    ----------
    stalls : Stalls [SI]
        Those of these two modifications only.

    Returns
    -------
    array (N,) of str [-]
    """
    unnamed = stalls.pilot == ""
    if len(np.unique(stalls.modification[~unnamed])) != 1:
        return stalls.pilot
    return np.where(unnamed, np.char.add("not noted, ", stalls.modification), stalls.pilot)


def _pilots(pilot, states):
    names = {m: coded(pilot[mine])[0].tolist() for m, mine in states.items()}
    first, second = names.values()
    named = [m for m, who in names.items() if any(who)]
    if len(named) == 1:
        return [f"pilot noted in '{named[0]}' only: no credit is given for one pilot in both states; if it was one, "
                "write column `pilot`"]  # fmt: skip
    if set(first) & set(second) - {""}:
        return []
    if "" in first and "" in second:
        return ["pilot not noted: taken as one and the same; if not, write column `pilot`"]
    listed = ", ".join(f"'{m}' by {' and '.join(w or 'someone not noted' for w in who)}" for m, who in names.items())
    return [f"no pilot flew both states ({listed}): how each of them flies a stall counts as the change, and nothing "
            "here can tell the two apart; fly both states with one pilot"]  # fmt: skip


def _one_setting(here, states, stalls, weight):
    """Notes on one configuration and power."""
    for what, values, allowed, effect in (
        ("weight", weight, WEIGHT_DIFFERS * float(np.mean(weight[here])),
         "weight itself is taken out; what it does to entry and trim is not"),
        ("CG", stalls.cg, CG_DIFFERS, "the tail's download changes with it, and counts as the change"),
    ):  # fmt: skip
        known = {m: values[here & mine & np.isfinite(values)] for m, mine in states.items()}
        if not all(len(x) for x in known.values()):
            continue
        one, other = sorted(known.values(), key=lambda x: x.max())
        if other.min() - one.max() > allowed:
            scale, unit = (1.0, "kg") if what == "weight" else (1000.0, "mm")
            listed = ", ".join(f"'{m}' {scale * x.min():.0f} to {scale * x.max():.0f} {unit}" for m, x in known.items())
            yield f"{what} of the two states does not overlap ({listed}): {effect}"
    for what, told in (("stalls of the two states ended", stalls.ended),
                       ("speeds of the two states (`speed_kind`) were read", stalls.speed_kind)):  # fmt: skip
        ways = {m: set(told[here & mine & (stalls.outcome == "break")].tolist()) for m, mine in states.items()}
        if all(ways.values()) and not set.intersection(*ways.values()):
            listed = ", ".join(f"'{m}': {' and '.join(sorted(w))}" for m, w in ways.items())
            yield (f"the {what} in different ways ({listed}): their load factors come from different rows of the "
                   "table, whose errors do not cancel")  # fmt: skip
    for m, mine in states.items():
        readings = stalls.ias[here & mine & (stalls.outcome == "break")]
        if len(readings) == 1:
            yield f"'{m}' is one stall: its scatter is the stated one, not seen"
        elif len(readings) >= IDENTICAL and np.all(readings == readings[0]):
            yield (f"all {len(readings)} readings of '{m}' are identical: that shows the resolution of the reading, "
                   "not its precision")  # fmt: skip
