"""What gear and tail would let an airplane use of a predicted gain, in one sentence."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerolib.case.problems import CaseError
from aerolib.study.airframe import attitude_with, missing

if TYPE_CHECKING:
    from aerolib.study import Study


def usable_words(study: Study, stall_ratio: float) -> str:
    """Usable share of a stall speed that falls to `stall_ratio` [-] of itself, at both CG limits, by flap setting.

    The flap settings are those of the first modification; what a device adds to one of them is taken for all.
    """
    lacks = missing(study, "gear") + missing(study, "tail") + missing(study, "cg")
    if lacks or study.flown is None:
        return f"not known: {'; '.join(lacks[:3]) or 'no stall was flown'}{' and more' if len(lacks) > 3 else ''}"
    if stall_ratio >= 0.999:
        return "there is no lower stall speed to use"
    try:
        frame = study.airframe
    except CaseError as e:
        return f"not known: {e.problems[0]}"
    first = frame.flaps[0][0]
    before = [f for m, f in frame.flaps if m == first]
    states = [(first, f) for f in before] + [("predicted", replace(f, clmax=f.clmax / stall_ratio**2)) for f in before]
    w, out = study.aircraft.weights, []
    for words, station in (("forward", w.cg_forward), ("aft", w.cg_aft)):
        if station is None:
            continue
        found = attitude_with(study, tuple(states), frame.cg_share(station))
        out.append(f"CG at its {words} limit: {'; '.join(u.headline() for u in found.usable)}")
    if not out:
        return "not known: [weights] cg_forward and cg_aft are missing"
    return f"{'. '.join(out)} (workbooks 10 and 11 say why)"
