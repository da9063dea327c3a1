"""What a chip that has come to rest is worth: leave, nearness, and expected strokes to hole out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from golfphys.core.broadcasting import broadcast
from golfphys.core.constants import BALL_INERTIA, GRAVITY, HOLE_RADIUS
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas.rolling import deceleration
from golfphys.physics.green import Green
from golfphys.physics.hole import holed
from golfphys.physics.putting import PuttsToHoleOut
from golfphys.physics.shot import Shots
from golfphys.planning.position import Position

Floats = NDArray[np.float64]

OFF_GREEN = 0.2
"""Expected strokes more than a putt of that length when the ball stays short of the green (practice, no source)."""

FARTHEST_LEAVE = 40.0
"""A ball that does not stop, or goes farther, counts as if left this far, m."""


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of shots at a pin; arrays of the shots' shape.

    Parameters
    ----------
    leave : ndarray
        Distance left to the pin, m; 0 where holed.
    within_1m, within_3ft : ndarray of bool
        Whether the leave is so short.
    holed : ndarray of bool
        Whether the hole took the ball as it rolled by.
    strokes : ndarray
        Expected strokes to hole out, the chip included.
    """

    leave: Floats
    within_1m: NDArray[np.bool_]
    within_3ft: NDArray[np.bool_]
    holed: NDArray[np.bool_]
    strokes: Floats


def score(shots: Shots, position: Position, putts: PuttsToHoleOut, green: Green) -> Outcome:
    """Score shots by what they leave.

    Parameters
    ----------
    shots : Shots
        Simulated shots; the line of play runs from the ball to the pin.
    position : Position
        Where the edge and the pin are.
    putts : PuttsToHoleOut
        Expected putts against distance.
    green : Green
        On which the ball rolls past the hole.

    Returns
    -------
    Outcome
        Arrays of the shots' shape.
    """
    rest_x, rest_y = np.asarray(shots.rest_x), np.asarray(shots.rest_y)
    gone = ~(np.isfinite(rest_x) & np.isfinite(rest_y) & np.asarray(shots.stops))
    rest_x, rest_y = np.where(gone, np.inf, rest_x), np.where(gone, 0.0, rest_y)
    taken = _taken(shots, rest_x, rest_y, gone, position, green)
    leave = np.where(taken, 0.0, np.minimum(np.hypot(rest_x - position.to_pin, rest_y), FARTHEST_LEAVE))
    short = ~gone & (rest_x < position.to_edge)
    return Outcome(
        leave=leave,
        within_1m=leave <= 1.0,
        within_3ft=leave <= 3 * METRES_PER_FOOT,
        holed=taken,
        strokes=1.0 + np.asarray(putts(leave)) * ~taken + OFF_GREEN * short,
    )


def _taken(
    shots: Shots, rest_x: Floats, rest_y: Floats, gone: NDArray[np.bool_], position: Position, green: Green
) -> NDArray[np.bool_]:
    """Tell which balls the hole takes as they roll by.

    A ball in the air, bouncing or skidding over the hole is not taken. Its speed where it began to roll is what rolling
    from there to where it stopped shows, along the straight line between the two.
    """
    start_x, start_y = np.asarray(shots.roll_x), np.asarray(shots.roll_y)
    ahead_x, ahead_y = np.where(gone, 0.0, rest_x - start_x), np.where(gone, 0.0, rest_y - start_y)
    far = np.hypot(ahead_x, ahead_y)
    near = ~gone & (start_x < position.to_pin) & (rest_x > position.to_pin - HOLE_RADIUS.value) & (far > 0)
    taken = np.zeros(rest_x.shape, dtype=bool)
    if near.any():
        heading = np.arctan2(ahead_y[near], ahead_x[near])
        slope = -green.grade * np.cos(green.fall_direction - heading)
        slowing = np.maximum(green.resistance.constant + slope, 1e-4)
        decelerations = broadcast(deceleration, slowing, 0.0, GRAVITY.value, BALL_INERTIA.value)
        speed = np.sqrt(2.0 * decelerations * far[near])
        # slope along the path is in `slowing`; across it the straight line to the rest point holds the drift already
        pin = (position.to_pin, 0.0)
        velocity = (speed * np.cos(heading), speed * np.sin(heading))
        taken[near] = holed(start_x[near], start_y[near], *velocity, *pin, resistance=slowing)
    return taken
