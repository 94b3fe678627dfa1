"""How far aerolib is right about what is simulated: the tables of tests/README.md.

    python tests/simulated/accuracy.py [PART ...]

flies the parts named (all of them without a name: half an hour of one core), keeps each in `found/PART.csv` as soon as
it is done, and writes the table of everything kept into tests/README.md; `table` flies nothing. Needs jsbsim and tqdm.
The same random numbers every time.
"""

import csv
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1] / "data" / "simulated"), str(HERE.parents[1])]

import numpy as np  # noqa: E402

FOUND, README = HERE / "found", HERE.parent / "README.md"
BEGIN, END = "<!-- made by tests/simulated/accuracy.py -->", "<!-- end of what it made -->"
EACH = 40  # campaigns of every pair
FRESH_SEED, FRESH_PAIRS = 31, 72
DEMO_SEEDS = range(1, 201)
PROGRAMMES = 143  # of every variant, without a change and with one
PLANNED = 500  # of every plan
LEGS, ONE_STATE = range(1000, 1400), range(1000, 1300)  # seeds
HEAD = ("What", "N", "mean error", "coverage", "half-width", "over half-width if shared errors were known")


def bar(what):
    """A progress bar by this name, as a function that wraps an iterable."""
    from tqdm import tqdm

    return lambda items: tqdm(items, desc=what[:40], leave=False, dynamic_ncols=True, disable=None)


def line(what, s, errors=None):
    """One row of the table from a Score."""
    ratios = getattr(s, "ratios", None)
    return (what, len(s.held), f"{np.mean(s.errors if errors is None else errors):+.1%}", f"{np.mean(s.held):.1%}",
            f"{np.median(s.halves):.1%}", "" if ratios is None else f"{np.median(ratios):.1f}")  # fmt: skip


def single():
    """A recorder without noise, and single stalls of airplanes that took no part in the load-factor table."""
    import scores

    errors = scores.recorder(bar("recorder"))
    yield ("Recorder without noise, highest lift", len(errors), f"{errors.mean():+.2%}",
           f"worst {np.abs(errors).max():.2%}", "", "")  # fmt: skip
    for fastest in (1.5, 3.0):
        for name, s in scores.by_kind(fastest).items():
            yield line(f"One stall, only n unknown, up to {fastest:g} kt/s: {name}", s)
    for kind, name in (("break", "speed at the break"), ("steady", "steady speed")):
        yield line(f"One stall, only n unknown: {name}", scores.unseen(scores.unseen_rows(kind), speed=kind))
    for seed, noise in ((1, {}), (2, {"ias": 0.2, "normal_g": 0.02})):
        s = scores.recorded(scores.unseen_rows(), seed, **noise)
        yield line(f"The same, n recorded at highest lift{', with noise' if noise else ''}", s)


def campaigns():
    """Campaigns of six stalls by the airplanes behind the load-factor table."""
    import campaign
    import scores

    for v in (*campaign.VARIANTS, *campaign.SHARED):
        yield line(f"Campaigns: {v.name}", scores.score_campaigns(v, EACH, bar(v.name)))


def fresh():
    """The same by airplanes that took no part in it, flown now."""
    import campaign
    import scores

    pairs = campaign.fresh_pairs(FRESH_SEED, FRESH_PAIRS, bar("flying fresh pairs"))
    each = EACH * len(campaign.that_break()) // len(campaign.that_break(pairs))
    score = scores.score_campaigns(campaign.PLAIN, each, bar("fresh pairs"), pairs)
    yield line(f"Campaigns, fresh pairs: {campaign.PLAIN.name}", score)


def bounds():
    """Campaigns that ended with the stick on its stop."""
    import scores

    at_least = scores.score_bounds(EACH, bar("bounds"))
    yield ("Campaigns on the stop: 'at least'", len(at_least), f"median {np.median(at_least):+.1%}",
           f"{np.mean(at_least <= 0):.1%}", "", "")  # fmt: skip


def demonstration():
    """The demonstration's stall table, drawn anew."""
    import scores

    yield line(f"The demonstration, {len(DEMO_SEEDS)} tables", scores.demonstration(DEMO_SEEDS, bar("demonstration")))


def before_and_after():
    """Programmes before and after a modification: ratio of CLmax, and what is said when nothing changed."""
    import programmes

    unchanged, found = [], []
    for v in programmes.VARIANTS:
        none, some = (
            programmes.score(programmes.programmes(v, PROGRAMMES, ratio_of, seed, bar(f"before and after: {v.name}")))
            for seed, ratio_of in ((1, programmes.no_change), (2, programmes.some_change))
        )
        unchanged, found = [*unchanged, none], [*found, programmes.join((none, some))]
        yield line(f"Before and after, ratio of CLmax: {v.name}", found[-1])
    held, said = programmes.join(found).held_speed, programmes.join(unchanged).shown
    yield ("Before and after, change of the 1-g stall speed: all of these", len(held), "", f"{held.mean():.1%}", "", "")
    yield ("Before and after, nothing changed: 'shown' all the same", len(said), f"{said.mean():.1%}", "", "", "")


def in_common():
    """Programmes in which the readings or rates of a flight or a pilot err alike; nothing changed."""
    import programmes

    for v in programmes.SHARED:
        drawn = programmes.programmes(v, PROGRAMMES, programmes.no_change, 1, bar(v.name))
        yield line(f"Before and after, nothing changed: {v.name}", programmes.score(drawn))


def settings():
    """Three flap settings, nothing changed."""
    import programmes

    one, common, printed = programmes.settings_by_chance(PROGRAMMES)
    yield (f"Three settings, nothing changed: one or more 'shown' (printed {printed:.0%}; the common answer "
           f"{common:.0%})", PROGRAMMES, f"{one:.0%}", "", "", "")  # fmt: skip


def plan():
    """What the plan of a test foretells, and how often it came about."""
    import programmes

    for v in (*programmes.EVEN, *programmes.BY_EYE):
        drawn = programmes.programmes(v, PLANNED, programmes.two_knots, 3, bar(f"plan: {v.name}"))
        found, told = programmes.score(drawn).gains.mean(), programmes.promised(v, 2 * programmes.KT).probability_shown
        yield (f"2 kt at 45 kt, {v.name}: 'a gain is shown' (the plan says {told:.0%})", PLANNED, f"{found:.0%}",
               "", "", "")  # fmt: skip


def legs():
    """Airspeed calibration: the correction at the stall by both states' legs, by those of the state before alone."""
    import calibrations

    for flown in (("before", "after"), ("before",)):
        every = [calibrations.fly(seed, calibrated=flown) for seed in bar("legs")(LEGS)]
        for m in ("before", "after"):
            error, half, oracle = np.array([(c[m].error, c[m].half, c[m].oracle) for c in every]).T
            yield (f"Correction at the stall '{m}', legs in {' and '.join(flown)}", len(every),
                   f"{error.mean():+.2f} kt", f"{np.mean(np.abs(error) < half):.1%}", f"{np.median(half):.2f} kt",
                   f"{np.median(half / oracle):.1f}")  # fmt: skip


def one_state():
    """The ratio of CLmax by which legs were flown; 'as zero' takes the other state's correction as right."""
    import one_state

    names = (*one_state.FLOWN, "after only as zero", "before only as zero")
    every = [one_state.campaign(seed, names) for seed in bar("legs in one state")(ONE_STATE)]
    for name in names:
        off, half, holds = np.array([(c[name].off, c[name].half, c[name].holds) for c in every]).T
        yield (f"Ratio of CLmax, legs in {name.replace('only ', 'only, other ')}", len(every), f"{off.mean():+.1%}",
               f"{holds.mean():.1%}", f"{np.median(half):.1%}", "")  # fmt: skip


PARTS = (single, campaigns, fresh, bounds, demonstration, before_and_after, in_common, settings, plan, legs, one_state)


def keep(part):
    """Fly one part and keep its rows."""
    rows = list(part())
    FOUND.mkdir(exist_ok=True)
    with (FOUND / f"{part.__name__}.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerows([HEAD, *rows])


def table():
    """The Markdown table of every part that is kept."""
    lines = ["| " + " | ".join(HEAD) + " |", "|---|" + "--:|" * (len(HEAD) - 1)]
    for part in PARTS:
        path = FOUND / f"{part.__name__}.csv"
        if path.exists():
            with path.open(newline="", encoding="utf-8") as file:
                lines += ["| " + " | ".join(row) + " |" for row in list(csv.reader(file))[1:]]
    return "\n".join(lines)


def main(names):
    """Fly the parts of these names, or all, and write the table into tests/README.md."""
    by_name = {part.__name__: part for part in PARTS}
    for name in names or by_name:
        if name != "table":
            keep(by_name[name])
    before, rest = README.read_text(encoding="utf-8").split(BEGIN)
    README.write_text(f"{before}{BEGIN}\n\n{table()}\n\n{END}{rest.split(END)[1]}", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
