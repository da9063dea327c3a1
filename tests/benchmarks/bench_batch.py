"""How fast a batch of chips is played, how exactly, in how much memory: ``python tests/benchmarks/bench_batch.py``.

Plays whole chips (flight with drag and lift, bounces until the hop dies, skid, roll on a grade, all in three
dimensions) and, in the same run and on the same machine, the same chips one at a time by scipy's ``solve_ivp`` (DOP853,
events, rtol 1e-10). Prints shots per second, their ratio, the distance between rest positions with every exception,
peak memory, and the time of the first call in a fresh process with and without numba's cache.
"""

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

from reference_chip import Course

from golfphys.physics.club import Launch
from golfphys.physics.green import Green, GroundBatch
from golfphys.physics.shot import simulate

GREEN = Green.from_stimp(10.0, grade=0.02, fall_direction=2.0)
FIRST_CALL = """
import time
start = time.perf_counter()
from golfphys.physics.club import Launch
from golfphys.physics.green import Green
from golfphys.physics.shot import simulate
simulate(Launch(8.0, 0.6, 250.0), Green.from_stimp(10.0))
print(time.perf_counter() - start)
"""


def chips(n: int, seed: int = 1) -> Launch:
    """Return chips and pitches of 4 to 20 m, each with its own direction and sidespin."""
    random = np.random.default_rng(seed)
    return Launch(
        random.uniform(6.0, 14.0, n),
        random.uniform(0.35, 0.95, n),
        random.uniform(100.0, 500.0, n),
        random.normal(0.0, 0.03, n),
        random.normal(0.0, 20.0, n),
    )


def first_call(cache: str) -> float:
    """Return the time in s from the start of a fresh process's imports to its first shot."""
    done = subprocess.run(
        [sys.executable, "-c", FIRST_CALL],
        env={**os.environ, "NUMBA_CACHE_DIR": cache},
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parent.parent.parent,
    )
    return float(done.stdout)


def peak_megabytes() -> float:
    """Return the greatest memory that this process has held."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def speed(n: int, repeats: int) -> float:
    """Print and return shots per second of the best of some repeats, and of all."""
    launch = chips(n)
    simulate(launch, GREEN)
    rates, cpu = [], []
    for _ in range(repeats):
        start, used = time.perf_counter(), time.process_time()
        shots = simulate(launch, GREEN)
        rates.append(n / (time.perf_counter() - start))
        cpu.append((time.process_time() - used) / n)
    print(f"cores                         {os.cpu_count()}, load before this run {os.getloadavg()[0]:.1f}")
    print(
        f"shots in one call             {n:,}; {np.mean(shots.bounces):.1f} hops each, {np.mean(shots.stops):.1%} stop"
    )
    print(f"shots per second              {max(rates):,.0f} best, {np.median(rates):,.0f} median of {repeats}")
    print(
        f"processor time per shot       {min(cpu) * 1e9:,.0f} ns, "
        f"all cores together: {os.cpu_count() / min(cpu):,.0f}/s"
    )
    greens = GroundBatch(ground=GREEN, values={"constant": np.random.default_rng(2).uniform(0.06, 0.1, n)})
    simulate(launch, greens)
    start = time.perf_counter()
    simulate(launch, greens)
    print(f"with a green for each shot    {n / (time.perf_counter() - start):,.0f} per second")
    return max(rates)


def against_reference(n: int, rate: float) -> None:
    """Print the ratio to one-at-a-time solving and the distances between rest positions."""
    launch = chips(n, seed=7)
    ours = simulate(launch, GREEN)
    course = Course(GREEN)
    rows = list(zip(*(np.asarray(item).tolist() for item in vars(launch).values()), strict=True))
    start = time.perf_counter()
    theirs = [course.play(*row) for row in rows]
    slow = n / (time.perf_counter() - start)
    apart = np.hypot(ours.rest_x - [one.rest_x for one in theirs], ours.rest_y - [one.rest_y for one in theirs])
    hops = np.array([one.bounces for one in theirs])
    print(f"solve_ivp, one at a time      {slow:,.0f} per second ({n} chips)")
    print(f"ratio                         {rate / slow:,.0f}")
    print(f"rest within 1 mm              {np.mean(apart < 1e-3):.2%} of {n}")
    print(f"distance of rest              median {np.median(apart) * 1e3:.3f} mm, greatest {apart.max() * 1e3:.3f} mm")
    for number in np.flatnonzero((apart >= 1e-3) | (ours.bounces != hops)):
        row = ", ".join(f"{value:.4f}" for value in rows[number])
        print(f"  exception: {row}: {apart[number] * 1e3:.2f} mm, hops {ours.bounces[number]} against {hops[number]}")


def main() -> None:
    """Print all of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shots", type=int, default=200_000)
    parser.add_argument("--reference", type=int, default=1000)
    parser.add_argument("--repeats", type=int, default=15)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as cache:
        print(f"first call, nothing cached    {first_call(cache):.2f} s from import to result")
        print(f"first call, from the cache    {min(first_call(cache) for _ in range(3)):.2f} s from import to result")
    rate = speed(asked.shots, asked.repeats)
    print(f"peak memory                   {peak_megabytes():,.0f} MB after {asked.shots:,} shots")
    simulate(chips(10 * asked.shots), GREEN)
    results = 10 * asked.shots * (15 + 5) * 8 / 1e6
    print(
        f"                              {peak_megabytes():,.0f} MB after {10 * asked.shots:,}, "
        f"of which {results:,.0f} MB launches and results"
    )
    against_reference(asked.reference, rate)


if __name__ == "__main__":
    main()
