"""How long a plan takes: ``python tests/benchmarks/bench_plan.py``. The first call compiles and is not counted.

Prints the median and the least of several runs, wall and processor time, for the preview that a slider moves, a full
plan on a green taken as known, and a full plan on draws of green, turf, delivery, lie and scatter together.
"""

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from golfphys.physics.green import Green, GroundBatch
from golfphys.planning import CourseDraws, plan_chip, what_if

RUNS = 7
QUESTION = {"to_edge": 3.0, "to_pin": 15.0}


def drawn(n: int = 200) -> CourseDraws:
    """Return draws of everything about a green of 10 ft."""
    random = np.random.default_rng(1)
    green = Green.from_stimp(10.0, grade=0.02, fall_direction=1.0)
    values = {
        "constant": green.resistance.constant * np.exp(0.04 * random.standard_normal(n)),
        "restitution": 0.51 + 0.02 * random.standard_normal(n),
    }
    return CourseDraws(
        ground=GroundBatch(ground=green, values=values),
        delivery={"shaft_lean": 0.14 + 0.02 * random.standard_normal(n)},
        lie={"fairway": {"friction": 0.35 * np.exp(0.2 * random.standard_normal(n))}},
        scatter={"": {"distance_relative": 0.07 * np.exp(0.2 * random.standard_normal(n))}},
    )


def timed(work: Callable[[], Any]) -> str:
    """Return wall and processor time of `work` in words."""
    work()
    walls, processors = [], []
    for _ in range(RUNS):
        wall, processor = time.perf_counter(), time.process_time()
        work()
        walls.append(time.perf_counter() - wall)
        processors.append(time.process_time() - processor)
    parts = [f"{1000 * value:7.0f}" for value in (np.median(walls), min(walls), np.median(processors))]
    return f"{parts[0]} ms median, {parts[1]} ms least, {parts[2]} ms of processor"


def main() -> None:
    """Time everything."""
    green, course = Green.from_stimp(10.0), drawn()
    plan = plan_chip(green, **QUESTION)
    jobs: dict[str, Callable[[], Any]] = {
        "preview (17 landings, 64 shots)": lambda: plan_chip(green, **QUESTION, landings=17, shots=64),
        "full plan, green known": lambda: plan_chip(green, **QUESTION),
        "full plan, joint draws": lambda: plan_chip(course, **QUESTION),
        "what_if, five changes": lambda: what_if(plan),
    }
    sys.stdout.write(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}\n")
    for name, work in jobs.items():
        sys.stdout.write(f"{name:34s} {timed(work)}\n")


if __name__ == "__main__":
    main()
