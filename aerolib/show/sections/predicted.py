"""What section, wing and flap should give: the key `predicted` of the JSON, and what workbooks 06 and 07 show of it."""

from __future__ import annotations

import math
from dataclasses import replace

from aerolib.case.problems import CaseError
from aerolib.estimate import Estimate
from aerolib.predicted.section import STALL_WORDS, SectionLift
from aerolib.predicted.wing import CAUTIONS, METHOD, WingClmax
from aerolib.show.data import pair, plain
from aerolib.show.figures.wing import wing_picture
from aerolib.show.finding import Column, Finding, Heading, Part, Sentence, Steps, Table, quantity
from aerolib.study import Study
from aerolib.study.flaps import GAIN, FlapGain
from aerolib.study.section import section_of

KEYS = ("predicted",)
TITLE = "What the wing should give"
WHOLE_WING = "lifting line with the flap as a step along the span, flap down less flap up, both trimmed"
BY_AREA = "thin-airfoil lift, our effectiveness and share at the stall, 0.92 of the flapped area; trimmed"


def finding(study: Study) -> Finding:
    """Predicted maximum lift of section, wing and trimmed airplane in every configuration, and what the flap adds."""
    found = Finding("predicted", TITLE, data={"predicted": None})
    try:
        sections = study.sections
    except CaseError as e:
        return replace(found, parts=tuple(f"Not predicted: {p}" for p in e.problems))
    wings, problems = study.wings
    parts: list[Part] = [wing_picture(next(iter(wings.values())))] if wings else []
    parts += [_section(s, f"{place}: ") for place, s in zip(("Root", "Tip"), sections.values())]
    for name, wing in wings.items():
        parts += [Heading(name), *wing_parts(wing)]
    flap = flap_parts(study)
    parts += [*flap, *(f"Not predicted: {p}" for p in problems if p not in flap)]
    answer = tuple(
        Sentence("Predicted from the shape of the wing, {name}: CLmax of the trimmed airplane {clmax}",
                 {"name": name, "clmax": quantity(wing.trimmed, "cl", ("CLmax, predicted", name))})
        for name, wing in wings.items()
    )  # fmt: skip
    return replace(found, answer=answer, parts=tuple(parts), cautions=CAUTIONS, data={"predicted": _items(study)})


def section_finding(study: Study) -> Finding:
    """The section at the standard mean chord, smooth."""
    found = section_of(study)
    return Finding(
        "section", "What should the section give?", parts=(_section(found), error_sources(found.clmax)),
        cautions=found.cautions, source=found.source,
    )  # fmt: skip


def _section(found: SectionLift, place: str = "") -> Sentence:
    return Sentence(
        "{place}{name} at Reynolds number {reynolds} million: clmax {clmax} at an angle of attack of {stall}; zero "
        "lift at {zero}, slope {slope} per radian; stall type: {type}.",
        {"place": place, "name": found.name, "reynolds": f"{found.reynolds / 1e6:.2g}",
         "clmax": quantity(found.clmax, "cl"), "stall": quantity(found.alpha_stall, "angle"),
         "zero": quantity(found.alpha0, "angle"), "slope": quantity(found.slope, "factor"),
         "type": STALL_WORDS.get(found.stall_type, found.stall_type)},
    )  # fmt: skip


def error_sources(of: Estimate) -> Sentence:
    """'Error sources: ...', largest first, each with its share of the variance."""
    lines = [b for b in of.budget() if b.share >= 0.005]
    slots = {f"n{i}": b.name for i, b in enumerate(lines)} | {
        f"s{i}": quantity(b.share, "share") for i, b in enumerate(lines)
    }
    listed = "; ".join(f"{{n{i}}} {{s{i}}}" for i in range(len(lines)))
    return Sentence(f"Error sources of {of.name}, shares of the variance: {listed}.", slots)


def wing_parts(found: WingClmax) -> tuple[Part, ...]:
    """What a wing gives, a sentence each, its error sources, method and inputs."""
    told = [
        Sentence("CLmax of the wing: {clmax}; {stalled} of its area is then at its section's limit.",
                 {"clmax": quantity(found.clmax, "cl"), "stalled": quantity(found.stalled, "share")}),
        Sentence("CLmax of the trimmed airplane: {trimmed}, {loss} of the wing's lost to the tail load; compare this "
                 "one with a flight.",
                 {"trimmed": quantity(found.trimmed, "cl"), "loss": quantity(found.trim_loss, "share")}),
        Sentence("The stall starts {at} from the centerline ({share} of the half span) at CL {touch}, a lower bound; "
                 "with every section at its limit CL would be {bound}, an upper bound.",
                 {"at": quantity(found.first_touch_at, "length"), "share": quantity(found.first_touch_share, "share"),
                  "touch": quantity(found.first_touch, "cl"), "bound": quantity(found.all_at_limit, "cl")}),
        Sentence("Root angle of attack at CLmax {alpha}, {bend} of it from the rounded top of the section's lift "
                 "curve; a calculation with the whole surface adds about one degree. Lift slope {slope} per radian; "
                 "induced drag {drag} times that of an elliptic loading.",
                 {"alpha": quantity(found.alpha_stall, "angle"), "bend": quantity(found.bend, "angle"),
                  "slope": quantity(found.slope, "factor"), "drag": quantity(1.0 + found.drag_factor, "factor")}),
    ]  # fmt: skip
    if found.aileron_margin is not None:
        told.append(Sentence(
            "Over the ailerons the section has {left} of its limit left when the stall starts; at the quoted CLmax "
            "{stalled} of their span is at its limit.",
            {"left": quantity(found.aileron_margin, "share"), "stalled": quantity(found.aileron_stalled, "share")},
        ))  # fmt: skip
    given = "; ".join(f"{k} {v}" for k, v in found.inputs.items())
    notes = [f"Note: {n}." for n in found.notes]
    return Steps((*told, *notes)), error_sources(found.trimmed), f"Method: {METHOD}. From {given}."


def flap_parts(study: Study) -> list[Part]:
    """What the flap should add in each configuration, or what to measure for that."""
    found, problems = study.flap_gains
    parts: list[Part] = []
    if found:
        columns = (Column("configuration"), Column("flap", "angle"), Column("CLmax added, trimmed airplane", "cl"))
        parts.append(Heading("The flap"))
        parts.append(Table(columns, tuple(
            (name, quantity(g.deflection, "angle"), quantity(g.clmax, "cl", ("flap increment, predicted", name)))
            for name, g in found.items()
        )))  # fmt: skip
        parts += [_how(g, name) for name, g in found.items() if not g.whole_wing]
    return parts + list(dict.fromkeys(p for one in problems.values() for p in one))


def _how(gain: FlapGain, name: str) -> Sentence:
    return Sentence(
        "{name}: by the area the flap stands on, because the lifting line does not cover this wing.", {"name": name}
    )


def _item(of: Estimate, kind: str, configuration: str, method: str, quantity_: str = "CLmax") -> dict:
    return {
        "modification": None, "configuration": configuration, "kind": kind, "quantity": quantity_,
        "value": plain(of.value), "standard_uncertainty": plain(of.standard_uncertainty),
        "interval95": pair(of.interval95), "method": method,
    }  # fmt: skip


def _items(study: Study) -> list[dict]:
    """The JSON list `predicted`: section smooth and rough, wing and trimmed airplane, what the flap adds."""
    out = []
    for surface in ("smooth", "standard roughness"):
        s = section_of(study, rough=surface != "smooth")
        out.append({
            "modification": None, "configuration": None, "surface": surface, "section": s.name, "kind": "section",
            "reynolds": s.reynolds, "value": s.clmax.value, "standard_uncertainty": s.clmax.standard_uncertainty,
            "interval95": list(s.clmax.interval95), "alpha_stall_deg": math.degrees(s.alpha_stall),
            "alpha0_deg": math.degrees(s.alpha0), "slope_per_deg": math.radians(s.slope), "stall_type": s.stall_type,
            "thickness": s.thickness, "method": s.source, "cautions": list(s.cautions),
        })  # fmt: skip
    for name, w in study.wings[0].items():
        out += [
            {**_item(w.clmax, "wing", name, METHOD),
             "first_touch": plain(w.first_touch), "first_touch_share": plain(w.first_touch_share),
             "all_at_limit": plain(w.all_at_limit), "slope_per_rad": plain(w.slope),
             "alpha_stall_deg": plain(math.degrees(w.alpha_stall)), "aileron_margin": plain(w.aileron_margin),
             "aileron_stalled": plain(w.aileron_stalled)},
            {**_item(w.trimmed, "trimmed", name, METHOD), "trim_loss": plain(w.trim_loss.value)},
        ]  # fmt: skip
    for name, gain in study.flap_gains[0].items():
        method = WHOLE_WING if gain.whole_wing else BY_AREA
        out.append(
            {**_item(gain.clmax, "trimmed", name, method, GAIN), "flap_deg": plain(math.degrees(gain.deflection))}
        )
    return out
