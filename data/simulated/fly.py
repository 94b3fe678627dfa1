"""Flying one virtual stall with jsbsim: load, trim in a glide, fly the pilot, write down what happened.

Nothing here knows how a stall is reduced: the lift comes from jsbsim's own forces. The stock models are read
from the installed wheel. Feet, pounds and degrees end at `_Model`; everything that leaves is SI and radians.
"""

import math
import os
import tempfile
from collections import deque
from dataclasses import dataclass
from xml.etree import ElementTree

import numpy as np
from airplane import FT, LBF, SEPARATION, Airplane, G
from scipy.optimize import root

os.environ.setdefault("JSBSIM_DEBUG", "0")  # read when the first model is made: no banner
import jsbsim

KT = 1852 / 3600
RHO0 = 1.225
STEP_HZ = 120
LOG_HZ = 10
TAIL_S = 5.0  # how long the recovery is recorded

# A break is what somebody aboard sees or feels while the stick is not being eased forward.
NOSE_RATE = math.radians(-3.0)  # nose going down faster than this ...
NOSE_SAMPLES = 3  # ... in three consecutive looks, 0.1 s apart
LIFT_DROP = 0.10  # or the seat going soft by this many g below 1 g or below what it was ...
LIFT_SPAN = 10  # ... within 1 s
# A mush is less than that: the nose only sags, faster than this for as long ...
SAG_RATE = math.radians(-2.0)
SINK_GAIN = 1.5  # m/s: ... or the airplane starts to sink by this much (300 ft/min) ...
SINK_SPAN = 20  # ... within 2 s ...
SINK_HOLD = 5  # ... while the speed has made no new low for 0.5 s
PULL = 0.045  # rad/s, how quickly a pilot lets the nose rise or sink while slowing down
HOLD = 0.2  # 1/s, how quickly the hand gets used to a new stick position
# Nobody calls a bobbing nose a break well above the speed at which the airplane is known to stall ...
LATE, READY = 1.15, 1.05  # over the expected stall speed: late in the approach; ready for the break
WELL_BACK = 0.3  # ... or with the stick not even this part of the way from trim to its stop
FORWARD = 0.02  # a stick that moved forward by more than this within 1 s explains a falling nose by itself

CHANNELS = (
    "time",
    "cas",
    "tas",
    "pitch",
    "pitch_rate",
    "alpha",
    "nz",
    "nx",
    "load_factor",
    "lift_coefficient",
    "dynamic_pressure",
    "stick",
    "elevator",
    "height",
    "vertical_speed",
    "thrust",
)


@dataclass(frozen=True)
class Pilot:
    """How one attempt is flown; drawn in `population.py`."""

    rate: float  # m/s2, the deceleration aimed at
    start_ratio: float  # start speed over the expected stall speed
    speed_gain: float  # rad of pitch per m/s of speed error
    speed_integral: float  # 1/s, integral over proportional
    pitch_gain: float  # stick per rad of pitch error
    rate_gain: float  # stick per rad/s of pitch rate
    lag: float  # s, arm and nerves
    forward_rate: float  # 1/s, how fast the stick may be eased forward late in the approach
    tremor: float  # stick, standard deviation of the hand's unrest
    phases: tuple  # rad, phases of the sinusoids that make the tremor
    reaction: float  # s, from seeing the break to the hand moving
    notice: float  # s, until the pilot sees that the speed no longer falls
    final_pull: float  # 1/s, how quickly the stick then comes back to its stop
    push: float  # stick forward of trim during the recovery
    style: str  # "release" at the break, "hold" the stick aft, or "steps" of steady speeds
    patience: float  # s, how long the stick is held on the stop
    step: float  # m/s, size of one step of the "steps" style


@dataclass(frozen=True)
class Task:
    """One flight to make."""

    airplane: Airplane | str  # an own airplane, or the name of a stock model
    pilot: Pilot
    flap: float  # 0 to 1
    power: str  # "off" or "idle"
    weight: float  # N; for stock models the ballast added to the stock loading
    height: float  # m


@dataclass(frozen=True)
class Flight:
    """What happened: arrays at 10 Hz, shape (n,), SI and rad, in `history` under the names of `CHANNELS`."""

    history: dict
    weight: float  # N
    wing_area: float  # m2
    expected: float  # m/s, the stall speed the pilot expected
    slowing: float  # s, when the deceleration began
    break_time: float | None  # s, when nose or lift were seen to drop
    sink_time: float | None  # s, when the airplane was seen to sink, by itself
    stop_time: float | None  # s, when the stick came to rest on its stop
    recovery: float  # s, when the hand went forward


class _Model:
    """A loaded jsbsim model, in SI."""

    def __init__(self, task):
        self.fdm = jsbsim.FGFDMExec(None)
        self.fdm.set_debug_level(0)
        self.fdm.disable_output()
        root_dir = jsbsim.get_default_root_dir()
        self.own = task.airplane if isinstance(task.airplane, Airplane) else None
        self.idle = task.power == "idle"
        with tempfile.TemporaryDirectory() as folder:
            if self.own:
                self.own.write(folder, task.weight)
            name = self.own.name if self.own else task.airplane
            directory = folder if self.own else os.path.join(root_dir, "aircraft")
            if name == "sgs126":
                _glider_with_pilot(directory, folder, task.weight)
                directory = folder
            if not self.fdm.load_model_with_paths(
                name, directory, os.path.join(root_dir, "engine"), os.path.join(root_dir, "systems"), True
            ):
                raise RuntimeError(f"jsbsim could not load {name}")
        self.fdm.set_dt(1 / STEP_HZ)
        self._nodes = {}
        if not self.own:
            self._load_stock(task)

    def _load_stock(self, task):
        manager = self.fdm.get_property_manager()
        for i in range(6):
            # The crew sits on the centre line here, so that the wings stay level.
            if manager.hasNode(f"inertia/pointmass-location-Y-inches[{i}]"):
                self.fdm[f"inertia/pointmass-location-Y-inches[{i}]"] = 0.0
        if task.airplane != "sgs126":  # whose pilot is already in its file
            self.fdm["inertia/pointmass-weight-lbs[0]"] += task.weight / LBF
        self.fdm["propulsion/fuel_freeze"] = 1
        self.fdm.run_ic()  # makes the ballast count
        if self.idle:
            self.fdm["propulsion/set-running"] = -1
            self.fdm["fcs/mixture-cmd-norm"] = 0.87
            self.fdm["fcs/throttle-cmd-norm"] = 0.0

    def get(self, name):
        return self.fdm.get_property_value(name)

    def set(self, name, value):
        self.fdm.set_property_value(name, value)

    @property
    def weight(self):
        return self.get("inertia/weight-lbs") * LBF

    @property
    def wing_area(self):
        return self.get("metrics/Sw-sqft") * FT**2

    def thrust(self):
        """Return the thrust along the body axis [N]; for an own airplane also set it for the coming step."""
        if not self.own:
            return self.get("forces/fbx-prop-lbs") * LBF
        if not self.idle:
            return 0.0
        speed = self.get("velocities/vtrue-fps") * FT
        zero_thrust_speed = self.own.idle_zero_speed * math.sqrt(2 * self.own.wing_loading / (1.4 * RHO0))
        thrust = self.own.idle_thrust * self.own.weight * (1 - speed / zero_thrust_speed)
        self.set("external_reactions/idle/magnitude", thrust / LBF)
        return thrust

    def separate(self, dt):
        """Let the separated flow of an own airplane follow alpha for one step of dt [s]."""
        if self.own:
            alpha, speed = self.get("aero/alpha-rad"), self.get("velocities/vtrue-fps") * FT
            flow = self.get(SEPARATION)
            self.set(SEPARATION, flow + (alpha - flow) * -math.expm1(-dt * speed / (self.own.lag * self.own.chord)))

    def trim(self, task, speed):
        """Put the airplane into a steady glide; return pitch [rad] and stick [-1 aft to 1] there."""

        def residual(x):
            self.set("ic/h-sl-ft", task.height / FT)
            for name in ("ic/psi-true-deg", "ic/phi-deg", "ic/beta-deg"):
                self.set(name, 0.0)
            self.set("ic/vc-kts", speed / KT)
            self.set("ic/gamma-deg", x[1])
            # Above 20 degrees one stock model latches its stall hysteresis, even in a trial point.
            self.set("ic/alpha-deg", min(x[0], 20.0))
            if self.own:
                self.set(SEPARATION, math.radians(min(x[0], 20.0)))
            self.fdm.set_trim_status(True)  # lets the flaps jump instead of travel
            self.set("fcs/flap-cmd-norm", task.flap)
            self.set("fcs/elevator-cmd-norm", x[2])
            self.thrust()
            self.fdm.run_ic()
            self.fdm.set_trim_status(False)
            return (
                self.get("accelerations/udot-ft_sec2"),
                self.get("accelerations/wdot-ft_sec2"),
                10 * self.get("accelerations/qdot-rad_sec2"),
            )

        start = (6.0, -6.0, -0.1)
        found = root(residual, start, options={"eps": 1e-6})
        if not np.all(np.abs(found.x) < (20, 25, 1)):
            # A kink in a table can throw the solver out; the settling time flies the airplane to its trim.
            found.x = np.array(start)
        residual((3.0, -6.0, 0.0))
        self.fdm.run()
        residual(found.x)
        return math.radians(found.x[0] + found.x[1]), float(found.x[2])

    def look(self):
        """Return one row of the history: `CHANNELS` without time and thrust."""
        get = self.get
        alpha, nz, nx = get("aero/alpha-rad"), get("accelerations/Nz"), get("accelerations/Nx")
        pressure = get("aero/qbar-psf")
        return (
            get("velocities/vc-kts") * KT,
            get("velocities/vtrue-fps") * FT,
            get("attitude/theta-rad"),
            get("velocities/q-rad_sec"),
            alpha,
            nz,
            nx,
            nz * math.cos(alpha) + nx * math.sin(alpha),
            get("forces/fwz-aero-lbs") / pressure / get("metrics/Sw-sqft"),
            pressure * LBF / FT**2,
            get("fcs/elevator-cmd-norm"),
            get("fcs/elevator-pos-rad"),
            get("position/h-sl-ft") * FT,
            -get("velocities/v-down-fps") * FT,
        )


def _glider_with_pilot(stock, folder, weight):
    """Write the stock glider, whose model flies empty, with a pilot at its centre of gravity, for this flight only.

    Parameters: stock, folder of the stock models; folder, to write to; weight, of the pilot and all aboard [N].
    """
    tree = ElementTree.parse(os.path.join(stock, "sgs126", "sgs126.xml"))
    balance = tree.find("mass_balance")
    pilot = ElementTree.SubElement(balance, "pointmass", name="pilot")
    ElementTree.SubElement(pilot, "weight", unit="LBS").text = f"{weight / LBF!r}"
    place = ElementTree.SubElement(pilot, "location", unit=balance.find("location").get("unit"))
    for axis in "xyz":
        ElementTree.SubElement(place, axis).text = balance.find("location").find(axis).text
    os.makedirs(os.path.join(folder, "sgs126"))
    tree.write(os.path.join(folder, "sgs126", "sgs126.xml"))


def expected_stall_speed(task, model):
    """Return the stall speed the pilot expects: only the start and the alertness depend on it [m/s]."""
    if model.own:
        lift, weight = model.own.hand_clmax(40 * task.flap)[0], task.weight
    else:
        lift, weight = 1.3 + 0.3 * task.flap, model.weight
    return math.sqrt(2 * weight / (RHO0 * model.wing_area * lift))


def seen(looks):
    """Tell whether the nose or the lift has dropped, or the airplane itself has begun to sink, by itself.

    Parameters: looks, the last 2 s at 10 Hz, oldest first: sequence of (pitch_rate [rad/s], nz [-], stick [-],
    cas [m/s], vertical_speed [m/s]).
    Returns: tuple of bool: nose or lift dropped; the nose sags or the airplane sinks.
    """
    if len(looks) < SINK_SPAN + 1:
        return False, False
    recent = list(looks)[-LIFT_SPAN - 1 :]
    _, nz, stick, cas, climb = recent[-1]
    if stick - min(look[2] for look in recent) > FORWARD:
        return False, False
    nose, sags = (all(look[0] < rate for look in recent[-NOSE_SAMPLES:]) for rate in (NOSE_RATE, SAG_RATE))
    lift = min(1.0, max(look[1] for look in recent)) - max(nz, recent[-2][1]) > LIFT_DROP
    # In a zoom the climb also dies away, but then the speed is still falling.
    sinks = max(look[4] for look in looks) - climb > SINK_GAIN and cas > min(look[3] for look in recent[:-SINK_HOLD])
    return nose or lift, sags or sinks


def fly(task):
    """Fly one stall.

    Parameters: task, a Task.
    Returns: a Flight.
    """
    model, pilot = _Model(task), task.pilot
    expected = expected_stall_speed(task, model)
    start = pilot.start_ratio * expected
    pitch_trim, stick_trim = model.trim(task, start)
    settle = 5.0 if model.own else 15.0  # an engine needs some seconds to come down to idle
    dt = 1 / STEP_HZ
    rows, looks = [], deque(maxlen=SINK_SPAN + 1)
    integral, stick, hand, pitch_aim = 0.0, stick_trim, stick_trim, pitch_trim
    break_time = sink_time = stop_time = recovery = None
    lowest, lowest_time = math.inf, 0.0
    held = stick_trim  # the stick position the hand has got used to
    step = 0
    while True:
        t = step * dt
        cas = model.get("velocities/vc-kts") * KT
        thrust = model.thrust()
        if step % (STEP_HZ // LOG_HZ) == 0:
            row = model.look()  # the channels in order, without time
            rows.append((t, *row, thrust))
            looks.append((row[3], row[5], row[10], row[0], row[13]))
            alert = t > settle + 1 and cas < LATE * expected and recovery is None
            ready = row[10] < stick_trim - WELL_BACK * (1 + stick_trim) and cas < READY * expected
            if alert and ready and break_time is None:
                drops, sinks = seen(looks)
                break_time = t if drops else None
                sink_time = t if sinks and sink_time is None else sink_time
            if alert and stop_time is None and hand < -0.99:
                stop_time = t
            if cas < lowest:
                lowest, lowest_time = cas, t
            recovery = recovery or _gives_up(t, pilot, break_time, sink_time, stop_time)
            if (recovery and t > recovery + TAIL_S) or t > 300:
                break
        # Speed is held with pitch, pitch with the stick; the nose goes up at once by what the deceleration needs.
        slowing = t > settle
        error = cas - _aim(start, t - settle, pilot, expected)
        integral = min(30.0, max(-30.0, integral + error * dt))
        aim = pitch_trim + pilot.speed_gain * (error + pilot.speed_integral * integral) + slowing * pilot.rate / G
        pitch_aim += min(PULL * dt, max(-PULL * dt, min(0.6, max(-0.5, aim)) - pitch_aim))
        off = pitch_aim - model.get("attitude/theta-rad")
        if abs(hand) < 0.99:
            held -= HOLD * pilot.pitch_gain * off * dt
        wish = held - pilot.pitch_gain * off + pilot.rate_gain * model.get("velocities/q-rad_sec")
        if recovery and t >= recovery:
            wish = stick_trim + pilot.push
        elif break_time is not None and t > break_time + pilot.reaction and pilot.style == "hold":
            wish = -1.0
        elif stop_time is not None:
            wish = -1.0  # and there it is held
        elif sink_time is not None and pilot.style == "release":
            wish = hand  # it sinks: nothing is gained by pulling more
        elif slowing and cas < LATE * expected:
            # Late in the approach the stick comes back and back; it is eased forward only slowly, if at all.
            wish = min(wish, hand + pilot.forward_rate * dt)
            if t > lowest_time + (9.0 if pilot.style == "steps" else pilot.notice):
                # The speed has stopped falling: the stick is brought back to its stop.
                wish = min(wish, hand - pilot.final_pull * dt)
        wish = min(1.0, max(-1.0, wish))
        hand += min(1.5 * dt, max(-1.5 * dt, wish - hand))
        stick += (hand - stick) * dt / (pilot.lag + dt)
        on_stop = hand <= -0.995  # a hand that rests on the stop does not tremble
        model.set("fcs/elevator-cmd-norm", max(-1.0, stick + (0 if on_stop else _tremor(t, pilot))))
        model.set(
            "fcs/aileron-cmd-norm",
            min(1.0, max(-1.0, -2 * model.get("attitude/phi-rad") - 0.8 * model.get("velocities/p-rad_sec"))),
        )
        model.separate(dt)
        model.fdm.run()
        step += 1
    history = dict(zip(CHANNELS, np.array(rows).T))
    if recovery is None:
        raise RuntimeError("the airplane neither broke nor sank nor reached its stop")
    return Flight(history, model.weight, model.wing_area, expected, settle, break_time, sink_time, stop_time, recovery)


def _gives_up(t, pilot, break_time, sink_time, stop_time):
    """Return the time at which the hand goes forward, once it is known; else None."""
    if break_time is not None:
        wait = pilot.reaction + (pilot.patience if pilot.style == "hold" else 0.0)
        return break_time + wait if t >= break_time + wait else None
    if sink_time is not None:
        return t if t >= sink_time + pilot.reaction + (pilot.patience if pilot.style == "hold" else 0.3) else None
    if stop_time is not None and t > stop_time + pilot.patience:
        return t
    return None


def _aim(start, elapsed, pilot, expected):
    """Return the speed the pilot wants [m/s]: a ramp, or near the stall a staircase with 5 s on every step."""
    if elapsed <= 0:
        return start
    speed = start - pilot.rate * elapsed
    if pilot.style != "steps":
        return speed
    top = 1.12 * expected
    if speed > top:
        return speed
    late = elapsed - (start - top) / pilot.rate
    ramp = pilot.step / pilot.rate
    whole, rest = divmod(late, ramp + 5.0)
    return top - whole * pilot.step - min(rest, ramp) * pilot.rate


def _tremor(t, pilot):
    """Return the unrest of the hand: five sinusoids between 0.3 and 1.5 Hz, with the asked standard deviation."""
    waves = sum(math.sin(2 * math.pi * f * t + p) for f, p in zip((0.31, 0.47, 0.73, 1.03, 1.49), pilot.phases))
    return pilot.tremor * waves * math.sqrt(2 / 5)
