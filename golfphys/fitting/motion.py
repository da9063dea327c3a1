"""Where rolls come to rest, for arrays of posterior draws, as each roll's own heading sees it.

The laws are those of `golfphys.physics.roll`. Here they are only kept finite where a ball would never stop, so
that a search
that has strayed into such ground finds its way out.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from golfphys.physics.green import Resistance
from golfphys.physics.roll import rest_point, roll

Array = NDArray[np.float64]

MOST_GRAIN = 0.95
"""Where draws of grain are held: with more of it behind it a ball hardly slows."""

MOST_RESISTANCE, MOST_GRADE = 2.0, 1.0
"""Where a fitted green is held, so that even a fit that has failed can be drawn and rolled on."""

NEVER_STOPS = 300.0
"""Distance in m that stands for a roll that does not stop."""


def rest_on_plane(speed: Array, resistance: Array, fall_ahead: Array, fall_left: Array) -> tuple[Array, Array]:
    """Rest point of rolls with constant resistance on a plane.

    Parameters
    ----------
    speed : ndarray
        Release speed, m/s.
    resistance : ndarray
        Coefficient of rolling resistance.
    fall_ahead, fall_left : ndarray
        Fall of the ground, rise over run, positive downhill, along the heading and to its left.

    Returns
    -------
    ahead, left : ndarray
        Rest point in m along the heading and to its left. A roll that never stops gets `NEVER_STOPS` ahead.

    Examples
    --------
    >>> ahead, left = rest_on_plane(np.array([1.83]), np.array([0.08]), np.array([0.0]), np.array([0.01]))
    >>> round(float(ahead[0]), 3), round(float(left[0]), 3)
    (3.0, 0.19)
    """
    found = rest_point(speed, 0.0, resistance, np.hypot(fall_ahead, fall_left), np.arctan2(fall_left, fall_ahead))
    return _kept_finite(*found)


def rest_in_general(
    speed: Array,
    law: Mapping[str, Array],
    fall: tuple[Array, Array],
    grain: tuple[Array, Array],
) -> tuple[Array, Array]:
    """Rest point on a plane with resistance that depends on speed and heading.

    Parameters
    ----------
    speed : ndarray
        Release speed, m/s.
    law : mapping of str to ndarray
        Coefficients of resistance: ``constant``, and the terms in speed, named as in `Resistance`.
    fall : tuple of ndarray
        Fall of the ground along the heading and to its left, rise over run, positive downhill.
    grain : tuple of ndarray
        Grain along the heading and to its left: resistance is less by this part for a ball rolling that way.

    Returns
    -------
    ahead, left : ndarray
        Rest point in m along the heading and to its left. A roll that never stops gets `NEVER_STOPS` ahead.

    Examples
    --------
    >>> none = np.zeros(1)
    >>> ahead, left = rest_in_general(np.array([1.83]), {"constant": none + 0.08}, (none, none + 0.01), (none, none))
    >>> round(float(ahead[0]), 3), round(float(left[0]), 3)
    (3.0, 0.19)
    """
    resistance = Resistance(
        **law, grain=np.minimum(np.hypot(*grain), MOST_GRAIN), grain_direction=np.arctan2(grain[1], grain[0])
    )
    found = roll(speed, 0.0, resistance, np.hypot(*fall), np.arctan2(fall[1], fall[0]))
    return _kept_finite(found.x, found.y)


def _kept_finite(ahead: Array, left: Array) -> tuple[Array, Array]:
    far = ~(np.hypot(ahead, left) < NEVER_STOPS)
    return np.where(far, NEVER_STOPS, ahead), np.where(far, 0.0, left)
