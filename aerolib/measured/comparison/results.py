"""What a comparison gives back: changes, each with its verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from aerolib.estimate import Estimate
from aerolib.sources import BORROWED

SHOWN, SUGGESTED = 0.975, 0.80  # probabilities under a flat prior: our convention
FEW_FLIGHTS = 40  # with more, no single flight decides, and leaving each out in turn would only cost time
MEASURES_OF_SPEED = ("break", "mush", "stop")  # an early recovery measures the pilot's decision, not the airplane


@dataclass(frozen=True)
class Verdict:
    """'a gain is shown', and why not more."""

    words: str  # shown, suggested, not shown
    direction: str  # gain, loss
    decided_by: str | None = None  # the flight without which the sign would turn

    def at_most_suggested(self) -> Verdict:
        """The same, where something that the interval does not hold speaks against 'shown'."""
        return replace(self, words="suggested") if self.words == "shown" else self

    def __str__(self) -> str:
        if self.words == "not shown":
            return "not shown"
        text = f"a {self.direction} is {self.words}"
        return text + (f" (without flight {self.decided_by} its sign would turn)" if self.decided_by else "")


def verdict_of(probability: float, without: Mapping[str, float | None]) -> Verdict:
    """Plain words for the probability that CLmax rose.

    shown: at least 0.975, and no single flight decides the sign; suggested: at least 0.80; the same for a loss.

    Parameters
    ----------
    probability : float [-]
        That the change is above zero, flat prior.
    without : mapping flight -> ln ratio without it [-]
        None where nothing is left to compare.

    Returns
    -------
    Verdict [-]
    """
    direction = "gain" if probability >= 0.5 else "loss"
    sure = max(probability, 1.0 - probability)
    sign = 1.0 if direction == "gain" else -1.0
    turning = next((f for f, x in without.items() if x is not None and sign * x <= 0.0), None)
    if sure >= SHOWN and turning is None:
        return Verdict("shown", direction)
    if sure >= SUGGESTED:
        return Verdict("suggested", direction, turning)
    return Verdict("not shown", direction)


@dataclass(frozen=True)
class OneStall:
    """What leaving out one stall at a time does to ln of what is judged."""

    low: float  # [-]
    high: float  # [-]
    stall: int  # that moves it most: its position among the stalls of the two states
    name: str
    value: float  # without that stall [-]


@dataclass(frozen=True)
class Change:
    """Before to after in one configuration and power."""

    configuration: str
    power: str
    apparent: bool
    ratio: Estimate | None = None  # CLmax after over before
    delta_clmax: Estimate | None = None
    delta_stall_speed_1g: Estimate | None = None  # CAS [m/s]
    delta_on_dial: float | None = None  # change of the indicated 1-g stall speed [m/s]
    interval_on_dial: tuple[float, float] | None = None  # [m/s]; None where a state is not calibrated
    delta_speeds_seen: tuple[Estimate, ...] = ()  # lowest speeds as flown, CAS [m/s]
    ratio_at_least: float | None = None  # one-sided 95 % limit, where 'after' did not break
    probability_improved: float | None = None
    verdict: Verdict | None = None
    without: Mapping[str, float | None] = field(default_factory=dict)  # ln of what is judged without each flight
    stalls: OneStall | None = None
    areas: tuple[float, float] | None = None  # wing area before and after [m2], where it changed
    lift_ratio: Estimate | None = None  # CLmax times wing area, after over before, where the area changed
    bounded: str | None = None  # how the stalls of the state, or states, without a CLmax ended
    leans_on: tuple[str, ...] = ()  # why the answer is less sure than its interval: sentences for beside the verdict

    @property
    def name(self) -> str:
        """'flap 20, idle'."""
        return f"{self.configuration}, {self.power}"

    @property
    def judged(self) -> Estimate | None:
        """The ratio that probability and verdict are about."""
        return self.lift_ratio or self.ratio

    @property
    def of(self) -> str:
        """What that is the ratio of."""
        return "CLmax" if self.areas is None else "CLmax times wing area"

    def leaning_on(self, alone: str | None, lent, hidden=()) -> Change:
        """The same change with what it leans on: `lent` are pairs of states (who borrowed its correction, whose).

        `alone`: why it leans on a correction that changed with this flap alone; `hidden`: sentences on states with
        stalls below the scale beside those averaged. Nothing is 'shown' by it where there is either.
        """
        sentences = [f"'{who}' borrowed the airspeed correction of '{whose}'" for who, whose in lent]
        verdict = self.verdict
        if alone is not None and verdict is not None:
            sentences.insert(0, alone)
        if verdict is not None and (alone is not None or hidden):
            verdict = verdict.at_most_suggested()
        return replace(self, verdict=verdict, leans_on=(*sentences, *hidden))

    @property
    def borrowed(self) -> list[tuple[str, str, float]]:
        """(state that borrowed its airspeed correction, state that lent it, its share of the answer's variance)."""
        if self.judged is None:
            return []
        total = self.judged.standard_uncertainty**2
        lent = ((s.label.rsplit(" | ", 2), part) for s, part in self.judged.parts.items() if s.name == BORROWED)
        return [(who, whose, part**2 / total) for (_, who, whose), part in lent]


@dataclass(frozen=True)
class Comparison:
    """Everything before against after."""

    before: str
    after: str
    changes: tuple[Change, ...]
    common: Estimate | None = None  # one ratio for all configurations at known thrust
    agree: bool | None = None  # whether the configurations agree on it
    probability_improved: float | None = None  # by that common ratio
    verdict: Verdict | None = None  # of that common ratio: the one answer; each configuration is told beside it
    by_chance: float | None = None  # how often at least one configuration says 'shown' where nothing changed [-]
    notes: tuple[str, ...] = ()

    @property
    def of(self) -> str:
        """What the ratios are of."""
        return next((c.of for c in self.changes if c.areas is not None), "CLmax")

    def __getitem__(self, key) -> Change:
        """The change of a configuration at idle, or of (configuration, power)."""
        wanted = (key, "idle") if isinstance(key, str) else tuple(key)
        for change in self.changes:
            if (change.configuration, change.power) == wanted:
                return change
        raise KeyError(f"no change of {wanted}; there are {'; '.join(c.name for c in self.changes)}")

    def leans_on(self) -> list[str]:
        """What the common ratio leans on, through the settings it is made of."""
        settings: dict[str, list[str]] = {}
        for c in self.changes:
            for why in c.leans_on if c.judged is not None and not c.apparent else ():
                settings.setdefault(why, []).append(c.configuration)
        return [f"{', '.join(names)}: {why}" for why, names in settings.items()]
