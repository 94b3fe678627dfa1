"""The flap of a case: its settings, what it should add in every configuration, and that beside what was measured."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerolib.case.agreement import CHORD, disagreements
from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.problems import CaseError, needed
from aerolib.case.schema import Configuration
from aerolib.estimate import Estimate
from aerolib.predicted.flap import FlapIncrement, FlapSpan, flap_increment, flap_span, kind_of, trimmed_clmax
from aerolib.predicted.wing import SpanIncrement
from aerolib.study.wing import wing_of
from aerolib.together.reconcile import Reconciliation, difference, reconcile

if TYPE_CHECKING:
    from aerolib.study import Study

NEEDED = {
    "flap_kind": "plain, split, slotted, Fowler, double slotted or none",
    "flap_chord": "hinge line, or the nose of the flap, to its trailing edge",
    "flap_inner": "centerline to the inner end of the flap",
    "flap_outer": "centerline to the outer end of the flap",
}
EXTENSION = {"flap_chord_extension": "what a Fowler flap adds to the chord when fully down"}
GAIN = "CLmax added by the flap"


@dataclass(frozen=True)
class FlapSettings:
    """All of a flap but its deflection, as `flap_increment` takes it."""

    kind: str
    chord_ratio: float  # [-]
    span: FlapSpan
    thickness: float  # [-]
    clmax_clean: float  # of the section [-]
    reynolds: float  # [-]
    extension: float = 0.0  # [-]
    gap: float = 0.0  # [-]
    tail_arm: float | None = None  # over the mean chord [-]

    def increment(self, deflection, wing: bool = True) -> FlapIncrement:
        """What the flap adds to the wing, or to its section, at deflections [rad]."""
        return flap_increment(
            self.kind, self.chord_ratio, deflection, thickness=self.thickness, clmax_clean=self.clmax_clean,
            extension=self.extension, gap=self.gap, reynolds=self.reynolds, span=self.span if wing else None,
        )  # fmt: skip

    def of(self, configuration) -> FlapIncrement:
        """What the flap adds to the wing in a configuration; CaseError where its angle is outside the method."""
        try:
            return self.increment(configuration.flap)
        except ValueError as e:
            raise CaseError(f"`{AIRCRAFT}` [[configuration]] '{configuration.name}', flap: {e}") from None

    def devices(self, deflection: float) -> list[SpanIncrement]:
        """What it does to the section at a deflection [rad], by parts of the span between cut-outs."""
        section = self.increment(deflection, wing=False)
        name = f"{section.kind} flap {math.degrees(deflection):.0f} degrees"
        gain, shift = section.estimate("clmax"), section.estimate("zero_lift_angle")
        return [SpanIncrement(*ends, gain, shift, name) for ends in self.span.parts]


def flap_settings(study: Study) -> FlapSettings | None:
    """The flap of `aircraft.toml`; None where it has none, CaseError says what to measure or what cannot be."""
    wing, place = study.aircraft.wing, f"`{AIRCRAFT}` [wing]"
    if wing.flap_kind == "none":
        return None
    needed(wing, place, NEEDED | (EXTENSION if wing.flap_kind == "Fowler" else {}), "what the flap adds")
    if problems := disagreements(study.aircraft, (CHORD,)):
        raise CaseError(problems)
    planform, section = study.planform, study.sections[0.0]
    chord = float(planform.chord_at(0.5 * (wing.flap_inner + wing.flap_outer)))
    mac, arm = study.aircraft.weights.mac, study.aircraft.tail.arm
    try:
        span = flap_span(planform, wing.flap_inner, wing.flap_outer, wing.flap_cutouts)
        settings = FlapSettings(
            kind_of(wing.flap_kind).name, wing.flap_chord / chord, span, section.thickness, section.clmax.value,
            section.reynolds, (wing.flap_chord_extension or 0.0) / chord, (wing.flap_gap or 0.0) / chord,
            arm / (mac or planform.area / planform.span) if arm else None,
        )  # fmt: skip
        settings.increment(0.0)
    except ValueError as e:
        raise CaseError(f"{place} flap: {e}") from None
    return settings


@dataclass(frozen=True)
class FlapGain:
    """What the flap adds in one configuration."""

    deflection: float  # [rad]
    clmax: Estimate  # of the trimmed airplane [-]
    increment: FlapIncrement  # of the wing: lift at fixed angle of attack, moment, drag
    whole_wing: bool  # clmax by the lifting line; else by the area the flap stands on


def flap_gain(study: Study, configuration: Configuration, settings: FlapSettings | None = None) -> FlapGain:
    """What a flap adds: with the flap down less with the flap up, both wings whole; CaseError says what is missing.

    The wings of `Study.wings` where the flap is that of the case, else (`settings`) new ones. The area method stands in
    where the lifting line refuses the wing.
    """
    flap, deflection = settings or study.flap_settings, configuration.flap
    if flap is None or deflection is None:
        raise CaseError(f"`{AIRCRAFT}`: no flap is down in '{configuration.name}'")
    increment = flap.of(configuration)
    try:
        wings = study.wings[0]
        named = (wings[c.name] for c in study.aircraft.configuration if c.flap == 0.0 and c.name in wings)
        up = next(named, None) or wing_of(study)
        down = wings.get(configuration.name) if settings is None else None
        down = down or (wing_of(study, configuration, flap=flap) if deflection else up)
        gain, whole = difference(down.trimmed, up.trimmed, GAIN), True
    except CaseError:
        gain, whole = trimmed_clmax(increment, flap.tail_arm), False
    return FlapGain(deflection, gain, increment, whole)


def flap_gains(study: Study) -> tuple[dict[str, FlapGain], dict[str, list[str]]]:
    """`flap_gain` of every configuration with the flap down, and what kept the others out, by configuration."""
    found: dict[str, FlapGain] = {}
    problems: dict[str, list[str]] = {}
    for configuration in study.aircraft.configuration if study.aircraft.wing.flap_kind != "none" else ():
        if configuration.flap:
            try:
                found[configuration.name] = flap_gain(study, configuration)
            except CaseError as e:
                problems[configuration.name] = e.problems
    return found, problems


def measured_gains(study: Study) -> list[tuple[str, str, float, Estimate]]:
    """Modification, configuration, deflection [rad] and CLmax the flap added, where both states broke at idle."""
    angles = {c.name: c.flap for c in study.aircraft.configuration}
    broke = {(i.modification, i.configuration): i.clmax for i in study.reduction.items if i.power == "idle" and i.clmax}
    up = {m: e for (m, c), e in broke.items() if angles.get(c) == 0.0}
    return [
        (m, c, angles[c], difference(e, up[m], GAIN)) for (m, c), e in broke.items() if angles.get(c) and m in up
    ]  # fmt: skip


def reconciled(study: Study) -> tuple[list[tuple[str, str, str, Reconciliation]], list[str]]:
    """Modification, configuration, power and the two values of each: CLmax as built, and what the flap added.

    CLmax is compared for the first modification only: what was fitted later is not in the prediction.
    """
    result, (wings, problems) = study.reduction, study.wings
    flaps, more = study.flap_gains
    problems = list(dict.fromkeys([*problems, *(p for one in more.values() for p in one)]))
    first = study.case.flown[0].name
    pairs = [
        (i.modification, i.configuration, i.power, i.clmax, wings[i.configuration].trimmed, "CLmax")
        for i in result.items
        if i.modification == first and i.power == "idle" and i.clmax and i.configuration in wings
    ]
    pairs += [(m, c, "idle", gain, flaps[c].clmax, GAIN) for m, c, _, gain in measured_gains(study) if c in flaps]
    found = []
    for modification, name, power, measured, predicted, what in pairs:
        try:
            found.append((modification, name, power, reconcile(measured, predicted, what=what)))
        except ValueError as e:
            problems.append(f"{modification}, {name}: {e}")
    return found, problems
