"""The flap of a case: its settings, what it should add in every configuration, and that beside what was measured."""

from __future__ import annotations

import html
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerolib.case.agreement import CHORD, disagreements
from aerolib.case.aircraft import AIRCRAFT
from aerolib.case.problems import CaseError
from aerolib.estimate import Estimate
from aerolib.predicted.flap.increment import flap_increment, kind_of
from aerolib.predicted.flap.result import FlapIncrement, FlapSpan
from aerolib.predicted.flap.span import flap_span, trimmed_clmax
from aerolib.together.reconcile import Reconciliation, difference, reconcile

if TYPE_CHECKING:
    from aerolib.study import Study

NEEDED = {
    "flap_kind": "plain, split, slotted, Fowler, double slotted or none",
    "flap_chord": "hinge line, or the nose of the flap, to its trailing edge",
    "flap_inner": "centreline to the inner end of the flap",
    "flap_outer": "centreline to the outer end of the flap",
}
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

    def trimmed(self, deflection: float) -> Estimate:
        """What it adds to CLmax of the trimmed airplane at a deflection [rad]."""
        return trimmed_clmax(self.increment(deflection), self.tail_arm)


def flap_settings(study: Study) -> FlapSettings | None:
    """The flap of `aircraft.toml`; None where it has none, CaseError says what to measure or what cannot be."""
    wing, place = study.aircraft.wing, f"`{AIRCRAFT}` [wing]"
    if wing.flap_kind == "none":
        return None
    missing = [k for k in NEEDED if getattr(wing, k) is None]
    if missing:
        raise CaseError([f"{place} {k} is missing; what the flap adds needs it: {NEEDED[k]}" for k in missing])
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


def flap_predictions(study: Study) -> tuple[dict[str, tuple[float, Estimate]], list[str]]:
    """By configuration with the flap down: deflection [rad], CLmax added, trimmed; and what kept the others out."""
    down = [c for c in study.aircraft.configuration if c.flap]
    if not down:
        return {}, []
    try:
        settings = study.flap_settings
    except CaseError as e:
        return {}, list(e.problems)
    found, problems = {}, []
    for configuration in down if settings else ():
        try:
            found[configuration.name] = (configuration.flap, settings.trimmed(configuration.flap))
        except ValueError as e:
            problems.append(f"`{AIRCRAFT}` [[configuration]] '{configuration.name}', flap: {e}")
    return found, problems


def flap_items(study: Study) -> list[dict]:
    """Items of the JSON list `predicted`: CLmax added by the flap to the trimmed airplane, by configuration."""
    return [
        {
            "modification": None, "configuration": name, "kind": "trimmed", "quantity": GAIN,
            "value": _short(e.value), "standard_uncertainty": _short(e.standard_uncertainty),
            "interval95": [_short(x) for x in e.interval95],
            "method": "thin-aerofoil lift, our effectiveness and share at the stall, 0.92 of the flapped area; trimmed",
            "flap_deg": _short(math.degrees(deflection)),
        }
        for name, (deflection, e) in study.flap_predictions[0].items()
    ]  # fmt: skip


def flap_html(study: Study) -> str:
    """What the flap should add in each configuration, or what to measure for that, as HTML."""
    found, problems = study.flap_predictions
    rows = "".join(
        f"<tr><td>{html.escape(name)}</td><td>{math.degrees(deflection):.0f}</td><td>{html.escape(e.text())}</td></tr>"
        for name, (deflection, e) in found.items()
    )
    head = "".join(f"<th>{x}</th>" for x in ("configuration", "flap [deg]", "CLmax added, trimmed airplane"))
    table = f"<table class='aerolib'><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>" if rows else ""
    if rows:
        table += (
            "<p>The flap by the area it stands on. Where the whole wing is predicted, the lifting line has the flap as "
            "a step along the span and may give more or less; the range holds part of that difference.</p>"
        )
    return table + "".join(f"<p>{html.escape(p)}</p>" for p in problems)


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
    first = study.case.flown[0].name
    found = [
        (i.modification, i.configuration, i.power, reconcile(i.clmax, wings[i.configuration].trimmed))
        for i in result.items
        if i.modification == first and i.power == "idle" and i.clmax and i.configuration in wings
    ]
    flaps, more = study.flap_predictions
    found += [
        (m, c, "idle", reconcile(gain, flaps[c][1], what=GAIN)) for m, c, _, gain in measured_gains(study) if c in flaps
    ]
    return found, problems + [p for p in more if p not in problems]


def _short(value: float) -> float:
    return float(f"{value:.6g}")
