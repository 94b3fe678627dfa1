"""A second invented case: a four-seat nose-wheel airplane, its pilot's cards, and the truth behind them.

    python data/nosewheel/make.py       writes the case into this folder, and its truth beside it

Nothing of the library is imported here: constants, formulae and error sizes are this file's own.
"""

from __future__ import annotations

import csv
import io
import json
import math
import random
from pathlib import Path

SEED = 4711
KT, LB, FT, G, RHO0 = 1852.0 / 3600.0, 0.45359237, 0.3048, 9.80665, 1.225
AVGAS = 0.72  # kg/l

# --- the invented airplane, as it truly is ---------------------------------------------------------
WING_AREA = 15.4  # m2
EMPTY, MAXIMUM = 655.0, 1090.0  # kg
CLMAX = {  # trimmed, idle, entry at 1 kt/s
    ("before", "clean"): 1.44, ("before", "flap 10"): 1.60, ("before", "flap 35"): 1.96,
    ("after", "clean"): 1.56, ("after", "flap 10"): 1.72, ("after", "flap 35"): 2.07,
}  # fmt: skip
AREA_ERROR, WEIGHING_ERROR = 0.008, 4.0  # relative, kg
SCALE_ERROR, READING_ERROR = 0.005, 0.5  # relative, kt
POSITION_TABLE = ((40.0, 44.0), (50.0, 52.5), (60.0, 61.5), (70.0, 70.5))  # needle, calibrated, kt
POSITION_WITHIN = {"before": 1.0, "after": 1.2}  # kt, nineteen times in twenty
DAY, LOADING_ERROR, FUEL_ERROR = 0.012, 4.0, 2.0  # relative in CL, kg, kg
N_ERROR, RATE_EFFECT = 0.008, 0.008

# flight: modification, crew and seats kg, litres at the start, cg m, pressure altitude ft, deg C, rate aimed at kt/s
FLIGHTS = {
    "B1": ("before", 88.0, 120.0, 0.94, 4000, 8, 1.0),
    "B2": ("before", 246.0, 90.0, 1.08, 3800, 11, 0.9),
    "A1": ("after", 86.0, 118.0, 0.94, 4200, 7, 1.1),
    "A2": ("after", 250.0, 92.0, 1.09, 3900, 13, 1.0),
}
CONFIGURATIONS = ("clean", "flap 10", "flap 35")
STALLS_EACH, LITRES_A_STALL = 4, 1.0

# --- legs flown with a receiver: one run of four in each state, on the headings of a square ------------
LEGS = {
    "before": (68.0, (14.0, 215.0), 3500, 9),
    "after": (66.0, (11.0, 160.0), 3500, 11),
}  # needle kt, wind kt and from
CHECKS = (  # quantity, power, unit, step, before, after
    ("speed at fixed rpm", "2350 rpm", "kt", 1.0, 108.0, 107.0),
    ("timed climb", "full", "ft/min", 10.0, 700.0, 695.0),
)


def calibrated(needle_kt):
    """Calibrated speed [kt] of a needle reading by the table, held flat outside it."""
    points = POSITION_TABLE
    if needle_kt <= points[0][0]:
        return needle_kt + points[0][1] - points[0][0]
    for (a, ca), (b, cb) in zip(points, points[1:]):
        if needle_kt <= b:
            return ca + (cb - ca) * (needle_kt - a) / (b - a)
    return needle_kt + points[-1][1] - points[-1][0]


def needle(calibrated_kt):
    """Needle reading [kt] of a calibrated speed, by bisection."""
    low, high = 0.0, 200.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if calibrated(middle) < calibrated_kt else (low, middle)
    return 0.5 * (low + high)


def draw(seed=SEED):
    """Rows of `stalls.csv`, the area the owner was told [m2], and the truth."""
    r = random.Random(seed)
    area_told = WING_AREA * (1.0 + r.gauss(0.0, AREA_ERROR))
    empty = EMPTY + r.gauss(0.0, WEIGHING_ERROR)
    scale = 1.0 + r.gauss(0.0, SCALE_ERROR)
    position = {(m, c): r.gauss(0.0, POSITION_WITHIN[m] / 1.96) for m in POSITION_WITHIN for c in CONFIGURATIONS}
    rows = []
    for flight, (modification, crew, litres, cg, altitude, celsius, aim) in FLIGHTS.items():
        day, loading = r.gauss(0.0, DAY), r.gauss(0.0, LOADING_ERROR)
        for configuration in CONFIGURATIONS:
            for _ in range(STALLS_EACH):
                litres -= LITRES_A_STALL
                weight = empty + crew + loading + litres * AVGAS + r.gauss(0.0, FUEL_ERROR)
                rate = min(max(r.gauss(aim, 0.25), 0.3), 2.0)
                cl = CLMAX[modification, configuration] * math.exp(day) * (1.0 + RATE_EFFECT * (rate - 1.0))
                n = 1.0 - 0.038 - 0.041 * rate + r.gauss(0.0, N_ERROR)
                cas = math.sqrt(2.0 * n * weight * G / (RHO0 * WING_AREA * cl)) / KT
                reading = round(needle(cas / scale - position[modification, configuration]) + r.gauss(0, READING_ERROR))
                rows.append({
                    "modification": modification, "configuration": configuration, "flight": flight,
                    "ias [kt]": str(reading), "speed_kind": "minimum", "ended": "break",
                    "warning_ias [kt]": str(reading + r.choice((5, 6, 7))),
                    "buffet_ias [kt]": str(reading + r.choice((2, 3))),
                    "pressure_altitude [ft]": str(altitude - r.choice((0, 100, 200))),
                    "temperature [deg C]": str(celsius), "crew [kg]": f"{crew:.0f}", "fuel [l]": f"{litres:.0f}",
                    "cg [m]": f"{cg:.2f}", "power": "idle", "entry_rate [kt/s]": f"{max(0.3, round(rate * 5) / 5):.1f}",
                    "height_lost [ft]": str(r.choice((180, 200, 250, 300))), "pilot": "Q", "remarks": "",
                })  # fmt: skip
    truth = {
        "note": "invented; read by tests only", "seed": seed, "wing_area_m2": WING_AREA,
        "reference_weight_kg": MAXIMUM,
        "clmax": [{"modification": m, "configuration": c, "clmax": v,
                   "stall_speed_1g_kt": math.sqrt(2 * MAXIMUM * G / (RHO0 * WING_AREA * v)) / KT}
                  for (m, c), v in CLMAX.items()],
    }  # fmt: skip
    return rows, area_told, truth


def draw_legs(seed=SEED):
    """Rows of `airspeed_legs.csv`: true airspeed on four headings plus the wind."""
    r, rows = random.Random(f"legs {seed}"), []
    for modification, (ias, (wind, from_), altitude, celsius) in LEGS.items():
        kelvin = celsius + 273.15
        pressure = (1.0 - 6.8756e-6 * altitude) ** 5.2559
        true = calibrated(ias) / math.sqrt(pressure * 288.15 / kelvin)
        east, north = -wind * math.sin(math.radians(from_)), -wind * math.cos(math.radians(from_))
        for heading in (20, 110, 200, 290):
            e = true * math.sin(math.radians(heading)) + east
            n = true * math.cos(math.radians(heading)) + north
            rows.append({
                "modification": modification, "configuration": "clean", "run": "1", "power": "level",
                "ias [kt]": f"{ias:.0f}", "ground_speed [kt]": f"{math.hypot(e, n) + r.gauss(0, 0.4):.0f}",
                "track [deg]": f"{math.degrees(math.atan2(e, n)) % 360:.0f}", "pressure_altitude [ft]": str(altitude),
                "temperature [deg C]": str(celsius), "weight [kg]": "860", "remarks": "invented",
            })  # fmt: skip
    return rows


def draw_checks(seed=SEED):
    """Rows of `checks.csv`."""
    r, rows = random.Random(f"checks {seed}"), []
    for quantity, power, unit, step, before, after in CHECKS:
        for flight, modification, true in (("B3", "before", before), ("B4", "before", before), ("A3", "after", after),
                                           ("A4", "after", after)):  # fmt: skip
            for _ in range(3):
                value = step * round(true * (1.0 + r.gauss(0.0, 0.01)) / step)
                rows.append({
                    "modification": modification, "configuration": "clean", "quantity": quantity,
                    "value": f"{value:.0f} {unit}", "weight [kg]": "950", "pressure_altitude [ft]": "3000",
                    "temperature [deg C]": "10", "power": power, "flight": flight, "remarks": "",
                })  # fmt: skip
    return rows


def csv_text(rows):
    """A table as text."""
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def aircraft_text(area_told):
    """`aircraft.toml` as text: what the invented owner measured and wrote down."""
    points = ", ".join(f'["{a:g} kt", "{b:g} kt"]' for a, b in POSITION_TABLE)
    position = "\n".join(
        f'[[indicator.position]]\nmodification = "{m}"\nconfiguration = "{c}"\npoints = [{points}]'
        f'\nwithin = "{w:g} kt"\norigin = "an earlier season, invented"\n'
        for m, w in POSITION_WITHIN.items() for c in CONFIGURATIONS
    )  # fmt: skip
    return f'''# INVENTED. No such airplane exists; every number here is made up by make.py in this folder.
format = 1
name = "Plover, an invented four-seat nose-wheel airplane"
invented = true

[wing]
area = "{area_told:.2f} m2"
area_within = "{2 * AREA_ERROR * area_told:.2f} m2"   # 19 times in 20
span = "10.4 m"
chord_root = "1.60 m"
chord_middle = "1.55 m"
chord_tip = "1.18 m"
incidence = "1.5 deg"
height = "0.75 m"
twist = "-2.5 deg"
sweep = "0 deg"
section = "NACA 2412"
surface = "metal"
flap_kind = "slotted"
flap_chord = "0.38 m"
flap_inner = "0.60 m"
flap_outer = "2.70 m"
aileron_inner = "2.75 m"
aileron_outer = "4.90 m"

[weights]
empty = "{EMPTY:.0f} kg"
empty_within = "{2 * WEIGHING_ERROR:.0f} kg"
maximum = "{MAXIMUM:.0f} kg"
reference = "{MAXIMUM:.0f} kg"
loading_within = "{2 * LOADING_ERROR:.0f} kg"
fuel_within = "{2 * FUEL_ERROR:.0f} kg"
fuel_density = "{AVGAS:g} kg/l"
empty_cg = "0.98 m"
cg_forward = "0.88 m"
cg_aft = "1.17 m"
mac_leading_edge = "0.62 m"
mac = "1.49 m"

[power]
thrust_angle = "0 deg"
propeller_diameter = "1.90 m"
rated_power = "119 kW"

[gear]
kind = "nose-wheel"
ground_angle = "0.5 deg"
ground_angle_loaded = "0 deg"
main_wheel_station = "1.45 m"
other_wheel_station = "-0.30 m"
main_wheel_diameter = "0.44 m"
wing_height = "2.05 m"
tail_strike_angle = "12.0 deg"

[tail]
kind = "conventional"
arm = "4.60 m"
area = "3.25 m2"
span = "3.40 m"
chord = "0.96 m"
elevator_chord = "0.40 m"
elevator_up = "27 deg"
elevator_down = "22 deg"
elevator_up_reached = "25 deg"
incidence = "-2.0 deg"
height = "0.30 m"

[[tail.seen]]
configuration = "clean"
cg = "0.98 m"
speed = "75 kt"
weight = "1000 kg"
elevator = "-2 deg"
elevator_within = "3 deg"

[fuselage]
length = "7.90 m"
width = "1.10 m"
height = "1.40 m"
eye_height = "1.90 m"
cowl_height = "1.55 m"
cowl_ahead = "1.90 m"

[limits]
load_factor = "3.8"
load_factor_negative = "-1.52"
cruise_speed = "115 kt"
dive_speed = "160 kt"
flap_speed = "85 kt"

[indicator]
scale_starts = "30 kt"
reading_within = "1.2 kt"
scale_within = "1 %"
static_source = "one port on the left side"
pitot_kind = "plain tube under the left wing, half-way out"
doors_and_windows = "closed"

{position}
[[configuration]]
name = "clean"
flap = "0 deg"

[[configuration]]
name = "flap 10"
flap = "10 deg"

[[configuration]]
name = "flap 35"
flap = "35 deg"

[[modification]]
name = "before"
description = "as built"

[[modification]]
name = "after"
description = "a row of invented vortex generators on the outer two thirds of each wing"

[[device]]
name = "vortex generators"
kind = "vane pair"
surface = "wing, upper side"
modification = "after"
height = "14 mm"
length = "40 mm"
chord_station = "10 %"
span_inner = "1.60 m"
span_outer = "4.90 m"
pitch = "85 mm"
angle = "16 deg"
'''


README = """# A nose-wheel four-seater: invented

Everything in this folder is made up by `make.py`: the airplane, its pilot and every number. No such airplane exists.

The Plover is a four-seat airplane on a nose wheel. What it adds to the demonstration: its tail meets the runway at 12
degrees of body angle, so the question of workbook 10 is a tail strike and not a three-point landing, and a trimmed
glide in which its owner noted the elevator teaches workbook 11. All else is there too: stalls before and after
vortex generators at three flap settings, four legs with a satellite receiver in each state, a few checks.
"""


def main(folder=Path(__file__).parent, seed=SEED):
    """Write the case and its truth."""
    rows, area_told, truth = draw(seed)
    for name, text in (
        ("stalls.csv", csv_text(rows)), ("airspeed_legs.csv", csv_text(draw_legs(seed))),
        ("checks.csv", csv_text(draw_checks(seed))), ("aircraft.toml", aircraft_text(area_told)),
        ("README.md", README), ("truth.json", json.dumps(truth, indent=1) + "\n"),
    ):  # fmt: skip
        (folder / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
