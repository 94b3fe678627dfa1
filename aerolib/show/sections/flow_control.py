"""What devices should do, and what prediction and measurement leave together: keys `flow_control` and `posterior`."""

from __future__ import annotations

from collections.abc import Iterable

from aerolib.case.problems import CaseError
from aerolib.measured.stalls.results import CAUTIONS as FLYING
from aerolib.predicted.devices import BIAS, CAUTIONS, METHOD, TRIVIAL, FlowControl
from aerolib.show.data import deg, kt, pair, plain
from aerolib.show.figures.devices import layer_picture, lift_picture, posterior_picture
from aerolib.show.finding import Finding, Heading, Part, Quantity, Sentence, Steps, quantity
from aerolib.show.print.tuft_plan import tuft_plan
from aerolib.study import Study
from aerolib.study.devices import posterior_of
from aerolib.study.layout import wing_stations
from aerolib.study.usable import usable_words
from aerolib.together.posterior import CAUSES, Posterior, spread
from aerolib.together.worth import Program, chance_shown

KEYS = ("flow_control", "posterior")
TITLE = "What the devices should do"
PLAN = "tuft-plan.pdf"
FIRST = (
    "Airspeed calibration (position error): in both states down to near the stall; or a change of a knot is not seen",
    "Tuft the wing and film it: it shows which span stalls first, and where the flow separates",
    "Weigh the airplane: one per cent of weight is half a per cent of stall speed, and costs nothing to know",
    "Seal the gaps of flaps and ailerons: about +0.02 to 0.05 of CLmax by handbook practice, and less drag",
    "Clean and smooth the leading edge: roughness takes 0.3 to 0.4 off clmax, 12 to 18 % thick (NACA TR 824)",
    "Check the rigging: flaps, ailerons and washout as the drawing has them; an unequal wing drops first",
)
UNKNOWN = "not known: gear and tail geometry were not given"
SURE = (
    "Not very. The size is the mean of three sources, none of them read in full, and its interval is kept wide enough "
    "to reach zero. Published tests favor devices that worked."
)
RANGE = "Not very. The size is a range from old tests and handbooks, not a computation for this wing."


def finding(study: Study) -> Finding:
    """Every device of the case: expected change with its interval, cost, and prediction beside measurement."""
    empty = dict.fromkeys(KEYS)
    try:
        files = {PLAN: tuft_plan(wing_stations(study.aircraft)[0], study.name, study.aircraft.tail.span)}
        found, problems = study.devices
    except CaseError as e:
        return Finding(KEYS[0], TITLE, parts=tuple(f"Not predicted: {p}" for p in e.problems), data=empty)
    if not found and not problems:
        why = (
            "No [[device]] is described in `aircraft.toml`: describe the one you think of; workbook 08 says what to "
            f"expect of it. Before anything is bought: {PLAN}, beside this report, shows where to stick tufts."
        )
        return Finding(KEYS[0], TITLE, parts=(why,), data=empty, files=files)
    parts, together = [], []
    for one in found:
        parts += [Heading(one.name), *device_parts(one)]
        if one.explained is not None:
            parts += [
                lift_picture(one),
                layer_picture(one, study.clean_wing.chord_at(one.device.inner, one.device.outer)),
            ]
        if both := _together(study, one):
            together.append(posterior_item(one, both))
            parts += [*posterior_parts(both), posterior_picture(both)]
        own = None if study.flown is None or one is not found[0] or one.speed is None else study.own_scatter
        if own is not None:
            parts += worth_parts(study, one, Program(own.speed, own.stalls, own.days, own.position))
    return Finding(
        KEYS[0], TITLE,
        tuple(Sentence("Expected before it was fitted, {it}", {"it": headline(f)}) for f in found),
        (*parts, *(f"Not predicted: {p}" for p in problems)), CAUTIONS if found else (), METHOD if found else "",
        {"flow_control": [item(f) for f in found] or None, "posterior": together or None}, files,
    )  # fmt: skip


def _together(study: Study, one: FlowControl) -> Posterior | None:
    """Prediction beside measurement, where the comparison is of the state with this device."""
    comparison = study.comparison if study.flown is not None else None
    row = next((d for d in study.aircraft.device if d.name == one.device.name), None)
    after = comparison is not None and row is not None and row.modification in (None, comparison.after)
    if one.speed is None or not (after or comparison is None):
        return None
    return posterior_of(study, one, comparison if after else None, device=row)


def headline(f: FlowControl) -> Sentence:
    """The answer in one line [-]."""
    if f.speed is None:
        return Sentence("{name}: no change of the wing's maximum lift is expected of it", {"name": f.name})
    mark = "; outside the tested range" if f.outside else ""
    return Sentence(
        "{name}: 1-g stall speed {speed}; {chance}" + mark,
        {"name": f.name, "speed": quantity(f.speed, "speed_delta"), "chance": _chance(f)},
    )


def _chance(f: FlowControl) -> Sentence:
    if f.probability_one_knot is None:
        return Sentence("nothing is expected, either way")
    chance = quantity(f.probability_one_knot, "probability")
    return Sentence("a knot or more lower with probability {p}", {"p": chance})


def device_parts(f: FlowControl) -> tuple[Part, ...]:
    """What is expected of one device, a sentence each [-]."""
    given = "; ".join(f"{k}: {v}" for k, v in f.inputs.items())
    lines = (*_wing_lines(f), *_cost_lines(f), *_explained_lines(f))
    outside = (f"outside the tested range: {x}" for x in f.outside)
    why = f"The contest of models is undecided: {f.contest.why} {BIAS}"
    return headline(f), Steps((*lines, *outside, *f.notes)), why, f"From {given}."


def _ends(ends, kind: str, *names: str) -> dict[str, Quantity | str]:
    return {n: quantity(x, kind) for n, x in zip(names, ends)}


def _wing_lines(f: FlowControl) -> Iterable[Sentence]:
    if f.section is None or f.gain is None or f.on_section is None or f.full_span is None:
        return
    yield Sentence(
        "section clmax {section}, stall angle {angle}; trimmed CLmax {gain}",
        {"section": quantity(f.section, "cl_delta"), "gain": quantity(f.gain, "cl_delta"),
         "angle": quantity(f.on_section.stall, "angle_delta")},
    )  # fmt: skip
    if f.full_span > f.gain.value + 0.02:
        yield Sentence(
            "with the whole span treated alike trimmed CLmax would gain {full:number}: what lies outside the treated "
            "span keeps its limit, and stalls first", {"full": quantity(f.full_span, "cl")},
        )  # fmt: skip
    yield Sentence("the stall starts {before} from the centerline before, {after} after",
                   _ends(f.touch, "length", "before", "after"))  # fmt: skip
    if f.aileron is not None:
        yield Sentence("margin of the sections over the ailerons when the stall starts: {before} before, {after} after",
                       _ends(f.aileron, "share", "before", "after"))  # fmt: skip


def _cost_lines(f: FlowControl) -> Iterable[Sentence]:
    if f.drag is not None:
        slots = {"drag": quantity(f.drag, "drag_delta"), **_ends(f.top_speed, "share_delta", "slow", "fast")}
        yield Sentence("drag in cruise: CD {drag}; top speed {slow:number} to {fast}", slots)
    if f.mass is not None:
        how = "as weighed after fitting" if f.weighed else "estimated, with feet, 1 mm of aluminum"
        yield Sentence("mass {mass}, " + how, {"mass": quantity(f.mass, "mass_small")})
    if f.suddenness:
        yield Sentence("suddenness of the stall: {it}", {"it": f.suddenness})


def _explained_lines(f: FlowControl) -> Iterable[Sentence]:
    if (e := f.explained) is not None:
        yield Sentence(
            "computed, as explanation only: the boundary layer at the vanes is {layer} thick at the stall (the vane is "
            "{ratio} times that), they stand {ahead} heights ahead of separation; this layout does {relative} times "
            "what the usual one does on this section",
            {"layer": quantity(e.thickness, "length_tape"), "ratio": quantity(e.height_ratio, "factor"),
             "ahead": quantity(e.ahead, "count"), "relative": quantity(e.relative, "factor")},
        )  # fmt: skip


def item(f: FlowControl) -> dict:
    """One item of the JSON list `flow_control` [-]."""
    e, c, on = f.explained, f.contest, f.on_section

    def ends(estimate, of=plain):
        return estimate and pair(estimate.interval95, of)

    return {
        "device": f.device.name or f.device.kind, "surface": f.device.surface, "kind": "trimmed",
        "delta_clmax": f.gain and plain(f.gain.value), "interval95": ends(f.gain),
        "delta_section_clmax": f.section and plain(f.section.value), "section_interval95": ends(f.section),
        "delta_stall_angle_deg": on and plain(deg(on.stall, 9)),
        "delta_stall_speed_1g_kt": f.speed and plain(kt(f.speed.value, 9)),
        "delta_stall_speed_interval95_kt": ends(f.speed, lambda x: plain(kt(x, 9))),
        "probability_one_knot": plain(f.probability_one_knot), "full_span_delta_clmax": plain(f.full_span),
        "first_stall_m": pair(f.touch), "aileron_margin": pair(f.aileron),
        "delta_drag": f.drag and plain(f.drag.value), "delta_drag_interval95": ends(f.drag),
        "top_speed_percent": pair(f.top_speed, lambda x: plain(100.0 * x)), "mass_kg": plain(f.mass), "model": TRIVIAL,
        "contest": {"decided": False, "model": TRIVIAL, "pairs": c.pairs, "sources": c.sources, "scores": [],
                    "why": c.why},
        "computed": e and {
            "layer_thickness_m": plain(e.thickness), "height_over_layer": plain(e.height_ratio),
            "heights_to_separation": plain(e.ahead), "delta_section_clmax": plain(e.computed),
            "relative_to_usual_layout": plain(e.relative),
        },
        "suddenness": f.suddenness or None, "outside_tested_range": list(f.outside), "notes": list(f.notes),
    }  # fmt: skip


def posterior_parts(p: Posterior) -> tuple[Part, ...]:
    """Prediction, measurement and what both leave, in words [-]."""
    known = {"predicted before": p.prior, "measured": p.measured, "both together": p.best}
    out: list[Sentence | str] = [
        Sentence(f"{of}: {{x}}", {"x": quantity(e, "speed_delta")}) for of, e in known.items() if e is not None
    ]
    if p.sigmas is not None:
        apart = quantity(abs(p.sigmas), "factor")
        out.append(Sentence("measurement and prediction lie {x} standard uncertainties apart", {"x": apart}))
    if p.conflict:
        out.append(
            f"They are in conflict: find out why before using what both leave. Usual causes: {'; '.join(CAUSES)}"
        )
    if not p.prior_used:
        out.append("the prediction is left out: what is left is the measurement")
    if p.measured is None:
        out.append("nothing was measured yet: what is left is the prediction")
    return p.name, Steps((*out, "The verdict of the comparison does not use the prediction."))


def posterior_item(f: FlowControl, p: Posterior) -> dict:
    """One item of the JSON list `posterior` [-]."""

    def of(e):
        return e and {"value": _kt(e.value), "standard_uncertainty": _kt(spread(e)),
                      "interval95": pair(e.interval95, _kt)}  # fmt: skip

    return {"device": f.device.name, "of": p.name, "unit": "kt", "prior": of(p.prior), "measured": of(p.measured),
            "posterior": of(p.best), "prior_used": p.prior_used, "sigmas": plain(p.sigmas, 4),
            "conflict": p.conflict}  # fmt: skip


def worth_parts(study: Study | None, f: FlowControl, program: Program) -> tuple[Part, ...]:
    """The page 'Worth buying?': no number on it is an approach speed [-]."""
    usable = UNKNOWN
    if study is not None and f.speed is not None:
        usable = usable_words(study, 1.0 + f.speed.value / program.stall_speed)
    likely = headline(f)
    if f.speed is not None:
        likely = Sentence("{x:value} of 1-g stall speed at the reference weight, 19 times in 20 {x:interval}; {chance}",
                          {"x": quantity(f.speed, "speed_delta"), "chance": _chance(f)})  # fmt: skip
    sure = f"{SURE} The contest of models is undecided: {f.contest.why}" if f.device.reaches_zero else RANGE
    cost = [s for s in _cost_lines(f) if "suddenness" not in s.words] or [Sentence("not estimated")]
    chance = chance_shown(f.speed, program)
    shown = Sentence("not worked out: there is no change of the wing to look for")
    if chance is not None:
        shown = Sentence(
            f"{{chance}}, for {program.stalls} stalls on each of {program.flights} flights in each state, over all "
            "changes predicted; a test that shows nothing does not say that nothing changed",
            {"chance": quantity(chance, "probability")},
        )
    rows: list[tuple[str, Sentence | str]] = [
        ("Likely change", likely),
        ("How sure", sure),
        ("What gear and tail let the airplane use", usable),
        *(("What it costs", c) for c in cost),
        ("Would your test show it", shown),
    ]
    return (Heading("Worth buying?"), Steps(tuple(Sentence(f"{q}: {{a}}", {"a": a}) for q, a in rows)),
            "Cheaper, and first:", Steps(FIRST, ordered=True))  # fmt: skip


def worth(study: Study | None, f: FlowControl, program: Program) -> Finding:
    """The same with the cautions of flying stalls, for a page of its own [-]."""
    return Finding("flow_control", "Worth buying?", parts=worth_parts(study, f, program), cautions=FLYING)


def _kt(x: float) -> float | None:
    return plain(kt(x, 9))
