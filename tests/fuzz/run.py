"""Run seeded cases through the command line in a process with limits, and count what happened.

    python tests/fuzz/run.py 20000 --seed 7 --every 20

Each line of a worker is one run: read, refused in words, an answer beyond its bounds, a traceback, too long.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import math
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve()
SECONDS, BYTES = 60, 4_000_000_000  # of processor time and of memory for one run: a hang guard, no statement of speed
BOUNDS = {"value": (0.2, 6.0), "stall_speed_1g_kt": (10.0, 150.0), "approach_kt": (10.0, 250.0),
          "manoeuvring_kt": (10.0, 300.0), "slowest_speed_kt": (5.0, 250.0), "usable_share_of_gain": (-3.0, 3.0),
          "forward_cg_limit_percent_mac": (-200.0, 200.0), "ratio": (0.2, 5.0)}  # fmt: skip


class TooLong(BaseException):
    """The processor time of one run is used up."""


def beyond(data, path="") -> list[str]:
    """Numbers of a report that no airplane has, and numbers that are none."""
    out = []
    if isinstance(data, dict):
        for k, v in data.items():
            low, high = BOUNDS.get(k, (-math.inf, math.inf))
            if k == "value" and path != "clmax":
                low, high = -math.inf, math.inf
            if isinstance(v, int | float) and not isinstance(v, bool) and not low <= v <= high:
                out.append(f"{path}.{k} = {v:.4g}")
            out += beyond(v, f"{path}.{k}" if path else k)
    elif isinstance(data, list):
        for v in data:
            out += beyond(v, path)
    return out


def one(seed: int, base: Path, whole: bool) -> dict:
    """One case: what was changed, what happened, and the first words that were said."""
    from mutations import seeded

    from aerolib.__main__ import main
    from aerolib.case.problems import CaseError
    from aerolib.study import open_study

    folder, out, said = base / "case", base / "report", io.StringIO()
    for place in (folder, out):
        shutil.rmtree(place, ignore_errors=True)
    changes = seeded(seed, folder)
    result = {"seed": seed, "changes": [f"{c.kind}: {c.what}" for c in changes], "class": "read", "said": ""}
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            if whole:
                status = main(["report", str(folder), "--out", str(out)])
                result["class"] = {0: "read", 2: "refused"}.get(status, "fault")
                result["said"] = said.getvalue()[-400:]
                data = json.loads((out / "report.json").read_text("utf-8")) if status == 0 else {}
            else:
                data = quick(open_study(folder))
        if wrong := beyond(data):
            result |= {"class": "beyond", "said": "; ".join(wrong)[:300]}
    except CaseError as e:
        result |= {"class": "refused", "said": str(e)[:400]}
        if not str(e).strip():
            result["class"] = "silent"
    except TooLong:
        result["class"] = "too long"
    except MemoryError:
        result["class"] = "memory"
    except BaseException as e:  # the point of it all
        import traceback

        result |= {"class": "traceback", "said": f"{type(e).__name__}: {e}"[:200]}
        result["where"] = traceback.format_exc(limit=-3)[-600:]
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return result


def quick(study) -> dict:
    """What a case says of its stalls, without the rest of the report."""
    if study.flown is None:
        return {}
    from aerolib.show.sections.clmax import clmax_data

    result, comparison, checks = study.reduction, study.comparison, study.checks
    from aerolib.show.comparing import checks_data, comparison_data

    return {"clmax": clmax_data(result), "comparison": comparison_data(comparison),
            "checks": checks_data(checks)}  # fmt: skip


def work(seeds: range, every: int) -> None:
    """A worker: one line of JSON a run."""
    import resource
    import warnings

    warnings.simplefilter("ignore")
    resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))

    def stop(*_):
        raise TooLong

    signal.signal(signal.SIGPROF, stop)
    with tempfile.TemporaryDirectory() as base:
        os.chdir(base)
        for k, seed in enumerate(seeds):
            print(json.dumps(one(seed, Path(base), every > 0 and k % every == 0)), flush=True)


def campaign(runs: int, first: int = 0, every: int = 0, progress=None) -> list[dict]:
    """`runs` seeded cases, every so many-th as a whole report; a worker that dies is one more finding."""
    out: list[dict] = []
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(HERE.parents[2]), str(HERE.parent)])}
    while len(out) < runs:
        command = [sys.executable, str(HERE), "--work", str(first + len(out)), str(first + runs), "--every", str(every)]
        stray, pipe = "", subprocess.PIPE
        with subprocess.Popen(command, stdout=pipe, stderr=pipe, text=True, env=environment) as worker:
            for line in worker.stdout:
                try:
                    out.append(json.loads(line))
                except ValueError:  # what a library below Python prints, or a line cut by the end of its writer
                    stray += line
                if progress is not None:
                    progress(len(out))
            said = stray + worker.stderr.read()
        if worker.returncode != 0:
            out.append({"seed": first + len(out), "class": "died", "said": said[-400:], "changes": []})
    return out


def table(results: list[dict]) -> str:
    """How often each thing happened, by what was done to the case."""
    kinds = ("slip", "broken", "hostile")
    classes = [c for c, _ in Counter(r["class"] for r in results).most_common()]
    rows = [f"{'':10}" + "".join(f"{c:>11}" for c in classes)]
    for kind in kinds:
        mine = Counter(r["class"] for r in results if any(c.startswith(kind) for c in r["changes"]))
        rows.append(f"{kind:10}" + "".join(f"{mine[c]:11}" for c in classes))
    every = Counter(r["class"] for r in results)
    return "\n".join([*rows, f"{'all':10}" + "".join(f"{every[c]:11}" for c in classes)])


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("runs", type=int, nargs="?", default=1500)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--every", type=int, default=0, help="every so many-th case goes through the whole report")
    parser.add_argument("--work", type=int, nargs=2)
    given = parser.parse_args()
    if given.work:
        work(range(*given.work), given.every)
        sys.exit(0)
    from tqdm import tqdm

    with tqdm(total=given.runs, unit=" runs") as bar:
        found = campaign(given.runs, given.seed, given.every, lambda done: bar.update(done - bar.n))
    print(table(found))
    for r in found:
        if r["class"] not in ("read", "refused"):
            print(json.dumps(r, ensure_ascii=False))
