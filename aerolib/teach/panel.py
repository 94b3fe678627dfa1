"""The exercises of one workbook: questions of a class, a box for each answer, and what went wrong by name."""

from __future__ import annotations

import ipywidgets as w

from aerolib.show.panels.base import Panel, guarded
from aerolib.show.render import tag, words
from aerolib.teach.exercises import LARGEST_SEED, NEAR, Exercise, exercises_of, judge
from aerolib.units import UnitProblem, parse_number


class ExercisePanel(Panel):
    """Class number, questions, boxes, feedback."""

    def __init__(self, workbook: str, seed: int = 1):
        super().__init__()
        self.exercises = exercises_of(workbook)
        self.seed = w.BoundedIntText(seed, min=0, max=LARGEST_SEED, description="Class number",
                                     style={"description_width": "110px"}, continuous_update=False)  # fmt: skip
        self.questions = {e.key: w.HTML() for e in self.exercises}
        self.answers = {e.key: w.Text(description="Your answer", continuous_update=False) for e in self.exercises}
        self.feedback = {e.key: w.HTML() for e in self.exercises}
        rows = [
            w.HBox([self.seed, w.HTML(f"press Enter after each number; {100 * NEAR:g} % either way counts as right")])
        ]
        for k, e in enumerate(self.exercises, 1):
            self.questions[e.key].add_class(f"exercise-{e.key}")
            self.answers[e.key].add_class(f"exercise-{e.key}-answer")
            self.feedback[e.key].add_class(f"exercise-{e.key}-feedback")
            self.answers[e.key].observe(lambda change, e=e: self._check(e), "value")
            unit = "" if e.unit == "-" else e.unit
            rows.append(w.VBox([w.HTML(f"<h4>Question {k}</h4>"), self.questions[e.key],
                                w.HBox([self.answers[e.key], w.HTML(unit)]), self.feedback[e.key]]))  # fmt: skip
        self.seed.observe(self._ask, "value")
        self.assemble(*rows)
        self._ask()

    @guarded
    def _ask(self, *_):
        for e in self.exercises:
            self.questions[e.key].value = tag("div", e.question(self.seed.value), style="max-width:800px")
            self.answers[e.key].value, self.feedback[e.key].value = "", ""

    @guarded
    def _check(self, e: Exercise):
        text = self.answers[e.key].value.strip().removesuffix(e.unit).strip()  # the unit may stand behind it
        if not text:
            self.feedback[e.key].value = ""
            return
        try:
            given = parse_number(text)
        except UnitProblem as problem:
            self.feedback[e.key].value = tag("p", words(str(problem)))
            return
        n = e.numbers(self.seed.value)
        said = judge(given, e.right(n), {k: f(n) for k, f in e.slips.items()}, e.hint)
        self.feedback[e.key].value = tag("p", words(said))
