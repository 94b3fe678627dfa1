"""Questions with a box for the answer, and what went wrong by name: those of a class, for one workbook."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import ipywidgets as w

from aerolib.show.panels.base import Panel, guarded
from aerolib.show.render import part_html, tag
from aerolib.teach.exercises import LARGEST_SEED, NEAR, Exercise, exercises_of, judge
from aerolib.units import UnitProblem, parse_number


class Question(w.VBox):
    """One question, a box to answer in, and the verdict of `judged`, a function of the number given."""

    def __init__(self, name: str, judged: Callable[[float], str], unit: str = "", label: str = "Your answer",
                 example: str = ""):  # fmt: skip
        self.judged, self.unit = judged, unit
        self.question, self.feedback = w.HTML(), w.HTML()
        self.answer = w.Text(description=label, placeholder=example, continuous_update=False)
        for part, ending in ((self.question, ""), (self.answer, "-answer"), (self.feedback, "-feedback")):
            part.add_class(f"{name}{ending}")
        self.answer.observe(self._check, "value")
        super().__init__([self.question, w.HBox([self.answer, w.HTML(unit or "press Enter")]), self.feedback])

    def ask(self, question: str) -> None:
        """Put a question (HTML); what was answered before goes."""
        self.question.value = tag("div", question, style="max-width:800px")
        self.answer.value = self.feedback.value = ""

    def _check(self, *_) -> None:
        text = self.answer.value.strip().removesuffix(self.unit).strip()  # the unit may stand behind it
        try:
            self.feedback.value = part_html(self.judged(parse_number(text))) if text else ""
        except UnitProblem as e:
            self.feedback.value = part_html(str(e))


class ExercisePanel(Panel):
    """Class number and the questions of a workbook."""

    def __init__(self, workbook: str, seed: int = 1):
        super().__init__()
        self.seed = w.BoundedIntText(seed, min=0, max=LARGEST_SEED, description="Class number",
                                     style={"description_width": "110px"}, continuous_update=False)  # fmt: skip
        self.questions = [
            (e, Question(f"exercise-{e.key}", partial(self._judged, e), e.unit.strip("-")))
            for e in exercises_of(workbook)
        ]
        how = f"press Enter after each number; {100 * NEAR:g} % either way counts as right"
        self.assemble(w.HBox([self.seed, w.HTML(how)]), *(box for _, box in self.questions))
        self.watch(self.seed, update=self._ask)
        self._ask()

    @guarded
    def _ask(self, *_):
        for k, (e, box) in enumerate(self.questions, 1):
            box.ask(tag("h4", f"Question {k}") + e.question(self.seed.value))

    def _judged(self, e: Exercise, given: float) -> str:
        n = e.numbers(self.seed.value)
        return judge(given, e.right(n), {k: f(n) for k, f in e.slips.items()}, e.hint)
