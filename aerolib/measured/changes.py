"""What a comparison gives back: changes with a verdict in plain words."""

from __future__ import annotations

import html
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from aerolib.estimate import Estimate, digits
from aerolib.measured.stalls.results import cautions_html, in_knots
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
    ratio: Estimate | None  # CLmax after over before
    delta_clmax: Estimate | None
    delta_stall_speed_1g: Estimate | None  # CAS [m/s]
    delta_speeds_seen: tuple[Estimate, ...]  # lowest speeds as flown, CAS [m/s]
    ratio_at_least: float | None  # 95 % sure, where 'after' did not break
    probability_improved: float | None
    verdict: Verdict | None
    without: Mapping[str, float | None]  # ln of what is judged with each flight left out
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

    def leaning_on(self, alone: str | None, lent) -> Change:
        """The same change with what it leans on.

        Parameters
        ----------
        alone : text or None [-]
            Why it leans on a correction that changed with this flap alone: then nothing is 'shown'.
        lent : iterable of (borrower, lender) [-]
            States whose correction is that of another.

        Returns
        -------
        Change [-]
        """
        sentences = [f"'{who}' borrowed the airspeed correction of '{whose}'" for who, whose in lent]
        verdict = self.verdict
        if alone is not None and verdict is not None:
            sentences.insert(0, alone)
            verdict = verdict.at_most_suggested()
        return replace(self, verdict=verdict, leans_on=tuple(sentences))

    @property
    def borrowed(self) -> list[tuple[str, str, float]]:
        """(state that borrowed its airspeed correction, state that lent it, its share of the answer's variance)."""
        if self.judged is None:
            return []
        total = self.judged.standard_uncertainty**2
        return [(*s.label.rsplit(" | ", 2)[1:], part**2 / total) for s, part in self.judged.parts.items()
                if s.name == BORROWED]  # fmt: skip

    def settled_by(self) -> str | None:
        """What would narrow the answer most."""
        if self.judged is None:
            return None
        top = self.judged.budget()[0]
        remedies = {
            "position error": "airspeed calibration (GPS legs) in both states, down to near the stall",
            BORROWED: f"fly airspeed legs in '{next((who for who, *_ in self.borrowed), '')}', down to near the stall",
            "day to day": "fly on another day in each state; more stalls on the same days add little",
            "loading": "weigh crew and baggage before each flight",
            "reading": "more stalls, or film the indicator",
            "load factor, each stall": "more stalls at the same entry rate",
            "load factor, shared": "enter at the same rate in both states, or record the load factor",
            "entry rate not noted": "note the entry rate of every stall",
            "weight not noted": "note crew and fuel of every stall",
            "entry rate": "time the entry: it is judged by eye now",
            "entry rate, each flight": "time the entry: it is judged by eye now",
            "entry rate, pilot's habit": "fly both states with one pilot, at one rate",
            "reading, each flight": "film the indicator square on; or fly on more days",
        }
        return f"{top.name} ({top.share:.0%} of the variance): {remedies.get(top.name, 'measure it better')}"

    def headline(self) -> str:
        """The change in one line."""
        return "; ".join([self._change_in_words(), *self.leans_on])

    def _change_in_words(self) -> str:
        if self.ratio is None:
            if self.ratio_at_least is None:
                return f"{self.name}: no CLmax to compare: {self.bounded}"
            return (
                f"{self.name}: a lower limit only, since {self.bounded}: {self.of} is at least "
                f"{self.ratio_at_least:.2f} times what it was (one-sided 95 % limit)"
            )
        text = f"{self.name}: {self.of} {_percent(self.judged)}"
        if self.delta_stall_speed_1g is not None:
            v = in_knots(self.delta_stall_speed_1g)
            d = digits(v.standard_uncertainty)
            text += f"; 1-g stall speed {v.value:+.{d}f} kt ({v.interval95[0]:+.{d}f} to {v.interval95[1]:+.{d}f} kt)"
        alone = "" if self.areas is None else f"; CLmax alone {_percent(self.ratio)}, with another wing area"
        return f"{text}; {self.verdict}{alone}"

    def as_dict(self) -> dict:
        """One item of the JSON list `comparison`."""

        def pair(e):
            return None if e is None else [_number(x) for x in e.interval95]

        v = self.delta_stall_speed_1g and in_knots(self.delta_stall_speed_1g)
        return {
            "configuration": self.configuration, "power": self.power, "apparent": self.apparent,
            "delta_clmax": _number(self.delta_clmax and self.delta_clmax.value),
            "delta_clmax_interval95": pair(self.delta_clmax),
            "ratio": _number(self.ratio and self.ratio.value), "interval95": pair(self.ratio),
            "ratio_at_least": _number(self.ratio_at_least),
            "delta_stall_speed_1g_kt": _number(v and v.value), "interval95_kt": pair(v),
            "delta_speeds_seen_kt": [
                {"of": e.name, "value": _number(in_knots(e).value), "interval95": pair(in_knots(e))}
                for e in self.delta_speeds_seen
            ],
            "probability_improved": _number(self.probability_improved),
            "verdict": None if self.verdict is None else str(self.verdict), "settled_by": self.settled_by(),
            "without_one_stall": None if self.stalls is None else
            [_number(math.exp(x)) for x in (self.stalls.low, self.stalls.high)],
            "wing_area_m2": None if self.areas is None else [_number(x) for x in self.areas],
            "lift_ratio": _number(self.lift_ratio and self.lift_ratio.value),
            "lift_ratio_interval95": pair(self.lift_ratio), "agree": None, "one_setting_shown_by_chance": None,
            "leans_on": list(self.leans_on),
        }  # fmt: skip


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
        settings = {}
        for c in self.changes:
            for why in c.leans_on if c.judged is not None and not c.apparent else ():
                settings.setdefault(why, []).append(c.configuration)
        return [f"{', '.join(names)}: {why}" for why, names in settings.items()]

    def legs_wanted(self, least: float = 0.1) -> list[str]:
        """Which legs would settle a comparison whose airspeed corrections are borrowed, in words."""
        wanted = {}
        for c in self.changes:
            for who, whose, share in c.borrowed:
                if share >= least:
                    wanted.setdefault((who, whose), []).append((share, c.configuration))
        return [
            f"fly airspeed legs in '{who}' ({', '.join(dict.fromkeys(x for _, x in found))}), down to near the stall: "
            f"its correction is borrowed from '{whose}', and that is {max(found)[0]:.0%} of the variance of the change"
            for (who, whose), found in wanted.items()
        ]

    def lines(self) -> list[str]:
        """All changes in words: the common answer first, then each setting as such."""
        return [*self._together(), *(c.headline() for c in self.changes)]

    def _together(self) -> list[str]:
        if self.common is None:
            return []
        names = [c.configuration for c in self.changes if c.judged is not None and not c.apparent]
        left = [c.configuration for c in self.changes if c.judged is None]
        agree = "the settings agree" if self.agree else "the settings do not agree, and one number for all hides that"
        rest = f"; {', '.join(left)} not included" if left else ""
        rest += "".join(f"; {why}" for why in self.leans_on())
        return [
            f"all settings together ({', '.join(names)}): {self.of} {_percent(self.common)}; {self.verdict}; "
            f"{agree}{rest}",
            "each setting for itself (with nothing changed at all, at least one of these "
            f"{len(names)} would say 'shown' in {100 * self.by_chance:.0f} % of such tests, by drawing the errors; "
            "the common answer in 5 %):",
        ]  # fmt: skip

    def as_list(self) -> list[dict]:
        """The JSON list `comparison`; the first item, of configuration null, is the common ratio where there is one."""
        states = {"before": self.before, "after": self.after}
        items = [{**states, **c.as_dict()} for c in self.changes]
        if self.common is not None:
            empty = dict.fromkeys(items[0])
            ends = [_number(x) for x in self.common.interval95]
            keys = ("ratio", "interval95") if self.of == "CLmax" else ("lift_ratio", "lift_ratio_interval95")
            first = {**empty, **states, "apparent": False, **dict(zip(keys, (_number(self.common.value), ends))),
                     "probability_improved": _number(self.probability_improved), "verdict": str(self.verdict),
                     "delta_speeds_seen_kt": [], "agree": self.agree, "leans_on": self.leans_on(),
                     "one_setting_shown_by_chance": _number(self.by_chance)}  # fmt: skip
            items.insert(0, first)
        return items

    def __str__(self) -> str:
        return "\n".join([f"{self.before} to {self.after}", *self.lines(), *self.notes])

    def _repr_html_(self) -> str:
        items = "".join(f"<li>{html.escape(x)}</li>" for x in (*self.lines(), *self.notes))
        return f"<h4>{html.escape(f'{self.before} to {self.after}')}</h4><ul>{items}</ul>{cautions_html()}"


def _percent(ratio: Estimate) -> str:
    value, low, high = (round(100.0 * (x - 1.0)) for x in (ratio.value, *ratio.interval95))
    return f"{value:+d} % (95 %: {low:+d} to {high:+d} %)"


def _number(value) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.6g}")
