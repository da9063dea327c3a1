"""Rolling along a straight path: closed forms, for resistance constant, linear (c0 + c1 v) or quadratic (c0 + c2 v^2).

`grade` is the slope along the path, positive uphill. For both terms of speed at once, for grain, or across a slope, use
`golfphys.physics.roll.roll`.
"""

from typing import Any, TypedDict, Unpack

import numpy as np
from numpy.typing import ArrayLike

from golfphys.core.broadcasting import broadcast, require_not_negative
from golfphys.core.constants import BALL_INERTIA, GRAVITY
from golfphys.formulas import rolling


class Terms(TypedDict, total=False):
    """What every closed form along a straight path takes by keyword: terms of the law, and the world.

    `linear` or `quadratic`, at most one of them: growth of resistance with speed (s/m) or with speed squared (s^2/m^2);
    `gravity`, acceleration of free fall, m/s^2; `inertia`, moment of inertia over mass times radius squared.
    """

    linear: ArrayLike
    quadratic: ArrayLike
    gravity: ArrayLike
    inertia: ArrayLike


def _straight(
    name: str,
    resistance: ArrayLike,
    grade: ArrayLike,
    *,
    linear: ArrayLike = 0.0,
    quadratic: ArrayLike = 0.0,
    gravity: ArrayLike = GRAVITY.value,
    inertia: ArrayLike = BALL_INERTIA.value,
    **first: ArrayLike,
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
    return broadcast(getattr(rolling, name + kind), *first.values(), *law, grade, gravity, inertia)


def stopping_distance(speed: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0, **terms: Unpack[Terms]) -> Any:
    """Return how far, in m along the ground, a ball rolls to rest along a straight path; infinite if it never stops.

    Raises a ValueError if a speed, distance or time is negative, or `linear` and `quadratic` are both given; so in all
    closed forms. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022);
    golfphys/derivations/rolling.py.

    Parameters
    ----------
    speed : float or array_like, speed at the start, rolling, m/s; not negative
    resistance : float or array_like, coefficient of rolling resistance at vanishing speed
    grade : float or array_like, slope along the path, rise over run, positive uphill
    **terms : float or array_like, by keyword, as `golfphys.physics.straight.Terms` says

    Examples
    --------
    >>> round(stopping_distance(1.83, 0.0784), 2), stopping_distance(1.83, 0.05, -0.06)
    (3.05, inf)
    """
    return _straight("stopping_distance", resistance, grade, speed=speed, **terms)


def stopping_time(speed: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0, **terms: Unpack[Terms]) -> Any:
    """Return how long, in s, a ball takes to roll to rest along a straight path; infinite if it never stops.

    Parameters
    ----------
    speed, resistance, grade, **terms : float or array_like, as for `stopping_distance`

    Examples
    --------
    >>> round(stopping_time(1.83, 0.0784), 2)
    3.33
    """
    return _straight("stopping_time", resistance, grade, speed=speed, **terms)


def speed_at_distance(
    distance: ArrayLike, speed: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0, **terms: Unpack[Terms]
) -> Any:
    """Return how fast, in m/s, a ball still is after rolling a distance in m; 0 where it stops short of it.

    The other parameters are those of `stopping_distance`.

    >>> round(speed_at_distance(2.0, 1.83, 0.0784), 3)
    1.073
    """
    return _straight("speed_at_distance", resistance, grade, distance=distance, speed=speed, **terms)


def speed_at_time(
    time: ArrayLike, speed: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0, **terms: Unpack[Terms]
) -> Any:
    """Return how fast, in m/s, a ball still is after rolling for a time in s; 0 once it has stopped.

    The other parameters are those of `stopping_distance`.

    >>> round(speed_at_time(1.0, 1.83, 0.0784), 3)
    1.281
    """
    return _straight("speed_at_time", resistance, grade, time=time, speed=speed, **terms)


def distance_at_time(
    time: ArrayLike, speed: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0, **terms: Unpack[Terms]
) -> Any:
    """Return how far, in m, a ball has rolled after a time in s; its stopping distance once it has stopped.

    The other parameters are those of `stopping_distance`.

    >>> round(distance_at_time(1.0, 1.83, 0.0784), 3)
    1.555
    """
    return _straight("distance_at_time", resistance, grade, time=time, speed=speed, **terms)


def speed_for_distance(
    distance: ArrayLike, resistance: ArrayLike, grade: ArrayLike = 0.0, **terms: Unpack[Terms]
) -> Any:
    """Return the speed in m/s with which a ball just rolls a distance; 0 where one set rolling never stops.

    Parameters
    ----------
    distance : float or array_like, distance to roll along a straight path, m; not negative
    resistance, grade, **terms : float or array_like, as for `stopping_distance`

    Examples
    --------
    >>> round(speed_for_distance(3.048, 0.0784), 3)
    1.83
    """
    return _straight("speed_for_distance", resistance, grade, distance=distance, **terms)
