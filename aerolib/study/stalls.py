"""The card of a study: what `reduce_stalls` and `compare` take, and what a reader must know of their answers."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from aerolib.answers import absurd
from aerolib.case.aircraft import (
    AIRCRAFT,
    error_sizes,
    flaps_of,
    instrument_of,
    thrust_of,
    wing_areas_of,
)
from aerolib.case.checks import FILE as CHECKS
from aerolib.case.problems import CaseError
from aerolib.case.stalls import FILE, HIGHEST_LIFT, NONE_YET
from aerolib.measured.checks import ChecksComparison, compare_checks
from aerolib.measured.comparison import compare
from aerolib.measured.comparison.results import Comparison
from aerolib.measured.stalls import Stalls, reduce_stalls
from aerolib.measured.stalls.loadfactor import from_floor_meter, of_steady_flight
from aerolib.measured.stalls.results import Clmax, StallReduction
from aerolib.study.calibration import cautions_of, corrections_of
from aerolib.study.plausible import judged
from aerolib.units import POUND, from_si, knots

if TYPE_CHECKING:
    from aerolib.study import Study

DRAWS = 100_000  # of the Monte Carlo check in a report
DRAWN_AT_MOST = 50_000_000  # stalls times draws: some ten seconds
FEWEST_DRAWS = 10_000  # fewer say too little about an interval's ends


def reduction_of(study: Study) -> StallReduction:
    """CLmax of everything on the card; CaseError where a row cannot be what its header says.

    The draws check the intervals; a card of thousands of stalls gets fewer or none.
    """
    count = len(study.stalls.row)
    if count == 0:
        raise CaseError(NONE_YET)
    affordable = DRAWN_AT_MOST // count
    draws = min(study.draws, affordable) if affordable >= FEWEST_DRAWS else 0
    result = reduced(study, draws=draws, progress=study.progress)
    problems, notes = judged(study, result)
    if problems := problems or absurd(list(map(_speeds_and_value, result.items)), "clmax"):
        raise CaseError(problems)
    order = {c.name: i for i, c in enumerate(study.aircraft.configuration)}

    def rank(k: int):
        i = result.items[k]
        return study.states.index(i.modification), order.get(i.configuration, 99), i.power != "idle", k

    sequence = sorted(range(len(result.items)), key=rank)
    place = np.argsort(sequence)
    return replace(
        result,
        items=tuple(result.items[k] for k in sequence),
        points=replace(result.points, group=place[result.points.group]),
        notes=(*result.notes, *notes, *warnings_of(study)),
    )


def _speeds_and_value(i: Clmax) -> dict:
    """What is held to the bounds of answers, under the names that have one."""
    speeds = {"stall_speed_1g_kt": i.stall_speed_1g and i.stall_speed_1g.value,
              "stall_speed_1g_indicated_kt": i.stall_speed_1g_needle}  # fmt: skip
    return {"modification": i.modification, "configuration": i.configuration, "value": i.clmax and i.clmax.value,
            **{name: None if v is None else float(knots(v)) for name, v in speeds.items()}}  # fmt: skip


def reduced(study: Study, **more) -> StallReduction:
    """The stalls reduced, nothing judged."""
    try:
        return study.memo(reduce_stalls, stalls_of(study), **more)
    except ValueError as e:
        raise CaseError(f"the stalls of `{AIRCRAFT}` and `{FILE}` cannot be reduced: {e}") from None


def comparison_of(study: Study) -> Comparison | None:
    """First against last state of the case; None where there is only one, or where their order is in doubt."""
    if len(study.case.flown) < 2 or study.case.order_in_doubt:
        return None
    return study.memo(compare, stalls_of(study), study.case.flown[0].name, study.case.flown[-1].name, study.calibration)


def checks_of(study: Study) -> ChecksComparison | None:
    """First against last state that has checks; None where there is one or none, or the order is in doubt."""
    names = study.case.states_in(CHECKS)
    if len(names) < 2 or study.case.order_in_doubt:
        return None
    return compare_checks(**study.case.optional(CHECKS).arguments(), before=names[0], after=names[-1])


def warnings_of(study: Study) -> list[str]:
    """What the owner should know and the reduction can live with."""
    out = [
        *([study.case.order_in_doubt] if study.case.order_in_doubt else []),
        *study.stalls.warnings,
        *cautions_of(study),
    ]
    recorded, belongs = np.isfinite(study.stalls.si["load_factor"]), of_highest_lift(study)
    if (recorded & ~belongs).any():
        at = study.stalls.row[recorded & ~belongs]
        rows = ", ".join(str(r) for r in at[:5]) + (" and more" if len(at) > 5 else "")
        out.append(
            f"`{FILE}` row {rows}: the load factor is not used. The wing gives its most before the lowest speed: "
            "a meter read there makes CLmax several percent too low, the table by entry rate is better. Workbook "
            f"05 takes the right one from a recording and writes '{HIGHEST_LIFT}' into column `load_factor_at`"
        )
    if (recorded & belongs).any() and study.aircraft.indicator.load_factor_axis is None:
        out.append(
            f"`{AIRCRAFT}` [indicator] load_factor_axis is not given: the recorded load factor is taken as "
            "normal to the cabin floor, at idle only"
        )
    if unread := study.aircraft.not_used:
        out.append(f"`{AIRCRAFT}` {', '.join(unread)}: not used, no estimate needs it")
    used = set(study.stalls.text["configuration"].tolist())
    idle = [c.name for c in study.aircraft.configuration if c.name not in used]
    if idle:
        out.append(f"`{AIRCRAFT}`: no stall yet of configuration {', '.join(repr(n) for n in idle)}")
    return out


def of_highest_lift(study: Study) -> np.ndarray:
    """Whether a load factor (N,) [-] would belong to the lift coefficient asked for: of highest lift, or held."""
    t = study.stalls.text
    return (t["load_factor_at"] == HIGHEST_LIFT) | (t["speed_kind"] == "steady")


def stalls_of(study: Study) -> Stalls:
    """The record of the card, SI."""
    a, s = study.aircraft, study.stalls
    errors = error_sizes(a)
    flaps = flaps_of(a)
    si = s.si
    n = np.where(of_highest_lift(study), si["load_factor"], np.nan)
    moving = s.text["speed_kind"] != "steady"
    steady, lag = of_steady_flight(np.where(moving, n, np.nan), si["entry_rate"])
    n = np.where(moving, steady, n)
    if a.indicator.load_factor_axis != "flight path" and np.isfinite(n).any():
        known = np.isfinite(n)
        turned, u = from_floor_meter(
            np.where(known, n, 1.0), errors.stall_incidence, errors.stall_incidence_uncertainty
        )
        # The conversion takes the drag of an idle glide; with power the recorded n is not used.
        n = np.where(known & np.isin(s.text["power"], ("idle", "off")), turned, np.nan)
        errors = replace(errors, recorded_load_factor=u)
    errors = replace(errors, recorded_load_factor=math.hypot(errors.recorded_load_factor, lag))
    told = ("speed_kind", "ended", "modification", "configuration", "power", "flight", "pilot")
    read = ("ias", "pressure_altitude", "temperature", "entry_rate", "sink_rate", "warning_ias", "buffet_ias", "cg")
    return Stalls(
        **{name: s.text[name] for name in told},
        **{name: si[name] for name in read},
        **wing_areas_of(a, s.text["modification"]),
        weight=s.weight,
        weight_uncertainty=s.weight_uncertainty,
        reference_weight=study.reference_weight,
        below_scale=s.below_scale,
        flap=np.array([flaps.get(c, c) for c in s.text["configuration"].tolist()]),
        load_factor=n,
        instrument=instrument_of(a),
        position=corrections_of(study),
        thrust=thrust_of(a),
        thrust_angle=a.power.thrust_angle or 0.0,
        errors=errors,
        inputs=inputs_of(study),
    )


def inputs_of(study: Study) -> dict[str, str]:
    """The inputs shown beside every answer."""
    a, e = study.aircraft, error_sizes(study.aircraft)
    others = "".join(f", {m.wing_area:.4g} m2 in '{m.name}'" for m in a.modification if m.wing_area is not None)
    return {
        "wing area": f"{a.wing.area:.4g} m2 within {196 * e.wing_area:.2g} % (95 %){others}",
        "reference weight": f"{study.reference_weight:.4g} kg ({study.reference_weight / POUND:.4g} lb)",
        "IAS read within": f"{from_si(1.96 * e.reading, study.dial_unit, 'speed'):.2g} {study.dial_unit} (95 %)",
        "stalls": f"{len(study.stalls.row)} used, {len(study.stalls.left_out)} left out"
        + (f", {len(study.stalls.set_aside)} set aside as impossible" if study.stalls.set_aside else ""),
    }
