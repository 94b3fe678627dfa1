"""The demonstration's legs: two invented afternoons of flying against a satellite receiver, and their errors.

    python data/demo/make_legs.py       writes airspeed_legs.csv into this folder

The airspeed system is that of make.py, with the errors its card was drawn with; nothing of the library is imported.
"""

from __future__ import annotations

import importlib.util
import math
import random
from pathlib import Path

_SPEC = importlib.util.spec_from_file_location("demo_make", Path(__file__).with_name("make.py"))
make = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(make)

MULTIPLES = ((1.6, "level"), (1.3, "level"), (1.1, "idle"))  # of the stalling speed; and how it was flown
FLAP_LIMIT = 62.0  # kt, flaps down
HELD, NEEDLE, RECEIVER, TRACK = 0.6, 0.3, 0.2, 0.7  # kt of one leg, kt of a run, kt, deg: standard deviations
AFTERNOONS = {  # crew kg, litres, pressure altitude ft, deg C, wind kt, towards deg
    "before": (81.0, 55.0, 3500, 8.0, 11.0, 75.0),
    "after": (82.0, 60.0, 3500, 11.0, 16.0, 130.0),
}
GLIDE = math.radians(7.0)


def true_speed(calibrated_kt, altitude_ft, celsius):
    """True airspeed [kt]: by density, the compressibility of slow air left out."""
    pressure = 101325.0 * (1.0 - 0.0065 * altitude_ft * make.FT / 288.15) ** 5.25588
    density = pressure / (287.053 * (celsius + 273.15))
    return calibrated_kt * math.sqrt(make.RHO0 / density)


def draw_legs(seed=make.SEED):
    """Rows of `airspeed_legs.csv` (list of dict of text) for the card of one seed, from a stream of their own."""
    _, _, scale, position = make.shared_errors(random.Random(seed))
    r = random.Random(f"legs {seed}")
    rows = []
    for modification, (crew, litres, altitude, celsius, wind, towards) in AFTERNOONS.items():
        weight = make.EMPTY + crew + litres * make.AVGAS
        east, north = wind * math.sin(math.radians(towards)), wind * math.cos(math.radians(towards))
        for configuration in make.CONFIGURATIONS:
            state = (modification, configuration)
            reach = min(make.CLMAX[state], make.ELEVATOR_LIMIT.get(state, 99.0))
            stall = math.sqrt(2.0 * weight * make.G / (make.RHO0 * make.WING_AREA * reach)) / make.KT
            for run, (multiple, power) in enumerate(MULTIPLES, 1):
                aim = multiple * stall if configuration == "clean" else min(multiple * stall, FLAP_LIMIT)
                needle = round(make.needle(aim / scale - position[state]))
                run_off = r.gauss(0.0, NEEDLE)
                first = r.choice((20, 40, 60))
                for leg in range(4):
                    shown = needle + run_off + r.gauss(0.0, HELD)
                    v = true_speed(scale * (make.calibrated(shown) + position[state]), altitude, celsius)
                    sink = v * math.sin(GLIDE) if power == "idle" else 0.0
                    heading = math.radians(first + 90 * leg + r.gauss(0.0, 4.0))
                    level = math.sqrt(v * v - sink * sink)
                    x, y = level * math.sin(heading) + east, level * math.cos(heading) + north
                    track = math.degrees(math.atan2(x, y)) + r.gauss(0.0, TRACK)
                    sink_noted = round((sink * make.KT / make.FT * 60.0 + r.gauss(0.0, 30.0)) / 50) * 50 if sink else ""
                    rows.append({
                        "modification": modification, "configuration": configuration, "run": str(run), "power": power,
                        "ias [kt]": str(needle),
                        "ground_speed [kt]": f"{math.hypot(x, y) + r.gauss(0.0, RECEIVER):.0f}",
                        "track [deg]": f"{track % 360:.0f}", "sink_rate [ft/min]": str(sink_noted),
                        "pressure_altitude [ft]": str(altitude + r.choice((-50, 0, 50))),
                        "temperature [deg C]": f"{celsius:.0f}", "weight [lb]": f"{weight / make.LB:.0f}",
                        "remarks": "",
                    })  # fmt: skip
    return rows


def main(folder=Path(__file__).parent, seed=make.SEED):
    """Write the legs."""
    (folder / "airspeed_legs.csv").write_text(make.csv_text(draw_legs(seed)), encoding="utf-8")


if __name__ == "__main__":
    main()
