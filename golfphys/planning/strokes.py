"""What a ball that has come to rest is worth: holed, near, and expected strokes to hole out.

A putt across a slope breaks: an error of pace also changes its break, and no break is read quite right. Both are errors
sideways at the hole, which add to the error of direction. A putt straight up or down the slope has neither. Published
putts were holed on greens as they are: their error of direction is taken to hold at an everyday cross slope, and less
on the level. How the ground rises along the putt is left out, see data/not_checked.md.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RegularGridInterpolator

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas.hole import side_drift_level
from golfphys.formulas.rolling import deceleration
from golfphys.physics.putting import PuttsToHoleOut
from golfphys.physics.shot import Shots
from golfphys.planning.position import Floats
from golfphys.planning.world import World

# Root mean square of the cross slope of published putts: 1.5 % of slope met from every side (judged, no source).
EVERYDAY_CROSS = 0.011
BREAK_MISREAD = 0.10  # standard deviation of the reading of a break over the break (judged, no source)
CROSS = np.linspace(0.0, 0.08, 9)
LENGTHS = np.geomspace(0.3, 40.0, 24)
STEEPEST = 0.9  # cross slope over resistance beyond which the table is held: steeper ground hardly stops a ball
# Expected strokes more than a putt of that length from a ball left on such ground (practice, no source).
BEYOND = {"collar": 0.05, "fringe": 0.12, "fairway": 0.15, "rough": 0.45}
ACROSS = 0.1  # width in m over which surveyed ground's slope across a putt is taken
FARTHEST_LEAVE = 40.0  # a ball that does not stop, or goes farther, counts as if left this far, m
_drift = elementwise(side_drift_level)


@dataclass(frozen=True, kw_only=True)
class PuttLeft:
    """What putts cost from a distance in m across a slope (rise over run) of a green."""

    putts: PuttsToHoleOut  # average putts on greens as they are
    resistance: float  # of the green

    def _length(self, distance: Any, cross: Any) -> Floats:
        """Return the length in m of everyday putts that are holed as often; in proportion for very short ones."""
        near, across = np.clip(distance, LENGTHS[0], LENGTHS[-1]), np.minimum(np.abs(cross), CROSS[-1])
        table = _equivalents(self.putts.model, round(float(self.resistance), 3))
        return np.asarray(table((near, across)) * distance / near)

    def __call__(self, distance: Any, cross: Any) -> Floats:
        """Return average putts."""
        return np.asarray(self.putts(self._length(distance, cross)))

    def holed(self, distance: Any, cross: Any) -> Floats:
        """Return the share of putts holed."""
        return np.asarray(self.putts.model.probability(np.maximum(self._length(distance, cross), 1e-3)))


@lru_cache(maxsize=64)
def _equivalents(model: Any, resistance: float) -> RegularGridInterpolator:
    """Length of the everyday putt that is holed as often, by length and cross slope."""
    cross = np.minimum(CROSS, STEEPEST * resistance)
    sideways = _sideways(model, LENGTHS[:, None], cross[None, :], resistance) / LENGTHS[:, None]
    usual = _sideways(model, LENGTHS[:, None], np.array([[EVERYDAY_CROSS]]), resistance) / LENGTHS[:, None]
    # no putt is steadier than with four fifths of the published error of direction
    error = np.sqrt(np.maximum(model.angle_error**2 + sideways**2 - usual**2, (0.8 * model.angle_error) ** 2))
    pairs = zip(np.repeat(LENGTHS, cross.size).tolist(), error.ravel().tolist(), strict=True)
    chance = np.array([float(replace(model, angle_error=e).probability(d)) for d, e in pairs]).reshape(error.shape)
    fine = np.geomspace(0.05, 120.0, 600)
    table = np.interp(-chance, -np.asarray(model.probability(fine)), fine)
    return RegularGridInterpolator((LENGTHS, CROSS), table)


def _sideways(model: Any, length: Floats, cross: Floats, resistance: float) -> Floats:
    """Standard deviation in m of the miss to the side that pace and reading cause on a cross slope."""
    ball = constants.GRAVITY.value, constants.BALL_INERTIA.value
    slowing = deceleration(resistance, 0.0, *ball)

    def drift(roll: Floats) -> Floats:
        speed, there = np.sqrt(2 * slowing * roll), np.sqrt(2 * slowing * np.maximum(roll - length, 1e-6))
        return np.asarray(_drift(speed, there, resistance, cross, *ball)[0])

    roll, step = length + model.overshoot, 0.02
    by_pace = (drift(roll * (1 + step)) - drift(roll)) / step * model.distance_error
    return np.asarray(np.hypot(by_pace, BREAK_MISREAD * drift(roll)))


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of shots at a pin; arrays of the shots' shape, first dimension the draws."""

    leave: Floats  # distance left to the pin, m; 0 where holed
    holed: NDArray[np.bool_]  # whether the hole took the ball as it rolled by
    one_putt: Floats  # chance of needing no more than one putt
    strokes: Floats  # expected strokes to hole out, this one included
    lost: NDArray[np.bool_]  # whether the ball did not stop, or was left farther than `FARTHEST_LEAVE`

    @property
    def within_1m(self) -> NDArray[np.bool_]:
        """Whether the leave is at most 1 m."""
        return self.leave <= 1.0

    @property
    def within_3ft(self) -> NDArray[np.bool_]:
        """Whether the leave is at most 3 ft."""
        return self.leave <= 3 * METRES_PER_FOOT


def score(shots: Shots, world: World) -> Outcome:
    """Score shots of shape (draws, ...) by what they leave."""
    pin = world.position.to_pin
    rest_x, rest_y, taken = np.asarray(shots.rest_x), np.asarray(shots.rest_y), np.asarray(shots.holed, dtype=bool)
    gone = ~(np.isfinite(rest_x) & np.isfinite(rest_y)) & ~taken  # a ball that left the survey stops beyond its edge
    rest_x, rest_y = np.where(gone, pin + FARTHEST_LEAVE, rest_x), np.where(gone, 0.0, rest_y)
    distance = np.minimum(np.hypot(rest_x - pin, rest_y), FARTHEST_LEAVE)
    leave = np.where(taken, 0.0, distance)
    cross = _cross_slope(rest_x, rest_y, world)
    off = _off_green(rest_x, rest_y, world)
    left = PuttLeft(putts=world.conditions.putts, resistance=float(np.median(world.draws.green.resistance.constant)))
    return Outcome(
        leave=leave,
        holed=taken,
        one_putt=np.where(taken, 1.0, np.maximum(left.holed(np.maximum(leave, 1e-3), cross) - off, 0.0)),
        strokes=1.0 + np.where(taken, 0.0, left(leave, cross) + off * ~gone),
        lost=gone | (distance >= FARTHEST_LEAVE),
    )


def _cross_slope(rest_x: Floats, rest_y: Floats, world: World) -> Floats:
    """Return the slope across the putt that is left, halfway to the pin."""
    green, surface, pin = world.draws.green, world.conditions.surface, world.position.to_pin
    towards = np.arctan2(-rest_y, pin - rest_x)
    if surface is None:
        grade, fall = (
            np.reshape(value, (-1,) + (1,) * (rest_x.ndim - 1)) for value in (green.grade, green.fall_direction)
        )
        return np.asarray(grade * np.sin(fall - towards))
    x, y = (rest_x + pin) / 2, rest_y / 2
    step_x, step_y = -0.5 * ACROSS * np.sin(towards), 0.5 * ACROSS * np.cos(towards)
    ends = (np.ravel(x + sign * step_x) for sign in (1, -1)), (np.ravel(y + sign * step_y) for sign in (1, -1))
    left, right = (surface.height_from_ball(*end) for end in zip(*ends, strict=True))
    return np.reshape((right - left) / ACROSS, x.shape)


def _off_green(rest_x: Floats, rest_y: Floats, world: World) -> Floats:
    """Return the strokes that the ground costs on which a ball lies, beside the length of the putt."""
    position, found, start = world.position, np.zeros(rest_x.shape), -np.inf
    for name, until in position.ground_before:
        found[(rest_x >= start) & (rest_x < until)] = BEYOND[name]
        start = until
    if position.to_back is not None:
        found[rest_x > position.to_back] = BEYOND[position.behind]
    return found
