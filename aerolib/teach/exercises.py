"""Exercises of the workbooks: numbers drawn from a seed, the answer by a plain formula, and the usual slips by theirs.

A teacher gets the key of a class from `answer_key(seed)`; no workbook holds it.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.units import KNOT, MILE, POUND

MPH = MILE / 3600.0  # [m/s]
NEAR = 0.015  # relative: what a pocket calculator and rounded numbers leave [-]
LARGEST_SEED = 999_999

Numbers = dict[str, float]
Formula = Callable[[Numbers], float]


@dataclass(frozen=True)
class Exercise:
    """One question; numbers are as printed, in the unit their name ends in."""

    key: str
    workbook: str
    asks: str  # with {name} for each number
    unit: str
    ranges: dict[str, tuple[float, float, float]]  # name -> lowest, highest, step
    right: Formula
    slips: dict[str, Formula]  # what happened -> what comes out
    method: str
    hint: str
    given: Callable[[Numbers], Numbers] | None = None  # numbers that follow from others, as printed

    def numbers(self, seed: int) -> Numbers:
        """The numbers of a class, drawn until right and every slip can be told apart."""
        r = np.random.default_rng([checked_seed(seed), zlib.crc32(self.key.encode())])
        for _ in range(1000):
            n = {k: round(low + step * int(r.integers(0, round((high - low) / step) + 1)), 6)
                 for k, (low, high, step) in self.ranges.items()}  # fmt: skip
            n |= self.given(n) if self.given else {}
            values = [self.right(n), *(f(n) for f in self.slips.values())]
            if all(abs(a / b - 1.0) > 2.5 * NEAR for k, a in enumerate(values) for b in values[:k]):
                return n
        raise ValueError(f"exercise {self.key}: its ranges leave no numbers at which every slip shows")

    def question(self, seed: int) -> str:
        """The question in HTML."""
        return self.asks.format(**{k: f"<b>{v:g}</b>" for k, v in self.numbers(seed).items()})


def checked_seed(seed: int) -> int:
    """A class number, or ValueError."""
    if isinstance(seed, bool) or int(seed) != seed or not 0 <= seed <= LARGEST_SEED:
        raise ValueError(f"class number {seed}: write a whole number from 0 to {LARGEST_SEED}")
    return int(seed)


def judge(given: float, right: float, slips: dict[str, float], hint: str, says: str = "") -> str:
    """Feedback on an answer: right, a slip by name, or a hint.

    Parameters
    ----------
    given, right : float [the unit of the question]
    slips : dict of float [the unit of the question]
        What happened -> what comes out.
    hint : str [-]
    says : str [-]
        The right answer in words; the number itself where empty.

    Returns
    -------
    str [-]
    """
    if abs(given / right - 1.0) <= NEAR:
        return f"Right: {says or f'exactly, {right:.4g}'}."
    for slip, value in slips.items():
        if value > 0 and abs(given / value - 1.0) <= NEAR:
            return f"Not yet. {given:g} is what comes out {slip}."
    side = "more" if given > right else "less"
    return f"Not yet: {given:g} is {side} than it should be. {hint}"


def _cl(n, v=None, mass=None, factor=None, half=0.5):
    v = n["cas_kt"] * KNOT if v is None else v
    mass = n["mass_kg"] if mass is None else mass
    return (n["load_factor"] if factor is None else factor) * mass * GRAVITY / (half * DENSITY_0 * v * v * n["area_m2"])


def _interpolated(n, needle):
    """Calibrated speed at a needle reading from the two points of the trap [kt]."""
    slope = (n["cas_fast_kt"] - n["cas_stall_kt"]) / (n["needle_fast_kt"] - n["needle_stall_kt"])
    return n["cas_stall_kt"] + slope * (needle - n["needle_stall_kt"])


EXERCISES: tuple[Exercise, ...] = (
    Exercise(
        "clmax", "01",
        "An airplane of {mass_kg} kg with {area_m2} m² of wing stalls at {needle_kt} kt indicated; calibrated "
        "that is "
        "{cas_kt} kt. The air's density is {density_kg_m3} kg/m³ that day, the load factor at the break "
        "{load_factor}. What was C<sub>L</sub>? (1 kt = 0.5144 m/s, g = 9.807 m/s², ρ₀ = 1.225 kg/m³)",
        "-",
        {"cas_kt": (40, 48, 0.5), "mass_kg": (560, 650, 5), "area_m2": (11, 13, 0.1), "load_factor": (0.86, 0.95, 0.01),
         "density_kg_m3": (1.02, 1.14, 0.01), "low_kt": (3, 5, 0.5)},
        _cl,
        {
            "with load factor 1 (the airplane was already falling)": lambda n: _cl(n, factor=1.0),
            "with the indicated speed instead of the calibrated one": lambda n: _cl(n, v=n["needle_kt"] * KNOT),
            "with the true airspeed instead of the calibrated one, and still ρ₀":
                lambda n: _cl(n, v=n["cas_kt"] * KNOT * math.sqrt(DENSITY_0 / n["density_kg_m3"])),
            "with knots taken for miles per hour": lambda n: _cl(n, v=n["cas_kt"] * MPH),
            "with knots left as they are": lambda n: _cl(n, v=n["cas_kt"]),
            "with the weight in kg instead of newtons": lambda n: _cl(n) / GRAVITY,
            "with kilograms taken for pounds": lambda n: _cl(n, mass=n["mass_kg"] * POUND),
            "without the half of ½ρV²": lambda n: _cl(n, half=1.0),
            "with the speed not squared": lambda n: _cl(n) * n["cas_kt"] * KNOT,
        },
        "C_L = n W / (½ ρ₀ V² S), V calibrated", "Turn everything into SI first: knots into m/s, then square.",
        lambda n: {"needle_kt": n["cas_kt"] - n["low_kt"]},
    ),
    Exercise(
        "weight", "01",
        "With {mass_1_kg} kg the 1-g stall speed is {stall_kt} kt calibrated. What is it with {mass_2_kg} kg, in "
        "knots?",
        "kt",
        {"mass_1_kg": (560, 650, 5), "mass_2_kg": (400, 490, 5), "stall_kt": (36, 52, 0.5)},
        lambda n: n["stall_kt"] * math.sqrt(n["mass_2_kg"] / n["mass_1_kg"]),
        {
            "without the square root": lambda n: n["stall_kt"] * n["mass_2_kg"] / n["mass_1_kg"],
            "with the two weights changed about": lambda n: n["stall_kt"] * math.sqrt(n["mass_1_kg"] / n["mass_2_kg"]),
            "with the stall speed left as it was": lambda n: n["stall_kt"],
        },
        "V₂ = V₁ √(W₂/W₁)", "Lift goes with the square of the speed, so the speed goes with the root of the weight.",
    ),
    Exercise(
        "change", "03",
        "Before the change the stall came at {needle_1_kt} kt indicated, calibrated {cas_1_kt} kt; after it "
        "{needle_2_kt} kt, calibrated {cas_2_kt} kt. Weight and load factor were the same. By what factor did "
        "C<sub>Lmax</sub> change?",
        "-",
        {"cas_1_kt": (44, 50, 0.5), "fall_kt": (2.5, 5, 0.5), "low_1_kt": (2, 3, 0.5), "low_2_kt": (4, 6, 0.5)},
        lambda n: (n["cas_1_kt"] / n["cas_2_kt"]) ** 2,
        {
            "with the indicated speeds: each state has its own error":
                lambda n: (n["needle_1_kt"] / n["needle_2_kt"]) ** 2,
            "with the speeds not squared": lambda n: n["cas_1_kt"] / n["cas_2_kt"],
            "with before and after changed about": lambda n: (n["cas_2_kt"] / n["cas_1_kt"]) ** 2,
        },
        "CLmax,2/CLmax,1 = (V₁/V₂)², both calibrated", "A slower stall is more lift: the factor is above 1.",
        lambda n: {"cas_2_kt": n["cas_1_kt"] - n["fall_kt"], "needle_1_kt": n["cas_1_kt"] - n["low_1_kt"],
                   "needle_2_kt": n["cas_1_kt"] - n["fall_kt"] - n["low_2_kt"]},
    ),
    Exercise(
        "slope", "06",
        "A wing has a span of {span_m} m and an area of {area_m2} m². What is its lift slope per radian by "
        "Helmbold's form "
        "a = 2πA/(2 + √(4 + A²))?",
        "1/rad",
        {"span_m": (7.5, 11, 0.1), "area_m2": (9, 14, 0.1)},
        lambda n: _helmbold(n["span_m"] ** 2 / n["area_m2"]),
        {
            "with the span not squared in A": lambda n: _helmbold(n["span_m"] / n["area_m2"]),
            "for a section, 2π: a wing has ends": lambda n: 2.0 * math.pi,
            "per degree; per radian was asked":
                lambda n: _helmbold(n["span_m"] ** 2 / n["area_m2"]) * math.pi / 180.0,
            "with A not squared under the root": lambda n: _helmbold(n["span_m"] ** 2 / n["area_m2"], 1),
        },
        "A = b²/S, a = 2πA/(2 + √(4 + A²))", "First A = b²/S; it lies between 5 and 12 here.",
    ),
    Exercise(
        "flap", "07",
        "A rectangular wing of {area_m2} m² and {chord_m} m chord has a flap on each side, from {inner_m} m to "
        "{outer_m} m "
        "out from the centerline. A book gives {section_gain} for what the flap adds to a section. What does it add "
        "to the "
        "wing, ΔC<sub>Lmax</sub> = 0.92 Δc<sub>lmax</sub> S<sub>f</sub>/S?",
        "-",
        {"area_m2": (10, 13, 0.1), "chord_m": (1.15, 1.4, 0.05), "inner_m": (0.4, 0.7, 0.05),
         "outer_m": (1.9, 2.6, 0.05), "section_gain": (0.8, 1.4, 0.1)},
        lambda n: 0.92 * n["section_gain"] * _flapped(n) / n["area_m2"],
        {
            "with the flap of one side only": lambda n: 0.46 * n["section_gain"] * _flapped(n) / n["area_m2"],
            "without the 0.92": lambda n: n["section_gain"] * _flapped(n) / n["area_m2"],
            "for the section: the flap stands on part of the wing only": lambda n: n["section_gain"],
            "with the flap starting at the centerline":
                lambda n: 0.92 * n["section_gain"] * 2.0 * n["outer_m"] * n["chord_m"] / n["area_m2"],
        },
        "ΔC_Lmax = 0.92 Δc_lmax S_f/S, S_f the wing area in the flap's span, both sides",
        "S_f is the area of wing with a flap behind it, left and right.",
    ),
    Exercise(
        "flap_stall", "07",
        "Clean, CLmax is {clmax} and the stall speed {stall_kt} kt calibrated. The flap adds {gain} to CLmax. What "
        "is the "
        "stall speed with the flap, in knots?",
        "kt",
        {"clmax": (1.3, 1.6, 0.05), "stall_kt": (42, 54, 0.5), "gain": (0.3, 0.7, 0.05)},
        lambda n: n["stall_kt"] * math.sqrt(n["clmax"] / (n["clmax"] + n["gain"])),
        {
            "without the square root": lambda n: n["stall_kt"] * n["clmax"] / (n["clmax"] + n["gain"]),
            "with the two coefficients changed about":
                lambda n: n["stall_kt"] * math.sqrt((n["clmax"] + n["gain"]) / n["clmax"]),
            "with the square instead of the root":
                lambda n: n["stall_kt"] * (n["clmax"] / (n["clmax"] + n["gain"])) ** 2,
        },
        "V₂ = V₁ √(C_L1/C_L2)", "More lift, slower stall: the answer is below the clean speed.",
    ),
    Exercise(
        "trap", "12",
        "The stall comes at {needle_stall_kt} kt indicated, calibrated {cas_stall_kt} kt; at {needle_fast_kt} kt "
        "indicated the calibrated speed is {cas_fast_kt} kt, with a straight line between. A pilot approaches at 1.3 "
        "times the "
        "stall's <i>indicated</i> speed. How many times the real, calibrated stall speed is that?",
        "-",
        {"cas_stall_kt": (37, 44, 0.5), "low_kt": (3.5, 5, 0.5), "needle_fast_kt": (60, 65, 1),
         "high_kt": (0.5, 1, 0.5)},
        lambda n: _interpolated(n, 1.3 * n["needle_stall_kt"]) / n["cas_stall_kt"],
        {
            "of the indicated speeds, at which nothing flies: both speeds have to be calibrated": lambda n: 1.3,
            "with the approach left as indicated": lambda n: 1.3 * n["needle_stall_kt"] / n["cas_stall_kt"],
            "with the stall left as indicated":
                lambda n: _interpolated(n, 1.3 * n["needle_stall_kt"]) / n["needle_stall_kt"],
            "in knots; the multiple of the stall speed was asked":
                lambda n: _interpolated(n, 1.3 * n["needle_stall_kt"]),
        },
        "indicated → calibrated for both speeds, then divide",
        "Find the calibrated speed of the approach on the straight line, then divide by the calibrated stall speed.",
        lambda n: {"needle_stall_kt": n["cas_stall_kt"] - n["low_kt"],
                   "cas_fast_kt": n["needle_fast_kt"] + n["high_kt"]},
    ),
    Exercise(
        "limit_load", "12",
        "Stall speeds at {mass_1_kg} kg, calibrated: {clean_kt} kt with flaps up, {landing_kt} kt with landing flap. "
        "The "
        "limit load factor is {limit}. Solo the airplane weighs {mass_2_kg} kg. Below which calibrated speed, in "
        "knots, can "
        "one full pull not exceed the limit load, solo?",
        "kt",
        {"mass_1_kg": (580, 650, 5), "mass_2_kg": (420, 490, 5), "clean_kt": (44, 52, 0.5), "flap_kt": (5, 8, 0.5),
         "limit": (3.8, 4.4, 0.6)},
        lambda n: n["clean_kt"] * math.sqrt(n["limit"] * n["mass_2_kg"] / n["mass_1_kg"]),
        {
            "at the full weight: solo is the low one": lambda n: n["clean_kt"] * math.sqrt(n["limit"]),
            "with the flaps down": lambda n: n["landing_kt"] * math.sqrt(n["limit"] * n["mass_2_kg"] / n["mass_1_kg"]),
            "without the square root of the load factor":
                lambda n: n["clean_kt"] * n["limit"] * math.sqrt(n["mass_2_kg"] / n["mass_1_kg"]),
            "without the square root of the weights":
                lambda n: n["clean_kt"] * math.sqrt(n["limit"]) * n["mass_2_kg"] / n["mass_1_kg"],
            "with load factor 1, which is the stall itself":
                lambda n: n["clean_kt"] * math.sqrt(n["mass_2_kg"] / n["mass_1_kg"]),
            "in miles per hour": lambda n: n["clean_kt"] * math.sqrt(n["limit"] * n["mass_2_kg"] / n["mass_1_kg"])
                * KNOT / MPH,
        },
        "V_O = V_S1g √n at the weight flown, flaps up", "First the stall speed at the solo weight, then the root of n.",
        lambda n: {"landing_kt": n["clean_kt"] - n["flap_kt"]},
    ),
    Exercise(
        "roll", "12",
        "The landing stall speed falls from {before_kt} to {after_kt} kt calibrated, and the approach is flown at "
        "the same "
        "factor. By how many percent does the landing roll get shorter, friction alone?",
        "%",
        {"before_kt": (40, 46, 0.5), "after_kt": (34, 38, 0.5)},
        lambda n: 100.0 * (1.0 - (n["after_kt"] / n["before_kt"]) ** 2),
        {
            "with the speed not squared": lambda n: 100.0 * (1.0 - n["after_kt"] / n["before_kt"]),
            "in percent of the shorter roll": lambda n: 100.0 * ((n["before_kt"] / n["after_kt"]) ** 2 - 1.0),
            "for what is left of the roll": lambda n: 100.0 * (n["after_kt"] / n["before_kt"]) ** 2,
        },
        "s₂/s₁ = (V₂/V₁)²", "The roll goes with the square of the speed.",
    ),
)  # fmt: skip


def _helmbold(aspect: float, power: int = 2) -> float:
    return 2.0 * math.pi * aspect / (2.0 + math.sqrt(4.0 + aspect**power))


def _flapped(n: Numbers) -> float:
    return 2.0 * (n["outer_m"] - n["inner_m"]) * n["chord_m"]


def exercises_of(workbook: str) -> list[Exercise]:
    """The exercises of a workbook, by the number its name begins with; ValueError names those that have any."""
    found = [e for e in EXERCISES if e.workbook == workbook]
    if not found:
        have = ", ".join(dict.fromkeys(e.workbook for e in EXERCISES))
        raise ValueError(f"workbook '{workbook}' has no exercises; those that have: {have}")
    return found


@dataclass(frozen=True)
class Answer:
    """What a teacher needs of one question."""

    exercise: Exercise
    numbers: Numbers
    right: float
    slips: dict[str, float]  # what happened -> what comes out

    def __str__(self) -> str:
        e = self.exercise
        lines = [f"{e.workbook} {e.key}: {self.right:.4g} {e.unit.replace('-', '')}".rstrip(), f"  {e.method}; with "]
        lines[1] += ", ".join(f"{k} {v:g}" for k, v in self.numbers.items())
        return "\n".join([*lines, *(f"    {v:.4g}: {k}" for k, v in self.slips.items())])


@dataclass(frozen=True)
class AnswerKey:
    """The answers of one class; printed, a list."""

    seed: int
    answers: tuple[Answer, ...]

    def __str__(self) -> str:
        head = f"answers for class number {self.seed}; {100 * NEAR:g} % either way counts as right"
        return "\n".join([head, *map(str, self.answers)])

    __repr__ = __str__


def answer_key(seed: int) -> AnswerKey:
    """The teacher's key of a class by the class number typed above the exercises [-]; ValueError where it is none."""
    drawn = [(e, e.numbers(seed)) for e in EXERCISES]
    answers = (Answer(e, n, e.right(n), {k: f(n) for k, f in e.slips.items()}) for e, n in drawn)
    return AnswerKey(checked_seed(seed), tuple(answers))
