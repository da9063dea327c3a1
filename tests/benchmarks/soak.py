"""Millions of random shots, each held to what must always be true: ``python tests/benchmarks/soak.py``.

Launches are drawn over all that the library is meant for and beyond: 0 to 40 m/s, up to 1500 rad/s of spin either way,
straight down to straight up, in every direction. Most chunks are played on greens, turf and air as they may be found;
one in ten, much shorter (its shots take a hundred times longer), over all that the dataclasses take: grades to the
limit, turf that gives back everything or nothing, no friction, no resistance or resistance that falls with speed,
gales. One in ten is played over strips of ground, which is the single-shot form of the engine. Every shot must end with
a status, its numbers must be finite or its status must say why not, and it must not make energy. The shots are the
same for the same seed; memory does not grow with their number.

Prints how many shots ended how and every broken invariant with the launch and ground that broke it; the exit code is 1
if there was any.
"""

import argparse
import resource
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from golfphys.core.ball import Ball
from golfphys.core.constants import GRAVITY
from golfphys.physics.club import Launch
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, GroundBatch, LinearTurf, Resistance, Strip, Turf
from golfphys.physics.shot import Shots, Status, simulate

CHUNK = 100_000
LONG_SHOTS = 20
"""Chunks at the limits, or over strips, are shorter by this factor."""
SHOWN = 5
LAUNCH_LIMITS = {
    "speed": (0.0, 40.0),
    "angle": (-np.pi / 2, np.pi / 2),
    "backspin": (-1500.0, 1500.0),
    "direction": (-np.pi, np.pi),
    "sidespin": (-1500.0, 1500.0),
}
RIGID_LIMITS = {
    "restitution": (0.0, 1.0),
    "restitution_linear": (-0.1, 0.1),
    "restitution_quadratic": (-0.01, 0.01),
    "tilt": (0.0, 0.8),
    "dent_speed": (0.1, 10.0),
    "friction": (0.0, 5.0),
    "tangential_restitution": (0.0, 1.0),
    "hop_loss": (0.0005, 0.02),
    "skid_friction": (0.0, 5.0),
}
LINEAR_LIMITS = {
    "restitution": (0.0, 1.0),
    "forward_lift": (0.0, 1.0),
    "speed_kept": (-1.0, 1.5),
    "speed_from_spin": (-1.0, 1.5),
    "spin_from_speed": (-1.0, 1.5),
    "spin_kept": (-1.0, 1.5),
    "friction": (0.0, 5.0),
    "hop_loss": (0.0005, 0.02),
    "skid_friction": (0.0, 5.0),
}
GREEN_LIMITS = {"constant": (0.0, 2.0), "grade": (0.0, 1.0), "fall_direction": (-np.pi, np.pi), "grain": (0.0, 0.9)}
FOUND = {
    "constant": (0.03, 0.3),
    "grade": (0.0, 0.08),
    "restitution": (0.0, 0.6),
    "restitution_linear": (-0.06, 0.0),
    "restitution_quadratic": (0.0, 0.001),
    "tilt": (0.0, 0.4),
    "dent_speed": (0.5, 10.0),
    "friction": (0.0, 1.0),
    "tangential_restitution": (0.0, 0.5),
    "hop_loss": (0.001, 0.01),
    "skid_friction": (0.05, 1.0),
    "forward_lift": (0.0, 0.1),
}
"""What greens and turf may be found to be."""


@dataclass(frozen=True, kw_only=True)
class World:
    """One chunk: what is played, on what, in which air."""

    launch: Launch
    ground: GroundBatch
    air: Air
    aerodynamics: Aerodynamics
    kind: str


def spread(random: np.random.Generator, limits: tuple[float, float], n: int) -> np.ndarray:
    """Return values between limits, one in ten of them at an end of the range or at nothing."""
    low, high = limits
    values = random.uniform(low, high, n)
    ends = np.array([low, high, min(max(0.0, low), high)])
    at_end = random.random(n) < 0.1
    values[at_end] = ends[random.integers(0, 3, int(at_end.sum()))]
    return values


def draw(number: int, n: int, seed: int) -> World:
    """Return chunk `number` of a run, of `n` shots or fewer where each takes long."""
    random = np.random.default_rng([seed, number])
    rigid, extreme, strips = number % 2 == 0, number % 10 in (2, 5), number % 10 in (5, 8)
    n = max(1, n // LONG_SHOTS) if extreme or strips else n
    limits = {**GREEN_LIMITS, **(RIGID_LIMITS if rigid else LINEAR_LIMITS)}
    if not extreme:
        limits.update((name, span) for name, span in FOUND.items() if name in limits)
    values = {name: spread(random, span, n) for name, span in limits.items()}
    if extreme:
        values["linear"] = random.uniform(-0.05, 0.1, n)
        values["quadratic"] = random.uniform(-0.01, 0.02, n)
    green = Green(resistance=Resistance(constant=0.1, grain_direction=1.0), turf=Turf() if rigid else LinearTurf())
    wind = float(random.uniform(0.0, 60.0 if extreme else 15.0)) if number % 4 else 0.0
    kind = ("the limits" if extreme else "as found", "strips" if strips else "plane", "rigid" if rigid else "linear")
    return World(
        launch=Launch(**{name: spread(random, span, n) for name, span in LAUNCH_LIMITS.items()}),
        ground=GroundBatch(ground=stripped(green, random) if strips else green, values=values),
        air=Air(wind_speed=wind, wind_direction=float(random.uniform(-3, 3))),
        aerodynamics=Aerodynamics(drag_scale=random.uniform(0.0, 2.0, n)) if extreme else Aerodynamics(),
        kind=", ".join((*kind, "wind" if wind else "calm")),
    )


def stripped(green: Green, random: np.random.Generator) -> Ground:
    """Return ground with a fringe of its own slope and a strip like the green before the green."""
    first, second = np.sort(random.uniform(0.5, 30.0, 2)).tolist()
    fringe = Strip(until=first, resistance=Resistance(constant=0.3), grade=float(random.uniform(-0.3, 0.3)))
    return Ground(green=green, strips=(fringe, Strip(until=second + 0.1)))


def part(world: World, chosen: np.ndarray) -> World:
    """Return some of the shots of a chunk."""
    scale = world.aerodynamics.drag_scale
    return replace(
        world,
        launch=Launch(**{name: value[chosen] for name, value in vars(world.launch).items()}),
        ground=replace(world.ground, values={name: value[chosen] for name, value in world.ground.values.items()}),
        aerodynamics=replace(world.aerodynamics, drag_scale=scale[chosen] if np.ndim(scale) else scale),
    )


def play(world: World) -> Shots:
    """Play a chunk."""
    return simulate(world.launch, world.ground, air=world.air, aerodynamics=world.aerodynamics)


def height(world: World, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Height over the launch of a place on one plane, m."""
    values = world.ground.values
    steep = np.arctan(values["grade"])
    return -np.sin(steep) * (np.cos(values["fall_direction"]) * x + np.sin(values["fall_direction"]) * y)


def always(shots: Shots) -> Iterator[tuple[str, np.ndarray]]:
    """What is true of every shot on any ground: yields what is wrong and where."""
    status, ball = shots.status, Ball()
    stopped, rolled_on = status == Status.STOPPED, status == Status.NEVER_STOPS
    landed = stopped | rolled_on
    yield "a status that there is not", ~np.isin(status, [int(item) for item in Status])
    yield "a valid shot called invalid", status == Status.INVALID
    landing = [shots.carry, shots.landing_x, shots.landing_y, shots.flight_time, shots.landing_speed]
    landing += [shots.landing_angle, shots.landing_spin, shots.apex]
    yield "no finite landing", landed & ~np.logical_and.reduce([np.isfinite(item) for item in landing])
    rest = [shots.roll_x, shots.roll_y, shots.rest_x, shots.rest_y, shots.rest_time]
    yield "rest of a stopped shot not finite", stopped & ~np.logical_and.reduce([np.isfinite(item) for item in rest])
    endless = np.isposinf(shots.rest_time) & np.isinf(shots.rest_x) & np.isinf(shots.rest_y)
    yield "rest of an endless roll not infinite", rolled_on & ~endless
    yield "rolling begins nowhere", rolled_on & (np.isnan(shots.roll_x) | np.isnan(shots.roll_y))
    yield "rest of a shot given up", (status == Status.STILL_BOUNCING) & np.isfinite(shots.rest_x)
    yield (
        "carry is not the way to the landing",
        landed & (np.abs(shots.carry - np.hypot(shots.landing_x, shots.landing_y)) > 1e-9 * (1 + np.abs(shots.carry))),
    )
    yield "below nothing", landed & ((shots.flight_time < 0) | (shots.landing_speed < 0) | (shots.apex < 0))
    yield "angle beyond the vertical", landed & (np.abs(shots.landing_angle) > np.pi / 2 + 1e-12)
    yield "rest before the landing", stopped & (shots.rest_time < shots.flight_time * (1 - 1e-12))
    yield "hops out of bounds", (shots.bounces < 0) | (shots.bounces > 60)
    yield "spin from nowhere", landed & (np.abs(shots.landing_spin) > 1e4 / ball.radius)


def in_still_air(world: World, shots: Shots) -> Iterator[tuple[str, np.ndarray]]:
    """What energy allows on one plane in still air: neither drag, lift, rigid turf nor grass can add to it."""
    ball, values, launch = Ball(), world.ground.values, world.launch
    gravity = GRAVITY.value
    landed = (shots.status == Status.STOPPED) | (shots.status == Status.NEVER_STOPS)
    moving = 0.5 * launch.speed**2
    after = 0.5 * shots.landing_speed**2 + gravity * height(world, shots.landing_x, shots.landing_y)
    yield "lands with more energy than it left with", landed & (after > moving * (1 + 1e-6) + 1e-6)
    yield "apex beyond its energy", landed & (gravity * shots.apex > moving * (1 + 1e-6) + 1e-6)
    yield (
        "spins faster on landing",
        landed & (np.abs(shots.landing_spin) > np.hypot(launch.backspin, launch.sidespin) * (1 + 1e-6) + 1e-6),
    )
    if not isinstance(world.ground.green.turf, Turf):
        return
    turning = 0.5 * ball.inertia * ball.radius**2 * (launch.backspin**2 + launch.sidespin**2)
    stopped = shots.status == Status.STOPPED
    for name in ("linear", "quadratic"):
        stopped &= np.asarray(values.get(name, 0.0)) >= 0.0  # else resistance may be less than at rest
    with np.errstate(invalid="ignore"):
        way = np.hypot(shots.rest_x - shots.roll_x, shots.rest_y - shots.roll_y)
        least = values["constant"] * (1 - values["grain"]) / np.hypot(1, values["grade"])
        spent = gravity * (height(world, shots.rest_x, shots.rest_y) + least * way)
    yield "rolls farther than its energy takes it", stopped & (spent > (moving + turning) * (1 + 1e-6) + 1e-6)


def violations(world: World, shots: Shots) -> dict[str, np.ndarray]:
    """Return the numbers of the shots that break each invariant; those that none breaks are left out."""
    with np.errstate(invalid="ignore"):
        checks = list(always(shots))
        if world.air.wind_speed == 0 and not isinstance(world.ground.ground, Ground):
            checks += in_still_air(world, shots)
    return {what: np.flatnonzero(wrong) for what, wrong in checks if wrong.any()}


def describe(world: World, shots: Shots, number: int) -> str:
    """Return launch, ground and result of one shot."""
    launch = {name: float(value[number]) for name, value in vars(world.launch).items()}
    values = {name: float(value[number]) for name, value in world.ground.values.items()}
    found = {name: np.asarray(value)[number].item() for name, value in vars(shots).items()}
    return f"    launch {launch}\n    ground {values}\n    air {world.air.wind_speed}\n    result {found}"


def soak(total: int, seed: int, chunk: int = CHUNK, say: Any = print) -> int:
    """Play `total` shots, print what happened, and return how many broke an invariant."""
    counts: dict[str, Counter[str]] = {}
    broken = done = number = 0
    begun = time.perf_counter()
    while done < total:
        world = draw(number, min(chunk, total - done), seed)
        shots = play(world)
        ended = np.bincount(shots.status, minlength=len(Status))
        counts.setdefault(world.kind.rpartition(",")[0], Counter()).update(
            {item.name: int(ended[item]) for item in Status}
        )
        for what, wrong in violations(world, shots).items():
            broken += len(wrong)
            say(f"chunk {number} ({world.kind}): {len(wrong)} shots: {what}")
            for one in wrong[:SHOWN]:
                say(describe(world, shots, int(one)))
        done += len(shots)
        number += 1
    say(f"{'':32s}" + "".join(f"{item.name:>16s}" for item in Status))
    for kind in sorted(counts):
        say(f"{kind:32s}" + "".join(f"{counts[kind][item.name]:16,d}" for item in Status))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    say(f"{done:,} shots in {time.perf_counter() - begun:.0f} s, {memory:,.0f} MB at most, {broken} broken invariants")
    return broken


def main() -> int:
    """Run as asked; 1 if an invariant was broken."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shots", type=int, default=10_000_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    return 1 if soak(asked.shots, asked.seed) else 0


if __name__ == "__main__":
    sys.exit(main())
