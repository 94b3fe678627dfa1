"""Work one stall by hand: the reader's answer is checked, and the usual slips are named."""

from __future__ import annotations

from aerolib.atmosphere import DENSITY_0, GRAVITY
from aerolib.show.finding import Sentence
from aerolib.show.panels.base import Panel
from aerolib.show.render import marked
from aerolib.study import Study
from aerolib.teach.exercises import judge
from aerolib.teach.panel import Question
from aerolib.units import knots, on_dial, to_si

HINT = "Turn everything into SI first: knots into m/s, then square."
ASKS = (
    "Row {row} of the stall table ({name}): the indicator showed {ias}{in_knots}, calibrated {cas} kt "
    "(1 kt = 0.5144 m/s). Weight {weight} kg, g = 9.807 m/s², load factor {n}, wing area {area} m², ρ₀ = 1.225 kg/m³, "
    "thrust taken as zero. What is C_L = n W / (½ ρ₀ V² S)?"
)


class ByHandPanel(Panel):
    """One stall of the case, its numbers, and a box for the reader's CL."""

    def __init__(self, study: Study):
        super().__init__()
        box = Question("byhand", self._judged, label="Your CL", example="1.45")
        self.question, self.answer, self.feedback = box.question, box.answer, box.feedback
        self.assemble(box)
        result, stalls = study.reduction, study.stalls
        p = result.points
        broke = [k for k in range(len(p.cl)) if p.outcome[k] == "break" and stalls.text["power"][k] == "idle"]
        if not broke:
            box.ask("No stall break at idle is in the stall table, so there is none to work by hand.")
            self.answer.disabled = True
            return
        k = broke[0]
        self.cas, self.ias, self.n = float(p.cas[k]), float(stalls.si["ias"][k]), float(p.load_factor[k])
        self.weight, self.area = float(stalls.weight[k]), study.aircraft.wing.area
        self.cl, dial = float(p.cl[k]), study.dial_unit
        box.ask(marked(Sentence(ASKS, {
            "row": str(stalls.row[k]), "name": result.items[p.group[k]].name, "ias": on_dial(self.ias, dial, 1),
            "in_knots": "" if dial == "kt" else f" ({knots(self.ias):.1f} kt)", "cas": f"{knots(self.cas):.2f}",
            "weight": f"{self.weight:.1f}", "n": f"{self.n:.3f}", "area": f"{self.area:.3f}",
        })))  # fmt: skip

    def _judged(self, given: float) -> str:
        return judge(given, self._cl(), self._slips(), HINT, f"the workbook has {self.cl:.3f}")

    def _cl(self, n=None, v=None, weight=None, half=0.5) -> float:
        v = self.cas if v is None else v
        weight = self.weight * GRAVITY if weight is None else weight
        return (self.n if n is None else n) * weight / (half * DENSITY_0 * v**2 * self.area)

    def _slips(self) -> dict[str, float]:
        knot = to_si(1.0, "kt", "speed")
        return {
            "with load factor 1 (the airplane was already falling)": self._cl(n=1.0),
            "with the indicated speed instead of the calibrated one": self._cl(v=self.ias),
            "with knots left as they are": self._cl(v=self.cas / knot),
            "with knots taken for miles per hour": self._cl(v=self.cas / knot * to_si(1.0, "mph", "speed")),
            "with the weight in kg instead of newtons": self._cl(weight=self.weight),
            "without the half of ½ρV²": self._cl(half=1.0),
            "with the speed not squared": self._cl() * self.cas,
            "with the load factor used as a divisor": self._cl(n=1.0 / self.n),
            "with pounds in place of kilograms": self._cl() / to_si(1.0, "lb", "mass"),
        }
