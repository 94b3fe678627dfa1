"""Every number handed to a public function of the lower floors: NaN, infinite, negative and absurd ones are refused.

The walk takes every public function of these rooms. One that takes numbers has a call here that is right; one that does
not stands in `WITHOUT`, with the reason.
"""

import importlib
import inspect
import math
import pkgutil

import numpy as np
import pytest

from aerolib.consequences.balance import Airplane, Flap
from aerolib.consequences.operating_speeds import State
from aerolib.estimate import Estimate, Source
from aerolib.predicted.devices import CleanWing

ROOMS = ("atmosphere", "physics", "measured", "predicted", "consequences", "together")
BAD = {"NaN": math.nan, "infinite": math.inf, "negative": -1.0, "absurd": 1e12}
AIRPLANE = Airplane(
    span=10.0, mean_chord=1.3, aspect_ratio=7.7, taper=1.0, slope=4.7, alpha0=-0.07, wing_incidence=0.03,
    moment0=-0.05, fuselage_slope=0.2, tail_volume=0.45, tail_slope=3.5, tail_incidence=-0.03, tail_above_wing=0.05,
    downwash=0.35, effectiveness=0.5, stop_up=-0.45,
)  # fmt: skip
CLMAX = Estimate("CLmax", 1.5, "-", {Source("test", "state"): 0.05})
SPEED = Estimate("1-g stall speed", 22.0, "m/s", {Source("test", "state"): 0.3})
BALANCE = {"a": AIRPLANE, "flap": Flap(), "lift_coefficient": 1.2, "height_over_span": 0.2}
ROLL = {"mass": 600.0, "wing_area": 13.0, "density": 1.2, "drag": 0.08, "lift": 0.4, "friction": 0.05, "slope": 0.01,
        "headwind": 2.0}  # fmt: skip


def push(speed):
    return 1000.0 - 5.0 * speed


CALLS = {
    "atmosphere.standard_temperature": {"pressure_altitude": 500.0},
    "atmosphere.pressure": {"pressure_altitude": 500.0},
    "atmosphere.density": {"pressure_altitude": 500.0, "temperature": 285.0},
    "atmosphere.density_altitude": {"air_density": 1.1},
    "physics.ground_effect.induced_relief": {"height_over_span": 0.1, "aspect_ratio": 7.0, "taper": 0.8},
    "physics.ground_effect.exponential": {"height_over_span": 0.1},
    "physics.ground_effect.wieselsberger": {"height_over_span": 0.1},
    "physics.ground_effect.horseshoe": {"height_over_span": 0.1},
    "physics.ground_effect.slope_in_ground": {"slope": 4.7, "aspect_ratio": 7.0, "relief": 0.4,
                                              "chord_over_height": 0.5},
    "physics.ground_effect.speed_at_wing": {"lift_coefficient": 1.2, "aspect_ratio": 7.0, "height_over_span": 0.1},
    "physics.ground_effect.lift_ratio": {"slope": 4.7, "aspect_ratio": 7.0, "height_over_span": 0.1,
                                         "lift_coefficient": 1.2, "taper": 1.0},
    "physics.ground_effect.downwash_ratio": {"height_over_span": 0.1, "tail_above_wing": 0.05, "effective_span": 0.8},
    "physics.ground_effect.ground_effect": {"height_over_span": 0.1, "aspect_ratio": 7.0, "slope": 4.7,
                                            "lift_coefficient": 1.2, "tail_above_wing": 0.05, "taper": 1.0},
    "physics.lifting_line.straight_taper": {"span": 10.0, "area": 13.0, "taper": 0.7, "washout": 0.03},
    "physics.tail.finite_slope": {"aspect_ratio": 4.0, "quality": 0.9, "sweep": 0.1},
    "physics.tail.downwash_slope": {"aspect_ratio": 7.0, "taper": 0.8, "arm_over_span": 0.45,
                                    "height_over_span": 0.05, "sweep": 0.0},
    "physics.tail.elevator_effectiveness": {"elevator_share": 0.4},
    "physics.tail.effective_deflection": {"deflection": -0.4, "falls_to": 0.6},
    "physics.thrust.disc_velocity": {"power": 4e4, "speed": 22.0, "density": 1.2, "area": 2.3},
    "physics.thrust.disc_thrust": {"power": 4e4, "speed": 22.0, "density": 1.2, "area": 2.3},
    "physics.thrust.thrust": {"state": "power", "speed": 22.0, "density": 1.2, "weight": 6000.0, "diameter": 1.7,
                              "power": 4e4, "pitch": 1.0, "revolutions": 15.0},
    "physics.thrust.power_on_stall": {"weight": 6000.0, "wing_area": 13.0, "chord": 1.3, "clmax": 1.5, "density": 1.2,
                                      "power": 4e4, "diameter": 1.7, "incidence": 0.25},
    "measured.airspeed.correction.impact_pressure": {"calibrated_airspeed": 30.0},
    "measured.airspeed.correction.airspeed_of_pressure": {"pressure_difference": 500.0},
    "measured.airspeed.correction.equivalent_airspeed": {"calibrated_airspeed": 30.0, "pressure_altitude": 500.0},
    "measured.airspeed.correction.true_airspeed": {"calibrated_airspeed": 30.0, "pressure_altitude": 500.0,
                                                 "temperature": 285.0},
    "measured.airspeed.correction.calibrated_from_true": {"true": 30.0, "pressure_altitude": 500.0,
                                                          "temperature": 285.0},
    "measured.stalls.loadfactor.flight_path_load_factor": {"nz": 0.9, "nx": 0.2, "alpha": 0.25},
    "measured.stalls.loadfactor.from_floor_meter": {"nz": 0.9, "alpha": 0.25, "alpha_uncertainty": 0.05},
    "measured.stalls.loadfactor.glide_load_factor": {"sink_rate": 3.0, "true_airspeed": 25.0},
    "measured.plan.power.two_sample_power": {"effect": 1.0, "n": 12.0, "alpha": 0.05},
    "measured.plan.programme.plan_test": {"change": 0.5, "stall_speed": 22.0, "stall_scatter": 0.3, "day_scatter": 0.2,
                                "position_uncertainty": 0.5, "calibrated_uncertainty": 0.2, "weight": 600.0,
                                "load_factor_uncertainty": 0.01},
    "measured.stalls.reduction.reduce_stalls": {"ias": 22.0, "wing_area": 13.0, "weight": 600.0,
                                     "reference_weight": 620.0,
                                     "pressure_altitude": 300.0, "temperature": 285.0, "entry_rate": 0.5,
                                     "load_factor": 0.95, "weight_uncertainty": 3.0, "wing_area_uncertainty": 0.1,
                                     "thrust_angle": 0.02, "warning_ias": 25.0, "buffet_ias": 24.0},
    "predicted.section.asbuilt.rough_ratio": {"thickness": 0.12},
    "predicted.section.asbuilt.losses": {"clmax": 1.5, "thickness": 0.12, "sag": 0.002, "surface_break": 0.001,
                                         "gap": 0.002},
    "predicted.flap.increment.flap_theory": {"chord_ratio": 0.25},
    "predicted.flap.increment.flap_increment": {"kind": "plain", "chord_ratio": 0.2, "deflection": 0.3,
                                                "thickness": 0.12, "clmax_clean": 1.5, "extension": 0.0, "gap": 0.0,
                                                "reynolds": 2e6, "lift_clean": 0.4},
    "predicted.section.lift.section_lift": {"section": "4412", "reynolds": 2e6, "sag": 0.002, "surface_break": 0.001,
                                       "gap": 0.002},
    "predicted.section.lift.stall_type": {"thickness": 0.12, "camber": 0.02},
    "predicted.devices.layer.circulation": {"height": 0.01, "length": 0.03, "angle": 0.25, "speed": 25.0,
                                            "layer": 0.01},
    "predicted.devices.layer.plain_circulation": {"height": 0.01, "length": 0.03, "angle": 0.25, "speed": 25.0},
    "consequences.balance.flow": BALANCE,
    "consequences.balance.tail_load_needed": {**BALANCE, "cg": 0.3},
    "consequences.balance.elevator_needed": {**BALANCE, "cg": 0.3},
    "consequences.balance.tail_load_available": BALANCE,
    "consequences.balance.lift_limits": {"a": AIRPLANE, "flap": Flap(), "cg": 0.3, "height_over_span": 0.2,
                                         "gear_alpha": 0.2},
    "consequences.balance.forward_cg_limit": BALANCE,
    "consequences.balance.with_tail_devices": {"a": AIRPLANE, "more_clmax": 0.2, "more_at_large_deflection": 0.1},
    "consequences.distances.landing_roll": {"touchdown": 22.0, **ROLL},
    "consequences.distances.take_off_roll": {"lift_off": 24.0, "thrust": push, **ROLL},
    "consequences.distances.landing_air_distance": {"approach": 29.0, "stall": 22.0, "path": 0.07, "headwind": 2.0,
                                                    "obstacle": 15.24},
    "consequences.distances.climb_distance": {"gradient": 0.08, "obstacle": 15.24},
    "consequences.distances.climb_gradient": {"speed": 30.0, "mass": 600.0, "wing_area": 13.0, "density": 1.2,
                                              "zero_lift_drag": 0.04, "span_factor": 0.06, "thrust": push},
    "consequences.distances.wind_addition": {"wind": 5.0, "gust": 8.0},
    "consequences.distances.drift_angle": {"crosswind": 5.0, "speed": 30.0},
    "consequences.landing_attitude.ground_angle": {"main_height": 0.9, "other_height": 0.3, "wheelbase": 4.5},
    "consequences.landing_attitude.over_the_nose": {"eye_above_ground": 1.8, "eye_above_cowl": 0.3,
                                                    "eye_to_cowl": 1.5, "pitch": 0.1},
    "consequences.landing_attitude.landing_attitude": {
        "a": AIRPLANE, "flaps": [("before", Flap())], "kind": "tail-wheel", "angle": 0.2, "mass": 600.0,
        "wing_area": 13.0, "height_over_span": 0.15, "density": 1.2, "descent": 0.02, "cg": 0.3, "angle_within": 0.02,
    },
    "consequences.tail_authority.tail_authority": {
        "a": AIRPLANE, "flaps": [("before", Flap())], "mass": 600.0, "wing_area": 13.0, "cg": 0.3, "density": 1.2,
        "height_over_span": 0.15, "gear_alpha": 0.2, "tail_devices": (0.1, 0.3),
    },
    "consequences.maneuver.limit_load_speed": {"stall_speed": 22.0, "limit": 3.8},
    "consequences.maneuver.gust_load_factor": {"speed": 40.0, "gust": 7.6, "wing_loading": 450.0, "chord": 1.3,
                                                "slope": 4.7, "density": 1.2},
    "consequences.maneuver.maneuvering_diagram": {
        "mass": 600.0, "wing_area": 13.0, "clmax": 1.5, "clmin": -1.0, "limit": 3.8, "negative_limit": -1.52,
        "chord": 1.3, "slope": 4.7, "cruise_speed": 50.0, "dive_speed": 70.0, "flap_clmax": 1.9, "flap_speed": 36.0,
        "density": 1.225,
    },
    "consequences.operating_speeds.approach_speed": {"stall": 22.0, "uncertainty": 0.3, "tail": 23.0,
                                                     "tail_uncertainty": 0.4, "factor": 1.3, "gust": 2.0},
    "consequences.operating_speeds.speed_of_least_power": {"mass": 600.0, "wing_area": 13.0, "density": 1.2,
                                                           "zero_lift_drag": 0.04, "span_factor": 0.06},
    "consequences.trim.to_reference_cg": {"clmax": 1.5, "cg": 0.3, "reference": 0.25, "chord_over_arm": 0.3},
    "consequences.trim.trim_loss": {"a": AIRPLANE, "flap": Flap(), "wing_clmax": 1.5, "cg": 0.3,
                                    "chord_over_arm": 0.3},
}  # fmt: skip
CALLS["consequences.operating_speeds.operating_speeds"] = {
    "states": [State("before", 22.0, 0.3)], "mass": 600.0, "wing_area": 13.0, "span_factor": 0.06, "factor": 1.3,
    "limit": 3.8, "density": 1.2, "gust": 2.0,
}  # fmt: skip

SIGN = {  # a negative number means something
    "alpha", "cg", "camber", "crosswind", "deflection", "descent", "gear_alpha", "gradient", "gust", "headwind",
    "incidence", "lift", "lift_clean", "lift_coefficient", "main_height", "more_at_large_deflection", "nx",
    "nz", "other_height", "drag", "pressure_altitude", "pressure_difference", "reference", "sink_rate",
    "tail_above_wing", "thrust", "thrust_angle", "wind", "eye_above_cowl", "angle", "clmin", "negative_limit", "effect",
    "physics.tail.downwash_slope height_over_span", "consequences.landing_attitude.over_the_nose pitch",
}  # fmt: skip
# Out of ground effect; a wing without tip loss; a difference that no test can miss.
FREE_AIR = {("height_over_span", "infinite"), ("height_over_span", "absurd"), ("aspect_ratio", "infinite"),
            ("aspect_ratio", "absurd"), ("effect", "absurd")}  # fmt: skip
AIR = {"pressure_altitude", "temperature"}
UNKNOWN = {  # NaN is how these say 'not noted', and a gap of a recording goes through the atmosphere as a gap
    **dict.fromkeys(("atmosphere.standard_temperature", "atmosphere.pressure", "atmosphere.density",
                     "measured.airspeed.correction.equivalent_airspeed", "measured.airspeed.correction.true_airspeed",
                     "measured.airspeed.correction.calibrated_from_true"), AIR),
    "measured.stalls.reduction.reduce_stalls": {"pressure_altitude", "temperature", "entry_rate", "load_factor",
                                     "weight_uncertainty", "wing_area_uncertainty", "warning_ias", "buffet_ias"},
}  # fmt: skip
WITHOUT = {
    "takes arrays that an estimate has made and checked": (
        "physics.boundary_layer", "measured.airspeed.model", "measured.stalls.each",
        "measured.stalls.grouping", "measured.stalls.influence", "measured.stalls.mixed", "measured.stalls.montecarlo",
        "measured.stalls.parts",
        "measured.labels", "measured.stalls.advice", "measured.stalls.results",
        "measured.recording.signs", "measured.recording.times", "physics.lifting_line.step_circulation",
        "measured.stalls.loadfactor.load_factors", "measured.stalls.loadfactor.of_steady_flight",
        "predicted.devices.rule", "predicted.devices.layer.vanes_in_layer", "predicted.devices.stalling",
        "predicted.devices.wing",
        "predicted.section.neuralfoil", "predicted.layout.skin", "consequences.balance.limiting",
        "consequences.draws", "consequences.tail_authority",
        "predicted.flap.increment.share_at_stall", "predicted.flap.increment.effectiveness",
    ),
    "takes a record, a text or a table, which are checked where they are made": (
        "physics.panel", "physics.thin", "measured.airspeed.correction.indicated",
        "measured.airspeed.correction.correction_of", "measured.airspeed.correction.borrowed",
        "measured.airspeed.doubts", "measured.recording.channels", "measured.recording.ground",
        "measured.recording.stalls",
        "measured.comparison", "predicted.section.shapes", "predicted.layout.fitted",
        "predicted.wing.clmax", "predicted.flap.increment.kind_of",
        "predicted.flap.span", "predicted.devices.vanes", "predicted.devices.flow_control", "predicted.devices.sweep",
        "predicted.devices.kinds", "predicted.layout.row", "together", "consequences.trim.measured_at_reference_cg",
    ),
    "has a file of refusals of its own": ("measured.airspeed.calibration", "measured.airspeed.circle",
                                          "measured.checks", "predicted.layout.positions", "predicted.layout.guidance"),
}  # fmt: skip


def functions():
    """Every public function of the lower floors by 'module.name', the package's own name left out."""
    for room in ROOMS:
        package = importlib.import_module(f"aerolib.{room}")
        found = pkgutil.walk_packages(getattr(package, "__path__", []), f"{package.__name__}.")
        inside = [m.name.removeprefix("aerolib.") for m in found]
        for name in inside or [room]:
            module = importlib.import_module(f"aerolib.{name}")
            for n, f in vars(module).items():
                if inspect.isfunction(f) and not n.startswith("_") and f.__module__ == module.__name__:
                    yield f"{name}.{n}", f


FOUND = dict(functions())


def test_every_public_function_is_walked_or_says_why_not():
    reasons = [w for names in WITHOUT.values() for w in names]
    without = {n for n in FOUND if any(n == w or n.startswith(f"{w}.") for w in reasons)}
    assert set(FOUND) - set(CALLS) - without == set()
    assert set(CALLS) <= set(FOUND)
    assert [w for w in reasons if not any(n == w or n.startswith(f"{w}.") for n in FOUND)] == []


@pytest.mark.parametrize("name", CALLS)
def test_what_is_right_is_taken(name):
    FOUND[name](**CALLS[name])


def cases():
    for name, given in CALLS.items():
        for argument, value in given.items():
            pair = isinstance(value, tuple) and all(isinstance(x, float) for x in value)
            if not (isinstance(value, float) or pair):
                continue
            for kind, bad in BAD.items():
                if kind == "negative" and SIGN & {argument, f"{name} {argument}"} or (argument, kind) in FREE_AIR:
                    continue
                if kind == "NaN" and argument in UNKNOWN.get(name, ()):
                    continue
                yield pytest.param(name, argument, (bad, bad) if pair else bad, id=f"{name}-{argument}-{kind}")


@pytest.mark.parametrize("name, argument, bad", list(cases()))
def test_what_cannot_be_is_refused(name, argument, bad):
    with pytest.raises(ValueError) as caught:
        FOUND[name](**{**CALLS[name], argument: bad})
    said = str(caught.value).lower().replace("_", " ")
    assert argument.split("_")[0].lower() in said or argument.replace("_", " ") in said


@pytest.mark.parametrize("name, change", [
    ("consequences.tail_authority.tail_authority", {"tail_devices": (-5.0, -3.0)}),
    ("consequences.tail_authority.tail_authority", {"density": 12.25}),
    ("consequences.tail_authority.tail_authority", {"height_over_span": 0.02}),
    ("physics.ground_effect.lift_ratio", {"height_over_span": 0.02}),
    ("physics.ground_effect.downwash_ratio", {"height_over_span": 0.01}),
    ("consequences.maneuver.limit_load_speed", {"stall_speed": np.array([22.0, math.nan])}),
    ("predicted.flap.increment.flap_increment", {"clmax_clean": -5.0}),
])  # fmt: skip
def test_what_was_once_taken(name, change):
    """Below 0.03 spans the image lies inside the wing's own core; the forms end in numbers of no meaning."""
    with pytest.raises(ValueError, match=next(iter(change))):
        FOUND[name](**{**CALLS[name], **change})


@pytest.mark.parametrize("speed", [math.nan, -22.0, 0.0, math.inf])
def test_flow_control_wants_a_stall_speed(speed):
    with pytest.raises(ValueError, match="stall_speed"):
        CleanWing(None, {}, speed)
