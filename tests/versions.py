"""The same numbers whatever is installed and whatever computes: ``python tests/versions.py OLD_PYTHON NEW_PYTHON``.

Runs one fixed, seeded set of calculations in each of the environments (paths of their interpreters; golfphys need not
be installed in them), or with ``--kernels`` in this environment under two kernels of linear algebra, as on two kinds
of processor. Every number is compared with the first run's; printed is the greatest difference of each calculation
beside its tolerance. The exit code is 1 if a tolerance is broken.

Closed forms may differ by rounding. Flights, rolls and bounces add up rounding over thousands of steps, and a bounce
stretches it. The numbers of fits are held to a fiftieth of their own standard deviation.
"""

import argparse
import json
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

TINY = 1e-300
ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("numpy", "scipy", "pandas", "numba", "arviz-stats")
KERNELS = ("Nehalem", "Haswell")
"""Kernels of OpenBLAS: without and with fused multiplication, so that sums differ in their last digits."""


@dataclass(frozen=True)
class Calculation:
    """What is worked out, and how far its numbers may lie apart.

    A difference is within tolerance if it is at most `absolute` plus `relative` times the number; with `in_sd` the
    numbers are estimate, low, high and standard deviation in turn, and `absolute` is in standard deviations.
    """

    work: Callable[[], Sequence[float]]
    absolute: float
    relative: float
    why: str
    in_sd: bool = False


def rolls() -> Sequence[float]:
    """Rolls on slopes, with resistance that grows and grain."""
    import numpy as np

    from golfphys.physics.roll import rest_point, roll

    found = roll([0.5, 1.83, 4.0], [0.0, 2.0, -1.0], 0.08, grade=0.03, fall_direction=1.0, linear=0.01, grain=0.1)
    closed = rest_point([1.83, 1.0], [0.3, 2.0], 0.08, grade=0.02, fall_direction=1.0)
    return [*found.x, *found.y, *found.time, *np.ravel(closed)]


def closed_forms() -> Sequence[float]:
    """The formulas of the trade: green speed, two-way mean, capture, break."""
    import golfphys

    return [
        golfphys.green_speed(0.08),
        golfphys.green_speed_ft(0.08),
        golfphys.resistance_from_green_speed(3.0),
        golfphys.two_way_mean(3.5, 2.6),
        golfphys.stopping_distance(1.83, 0.08, linear=0.01),
        golfphys.speed_for_distance(5.0, 0.08),
        golfphys.capture_speed(0.02),
    ]


def chips() -> Sequence[float]:
    """Three hundred chips on a slope in wind."""
    import numpy as np

    import golfphys

    random = np.random.default_rng(5)
    launch = golfphys.Launch(random.uniform(5, 14, 300), random.uniform(0.3, 1.0, 300), random.uniform(50, 500, 300))
    green = golfphys.Green.from_stimp(10.0, grade=0.02, fall_direction=2.0)
    shots = golfphys.simulate(launch, green, air=golfphys.Air(wind_speed=3.0, wind_direction=1.0))
    return [*shots.carry, *shots.landing_speed, *shots.rest_x, *shots.rest_y, *shots.bounces]


def chips_over_strips() -> Sequence[float]:
    """Forty chips that pitch on a fringe."""
    import numpy as np

    import golfphys

    random = np.random.default_rng(6)
    launch = golfphys.Launch(random.uniform(5, 9, 40), random.uniform(0.3, 0.9, 40), 250.0)
    fringe = golfphys.Strip(until=5.0, resistance=golfphys.Resistance(constant=0.25), grade=0.05)
    shots = golfphys.simulate(launch, golfphys.Ground(green=golfphys.Green.from_stimp(10.0), strips=(fringe,)))
    return [*shots.carry, *shots.rest_x, *shots.bounces]


def strikes() -> Sequence[float]:
    """Launches of every club from every lie."""
    from golfphys.physics.club import BAG, LIES, Delivery
    from golfphys.physics.strike import launch_from

    launches = [launch_from(club, Delivery(speed=9.0), lie) for club in BAG.values() for lie in LIES.values()]
    return [number for launch in launches for number in (launch.speed, launch.angle, launch.backspin)]


def putting() -> Sequence[float]:
    """A model of holing fitted to a published table, and expected putts."""
    import golfphys

    fit = golfphys.fit_make_probability("berry_1996")
    return [*fit.model.probability([0.5, 1.0, 2.0, 4.0, 8.0]), *golfphys.expected_putts([1.0, 5.0, 15.0])]


def surveyed() -> Sequence[float]:
    """Heights at scattered points made a surface, and a roll on it."""
    import numpy as np

    import golfphys

    random = np.random.default_rng(8)
    x, y = random.uniform(0, 8, 60), random.uniform(0, 6, 60)
    heights = 0.02 * x + 0.05 * np.sin(y) + 0.002 * random.standard_normal(60)
    ground = golfphys.Surface.from_points(x, y, heights, height_sd=0.002)
    found = golfphys.roll_on(ground, 4.0, 3.0, 1.2, 0.5, 0.08)
    return [float(ground.height(4.0, 3.0)), found.x, found.y]


def _demo(kind: str) -> Any:
    import golfphys

    return getattr(golfphys, f"read_{kind}")(ROOT / "data" / "demo" / f"{kind}.csv")


def _with_sd(table: Any) -> list[float]:
    """Estimate, both ends of the interval and standard deviation of every parameter, one after the other."""
    return [float(value) for value in table[["estimate", "low", "high", "sd"]].to_numpy(dtype=float).ravel()]


def fit_of_rolls() -> Sequence[float]:
    """The demonstration's rolls."""
    import golfphys

    return _with_sd(golfphys.fit_rollouts(_demo("rollouts")).estimates)


def fit_of_films() -> Sequence[float]:
    """The demonstration's first filmed rolls."""
    from dataclasses import replace

    import golfphys

    sheet = _demo("traces")
    few = replace(sheet, frames=sheet.frames[sheet.frames["roll"].isin(sheet.rolls[:2])])
    return _with_sd(golfphys.fit_traces(few, draws=1000).estimates)


def fit_of_a_course() -> Sequence[float]:
    """The demonstration's rolls, drops and chips."""
    import golfphys

    return _with_sd(golfphys.fit_course(_demo("rollouts"), _demo("drops"), _demo("chips")).estimates)


def plan() -> Sequence[float]:
    """A plan on a green taken as known."""
    import golfphys

    table = golfphys.plan_chip(golfphys.Green.from_stimp(10.0, grade=0.01), to_edge=3.0, to_pin=15.0).table
    columns = ["landing_m", "roll_m", "strokes"]
    return [float(value) for value in table.set_index("club").sort_index()[columns].to_numpy().ravel()]


CALCULATIONS = {
    "closed forms": Calculation(closed_forms, 1e-12, 1e-12, "rounding of one formula"),
    "rolls": Calculation(rolls, 1e-9, 1e-9, "rounding over 32 steps"),
    "strikes": Calculation(strikes, 1e-9, 1e-9, "rounding of one formula"),
    "chips": Calculation(chips, 1e-6, 1e-6, "rounding over a flight, stretched by every bounce"),
    "chips over strips": Calculation(
        chips_over_strips, 1e-6, 1e-6, "rounding over a flight, stretched by every bounce"
    ),
    "putting": Calculation(putting, 1e-5, 1e-5, "a search ends within its own tolerance"),
    "surveyed green": Calculation(surveyed, 1e-4, 1e-4, "smoothing is searched to a tolerance"),
    "fit of rolls": Calculation(fit_of_rolls, 0.02, 1e-9, "a fiftieth of a standard deviation", in_sd=True),
    "fit of films": Calculation(fit_of_films, 0.02, 1e-9, "a fiftieth of a standard deviation", in_sd=True),
    "fit of a course": Calculation(fit_of_a_course, 0.02, 1e-9, "a fiftieth of a standard deviation", in_sd=True),
    "plan": Calculation(plan, 1e-3, 1e-6, "a landing is searched to a millimetre"),
}


def own_numbers(names: Sequence[str]) -> dict[str, Any]:
    """Work everything out in this interpreter."""
    import importlib.metadata

    sys.path.insert(0, str(ROOT))
    found = {name: [float(value) for value in CALCULATIONS[name].work()] for name in names}
    return {
        "versions": {"python": sys.version.split()[0], **{name: importlib.metadata.version(name) for name in PACKAGES}},
        "numbers": found,
    }


def numbers_of(python: str, names: Sequence[str] = (), *, threads: int = 1, **variables: str) -> dict[str, Any]:
    """Work everything out in another process, on so many threads, with further variables in its environment."""
    own = {f"{library}_NUM_THREADS": str(threads) for library in ("OMP", "OPENBLAS", "MKL", "NUMBA")}
    own |= {"PYTHONDONTWRITEBYTECODE": "1", "MPLBACKEND": "agg"} | variables
    done = subprocess.run(
        [python, str(Path(__file__).resolve()), "--numbers", *names],
        env={**os.environ, **own},
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise RuntimeError(f"{python} failed:\n{done.stderr[-2000:]}")
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found


def excess(name: str, one: Sequence[float], other: Sequence[float]) -> float:
    """Greatest difference of a calculation's numbers over what its tolerance allows; infinite if they cannot match."""
    import numpy as np

    how = CALCULATIONS[name]
    if len(one) != len(other):
        return math.inf
    units = np.ones(len(one))
    if how.in_sd:
        units = np.repeat(np.asarray(one[3::4]), 4)
    a, b = np.asarray(one), np.asarray(other)
    with np.errstate(invalid="ignore"):
        gaps = np.abs(a - b) / (how.absolute * units + how.relative * np.abs(a) + TINY)
    gaps[(a == b) | (np.isnan(a) & np.isnan(b))] = 0.0
    return float(np.where(np.isfinite(gaps), gaps, math.inf).max(initial=0.0))


def compared(found: Sequence[dict[str, Any]]) -> tuple[list[str], bool]:
    """Lines of a table of differences from the first environment, and whether all are within tolerance."""
    lines = ["versions: " + "; ".join(" ".join(f"{k} {v}" for k, v in one["versions"].items()) for one in found)]
    lines.append(
        f"{'calculation':20s}{'numbers':>9s}{'tolerance':>22s}  greatest difference, as a share of the tolerance"
    )
    good = True
    for name in found[0]["numbers"]:
        first, how = found[0]["numbers"][name], CALCULATIONS[name]
        shares = [excess(name, first, other["numbers"][name]) for other in found[1:]]
        good = good and all(share <= 1 for share in shares)
        words = ", ".join(f"{share:.2g}{'' if share <= 1 else '  TOO FAR'}" for share in shares)
        lines.append(f"{name:20s}{len(first):9d}{f'{how.absolute:g} + {how.relative:g} x':>18s}  {words}   ({how.why})")
    return lines, good


def main() -> int:
    """Work out or compare, as asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pythons", nargs="*", help="interpreters of the environments; this one if one is given")
    parser.add_argument("--numbers", nargs="*", metavar="CALCULATION", help="print the numbers of this interpreter")
    parser.add_argument("--kernels", action="store_true", help="run under two kernels of OpenBLAS")
    asked = parser.parse_args()
    if asked.numbers is not None:
        print(json.dumps(own_numbers(asked.numbers or list(CALCULATIONS))))
        return 0
    found = []
    with tempfile.TemporaryDirectory() as cache:  # code compiled by one version of numba is no good to another
        for number, python in enumerate([sys.executable, *asked.pythons] if len(asked.pythons) < 2 else asked.pythons):
            for kernel in KERNELS if asked.kernels else ("",):
                other = {"OPENBLAS_CORETYPE": kernel} if kernel else {}
                found.append(numbers_of(python, NUMBA_CACHE_DIR=f"{cache}/{number}", **other))
    lines, good = compared(found)
    print("\n".join(lines))
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
