"""The same numbers whatever is installed and whatever computes: ``python tests/versions.py OLD_PYTHON NEW_PYTHON``.

Runs one fixed, seeded set of calculations in each of the environments (paths of their interpreters; golfphys need not
be installed in them), or with ``--kernels`` in this environment under two kernels of linear algebra, as on two kinds of
processor, and compares every number with the first run's. The exit code is 1 if a tolerance is broken.

Closed forms may differ by rounding. Flights, rolls and bounces add up rounding over thousands of steps, and a bounce
stretches it. The numbers of fits are held to a thousandth of their own standard deviation.
"""

import argparse
import json
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

import golfphys
from golfphys.physics.strike import launch_from

ROOT = Path(__file__).resolve().parent.parent
KERNELS = ("Nehalem", "")
"""Kernels of OpenBLAS: one that every processor runs, and the processor's own; sums differ in their last digits."""
Numbers = dict[str, list[float]]


def closed_forms() -> Any:
    swing = golfphys.Delivery(speed=9.0)
    launches = [launch_from(club, swing, lie) for club in golfphys.BAG.values() for lie in golfphys.LIES.values()]
    return [
        *(golfphys.green_speed(0.08), golfphys.resistance_from_green_speed(3.0), golfphys.two_way_mean(3.5, 2.6)),
        golfphys.stopping_distance(1.83, 0.08, linear=0.01),
        *(number for launch in launches for number in (launch.speed, launch.angle, launch.backspin)),
    ]


def chips(strips: bool = False) -> Any:
    random = np.random.default_rng(5)
    launch = golfphys.Launch(*(random.uniform(*ends, 300) for ends in ((5, 14), (0.3, 1.0), (50, 500))))
    green = golfphys.Green.from_stimp(10.0, grade=0.02, fall_direction=2.0)
    fringe = golfphys.Strip(until=5.0, resistance=golfphys.Resistance(constant=0.25), grade=0.05)
    ground = golfphys.Ground(green=green, strips=(fringe,)) if strips else green
    shots = golfphys.simulate(launch, ground, air=golfphys.Air(wind_speed=3.0, wind_direction=1.0))
    return [*shots.carry, *shots.landing_speed, *shots.rest_x, *shots.rest_y, *shots.bounces]


def putting() -> Any:
    fit = golfphys.fit_make_probability(golfphys.read_make_table("berry_1996"))
    return [*fit.model.probability([0.5, 1.0, 2.0, 4.0, 8.0]), *golfphys.putts_to_hole_out()([1.0, 5.0, 15.0])]


def fitted(*kinds: str) -> Any:
    course = golfphys.read_course(ROOT / "data" / "demo")
    estimates = golfphys.fit(*(getattr(course, kind) for kind in kinds)).estimates
    return estimates[["estimate", "low", "high", "sd"]].to_numpy(dtype=float).ravel()


def plan() -> Any:
    table = golfphys.plan_chip(
        golfphys.stated(golfphys.Green.from_stimp(10.0, grade=0.01)), to_edge=3.0, to_pin=15.0
    ).table
    return table.set_index("club").sort_index()[["landing_m", "roll_m", "strokes"]].to_numpy().ravel()


CALCULATIONS: dict[str, tuple[Callable[[], Any], float]] = {
    "closed forms": (closed_forms, 1e-9),
    "chips": (chips, 1e-6),
    "chips over a fringe": (lambda: chips(strips=True), 1e-6),
    "putting": (putting, 1e-5),  # a search ends within its own tolerance
    "plan": (plan, 1e-3),  # a landing is searched to a millimetre
    "fit of rolls": (lambda: fitted("rollouts"), 0.001),
    "fit of a course": (lambda: fitted("rollouts", "drops", "films", "chips"), 0.001),
}
"""What is worked out, and how far its numbers may lie apart: at most so many times (1 + the number).

Of a fit the numbers are estimate, low, high and standard deviation in turn, and it is in standard deviations.
"""


def numbers_of(python: str, names: Sequence[str] = (), *, threads: int = 1, **variables: str) -> Numbers:
    """Work everything out in another process, on so many threads, with further variables in its environment."""
    own = {f"{library}_NUM_THREADS": str(threads) for library in ("OMP", "OPENBLAS", "MKL", "NUMBA")}
    own |= {"PYTHONDONTWRITEBYTECODE": "1", "MPLBACKEND": "agg", "PYTHONPATH": str(ROOT)} | variables
    command = [python, str(Path(__file__).resolve()), "--numbers", *names]
    done = subprocess.run(command, env={**os.environ, **own}, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{python} failed:\n{done.stderr[-2000:]}")
    found: Numbers = json.loads(done.stdout.splitlines()[-1])
    return found


def excess(name: str, one: Sequence[float], other: Sequence[float]) -> float:
    """Greatest difference of a calculation's numbers over what its tolerance allows; infinite if they cannot match."""
    a, b = np.asarray(one), np.asarray(other)
    if a.shape != b.shape:
        return math.inf
    scale = np.repeat(a[3::4], 4) if name.startswith("fit") else 1.0 + np.abs(a)
    with np.errstate(invalid="ignore"):
        gaps = np.abs(a - b) / (CALCULATIONS[name][1] * scale + sys.float_info.min)
    gaps[(a == b) | (np.isnan(a) & np.isnan(b))] = 0.0
    return float(np.nan_to_num(gaps, nan=math.inf).max(initial=0.0))


def compared(found: Sequence[Numbers]) -> tuple[list[str], bool]:
    """Lines of a table of differences from the first run, and whether all are within tolerance."""
    lines, good = [], True
    for name, first in found[0].items():
        shares = [excess(name, first, other[name]) for other in found[1:]]
        good = good and max(shares) <= 1
        words = ", ".join(f"{share:.2g} of the tolerance{'' if share <= 1 else ', TOO FAR'}" for share in shares)
        lines.append(f"{name:22s}{len(first):6d} numbers, tolerance {CALCULATIONS[name][1]:g}: {words}")
    return lines, good


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pythons", nargs="*", help="interpreters of the environments; this one if one is given")
    parser.add_argument("--kernels", action="store_true", help="run under two kernels of OpenBLAS")
    parser.add_argument("--numbers", nargs="*", metavar="CALCULATION", help="print the numbers of this interpreter")
    asked = parser.parse_args()
    if asked.numbers is not None:
        names = asked.numbers or list(CALCULATIONS)
        print(json.dumps({name: [float(value) for value in CALCULATIONS[name][0]()] for name in names}))
        return 0
    with tempfile.TemporaryDirectory() as cache, ThreadPoolExecutor(2) as two:
        runs = []
        for number, python in enumerate(asked.pythons if len(asked.pythons) > 1 else [sys.executable, *asked.pythons]):
            # code compiled by one version of numba is no good to another
            own = {"NUMBA_CACHE_DIR": f"{cache}/{number}"} if asked.pythons else {}
            kernels = KERNELS if asked.kernels else ("",)
            runs += [(python, own | ({"OPENBLAS_CORETYPE": kernel} if kernel else {})) for kernel in kernels]
        found = list(two.map(lambda run: numbers_of(run[0], **run[1]), runs))
    lines, good = compared(found)
    print("\n".join(lines))
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
