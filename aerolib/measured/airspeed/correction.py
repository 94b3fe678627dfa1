"""From what the needle shows to the airspeed that makes the lift.

    indicated (IAS) -> instrument and position error -> calibrated (CAS) -> equivalent (EAS) -> true (TAS)

Lift follows EAS: q = 0.5 * rho0 * EAS**2. Below 60 kt and 10,000 ft CAS and EAS differ by less than
0.05 %, so the step is small, but it costs nothing to take it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from aerolib import atmosphere as isa
from aerolib.estimate import Source
from aerolib.measured.labels import joined
from aerolib.ranges import in_range
from aerolib.sources import BORROWED

ASSUMED_ZERO = "assumed zero"  # origin of a correction that nobody measured
_EXPONENT = isa.KAPPA / (isa.KAPPA - 1.0)  # 3.5 for air


@in_range()
def impact_pressure(calibrated_airspeed):
    """Impact pressure that a calibrated airspeed stands for.

    q_c = p0 * ((rho0 * Vc**2 / (7 p0) + 1) ** 3.5 - 1)

    Parameters
    ----------
    calibrated_airspeed : float or array (n,) [m/s]

    Returns
    -------
    float or array (n,) [Pa]

    Valid range: subsonic. Source: SFTE Reference Handbook 2013, ch. 4.
    """
    v = np.asarray(calibrated_airspeed, dtype=float)
    return isa.PRESSURE_0 * ((isa.DENSITY_0 * v**2 / (2 * _EXPONENT * isa.PRESSURE_0) + 1.0) ** _EXPONENT - 1.0)


@in_range()
def airspeed_of_pressure(pressure_difference):
    """Calibrated airspeed that an impact pressure stands for: `impact_pressure` turned round.

    Vc = sqrt(7 p0 / rho0 * ((q_c / p0 + 1) ** (2/7) - 1))

    Parameters
    ----------
    pressure_difference : float or array (n,) [Pa]
        Zero or more.

    Returns
    -------
    float or array (n,) [m/s]

    Valid range: subsonic. Source: SFTE Reference Handbook 2013, ch. 4.
    """
    return _speed(np.asarray(pressure_difference, dtype=float), isa.PRESSURE_0)


def _speed(impact, static):
    """Speed [m/s] at the density of sea level that an impact pressure [Pa] means at a static pressure [Pa]."""
    rise = (impact / static + 1.0) ** (1.0 / _EXPONENT) - 1.0
    return np.sqrt(2 * _EXPONENT * static / isa.DENSITY_0 * rise)


@in_range()
def equivalent_airspeed(calibrated_airspeed, pressure_altitude=0.0):
    """Equivalent airspeed from calibrated airspeed.

    Ve = sqrt(7 * (p / rho0) * ((q_c / p + 1) ** (2/7) - 1))

    Parameters
    ----------
    calibrated_airspeed : float or array (n,) [m/s]
    pressure_altitude : float or array (n,) [m]

    Returns
    -------
    float or array (n,) [m/s]

    Valid range: subsonic, below 11 km. Source: SFTE Reference Handbook 2013, ch. 4.
    """
    return _speed(impact_pressure(calibrated_airspeed), isa.pressure(pressure_altitude))


@in_range()
def true_airspeed(calibrated_airspeed, pressure_altitude=0.0, temperature=None):
    """True airspeed from calibrated airspeed.

    V = Ve * sqrt(rho0 / rho)

    Parameters
    ----------
    calibrated_airspeed : float or array (n,) [m/s]
    pressure_altitude : float or array (n,) [m]
    temperature : float or array (n,) [K]
        Outside air temperature; the standard one where None.

    Returns
    -------
    float or array (n,) [m/s]

    Valid range: subsonic, below 11 km. Source: SFTE Reference Handbook 2013, ch. 4.
    """
    ve = equivalent_airspeed(calibrated_airspeed, pressure_altitude)
    return ve * np.sqrt(isa.DENSITY_0 / isa.density(pressure_altitude, temperature))


@in_range()
def calibrated_from_true(true, pressure_altitude=0.0, temperature=None):
    """Calibrated airspeed from true airspeed.

    Vc = V * sqrt(rho / rho0) * (1 + the small difference of calibrated and equivalent airspeed)

    Parameters
    ----------
    true : float or array (n,) [m/s]
    pressure_altitude : float or array (n,) [m]
    temperature : float or array (n,) [K]
        Outside air temperature; the standard one where None.

    Returns
    -------
    float or array (n,) [m/s]

    Valid range: subsonic, below 11 km. Source: SFTE Reference Handbook 2013, ch. 4, turned round by iteration.
    """
    v = np.asarray(true, dtype=float)
    cas = v * np.sqrt(isa.density(pressure_altitude, temperature) / isa.DENSITY_0)
    for _ in range(3):
        cas = cas * v / true_airspeed(cas, pressure_altitude, temperature)
    return cas


def indicated(calibrated, correction, instrument, lift):
    """What the dial shows at a calibrated airspeed in one state: every speed 'on the dial' comes through here.

    V_i = instrument^-1(position^-1(V_c)) at the lift given

    Parameters
    ----------
    calibrated : float or array (n,) [m/s]
    correction : SpeedCorrection or LiftCorrection [-]
        Position correction of the state.
    instrument : SpeedCorrection [-]
        Of the indicator alone.
    lift : float [N]

    Returns
    -------
    float or array (n,) [m/s]
    """
    return instrument.reading(correction.at(lift).reading(calibrated))


class _Correction:
    """What both kinds of correction do alike."""

    by_lift = False

    def at(self, lift):
        """The same correction for readings taken at this lift [N], float or array; one kind knows the reading only."""
        return replace(self, lift=lift) if self.by_lift else self  # type: ignore[type-var]

    def corrected(self, reading):
        """The airspeed [m/s] of a reading [m/s], array or float in."""
        raise NotImplementedError

    def slope(self, reading, step: float = 0.01):
        """d(corrected)/d(reading) [-] at a reading [m/s], lift held: 1 outside the points."""
        reading = np.asarray(reading, dtype=float)
        return (self.corrected(reading + step) - self.corrected(reading - step)) / (2 * step)


@dataclass(frozen=True)
class SpeedCorrection(_Correction):
    """What to add to an airspeed reading, over the reading, and how well that is known.

    Between the points it is a straight line; outside them the last value is held, and its standard
    uncertainty grows by `growth` for every m/s of distance, because nobody looked there.
    """

    ias: np.ndarray = field(default_factory=lambda: np.zeros(1))  # readings [m/s], rising
    add: np.ndarray = field(default_factory=lambda: np.zeros(1))  # correction [m/s]
    standard_uncertainty: float = 0.0  # [m/s]
    growth: float = 0.25  # [m/s per m/s] our judgement, no source
    origin: str = ASSUMED_ZERO
    parts: Mapping[Source, float] = field(default_factory=dict)  # more sources: what each does to ln of the speed [-]
    lender: str = ""  # the state whose correction, and whose standard uncertainty, this is

    def __post_init__(self):
        ias, add = (np.atleast_1d(np.asarray(a, dtype=float)) for a in (self.ias, self.add))
        if ias.shape != add.shape or ias.ndim != 1:
            raise ValueError("a speed correction needs as many corrections as readings")
        if not (np.all(np.isfinite(ias)) and np.all(np.isfinite(add))):
            raise ValueError("a speed correction needs finite readings and corrections")
        if not self.standard_uncertainty >= 0.0:
            raise ValueError("the standard uncertainty of a speed correction must be zero or more")
        order = np.argsort(ias)
        object.__setattr__(self, "ias", ias[order])
        object.__setattr__(self, "add", add[order])
        if len(ias) > 1 and np.any(np.diff(self.ias) <= 0):
            raise ValueError("a speed correction has two values for one reading")
        if np.any(np.diff(self.ias + self.add) <= 0):
            raise ValueError("a speed correction that makes a faster reading the slower airspeed cannot be used")

    def corrected(self, reading):
        """Reading plus correction [m/s], array or float [m/s] in."""
        return np.asarray(reading, dtype=float) + np.interp(reading, self.ias, self.add)

    def reading(self, corrected):
        """The reading [m/s] whose corrected value is `corrected` [m/s]."""
        c = np.asarray(corrected, dtype=float)
        return c - np.interp(c, self.ias + self.add, self.add)

    def parts_at(self, reading):
        """Source -> what one standard deviation of it does to ln of the speed [-] at a reading [m/s]."""
        return {source: np.full(np.shape(reading), part) for source, part in self.parts.items()}

    def uncertainty(self, reading):
        """Standard uncertainty [m/s] of the correction at a reading [m/s]."""
        reading = np.asarray(reading, dtype=float)
        if len(self.ias) == 1 and self.ias[0] == 0.0:  # a constant has no range to be outside of; one point has
            return np.full(reading.shape, self.standard_uncertainty)
        outside = np.maximum(0.0, np.maximum(self.ias[0] - reading, reading - self.ias[-1]))
        return np.hypot(self.standard_uncertainty, self.growth * outside)


@dataclass(frozen=True)
class LiftCorrection(_Correction):
    """The correction as a ratio over what the reading makes of the lift coefficient, with its named error sources.

    V = reading * ratio(reading / sqrt(lift)): the error is one of pressure, (p_s - p) / q, and follows the angle of
    attack, so a light airplane has it at a lower reading. Outside the points the ratio is held, the errors as well.
    """

    key: np.ndarray  # (K,) reading / sqrt(lift) [m/s per sqrt(N)], rising
    ratio: np.ndarray  # (K,) corrected / reading [-]
    parts: Mapping[Source, np.ndarray]  # what one standard deviation of each source does to ln of the speed, (K,) [-]
    origin: str = "airspeed legs"
    lift: float | np.ndarray = 1.0  # [N] of the readings asked for
    lender: str = ""  # the state whose correction this is

    by_lift = True

    def __post_init__(self):
        if np.any(np.diff(self.key) <= 0.0) or np.any(np.diff(self.key * self.ratio) <= 0.0):
            raise ValueError("a speed correction that makes a faster reading the slower airspeed cannot be used")

    def _key(self, reading):
        return np.asarray(reading, dtype=float) / np.sqrt(self.lift)

    def corrected(self, reading):
        """Reading times ratio [m/s], array or float [m/s] in."""
        return np.asarray(reading, dtype=float) * np.interp(self._key(reading), self.key, self.ratio)

    def reading(self, corrected):
        """The reading [m/s] whose corrected value is `corrected` [m/s]."""
        c = np.asarray(corrected, dtype=float)
        return c / np.interp(self._key(c), self.key * self.ratio, self.ratio)

    def parts_at(self, reading):
        """Source -> what one standard deviation of it does to ln of the speed [-] at a reading [m/s]."""
        key = self._key(reading)
        return {source: np.interp(key, self.key, part) for source, part in self.parts.items()}

    def uncertainty(self, reading):
        """Standard uncertainty [m/s] of the corrected speed at a reading [m/s]."""
        relative = np.sqrt(sum(part**2 for part in self.parts_at(reading).values()))
        return relative * self.corrected(reading)


def correction_of(position: Mapping, state: tuple[str, str], change: float):
    """The correction of one state: its own, else that of another modification at the same flap, with an error more.

    One state corrected and another taken as right would make the whole correction look like a change of CLmax.

    Parameters
    ----------
    position : mapping (modification, flap) -> SpeedCorrection or LiftCorrection [m/s]
    state : (modification, flap) [-]
    change : float [-]
        Standard deviation of what a modification changes of the error, relative to the speed.

    Returns
    -------
    SpeedCorrection, LiftCorrection or None [m/s]
        None where no modification has a correction at that flap.
    """
    if state in position:
        return position[state]
    lender = next((s for s, c in position.items() if s[1] == state[1] and not c.lender), None)
    return None if lender is None else borrowed(position[lender], lender, state, change)


def borrowed(correction, lender: tuple[str, str], state: tuple[str, str], change: float):
    """A correction lent by a state (modification, flap) to another, with `change` [-] of the speed as a new source."""
    part = change if not correction.by_lift else np.full(correction.key.shape, change)
    source = Source(BORROWED, "state", " | ".join([state[1], state[0], lender[0]]))
    return replace(correction, parts={**correction.parts, source: part}, lender=joined(*lender))
