"""Rolling: how far, how long, which way, and where a ball comes to rest; and the skid before.

Coordinates lie in the ground, as a tape on it measures them: x along the line of play, y to the left; directions in
rad, anticlockwise from x. Resistance is the energy definition's coefficient (push over normal force).

Rest points on a plane have a closed form, straight rolls those of `ramp`; all else goes through `played`, the compiled
roll of a shot, and so does what rolls on a `golfphys.physics.surface.Surface`.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast, elementwise, in_threads, plain, require_not_negative
from golfphys.core.constants import Ball
from golfphys.core.law import fixed, kept
from golfphys.formulas import plane, turf
from golfphys.physics import rows as c
from golfphys.physics.green import Hole, Resistance
from golfphys.physics.ramp import distance_at_time as distance_at_time
from golfphys.physics.ramp import speed_at_distance as speed_at_distance
from golfphys.physics.ramp import speed_at_time as speed_at_time
from golfphys.physics.ramp import speed_for_distance as speed_for_distance
from golfphys.physics.ramp import stopping_distance as stopping_distance
from golfphys.physics.ramp import stopping_time as stopping_time
from golfphys.physics.rolling import ENDLESS, hold_beyond, roll_out
from golfphys.physics.rows import Status

Array = NDArray[np.float64]
GRAVITY = constants.GRAVITY.value
INERTIA = constants.BALL_INERTIA.value
CHUNK = 4096  # balls rolled by one call of the loop; cuts the work for threads

_rest_from = elementwise(plane.rest_from)


def _loop_for(stamp: int) -> Callable[..., int]:
    def loop(starts: Any, strips: Any, survey: Any, frames: Any, out: Any, counts: Any, path: Any) -> int:
        step, frame_step = int(strips.shape[0] > 1), int(frames.shape[0] > 1)
        for i in range(starts.shape[0]):
            x, y, u, w, gravity, inertia, reach = fixed(starts[i], 7)
            world = (gravity, inertia, 0.0, 0.0, 0.0)
            here = c.ground_of(strips[i * step, 0])
            total = 0.0
            for number in (x, y, u, w, gravity, inertia, reach, *here):
                total += abs(number)
            if not total < math.inf:
                counts[i, 0], counts[i, 1] = c.INVALID, 0
            elif survey is None and reach == ENDLESS and hold_beyond(here, here[0], here[1]) <= 0.0:
                out[i, 0], out[i, 1], out[i, 2], out[i, 3], out[i, 4] = math.inf, math.inf, math.inf, u, w
                counts[i, 0], counts[i, 1] = c.NEVER_STOPS, 0
            else:
                start, frame = (x, y, 0.0, u, w), frames[i * frame_step]
                end, how, drops = roll_out(start, strips[i * step], survey, frame, world, reach, (path, 0.0))
                counts[i, 0], counts[i, 1] = how, int(drops)
                out[i, 0], out[i, 1], out[i, 2], out[i, 3], out[i, 4] = end
        return stamp

    return loop


rolls_loop = kept(_loop_for)  # gives the compiled loop over balls that only roll, from the rows of `starts`


@dataclass(frozen=True, kw_only=True)
class Rolls:
    """Where and when rolling balls came to rest; floats for one ball, arrays for many.

    `x` and `y` in m and `time` in s are infinite where the ball does not stop. `status` is a
    `golfphys.physics.rows.Status` for each ball; `holed` says whether the hole took it, at whose near rim it then ends.
    """

    x: Any
    y: Any
    time: Any
    status: Any
    holed: Any

    @property
    def stops(self) -> Any:
        """Whether each ball came to rest."""
        return self.status == Status.STOPPED


@dataclass(frozen=True, kw_only=True)
class Path:
    """The path of one ball: `x` and `y` in m, `time` in s and `speed` in m/s from start to end, and how it ended.

    A ball that never stops ends at the `reach` of the path.
    """

    x: Array
    y: Array
    time: Array
    speed: Array
    status: Status


def velocity_of(speed: ArrayLike, heading: ArrayLike) -> tuple[Any, Any]:
    """Return velocity along x and y of a ball that is started at a speed in a direction; see `rest_point`."""
    require_not_negative("speed", speed)
    speed = np.asarray(speed, dtype=float)
    return speed * np.cos(heading), speed * np.sin(heading)


def rise_of(grade: ArrayLike, fall_direction: ArrayLike) -> tuple[Any, Any]:
    """Return the rise per metre along x and y of a plane that falls as given; see `rest_point`."""
    grade = np.asarray(grade, dtype=float)
    return -grade * np.cos(fall_direction), -grade * np.sin(fall_direction)


def ground_of(resistance: ArrayLike | Resistance, rise: tuple[ArrayLike, ArrayLike], shape: tuple[int, ...]) -> Array:
    """Return strip rows of one piece of ground: one, or one for each ball of this shape where a number varies."""
    law = resistance if isinstance(resistance, Resistance) else Resistance(constant=resistance)
    columns = np.stack(c.spread((*rise, *vars(law).values()), shape), axis=-1)
    rows = np.zeros((len(columns), 1, c.STRIP_COLUMNS))
    rows[:, 0, [c.GRADE_X, c.GRADE_Y, *range(c.RESISTANCE, c.TURF)]] = columns
    return rows


def starts(*columns: ArrayLike) -> Array:
    """Return rows of x, y, velocity along x and y, gravity, inertia and reach, one for each ball."""
    arrays = np.broadcast_arrays(*(np.asarray(item, dtype=float) for item in columns))
    return np.stack([column.ravel() for column in arrays], axis=-1)


def played(
    balls: Array, ground: Array, survey: c.Survey | None = None, hole: Array | None = None, path: Array | None = None
) -> tuple[Array, NDArray[np.int64]]:
    """Play rolls from the rows of `starts`: rows of x, y, time and velocity at the end; statuses, and whether holed."""
    out, counts = np.full((len(balls), 5), np.nan), np.empty((len(balls), 2), dtype=np.int64)
    noted = np.zeros((0, c.PATH_COLUMNS)) if path is None else path
    frames, loop = np.zeros((1, c.FRAME_COLUMNS)) if hole is None else hole, rolls_loop()

    def play(begin: int) -> None:
        some = slice(begin, begin + CHUNK)
        strips, frame = (rows if len(rows) == 1 else rows[some] for rows in (ground, frames))
        loop(balls[some], strips, survey, frame, out[some], counts[some], noted)

    in_threads(play, range(0, len(balls), CHUNK))
    return out, counts


def path_of(ball: Array, ground: Array, survey: c.Survey | None = None) -> Path:
    """Play one roll and note its path."""
    noted = np.zeros((c.PATH_ROWS, c.PATH_COLUMNS))
    _, counts = played(ball, ground, survey, path=noted)
    x, y, u, w = ball[0, :4]
    start, points = [0.0, x, y, np.hypot(u, w)], noted[1 : int(noted[0, 0]) + 1, : c.PATH_PHASE]
    time, x, y, speed = np.vstack([start, points]).T.copy()
    return Path(x=x, y=y, time=time, speed=speed, status=Status(int(counts[0, 0])))


def rest_point(
    speed: ArrayLike,
    heading: ArrayLike,
    resistance: ArrayLike,
    grade: ArrayLike = 0.0,
    fall_direction: ArrayLike = 0.0,
) -> tuple[Any, Any]:
    """Return where a ball rolling across a plane with constant resistance comes to rest: x and y, m along the ground.

    In the shape of the arguments broadcast, infinite where the ball does not stop (resistance not above grade); a
    rational function of resistance and grade, smooth in every direction. Model: constant resistance on a plane,
    golfphys/derivations/plane.py; Irodov, Problems in General Physics, 1.106, is the case of resistance equal to grade.

    Parameters
    ----------
    speed : float or array_like, speed at the start, rolling, m/s; a ValueError if one is negative
    heading : float or array_like, direction at the start, rad, anticlockwise from x
    resistance : float or array_like, coefficient of rolling resistance
    grade : float or array_like, steepest slope, rise over run
    fall_direction : float or array_like, direction in which the ground falls, rad, anticlockwise from x

    Examples
    --------
    A ball rolled straight across a slope of 2 % that falls to the left:

    >>> x, y = rest_point(1.83, 0.0, 0.08, 0.02, np.pi / 2)
    >>> round(x, 3), round(y, 3)
    (3.036, 0.398)
    """
    steep, resistance = np.abs(np.asarray(grade, dtype=float)), np.asarray(resistance, dtype=float)
    stops = resistance > steep
    held = np.where(stops, resistance, 2.0 * steep + 1.0)
    rest = _rest_from(*velocity_of(speed, heading), held, *rise_of(grade, fall_direction), GRAVITY, INERTIA)
    x, y = (plain(np.where(stops, place, np.inf)) for place in rest[:2])
    return x, y


def roll(
    speed: ArrayLike,
    heading: ArrayLike,
    resistance: ArrayLike | Resistance,
    grade: ArrayLike = 0.0,
    fall_direction: ArrayLike = 0.0,
    *,
    hole: Hole | None = None,
    inertia: ArrayLike = INERTIA,
) -> Rolls:
    """Return where balls rolling across a plane come to rest, whatever the law of resistance.

    Parameters as for `rest_point`, in whose shape broadcast the results are; `resistance` may be the whole law, `hole`
    is what may take the ball on its path, `inertia` that of the ball; their numbers may be arrays. A ball of a batch
    with a number that is none has the status `Status.INVALID`. Model: golfphys/derivations/plane.py, played as in a
    shot. Error against an ODE solver below 0.05 mm in place and 2 ms in time on rolls up to 12 m, where resistance at
    the start is at most three times that at rest (tests/test_roll.py).

    >>> rolls = roll([1.0, 1.83], 0.0, Resistance(constant=0.06, linear=0.01))
    >>> rolls.x
    array([1.072..., 3.323...])
    """
    numbers = tuple(np.asarray(item) for item in (speed, heading, grade, fall_direction, inertia))
    row = (0.0,) * c.HOLE_X + c.hole_row(hole)
    shape = np.broadcast_shapes(*c.shapes_of(numbers, (resistance,), row))
    velocity = tuple(np.broadcast_to(item, shape) for item in velocity_of(speed, heading))
    balls = starts(0.0, 0.0, *velocity, GRAVITY, inertia, ENDLESS)
    frames = np.ascontiguousarray(np.stack(c.spread(row, shape), axis=-1))
    out, counts = played(balls, ground_of(resistance, rise_of(grade, fall_direction), shape), hole=frames)
    out[counts[:, 0] == Status.NEVER_STOPS] = np.inf
    x, y, time = (plain(out[:, column].reshape(shape)) for column in range(3))
    status, drops = (plain(counts[:, column].reshape(shape)) for column in range(2))
    return Rolls(x=x, y=y, time=time, status=status, holed=plain(np.asarray(drops) > 0))


def path(
    speed: float,
    heading: float,
    resistance: float | Resistance,
    grade: float = 0.0,
    fall_direction: float = 0.0,
    *,
    reach: float = 30.0,
    inertia: float = INERTIA,
) -> Path:
    """Return the path of a ball across a plane, for drawing: points at most 0.15 m apart, the very steps of `roll`.

    Parameters as for `roll`, for one ball; that of a ball that never stops is cut off at `reach` m from the start.

    >>> gone = path(1.83, 0.0, 0.08, 0.02, np.pi / 2)
    >>> round(float(gone.x[-1]), 3), round(float(gone.y[-1]), 3), gone.status.name
    (3.036, 0.398, 'STOPPED')
    """
    ball = starts(0.0, 0.0, *velocity_of(speed, heading), GRAVITY, inertia, reach)
    return path_of(ball, ground_of(resistance, rise_of(grade, fall_direction), ()))


@dataclass(frozen=True, kw_only=True)
class Skid:
    """How a skid ends; floats for one ball, arrays for many; infinite where it never rolls.

    `x` and `y` are where it begins to roll, m from where it began to skid, `velocity_x` and `velocity_y` its velocity
    then, m/s, and `time` how long it skidded, s.
    """

    x: Any
    y: Any
    velocity_x: Any
    velocity_y: Any
    time: Any

    @property
    def speed(self) -> Any:
        """Speed when the ball begins to roll, m/s."""
        return plain(np.hypot(self.velocity_x, self.velocity_y))


def skid(
    velocity_x: ArrayLike,
    velocity_y: ArrayLike = 0.0,
    *,
    spin_x: ArrayLike = 0.0,
    spin_y: ArrayLike = 0.0,
    friction: ArrayLike,
    grade: ArrayLike = 0.0,
    fall_direction: ArrayLike = 0.0,
    ball: Ball | None = None,
) -> Skid:
    """Return where, when and how fast a skidding ball begins to roll, in the shape of the arguments broadcast.

    Model: Coulomb friction at the contact, golfphys/derivations/turf.py, checked by differentiation. Rolling
    resistance while skidding is left out.

    Parameters
    ----------
    velocity_x, velocity_y : float or array_like, velocity along the ground, m/s
    spin_x, spin_y : float or array_like
        Spin in rad/s about x and y; topspin along x is positive `spin_y`. Spin about the vertical does nothing here.
    friction : float or array_like, coefficient of sliding friction; a ValueError if one is negative
    grade, fall_direction : float or array_like, as for `golfphys.rest_point`
    ball : Ball, optional, the rules' ball if left out

    Examples
    --------
    Backspin of r omega = v ends rolling at 3/7 v:

    >>> end = skid(2.1, spin_y=-2.1 / 0.021335, friction=0.4)
    >>> round(end.velocity_x, 3), round(end.x, 3), round(end.time, 3)
    (0.9, 0.459, 0.306)
    """
    require_not_negative("friction", friction)
    ball, rise = ball or Ball(), rise_of(grade, fall_direction)
    slip_x = np.asarray(velocity_x, dtype=float) - ball.radius * np.asarray(spin_y)
    slip_y = np.asarray(velocity_y, dtype=float) + ball.radius * np.asarray(spin_x)
    x, y, v_x, v_y, time = broadcast(
        turf.skid, velocity_x, velocity_y, slip_x, slip_y, friction, *rise, GRAVITY, ball.inertia
    )
    return Skid(x=x, y=y, velocity_x=v_x, velocity_y=v_y, time=time)
