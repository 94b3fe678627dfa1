"""An owner's empty folder: a commented `aircraft.toml`, a `stalls.csv` with its header, a `README.md`."""

from __future__ import annotations

from pathlib import Path

from aerolib.case.folder import AIRCRAFT
from aerolib.case.problems import CaseError
from aerolib.case.saving import save_text
from aerolib.case.shipped import is_shipped
from aerolib.case.stalls import COLUMNS, FILE
from aerolib.case.tables import CARD_UNITS
from aerolib.units import SPELLINGS

README = "README.md"
_LEFT_BY_THE_SYSTEM = {".DS_Store", "Thumbs.db", "desktop.ini"}  # file managers drop these into empty folders
_HEADER_UNIT_OF = {"sink_rate": "ft/min"}  # a speed, but nobody reads it in knots
_KINDS = ("length", "area", "mass", "speed", "angle", "force", "power", "rotation", "time", "density", "ratio")

# A line that starts with '#' and a letter or bracket is a key to uncomment; '# ' starts a remark.
_AIRCRAFT = """\
# aircraft.toml: one airplane, as its owner measured it.
#
# Three values must be yours before anything is reduced; they are marked "<- yours".
# The rest is optional. To use a line, take away the '#' it starts with and write your value in
# place of the example. Leave a line alone if you do not know the value.
# All example values are invented; they belong to no airplane.
#
# A value is text in quotation marks: a number, then its unit. Use the unit you measured in:
@UNITS@
#
# ..._within: how far off the value beside it may be, nineteen times in twenty (95 %).
# Stations are measured from the weighing datum, aft positive. Heights are above the body datum line
# unless the remark says 'above the ground'. Angles are measured from the body datum line; nose up or
# leading edge up is positive. Distances out along the wing are from the centreline of the airplane.
# The measuring sheet has the drawings.

format = 1                        # of this file; leave it
#name = "my airplane"             # as the report shall call it
#invented = true                  # only for a case with made-up numbers, such as a demonstration

[wing]
area = "13.76 m2"                 # <- yours: seen from above, the part through the fuselage counted
#area_within = "0.27 m2"          # from your tape; without it 2 % is assumed
#span = "10.0 m"                  # tip to tip; plumb lines to the floor, tape between the marks
#chord_root = "1.50 m"            # at the side of the fuselage, flaps and ailerons neutral
#chord_middle = "1.50 m"          # half-way from the centreline to the tip
#chord_tip = "1.10 m"             # just before the tip rounds off
#tip_shape = "rounded"            # in words: square, rounded, drooped, upturned
#incidence = "2.0 deg"            # chord line at the root against the datum line; digital level on both
#twist = "-1.5 deg"               # incidence at the tip minus incidence at the root; washout is negative
#sweep = "0 deg"                  # of the line through the quarter chords; swept back is positive
#dihedral = "1.0 deg"             # digital level along the spar, airplane level across
#section = "NACA 4412"            # name of the wing section at the root, from the drawings
#section_tip = "NACA 4412"        # at the tip, where it is another one
#surface = "fabric"               # fabric, metal, composite or wood
#flap_chord = "0.30 m"            # hinge line to trailing edge
#flap_kind = "slotted"            # plain, split, slotted, Fowler, double slotted or none
#flap_inner = "0.55 m"            # centreline to the inner end of the flap
#flap_outer = "2.60 m"            # centreline to the outer end of the flap
#aileron_inner = "2.65 m"         # centreline to the inner end of the aileron
#aileron_outer = "4.50 m"         # centreline to the outer end of the aileron

[weights]
empty = "400 kg"                  # <- yours: three scales, wheels chocked, airplane level
maximum = "620 kg"                # <- yours: the approved maximum
#reference = "620 kg"             # weight that stall speeds are given at; without it the maximum
#empty_within = "6 kg"            # the scales; without it 6 kg is assumed
#loading_within = "6 kg"          # crew and baggage of one flight; without it 6 kg is assumed
#fuel_within = "4 kg"             # fuel aboard at one stall; without it 4 kg is assumed
#fuel_density = "0.72 kg/l"       # of your fuel; without it 0.72 kg/l
#empty_cg = "0.570 m"             # station of the centre of gravity, empty, from the weighing
#cg_forward = "0.40 m"            # forward limit, from the approved records
#cg_aft = "0.65 m"                # aft limit, from the approved records
#mac_leading_edge = "0.10 m"      # station of the leading edge of the mean chord
#mac = "1.40 m"                   # mean (aerodynamic) chord

[power]
#thrust_angle = "-2.0 deg"        # propeller axis against the datum line; digital level on the hub
#thrust_height = "0.05 m"         # propeller axis above the datum line, at the hub
#propeller_diameter = "1.80 m"    # tip to tip
#propeller_pitch = "1.20 m"       # stamped on the hub or blade; an inch figure takes "in"
#idle_rpm = "800 rpm"             # throttle closed, in the glide
#rated_power = "75 kW"            # from the plate of the engine

# One table for each power a stall was flown at; the name is what stands in column 'power'.
# 'idle' and 'off' need none: their thrust is taken as about zero.
#[[power.setting]]
#name = "full"                    # as in column `power` of stalls.csv
#thrust = "1100 N"                # at the stall speed; from a static pull with allowance, or from a calculation
#thrust_within = "300 N"          # how far off the thrust may be

[gear]
#kind = "tail-wheel"              # tail-wheel or nose-wheel
#ground_angle = "12.5 deg"        # datum line against the ground, airplane lifted until the wheels only touch
#ground_angle_loaded = "11.0 deg" # the same, standing on its wheels
#main_wheel_station = "0.30 m"    # axle of the main wheels; plumb line, airplane level
#other_wheel_station = "4.80 m"   # axle of the tail or nose wheel
#main_wheel_diameter = "0.50 m"   # over the tyre
#wheel_track = "1.90 m"           # between the middles of the main tyres
#wing_height = "1.95 m"           # quarter chord at the root above the ground, standing
#tail_strike_angle = "14.0 deg"   # datum line against the ground when the tail touches

[tail]
#arm = "4.10 m"                   # quarter chord of the wing to quarter chord of the tailplane, along the datum line
#area = "2.30 m2"                 # tailplane with elevator, seen from above
#span = "2.90 m"                  # tip to tip
#chord = "0.85 m"                 # leading edge to trailing edge, half-way out, elevator neutral
#elevator_chord = "0.36 m"        # hinge line to trailing edge
#elevator_up = "28 deg"           # neutral to the upper stop; a travel, written positive
#elevator_down = "22 deg"         # neutral to the lower stop; a travel, written positive
#incidence = "-1.0 deg"           # tailplane against the datum line, trim neutral
#height = "0.20 m"                # tailplane above the datum line
#kind = "conventional"            # conventional, T, V or all-moving

[fuselage]
#length = "6.60 m"                # spinner to the end of the rudder
#width = "1.05 m"                 # at the cabin, outside
#height = "1.25 m"                # at the cabin, outside
#eye_height = "1.75 m"            # the pilot's eye above the ground, seated, airplane standing on its wheels

[indicator]
#reading_within = "1.2 kt"        # one reading of the needle by eye; without it 1.2 kt is assumed
#scale_within = "1 %"             # error of the whole scale; without it 1 % is assumed
#scale_starts = "35 kt"           # lowest mark; slower stalls are written <35
#lag = "0.3 s"                    # how late the needle is; without it 0.3 s
#lag_within = "0.4 s"             # without it 0.4 s
#instrument = [["40 kt", "41 kt"], ["60 kt", "60.5 kt"]]   # bench check: needle reads, true value
#instrument_within = "0.5 kt"     # how good that bench check is
#position_within = "4.9 kt"       # position error where it was not calibrated; without it 4.9 kt is assumed
#load_factor_axis = "cabin floor" # the g-meter stands on the 'cabin floor', or its log is turned to the 'flight path'
#static_source = "both sides of the fuselage"  # where the static vents sit
#pitot_kind = "under the left wing, half-way out"  # where the pitot tube sits, and its kind
#doors_and_windows = "closed"     # they move the static pressure: note them

# One table for each calibration. The names are those of the tables below.
#[[indicator.position]]
#modification = "before"          # the one it was flown in
#configuration = "clean"          # the one it was flown in
#points = [["40 kt", "43 kt"], ["50 kt", "52 kt"]]         # needle reads, calibrated airspeed
#within = "1.0 kt"                # how far off the calibrated airspeed may be
#origin = "runs against a satellite receiver"              # where the calibration comes from

# A configuration is flap and gear. If you write these tables, stalls.csv may use only their names.
#[[configuration]]
#name = "clean"                   # as in column `configuration` of stalls.csv
#flap = "0 deg"                   # digital level on the flap, minus its reading retracted
#gear = "fixed"                   # fixed, up or down
#description = "flaps up"         # in your words
#stated_stall_speed = "45 kt"     # from handbook or records, to compare with; it changes no result
#stated_weight = "620 kg"         # the weight it belongs to
#stated_airspeed = "CAS"          # CAS, IAS or unknown
#stated_definition = "1-g"        # 1-g, minimum or unknown
#stated_source = "flight manual, section 5" # where it is written

#[[configuration]]
#name = "full flap"
#flap = "35 deg"

# A modification is the state of the airplane: before, after. List them in the order they came.
#[[modification]]
#name = "before"                  # as in column `modification` of stalls.csv
#description = "as built"         # in your words
#date = "2024-05-11"              # from when on

#[[modification]]
#name = "after"
#description = "one row of vortex generators"
#fitted = [{ device = "vortex generators" }]               # names of the tables [[device]] below

# What was fitted, or is planned.
#[[device]]
#name = "vortex generators"       # a name of yours
#kind = "vane pair"               # what it is
#surface = "wing, upper side"     # what it sits on
#modification = "after"           # the one it belongs to
#height = "20 mm"                 # above the skin; caliper or steel rule
#length = "50 mm"                 # along the foot
#chord_station = "8 %"            # behind the leading edge, in percent of the chord there
#span_inner = "0.60 m"            # centreline to the first one
#span_outer = "4.70 m"            # centreline to the last one
#pitch = "80 mm"                  # from one to the next
#angle = "15 deg"                 # to the flow
"""

_README = """\
# Whose numbers these are

Airplane:
Owner, and who flew:
Who measured, when, with what:
Which indicator, read how (by eye, photograph, film):

The body datum line (the part that shows level) is:
The weighing datum (the point that stations are measured from) is:

# The files

- `aircraft.toml`: the airplane. Only wing area, empty weight and maximum weight are needed. Replace all
  three examples: nothing can tell an example from your own number.
- `stalls.csv`: the card. One row for each stall, below the header.
- `README.md`: this page. Write down what no key has a place for.

# How to fill the card

The unit stands in the header only. Change it there if you noted another one: `ias [mph]`, `weight [kg]`,
`fuel [US gal]`, `cg [m]`. An empty cell means 'not known'. Columns may be in any order, and a column you
do not use may go. Needed are `modification`, `configuration` and `ias`.

| column | what to write |
|---|---|
| `modification` | the state of the airplane: before, after |
| `configuration` | flap and gear, by a name of yours: clean, full flap |
| `flight` | a number or date; stalls of one flight share the loading and the day |
| `ias` | what the needle showed; `<35` when it was below its lowest mark at 35 |
| `speed_kind` | which speed that is, see below |
| `ended` | how the stall ended, see below |
| `warning_ias`, `buffet_ias` | the needle when the warning came, when the buffet came |
| `pressure_altitude`, `temperature` | altimeter set to 1013 hPa (29.92 inHg); outside air |
| `weight` | the whole airplane at that stall |
| `crew`, `fuel`, `load` | or its parts: people, fuel aboard, everything else. Write 0 for none |
| `cg` | station of the centre of gravity at that stall |
| `power` | idle, off, or a name of yours; where it is empty, the thrust counts as unknown |
| `entry_rate` | how fast the needle fell before the stall; 1 is a knot a second |
| `load_factor` | of a recorder or g-meter, at the instant of the speed |
| `sink_rate` | down is positive; matters for a speed held steady |
| `height_lost` | from the stall to level flight |
| `pilot`, `remarks` | free text; put it in quotation marks if it holds a comma |
| `left_out` | a reason takes the row out of the result. The row stays, and the report lists it |

`speed_kind`:

- `minimum`: the lowest the needle was seen
- `break`: the needle at the instant the nose or a wing dropped
- `steady`: a speed held for some seconds
- `unknown`, or an empty cell: nobody noted which

`ended`:

- `break`: the nose or a wing dropped
- `stop`: the stick was on its stop and the airplane still flew
- `early`: recovered before that, at the warning, at the buffet, or by choice
- `unknown`, or an empty cell

A speed such as `<35` is a limit, not a reading. It is never averaged as a number: it says that CLmax is at
least so much. A stall that ended in `stop` or `early` is a limit too: the wing had not let go.

# What the report will say

- CLmax of the whole, trimmed airplane for each modification, configuration and power, with an interval that
  holds the true value nineteen times in twenty. Or 'at least', where no stall ended in a break.
- The stall speed in 1-g flight, in knots CAS at the reference weight, and what the needle shows there.
- Where the interval comes from: wing area, scales, position error, reading, day. The largest is the one to
  measure next.
- How far above the stall the warning and the buffet came.
- What was left out, and why.

It changes no placard, no marking and no approach speed. Local rules and licensed practice decide.
"""


def new_case(folder: str | Path) -> list[Path]:
    """Start an owner's folder with templates to fill in.

    Parameters
    ----------
    folder : path [-]
        A folder that is empty or does not exist yet; folders above it are made too.

    Returns
    -------
    list of Path [-]
        The files written: `aircraft.toml`, `stalls.csv`, `README.md`.

    Raises
    ------
    CaseError
        The folder holds something, is a file, belongs to the installation, or cannot be written.
    """
    folder = Path(folder)
    if is_shipped(folder):
        raise CaseError(f"{folder} belongs to the installation, which is read-only; choose a folder of your own")
    texts = {AIRCRAFT: aircraft_template(), FILE: stalls_header(), README: _README}
    written: list[Path] = []
    try:
        if (folder.exists() or folder.is_symlink()) and not folder.is_dir():
            raise CaseError(f"{folder} is a file, not a folder; nothing was written. Choose another name")
        folder.mkdir(parents=True, exist_ok=True)
        held = sorted(p.name for p in folder.iterdir() if p.name not in _LEFT_BY_THE_SYSTEM)
        if held:
            shown = ", ".join(f"`{n}`" for n in held[:3]) + (f" and {len(held) - 3} more" if len(held) > 3 else "")
            raise CaseError(
                f"the folder {folder} holds {shown} already; nothing was written. Choose a new or an empty folder"
            )
        for name, text in texts.items():
            save_text(folder / name, text, None)
            written.append(folder / name)
    except OSError as e:
        for path in written:
            path.unlink(missing_ok=True)
        raise CaseError(
            f"the folder {folder} cannot be written: {e.strerror}; choose a folder where you may write"
        ) from None
    return written


def aircraft_template() -> str:
    """The text of a new `aircraft.toml`: every key of the schema, the optional ones commented out."""
    lines = []
    for kind in _KINDS:
        shown: dict[str, str] = {}  # one spelling for each unit
        for spelling, meaning in SPELLINGS[kind].items():
            shown.setdefault(meaning, spelling)
        names = ", ".join(s if s != "-" else "a plain number" for s in shown.values())
        lines.append(f"#   {kind + ':':<10}{names}")
    return _AIRCRAFT.replace("@UNITS@", "\n".join(lines))


def stalls_header() -> str:
    """The text of a new `stalls.csv`: all columns, with their units, and no rows."""
    names = []
    for name, kind in COLUMNS.items():
        unit = _HEADER_UNIT_OF.get(name) or (kind and CARD_UNITS[kind])
        names.append(f"{name} [{unit}]" if unit else name)
    return ",".join(names) + "\n"
