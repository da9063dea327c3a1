"""What a ball that has come to rest is worth: holed, near, and expected strokes to hole out."""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.shot import Shots
from golfphys.planning.world import World

Floats = NDArray[np.float64]

BEYOND = {"collar": 0.05, "fringe": 0.12, "fairway": 0.15, "rough": 0.45}
"""Expected strokes more than a putt of that length from a ball left on such ground (practice, no source)."""

ACROSS = 0.1
"""Width in m over which surveyed ground's slope across a putt is taken."""

FARTHEST_LEAVE = 40.0
"""A ball that does not stop, or goes farther, counts as if left this far, m."""


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of shots at a pin; arrays of the shots' shape, first dimension the draws.

    Parameters
    ----------
    leave : ndarray
        Distance left to the pin, m; 0 where holed.
    holed : ndarray of bool
        Whether the hole took the ball as it rolled by.
    one_putt : ndarray
        Chance of needing no more than one putt.
    strokes : ndarray
        Expected strokes to hole out, this one included.
    lost : ndarray of bool
        Whether the ball did not stop, or was left farther than `FARTHEST_LEAVE`.
    """

    leave: Floats
    holed: NDArray[np.bool_]
    one_putt: Floats
    strokes: Floats
    lost: NDArray[np.bool_]

    @property
    def within_1m(self) -> NDArray[np.bool_]:
        """Whether the leave is at most 1 m."""
        return self.leave <= 1.0

    @property
    def within_3ft(self) -> NDArray[np.bool_]:
        """Whether the leave is at most 3 ft."""
        return self.leave <= 3 * METRES_PER_FOOT

    def parts(self, shapes: Any) -> "list[Outcome]":
        """Return the parts of a joined batch, each in its own shape."""
        from_sizes = np.cumsum([int(np.prod(shape[1:])) for shape in shapes])[:-1]
        cut = {item.name: np.split(getattr(self, item.name), from_sizes, axis=1) for item in fields(self)}
        return [
            Outcome(**{name: parts[number].reshape(shape) for name, parts in cut.items()})
            for number, shape in enumerate(shapes)
        ]


def score(shots: Shots, world: World) -> Outcome:
    """Score shots of shape (draws, n) by what they leave."""
    pin = world.position.to_pin
    rest_x, rest_y = np.asarray(shots.rest_x), np.asarray(shots.rest_y)
    gone = ~(np.isfinite(rest_x) & np.isfinite(rest_y) & np.asarray(shots.stops)) & ~np.asarray(shots.holed, dtype=bool)
    rest_x, rest_y = np.where(gone, pin + FARTHEST_LEAVE, rest_x), np.where(gone, 0.0, rest_y)
    taken = np.asarray(shots.holed, dtype=bool)
    distance = np.minimum(np.hypot(rest_x - pin, rest_y), FARTHEST_LEAVE)
    leave = np.where(taken, 0.0, distance)
    cross = _cross_slope(rest_x, rest_y, world)
    left = world.left
    return Outcome(
        leave=leave,
        holed=taken,
        one_putt=np.where(taken, 1.0, left.holed(np.maximum(leave, 1e-3), cross)),
        strokes=1.0 + np.where(taken, 0.0, left(leave, cross) + _off_green(rest_x, rest_y, world) * ~gone),
        lost=gone | (distance >= FARTHEST_LEAVE),
    )


def _cross_slope(rest_x: Floats, rest_y: Floats, world: World) -> Floats:
    """Return the slope across the putt that is left, halfway to the pin."""
    green, surface, pin = world.draws.green, world.conditions.surface, world.position.to_pin
    towards = np.arctan2(-rest_y, pin - rest_x)
    if surface is None:
        grade, fall = (np.reshape(np.asarray(value, float), (-1, 1)) for value in (green.grade, green.fall_direction))
        return np.asarray(grade * np.sin(fall - towards))
    x, y = (rest_x + pin) / 2, rest_y / 2
    step_x, step_y = -0.5 * ACROSS * np.sin(towards), 0.5 * ACROSS * np.cos(towards)
    ends = (np.ravel(x + sign * step_x) for sign in (1, -1)), (np.ravel(y + sign * step_y) for sign in (1, -1))
    left, right = (surface.height_from_ball(*end) for end in zip(*ends, strict=True))
    return np.reshape((right - left) / ACROSS, x.shape)


def _off_green(rest_x: Floats, rest_y: Floats, world: World) -> Floats:
    """Return the strokes that the ground costs on which a ball lies, beside the length of the putt."""
    position = world.position
    found = np.zeros(rest_x.shape)
    start = -np.inf
    for name, until in position.ground_before:
        found[(rest_x >= start) & (rest_x < until)] = BEYOND[name]
        start = until
    if position.to_back is not None:
        found[rest_x > position.to_back] = BEYOND[position.behind]
    return found
