"""What of a test programme was flown already, and what is left of it."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Flown:
    """Flights flown so far in the first and in the last state; once the last was flown, the first is usually over."""

    before: int = 0
    after: int = 0
    states: tuple[str, str] = ("before", "after")

    def over(self, removable: bool | None) -> bool:
        """Whether the first state cannot be flown again: the modification is on, and nobody said it comes off [-]."""
        return self.after > 0 and removable is not True

    def possible(self, removable: bool | None) -> tuple[float, float]:
        """Fewest and most flights in each state of a programme that can still be flown [-]; bonded: two at least."""
        return (1, self.before) if self.over(removable) else (2 if removable is False else 1, math.inf)

    def left(self, flights: int, removable: bool | None) -> tuple[int, int]:
        """Flights left in each state of a programme of so many `flights` [-]; bonded: two days before at least."""
        days = max(flights, 2) if removable is False else flights
        before = 0 if self.over(removable) else max(days - self.before, 0)
        return before, max(flights - self.after, 0)

    def order(self, flights: int, removable: bool | None) -> list[tuple[int, str]]:
        """(day, state) of the flights left of a programme of so many `flights` [-], in the order to fly them."""
        first, last = self.states
        if removable:  # alternately; those flown already are taken off the beginning
            of_day = ((d, (first, last)[:: 1 if d % 2 == 0 else -1]) for d in range(flights))
            done = {first: self.before, last: self.after}
            return [(d + 1, s) for d, both in of_day for s in both if d >= done[s]]
        before, after = self.left(flights, removable)
        return [(d + 1, first if d < before else last) for d in range(before + after)]

    def words(self, flights: int, removable: bool | None) -> str:
        """What was flown and what is left of a programme of `flights` [-], in sentences; empty before the first one."""
        if not self.before + self.after:
            return ""
        text, left = f"Flown so far: {self._told((self.before, self.after))}.", self.left(flights, removable)
        if not self.over(removable):
            return f"{text} {self._left(left, flights)}"
        first = self.states[0]
        if not self.before:
            return f"{text} Nothing can be compared unless the modification comes off and '{first}' is flown."
        return (
            f"{text} {self._left(left, flights)} The modification is on, so '{first}' stays as it was flown; if it "
            "comes off between flights, say so in workbook 02, and more flights in both states are planned."
        )

    def _left(self, left, flights: int) -> str:
        of = f"{flights} flight{'' if flights == 1 else 's'} in each state"
        return f"Still to be flown: {self._told(left)}." if any(left) else f"A test program of {of} is flown."

    def _told(self, numbers) -> str:
        return " and ".join(f"{n} flight{'' if n == 1 else 's'} in '{s}'" for n, s in zip(numbers, self.states))


NONE = Flown()
