"""The one record of the stalls: what is written beside each, and what is known of the airplane they were flown in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields, replace
from functools import cached_property
from typing import Any

import numpy as np

from aerolib.atmosphere import GRAVITY
from aerolib.measured.airspeed.correction import ASSUMED_ZERO, LiftCorrection, SpeedCorrection, correction_of, indicated
from aerolib.measured.assumptions import ErrorSizes, Thrust
from aerolib.measured.labels import joined, unique_rows
from aerolib.measured.stalls.results import BELOW
from aerolib.ranges import ANGLE, RANGES, check

KINDS = ("minimum", "break", "steady", "unknown")
ENDINGS = ("break", "mush", "stop", "early", "unknown")
STALLED = ("break", "mush")  # endings that show the wing at its CLmax
FASTEST_ENTRY = 5.0  # [m/s2] faster is no approach to a stall: our judgement
POSITIVE = ("ias", "weight", "wing_area", "reference_weight")
BOUNDS = {
    "ias": (0.0, 340.0, "m/s"),
    "weight": RANGES["weight"],
    "wing_area": RANGES["wing_area"],
    "reference_weight": RANGES["weight"],
    "pressure_altitude": (-2000.0, 20_000.0, "m"),
    "temperature": (-1e3, 1e4, "K"),
    "entry_rate": (-1e3, 1e3, "m/s2"),
    "load_factor": (0.0, 20.0, "-"),
    "sink_rate": (-1e3, 1e3, "m/s"),
    "weight_uncertainty": (0.0, 1e4, "kg"),
    "wing_area_uncertainty": (0.0, 1e3, "m2"),
    "warning_ias": RANGES["speed"],
    "buffet_ias": RANGES["speed"],
    "thrust_angle": ANGLE,
}


def _each(kind: type = float, default: Any = math.nan) -> Any:
    """A field with one value for each stall."""
    return field(default=default, metadata={"kind": kind})


@dataclass(frozen=True, kw_only=True)
class Stalls:
    """Stalls (N,), each field an array or one value for all; SI, checked, NaN where not known."""

    ias: np.ndarray = _each(default=MISSING)  # [m/s] what the needle showed
    wing_area: np.ndarray = _each(default=MISSING)  # [m2] one for each modification
    weight: np.ndarray = _each(default=MISSING)  # [kg]
    reference_weight: float  # [kg] that stall speeds are given at
    speed_kind: np.ndarray = _each(np.str_, "minimum")  # one of KINDS
    ended: np.ndarray = _each(np.str_, "break")  # one of ENDINGS
    modification: np.ndarray = _each(np.str_, "before")
    configuration: np.ndarray = _each(np.str_, "clean")
    power: np.ndarray = _each(np.str_, "idle")
    flight: np.ndarray = _each(np.str_, "1")
    pilot: np.ndarray = _each(np.str_, "")  # who judged the entry rate; empty where not named: see `compare`
    below_scale: np.ndarray = _each(bool, False)  # `ias` is the end of the scale, a bound
    flap: np.ndarray = _each(np.str_, None)  # what shares one position error; the configuration where None
    pressure_altitude: np.ndarray = _each()  # [m]
    temperature: np.ndarray = _each()  # [K]; the standard one where not known
    entry_rate: np.ndarray = _each()  # [m/s2] of indicated airspeed, positive
    load_factor: np.ndarray = _each()  # [-] recorded, normal to the flight path
    sink_rate: np.ndarray = _each()  # [m/s] positive down
    warning_ias: np.ndarray = _each()  # [m/s]
    buffet_ias: np.ndarray = _each()  # [m/s]
    cg: np.ndarray = _each()  # [m] behind the datum of the case
    weight_uncertainty: np.ndarray = _each()  # [kg] where a stall's weight had to be guessed
    wing_area_uncertainty: np.ndarray = _each()  # [m2] standard; NaN: the share of `errors`
    instrument: SpeedCorrection = SpeedCorrection(origin="none given")  # of the indicator itself, shared by everything
    position: Mapping[tuple[str, str], SpeedCorrection | LiftCorrection] = field(
        default_factory=dict
    )  # by (modification, flap)
    thrust: Mapping[str, Thrust] = field(default_factory=dict)  # by power
    thrust_angle: float = 0.0  # [rad] of the thrust line to the leveling line, nose-up positive
    errors: ErrorSizes = ErrorSizes()
    inputs: Mapping[str, str] = field(default_factory=dict)  # text shown beside the result

    def __post_init__(self):
        fill = object.__setattr__
        fill(self, "ias", np.atleast_1d(np.asarray(self.ias, dtype=float)))
        if not len(self):
            raise ValueError("no stalls were given; at least one is needed")
        if self.flap is None:
            fill(self, "flap", self.configuration)
        for f in fields(self):
            if "kind" in f.metadata:
                given = getattr(self, f.name)
                try:
                    fill(self, f.name, np.broadcast_to(np.asarray(given, f.metadata["kind"]), len(self)))
                except ValueError:
                    raise ValueError(
                        f"{f.name} has {np.size(given)} values for {len(self)} stalls; give one each, or one for all"
                    ) from None
        self._check()

    def __len__(self) -> int:
        return len(self.ias)

    def _check(self):
        for name in POSITIVE:
            _positive(name, np.atleast_1d(np.asarray(getattr(self, name), dtype=float)))
        _positive("load_factor", self.load_factor[~np.isnan(self.load_factor)])
        for name, bounds in BOUNDS.items():
            values = np.asarray(getattr(self, name), dtype=float)
            check(name, values if name == "thrust_angle" else values[~np.isnan(values)], *bounds)  # NaN: not known
        if np.any((self.entry_rate < 0.0) | (self.entry_rate > FASTEST_ENTRY)):
            raise ValueError(
                f"entry_rate must lie between 0 and {FASTEST_ENTRY:g} m/s2 (speed lost per second, positive): is its "
                "unit right?"
            )
        for name, allowed in (("speed_kind", KINDS), ("ended", ENDINGS)):
            if unknown := set(np.unique(getattr(self, name)).tolist()) - set(allowed):
                raise ValueError(f"{name} '{sorted(unknown)[0]}' is not one of {', '.join(allowed)}")

    def chosen(self, mask) -> Stalls:
        """Some of the stalls: those of a mask (N,) [-]."""
        if np.all(mask):
            return self
        return replace(self, **{f.name: getattr(self, f.name)[mask] for f in fields(self) if "kind" in f.metadata})

    @cached_property
    def outcome(self) -> np.ndarray:
        """How each stall counts (N,): as it ended, a mush as a break; or below the needle's scale."""
        return np.where(self.below_scale, BELOW, np.where(np.isin(self.ended, STALLED), "break", self.ended))

    @cached_property
    def states(self) -> States:
        """Modification and flap setting of every stall, with their position corrections."""
        pairs, index = unique_rows(self.modification, self.flap)
        missing = SpeedCorrection(standard_uncertainty=self.errors.position, origin=ASSUMED_ZERO)
        found = tuple(correction_of(self.position, p, self.errors.change) or missing for p in pairs)
        return States(index, tuple(joined(m, f) for m, f in pairs), found)

    @cached_property
    def area_labels(self) -> np.ndarray | str:
        """What shares one error of the wing area: stalls flown with the same area and the same care in taking it."""
        pairs = np.column_stack([self.wing_area, np.nan_to_num(self.wing_area_uncertainty, nan=-1.0)])
        if np.all(pairs == pairs[0]):
            return ""
        areas, code = np.unique(pairs, axis=0, return_inverse=True)
        for m in np.unique(self.modification):
            mine = np.unique(code[self.modification == m])
            if len(mine) > 1:
                listed = " and ".join(f"{areas[k][0]:g}" for k in mine[:2])
                raise ValueError(f"modification '{m}' has wing areas of {listed} m2; give one for each modification")
        return np.array([f"{a:.6g} m2" + (f" within {u:.3g}" if u >= 0.0 else "") for a, u in areas])[code.ravel()]

    def thrust_of(self, power: str) -> Thrust:
        """What is known of the thrust in a power setting."""
        return self.thrust.get(power) or Thrust(known=power in ("idle", "off"))

    @cached_property
    def margins(self) -> dict[str, np.ndarray]:
        """How far above its own stall each warning came, calibrated (N,) [m/s]; NaN where not noted."""

        def calibrated(reading):
            inner, lift = self.instrument.corrected(reading), self.weight * GRAVITY
            return self.states.each(lambda c, mask: c.at(lift[mask]).corrected(inner[mask]))

        stalled, out = calibrated(self.ias), {}
        for name, speed in (("warning", self.warning_ias), ("buffet", self.buffet_ias)):
            noted = np.isfinite(speed)
            out[name] = np.where(noted, calibrated(np.where(noted, speed, self.ias)) - stalled, np.nan)
        return out

    def needle(self, i: int, cas: float) -> float:
        """What the needle shows [m/s] at a calibrated speed [m/s] in the state of stall i, at the reference weight."""
        correction = self.states.corrections[self.states.index[i]]
        return float(indicated(cas, correction, self.instrument, self.reference_weight * GRAVITY))


@dataclass(frozen=True)
class States:
    """Modification and flap setting of every stall, and the position correction each of them has."""

    index: np.ndarray  # (N,) into the lists below
    labels: tuple[str, ...]
    corrections: tuple[SpeedCorrection | LiftCorrection, ...]

    @property
    def by_lift(self) -> bool:
        """Whether any correction goes with the lift coefficient."""
        return any(c.by_lift for c in self.corrections)

    def each(self, function) -> np.ndarray:
        """`function(correction, mask)` for every state, into one array (N,)."""
        out = np.empty(len(self.index))
        for k, correction in enumerate(self.corrections):
            mask = self.index == k
            out[mask] = function(correction, mask)
        return out


def _positive(name, values):
    bad = ~(np.isfinite(values) & (values > 0.0))
    if bad.any():
        i = int(np.argmax(bad))
        raise ValueError(
            f"{name} must be positive and finite; value {i} is {values[i]}: leave the stall out, or give the number"
        )
