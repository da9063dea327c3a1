"""Is everything as quick as it was? ``python tests/benchmarks/compare.py``; ``--record`` keeps what it finds.

Every cost is a ratio within one run, so that it says the same on another machine: a chip in a batch over the same chip
by a differential-equation solver; everything else over a yardstick, a fixed mixture of interpreted Python, numpy and
small linear algebra that uses nothing of golfphys; imports over ``import numpy``. Times are processor times, the least
of several runs, the first of which (it compiles) is not counted. Run it with nothing else at work: processor time
grows too where cores are shared.

Prints old, new and their ratio, and flags whatever costs more than `FACTOR` times what was recorded in
``recorded.csv``; the exit code is then 1.
"""

import argparse
import csv
import datetime
import gc
import io
import math
import os
import platform
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

if __name__ == "__main__":  # before numpy is loaded: sums by several threads cost more processor time than by one
    for _library in ("OMP", "OPENBLAS", "MKL"):
        os.environ.setdefault(f"{_library}_NUM_THREADS", "1")
HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
sys.path[:0] = [str(ROOT), str(HERE), str(HERE.parent)]
RECORDED = HERE / "recorded.csv"
COLUMNS = ("measure", "ratio", "milliseconds", "over", "date", "machine")
FACTOR = 1.3
REPEATS = 5


@dataclass(frozen=True)
class Cost:
    """What something cost in one run.

    `ratio` is its processor time over that of what it is compared with, `over`; `milliseconds` its own.
    """

    ratio: float
    milliseconds: float
    over: str


def least(work: Callable[[], Any], repeats: int = REPEATS) -> float:
    """Least processor time in s of `work` over some runs, after one that is not counted."""
    work()
    times = []
    for _ in range(repeats):
        gc.collect()
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


def yardstick() -> float:
    """A fixed piece of work of about a tenth of a second, with nothing of golfphys in it."""
    import numpy as np

    total = 0.0
    for number in range(300_000):
        total += math.sqrt(number) * 1.0000001
    values = np.linspace(0.0, 1.0, 200_000)
    for _ in range(15):
        total += float(np.sum(np.exp(-values) * np.sin(values)))
    matrix = np.eye(30) + 0.01
    for _ in range(300):
        total += float(np.linalg.solve(matrix, matrix[0])[0])
    return total


def batch() -> Cost:
    """A chip in a batch over the same chip by the solver."""
    import numpy as np
    from bench_batch import GREEN, chips
    from reference_chip import Course

    from golfphys.physics.shot import simulate

    many, few = chips(100_000), chips(60, seed=7)
    rows = list(zip(*(np.asarray(item).tolist() for item in vars(few).values()), strict=True))
    course = Course(GREEN)
    ours = least(lambda: simulate(many, GREEN)) / 100_000
    theirs = least(lambda: [course.play(*row) for row in rows], 2) / len(rows)
    return Cost(ours / theirs, 1e3 * ours, "the same chip by solve_ivp")


def with_yardstick(jobs: Mapping[str, Callable[[], Any]], repeats: int = REPEATS) -> dict[str, Cost]:
    """Cost of each job over the yardstick, which is measured beside it."""
    found = {}
    for name, work in jobs.items():
        measure = least(yardstick)
        cost = least(work, repeats)
        measure = min(measure, least(yardstick))
        found[name] = Cost(cost / measure, 1e3 * cost, "the yardstick")
    return found


def shots() -> dict[str, Cost]:
    """The batch, over strips, and with a green for each shot."""
    import numpy as np
    from bench_batch import GREEN, chips

    from golfphys.physics.green import Ground, GroundBatch, Resistance, Strip
    from golfphys.physics.shot import simulate

    many = chips(20_000)
    greens = GroundBatch(ground=GREEN, values={"constant": np.linspace(0.06, 0.1, 20_000)})
    fringe = Ground(green=GREEN, strips=(Strip(until=5.0, resistance=Resistance(constant=0.25)),))
    return {"chip in a batch": batch()} | with_yardstick(
        {
            "20000 chips, a green for each": lambda: simulate(many, greens),
            "20000 chips over a fringe": lambda: simulate(many, fringe),
        }
    )


def plans() -> dict[str, Cost]:
    """Preview, plan, plan on draws, and what would change it."""
    from bench_plan import QUESTION, drawn

    from golfphys.physics.green import Green
    from golfphys.planning import plan_chip, what_if

    green, course = Green.from_stimp(10.0), drawn()
    made = plan_chip(green, **QUESTION)
    return with_yardstick(
        {
            "plan: preview": lambda: plan_chip(green, **QUESTION, landings=17, shots=64),
            "plan: green known": lambda: plan_chip(green, **QUESTION),
            "plan: joint draws": lambda: plan_chip(course, **QUESTION),
            "plan: what if": lambda: what_if(made),
        }
    )


def fits() -> dict[str, Cost]:
    """The demonstration's sheets."""
    import golfphys

    demo = ROOT / "data" / "demo"
    rolls, drops = golfphys.read_rollouts(demo / "rollouts.csv"), golfphys.read_drops(demo / "drops.csv")
    films, chips = golfphys.read_traces(demo / "traces.csv"), golfphys.read_chips(demo / "chips.csv")
    quick = with_yardstick(
        {
            "read: rolls": lambda: golfphys.read_rollouts(demo / "rollouts.csv"),
            "fit: rolls": lambda: golfphys.fit_rollouts(rolls),
            "fit: drops": lambda: golfphys.fit_course(drops=drops),
        }
    )
    slow = {
        "fit: rolls, linear law": lambda: golfphys.fit_rollouts(rolls, law="linear"),
        "fit: films": lambda: golfphys.fit_traces(films),
        "fit: course": lambda: golfphys.fit_course(rolls, drops, chips),
    }
    return quick | with_yardstick(slow, 2)


def panels() -> dict[str, Cost]:
    """The median answer of each panel to a slider."""
    import statistics

    from bench_panels import KINDS, answers

    found = {}
    for kind in KINDS:
        panel = kind()
        answers(panel)
        measure = least(yardstick)
        cost = statistics.median(busy for _, busy in answers(panel))
        found[f"panel: {kind.__name__}"] = Cost(cost / min(measure, least(yardstick)), 1e3 * cost, "the yardstick")
    return found


IMPORTS = {
    "import: golfphys": "import golfphys",
    "import: a green": "import golfphys; golfphys.Green",
    "import: sheets": "import golfphys; golfphys.read_rollouts",
    "import: fits": "import golfphys; golfphys.fit_course",
    "import: plans": "import golfphys; golfphys.plan_chip",
    "import: every public name": "import golfphys; [getattr(golfphys, name) for name in golfphys.__all__]",
}


def import_time(statement: str, repeats: int = REPEATS) -> float:
    """Least processor time in s of a statement in a fresh interpreter, its bytecode compiled before."""
    code = f"import time; begun = time.process_time(); {statement}; print(time.process_time() - begun)"
    command = [sys.executable, "-c", code]
    runs = [subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True) for _ in range(repeats + 1)]
    return min(float(run.stdout) for run in runs[1:])


def imports() -> dict[str, Cost]:
    """What importing costs, over ``import numpy``."""
    numpy_alone = import_time("import numpy")
    times = {name: import_time(statement) for name, statement in IMPORTS.items()}
    return {name: Cost(spent / numpy_alone, 1e3 * spent, "import numpy") for name, spent in times.items()}


GROUPS: dict[str, Callable[[], dict[str, Cost]]] = {
    "shots": shots,
    "plans": plans,
    "fits": fits,
    "panels": panels,
    "imports": imports,
}


def read(text: str) -> dict[str, Cost]:
    """Recorded costs from the text of ``recorded.csv``."""
    rows = csv.DictReader(line for line in text.splitlines() if line and not line.startswith("#"))
    return {row["measure"]: Cost(float(row["ratio"]), float(row["milliseconds"]), row["over"]) for row in rows}


def written(costs: Mapping[str, Cost], date: str, machine: str) -> str:
    """Text of ``recorded.csv``."""
    stream = io.StringIO()
    stream.write("# written by compare.py --record: processor time over that of what stands under `over`, same run\n")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(COLUMNS)
    for name, cost in costs.items():
        writer.writerow([name, f"{cost.ratio:.4g}", f"{cost.milliseconds:.4g}", cost.over, date, machine])
    return stream.getvalue()


def merged(old: Mapping[str, Cost], new: Mapping[str, Cost], groups: int) -> dict[str, Cost]:
    """What to record: the new, and of the old what a run of a few groups did not measure."""
    return dict(new) if groups == len(GROUPS) else {**old, **new}


def compared(old: Mapping[str, Cost], new: Mapping[str, Cost], factor: float = FACTOR) -> tuple[list[str], list[str]]:
    """Lines of a table of old and new, and the names of what costs more than `factor` times the old."""
    lines = [f"{'measure':34s}{'recorded':>12s}{'now':>12s}{'now/then':>10s}{'now, ms':>11s}   over"]
    worse = []
    for name, cost in new.items():
        before = old.get(name)
        if before is None:
            lines.append(f"{name:34s}{'':>12s}{cost.ratio:12.4g}{'new':>10s}{cost.milliseconds:11.4g}   {cost.over}")
            continue
        change = cost.ratio / before.ratio
        if not change <= factor:
            worse.append(name)
        flag = f"   SLOWER than {factor:g} times" if name in worse else ""
        numbers = f"{before.ratio:12.4g}{cost.ratio:12.4g}{change:10.2f}{cost.milliseconds:11.4g}"
        lines.append(f"{name:34s}{numbers}   {cost.over}{flag}")
    return lines, worse


def main(arguments: list[str] | None = None) -> int:
    """Measure, compare, and record if asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("groups", nargs="*", choices=[[], *GROUPS], help="all if none is named")
    parser.add_argument("--record", action="store_true", help=f"keep the costs in {RECORDED.name}")
    parser.add_argument("--factor", type=float, default=FACTOR, help="what counts as slower")
    asked = parser.parse_args(arguments)
    names = asked.groups or list(GROUPS)
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else math.nan
    print(f"{os.cpu_count()} cores, load {load:.1f}" + ("; something else is at work" if load > 0.5 else ""))
    new: dict[str, Cost] = {}
    for name in names:
        new |= GROUPS[name]()
    old = read(RECORDED.read_text(encoding="utf-8")) if RECORDED.exists() else {}
    lines, worse = compared(old, new, asked.factor)
    print("\n".join(lines))
    if asked.record:
        machine = f"{platform.machine()} {os.cpu_count()} cores, Python {platform.python_version()}"
        kept = merged(old, new, len(names))
        RECORDED.write_text(written(kept, datetime.date.today().isoformat(), machine), encoding="utf-8", newline="\n")
        print(f"recorded {len(new)} costs in {RECORDED.name}")
        return 0
    print(f"slower: {', '.join(worse)}" if worse else "nothing is slower than it was")
    return 1 if worse else 0


if __name__ == "__main__":
    sys.exit(main())
