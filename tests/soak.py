"""Millions of random shots, each held to what must always be true: ``python tests/soak.py``.

Launches are drawn over all that the library is meant for and beyond: 0 to 40 m/s, up to 1500 rad/s of spin either way,
straight down to straight up, in every direction. Most chunks are played on greens, turf and air as they may be found;
one in ten, much shorter (its shots take a hundred times longer), over all that the dataclasses take. One in ten is
played over strips of ground. Every shot must end with a status, its numbers must be finite or its status must say why
not, and it must not make energy. The shots are the same for the same seed.

Prints how many shots ended how and every broken invariant; the exit code is 1 if there was any.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np

from golfphys import Aerodynamics, Air, Ball, Green, Ground, Launch, LinearTurf, Resistance, Strip, Turf, simulate
from golfphys.core.constants import GRAVITY
from golfphys.physics.rows import Status
from golfphys.physics.shot import Shots

CHUNK = 100_000
LONG_SHOTS = 20
"""Chunks at the limits, or over strips, are shorter by this factor."""
TURN = 2.0 * np.pi
LAUNCH = {
    **{"speed": (0.0, 40.0), "angle": (-TURN / 4, TURN / 4), "direction": (-TURN / 2, TURN / 2)},
    **{"backspin": (-1500.0, 1500.0), "sidespin": (-1500.0, 1500.0)},
}
RESISTANCE = {"constant": ((0.03, 0.3), (0.0, 2.0)), "grain": ((0.0, 0.9), (0.0, 0.9))}
SLOPE = {"grade": ((0.0, 0.08), (0.0, 1.0)), "fall_direction": ((-TURN / 2, TURN / 2), (-TURN / 2, TURN / 2))}
BOTH = {
    **{"restitution": ((0.0, 0.6), (0.0, 1.0)), "friction": ((0.0, 1.0), (0.0, 5.0))},
    **{"hop_loss": ((0.001, 0.01), (0.0005, 0.02)), "skid_friction": ((0.05, 1.0), (0.0, 5.0))},
}
RIGID = BOTH | {
    **{"restitution_linear": ((-0.06, 0.0), (-0.1, 0.1)), "restitution_quadratic": ((0.0, 0.001), (-0.01, 0.01))},
    **{"tilt": ((0.0, 0.4), (0.0, 0.8)), "dent_speed": ((0.5, 10.0), (0.1, 10.0))},
    "tangential_restitution": ((0.0, 0.5), (0.0, 1.0)),
}
LINEAR = BOTH | {
    **{"forward_lift": ((0.0, 0.1), (0.0, 1.0)), "speed_kept": ((-1.0, 1.5),) * 2, "spin_kept": ((-1.0, 1.5),) * 2},
    **{"speed_from_spin": ((-1.0, 1.5),) * 2, "spin_from_speed": ((-1.0, 1.5),) * 2},
}
"""What greens and turf may be found to be, and the limits of what may be said of them."""


def spread(random: np.random.Generator, n: int, low: float, high: float) -> np.ndarray:
    """Return values between limits, one in ten of them at an end of the range or at nothing."""
    values, at_end = random.uniform(low, high, n), random.random(n) < 0.1
    ends = np.array([low, high, min(max(0.0, low), high)])
    values[at_end] = ends[random.integers(0, 3, int(at_end.sum()))]
    return values


def draw(number: int, n: int, seed: int) -> SimpleNamespace:
    """Return chunk `number` of a run, of `n` shots or fewer where each takes long: a launch, ground and air."""
    random = np.random.default_rng([seed, number])
    rigid, extreme, strips = number % 2 == 0, number % 10 in (2, 5), number % 10 in (5, 8)
    n = max(1, n // LONG_SHOTS) if extreme or strips else n

    def values(limits: dict[str, Any]) -> dict[str, Any]:
        return {name: spread(random, n, *ends[extreme]) for name, ends in limits.items()}

    growth = {"linear": (-0.05, 0.1), "quadratic": (-0.01, 0.02)} if extreme else {}
    grown = {name: random.uniform(*ends, n) for name, ends in growth.items()}
    turf = Turf(**values(RIGID)) if rigid else LinearTurf(**values(LINEAR))
    resistance = Resistance(**values(RESISTANCE), **grown, grain_direction=1.0)
    wind = float(random.uniform(0.0, 60.0 if extreme else 15.0)) if number % 4 else 0.0
    first, second = np.sort(random.uniform(0.5, 30.0, 2)).tolist()
    fringe = Strip(until=first, resistance=Resistance(constant=0.3), grade=float(random.uniform(-0.3, 0.3)))
    return SimpleNamespace(
        launch=Launch(**{name: spread(random, n, *ends) for name, ends in LAUNCH.items()}),
        green=Green(resistance=resistance, turf=turf, **values(SLOPE)),
        strips=(fringe, Strip(until=second + 0.1)) if strips else (),
        air=Air(wind_speed=wind, wind_direction=float(random.uniform(-3, 3))),
        aerodynamics=Aerodynamics(drag_scale=random.uniform(0.0, 2.0, n)) if extreme else Aerodynamics(),
        kind=f"{'the limits' if extreme else 'as found'}, {'strips' if strips else 'plane'}, "
        f"{'rigid' if rigid else 'linear'}",
    )


def always(shots: Shots) -> Iterator[tuple[str, np.ndarray]]:
    """What is true of every shot on any ground: yields what is wrong and where."""
    stopped, rolled_on = shots.status == Status.STOPPED, shots.status == Status.NEVER_STOPS
    landed = stopped | rolled_on
    yield "a status that there is not", ~np.isin(shots.status, [int(item) for item in Status])
    yield "a valid shot called invalid", shots.status == Status.INVALID
    landing = (shots.carry, shots.landing_x, shots.landing_y, shots.flight_time, shots.landing_speed)
    landing += (shots.landing_angle, shots.landing_spin, shots.apex)
    yield "no finite landing", landed & ~np.isfinite(landing).all(axis=0)
    rest = (shots.roll_x, shots.roll_y, shots.rest_x, shots.rest_y, shots.rest_time)
    yield "rest of a stopped shot not finite", stopped & ~np.isfinite(rest).all(axis=0)
    endless = np.isposinf(shots.rest_time) & np.isinf(shots.rest_x) & np.isinf(shots.rest_y)
    yield "rest of an endless roll not infinite", rolled_on & ~endless
    yield "rest of a shot given up", (shots.status == Status.STILL_BOUNCING) & np.isfinite(shots.rest_x)
    apart = np.abs(shots.carry - np.hypot(shots.landing_x, shots.landing_y))
    yield "carry is not the distance to the landing", landed & (apart > 1e-9 * (1 + np.abs(shots.carry)))
    yield "below nothing", landed & ((shots.flight_time < 0) | (shots.landing_speed < 0) | (shots.apex < 0))
    yield "rest before the landing", stopped & (shots.rest_time < shots.flight_time * (1 - 1e-12))


def in_still_air(world: SimpleNamespace, shots: Shots) -> Iterator[tuple[str, np.ndarray]]:
    """What energy allows on one plane in still air: neither drag, lift, rigid turf nor grass can add to it."""
    green, launch, gravity = world.green, world.launch, GRAVITY.value
    steep = np.arctan(green.grade)

    def height(x: np.ndarray, y: np.ndarray) -> Any:
        return -np.sin(steep) * (np.cos(green.fall_direction) * x + np.sin(green.fall_direction) * y)

    landed = (shots.status == Status.STOPPED) | (shots.status == Status.NEVER_STOPS)
    moving = 0.5 * np.square(launch.speed)
    most = moving * (1 + 1e-6) + 1e-6
    after = 0.5 * shots.landing_speed**2 + gravity * height(shots.landing_x, shots.landing_y)
    yield "lands with more energy than it left with", landed & (after > most)
    yield "apex beyond its energy", landed & (gravity * shots.apex > most)
    if isinstance(green.turf, Turf):
        turning = 0.2 * Ball().radius ** 2 * (np.square(launch.backspin) + np.square(launch.sidespin))
        resists = (np.asarray(green.resistance.linear) >= 0.0) & (np.asarray(green.resistance.quadratic) >= 0.0)
        rolled = np.hypot(shots.rest_x - shots.roll_x, shots.rest_y - shots.roll_y)
        least = green.resistance.constant * (1 - green.resistance.grain) / np.hypot(1, green.grade)
        spent = gravity * (height(shots.rest_x, shots.rest_y) + least * rolled)
        beyond = spent > most + turning * (1 + 1e-6)
        yield "rolls farther than its energy takes it", (shots.status == Status.STOPPED) & resists & beyond


def violations(world: SimpleNamespace, shots: Shots) -> dict[str, np.ndarray]:
    """Return the numbers of the shots that break each invariant; those that none breaks are left out."""
    with np.errstate(invalid="ignore"):
        checks = list(always(shots))
        if world.air.wind_speed == 0 and not world.strips:
            checks += in_still_air(world, shots)
    return {what: np.flatnonzero(wrong) for what, wrong in checks if wrong.any()}


def soak(total: int, seed: int, chunk: int = CHUNK, say: Any = print) -> int:
    """Play `total` shots, print what happened, and return how many broke an invariant."""
    ended: Counter[str] = Counter()
    broken = done = number = 0
    while done < total:
        world = draw(number, min(chunk, total - done), seed)
        ground = Ground(green=world.green, strips=world.strips) if world.strips else world.green
        shots = simulate(world.launch, ground, air=world.air, aerodynamics=world.aerodynamics)
        ended.update(Status(int(code)).name for code in shots.status)
        for what, wrong in violations(world, shots).items():
            broken += len(wrong)
            say(f"chunk {number} ({world.kind}): {len(wrong)} shots: {what}; the first is {wrong[0]}")
        done, number = done + len(shots), number + 1
    say(f"{done:,} shots, {broken} broken invariants: {dict(ended)}")
    return broken


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shots", type=int, default=10_000_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    sys.exit(1 if soak(asked.shots, asked.seed) else 0)
