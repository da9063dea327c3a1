"""How to start a ball: aim and pace of a roll to a target, over a plane or surveyed ground.

It is taken to roll from the start; a putt's first skid and a chip's bounces come before it.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

from golfphys.physics.green import Resistance
from golfphys.physics.roll import GRAVITY, INERTIA, ground_of, played, rise_of, starts
from golfphys.physics.rows import Status, Survey
from golfphys.physics.surface import Surface

Array = NDArray[np.float64]

CLOSE = 2e-4  # miss in m at which a solution counts as one
PULL = GRAVITY / (1.0 + INERTIA)


@dataclass(frozen=True, kw_only=True)
class Aim:
    """How to start a ball, or why that cannot be.

    `found` says whether there is one; if not, the numbers are NaN and `reason` says why in plain words. `heading` (rad,
    anticlockwise from x) and `speed` (m/s, rolling) are those of the start, which aims `offset` m beside the target,
    square to the straight line and positive to its left (infinite from a quarter turn on). The ball is at the target
    after `time` s, at `arrival_speed` m/s, going towards `arrival_heading` rad (NaN where it comes to rest there).
    """

    found: bool = False
    heading: float = math.nan
    speed: float = math.nan
    offset: float = math.nan
    arrival_speed: float = math.nan
    arrival_heading: float = math.nan
    time: float = math.nan
    reason: str = ""


@dataclass(frozen=True)
class _Task:
    """What is to be reached, and over what ground."""

    start: Array
    target: Array
    arrival_speed: float
    law: Resistance
    rise: tuple[float, float]
    surface: Surface | None

    @cached_property
    def ground(self) -> tuple[Array, Survey | None]:
        """What `played` takes of the ground."""
        survey = None if self.surface is None else self.surface.along(0.0, 0.0, 0.0).rows
        return ground_of(self.law, self.rise, ()), survey

    @cached_property
    def length(self) -> float:
        return float(np.hypot(*(self.target - self.start)))

    @cached_property
    def line(self) -> Array:
        return (self.target - self.start) / self.length

    @property
    def loss(self) -> float:
        """By how much the square of a slow ball's speed lessens for each metre, whatever its direction; for scale."""
        return 2 * PULL * max(float(self.law.constant), 1e-3)

    def rise_at(self, place: Array) -> Array:
        """Rise of the ground along x and y."""
        return np.array(self.rise if self.surface is None else self.surface.slope(*place), dtype=float)

    def run(self, pushes: Array) -> tuple[Array, NDArray[np.int64]]:
        """Roll balls started with the columns of `pushes`: velocity times speed, in m^2/s^2.

        A ball that is to arrive rolling ends as far from its start as the target is.
        """
        speed = np.sqrt(np.hypot(*pushes))
        velocity = pushes / np.where(speed > 0, speed, 1.0)
        reach = self.length if self.arrival_speed > 0 else 10.0 * self.length + 10.0
        state, counts = played(starts(*self.start, *velocity, GRAVITY, INERTIA, reach), *self.ground)
        return state.T, counts[:, 0]

    def misses(self, pushes: Array) -> Array:
        """Return how far balls miss, m: two rows, nearly linear in `pushes`; infinite where one runs off the ground."""
        state, status = self.run(pushes)
        way, miss = state[:2] - self.start[:, None], state[:2] - self.target[:, None]
        lost = status != Status.STOPPED
        if self.arrival_speed > 0:
            reached = np.hypot(*way)
            there = lost & (reached > self.length - 1e-6)
            lost &= ~there
            spare = (np.hypot(state[3], state[4]) ** 2 - self.arrival_speed**2) / self.loss
            short = reached - self.length - self.arrival_speed**2 / self.loss
            side = (self.line[0] * way[1] - self.line[1] * way[0]) * self.length / np.where(reached > 0, reached, 1.0)
            turned = self.line @ way < 0
            miss = np.array([np.where(there, spare, short), np.where(turned, 2 * self.length - abs(side), side)])
        return np.where(lost, np.inf, miss)

    def improved(self, push: Array) -> tuple[Array, float]:
        """Improve `push` by Powell's hybrid method; return it with the miss it leaves."""
        found = root(lambda one: self.misses(one[:, None])[:, 0], push, tol=1e-9)  # type: ignore[misc]
        return found.x, float(np.hypot(*found.fun))


def _solve(task: _Task) -> tuple[Array, float, Array]:
    """Return the best push, the miss it leaves, and the misses of many starts if those were needed."""
    # the push that would do on the level, and against the slope at the start: both nearly linear in the way
    size = task.length * (task.loss * task.line + 2 * PULL * task.rise_at(task.start))
    push, miss = task.improved(size + task.arrival_speed**2 * task.line)
    if miss < CLOSE:
        return push, miss, np.empty((2, 0))
    # over all directions that make sense and a wide range of speeds
    headings = np.arctan2(task.line[1], task.line[0]) + np.linspace(-1.4, 1.4, 29)
    sizes = (task.loss * task.length + task.arrival_speed**2) * np.geomspace(0.02, 8.0, 18)
    pushes = np.array([np.outer(np.cos(headings), sizes).ravel(), np.outer(np.sin(headings), sizes).ravel()])
    misses = task.misses(pushes)
    for start in np.argsort(np.hypot(*misses))[:4]:
        if np.all(np.isfinite(misses[:, start])):
            trial, left = task.improved(pushes[:, start])
            if left < miss or not np.isfinite(miss):
                push, miss = trial, left
        if miss < CLOSE:
            break
    return push, miss, misses


def _why(task: _Task, misses: Array) -> str:
    """Say why there is no way."""
    steep, held = float(np.hypot(*task.rise_at(task.target))), float(task.law.constant)
    if task.arrival_speed == 0 and steep >= held:
        return f"no ball comes to rest at the target: the ground there falls {steep:.3f}, resistance is {held:.3f}"
    near = np.abs(misses[1]) < 0.05 * task.length
    if task.arrival_speed > 0 and np.any(near) and np.min(misses[0, near]) > 0:
        squared = np.min(misses[0, near]) * task.loss + task.arrival_speed**2
        slowest = f"started as gently as may be, it still has about {np.sqrt(squared):.2f} m/s at the target"
        return f"no ball arrives as slowly as {task.arrival_speed:.2f} m/s: {slowest}"
    if not np.any(np.isfinite(misses)):
        return "every ball tried leaves the surveyed ground or never stops"
    return "no start was found that reaches the target at that speed"


def _arrival(task: _Task, push: Array) -> Aim:
    _, _, time, v_x, v_y = task.run(push[:, None])[0][:, 0]
    heading, arrives = float(np.arctan2(push[1], push[0])), float(np.hypot(v_x, v_y))
    turn = (heading - np.arctan2(task.line[1], task.line[0]) + np.pi) % (2 * np.pi) - np.pi
    return Aim(
        found=True,
        heading=heading,
        speed=float(np.sqrt(np.hypot(*push))),
        offset=float(task.length * np.tan(turn)) if abs(turn) < np.pi / 2 else float(np.copysign(np.inf, turn)),
        arrival_speed=arrives,
        arrival_heading=float(np.arctan2(v_y, v_x)) if arrives > 0 else math.nan,
        time=float(time),
    )


def aim_and_pace(
    target_x: float,
    target_y: float,
    resistance: float | Resistance,
    grade: float = 0.0,
    fall_direction: float = 0.0,
    *,
    start: tuple[float, float] = (0.0, 0.0),
    arrival_speed: float = 0.0,
    surface: Surface | None = None,
) -> Aim:
    """Return the direction and speed that bring a rolling ball to a target, or (`found` False) why there is no way.

    Raises a ValueError if the target is the start, the arrival speed is negative, the start or target is off the
    surveyed ground, or both a slope and a surface are given. Model: golfphys/derivations/plane.py, solved by Powell's
    hybrid method from the level line, and failing that from a grid of starts; the ball passes within 0.2 mm of the
    target.

    Parameters
    ----------
    target_x, target_y : float, target in m
    resistance : float or Resistance, coefficient of rolling resistance, or the whole law
    grade, fall_direction : float
        Steepest slope (rise over run) and the direction in which the ground falls (rad, anticlockwise from x); leave
        out with a surface.
    start : tuple of float, where the ball starts, m
    arrival_speed : float
        Speed that it is to have at the target, m/s; 0 comes to rest there. Rolling, it arrives from the near side.
    surface : Surface, optional, surveyed ground, in place of the plane

    Examples
    --------
    Four metres across a slope of 2 % that falls to the left, to die at the hole: aim right.

    >>> aim = aim_and_pace(4.0, 0.0, 0.08, 0.02, np.pi / 2)
    >>> round(aim.speed, 3), round(aim.offset, 3)
    (2.126, -0.512)
    """
    if surface is not None and grade != 0:
        raise ValueError("both a grade and a surface are given; expected one of them")
    if not 0 <= arrival_speed < np.inf:
        raise ValueError(f"arrival_speed is {arrival_speed!r}; expected m/s, not below 0")
    law = resistance if isinstance(resistance, Resistance) else Resistance(constant=resistance)
    places = np.array([start, (target_x, target_y)], dtype=float)
    task = _Task(places[0], places[1], float(arrival_speed), law, rise_of(grade, fall_direction), surface)
    if not task.length > 0:
        raise ValueError(f"target ({target_x}, {target_y}) is the start; expected another place")
    if surface is not None:
        surface.height([start[0], target_x], [start[1], target_y])
    push, miss, misses = _solve(task)
    if miss < CLOSE:
        return _arrival(task, push)
    return Aim(reason=_why(task, misses))
