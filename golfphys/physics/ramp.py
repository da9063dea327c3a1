"""Along a straight line: the closed forms of a roll, the release ramp, green speed, and readings up and down one slope.

The closed forms hold for constant resistance, those of distance and time to rest also for one that is linear
(c0 + c1 v) or quadratic (c0 + c2 v^2). For where a ball is meanwhile under such a law, for both terms of speed at once,
for grain, or across a slope, use `path` and `roll` of `golfphys.physics.roll`. `grade` is the slope along the path,
positive uphill.

Green speed is the distance that a ball released from the ramp rolls on the level. It is tied to rolling resistance by
the release speed, whose square counts: published values differ by 14 % in it, so every sheet states its own. The usual
1.83 m/s is the speed with which the ball leaves the ramp, and is taken as the speed with which it begins to roll: what
its overspin gives it in a short skid (1.4 % where nothing is lost, `release_overspin`) is within that uncertainty.

Numbers that no ramp or roll can have are refused with a ValueError.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast, numbers, require_not_negative
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas import rolling

GRAVITY = constants.GRAVITY.value
INERTIA = constants.BALL_INERTIA.value
RADIUS = constants.BALL_RADIUS.value
RELEASE_SPEED = constants.RAMP_RELEASE_SPEED.value


def _straight(
    name: str,
    first: dict[str, ArrayLike],
    resistance: ArrayLike,
    grade: ArrayLike,
    *,
    linear: ArrayLike = 0.0,
    quadratic: ArrayLike = 0.0,
) -> Any:
    """Call the closed form `name` of the law that the coefficients ask for; its first arguments may not be negative."""
    for argument, value in first.items():
        require_not_negative(argument, value)
    terms = {"_linear": linear, "_quadratic": quadratic}
    given = [kind for kind, term in terms.items() if np.any(np.asarray(term))]
    if len(given) > 1:
        raise ValueError(
            f"linear is {linear!r} and quadratic is {quadratic!r}; a closed form takes one of them, roll() takes both"
        )
    # an array of zeros takes the form that it would take if they were not
    kind = next(iter(given + [kind for kind, term in terms.items() if np.ndim(term)]), "")
    # and whichever term is left out still gives the result its shape
    resistance = np.asarray(resistance) + np.zeros(np.broadcast_shapes(np.shape(linear), np.shape(quadratic)))
    law = (resistance, terms[kind]) if kind else (resistance,)
    return broadcast(getattr(rolling, name + kind), *first.values(), *law, grade, GRAVITY, INERTIA)


def stopping_distance(speed: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0, **terms: ArrayLike) -> Any:
    """Return how far, in m along the ground, a ball rolls to rest along a straight path; infinite if it never stops.

    Raises a ValueError if a speed, distance or time is negative, or `linear` and `quadratic` are both given; so in all
    closed forms. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022);
    golfphys/derivations/rolling.py.

    Parameters
    ----------
    speed : float or array_like, speed at the start, rolling, m/s; not negative
    resistance : float or array_like, coefficient of rolling resistance at vanishing speed
    grade : float or array_like, slope along the path, rise over run, positive uphill
    **terms : float or array_like
        At most one of `linear` and `quadratic`: growth of resistance with speed (s/m) or with speed squared (s^2/m^2).

    Examples
    --------
    >>> round(stopping_distance(1.83, 0.0784), 2), stopping_distance(1.83, 0.05, -0.06)
    (3.05, inf)
    """
    return _straight("stopping_distance", {"speed": speed}, resistance, grade, **terms)


def stopping_time(speed: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0, **terms: ArrayLike) -> Any:
    """Return how long, in s, a ball takes to roll to rest; infinite if it never stops.

    Parameters
    ----------
    speed, resistance, grade, **terms : float or array_like, as for `stopping_distance`

    Examples
    --------
    >>> round(stopping_time(1.83, 0.0784), 2)
    3.33
    """
    return _straight("stopping_time", {"speed": speed}, resistance, grade, **terms)


def speed_at_distance(distance: ArrayLike, speed: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0) -> Any:
    """Return how fast, in m/s, a ball still is after rolling a distance in m; 0 where it stops short of it.

    >>> round(speed_at_distance(2.0, 1.83, 0.0784), 3)
    1.073
    """
    return _straight("speed_at_distance", {"distance": distance, "speed": speed}, resistance, grade)


def speed_at_time(time: ArrayLike, speed: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0) -> Any:
    """Return how fast, in m/s, a ball still is after rolling for a time in s; 0 once it has stopped.

    >>> round(speed_at_time(1.0, 1.83, 0.0784), 3)
    1.281
    """
    return _straight("speed_at_time", {"time": time, "speed": speed}, resistance, grade)


def distance_at_time(time: ArrayLike, speed: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0) -> Any:
    """Return how far, in m, a ball has rolled after a time in s; its stopping distance once it has stopped.

    >>> round(distance_at_time(1.0, 1.83, 0.0784), 3)
    1.555
    """
    return _straight("distance_at_time", {"time": time, "speed": speed}, resistance, grade)


def speed_for_distance(distance: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0) -> Any:
    """Return the speed in m/s with which a ball just rolls a distance in m; 0 where one set rolling never stops.

    Parameters
    ----------
    distance, resistance, grade : float or array_like, as for `stopping_distance`

    Examples
    --------
    >>> round(speed_for_distance(3.048, 0.0784), 3)
    1.83
    """
    return _straight("speed_for_distance", {"distance": distance}, resistance, grade)


def _positive(**values: ArrayLike) -> None:
    for name, value in values.items():
        if not np.all(numbers(name, value) > 0):
            raise ValueError(f"{name} is {value!r}; expected positive numbers")


def _groove(contact_spacing: ArrayLike) -> None:
    spacing = np.asarray(contact_spacing)
    if not np.all((spacing >= 0) & (spacing < 2 * RADIUS)):
        raise ValueError(
            f"contact_spacing is {contact_spacing!r}; expected numbers from 0 to below the ball's diameter"
        )


def release_speed(
    run: ArrayLike = constants.RAMP_RUN.value,
    angle: ArrayLike = constants.RAMP_ANGLE.value,
    contact_spacing: ArrayLike = constants.RAMP_CONTACT_SPACING.value,
) -> Any:
    """Return the speed in m/s of a ball at the foot of a V-grooved ramp, without losses.

    An upper bound: the groove and the step onto the green take some. The usual figure is 1.83 m/s. Model: energy of a
    sphere rolling on two contacts, golfphys/derivations/rolling.py; dimensions from the instruction booklet for the
    green-speed ramp, USGA.

    Parameters
    ----------
    run : float or array_like, distance along the ramp from the release notch to its foot, m
    angle : float or array_like, angle of the ramp above the horizontal, rad, from 0 to pi/2
    contact_spacing : float or array_like
        Distance between the ball's two contacts with the groove, m, less than its diameter; 0 for a flat ramp.

    Examples
    --------
    >>> round(release_speed(), 3)
    1.885
    """
    _positive(run=run)
    _groove(contact_spacing)
    if not np.all((np.asarray(angle) >= 0) & (np.asarray(angle) <= np.pi / 2)):
        raise ValueError(f"angle is {angle!r}; expected radians from 0 to pi/2")
    return broadcast(rolling.release_speed, run, angle, contact_spacing, RADIUS, GRAVITY, INERTIA)


def release_overspin(contact_spacing: ArrayLike = constants.RAMP_CONTACT_SPACING.value) -> Any:
    """Return rim speed over speed of a ball as it leaves a V-groove (as for `release_speed`); 1 is rolling on a plane.

    >>> round(release_overspin(), 4)
    1.0475
    """
    _groove(contact_spacing)
    return broadcast(rolling.release_overspin, contact_spacing, RADIUS)


def green_speed(resistance: ArrayLike, *, release_speed: ArrayLike = RELEASE_SPEED) -> Any:
    """Return the green speed, the distance in m a ball released from the ramp rolls on the level.

    Parameters
    ----------
    resistance : float or array_like, coefficient of rolling resistance, constant in speed
    release_speed : float or array_like, speed with which the ball leaves the ramp, m/s

    Examples
    --------
    >>> round(green_speed(0.0784), 3)
    3.049
    """
    _positive(resistance=resistance, release_speed=release_speed)
    return broadcast(rolling.stopping_distance, release_speed, resistance, 0.0, GRAVITY, INERTIA)


def green_speed_ft(resistance: ArrayLike, *, release_speed: ArrayLike = RELEASE_SPEED) -> Any:
    """Return the green speed in feet, as people quote it.

    Parameters
    ----------
    resistance, release_speed : float or array_like, as for `green_speed`

    Examples
    --------
    >>> round(green_speed_ft(0.0784), 1)
    10.0
    """
    return green_speed(resistance, release_speed=release_speed) / METRES_PER_FOOT


def resistance_from_green_speed(
    distance: ArrayLike,
    *,
    release_speed: ArrayLike = RELEASE_SPEED,
    grade: ArrayLike = 0.0,
    inertia: ArrayLike = INERTIA,
) -> Any:
    """Return the rolling resistance that the distance of a released ball shows.

    Parameters
    ----------
    distance, grade : float or array_like, distance rolled, m; slope along the roll, positive uphill
    release_speed : float or array_like, as for `green_speed`
    inertia : float or array_like, moment of inertia of the ball over mass times radius squared

    Examples
    --------
    >>> round(resistance_from_green_speed(3.048), 4)
    0.0784
    """
    _positive(distance=distance, release_speed=release_speed)
    return broadcast(rolling.resistance_from_distance, distance, release_speed, grade, GRAVITY, inertia)


def two_way_mean(distance_up: ArrayLike, distance_down: ArrayLike) -> Any:
    """Return the distance on the level from distances up and down one slope: their harmonic mean.

    Exact for constant resistance on a steady grade, but for a factor sqrt(1 + grade^2) (0.02 % at a grade of 2 %)
    because a tape measures along the slope. It says nothing of slope across the two rolls.
    Source: Brede, Agronomy Journal 83, 425 (1991); derived in golfphys/derivations/rolling.py.

    Parameters
    ----------
    distance_up, distance_down : float or array_like, mean distance uphill and downhill, in one unit, that of the result

    Examples
    --------
    >>> round(two_way_mean(9.0, 14.0), 2)
    10.96
    """
    _positive(distance_up=distance_up, distance_down=distance_down)
    return broadcast(rolling.two_way_mean, distance_up, distance_down)


def slope_share(distance_up: ArrayLike, distance_down: ArrayLike) -> Any:
    """Return grade over resistance from distances up and down one slope, as for `two_way_mean`: at 1 no ball stops.

    Negative if the one called up went down. The model is in golfphys/derivations/rolling.py.

    >>> slope_share(1.0, 3.0)
    0.5
    """
    _positive(distance_up=distance_up, distance_down=distance_down)
    return broadcast(rolling.slope_share, distance_up, distance_down)
