"""Rest points on a plane: closed form for constant resistance, fixed steps for any other, over whole arrays."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise, plain
from golfphys.formulas import plane, varying
from golfphys.physics.green import Resistance
from golfphys.physics.roll import laws
from golfphys.physics.roll.checks import require_not_negative

GRAVITY = constants.GRAVITY.value
INERTIA = constants.BALL_INERTIA.value

_rest_from = elementwise(plane.rest_from)
_base_and_rate = elementwise(laws.base_and_rate)
_rest_correction = elementwise(
    laws.rest_correction,
    course=elementwise(varying.course),
    correction_rates=elementwise(varying.correction_rates),
    resistance_at=elementwise(varying.resistance_at),
    rest_from=_rest_from,
)


@dataclass(frozen=True, kw_only=True)
class Rolls:
    """Where and when rolling balls came to rest; floats for one ball, arrays for many.

    Parameters
    ----------
    x, y : float or ndarray
        Rest point in m; infinite where the ball does not stop; where it left the surveyed ground, the place it did.
    time : float or ndarray
        Time to rest in s (until it left the surveyed ground); infinite where the ball does not stop.
    status : int or ndarray of int
        A `RollStatus` for each ball.
    """

    x: Any
    y: Any
    time: Any
    status: Any

    @property
    def stops(self) -> Any:
        """Whether each ball came to rest."""
        return self.status == laws.STOPPED


def coefficients(
    resistance: ArrayLike | Resistance,
    linear: ArrayLike,
    quadratic: ArrayLike,
    grain: ArrayLike,
    grain_direction: ArrayLike,
) -> tuple[Any, Any, Any, Any, Any]:
    """Return constant, linear and quadratic coefficient, and the grain's x and y parts.

    Raises
    ------
    ValueError
        If a `Resistance` is given together with coefficients of its own, or grain is outside 0 to below 1.
    """
    if isinstance(resistance, Resistance):
        if any(np.any(np.asarray(item)) for item in (linear, quadratic, grain, grain_direction)):
            raise ValueError("a Resistance carries its own linear, quadratic and grain; give either it or the numbers")
        law, resistance = resistance, resistance.constant
        linear, quadratic, grain, grain_direction = law.linear, law.quadratic, law.grain, law.grain_direction
    grain = np.asarray(grain, dtype=float)
    if not np.all((grain >= 0) & (grain < 1)):
        raise ValueError(f"grain is {grain!r}; expected numbers from 0 to below 1")
    parts = (grain * np.cos(grain_direction), grain * np.sin(grain_direction))
    return tuple(np.asarray(item, dtype=float) for item in (resistance, linear, quadratic, *parts))  # type: ignore[return-value]


def velocity_of(speed: ArrayLike, heading: ArrayLike) -> tuple[Any, Any]:
    """Return the velocity along x and y of a ball that is started at a speed in a direction; see `rest_point`."""
    require_not_negative("speed", speed)
    speed = np.asarray(speed, dtype=float)
    return speed * np.cos(heading), speed * np.sin(heading)


def rise_of(grade: ArrayLike, fall_direction: ArrayLike) -> tuple[Any, Any]:
    """Return the rise per metre along x and y of a plane that falls as given; see `rest_point`."""
    grade = np.asarray(grade, dtype=float)
    return -grade * np.cos(fall_direction), -grade * np.sin(fall_direction)


def _constant(
    speed: ArrayLike,
    heading: ArrayLike,
    resistance: ArrayLike,
    grade: ArrayLike,
    fall_direction: ArrayLike,
    gravity: ArrayLike,
    inertia: ArrayLike,
) -> tuple[Any, ...]:
    """Return x, y and time of rest under constant resistance; infinite where the ball does not stop."""
    steep = np.abs(np.asarray(grade, dtype=float))
    resistance = np.asarray(resistance, dtype=float)
    stops = resistance > steep
    held = np.where(stops, resistance, 2.0 * steep + 1.0)
    results = _rest_from(*velocity_of(speed, heading), held, *rise_of(grade, fall_direction), gravity, inertia)
    return tuple(plain(np.where(stops, result, np.inf)) for result in results)


def rest_point(
    speed: ArrayLike,
    heading: ArrayLike,
    resistance: ArrayLike,
    grade: ArrayLike = 0.0,
    fall_direction: ArrayLike = 0.0,
    *,
    gravity: ArrayLike = GRAVITY,
    inertia: ArrayLike = INERTIA,
) -> tuple[Any, Any]:
    """Return where a ball rolling across a plane with constant resistance comes to rest.

    The result is a rational function of resistance and grade: smooth up and down the fall line, on the level, and in
    every direction between.

    Parameters
    ----------
    speed : float or array_like
        Speed at the start, rolling, m/s; not negative.
    heading : float or array_like
        Direction at the start, rad, anticlockwise from x.
    resistance : float or array_like
        Coefficient of rolling resistance.
    grade : float or array_like
        Steepest slope, rise over run.
    fall_direction : float or array_like
        Direction in which the ground falls, rad, anticlockwise from x.
    gravity : float or array_like
        Acceleration of free fall, m/s^2.
    inertia : float or array_like
        Moment of inertia over mass times radius squared.

    Returns
    -------
    x, y : float or ndarray
        Rest point from the start, m, along the ground, in the shape of the arguments broadcast; infinite where the
        ball does not stop (resistance not above grade).

    Raises
    ------
    ValueError
        If a speed is negative.

    Notes
    -----
    Model: constant resistance on a plane, golfphys/derivations/plane.py; Irodov, Problems in General Physics, 1.106,
    is the case of resistance equal to grade.

    Examples
    --------
    A ball rolled straight across a slope of 2 % that falls to the left:

    >>> x, y = rest_point(1.83, 0.0, 0.08, 0.02, np.pi / 2)
    >>> round(x, 3), round(y, 3)
    (3.036, 0.398)
    """
    x, y, _ = _constant(speed, heading, resistance, grade, fall_direction, gravity, inertia)
    return x, y


def time_to_rest(
    speed: ArrayLike,
    heading: ArrayLike,
    resistance: ArrayLike,
    grade: ArrayLike = 0.0,
    fall_direction: ArrayLike = 0.0,
    *,
    gravity: ArrayLike = GRAVITY,
    inertia: ArrayLike = INERTIA,
) -> Any:
    """Return how long a ball rolling across a plane with constant resistance takes to come to rest.

    Parameters
    ----------
    speed, heading, resistance, grade, fall_direction, gravity, inertia : float or array_like
        As for `rest_point`.

    Returns
    -------
    float or ndarray
        Time in s; infinite where the ball does not stop.

    Raises
    ------
    ValueError
        If a speed is negative.

    Notes
    -----
    Model: golfphys/derivations/plane.py.

    Examples
    --------
    >>> round(time_to_rest(1.83, 0.0, 0.08), 3)
    3.266
    """
    return _constant(speed, heading, resistance, grade, fall_direction, gravity, inertia)[2]


def roll(
    speed: ArrayLike,
    heading: ArrayLike,
    resistance: ArrayLike | Resistance,
    grade: ArrayLike = 0.0,
    fall_direction: ArrayLike = 0.0,
    *,
    linear: ArrayLike = 0.0,
    quadratic: ArrayLike = 0.0,
    grain: ArrayLike = 0.0,
    grain_direction: ArrayLike = 0.0,
    gravity: ArrayLike = GRAVITY,
    inertia: ArrayLike = INERTIA,
) -> Rolls:
    """Return where balls rolling across a plane come to rest when resistance depends on speed and heading.

    Every ball takes the same 32 steps of fourth order in the stage of its roll, in which the stop is an ordinary last
    step, so the result is smooth in every argument and quick enough for fits. It equals `rest_point` to rounding where
    resistance is constant.

    Parameters
    ----------
    speed, heading : float or array_like
        As for `rest_point`.
    resistance : float, array_like or Resistance
        Coefficient of rolling resistance at vanishing speed, or a whole `Resistance` (then without its parts below).
    grade, fall_direction : float or array_like
        As for `rest_point`.
    linear, quadratic : float or array_like
        Growth of resistance with speed (s/m) and with speed squared (s^2/m^2).
    grain, grain_direction : float or array_like
        As in `golfphys.physics.green.Resistance` (1; rad, anticlockwise from x).
    gravity, inertia : float or array_like
        As for `rest_point`.

    Returns
    -------
    Rolls
        Rest points from the start, times and statuses, in the shape of the arguments broadcast.

    Raises
    ------
    ValueError
        If a speed is negative, grain is outside 0 to below 1, or a `Resistance` comes with coefficients of its own.

    Notes
    -----
    Model: golfphys/derivations/varying.py. Error against an ODE solver below 0.05 mm in place and 2 ms in time on
    rolls up to 12 m, where resistance at the start is at most three times that at rest (tests/test_roll.py).

    Examples
    --------
    >>> rolls = roll([1.0, 1.83], 0.0, 0.06, linear=0.01)
    >>> rolls.x
    array([1.072..., 3.323...])
    """
    constant, linear, quadratic, grain_x, grain_y = coefficients(resistance, linear, quadratic, grain, grain_direction)
    v_x, v_y = velocity_of(speed, heading)
    slope = rise_of(grade, fall_direction)
    margin = _base_and_rate(v_x, v_y, constant, grain_x, grain_y, *slope)[2]
    held = np.where(margin > 0, constant, 10.0 * np.abs(grade) / (1.0 - np.hypot(grain_x, grain_y)) + 1.0)
    base, rate, _ = _base_and_rate(v_x, v_y, held, grain_x, grain_y, *slope)
    with np.errstate(all="ignore"):
        *more, least = _rest_correction(
            *(v_x, v_y, held, linear, quadratic, grain_x, grain_y, *slope, gravity, inertia, base, rate)
        )
    stops = (margin > 0) & (least > 0)
    plain_rest = _rest_from(v_x, v_y, base, *slope, gravity, inertia)
    x, y, time = (plain(np.where(stops, a + b, np.inf)) for a, b in zip(plain_rest, more, strict=True))
    status = np.where(np.broadcast_to(stops, np.shape(x)), laws.STOPPED, laws.NEVER_STOPS)
    return Rolls(x=x, y=y, time=time, status=plain(status))
