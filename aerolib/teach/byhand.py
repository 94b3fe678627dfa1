"""Work one stall by hand: the reader's answer is checked, and the usual slips are named."""

from __future__ import annotations

import ipywidgets as w

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.show.panels.base import Panel, guarded
from aerolib.show.render import tag, words
from aerolib.study import Study
from aerolib.teach.exercises import judge
from aerolib.units import UnitProblem, knots, on_dial, parse_number, to_si


class ByHandPanel(Panel):
    """One stall of the case, its numbers, and a box for the reader's CL."""

    def __init__(self, study: Study):
        super().__init__()
        self.study = study
        self.question = w.HTML()
        self.question.add_class("byhand-question")
        self.answer = w.Text(description="Your CL", placeholder="1.45", continuous_update=False)
        self.feedback = w.HTML()
        self.feedback.add_class("byhand-feedback")
        self.answer.observe(self._check, "value")
        self.assemble(self.question, w.HBox([self.answer, w.HTML("press Enter")]), self.feedback)
        self._ask()

    @guarded
    def _ask(self):
        result, stalls = self.study.reduction, self.study.stalls
        p = result.points
        broke = [k for k in range(len(p.cl)) if p.outcome[k] == "break" and stalls.text["power"][k] == "idle"]
        if not broke:
            self.question.value = "<p>This card holds no stall with a break at idle to work by hand.</p>"
            self.answer.disabled = True
            return
        k = broke[0]
        self.cas, self.ias, self.n = float(p.cas[k]), float(stalls.si["ias"][k]), float(p.load_factor[k])
        self.weight, self.area = float(stalls.weight[k]), self.study.aircraft.wing.area
        self.cl = float(p.cl[k])
        dial = self.study.dial_unit
        in_knots = "" if dial == "kt" else f" ({knots(self.ias):.1f} kt)"
        self.question.value = (
            f"<p>Row {stalls.row[k]} of the card ({words(result.items[p.group[k]].name)}): the needle showed "
            f"<b>{on_dial(self.ias, dial, 1)}</b>{in_knots}, calibrated "
            f"<b>{knots(self.cas):.2f} kt</b> (1 kt = 0.5144 m/s). Weight "
            f"<b>{self.weight:.1f} kg</b>, g = 9.807 m/s², load factor <b>{self.n:.3f}</b>, wing area "
            f"<b>{self.area:.3f} m²</b>, ρ₀ = 1.225 kg/m³, thrust taken as zero. What is "
            "C<sub>L</sub> = n W / (½ ρ₀ V² S)?</p>"
        )

    @guarded
    def _check(self, *_):
        text = self.answer.value.strip()
        if not text:
            self.feedback.value = ""
            return
        try:
            given = parse_number(text)
        except UnitProblem as e:
            self.feedback.value = tag("p", words(str(e)))
            return
        hint = "Turn everything into SI first: knots into m/s, then square."
        said = judge(given, self._cl(), self._slips(), hint, f"the workbook has {self.cl:.3f}")
        self.feedback.value = tag("p", words(said))

    def _cl(self, n=None, v=None, weight=None, half=0.5) -> float:
        v = self.cas if v is None else v
        weight = self.weight * GRAVITY if weight is None else weight
        return (self.n if n is None else n) * weight / (half * DENSITY_0 * v**2 * self.area)

    def _slips(self) -> dict[str, float]:
        knot = to_si(1.0, "kt", "speed")
        return {
            "with load factor 1 (the airplane was already falling)": self._cl(n=1.0),
            "with the needle's speed instead of the calibrated one": self._cl(v=self.ias),
            "with knots left as they are": self._cl(v=self.cas / knot),
            "with knots taken for miles per hour": self._cl(v=self.cas / knot * to_si(1.0, "mph", "speed")),
            "with the weight in kg instead of newtons": self._cl(weight=self.weight),
            "without the half of ½ρV²": self._cl(half=1.0),
            "with the speed not squared": self._cl() * self.cas,
            "with the load factor used as a divisor": self._cl(n=1.0 / self.n),
            "with pounds in place of kilograms": self._cl() / to_si(1.0, "lb", "mass"),
        }
