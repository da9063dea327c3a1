"""From a landing, or a blow, to rolling: the skid on a plane with any velocity and spin."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.core.broadcasting import broadcast, plain, require_not_negative
from golfphys.formulas import skid as level
from golfphys.formulas import turf
from golfphys.physics.roll.across import rise_of

GRAVITY = constants.GRAVITY.value
INERTIA = constants.BALL_INERTIA.value
RADIUS = constants.BALL_RADIUS.value


@dataclass(frozen=True, kw_only=True)
class Skid:
    """How a skid ends; floats for one ball, arrays for many.

    `x` and `y` are where it begins to roll, m from where it began to skid, `velocity_x` and `velocity_y` its velocity
    then, m/s, and `time` how long it skidded, s; infinite where it never rolls.
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
    """Return where, when and how fast a skidding ball begins to roll.

    Model: Coulomb friction at the contact, golfphys/derivations/turf.py and, by a second route, skid.py. Rolling
    resistance while skidding is left out.

    Parameters
    ----------
    velocity_x, velocity_y : float or array_like
        Velocity along the ground, m/s.
    spin_x, spin_y : float or array_like
        Spin in rad/s about x and y; topspin along x is positive `spin_y`, backspin negative. Spin about the vertical
        does nothing here.
    friction : float or array_like
        Coefficient of sliding friction; a ValueError if one is negative.
    grade, fall_direction : float or array_like
        Steepest slope (rise over run) and the direction in which the ground falls (rad, anticlockwise from x).
    ball : Ball, optional
        The rules' ball if left out.

    Returns
    -------
    Skid
        Place, velocity and time, in the shape of the arguments broadcast.

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


def rolling_speed(
    speed: ArrayLike, topspin: ArrayLike = 0.0, *, radius: ArrayLike = RADIUS, inertia: ArrayLike = INERTIA
) -> Any:
    """Return the speed in m/s at which a ball rolls once its skid on level ground is over, whatever the friction.

    `speed` in m/s and `topspin` in rad/s (backspin negative) are those at the start of the skid; the ball comes back
    where the result is negative. The model is in golfphys/derivations/skid.py.

    Examples
    --------
    >>> round(rolling_speed(1.4), 6)
    1.0
    """
    return broadcast(level.rolling_speed, speed, topspin, radius, inertia)
