"""The demonstration's recordings: two invented flights, one by a logger and one by a camera, and what was true.

    python data/demo/make_logs.py       writes the folder `logs` and logs_truth.json beside it

The airplane and its errors are those of make.py; nothing of the library is imported. A flight is drawn in tenths of a
second: speed falls in a straight line, rounds off at the stall, comes back while height is lost. The logger is tilted
by 1.5 degrees and its receiver is half a second late; the camera sees whole knots and 20-foot marks.
"""

from __future__ import annotations

import importlib.util
import json
import math
import random
from pathlib import Path

_SPEC = importlib.util.spec_from_file_location("demo_make", Path(__file__).with_name("make.py"))
make = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(make)

STEP = 0.1  # s
LOG_EVERY = 2  # steps: the logger writes five rows a second
CRUISE, GENTLE = 60.0, 2.2  # kt CAS; kt/s regained after the stall
TILT, LAG, RECEIVER_LAG = math.radians(1.5), 0.3, 0.5
NEEDLE_NOISE, G_NOISE, ANGLE_NOISE, RECEIVER_NOISE = 0.35, 0.015, 0.2, 0.12  # kt, g, deg, kt
WIND = (9.0, 120.0)  # kt, towards deg
STALL_ALPHA = math.radians(15.0)
# What is flown: heading deg, entry rate kt/s, bank deg, how it ends.
LOGGER = ((40, 0.9, 0, "stall"), (165, 1.1, 0, "stall"), (290, 0.8, 0, "stall"), (20, 1.0, 30, "turn"),
          (140, 0.7, 0, "power"), (140, 1.0, 0, "stall"))  # fmt: skip
CAMERA = ((210, 1.0, 0, "stall"), (210, 0.8, 0, "stall"), (30, 1.2, 0, "stall"), (30, 1.0, 0, "stall"))
FLIGHTS = {
    "sedge-b5-logger.csv": ("before", LOGGER, 82.0, 58.0, 3600.0, 8.0, 10 * 3600 + 41 * 60 + 12.0),
    "sedge-a5-camera.csv": ("after", CAMERA, 84.0, 62.0, 3700.0, 10.0, 95.0),
}  # modification, what is flown, crew kg, litres, pressure altitude ft, deg C, clock at the start s


def stall_speed(modification, weight, rate, r, n_rule):
    """Lowest calibrated speed [kt] of one stall with flaps up, as the card's are drawn, and its load factor."""
    cl = make.CLMAX[modification, "clean"] * (1.0 + make.RATE_EFFECT * (rate - 1.0))
    n = make.lowest_load_factor(rate) + n_rule + r.gauss(0.0, make.N_STALL_ERROR)
    return math.sqrt(2.0 * n * weight * make.G / (make.RHO0 * make.WING_AREA * cl)) / make.KT, n


def approach(low, rate, end):
    """Calibrated speeds [kt] from cruise to the lowest and back, at STEP, and the place of the lowest."""
    speeds, v, slope = [CRUISE] * 60, CRUISE, 0.0
    while v > low:
        # The last 1.2 knots are rounded off; the first two seconds too.
        aim = -rate * min(1.0, math.sqrt(max(v - low, 0.02) / 1.2))
        slope += (aim - slope) * min(1.0, STEP / 0.8)
        slope = max(slope, -math.sqrt(2.0 * 0.9 * max(v - low, 0.0)) - 0.02)
        v += slope * STEP
        speeds.append(v)
    bottom = len(speeds) - 1
    held = {"power": 80}.get(end, 0)
    speeds += [v] * held
    slope = 0.0
    while v < CRUISE - 0.05:
        aim = min(GENTLE if end != "power" else 0.9, 0.6 * (CRUISE - v) + 0.1)
        slope += (aim - slope) * min(1.0, STEP / 0.7)
        v += slope * STEP
        speeds.append(v)
    return speeds + [CRUISE] * 50, bottom


def fly(name, seed=make.SEED):
    """Time histories of one flight (dict of lists at STEP) and the truth of its approaches."""
    modification, flown, crew, litres, altitude, celsius, start = FLIGHTS[name]
    card = random.Random(seed)
    _, empty, scale, position = make.shared_errors(card)
    r = random.Random(f"logs {name} {seed}")
    n_rule = r.gauss(0.0, 0.5 * make.N_RULE_ERROR)
    weight = empty + crew + litres * make.AVGAS
    h = {k: [] for k in ("time", "cas", "needle", "height", "n", "gamma", "bank", "heading", "event")}
    truth, height, heading = [], altitude, math.radians(flown[0][0])
    for target, rate, bank, end in flown:
        way = (math.radians(target) - heading + math.pi) % (2.0 * math.pi) - math.pi
        for _ in range(int(abs(way) / math.radians(6.0) / STEP)):  # turned at cruise, never slow
            heading += math.copysign(math.radians(6.0) * STEP, way)
            _add(h, CRUISE, height, 1.04, 0.0, math.copysign(math.radians(18.0), way), heading)
        low, n_low = stall_speed(modification, weight, rate, r, n_rule)
        low *= math.sqrt(1.0 / math.cos(math.radians(bank)))
        if end == "power":
            low *= 1.06
        speeds, bottom = approach(low, rate, end)
        lost, first, back = 0.0, len(h["time"]), r.uniform(6.0, 9.0)  # s until the descent is stopped
        for k, v in enumerate(speeds):
            after = (k - bottom) * STEP
            angle = math.radians(bank) if 40 < k < bottom + 20 else 0.0
            level = 1.0 / math.cos(angle)
            down, n = (250.0 / 60.0 if 60 < k else 0.0), level * 0.985
            if end == "power":
                down = 0.0
            elif after > -4.0 and after <= 0.0:
                n = level * (n_low + (0.985 - n_low) * max(0.0, -after / 4.0))
            elif 0.0 < after < 1.0:
                n, down = level * (n_low - 0.33 * math.sin(math.pi * after)), 8.0 + 22.0 * after
            elif 1.0 <= after < back:
                share = (after - 1.0) / (back - 1.0)
                n, down = 0.95 + 0.25 * math.sin(math.pi * share), 30.0 * (1.0 - share)
            elif after >= back:
                n, down = 1.0, (-14.0 if height < altitude else 0.0)
            height -= down * STEP
            lost = max(lost, h["height"][first + bottom] - height) if after > 0 else 0.0
            heading += (make.G * math.tan(angle) / (v * make.KT)) * STEP
            gamma = -math.asin(max(-0.5, min(0.5, down * make.FT / (v * make.KT))))
            _add(h, v, height, n, gamma, angle, heading)
        shown = make.needle(low / scale - position[modification, "clean"])
        word = {"stall": "stall", "turn": "turn", "power": "no height lost"}[end]
        truth.append({"time_s": round(start + (first + bottom) * STEP, 1), "what": word, "needle_kt": round(shown, 3),
                      "cas_kt": round(low, 3), "entry_rate_kt_s": rate,
                      "heading_deg": round(math.degrees(heading) % 360), "height_lost_ft": round(lost),
                      "load_factor": round(n_low, 4)})  # fmt: skip
        h["event"].append((first + bottom, shown))
    h["time"] = [start + k * STEP for k in range(len(h["cas"]))]
    exact = [make.needle(v / scale - position[modification, "clean"]) for v in h["cas"]]
    late = exact[0]
    for v in exact:
        late += (v - late) * STEP / LAG
        h["needle"].append(late)
    return h, truth, weight, r


def _add(h, cas, height, n, gamma, bank, heading):
    for key, value in zip(("cas", "height", "n", "gamma", "bank", "heading"), (cas, height, n, gamma, bank, heading)):
        h[key].append(value)
    h["time"].append(0.0)


def clock(seconds):
    """hh:mm:ss.s."""
    minutes, s = divmod(round(seconds, 1), 60.0)
    return f"{int(minutes) // 60:02d}:{int(minutes) % 60:02d}:{s:04.1f}"


def logger_text(name, seed=make.SEED):
    """The CSV of the logger: a line of its own, a header of its own, one dropout while nothing happens."""
    h, truth, weight, r = fly(name, seed)
    altitude, celsius = FLIGHTS[name][4:6]
    pressure = 101325.0 * (1.0 - 0.0065 * altitude * make.FT / 288.15) ** 5.25588
    to_true = math.sqrt(make.RHO0 / (pressure / (287.053 * (celsius + 273.15))))
    wind = [WIND[0] * f(math.radians(WIND[1])) for f in (math.sin, math.cos)]
    lines = ["# INVENTED by make_logs.py: no such flight was flown", "UTC,AS,PA,NZ,NX,PITCH,ROLL,HDG,GS,TRK"]
    behind = round(RECEIVER_LAG / STEP)
    quiet = next(k for k, b in enumerate(h["bank"]) if b != 0.0)  # the first turn
    for k in range(0, len(h["time"]), LOG_EVERY):
        if quiet + 20 <= k < quiet + 90:  # a dropout of seven seconds
            continue
        v = h["cas"][k] * make.KT
        slope = (h["cas"][min(k + 5, len(h["cas"]) - 1)] - h["cas"][max(k - 5, 0)]) * make.KT
        alpha = STALL_ALPHA * h["n"][k] * weight / (0.5 * make.RHO0 * v * v * make.WING_AREA * 1.45 / make.G)
        forward = slope / make.G + math.sin(h["gamma"][k])
        up_b = h["n"][k] * math.cos(alpha) - forward * math.sin(alpha)
        fwd_b = h["n"][k] * math.sin(alpha) + forward * math.cos(alpha)
        up = up_b * math.cos(TILT) - fwd_b * math.sin(TILT) + r.gauss(0.0, G_NOISE)
        fwd = fwd_b * math.cos(TILT) + up_b * math.sin(TILT) + r.gauss(0.0, G_NOISE)
        pitch, roll = (math.degrees(x) + r.gauss(0.0, ANGLE_NOISE) for x in (alpha + h["gamma"][k], h["bank"][k]))
        p = max(k - behind, 0)
        over = h["cas"][p] * to_true * math.cos(h["gamma"][p])
        x, y = over * math.sin(h["heading"][p]) + wind[0], over * math.cos(h["heading"][p]) + wind[1]
        ground = math.hypot(x, y) + r.gauss(0.0, RECEIVER_NOISE)
        track = (math.degrees(math.atan2(x, y)) + r.gauss(0.0, 0.4)) % 360.0
        heading = (math.degrees(h["heading"][k]) + r.gauss(0.0, 0.7)) % 360.0
        lines.append(
            f"{clock(h['time'][k])},{h['needle'][k] + r.gauss(0.0, NEEDLE_NOISE):.1f},"
            f"{h['height'][k] + r.gauss(0.0, 2.0):.0f},{up:.3f},{fwd:.3f},"
            f"{pitch:.1f},{roll:.1f},{heading:.0f},{ground:.1f},{track:.1f}"
        )
    return "\n".join(lines) + "\n", truth


def camera_text(name, seed=make.SEED):
    """What was written down from the film: about a row a second, more of them near the stall, whole knots."""
    h, truth, _, r = fly(name, seed)
    words = {}
    for place, low in h["event"]:
        buffet = next(k for k in range(place, 0, -1) if h["needle"][k] > low + 2.0)
        words[buffet], words[place + 3] = "buffet", "break"
    lines = ["time,ias [kt],altitude [ft],event,remarks"]
    k, first = 0, True
    near = sorted(p for p, _ in h["event"])
    while k < len(h["time"]):
        word = next((words[i] for i in range(k - 5, k + 5) if i in words and abs(i - k) < 5), "")
        for i in [i for i in words if i <= k + 4]:
            del words[i]
        minutes, s = divmod(round(h["time"][k], 1), 60.0)
        remark = "invented: no such film was made" if first else ""
        lines.append(f"{int(minutes):02d}:{s:04.1f},{h['needle'][k] + r.gauss(0.0, 0.15):.0f},"
                     f"{20 * round(h['height'][k] / 20):.0f},{word},{remark}")  # fmt: skip
        first = False
        close = any(p - 60 < k < p + 60 for p in near)
        wait = r.choice((4, 5, 5, 6)) if close else r.choice((9, 10, 10, 11, 12))
        k += wait if word or close or h["cas"][k] != CRUISE else 40
    return "\n".join(lines) + "\n", truth


def main(folder=Path(__file__).parent, seed=make.SEED):
    """Write the recordings and their truth."""
    (folder / "logs").mkdir(exist_ok=True)
    truth = {"note": "invented; read by tests only"}
    for name, write in zip(FLIGHTS, (logger_text, camera_text)):
        text, truth[name] = write(name, seed)
        (folder / "logs" / name).write_text(text, encoding="utf-8")
    (folder / "logs_truth.json").write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
