"""What a ball that has come to rest is worth: holed, near, and expected strokes to hole out."""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core.broadcasting import elementwise
from golfphys.core.constants import BALL_INERTIA, GRAVITY, HOLE_RADIUS
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas.plane import rest_from, state_at_stage
from golfphys.physics.green import Green
from golfphys.physics.hole import capture_speed
from golfphys.physics.shot import Shots
from golfphys.planning.world import World

Floats = NDArray[np.float64]

BEYOND = {"collar": 0.05, "fringe": 0.12, "fairway": 0.15, "rough": 0.45}
"""Expected strokes more than a putt of that length from a ball left on such ground (practice, no source)."""

FARTHEST_LEAVE = 40.0
"""A ball that does not stop, or goes farther, counts as if left this far, m."""

TURNS = 6
"""Corrections of the first direction of a roll, each of which leaves a tenth of the error."""

ROLLS_ON = 5.0
"""Distance in m past the hole beyond which a ball was too fast to drop on any green."""

STAGES = 16
"""Points of a roll between which its path is taken as straight; those about the hole are spread anew."""

_rest_from = elementwise(rest_from)
_state = elementwise(state_at_stage)


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
    """Score shots of shape (draws, n) by what they leave.

    Parameters
    ----------
    shots : Shots
        Played in this world; the line of play runs from the ball to the pin.
    world : World
        Pin, edges, and each draw's green.

    Returns
    -------
    Outcome
        Arrays of the shots' shape.
    """
    pin = world.position.to_pin
    rest_x, rest_y = np.asarray(shots.rest_x), np.asarray(shots.rest_y)
    gone = ~(np.isfinite(rest_x) & np.isfinite(rest_y) & np.asarray(shots.stops))
    rest_x, rest_y = np.where(gone, pin + FARTHEST_LEAVE, rest_x), np.where(gone, 0.0, rest_y)
    columns = _columns(world.draws.green)
    taken = _taken(shots, rest_x, rest_y, gone, pin, columns)
    distance = np.minimum(np.hypot(rest_x - pin, rest_y), FARTHEST_LEAVE)
    leave = np.where(taken, 0.0, distance)
    cross = columns["grade"] * np.sin(columns["fall"] - np.arctan2(-rest_y, pin - rest_x))
    left = world.left
    return Outcome(
        leave=leave,
        holed=taken,
        one_putt=np.where(taken, 1.0, left.holed(np.maximum(leave, 1e-3), cross)),
        strokes=1.0 + np.where(taken, 0.0, left(leave, cross) + _off_green(rest_x, rest_y, world) * ~gone),
        lost=gone | (distance >= FARTHEST_LEAVE),
    )


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


def _columns(green: Green) -> dict[str, Floats]:
    """Return what decides a slow roll as columns of shape (draws, 1)."""
    law = green.resistance
    # a ball that the hole can take rolls at about 1 m/s
    at_hole = np.asarray(law.constant) + np.asarray(law.linear) + np.asarray(law.quadratic)
    values = {"resistance": at_hole, "grade": green.grade, "fall": green.fall_direction}
    return {name: np.reshape(np.asarray(value, float), (-1, 1)) for name, value in values.items()}


def _taken(
    shots: Shots, rest_x: Floats, rest_y: Floats, gone: NDArray[np.bool_], pin: float, columns: dict[str, Floats]
) -> NDArray[np.bool_]:
    """Tell which balls the hole takes as they roll by on their true path.

    A ball in the air, bouncing or skidding over the hole is not taken. From where it began to roll to where it stopped
    there is one path on the plane, and with it a first velocity: on a cross slope it starts above the straight line.
    """
    start_x, start_y = np.asarray(shots.roll_x), np.asarray(shots.roll_y)
    far = np.hypot(rest_x - start_x, rest_y - start_y)
    # a ball taken at full speed would roll on for a few metres, and a path strays from its chord by part of it only
    along = np.clip((pin - start_x) / np.maximum(rest_x - start_x, 1e-6), 0.0, 1.0)
    side = np.abs(start_y + (rest_y - start_y) * along)
    near = ~gone & (start_x < pin) & (rest_x > pin - 0.5) & (far > 0) & (side < HOLE_RADIUS.value + 0.3 * far)
    near &= np.hypot(rest_x - pin, rest_y) < ROLLS_ON
    taken = np.zeros(rest_x.shape, dtype=bool)
    if near.any():
        resistance, grade, fall = (np.broadcast_to(values, rest_x.shape)[near] for values in columns.values())
        # a surface that holds no ball has no such path, and its balls are gone
        resistance = np.maximum(resistance, 1.05 * grade + 1e-3)
        velocity = _first_velocity(rest_x[near] - start_x[near], rest_y[near] - start_y[near], resistance, grade, fall)
        taken[near] = _passes(pin - start_x[near], -start_y[near], velocity, resistance, grade, fall)
    return taken


def _passes(
    ahead: Floats, aside: Floats, velocity: tuple[Floats, Floats], resistance: Floats, grade: Floats, fall: Floats
) -> NDArray[np.bool_]:
    """Tell whether the hole, so far ahead and aside, takes balls that roll off with these velocities."""
    law = (resistance, -grade * np.cos(fall), -grade * np.sin(fall), GRAVITY.value, BALL_INERTIA.value)
    low, high = np.zeros(resistance.shape), 4.5 / (resistance - grade)
    column = np.arange(resistance.size)
    # first where on the roll the hole is, then the path there
    for _ in range(2):
        stage = low + np.linspace(0.0, 1.0, STAGES)[:, None] * (high - low)
        x, y, _time, vx, vy = _state(stage, *velocity, *law)
        dx, dy = np.diff(x, axis=0), np.diff(y, axis=0)
        length = np.maximum(np.hypot(dx, dy), 1e-9)
        part = np.clip(((ahead - x[:-1]) * dx + (aside - y[:-1]) * dy) / length**2, 0.0, 1.0)
        offsets = np.hypot(x[:-1] + part * dx - ahead, y[:-1] + part * dy - aside)
        first = np.argmin(offsets, axis=0)
        low, high = stage[np.maximum(first - 1, 0), column], stage[np.minimum(first + 2, STAGES - 1), column]
    square = vx**2 + vy**2
    change = np.diff(square, axis=0)[first, column]
    there = square[first, column] + part[first, column] * change
    offset = offsets[first, column]
    # slowing as even as between two stages, back to the near rim
    chord = np.sqrt(np.maximum(HOLE_RADIUS.value**2 - offset**2, 0.0))
    at_rim = np.sqrt(np.maximum(there - change / length[first, column] * chord, 0.0))
    return np.asarray((offset < HOLE_RADIUS.value) & (at_rim <= np.asarray(capture_speed(offset))))


def _first_velocity(
    ahead: Floats, aside: Floats, resistance: Floats, grade: Floats, fall: Floats
) -> tuple[Floats, Floats]:
    """Return the velocity with which a roll began that came to rest so far ahead and aside."""
    rise = (-grade * np.cos(fall), -grade * np.sin(fall))
    far, bearing = np.hypot(ahead, aside), np.arctan2(aside, ahead)
    heading, speed = bearing.copy(), np.sqrt(2.0 * 0.714 * GRAVITY.value * resistance * far)
    for _ in range(TURNS):
        x, y, _time = _rest_from(
            *(speed * np.cos(heading), speed * np.sin(heading)), resistance, *rise, GRAVITY.value, BALL_INERTIA.value
        )
        miss = np.arctan2(y, x) - bearing
        heading = heading - np.arctan2(np.sin(miss), np.cos(miss))
        speed = speed * np.sqrt(far / np.maximum(np.hypot(x, y), 1e-9))
    return speed * np.cos(heading), speed * np.sin(heading)
