"""A change in the panel against drawing its own pictures (median of 30), in one run."""

import time
import warnings
from functools import partial
from pathlib import Path
from statistics import median

TARGET, REPEATS = 2.0, 30


def timed(function) -> float:
    start = time.perf_counter()
    function()
    return time.perf_counter() - start


def main() -> bool:
    warnings.simplefilter("ignore")
    from aerolib.show.figures.angles import angles_picture
    from aerolib.show.figures.checks import checks_picture
    from aerolib.show.figures.layout import layout_picture
    from aerolib.show.figures.plan import plan_picture
    from aerolib.show.figures.stalls import budget_picture, stalls_picture
    from aerolib.show.figures.wing import wing_picture
    from aerolib.show.panels import AnglesPanel, PlanPanel, StallsPanel
    from aerolib.show.panels.checks import ChecksPanel
    from aerolib.show.panels.layout import LayoutPanel
    from aerolib.show.panels.wing import WingPanel
    from aerolib.study import open_study

    case = open_study(Path(__file__).resolve().parents[2] / "data" / "demo")
    panel, angles = StallsPanel(case), AnglesPanel(case)
    ok = True

    def report(name, change, draw):
        nonlocal ok
        change(0), draw(0)
        changes, draws = [], []
        for k in range(1, REPEATS + 1):
            changes.append(timed(partial(change, k)))
            draws.append(timed(partial(draw, k)))
        ratio = median(changes) / median(draws)
        ok = ok and ratio <= TARGET
        print(f"{name}: change {1e3 * median(changes):.0f} ms, its pictures {1e3 * median(draws):.0f} ms, ratio "
              f"{ratio:.2f} (target {TARGET:g}: {'met' if ratio <= TARGET else 'MISSED'})")  # fmt: skip

    def edit(k):
        panel._edited({"row": 0, "column": "ias [kt]", "value": str(41 + k % 2)})

    def draw_both(k):
        stalls_picture(panel.result)
        budget_picture(panel.result.items[panel.which.value])

    report("an edited stall, both pictures change", edit, draw_both)

    def choose(k):
        panel.which.value = k % 3

    report("another budget, one picture changes", choose, lambda k: budget_picture(panel.result.items[k % 3]))

    def slide(k):
        angles.pitch.value = 5.0 + 0.5 * (k % 9)

    report("a slider of the angles", slide, lambda k: angles_picture(0.1 + 0.01 * k, -0.1))

    wing, layout, plan, checks = WingPanel(case), LayoutPanel(case), PlanPanel(case), ChecksPanel(case)

    def set_to(control, first, step, of=9):
        return lambda k: setattr(control, "value", first + step * (k % of))

    report("the washout of a wing", set_to(wing.washout, 1.0, 0.5), lambda k: wing_picture(wing.result))
    report("the spacing of a layout", set_to(layout.controls["pitch"], 60.0, 1.0),
           lambda k: layout_picture(*layout.layouts))  # fmt: skip
    report("the change that a plan is for", set_to(plan.change, 1.1, 0.1), lambda k: plan_picture(plan.plan))
    report("the limit of a check", set_to(checks.limit, 1.0, 1.0), lambda k: checks_picture(checks.comparison))
    return ok


if __name__ == "__main__":
    raise SystemExit(not main())
