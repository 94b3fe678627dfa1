"""The wing of a case: its sections at the flight's Reynolds number, its flap in each configuration, its CLmax."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.problems import CaseError
from aerolib.case.schema import Configuration
from aerolib.case.tufts import first_stall_seen
from aerolib.predicted.section import SectionLift
from aerolib.predicted.wing import WingClmax, wing_clmax
from aerolib.study.airframe import trim_loss_of
from aerolib.study.section import section_of

if TYPE_CHECKING:
    from aerolib.study import Study
    from aerolib.study.flaps import FlapSettings

CLEAN = Configuration.model_validate({"name": "clean", "flap": "0 deg"})


def sections_of(study: Study) -> dict[float, SectionLift]:
    """Sections at root and tip, by share of the half span; CaseError where none is named or it is not known."""
    planform = study.planform
    ends = {share: float(planform.chord_at(share * 0.5 * planform.span)) for share in (0.0, 1.0)}
    return {share: section_of(study, tip=bool(share), chord=chord) for share, chord in ends.items()}


def wing_of(
    study: Study,
    configuration: Configuration = CLEAN,
    *,
    flap: FlapSettings | None = None,
    first_stall: float | None = None,
) -> WingClmax:
    """CLmax of the wing and the trimmed airplane in a configuration; CaseError says what is missing.

    `flap` takes the place of the flap of the case; `first_stall` is where tufts first showed separation [m].
    """
    planform, sections = study.planform, study.sections
    if configuration.flap is None:
        raise CaseError(
            f"`{AIRCRAFT}` [[configuration]] '{configuration.name}' has no flap angle; write "
            'flap = "0 deg" where it is up'
        )
    settings = (flap or study.flap_settings) if configuration.flap else None
    increment = settings.of(configuration) if settings else None
    try:
        devices = settings.devices(configuration.flap) if settings else ()
        found = study.memo(wing_clmax, planform, sections, increments=devices, first_stall=first_stall)
    except ValueError as e:
        raise CaseError(f"the wing of `{AIRCRAFT}`, '{configuration.name}': {e}") from None
    loss = trim_loss_of(study, increment, found.clmax.value)
    return found if loss is None else found.trimmed_by(loss)


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
    for configuration in study.aircraft.configuration or (CLEAN,):
        try:
            seen = first_stall_seen(study.case, configuration.name)
            found[configuration.name] = wing_of(study, configuration, first_stall=seen and seen[0])
        except CaseError as e:
            problems += [p for p in e.problems if p not in problems]
    return found, problems
