"""The demonstration: an invented airplane, its invented pilot's card, and the truth behind both.

    python data/demo/make.py            writes the case into this folder, and its truth beside it

Nothing of the library is imported here: constants, formulae and error sizes are this file's own, so that
the reduction is tested against something it did not make. Every error is drawn afresh from the seed, the
shared ones (area, scales, indicator) included; days differ, and entry rate matters in a way the reduction
is not told.
"""

from __future__ import annotations

import csv
import io
import json
import math
import random
from pathlib import Path

SEED = 20260
KT = 1852.0 / 3600.0  # m/s
LB = 0.45359237  # kg
FT = 0.3048  # m
INCH = 0.0254  # m
G = 9.80665  # m/s2
RHO0 = 1.225  # kg/m3
AVGAS = 0.72  # kg/l

# --- the invented airplane, as it truly is ---------------------------------------------------------
WING_AREA = 10.6  # m2
EMPTY = 372.0  # kg
MAXIMUM = 620.0  # kg, also the reference weight
CLMAX = {  # trimmed, idle, entry at 1 kt/s
    ("before", "clean"): 1.42, ("before", "flap 20"): 1.68, ("before", "flap 38"): 1.86,
    ("after", "clean"): 1.58, ("after", "flap 20"): 1.84, ("after", "flap 38"): 2.03,
}  # fmt: skip
ELEVATOR_LIMIT = {("after", "flap 38"): 1.93}  # lift coefficient at full aft stick: below the wing's own
POWER_ON_EXTRA = 0.09  # what thrust and slipstream add to the apparent coefficient at 2200 rpm

# --- how wrong everything is: standard deviations, drawn once (shared), each flight, or each stall ----
AREA_ERROR, WEIGHING_ERROR = 0.01, 3.0  # relative, kg
SCALE_ERROR = 0.005  # relative, of the indicator
POSITION_TABLE = ((35.0, 38.0), (40.0, 42.4), (45.0, 46.8), (50.0, 51.2), (60.0, 60.6))  # needle, calibrated, kt
POSITION_WITHIN = {"before": 2.0, "after": 3.0}  # kt, nineteen times in twenty
LAG, LAG_ERROR = 0.3, 0.2  # s
IDLE_THRUST_ERROR = 0.012  # of the weight
N_RULE_ERROR = 0.017  # of the load factor at the lowest speed, shared by the whole card
DAY, LOADING_ERROR = 0.012, 3.0  # relative in CL, kg
N_STALL_ERROR, FUEL_ERROR, READING_ERROR, RATE_ERROR = 0.008, 2.0, 0.45, 0.2  # -, kg, kt, kt/s
RATE_EFFECT = 0.008  # of CLmax per kt/s: the reduction is not told

# flight: modification, crew kg, litres at the start, cg in, pressure altitude ft, deg C, rate aimed at kt/s
FLIGHTS = {
    "B1": ("before", 82.0, 70.0, 15.1, 3500, 9, 0.9),
    "B2": ("before", 163.0, 52.0, 15.6, 4000, 12, 1.1),
    "A1": ("after", 84.0, 68.0, 15.2, 3800, 7, 1.0),
    "A2": ("after", 161.0, 55.0, 15.5, 3500, 14, 0.8),
}
CONFIGURATIONS = ("clean", "flap 20", "flap 38")
STALLS_EACH = 4
LITRES_A_STALL = 0.8


# --- everything else that was compared: at one loading, on two more flights in each state --------------
# quantity, configuration, power, unit, read to, error of a reading, the owner's limit, truth before and after
CHECKS = (
    ("speed at fixed rpm", "clean", "2400 rpm", "kt", 1.0, 0.8, "3 kt", 96.0, 95.2),
    ("timed climb", "clean", "full", "ft/min", 10.0, 25.0, "100 ft/min", 640.0, 636.0),
    ("sink rate at idle", "clean", "idle", "ft/min", 10.0, 35.0, "", 720.0, 728.0),
    ("roll time", "flap 20", "idle", "s", 0.1, 0.15, "0.5 s", 2.9, 2.3),
    ("buffet speed", "clean", "idle", "kt", 1.0, 0.8, "", 46.0, 42.5),
)
CHECK_DAY = {  # standard deviation between days, of the value
    "speed at fixed rpm": 0.008, "timed climb": 0.03, "sink rate at idle": 0.025, "roll time": 0.02,
    "buffet speed": 0.01,
}  # fmt: skip
CHECKS_EACH = 4  # readings a flight
CHECK_FLIGHTS = {  # modification, weight kg, pressure altitude ft, deg C
    "B3": ("before", 552.0, 3000, 11), "B4": ("before", 548.0, 3000, 8),
    "A3": ("after", 555.0, 3000, 10), "A4": ("after", 547.0, 3000, 13),
}  # fmt: skip

# --- what was glued on, as measured afterwards: side, start, pitch, along the chord, height [mm], angle [deg], counts
FITTED = (("left", 591, 72.0, 151, 12.0, 16, 40, 3), ("right", 588, 71.9, 149.5, 12.1, 15, 39, 3))


def lowest_load_factor(rate):
    """Load factor at the lowest speed seen, by entry rate [kt/s]: this file's own rule."""
    return 1.0 - 0.038 - 0.041 * rate


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


def shared_errors(r):
    """Errors drawn once for a card: area told [m2], true empty weight [kg], indicator scale, position error [kt]."""
    area_told = WING_AREA * (1.0 + r.gauss(0.0, AREA_ERROR))
    empty_true = EMPTY + r.gauss(0.0, WEIGHING_ERROR)
    scale = 1.0 + r.gauss(0.0, SCALE_ERROR)
    position = {(m, c): r.gauss(0.0, POSITION_WITHIN[m] / 1.96) for m in POSITION_WITHIN for c in CONFIGURATIONS}
    return area_told, empty_true, scale, position


def draw(seed=SEED):
    """Rows of `stalls.csv` (list of dict of text) and the truth, for one seed."""
    r = random.Random(seed)
    area_told, empty_true, scale, position = shared_errors(r)
    lag = max(0.0, r.gauss(LAG, LAG_ERROR))
    idle_thrust = r.gauss(0.0, IDLE_THRUST_ERROR) * MAXIMUM * G
    n_rule = r.gauss(0.0, N_RULE_ERROR)
    rows = []
    for flight, (modification, crew, litres, cg, altitude, celsius, aim) in FLIGHTS.items():
        day = r.gauss(0.0, DAY)
        loading = r.gauss(0.0, LOADING_ERROR)
        plan = [(c, "idle") for c in CONFIGURATIONS for _ in range(STALLS_EACH)]
        if flight in ("B2", "A2"):
            plan += [("clean", "2200 rpm")] * 3
        for configuration, power in plan:
            litres -= LITRES_A_STALL
            state = (modification, configuration)
            weight = empty_true + crew + loading + litres * AVGAS + r.gauss(0.0, FUEL_ERROR)
            rate = min(max(r.gauss(aim, 0.25), 0.3), 2.0)
            cl = CLMAX[state] * math.exp(day) * (1.0 + RATE_EFFECT * (rate - 1.0))
            on_the_stop = power == "idle" and CLMAX[state] > ELEVATOR_LIMIT.get(state, 99.0)
            if power != "idle":
                cl += POWER_ON_EXTRA
            if on_the_stop:
                cl, n, kind, ended = (
                    ELEVATOR_LIMIT[state] * math.exp(day),
                    math.cos(math.radians(7.0)),
                    "steady",
                    "stop",
                )
            else:
                n = lowest_load_factor(rate) + n_rule + r.gauss(0.0, N_STALL_ERROR)
                kind, ended = "minimum", "break"
            thrust = idle_thrust if power == "idle" else 0.0
            lift = n * weight * G - thrust * math.sin(math.radians(15.0))
            cas = math.sqrt(2.0 * lift / (RHO0 * WING_AREA * cl)) / KT
            shown = needle(cas / scale - position[state])
            if kind == "minimum":
                shown += 0.2 * lag * rate
            reading = round(shown + r.gauss(0.0, READING_ERROR))
            noted_rate = max(0.3, round((rate + r.gauss(0.0, RATE_ERROR)) * 5) / 5)
            sink = round(math.sin(math.radians(7.0)) * cas * KT / FT * 60.0 / 50.0) * 50 if on_the_stop else ""
            rows.append({
                "modification": modification, "configuration": configuration, "flight": flight,
                "ias [kt]": str(reading) if reading >= 35 else "<35", "speed_kind": kind, "ended": ended,
                "warning_ias [kt]": str(reading + r.choice((4, 5, 5, 6))) if configuration == "clean" else "",
                "buffet_ias [kt]": str(max(35, reading + r.choice((1, 2, 2, 3)))),
                "pressure_altitude [ft]": str(altitude - r.choice((0, 100, 200))), "temperature [deg C]": str(celsius),
                "crew [lb]": f"{crew / LB:.0f}", "fuel [l]": f"{litres:.0f}", "cg [in]": f"{cg:.1f}", "power": power,
                "entry_rate [kt/s]": "" if on_the_stop else f"{noted_rate:.1f}", "sink_rate [ft/min]": str(sink),
                "height_lost [ft]": str(r.choice((120, 150, 180, 200, 250))), "pilot": "P",
                "remarks": "", "left_out": "",
            })  # fmt: skip
    _oddities(rows, r)
    truth = {
        "note": "invented; read by tests only",
        "seed": seed, "wing_area_m2": WING_AREA, "reference_weight_kg": MAXIMUM,
        "clmax": [
            {"modification": m, "configuration": c, "clmax": v,
             "stall_speed_1g_kt": math.sqrt(2 * MAXIMUM * G / (RHO0 * WING_AREA * v)) / KT,
             "reachable": min(v, ELEVATOR_LIMIT.get((m, c), 99.0))}
            for (m, c), v in CLMAX.items()
        ],
    }  # fmt: skip
    return rows, area_told, truth


def _oddities(rows, r):
    """What real cards hold: an early recovery, a row on the wrong scale, a blank rate."""
    first = next(i for i, row in enumerate(rows) if row["flight"] == "B1" and row["configuration"] == "flap 20")
    early = dict(rows[first + 1])
    buffet = str(int(early["ias [kt]"].strip("<")) + 4)
    early.update({"ias [kt]": buffet, "buffet_ias [kt]": buffet, "ended": "early",
                  "remarks": "recovered at the first buffet"})  # fmt: skip
    rows.insert(first, early)
    wrong = dict(rows[2])
    in_mph = round(int(wrong["ias [kt]"].strip("<")) * 1852.0 / 1609.344)
    wrong.update({"ias [kt]": str(in_mph), "remarks": "inner ring of the dial", "left_out": "read on the mph ring"})
    rows.insert(3, wrong)
    rows[7]["entry_rate [kt/s]"] = ""


def draw_checks(seed=SEED):
    """Rows of `checks.csv` (list of dict of text) and the truth, from a stream of its own."""
    r = random.Random(f"checks {seed}")
    rows, truth = [], []
    for quantity, configuration, power, unit, step, reading, limit, before, after in CHECKS:
        truth.append({"quantity": quantity, "configuration": configuration, "power": power, "unit": unit,
                      "before": before, "after": after})  # fmt: skip
        for flight, (modification, weight, altitude, celsius) in CHECK_FLIGHTS.items():
            true = (before if modification == "before" else after) * (1.0 + r.gauss(0.0, CHECK_DAY[quantity]))
            for _ in range(CHECKS_EACH):
                value = step * round((true + r.gauss(0.0, reading)) / step)
                rows.append({
                    "modification": modification, "configuration": configuration, "quantity": quantity,
                    "value": f"{value:.{0 if step >= 1 else 1}f} {unit}", "no_worse_than": limit,
                    "weight [lb]": f"{weight / LB:.0f}", "pressure_altitude [ft]": str(altitude),
                    "temperature [deg C]": str(celsius), "power": power, "flight": flight, "remarks": "",
                })  # fmt: skip
    return rows, truth


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
        f'\nwithin = "{POSITION_WITHIN[m]:g} kt"\norigin = "{origin}"\n'
        for m, origin in (("before", "GPS legs of an earlier season, invented"),
                          ("after", "as before; not repeated since the change, so wider"))
        for c in CONFIGURATIONS
    )  # fmt: skip
    fitted = "\n".join(
        f'[[modification.fitted]]\ndevice = "vortex generators"\nside = "{side}"\nstart = "{start} mm"'
        f'\npitch = "{pitch} mm"'
        f'\nchord_distance = "{behind} mm"\nheight = "{height} mm"\nangle = "{angle} deg"\ncount = {count}'
        f"\nspares = {spares}"
        '\nmass_each = "0.0042 kg"\ndate = "an invented day"\nadhesive = "invented two-part epoxy"\nbatch = "invented"'
        '\nfitted_by = "the invented owner"\ninspected_by = "an invented inspector"\n'
        for side, start, pitch, behind, height, angle, count, spares in FITTED
    )
    return f'''# INVENTED. No such airplane exists; every number here is made up by make.py in this folder.
format = 1
name = "Sedge, an invented two-seat tail-wheel airplane"
invented = true

[wing]
area = "{area_told:.2f} m2"          # by stations with a tape
area_within = "{2 * AREA_ERROR * area_told:.2f} m2"   # 19 times in 20
span = "8.6 m"
chord_root = "1.26 m"
chord_middle = "1.26 m"
chord_tip = "1.18 m"
incidence = "2.5 deg"
height = "0.45 m"
twist = "-1 deg"
sweep = "0 deg"
section = "NACA 4412"
surface = "fabric"
flap_kind = "slotted"
flap_chord = "0.29 m"
flap_inner = "0.55 m"
flap_outer = "2.35 m"
aileron_inner = "2.40 m"
aileron_outer = "4.10 m"

[weights]
empty = "{EMPTY / LB:.0f} lb"
empty_within = "{2 * WEIGHING_ERROR:.0f} kg"
maximum = "{MAXIMUM:.0f} kg"
reference = "{MAXIMUM:.0f} kg"
loading_within = "{2 * LOADING_ERROR:.0f} kg"
fuel_within = "{2 * FUEL_ERROR:.0f} kg"
fuel_density = "{AVGAS:g} kg/l"
empty_cg = "13.6 in"
cg_forward = "13.2 in"
cg_aft = "18.4 in"
mac_leading_edge = "4.0 in"
mac = "1.24 m"

[power]
thrust_angle = "0 deg"
propeller_diameter = "1.76 m"
rated_power = "75 kW"

[gear]
kind = "tail-wheel"
ground_angle = "12.5 deg"
ground_angle_loaded = "11.6 deg"
main_wheel_station = "0.02 m"
other_wheel_station = "4.45 m"
main_wheel_diameter = "0.46 m"
wing_height = "1.80 m"

[tail]
kind = "conventional"
arm = "3.95 m"
area = "2.05 m2"
span = "2.75 m"
chord = "0.76 m"
elevator_chord = "0.33 m"
elevator_up = "26 deg"
elevator_down = "20 deg"
elevator_up_reached = "18 deg"
incidence = "-1.0 deg"
height = "0.15 m"

[fuselage]
length = "6.10 m"
width = "1.02 m"
height = "1.22 m"
eye_height = "1.70 m"
cowl_height = "1.58 m"
cowl_ahead = "1.75 m"

[limits]
load_factor = "3.8"
load_factor_negative = "-1.52"
cruise_speed = "96 kt"
dive_speed = "135 kt"
flap_speed = "72 kt"

[indicator]
scale_starts = "35 kt"
reading_within = "1.2 kt"
scale_within = "1 %"
static_source = "one port on the left side"
pitot_kind = "plain tube under the left wing, half-way out"
doors_and_windows = "closed"
leak = "0.5 kt"

{position}
[[configuration]]
name = "clean"
flap = "0 deg"
stated_stall_speed = "48 kt"
stated_weight = "{MAXIMUM:.0f} kg"
stated_airspeed = "CAS"
stated_definition = "minimum"
stated_source = "invented handbook page"

[[configuration]]
name = "flap 20"
flap = "20 deg"

[[configuration]]
name = "flap 38"
flap = "38 deg"
stated_stall_speed = "42 kt"
stated_weight = "{MAXIMUM:.0f} kg"
stated_airspeed = "CAS"
stated_definition = "minimum"
stated_source = "invented handbook page"

[[modification]]
name = "before"
description = "as built"

[[modification]]
name = "after"
description = "a row of invented vortex generators on the outer three quarters of each wing"

{fitted}
[[device]]
name = "vortex generators"
kind = "vane pair"
surface = "wing, upper side"
modification = "after"
height = "12 mm"
length = "36 mm"
chord_station = "12 %"
span_inner = "1.10 m"
span_outer = "4.10 m"
pitch = "72 mm"
angle = "16 deg"

[layout]
datum = "0.51 m"
rear_line = "stitching of the main spar"
rear_line_inner = "0.33 m"
rear_line_outer = "0.31 m"
missing_limit = 2
missing_limit_by = "an invented inspector"

[[keep_out]]
name = "fuel cap"
surface = "wing, upper side"
inner = "1.30 m"
outer = "1.42 m"
front = "8 %"
back = "30 %"
clearance = "10 mm"

[[keep_out]]
name = "fuel vent"
surface = "wing, upper side"
side = "right"
inner = "2.150 m"
outer = "2.160 m"
front = "10 %"
back = "15 %"

[[keep_out]]
name = "stall warning vane"
surface = "wing, upper side"
side = "left"
inner = "2.90 m"
outer = "2.98 m"
front = "0 %"
back = "4 %"

[[log]]
file = "sedge-b5-logger.csv"
modification = "before"
configuration = "clean"
flight = "B5"
power = "idle"
pilot = "P"
crew = "82 kg"
fuel = "58 l"
temperature = "8 deg C"
mounting_angle = "1.5 deg"
mounting_angle_within = "1 deg"

[log.columns]
time = "UTC"
ias = "AS [kt]"
altitude = "PA [ft]"
normal_g = "NZ"
forward_g = "NX"
pitch = "PITCH [deg]"
bank = "ROLL [deg]"
heading = "HDG [deg]"
ground_speed = "GS [kt]"
track = "TRK [deg]"

[[log]]
file = "sedge-a5-camera.csv"
format = "panel"
modification = "after"
configuration = "clean"
flight = "A5"
power = "idle"
pilot = "P"
crew = "84 kg"
fuel = "62 l"
temperature = "10 deg C"
'''


README = """# The demonstration: invented

Everything in this folder is made up by `make.py`: the airplane, its pilot and every stall. No such airplane
exists. It is read-only; `aerolib new FOLDER` starts a case of your own, and the workbook's 'save as' copies this one.

The Sedge is a light two-seat tail-wheel airplane with slotted flaps. Its owner flew two flights before and two
after gluing on a row of vortex generators: four stalls a flight with flaps up, at 20 and at 38 degrees, and three
with power. The airspeed indicator reads low near the stall and its scale starts at 35 kt. After the change, with
full flap, the stick reaches its stop before the wing stalls. One row was read on the wrong ring of the
dial; its owner left it out and said why.

`airspeed_legs.csv` (by `make_legs.py`) is an afternoon with a satellite receiver in each state: three runs of four
legs at each flap setting, the slowest a glide at 1.1 times the stall. What it says takes the place of the table of an
earlier season in `aircraft.toml`.

`logs` holds two recordings (by `make_logs.py`): flight B5 by a logger, with a turn and a slow flight among its stalls,
and flight A5 as it was written down from a film of the panel. Workbook 05 finds their stalls; none is in `stalls.csv`.

`tufts.csv` (by `make_tufts.py`) is what a film of tufts showed with flaps up, before and after: the speed, and the line
behind which the flow had separated. The inner wing goes first, beside the fuselage.

`checks.csv` holds what else was compared, on two more flights in each state at one loading: speed at fixed rpm,
climb, sink rate, roll time and the speed at which the buffet begins.
"""


def main(folder=Path(__file__).parent, seed=SEED):
    """Write the case and its truth."""
    rows, area_told, truth = draw(seed)
    checks, truth["checks"] = draw_checks(seed)
    (folder / "checks.csv").write_text(csv_text(checks), encoding="utf-8")
    (folder / "stalls.csv").write_text(csv_text(rows), encoding="utf-8")
    (folder / "aircraft.toml").write_text(aircraft_text(area_told), encoding="utf-8")
    (folder / "README.md").write_text(README, encoding="utf-8")
    (folder / "truth.json").write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
