"""The wing of a case: its sections at the flight's Reynolds number, its flap in each configuration, its CLmax."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.problems import CaseError
from aerolib.case.schema import Configuration
from aerolib.case.tufts import first_stall_seen
from aerolib.predicted.flap.increment import flap_increment
from aerolib.predicted.flap.span import flap_span
from aerolib.predicted.section import SectionLift
from aerolib.predicted.wing import SpanIncrement, wing_clmax
from aerolib.predicted.wing.result import WingClmax
from aerolib.study.airframe import trim_loss_of
from aerolib.study.section import section_of

if TYPE_CHECKING:
    from aerolib.study import Study


def sections_of(study: Study) -> dict[float, SectionLift]:
    """Sections at root and tip, by share of the half span; CaseError where none is named or it is not known."""
    planform = study.planform
    ends = {share: float(planform.chord_at(share * 0.5 * planform.span)) for share in (0.0, 1.0)}
    return {share: section_of(study, tip=bool(share), chord=chord) for share, chord in ends.items()}


def flap_of(study: Study, deflection: float, section: SectionLift | None = None) -> list[SpanIncrement]:
    """What the flap of a case does to the section under a deflection [rad], by parts of the span between cut-outs."""
    wing, planform = study.aircraft.wing, study.planform
    section = section or study.sections[0.0]
    missing = [k for k in ("flap_kind", "flap_chord", "flap_inner", "flap_outer") if getattr(wing, k) is None]
    if missing:
        raise CaseError(
            f"`{AIRCRAFT}` [wing] {', '.join(missing)}: missing; a flap's lift needs its kind, its chord and both ends"
        )
    chord = float(planform.chord_at(0.5 * sum(planform.flap)))
    try:
        flap = flap_increment(
            wing.flap_kind, wing.flap_chord / chord, deflection, thickness=section.thickness,
            clmax_clean=section.clmax.value, extension=(wing.flap_chord_extension or 0.0) / chord,
            gap=(wing.flap_gap or 0.0) / chord, reynolds=section.reynolds,
        )  # fmt: skip
        parts = flap_span(planform, *planform.flap, wing.flap_cutouts).parts
        name = f"{flap.kind} flap {math.degrees(deflection):.0f} degrees"
        return [SpanIncrement(*ends, flap.estimate("clmax"), flap.zero_lift_angle, name) for ends in parts]
    except ValueError as e:
        raise CaseError(f"`{AIRCRAFT}` [wing] flap: {e}") from None


def wing_of(study: Study, configuration: Configuration | None = None, **given) -> WingClmax:
    """CLmax of the wing and the trimmed airplane in a configuration (None: clean); CaseError says what is missing.

    `given` is `first_stall` or `trim_loss` of `wing_clmax`.
    """
    planform, sections = study.planform, study.sections
    deflection = 0.0 if configuration is None else configuration.flap
    if deflection is None:
        raise CaseError(
            f"`{AIRCRAFT}` [[configuration]] '{configuration.name}' has no flap angle; write "
            'flap = "0 deg" where it is up'
        )
    down = deflection and study.aircraft.wing.flap_kind != "none"
    increments = flap_of(study, deflection) if down else ()
    try:
        return study.memo(wing_clmax, planform, sections, increments=increments, **given)
    except ValueError as e:
        raise CaseError(f"the wing of `{AIRCRAFT}`: {e}") from None


def wings_of(study: Study) -> tuple[dict[str, WingClmax], list[str]]:
    """`wing_of` every configuration by name, and what kept the others from being predicted.

    Where `tufts.csv` shows the first stall before any change, that takes the place of the computed one.
    """
    found: dict[str, WingClmax] = {}
    problems: list[str] = []
    try:
        _ = study.sections
    except CaseError as e:
        return {}, e.problems
    for configuration in study.aircraft.configuration or (Configuration(name="clean", flap="0 deg"),):
        try:
            seen = first_stall_seen(study.case, configuration.name)
            found[configuration.name] = wing_of(study, configuration, first_stall=seen and seen[0],
                                                trim_loss=trim_loss_of(study, configuration.name))  # fmt: skip
        except CaseError as e:
            problems += [p for p in e.problems if p not in problems]
    return found, problems
