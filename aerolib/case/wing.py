"""The wing of a case: its sections at the flight's Reynolds number, its flap in each configuration, its CLmax."""

from __future__ import annotations

import math

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.planform import planform_of
from aerolib.case.problems import CaseError
from aerolib.case.published import section_table
from aerolib.case.schema import Configuration
from aerolib.physics.lifting_line import Planform
from aerolib.predicted.flaps import FlapIncrement, flap_increment
from aerolib.predicted.section import SectionLift, section_lift
from aerolib.predicted.wing import SpanIncrement, wing_clmax
from aerolib.predicted.wing_result import WingClmax

VISCOSITY = 1.461e-5  # kinematic, of the standard air at sea level [m2/s]
TYPICAL_CLMAX = 1.5  # sets the speed whose Reynolds number is taken; 20 % of it is 10 % in Reynolds number


def stall_reynolds(case, chord: float) -> float:
    """Reynolds number of a chord [m] at a stall at the reference weight: sea level, CL 1.5 [-]."""
    lift = case.reference_weight * GRAVITY
    speed = math.sqrt(2.0 * lift / (DENSITY_0 * case.aircraft.wing.area * TYPICAL_CLMAX))
    return speed * chord / VISCOSITY


def wing_sections(case, planform: Planform) -> dict[float, SectionLift]:
    """Sections at root and tip, by share of the half span; CaseError where none is named or it is not known."""
    wing = case.aircraft.wing
    if wing.section is None:
        raise CaseError(
            f"`{AIRCRAFT}` [wing] section is missing; the wing's maximum lift needs the name of its section, such as "
            '"NACA 4412", from the drawings'
        )
    names = {0.0: ("section", wing.section), 1.0: ("section_tip", wing.section_tip or wing.section)}
    out = {}
    for share, (key, name) in names.items():
        chord = float(planform.chord_at(0.5 * share * planform.span))
        try:
            out[share] = section_lift(name, stall_reynolds(case, chord), table=section_table())
        except ValueError as e:
            raise CaseError(f"`{AIRCRAFT}` [wing] {key} '{name}': {e}") from None
    return out


def flap_of(case, planform: Planform, section: SectionLift, deflection: float) -> FlapIncrement:
    """What the flap of a case adds to the section at a deflection [rad]; CaseError says what to measure."""
    wing = case.aircraft.wing
    place = f"`{AIRCRAFT}` [wing]"
    missing = [k for k in ("flap_kind", "flap_chord", "flap_inner", "flap_outer") if getattr(wing, k) is None]
    if missing:
        raise CaseError(f"{place} {', '.join(missing)}: missing; a flap's lift needs its kind, its chord and both ends")
    chord = float(planform.chord_at(0.5 * sum(planform.flap)))
    try:
        return flap_increment(
            wing.flap_kind, wing.flap_chord / chord, deflection, thickness=section.thickness,
            clmax_clean=section.clmax.value, reynolds=section.reynolds,
        )  # fmt: skip
    except ValueError as e:
        raise CaseError(f"{place} flap: {e}") from None


def wing_of(
    case, configuration: Configuration | None = None, *, first_stall: float | None = None, trim_loss=None
) -> WingClmax:
    """CLmax of the wing and the trimmed airplane in a configuration (None: clean); CaseError says what is missing."""
    planform = planform_of(case.aircraft)
    sections = wing_sections(case, planform)
    deflection = 0.0 if configuration is None else configuration.flap
    if deflection is None:
        raise CaseError(
            f"`{AIRCRAFT}` [[configuration]] '{configuration.name}' has no flap angle; write "
            'flap = "0 deg" where it is up'
        )
    increments = []
    if deflection and case.aircraft.wing.flap_kind != "none":
        flap = flap_of(case, planform, sections[0.0], deflection)
        name = f"{flap.kind} flap {math.degrees(deflection):.0f} degrees"
        try:
            increments.append(SpanIncrement(*planform.flap, flap.estimate("clmax"), flap.zero_lift_angle, name))
        except ValueError as e:
            raise CaseError(f"`{AIRCRAFT}` [wing] flap: {e}") from None
    try:
        return wing_clmax(planform, sections, increments=increments, first_stall=first_stall, trim_loss=trim_loss)
    except ValueError as e:
        raise CaseError(f"the wing of `{AIRCRAFT}`: {e}") from None


def wings_of(case) -> tuple[dict[str, WingClmax], list[str]]:
    """`wing_of` every configuration by name, and what kept the others from being predicted."""
    found, problems = {}, []
    for configuration in case.aircraft.configuration or (Configuration(name="clean", flap="0 deg"),):
        try:
            found[configuration.name] = wing_of(case, configuration)
        except CaseError as e:
            problems += [p for p in e.problems if p not in problems]
    return found, problems
