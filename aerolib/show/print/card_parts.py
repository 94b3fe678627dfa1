"""What the pages of the card for the knee are drawn from: frame, heights, boxes to tick, grids to fill in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerolib.show.print.drawings import INK, LEADING, MM_PER_POINT, Paper, text_width, wrap

if TYPE_CHECKING:
    from aerolib.show.print.card import Heights

PAPERS = {"A5": (148.0, 210.0), "half Letter": (140.0, 216.0)}  # [mm]
MARGIN = 7.0  # [mm]
READ, SMALL = 9.0, 7.0  # sizes [points]: read in flight, read on the ground
STEP, SMALL_STEP = READ * MM_PER_POINT * LEADING, SMALL * MM_PER_POINT * LEADING
TICK = 4.0  # side of a box to tick [mm]
RISE = 6.2  # row of the build-up to the next [mm]
ROW, TALLEST = 7.0, 11.0  # row of a grid [mm]
HEAD = 9.6  # head of a grid [mm]
CG = ("middle CG", "forward CG", "aft CG")

GROUND = (
    "Controls full and free; clearance at every device over the full travel.",
    "Devices counted: fitted ______  found ______",
    "Essential crew only. Ballast secured.",
    "Weight within limits; middle CG before the limits, forward before aft.",
    "Test area within reach of a landing field should the engine stop at idle.",
)
STOP = (
    "bank beyond 15 degrees that the controls do not check",
    "stick force lightens or reverses",
    "ailerons act the wrong way",
    "controls or tail shake, other than known buffet",
    "more height lost than planned: {lost} in a stall",
    "a device is missing",
    "turbulence",
)
CAUTIONS = (
    "The heights are the pilot's choice: more height where the height lost is not known well. No spin is planned; a "
    "recovery shown before a change is no evidence after it. Fly within the weight and CG limits and the "
    "conditions of the permit or certificate, a licensed instructor or inspector consulted first. Placards, "
    "markings and approach speeds stay unchanged."
)
LEGEND = (
    ("kind", "m~minimum (lowest seen), b~break (at the break), s~steady (held)"),
    ("ended", "b~break (nose or wing dropped), m~mush (sank, no drop, stick not on the stop), "
     "s~stop (stick on the stop, still flying), e~early (recovered at warning, buffet or by choice), u~unknown"),
)  # fmt: skip
NOT_YET = "Do not use this page until every box of part 1 is ticked and signed."


@dataclass(frozen=True)
class Card:
    """What is printed, in the owner's units."""

    airplane: str
    invented: bool
    modification: str
    configurations: tuple[str, ...]  # by rising flap setting
    heights: Heights
    columns: dict[str, str]  # unit by column of `stalls.csv`
    first_mark: str  # '<35'
    stalls: int
    power: bool
    turning: bool
    done: bool
    guidance: str

    def steps(self) -> list[str]:
        """The steps of the build-up in the air, in their order."""
        idle = [f"stall at idle, {name}" for name in self.configurations]
        power = ["power stalls, the same order"] if self.power else []
        turning = ["turning stalls, the same order"] if self.turning else []
        return ["approach to the stall, recovery at the first sign", *idle, *power, *turning]


def pages(card: Card, width: float, height: float) -> list[Paper]:
    """All pages of the card on paper of this size [mm]."""
    steps = card.steps()
    first, later = (_Page(card, width, height, 0, 0).room_for_steps(full) for full in (True, False))
    titles = [steps[:first], *[steps[k : k + later] for k in range(first, len(steps), later)]]
    per_page = _Page(card, width, height, 0, 0).grids_on_a_page()
    names = card.configurations
    grids = [names[k : k + per_page] for k in range(0, len(names), per_page)]
    total, out = len(titles) + len(grids), []
    for k, rows in enumerate(titles):
        page = _Page(card, width, height, k + 1, total)
        page.build_up(rows, first=k == 0, last=k == len(titles) - 1)
        out.append(page.paper)
    for k, shown in enumerate(grids):
        page = _Page(card, width, height, len(titles) + k + 1, total)
        page.measuring(shown)
        out.append(page.paper)
    return out


def fitted(words: str, width: float, size: float, weight: str = "normal") -> str:
    """The text, cut off with '...' where it is wider than `width` [mm]."""
    if text_width(words, size, weight) <= width:
        return words
    while words and text_width(words + "...", size, weight) > width:
        words = words[:-1]
    return words.rstrip() + "..."


class _Page:
    """One page, filled from the top; `y` is the height [mm] down to which it is full."""

    def __init__(self, card: Card, width: float, height: float, number: int, total: int):
        self.card, self.number, self.total = card, number, total
        self.left, self.right = MARGIN, width - MARGIN
        self.wide = self.right - self.left
        self.top = height - MARGIN
        self.paper = Paper(width, height)
        self.y = self.top

    # What both parts share

    def frame(self, title: str):
        """Title, airplane and modification, and the cautions at the foot."""
        paper, card = self.paper, self.card
        paper.text(self.left, self.top - 5.0, title, 14, weight="bold")
        note = "INVENTED: not for flight    " if card.invented else ""
        paper.text(self.right, self.top - 5.0, f"{note}{self.number} of {self.total}", READ, "right")
        state = fitted(f"modification: {card.modification}", 0.7 * self.wide, READ, "bold")
        paper.text(self.left, self.top - 10.2, state, READ, weight="bold")
        rest = self.wide - text_width(state, READ, "bold") - 4.0
        paper.text(self.right, self.top - 10.2, fitted(card.airplane, rest, READ), READ, "right")
        self.y = self.top - 12.2
        foot = self.foot()
        paper.line([(self.left, foot), (self.right, foot)], INK, 0.8)
        body, self.y = self.y, foot - 0.6
        self.say(CAUTIONS, SMALL)
        self.y = body

    def foot(self) -> float:
        """The upper edge of the foot [mm]."""
        return MARGIN + 1.6 + SMALL_STEP * len(wrap(CAUTIONS, self.wide, SMALL))

    def band(self, working: bool):
        """Entry and recovery heights, large; with `working`, where they come from."""
        paper, h, half, tall = self.paper, self.card.heights, 0.5 * self.wide, 16.6
        bottom = self.y - tall
        paper.box(self.left, bottom, self.wide, tall, line=1.2)
        paper.line([(self.left + half, bottom), (self.left + half, self.y)], INK, 0.8)
        for x, label, value in (
            (self.left, "enter no lower than", h.entry),
            (self.left + half, "recovery complete by", h.recovery),
        ):
            paper.text(x + 1.5, self.y - 4.0, label, READ)
            shown = "" if h.ground is None else h.say(value + h.ground)  # no number without its setting
            wide = text_width(shown or h.say(88_888), 14, "bold")
            if shown:
                paper.text(x + 1.5, self.y - 9.6, shown, 14, weight="bold")
            else:
                paper.line([(x + 1.5, self.y - 10.4), (x + 1.5 + wide, self.y - 10.4)], INK, 0.8)
            unit = "" if shown else f"{h.unit}, "
            paper.text(x + 3.0 + wide, self.y - 9.6, f"{unit}altimeter on QNH", READ)
            above = h.say(value)
            paper.text(x + 1.5, self.y - 14.8, above, READ, weight="bold")
            paper.text(x + 3.0 + text_width(above, READ, "bold"), self.y - 14.8, "above ground", READ)
        self.y = bottom - 0.8
        if working:
            self.say(h.working(), 8.0)
        if h.low:
            self.say(h.warning(), READ, "bold")

    def say(self, words: str, size: float = READ, weight: str = "normal"):
        """A paragraph over the whole width."""
        em = size * MM_PER_POINT
        for line in wrap(words, self.wide, size, weight):
            self.paper.text(self.left, self.y - em, line, size, weight=weight)
            self.y -= em * LEADING
        self.y -= 0.3

    # Part 1

    def room_for_steps(self, first: bool) -> int:
        """How many steps of the build-up fit on a page."""
        self._above(first)
        return max(1, int((self.y - self.foot() - self._below()) / RISE))

    def build_up(self, steps, first: bool, last: bool):
        """Boxes to tick, and when to stop."""
        self._above(first)
        x = self._boxes()
        for name in steps:
            self.y -= RISE
            paper, base = self.paper, self.y + 1.7
            paper.text(self.left, base, fitted(name, x[0] - self.left - 4.0, READ), READ)
            for middle in x:
                paper.box(middle - TICK / 2, self.y + 0.9, TICK, TICK, line=0.8)
            paper.line([(self.left, self.y), (self.right, self.y)], INK, 0.3)
        self._stop(signed=last)

    def _boxes(self):
        """Middles of the three columns to tick [mm]."""
        w = [text_width(c, READ) + 4.0 for c in CG]
        return [self.right - w[2] - w[1] - w[0] / 2, self.right - w[2] - w[1] / 2, self.right - w[2] / 2]

    def _above(self, first: bool):
        self.frame("1 Build-up" if first else "1 Build-up, continued")
        self.band(working=first)
        if first:
            self.y -= 1.4
            self._title("On the ground")
            for words in GROUND:
                lines = wrap(words, self.wide - TICK - 2.0, READ)
                self.paper.box(self.left, self.y - TICK - 0.3, TICK, TICK, line=0.8)
                for k, line in enumerate(lines):
                    self.paper.text(self.left + TICK + 2.0, self.y - 3.3 - k * STEP, line, READ)
                self.y -= max(5.4, len(lines) * STEP + 1.2)
        self.y -= 1.0
        self._title("In the air")
        self.say("Down one column, then the next. Continue only if no stop condition occurred.")
        self.y -= 4.6
        for middle, words in zip(self._boxes(), CG):
            self.paper.text(middle, self.y + 1.2, words, READ, "center")
        self.paper.line([(self.left, self.y), (self.right, self.y)], INK, 0.8)

    def _title(self, words: str):
        self.paper.text(self.left, self.y - 3.6, words, 10, weight="bold")
        self.y -= 5.2

    def _below(self) -> float:
        """Height of what stands below the steps [mm]."""
        return self._stop_box() + 2.0 + 10.5

    def _stop_box(self) -> float:
        return 6.6 + STEP * len(STOP) + 0.8

    def _stop(self, signed: bool):
        paper, tall = self.paper, self._stop_box()
        self.y -= 2.0
        paper.box(self.left, self.y - tall, self.wide, tall, line=1.8)
        paper.text(self.left + 2.0, self.y - 4.8, "Stop the test if:", 10, weight="bold")
        for k, words in enumerate(STOP):
            words = words.format(lost=self.card.heights.say(self.card.heights.lost))
            paper.text(self.left + 2.0, self.y - 6.4 - 3.0 - k * STEP, f"\u2022 {words}", READ)
        self.y -= tall
        if signed:
            paper.text(self.left, self.y - 8.0, "All boxes ticked: signed", READ)
            start = self.left + text_width("All boxes ticked: signed", READ) + 2.0
            middle = start + 0.62 * (self.right - start)
            paper.line([(start, self.y - 8.6), (middle - 2.0, self.y - 8.6)], INK, 0.6)
            paper.text(middle, self.y - 8.0, "date", READ)
            paper.line([(middle + text_width("date", READ) + 2.0, self.y - 8.6), (self.right, self.y - 8.6)], INK, 0.6)
            self.y -= 9.0
        found = f"Published on height: {self.card.guidance}."
        tall = SMALL_STEP * len(wrap(found, self.wide, SMALL)) + 1.5
        if self.y - self.foot() > tall + 2.0:
            self.y = self.foot() + tall
            self.say(found, SMALL)

    # Part 2

    def grids_on_a_page(self) -> int:
        """How many grids fit on a page."""
        self._header()
        return max(1, int((self.y - self._legend_height() - self.foot()) / self._grid(ROW)))

    def _grid(self, row: float) -> float:
        return 6.4 + HEAD + self.card.stalls * row

    def measuring(self, names):
        """A grid for each of these configurations, and the words to write into it."""
        self._header()
        room = self.y - self._legend_height() - self.foot()
        row = (room / len(names) - 6.4 - HEAD) / self.card.stalls
        for name in names:
            self._fill_in(name, min(row, TALLEST))
        self._legend()

    def _header(self):
        card, u = self.card, self.card.columns
        self.frame("2 Measuring")
        self.band(working=False)
        words = NOT_YET if not card.done else "Build-up of this modification ticked and signed on:"
        self.y -= 0.6
        if not card.done:
            self.paper.box(self.left, self.y - 6.2, self.wide, 6.2, line=1.8)
            size = READ
            while text_width(words, size, "bold") > self.wide - 2.0:
                size -= 0.1
            self.paper.text(0.5 * (self.left + self.right), self.y - 4.3, words, size, "center", weight="bold")
        else:
            self.paper.text(self.left, self.y - 4.3, words, READ)
            start = self.left + text_width(words, READ) + 2.0
            self.paper.line([(start, self.y - 5.0), (self.right, self.y - 5.0)], INK, 0.6)
        self.y -= 7.6
        fields = (
            ("date", "flight", f"crew, load [{u['crew']}]"),
            (f"CG [{u['cg']}]", f"pressure altitude [{u['pressure_altitude']}]", f"temperature [{u['temperature']}]"),
        )
        wide, tall = self.wide / 3, 10.0
        for row in fields:
            for k, words in enumerate(row):
                self.paper.box(self.left + k * wide, self.y - tall, wide, tall)
                self.paper.text(self.left + k * wide + 1.0, self.y - 3.7, words, READ)
            self.y -= tall

    def _fill_in(self, name: str, row: float):
        paper, u = self.paper, self.card.columns
        power = "power ____________" if self.card.power else "power: idle"
        if self.card.turning:
            power += "  bank ______"
        room = self.wide - text_width(power, READ) - 4.0
        self.y -= 4.6
        paper.text(self.left, self.y + 0.2, fitted(name, room, 10, "bold"), 10, weight="bold")
        paper.text(self.right, self.y + 0.2, power, READ, "right")
        self.y -= 1.8
        heads = (
            ("", "", 5.8), ("IAS", u["ias"], 14.0), ("kind", "m b s", 12.5), ("ended", "b m s e u", 14.0),
            ("warning", u["warning_ias"], 15.6), ("buffet", u["buffet_ias"], 13.0), ("rate", u["entry_rate"], 12.5),
            ("lost", u["height_lost"], 10.5), ("fuel", u["fuel"], 10.5),
        )  # fmt: skip
        columns = [(a, b, max(least, 1.6 + max(text_width(t, READ) for t in (a, b)))) for a, b, least in heads]
        columns.append(("remarks", "", self.wide - sum(c[2] for c in columns)))
        x, bottom = self.left, self.y - HEAD - self.card.stalls * row
        for word, below, wide in columns:
            paper.line([(x, self.y), (x, bottom)], INK, 0.5)
            for k, text in enumerate((word, below)):
                paper.text(x + wide / 2, self.y - 3.8 - k * 4.2, text, READ, "center")
            x += wide
        paper.line([(self.right, self.y), (self.right, bottom)], INK, 0.5)
        paper.line([(self.left, self.y), (self.right, self.y)], INK, 0.9)
        self.y -= HEAD
        for k in range(self.card.stalls):
            paper.line([(self.left, self.y), (self.right, self.y)], INK, 0.5 if k else 0.9)
            paper.text(self.left + 2.9, self.y - row / 2 - 1.15, str(k + 1), READ, "center")
            self.y -= row
        paper.line([(self.left, self.y), (self.right, self.y)], INK, 0.9)

    def _legend_lines(self):
        scale = f"{self.card.first_mark} under IAS: below the scale. rate: knots lost over the seconds of the "
        scale += "last 10 % of speed. lost: height lost."
        words = [f"{word}: {text}".replace("~", "\u00a0") for word, text in LEGEND]
        return [*words, scale, "Stop for any reason listed in part 1."]

    def _legend_height(self) -> float:
        return 3.0 + STEP * sum(len(wrap(t, self.wide, READ)) for t in self._legend_lines())

    def _legend(self):
        self.y -= 1.2
        for words in self._legend_lines():
            self.say(words)
            self.y += 0.3
