"""The airspeed system: legs, the correction of every state, and what has none."""

from __future__ import annotations

from collections.abc import Iterator

from aerolib.case.aircraft import flaps_of
from aerolib.estimate import K95
from aerolib.measured.airspeed.results import AirspeedCalibration, Run, StateCalibration
from aerolib.measured.stalls.advice import next_steps
from aerolib.show.data import pair, plain
from aerolib.show.figures.calibration import correction_picture
from aerolib.show.finding import Column, Finding, Part, Quantity, Sentence, Steps, Table, quantity
from aerolib.study import Study
from aerolib.units import knots

KEYS = ("airspeed",)
TITLE = "Airspeed calibration (position error)"
CAUTIONS = (
    "Slow legs are flown at the height of a stall test, flaps and power set beforehand, and turned at a faster speed: "
    "never turn at the speed of a slow leg.",
    "Legs are flown with somebody looking out: a second person, or a camera on the dial, altimeter and receiver, "
    "writes.",
    "The correction holds for the state it was flown in: static source, pitot tube, doors and windows as noted. What "
    "moves them or changes the wing asks for new legs.",
    "Markings, placards and approach speeds are not changed from this output. Local rules and licensed practice "
    "decide.",
)
SOURCE = (
    "Method: ground velocities lie on a circle about the wind (D. Gray, 1998; SFTE Reference Handbook 2013 ch. 4); "
    "y = 1 - (V_i / V)^2 over the lift coefficient, by linear regression with stated sizes"
)
STATES = (
    Column("modification"), Column("flap"), Column("at the stall", "speed_on_dial"),
    Column("add (95 % interval)", "change_on_dial"), Column("CL at the stall over CL of the slowest run", "factor"),
    Column("slowest run", "speed_on_dial"), Column("runs"), Column("from"),
)  # fmt: skip
RUNS = (
    Column("run"), Column("power"), Column("legs"), Column("mean reading", "speed_on_dial"),
    Column("true airspeed", "speed_true"), Column("calibrated (95 % interval)", "speed_cas"),
    Column("wind", "speed_change"), Column("wind from", "angle"), Column("CL", "cl"),
    Column("residuals of the legs", "speed_change"),
)  # fmt: skip


def finding(study: Study) -> Finding:
    """Corrections of every state; without legs, one sentence and what an hour of them would buy."""
    found = study.calibration
    if found is None:
        return Finding("airspeed", TITLE, parts=(_without_legs(study),), data={"airspeed": None})
    flaps = flaps_of(study.aircraft)
    data = [{**_data(s), "configuration": c} for s in found.states
            for c in [c for c, flap in flaps.items() if flap == s.flap] or [s.flap]]  # fmt: skip
    parts = (correction_picture(found, study.dial_unit), *parts_of(found))
    return Finding("airspeed", TITLE, (), parts, CAUTIONS, SOURCE, {"airspeed": data})


def parts_of(found: AirspeedCalibration) -> Iterator[Part]:
    """Tables of states and runs, what a reader must know beside them, and what they stand on."""
    yield Table(STATES, tuple(_state(s, found.assumed) for s in found.states))
    yield Table(RUNS, tuple(_run(r) for r in found.runs))
    yield Steps(tuple(found.sentences()))
    yield Sentence(
        "Tracks may be magnetic or true: turning all of them by one angle turns the wind and leaves the airspeed as it "
        "is. Inputs: {inputs}. One leg was good within {leg} (95 %).",
        {"inputs": "; ".join(f"{k} {v}" for k, v in found.inputs.items()) or "none beside the legs",
         "leg": Quantity(K95 * found.leg, "speed_change")},
    )  # fmt: skip


def circle_slots(circle) -> dict[str, Quantity | Sentence]:
    """Airspeed, wind and residuals of one run."""
    off = {f"leg{k}": Quantity(x, "speed_change") for k, x in enumerate(circle.residuals)}
    words = " ".join(f"{{{name}:number}}" for name in off) if len(off) > 3 else "exact: a fourth leg would check it"
    return {
        "airspeed": Quantity(circle.airspeed, "speed_true", _ends(circle.airspeed, circle.standard_uncertainty)),
        "wind": Quantity(circle.wind_speed, "speed_change"), "from": Quantity(circle.wind_from, "angle"),
        "residuals": Sentence(words, off),
    }  # fmt: skip


def _without_legs(study: Study) -> str:
    items = study.reduction.items
    widths = [(i.clmax.standard_uncertainty / i.clmax.value, -k) for k, i in enumerate(items)
              if i.clmax is not None and i.power == "idle"]  # fmt: skip
    told = map(str, next_steps(items[-max(widths)[1]])) if widths else ()
    steps = [s for s in told if "airspeed" in s or "calibrat" in s]
    return (
        "No `airspeed_legs.csv`: the instrument and position correction is the owner's table, or none, within an "
        "assumed error. Workbook 04 tells how an hour of legs is flown."
        + (f" It would pay: {steps[0]}." if steps else "")
    )


def _ends(value: float, standard_uncertainty: float) -> tuple[float, float]:
    return value - K95 * standard_uncertainty, value + K95 * standard_uncertainty


def _state(s: StateCalibration, assumed: float) -> tuple:
    return (
        s.modification, s.flap, quantity(s.reading, "speed_on_dial", unknown="-"),
        Quantity(s.at_stall or 0.0, "change_on_dial", s.interval95 or _ends(0.0, assumed)),
        quantity(s.extension, "factor", unknown="-"),
        quantity(s.slowest, "speed_on_dial", unknown="-"), str(s.runs), s.origin,
    )  # fmt: skip


def _run(r: Run) -> tuple:
    circle = circle_slots(r.circle)
    return (
        r.name, r.power, str(len(r.circle.residuals)), Quantity(r.ias, "speed_on_dial"),
        Quantity(r.circle.airspeed, "speed_true"), Quantity(r.cas, "speed_cas", _ends(r.cas, r.own)), circle["wind"],
        circle["from"], Quantity(r.cl, "cl"), circle["residuals"],
    )  # fmt: skip


def _data(s: StateCalibration) -> dict:
    """One item of the JSON, without its configuration."""
    return {
        "modification": s.modification, "flap": s.flap, "origin": s.origin, "runs": s.runs,
        "indicated_at_stall_kt": _kt(s.reading), "correction_at_stall_kt": _kt(s.at_stall),
        "standard_uncertainty_kt": _kt(s.standard_uncertainty),
        "interval95_kt": pair(s.interval95, _kt),
        "extension": plain(s.extension, 4), "slowest_run_indicated_kt": _kt(s.slowest), "notes": list(s.notes),
    }  # fmt: skip


def _kt(speed: float | None) -> float | None:
    return None if speed is None else plain(float(knots(speed)))
