"""A small valid case as text, and ways to change one spot of it."""

from __future__ import annotations

AIRCRAFT = """\
format = 1
name = "Wren, invented for the tests"
invented = true

[wing]
area = "12 m2"

[weights]
empty = "400 kg"
maximum = "600 kg"
cg_forward = "0.40 m"
cg_aft = "0.60 m"

[indicator]
scale_starts = "35 kt"

[[indicator.position]]
modification = "before"
configuration = "clean"
points = [["40 kt", "42 kt"], ["60 kt", "61 kt"]]
within = "2 kt"

[[configuration]]
name = "clean"
flap = "0 deg"

[[configuration]]
name = "full flap"
flap = "35 deg"

[[modification]]
name = "before"

[[modification]]
name = "after"
"""

STALLS = """\
modification,configuration,flight,ias [kt],speed_kind,ended,pressure_altitude [ft],temperature [deg C],weight [kg],\
cg [m],power,entry_rate [kt/s],pilot,remarks,left_out
before,clean,1,44,minimum,break,3000,9,550,0.50,idle,1.0,P,,
before,clean,1,45.5,minimum,break,3000,9,548,0.50,idle,0.8,P,,
before,clean,2,43,minimum,break,3200,11,520,0.50,idle,1.2,P,,
before,clean,2,43.5,minimum,break,3200,11,518,0.50,idle,1.0,P,,
before,full flap,1,39,minimum,break,3000,9,546,0.50,idle,1.0,P,,
before,full flap,2,38,minimum,break,3200,11,516,0.50,idle,1.0,P,,
after,clean,3,41,minimum,break,3000,10,545,0.50,idle,1.0,P,,
after,clean,3,41.5,minimum,break,3000,10,543,0.50,idle,0.9,P,,
after,clean,4,41,minimum,break,3100,12,540,0.50,idle,1.1,P,,
after,full flap,4,36,minimum,break,3100,12,538,0.50,idle,1.0,P,,
"""

AIR, CARD = "aircraft.toml", "stalls.csv"
HEADER, FIRST = STALLS.split("\n")[:2]


def air(old, new):
    """The small case's aircraft.toml with one spot changed."""
    assert old in AIRCRAFT
    return {"aircraft": AIRCRAFT.replace(old, new, 1)}


def card(old, new, count=1):
    """The small case's stalls.csv with one spot changed."""
    assert old in STALLS
    return {"stalls": STALLS.replace(old, new, count)}


def cell(column, text):
    """The first stall with one cell replaced."""
    cells = FIRST.split(",")
    cells[HEADER.split(",").index(column)] = text
    return card(FIRST, ",".join(cells))


def rows(function):
    """Every row below the header changed."""
    head, *below = STALLS.strip().split("\n")
    return {"stalls": "\n".join([head, *map(function, below)]) + "\n"}
