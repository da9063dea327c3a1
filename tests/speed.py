"""What a user waits for, measured: ``python tests/speed.py``; ``--record`` keeps what it finds in ``speed.csv``.

Times are processor times in s, the least of some runs after one that is not counted. Beside each stands its ratio to a
yardstick that uses nothing of golfphys, so that machines can be compared. Run it with nothing else at work.
"""

import argparse
import os

if __name__ == "__main__":  # before numpy is loaded: sums by several threads cost more processor time than by one
    os.environ |= {f"{library}_NUM_THREADS": "1" for library in ("OMP", "OPENBLAS", "MKL")}

import math
import subprocess
import sys
import tempfile
import time
import timeit
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

import golfphys

ROOT, RECORDED = Path(__file__).resolve().parents[1], Path(__file__).with_suffix(".csv")
CHIPS = 100_000
FIRST_SHOT = "import golfphys; golfphys.simulate(golfphys.Launch(8.0, 0.6, 250.0), golfphys.Green.from_stimp(10.0))"


def least(work: Callable[[], Any]) -> float:
    """Return the least processor time in s of `work` over three runs, after one that is not counted."""
    work()
    return min(timeit.repeat(work, timer=time.process_time, number=1, repeat=3))


def yardstick() -> float:
    """Return some number after a fixed piece of work of about a tenth of a second."""
    values, matrix = np.linspace(0.0, 1.0, 200_000), np.eye(30) + 0.01
    interpreted = sum(math.sqrt(number) * 1.0000001 for number in range(300_000))
    arrays = sum(float(np.sum(np.exp(-values) * np.sin(values))) for _ in range(15))
    return interpreted + arrays + sum(float(np.linalg.solve(matrix, matrix[0])[0]) for _ in range(300))


def fresh(code: str) -> float:
    """Return the processor time in s of some code in a fresh interpreter that finds nothing compiled."""
    with tempfile.TemporaryDirectory() as cache:
        environment = {**os.environ, "NUMBA_CACHE_DIR": cache, "PYTHONPATH": str(ROOT)}
        command = [sys.executable, "-c", f"import time; {code}; print(time.process_time())"]
        done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    return float(done.stdout)


def jobs() -> dict[str, Callable[[], Any]]:
    random = np.random.default_rng(1)
    speed, angle, spin = (random.uniform(*limits, CHIPS) for limits in ((6.0, 14.0), (0.35, 0.95), (100.0, 500.0)))
    launch = golfphys.Launch(speed, angle, spin, random.normal(0.0, 0.03, CHIPS), random.normal(0.0, 20.0, CHIPS))
    green = golfphys.Green.from_stimp(10.0, grade=0.02, fall_direction=2.0)
    fringe = golfphys.Strip(until=5.0, resistance=golfphys.Resistance(constant=0.25))
    ground = golfphys.Ground(green=green, strips=(fringe,))
    course = golfphys.read_course(ROOT / "data" / "demo")
    return {
        "100000 chips on a plane": lambda: golfphys.simulate(launch, green),
        "100000 chips over a fringe": lambda: golfphys.simulate(launch, ground),
        "plan with all options on draws": lambda: golfphys.plan_chip(golfphys.assumed(green), to_edge=3.0, to_pin=15.0),
        "fit of the demo's rolls": lambda: golfphys.fit(course.rollouts).rollouts,
        "fit of the demo's course": lambda: golfphys.fit(course.rollouts, course.drops, course.chips),
    }


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--record", action="store_true", help=f"keep the ratios in {RECORDED.name}")
    asked = parser.parse_args()
    unit = least(yardstick)
    found = {"the first shot of a fresh install": fresh(FIRST_SHOT), "import golfphys": fresh("import golfphys")}
    found |= {name: least(work) for name, work in jobs().items()}
    table = pd.DataFrame({"seconds": found}).rename_axis("measure")
    table.insert(0, "ratio", table["seconds"] / unit)
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, yardstick {unit:.3f} s")
    print(table.assign(times_the_record=table["ratio"] / pd.read_csv(RECORDED, index_col=0)["ratio"]).to_string())
    if asked.record:
        table.to_csv(RECORDED, float_format="%.4g", lineterminator="\n")
