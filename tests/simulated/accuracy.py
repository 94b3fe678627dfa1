"""How far aerolib is right about what is simulated, as one Markdown table: `python tests/simulated/accuracy.py`.

Needs jsbsim and tqdm; about three minutes. The same random numbers every time.
"""

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1] / "data" / "simulated"), str(HERE.parents[1])]

import campaign  # noqa: E402
import numpy as np  # noqa: E402
import programmes  # noqa: E402
import scores  # noqa: E402
from tqdm import tqdm  # noqa: E402

EACH = 40  # campaigns of every pair
FRESH_SEED, FRESH_PAIRS = 31, 72
DEMO_SEEDS = range(1, 201)
PROGRAMMES = 143  # of every variant, without a change and with one: 2,002 in all
PLANNED = 500  # of every plan
HEAD = ("What", "Kind", "n", "mean error", "truth held", "half-width", "over oracle's")
NOTE = (
    "Half-width: median half of the 95 % interval of CLmax. The oracle is told every shared error and the days; only "
    "the scatter of single stalls is left to it. n counts intervals; {library} airplane-pilot pairs "
    "stand behind the campaigns of the library, {fresh} behind the fresh ones, {unseen} airplanes that took no part "
    "in the table behind the single stalls."
)


def bar(what):
    """A progress bar by this name, as a function that wraps an iterable."""
    return lambda items: tqdm(items, desc=what[:40], leave=False, dynamic_ncols=True, disable=None)


def line(what, s):
    """One row of the table from a Score."""
    ratio = "" if s.ratios is None else f"{np.median(s.ratios):.1f}"
    return (what, "simulated", f"{len(s.held)}", f"{s.errors.mean():+.1%}", f"{s.coverage:.1%}",
            f"{np.median(s.halves):.1%}", ratio)  # fmt: skip


def rows():
    """Every row of the table, and how many pairs stand behind the campaigns."""
    errors = scores.recorder(bar("recorder"))
    out = [("Recorder without noise, highest lift", "simulated", f"{len(errors)}", f"{errors.mean():+.2%}",
            f"worst {np.abs(errors).max():.2%}", "", "")]  # fmt: skip
    for fastest in (1.5, 3.0):
        for name, s in scores.by_kind(fastest).items():
            out.append(line(f"One stall, only n unknown, up to {fastest:g} kt/s: {name}", s))
    for kind, name in (("break", "speed at the break"), ("steady", "steady speed")):
        out.append(line(f"One stall, only n unknown: {name}", scores.unseen(scores.unseen_rows(kind), speed=kind)))
    for seed, noise in ((1, {}), (2, {"ias": 0.2, "normal_g": 0.02})):
        s = scores.recorded(scores.unseen_rows(), seed, **noise)
        out.append(line(f"The same, n recorded at highest lift{', with noise' if noise else ''}", s))
    for v in (*campaign.VARIANTS, *campaign.SHARED):
        out.append(line(f"Campaigns: {v.name}", scores.score_campaigns(v, EACH, bar(v.name))))
    fresh = campaign.fresh_pairs(FRESH_SEED, FRESH_PAIRS, bar("flying fresh pairs"))
    count = len(campaign.that_break(fresh))
    each = EACH * len(campaign.that_break()) // count
    score = scores.score_campaigns(campaign.PLAIN, each, bar("fresh pairs"), fresh)
    out.append(line(f"Campaigns, fresh pairs: {campaign.PLAIN.name}", score))
    at_least = scores.score_bounds(EACH, bar("bounds"))
    out.append(("Campaigns on the stop: 'at least'", "simulated", f"{len(at_least)}",
                f"median {np.median(at_least):+.1%}", f"{np.mean(at_least <= 0):.1%}", "", ""))  # fmt: skip
    out.append(
        line(f"The demonstration, {len(DEMO_SEEDS)} cards", scores.demonstration(DEMO_SEEDS, bar("demonstration")))
    )
    return out + before_and_after(), count


def before_and_after():
    """Rows of the programmes before and after a modification: ratio of CLmax, what is said, what the plan foretold."""
    out, nothing = [], []
    for v in programmes.VARIANTS:
        for seed, ratio_of in ((1, programmes.no_change), (2, programmes.some_change)):
            drawn = programmes.programmes(v, PROGRAMMES, ratio_of, seed, bar(f"before and after: {v.name}"))
            score = programmes.score(drawn)
            (nothing if ratio_of is programmes.no_change else out).append((v, score))
    rows = []
    for (v, none), (_, some) in zip(nothing, out):
        s = programmes.join((none, some))
        rows.append((f"Before and after, ratio of CLmax: {v.name}", "simulated", f"{len(s.held)}",
                     f"{s.errors.mean():+.1%}", f"{s.held.mean():.1%}", f"{np.median(s.halves):.1%}", ""))  # fmt: skip
    held = programmes.join([s for _, s in nothing + out]).held_speed
    rows.append(("Before and after, change of the 1-g stall speed: all of these", "simulated", f"{len(held)}", "",
                 f"{held.mean():.1%}", "", ""))  # fmt: skip
    for v in programmes.SHARED:
        s = programmes.score(
            programmes.programmes(v, PROGRAMMES, programmes.no_change, 1, bar(f"before and after: {v.name}"))
        )
        rows.append((f"Before and after, nothing changed: {v.name}", "simulated", f"{len(s.held)}",
                     f"{s.errors.mean():+.1%}", f"{s.held.mean():.1%}", f"{np.median(s.halves):.1%}", ""))  # fmt: skip
    one, common, printed = programmes.settings_by_chance(PROGRAMMES)
    rows.append((f"Three settings, nothing changed: one or more 'shown' (printed {printed:.0%}; the common answer "
                 f"{common:.0%})", "simulated", f"{PROGRAMMES}", f"{one:.0%}", "", "", ""))  # fmt: skip
    said = programmes.join([s for _, s in nothing]).shown
    rows.append(("Before and after, nothing changed: 'shown' all the same", "simulated", f"{len(said)}",
                 f"{said.mean():.1%}", "", "", ""))  # fmt: skip
    for v in (*programmes.EVEN, *programmes.BY_EYE):
        drawn = programmes.programmes(v, PLANNED, programmes.two_knots, 3, bar(f"plan: {v.name}"))
        found, told = programmes.score(drawn).gains.mean(), programmes.promised(v, 2 * programmes.KT).probability_shown
        rows.append((f"2 kt at 45 kt, {v.name}: 'a gain is shown' (the plan says {told:.0%})", "simulated",
                     f"{PLANNED}", f"{found:.0%}", "", "", ""))  # fmt: skip
    return rows


def main():
    """Print the table."""
    out, fresh = rows()
    print("| " + " | ".join(HEAD) + " |")
    print("|---|---|" + "--:|" * (len(HEAD) - 2))
    for row in out:
        print("| " + " | ".join(row) + " |")
    print("\n" + NOTE.format(library=len(campaign.that_break()), fresh=fresh,
                             unseen=len({row["airplane"] for row in scores.unseen_rows()})))  # fmt: skip


if __name__ == "__main__":
    main()
