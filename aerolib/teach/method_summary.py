"""The methods of the workbooks on a page to print: what is asked, the hand formula, its limits, its source."""

from __future__ import annotations

from dataclasses import dataclass

from aerolib.show.finding import Column, Table
from aerolib.show.render import listed, table_html, tag
from aerolib.teach.exercises import EXERCISES

NAME = "methods-by-hand.html"


@dataclass(frozen=True)
class Method:
    """One estimate in a line of each."""

    workbook: str
    asks: str
    formula: str
    limits: str
    source: str


METHODS = (
    Method("01", "How much does the wing lift before it stalls?", "C_L = n W / (½ ρ₀ V² S), V calibrated",
           "idle; n is below 1 at the lowest speed; the entry no faster than 1 kt/s",
           "14 CFR 25.103 (load factor in the coefficient), 14 CFR 23.201 before amendment 64 (entry rate)"),
    Method("01", "And at another weight?", "V₂ = V₁ √(W₂/W₁)", "the same CLmax: no other CG, no other flap",
           "FAA AC 23-8C (from memory)"),
    Method("03", "Did the change help?", "CLmax,2/CLmax,1 = (V₁/V₂)² at one weight",
           "both speeds calibrated in their own state; days differ, so fly each state on several",
           "JCGM 100:2008 for the uncertainty"),
    Method("04", "What does the airspeed indicator leave out?",
           "legs at one reading, three directions: ground velocities lie on a circle, its radius the true airspeed",
           "steady air, one height and place for the legs of a run",
           "D. Gray (1998); SFTE Reference Handbook 2013 ch. 4"),
    Method("06", "What should the wing give?", "CLmax ≈ 0.9 c_lmax;  a = 2πA/(2 + √(4 + A²)), A = b²/S",
           "unswept, A above 4; no slipstream",
           "Helmbold's form; 0.9 is common practice, no source"),
    Method("07", "What does a flap add?", "ΔCLmax = 0.92 Δc_lmax S_f/S",
           "a flap fully down, a section of medium thickness",
           "table 3.1 in Arnedo, Fundamentals of Aerospace Engineering"),
    Method("12", "How fast is the approach?",
           "V = 1.3 (V_S1g + 1.645 u) calibrated, then to the dial; + half the gusts",
           "never below 1.3 times what the tail can hold; not the rule's V_REF, which takes the minimum speed V_S0; no "
           "indicated speed where it was not calibrated",
           "14 CFR 23.73 before amendment 64 (from memory); H. Andersen, Flight Theory PPL(A), 2025, p. 523"),
    Method("12", "How long is the roll?", "s = m V²/(2 [D + μ(W - L)]), D and L at 0.7 V;  s₂/s₁ = (V₂/V₁)²",
           "friction is known to a factor of two: read the ratio first",
           "Anderson, Aircraft Performance and Design (from memory)"),
    Method("12", "Below which speed can one full pull not break the limit?",
           "V_O = V_S1g √n at the weight flown, flaps up: the operating maneuvering speed",
           "one control, one way, once; falls when CLmax rises and when the airplane is light; V_A in the approved "
           "data and its placard stay",
           "14 CFR 23.1507 and 23.335(c), where V_A is a design minimum, before amendment 64 (from memory); 25.335(c) "
           "has the same form"),
)  # fmt: skip

SLIPS = (
    "miles per hour for knots (15 %), kilograms or pounds for newtons",
    "true airspeed where calibrated belongs, with the density of sea level",
    "the indicated speed where calibrated belongs: near the stall it may read several knots low",
    "the square of the speed forgotten, or the root when going back",
    "load factor 1 at the lowest speed: CLmax reads 13 % high at 0.75 to 1.5 kt/s (virtual flights)",
)
CAUTIONS = (
    "Stalls need height, an airplane inside its weight and balance limits, and a licensed instructor consulted first.",
    "A recovery shown before a change of wing or tail is no evidence after it; nothing here plans a spin.",
    "Placards, markings, approach speeds and limits are not changed from these sums. Local rules and licensed practice "
    "decide.",
)
STYLE = (
    "body{font-family:sans-serif;font-size:10.5pt;max-width:180mm;margin:10mm auto}table{border-collapse:collapse;"
    "width:100%}td,th{border:1px solid #777;padding:4px;vertical-align:top;text-align:left}td:nth-child(3)"
    "{font-family:serif;font-size:12pt}tr{break-inside:avoid}@page{size:A4;margin:12mm}"
)


def method_summary() -> bytes:
    """The page: self-contained HTML in UTF-8, A4 when printed."""
    heads = ("workbook", "asked", "by hand", "where it holds", "source")
    rows = tuple((m.workbook, m.asks, m.formula, m.limits, m.source) for m in METHODS)
    units = (
        "Everything in SI first: 1 kt = 0.5144 m/s, 1 mph = 0.4470 m/s, 1 lb = 0.4536 kg, W = m g with "
        "g = 9.807 m/s², ρ₀ = 1.225 kg/m³. Questions with checked answers are in workbooks "
    )
    asked = ", ".join(dict.fromkeys(e.workbook for e in EXERCISES))
    body = (
        tag("h1", "The methods by hand") + tag("p", f"{units}{asked}.")
        + table_html(Table(tuple(map(Column, heads)), rows))
        + tag("h2", "The usual slips") + listed(SLIPS) + tag("h2", "Cautions") + listed(CAUTIONS)
    )  # fmt: skip
    head = f"<meta charset='utf-8'><title>The methods by hand</title><style>{STYLE}</style>"
    return f"<!DOCTYPE html><html lang='en'><head>{head}</head>{tag('body', body)}</html>".encode()
