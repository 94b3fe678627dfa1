"""What the pages of the measuring sheet share: paper, frame, the table to fill in, and what it asks for."""

from __future__ import annotations

import numpy as np

from aerolib.show.print.drawings import INK

A4 = (210.0, 297.0)  # [mm]
LEFT, RIGHT, BOTTOM, TOP = 8.0, 202.0, 17.0, 280.0  # inside 195 x 265 mm, so that Letter paper holds it too
PAGES = 4
DASHES, CENTER_LINE = (0, (4, 2)), (0, (9, 2, 1.5, 2))
HEAD = ("", "what", "how to measure it", "value", "unit", "within\n(95 %)", "key in aircraft.toml")
WIDTHS = (7.0, 33.0, 69.0, 19.0, 12.0, 17.0, 37.0)
CAUTION = (
    "Chock the wheels. Support the airplane only at its jacking points, and with a licensed inspector's advice; "
    "nobody under it. Weighing and control travels measured here do not replace the approved records."
)
WITHIN = (
    "Within (95 %): nineteen times in twenty the true value is that close. The figure printed is typical for a tape "
    "or digital level; strike it out and write yours."
)
# Invented wing of the worked line: distance from the centerline and chord [m].
AREA_EXAMPLE = ((0.0, 1.50), (2.40, 1.50), (4.80, 1.10), (4.95, 0.76), (5.00, 0.0))
# Invented weighing: wheel, net weight [kg], station [m].
WEIGHING_EXAMPLE = (("left", 189.0, 0.30), ("right", 187.0, 0.30), ("tail", 24.0, 4.80))

# What each page asks for: letter | what | within (95 %), typical | key; then how to measure it.
WING_ROWS = """
A | span | ± 10 mm | [wing] span
    Plumb line from each tip to the floor, tape between the marks. The fuselage counts.
B | chord at the root | ± 5 mm | [wing] chord_root
    At the side of the fuselage, front to back, parallel to the centerline. All surfaces neutral, flaps up.
C | chord half-way out | ± 5 mm | [wing] chord_middle
    At a quarter of the span from the centerline.
D | chord at the tip | ± 5 mm | [wing] chord_tip
    Just before the tip rounds off.
E | flap: inner and outer end | ± 10 mm | [wing] flap_inner / [wing] flap_outer
    From the centerline, along the span. Write both.
F | aileron: inner and outer end | ± 10 mm | [wing] aileron_inner / [wing] aileron_outer
    From the centerline, along the span. Write both.
G | flap chord | ± 5 mm | [wing] flap_chord
    Hinge line to trailing edge.
H | area from stations | ± 1 % | [wing] area / [wing] area_within
    The table below: twice the sum of its strips. Within: area_within.
"""

SIDE_ROWS = """
A | leveling line | - | name it in README.md
    A part that shows level: longeron, door sill, floor. Name it. Every angle is taken from it.
B | wing incidence | ± 0.3° | [wing] incidence
    Template and straightedge along the chord line at the root; level on it, minus level on the datum.
- | twist of the wing | ± 0.3° | [wing] twist
    The same at the tip, minus the root. Less incidence at the tip is negative.
C | ground angle, loaded | ± 0.5° | [gear] ground_angle_loaded
    Standing on its wheels: level on the datum, minus the slope of the floor.
D | ground angle, gear extended | ± 0.5° | [gear] ground_angle
    Airplane lifted on its jacking points until the wheels only touch; measure as C.
E | eye height | ± 30 mm | [fuselage] eye_height
    Pilot seated, airplane standing: eye to ground, straight down.
- | top of the nose, and ahead | ± 30 mm | [fuselage] cowl_height / cowl_ahead
    Standing: its highest part that hides the runway, above the ground; and how far ahead of the eye.
F | tail arm | ± 20 mm | [tail] arm
    Quarter chord of the wing to quarter chord of the tailplane, along the datum. Plumb lines, airplane level.
G | height of the wing | ± 20 mm | [gear] wing_height
    Quarter chord at the root to the ground, standing.
- | wing above the leveling line | ± 20 mm | [wing] height
    Quarter chord at the root above the leveling line (below is minus), airplane level.
H | thrust line | ± 0.5° | [power] thrust_angle
    Level on the flat of the propeller hub gives the hub's lean; its axis is square to that. Minus the datum.
- | tail strike (nose wheel) | ± 0.5° | [gear] tail_strike_angle
    Tail held down until it touches: level on the datum, minus the floor.
"""

CONTROL_ROWS = """
A | tail span | ± 10 mm | [tail] span
    Tip to tip; tape straight across, above the fin's foot or below.
B | tail chord | ± 5 mm | [tail] chord
    Leading edge to trailing edge, half-way out, elevator neutral.
- | tail area | ± 2 % | [tail] area
    Tailplane with elevator, by stations as the wing.
C | elevator chord | ± 5 mm | [tail] elevator_chord
    Hinge line to trailing edge, half-way out.
D | elevator, up stop | ± 0.5° | [tail] elevator_up
    Protractor at the hinge, or digital level zeroed with the elevator neutral. A travel: no sign.
- | elevator up, as flown | ± 1° | [tail] elevator_up_reached
    The same, but seated, belted, dressed as you fly: stick as far back as it goes. A travel: no sign.
E | elevator, down stop | ± 0.5° | [tail] elevator_down
    The same, stick fully forward. A travel: no sign.
- | tailplane incidence | ± 0.3° | [tail] incidence
    As the wing's, trim neutral. Leading edge up is plus.
- | tail above the leveling line | ± 20 mm | [tail] height
    Quarter chord of the tailplane above the leveling line (below is minus), airplane level.
F | flap, first setting | ± 0.5° | [[configuration]] flap
    Level on the flap's lower side, minus its reading retracted. Down is plus. Hold it up to take out play.
G | flap, full | ± 0.5° | [[configuration]] flap
    The same. One table of this name for each setting.
H | gap at the hinge | ± 0.5 mm | write it in README.md
    Drill shanks as feelers, at three places. Sealed or open? Note ailerons and flaps too.
"""

WEIGHING_ROWS = """
- | empty weight | ± 6 kg | [weights] empty / [weights] empty_within
    Sum of net, minus the fuel that can be used. Say what else was aboard.
- | CG, empty | ± 10 mm | [weights] empty_cg
    The formula above, fuel taken out with its own station.
A | station, main wheels | ± 5 mm | [gear] main_wheel_station
    Plumb line from the axle to the floor, from the datum's mark.
B | station, tail or nose wheel | ± 5 mm | [gear] other_wheel_station
    The same. Ahead of the datum is minus.
- | fuel aboard when weighed | ± 2 l | write it in README.md
    Volume by dipstick or filled measure, and its station. Tanks empty or full read best.
- | maximum weight | - | [weights] maximum
    From the approved records, not from a scale.
- | MAC, and its leading edge | ± 10 mm | [weights] mac / [weights] mac_leading_edge
    From the approved records, else S/span; station of its leading edge by plumb line where the chord is that long.
- | CG limits | - | [weights] cg_forward / [weights] cg_aft
    From the approved records: forward and aft.
- | indicator: unit, first mark | - | [indicator] scale_starts
    Knots, mph or km/h? Where does its scale start? Below it write <35, say.
- | indicator: step and reading | ± 1.2 kt | [indicator] reading_within
    Step between marks. Read by eye, photograph or film? To what part of a step?
- | static and pitot source | - | [indicator] static_source, / pitot_kind, / doors_and_windows
    Where static vents and pitot tube sit. Doors, windows and vents as flown.
"""


def frame(paper, number, title, purpose):
    """Title, purpose and foot of a page."""
    paper.text(LEFT, 274.0, title, 15, weight="bold")
    paper.text(RIGHT, 274.0, "Airplane ____________________   Date ______________", 8, "right")
    paper.text(LEFT, 267.6, purpose, 8.5)
    paper.line([(LEFT, 265.2), (RIGHT, 265.2)], INK, 0.8)
    paper.line([(LEFT, 25.2), (RIGHT, 25.2)], INK, 0.8)
    paper.wrapped(LEFT, 21.8, CAUTION, 170.0, 6.7)
    paper.text(RIGHT, 21.8, f"{number} of {PAGES}", 8, "right")


def table_of(paper, top, rows, until):
    """The table to fill in, down to about `until`. Returns its lower edge."""
    lines = iter(rows.strip().splitlines())
    table = []
    for line in lines:
        letter, what, within, key = line.split(" | ")
        table.append((letter.strip("-"), what, next(lines).strip(), "", "", within, key.replace(" / ", "\n")))
    return paper.table(LEFT, top, WIDTHS, HEAD, table, until=until)


def trapezoids(stations) -> float:
    """Area of both wings from the stations of one: S = 2 sum (c1 + c2)/2 (y2 - y1).

    Parameters
    ----------
    stations : pairs (n, 2) [m]
        Distance from the centerline, and chord there.

    Returns
    -------
    float [m2]
    """
    y, c = np.asarray(stations, dtype=float).T
    return float(np.sum((c[1:] + c[:-1]) * np.diff(y)))
