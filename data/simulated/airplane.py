"""The simulated airplanes: tables we chose ourselves, their steady CLmax by hand, and their XML for jsbsim.

Everything the airplane does follows from a handful of smooth curves, so its trimmed CLmax in steady flight can be
worked out here, from the same curves, without any flight. The moment reference, the center of gravity and the thrust
line coincide, which makes the condition for trim simply Cm = 0. In flight the separation lags: what it takes from the
lift and adds to drag and moment follows a delayed angle of attack, which `fly.py` hands over as `SEPARATION`.

SI throughout; the XML alone speaks feet, pounds and slugs.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

G = 9.80665
FT = 0.3048
LBF = 4.4482216152605
SLUG = 14.593902937
FLAPS_DEG = (0.0, 20.0, 40.0)
SEPARATION = "systems/separation-alpha-rad"  # the angle of attack the separated flow has got to

# Angles of attack at which every table is written, dense where the lift peak lies.
ALPHA = np.concatenate([np.linspace(-0.4, 0.0, 9)[:-1], np.arange(0.0, 0.6, 0.005), np.linspace(0.6, 1.55, 20)])


def softplus(x):
    """Return ln(1 + e^x): a corner with a radius.

    Parameters: x, any shape [-].
    Returns: same shape [-].
    """
    return np.logaddexp(0.0, x)


@dataclass(frozen=True)
class Airplane:
    """One simulated airplane; every field is a number drawn in `population.py` [SI, rad, per rad]."""

    name: str
    wing_area: float  # m2
    aspect_ratio: float
    wing_loading: float  # N/m2, at the reference weight
    lift_zero: float  # CL at alpha = 0, flap up, elevator neutral
    peak_lift: float  # highest CL of the table, flap up, elevator neutral
    rounding: float  # rad, radius of the corner at the lift peak: small = sharp
    fall: float  # per rad, steepness of the lift loss beyond the peak
    floor: float  # deep-stalled lift as a part of the peak
    flap_lift: float  # CL added by 40 degrees of flap
    flap_moment: float  # Cm added by 40 degrees of flap
    flap_drag: float  # CD added by 40 degrees of flap
    drag_zero: float
    span_efficiency: float
    stall_drag: float  # per rad, drag growth beyond the stall
    moment_slope: float  # Cm per rad of alpha
    stall_moment: float  # per rad, extra nose-down moment beyond the stall
    elevator_moment: float  # Cm per rad of elevator
    elevator_lift: float  # CL per rad of elevator
    pitch_damping: float  # Cmq per (q c / 2V)
    alpha_rate_damping: float  # Cm per (alpha-dot c / 2V)
    gyration: float  # pitch radius of gyration over chord
    trim_lift: float  # CL at which elevator neutral trims, flap up
    stop_margin: float  # rad, elevator left at the lift peak with `stop_flap`; negative = the stop comes first
    stop_flap: float  # deg, the flap setting the stop margin is measured with
    idle_thrust: float  # static idle thrust over weight
    idle_zero_speed: float  # speed of no idle thrust over the stall speed
    lag: float  # chord lengths flown until the separation has followed a change of alpha by 63 %

    @property
    def chord(self):
        """Return the mean chord [m]."""
        return math.sqrt(self.wing_area / self.aspect_ratio)

    @property
    def weight(self):
        """Return the reference weight [N]."""
        return self.wing_loading * self.wing_area

    @property
    def lift_slope(self):
        """Return the lift slope of the straight part [per rad]."""
        return 0.95 * 2 * math.pi * self.aspect_ratio / (self.aspect_ratio + 2)

    @property
    def corner(self):
        """Return the alpha where the two straight parts of the lift curve would meet [rad]."""
        a, d, w = self.lift_slope, self.fall, self.rounding
        # The slope is zero one logarithm above the corner; solve for the corner that puts the peak at peak_lift.
        peak = (self.peak_lift - self.lift_zero + (a + d) * w * math.log(1 + a / d)) / a
        return peak - w * math.log(a / d)

    def lift_table(self):
        """Return CL over `ALPHA`, flap up and elevator neutral.

        Returns: array of the shape of ALPHA [-].
        """
        a, d, w = self.lift_slope, self.fall, self.rounding
        curve = self.lift_zero + a * ALPHA - (a + d) * w * softplus((ALPHA - self.corner) / w)
        # Deep in the stall the lift levels out, then dies away towards broadside.
        deep = self.floor * self.peak_lift * np.cos(np.clip(ALPHA - 0.6, 0.0, None) / 0.95 * math.pi / 2)
        return np.where(ALPHA > self.corner, np.maximum(curve, deep), curve)

    def attached_table(self):
        """Return CL over `ALPHA` if the flow never separated [-]."""
        return self.lift_zero + self.lift_slope * ALPHA

    def beyond_stall(self):
        """Return how far alpha is beyond the stall, with the radius of the lift peak, over `ALPHA` [rad]."""
        return self.rounding * softplus((ALPHA - self.corner) / self.rounding)

    def stall_drag_table(self):
        """Return the drag coefficient added by the stall over `ALPHA` [-]."""
        return np.minimum(self.stall_drag * self.beyond_stall(), 1.2)

    def attached_moment_table(self):
        """Return Cm over `ALPHA` if the flow never separated, flap up and elevator neutral [-]."""
        return self.moment_slope * (ALPHA - (self.trim_lift - self.lift_zero) / self.lift_slope)

    def moment_table(self):
        """Return Cm over `ALPHA` in steady flight, flap up and elevator neutral [-]."""
        return self.attached_moment_table() - self.stall_moment * self.beyond_stall()

    def trimmed(self, alpha, flap_deg):
        """Return the steady state at an angle of attack: what elevator holds it and what CL and CD result.

        Parameters: alpha, shape (n,) [rad]; flap_deg, scalar [deg].
        Returns: tuple of elevator (n,) [rad, trailing edge down positive], CL (n,) [-], CD (n,) [-].
        """
        part = flap_deg / 40
        moment = np.interp(alpha, ALPHA, self.moment_table()) + self.flap_moment * part
        elevator = -moment / self.elevator_moment
        lift = np.interp(alpha, ALPHA, self.lift_table()) + self.flap_lift * part + self.elevator_lift * elevator
        drag = (
            self.drag_zero
            + self.flap_drag * part
            + lift**2 / (math.pi * self.aspect_ratio * self.span_efficiency)
            + np.interp(alpha, ALPHA, self.stall_drag_table())
        )
        return elevator, lift, drag

    @cached_property
    def elevator_stop(self):
        """Return the aft stop [rad, negative]."""
        elevator, lift, _ = self.trimmed(FINE, self.stop_flap)
        return float(elevator[np.argmax(lift)] - self.stop_margin)

    def hand_clmax(self, flap_deg):
        """Return the trimmed CLmax of steady flight from the tables alone.

        Parameters: flap_deg, scalar [deg].
        Returns: tuple of CLmax [-], its alpha [rad], and True where the elevator stop sets it.
        """
        elevator, lift, _ = self.trimmed(FINE, flap_deg)
        within = elevator >= self.elevator_stop
        best = int(np.argmax(np.where(within, lift, -np.inf)))
        return float(lift[best]), float(FINE[best]), bool(best + 1 < len(FINE) and not within[best + 1])

    def write(self, folder, weight):
        """Write the XML jsbsim loads, at one weight.

        Parameters: folder, path; weight, scalar [N].
        Returns: None. The file is folder/name/name.xml.
        """
        target = Path(folder) / self.name
        target.mkdir(parents=True, exist_ok=True)
        (target / f"{self.name}.xml").write_text(self._xml(weight), encoding="utf-8")

    def _xml(self, weight):
        span = math.sqrt(self.wing_area * self.aspect_ratio)
        mass = weight / G / SLUG
        chord_ft, span_ft = self.chord / FT, span / FT
        iyy = mass * (self.gyration * chord_ft) ** 2
        ixx = mass * (0.11 * span_ft) ** 2
        return f"""<?xml version="1.0"?>
<fdm_config name="{self.name}" version="2.0" release="ALPHA">
<fileheader><description>Simulated airplane with chosen tables; resembles none in particular</description></fileheader>
<metrics>
 <wingarea unit="M2">{self.wing_area!r}</wingarea>
 <wingspan unit="M">{span!r}</wingspan><chord unit="M">{self.chord!r}</chord>
 {_place("AERORP")}{_place("EYEPOINT")}{_place("VRP")}
</metrics>
<mass_balance>
 <ixx unit="SLUG*FT2">{ixx!r}</ixx><iyy unit="SLUG*FT2">{iyy!r}</iyy><izz unit="SLUG*FT2">{ixx + iyy!r}</izz>
 <emptywt unit="LBS">{weight / LBF!r}</emptywt>{_place("CG")}
</mass_balance>
<ground_reactions/><propulsion/>
<external_reactions><force name="idle" frame="BODY">{_place("")}
 <direction><x>1</x><y>0</y><z>0</z></direction></force></external_reactions>
<flight_control name="controls"><property value="0">{SEPARATION}</property><channel name="all">
 <aerosurface_scale name="fcs/elevator"><input>fcs/elevator-cmd-norm</input><zero_centered>false</zero_centered>
  <range><min>{self.elevator_stop!r}</min><max>0.3</max></range><output>fcs/elevator-pos-rad</output></aerosurface_scale>
 <aerosurface_scale name="fcs/aileron"><input>fcs/aileron-cmd-norm</input>
  <range><min>-0.3</min><max>0.3</max></range><output>fcs/left-aileron-pos-rad</output></aerosurface_scale>
 <kinematic name="fcs/flap"><input>fcs/flap-cmd-norm</input><traverse>
  <setting><position>0</position><time>0</time></setting><setting><position>40</position><time>4</time></setting>
  </traverse><output>fcs/flap-pos-deg</output></kinematic>
</channel></flight_control>
<aerodynamics>
<axis name="LIFT">
 {_force("lift", _table(self.attached_table()))}
 {_force("lift-lost", _table(self.lift_table() - self.attached_table(), SEPARATION))}
 {_force("lift-flap", _property("fcs/flap-pos-deg"), self.flap_lift / 40)}
 {_force("lift-elevator", _property("fcs/elevator-pos-rad"), self.elevator_lift)}
</axis>
<axis name="DRAG">
 {_force("drag-zero", "", self.drag_zero)}
 {_force("drag-induced", _property("aero/cl-squared"), 1 / (math.pi * self.aspect_ratio * self.span_efficiency))}
 {_force("drag-flap", _property("fcs/flap-pos-deg"), self.flap_drag / 40)}
 {_force("drag-stall", _table(self.stall_drag_table(), SEPARATION))}
</axis>
<axis name="SIDE">{_force("side", _property("aero/beta-rad"), -0.4)}</axis>
<axis name="ROLL">
 {_moment("roll-beta", "bw", _property("aero/beta-rad"), -0.08)}
 {_moment("roll-rate", "bw", _property("aero/bi2vel", "velocities/p-aero-rad_sec"), -0.45)}
 {_moment("roll-aileron", "bw", _property("fcs/left-aileron-pos-rad"), 0.18)}
</axis>
<axis name="PITCH">
 {_moment("pitch", "cbarw", _table(self.attached_moment_table()))}
 {_moment("pitch-stall", "cbarw", _table(-self.stall_moment * self.beyond_stall(), SEPARATION))}
 {_moment("pitch-flap", "cbarw", _property("fcs/flap-pos-deg"), self.flap_moment / 40)}
 {_moment("pitch-elevator", "cbarw", _property("fcs/elevator-pos-rad"), self.elevator_moment)}
 {_moment("pitch-rate", "cbarw", _property("aero/ci2vel", "velocities/q-aero-rad_sec"), self.pitch_damping)}
 {_moment("pitch-alpha-rate", "cbarw", _property("aero/ci2vel", "aero/alphadot-rad_sec"), self.alpha_rate_damping)}
</axis>
<axis name="YAW">
 {_moment("yaw-beta", "bw", _property("aero/beta-rad"), 0.06)}
 {_moment("yaw-rate", "bw", _property("aero/bi2vel", "velocities/r-aero-rad_sec"), -0.1)}
</axis>
</aerodynamics>
</fdm_config>
"""


FINE = np.linspace(0.0, 0.6, 12001)


@dataclass(frozen=True)
class Separating(Airplane):
    """An airplane whose lift curve is another one: the potential lift with a separation point that moves forward.

    CL = a (alpha - alpha0) ((1 + sqrt(x)) / 2)^2, x = (1 - tanh((alpha - alpha_s) / width)) / 2; Kirchhoff's factor as
    it is in common use (from memory). `peak_lift` and `lost` set alpha_s and the width. The table of load factors is
    never made from such an airplane.
    """

    lost: float  # part of the peak that is lost four degrees beyond it

    @cached_property
    def _shape(self):
        """Alpha of half separation and width [rad], by halving."""
        width = _halved(lambda w: self.lost - self._lost_at(self._half(w), w), 0.01, 0.4)
        return self._half(width), width

    def _half(self, width):
        return _halved(lambda half: self._lift(FINE, half, width)[FINE < 0.45].max() - self.peak_lift, 0.02, 0.8)

    def _lift(self, alpha, half, width):
        x = (1 - np.tanh((alpha - half) / width)) / 2
        return (self.lift_zero + self.lift_slope * alpha) * ((1 + np.sqrt(x)) / 2) ** 2

    def _lost_at(self, half, width):
        lift = self._lift(FINE, half, width)
        peak = int(np.argmax(np.where(FINE < 0.45, lift, 0)))
        return 1 - float(np.interp(FINE[peak] + math.radians(4.0), FINE, lift)) / float(lift[peak])

    @cached_property
    def corner(self):
        """Return the alpha beyond which stall drag and stall moment set in: the lift peak [rad]."""
        lift = self._lift(FINE, *self._shape)
        return float(FINE[np.argmax(np.where(FINE < 0.45, lift, 0))])

    def lift_table(self):
        """Return CL over `ALPHA`, flap up and elevator neutral [-]."""
        away = np.cos(np.clip(ALPHA - 0.45, 0.0, 1.1) / 1.1 * math.pi / 2)
        return self._lift(np.minimum(ALPHA, 0.45), *self._shape) * away


def _halved(rises, low, high):
    """Return where an increasing or decreasing function is zero, by thirty halvings."""
    upward = rises(high) > rises(low)
    for _ in range(30):
        middle = (low + high) / 2
        if (rises(middle) > 0) == upward:
            high = middle
        else:
            low = middle
    return (low + high) / 2


def _place(name):
    label = f' name="{name}"' if name else ""
    return f'<location{label} unit="IN"><x>0</x><y>0</y><z>0</z></location>'


def _property(*names):
    return "".join(f"<property>{name}</property>" for name in names)


def _table(values, over="aero/alpha-rad"):
    rows = "\n".join(f"{a:.6f} {v:.9f}" for a, v in zip(ALPHA, values))
    return f'<table><independentVar lookup="row">{over}</independentVar><tableData>\n{rows}\n</tableData></table>'


def _force(name, factor, value=1.0):
    scale = _property("aero/qbar-psf", "metrics/Sw-sqft")
    return f'<function name="aero/{name}"><product>{scale}{factor}<value>{value!r}</value></product></function>'


def _moment(name, length, factor, value=1.0):
    return _force(name, _property(f"metrics/{length}-ft") + factor, value)
