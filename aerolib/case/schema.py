"""What `aircraft.toml` may hold (format 1): every value is text with its unit, SI afterwards.

Keys that later estimates need are here from the start, so that an owner measures once. A key ending in
`_within` says how far off the value beside it may be, nineteen times in twenty.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from aerolib.units import UnitProblem, parse_quantity


def _read(kind: str, low: float | None = None, high: float | None = None) -> BeforeValidator:
    """A text with its unit becomes an SI value between two ends."""

    def read(text):
        value = parse_quantity(text, kind)
        if low is not None and value < 0.0 <= low:
            raise UnitProblem(f"'{text}' is below zero; expected is {low:g} to {high:g} in SI units, without a sign")
        if (low is not None and value < low) or (high is not None and value > high):
            raise UnitProblem(
                f"'{text}' is {value:.4g} in SI units; expected is {low:g} to {high:g}: is the unit right?"
            )
        return value

    return BeforeValidator(read)


def _tail_arm(text):
    value = parse_quantity(text, "length")
    if value <= 0.0:
        raise UnitProblem(
            f"'{text}': counted aft from the wing, so the tail would be ahead of it; that is not covered, since the "
            "wing then flies in the other surface's wake and lift, not download, holds the nose up"
        )
    if value > 15.0:
        raise UnitProblem(f"'{text}' is {value:.4g} m; expected is up to 15 m: is the unit right?")
    return value


Length = Annotated[float, _read("length", -50.0, 50.0)]
Chord = Annotated[float, _read("length", 0.05, 10.0)]
Span = Annotated[float, _read("length", 2.0, 50.0)]
Area = Annotated[float, _read("area", 2.0, 100.0)]
SurfaceArea = Annotated[float, _read("area", 0.05, 100.0)]
AreaWithin = Annotated[float, _read("area", 0.0, 20.0)]
Mass = Annotated[float, _read("mass", 1.0, 10000.0)]
MassWithin = Annotated[float, _read("mass", 0.0, 1000.0)]
Speed = Annotated[float, _read("speed", 5.0, 120.0)]
SpeedDifference = Annotated[float, _read("speed", 0.0, 20.0)]
Angle = Annotated[float, _read("angle", -1.6, 1.6)]
Force = Annotated[float, _read("force", -20000.0, 20000.0)]
ForceWithin = Annotated[float, _read("force", 0.0, 20000.0)]
WaterColumn = Annotated[float, _read("length", 0.0, 1.0)]
Duration = Annotated[float, _read("time", 0.0, 10.0)]
Density = Annotated[float, _read("density", 500.0, 1100.0)]
Ratio = Annotated[float, _read("ratio", 0.0, 1.0)]
Power = Annotated[float, _read("power", 1.0, 1e6)]


NOT_USED = {  # asked for once, and still taken: no estimate reads them
    "wing": ("tip_shape", "dihedral"),
    "power": ("thrust_height", "propeller_pitch", "idle_rpm"),
    "gear": ("wheel_track",),
}


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)


class Wing(_Table):
    area: Area
    area_within: AreaWithin | None = None
    span: Span | None = None
    chord_root: Chord | None = None
    chord_middle: Chord | None = None
    chord_tip: Chord | None = None
    incidence: Angle | None = None
    height: Length | None = None
    twist: Angle | None = None
    sweep: Angle | None = None
    section: str | None = None
    section_tip: str | None = None
    section_file: str | None = None
    surface: Literal["fabric", "metal", "composite", "wood"] | None = None
    flap_chord: Chord | None = None
    flap_kind: Literal["plain", "split", "slotted", "Fowler", "double slotted", "none"] | None = None
    flap_inner: Length | None = None
    flap_outer: Length | None = None
    flap_cutouts: tuple[tuple[Length, Length], ...] = ()  # from, to, out from the centerline
    flap_chord_extension: Length | None = None
    flap_gap: Length | None = None
    aileron_inner: Length | None = None
    aileron_outer: Length | None = None


class Weights(_Table):
    empty: Mass
    maximum: Mass
    reference: Mass | None = None
    empty_within: MassWithin | None = None
    loading_within: MassWithin | None = None
    fuel_within: MassWithin | None = None
    fuel_density: Density = 720.0
    empty_cg: Length | None = None
    cg_forward: Length | None = None
    cg_aft: Length | None = None
    mac_leading_edge: Length | None = None
    mac: Chord | None = None


class PowerSetting(_Table):
    name: str
    thrust: Force
    thrust_within: ForceWithin | None = None


class PowerTable(_Table):
    thrust_angle: Angle | None = None
    propeller_diameter: Chord | None = None
    rated_power: Power | None = None
    setting: tuple[PowerSetting, ...] = ()


class Gear(_Table):
    kind: Literal["tail-wheel", "nose-wheel"] | None = None
    ground_angle: Angle | None = None
    ground_angle_loaded: Angle | None = None
    main_wheel_station: Length | None = None
    other_wheel_station: Length | None = None
    main_wheel_diameter: Chord | None = None
    wing_height: Length | None = None
    tail_strike_angle: Angle | None = None


class TailSeen(_Table):
    """What was seen of the elevator in flight, idle; without `elevator` the stick was on its stop."""

    configuration: str
    cg: Length
    speed: Speed
    weight: Mass
    elevator: Angle | None = None  # up is negative
    elevator_within: Angle | None = None
    speed_within: SpeedDifference | None = None


class Tail(_Table):
    arm: Annotated[float, BeforeValidator(_tail_arm)] | None = None
    area: SurfaceArea | None = None
    span: Chord | None = None
    chord: Chord | None = None
    elevator_chord: Chord | None = None
    elevator_up: Angle | None = None
    elevator_down: Angle | None = None
    incidence: Angle | None = None
    height: Length | None = None
    kind: Literal["conventional", "T", "V", "all-moving"] | None = None
    elevator_up_reached: Angle | None = None
    tab_ratio: Annotated[float, _read("ratio", 0.0, 3.0)] | None = None
    seen: tuple[TailSeen, ...] = ()


class Fuselage(_Table):
    length: Chord | None = None
    width: Chord | None = None
    height: Chord | None = None
    eye_height: Length | None = None
    cowl_height: Length | None = None
    cowl_ahead: Length | None = None


class Limits(_Table):
    """From the approved data; nothing here is computed or changed."""

    load_factor: Annotated[float, _read("ratio", 1.0, 12.0)] | None = None
    load_factor_negative: Annotated[float, _read("ratio", -10.0, 0.0)] | None = None
    cruise_speed: Speed | None = None
    dive_speed: Speed | None = None
    flap_speed: Speed | None = None


Pair = tuple[Speed, Speed]


class PositionError(_Table):
    modification: str
    configuration: str
    points: tuple[Pair, ...] = Field(min_length=1)  # (reading, calibrated)
    within: SpeedDifference
    origin: str = "given by the owner"


class Indicator(_Table):
    reading_within: SpeedDifference | None = None
    scale_within: Ratio | None = None
    scale_starts: Speed | None = None
    lag: Duration | None = None
    lag_within: Duration | None = None
    instrument: tuple[Pair, ...] = ()  # (reading, true for the instrument)
    instrument_within: SpeedDifference | None = None
    manometer: tuple[tuple[Speed, WaterColumn], ...] = ()  # (reading, height of water)
    manometer_within: WaterColumn | None = None
    leak: SpeedDifference | None = None  # fall of the reading in one minute, tube closed
    position_within: SpeedDifference | None = None
    load_factor_axis: Literal["flight path", "cabin floor"] | None = None
    static_source: str | None = None
    pitot_kind: str | None = None
    doors_and_windows: str | None = None
    position: tuple[PositionError, ...] = ()


class Configuration(_Table):
    name: str = Field(min_length=1)
    flap: Angle | None = None
    gear: str | None = None
    description: str | None = None
    stated_stall_speed: Speed | None = None
    stated_weight: Mass | None = None
    stated_airspeed: Literal["CAS", "IAS", "unknown"] = "unknown"
    stated_definition: Literal["1-g", "minimum", "unknown"] = "unknown"
    stated_source: str | None = None


Small = Annotated[float, _read("length", 0.0, 1.0)]
Count = Annotated[int, Field(ge=0, le=5000)]


class Fitted(_Table):
    """One row of devices as measured after fitting, on one side."""

    device: str = Field(min_length=1)
    side: Literal["left", "right"]
    surface: str | None = None
    row: Annotated[int, Field(ge=1, le=20)] = 1
    start: Length | None = None
    pitch: Annotated[float, _read("length", 0.0, 5.0)] | None = None
    chord_distance: Annotated[float, _read("length", 0.0, 10.0)] | None = None
    height: Small | None = None
    angle: Angle | None = None
    count: Count | None = None
    spares: Count | None = None
    mass_each: Annotated[float, _read("mass", 0.0, 5.0)] | None = None
    station: Length | None = None
    date: str | None = None
    adhesive: str | None = None
    batch: str | None = None
    fitted_by: str | None = None
    inspected_by: str | None = None


class KeepOutZone(_Table):
    name: str = Field(min_length=1)
    inner: Length
    outer: Length
    surface: str | None = None
    side: Literal["left", "right", "both"] = "both"
    front: Ratio = 0.0
    back: Ratio = 1.0
    clearance: Small = 0.0

    @model_validator(mode="after")
    def _ends(self):
        if self.inner >= self.outer or self.front >= self.back:
            raise ValueError(f"'{self.name}' ends where it begins; inner must be less than outer, front less than back")
        return self


class Layout(_Table):
    datum: Length | None = None
    datum_name: str = "wing root rib"
    rear_line: str | None = None
    rear_line_inner: Chord | None = None
    rear_line_outer: Chord | None = None
    missing_limit: Count | None = None
    missing_limit_by: str | None = None


class Modification(_Table):
    name: str = Field(min_length=1)
    description: str | None = None
    date: str | None = None
    wing_area: Area | None = None  # where it is not that of [wing]
    wing_area_within: AreaWithin | None = None
    fitted: tuple[Fitted, ...] = ()

    @model_validator(mode="after")
    def _within_what(self):
        if self.wing_area_within is not None and self.wing_area is None:
            raise ValueError("wing_area_within stands without wing_area; write the area of this state, or remove it")
        return self


class Device(_Table):
    name: str = Field(min_length=1)
    kind: str | None = None
    surface: str | None = None
    modification: str | None = None
    height: Annotated[float, _read("length", 0.0, 1.0)] | None = None
    length: Annotated[float, _read("length", 0.0, 5.0)] | None = None
    chord_station: Ratio | None = None
    span_inner: Length | None = None
    span_outer: Length | None = None
    pitch: Annotated[float, _read("length", 0.0, 5.0)] | None = None
    angle: Angle | None = None
    arrangement: Literal["counter-rotating", "co-rotating"] | None = None
    shape: Literal["triangle", "rectangle"] | None = None
    count: int | None = None
    cleared: str | None = None


class LogColumns(_Table):
    """Headers in the recording, the unit in brackets behind where the file itself has none: "AS [kt]"."""

    time: str | None = None
    ias: str | None = None
    altitude: str | None = None
    normal_g: str | None = None
    forward_g: str | None = None
    pitch: str | None = None
    bank: str | None = None
    heading: str | None = None
    ground_speed: str | None = None
    track: str | None = None
    event: str | None = None


class Log(_Table):
    file: str = Field(min_length=1)  # in the folder `logs` of the case
    format: Literal["csv", "panel", "gpx", "nmea"] = "csv"
    modification: str | None = None
    configuration: str | None = None
    flight: str | None = None
    power: str | None = None
    pilot: str | None = None
    weight: Mass | None = None
    crew: Mass | None = None
    fuel: Annotated[float, _read("volume", 0.0, 2.0)] | None = None
    temperature: Annotated[float, _read("temperature", 220.0, 325.0)] | None = None
    mounting_angle: Angle | None = None
    mounting_angle_within: Angle | None = None
    normal_offset: Annotated[float, _read("ratio", -1.0, 1.0)] | None = None
    normal_offset_within: Ratio | None = None
    pitot_lag: Duration | None = None
    pitot_lag_within: Duration | None = None
    receiver_lag: Duration | None = None
    receiver_lag_within: Duration | None = None
    goes_with: str | None = None  # another file of the same flight
    clock_offset: Annotated[float, _read("time", -90000.0, 90000.0)] | None = None
    columns: LogColumns = LogColumns()


class Aircraft(_Table):
    format: Literal[1]
    name: str = "unnamed airplane"
    invented: bool = False
    wing: Wing
    weights: Weights
    power: PowerTable = PowerTable()
    gear: Gear = Gear()
    tail: Tail = Tail()
    fuselage: Fuselage = Fuselage()
    limits: Limits = Limits()
    indicator: Indicator = Indicator()
    configuration: tuple[Configuration, ...] = ()
    modification: tuple[Modification, ...] = ()
    device: tuple[Device, ...] = ()
    log: tuple[Log, ...] = ()
    keep_out: tuple[KeepOutZone, ...] = ()
    layout: Layout = Layout()
    _not_used: tuple[str, ...] = ()

    @property
    def not_used(self) -> tuple[str, ...]:
        """The keys of the file that no estimate reads, as '[wing] dihedral'."""
        return self._not_used

    @model_validator(mode="after")
    def _names_once(self):
        for table in ("configuration", "modification", "device"):
            names = [row.name for row in getattr(self, table)]
            twice = sorted({n for n in names if names.count(n) > 1})
            if twice:
                raise ValueError(f"[[{table}]] '{twice[0]}' is defined twice; give each its own name, or remove one")
        if self.weights.maximum <= self.weights.empty:
            raise ValueError("[weights] maximum must be more than empty: is one of them in another unit?")
        return self
