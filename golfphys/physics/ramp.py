"""The release ramp, green speed as people quote it, and what readings up and down one slope say.

Green speed is the distance that a ball released from the ramp rolls on the level. It is tied to rolling resistance by
the release speed, whose square counts: published values differ by 14 % in it, so every sheet states its own. The usual
1.83 m/s is the speed with which the ball leaves the ramp, and is taken as the speed with which it begins to roll: what
its overspin gives it in a short skid (1.4 % where nothing is lost, `release_overspin`) is within that uncertainty.

Distances, speeds and resistances that are not positive are refused with a ValueError, as is what no ramp can be.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast, numbers
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas import ramp as formulas
from golfphys.formulas import rolling

GRAVITY = constants.GRAVITY.value
INERTIA = constants.BALL_INERTIA.value
RELEASE_SPEED = constants.RAMP_RELEASE_SPEED.value


def _positive(**values: ArrayLike) -> None:
    for name, value in values.items():
        if not np.all(numbers(name, value) > 0):
            raise ValueError(f"{name} is {value!r}; expected positive numbers")


def _groove(contact_spacing: ArrayLike, radius: ArrayLike) -> None:
    _positive(radius=radius)
    spacing = np.asarray(contact_spacing)
    if not np.all((spacing >= 0) & (spacing < 2 * np.asarray(radius))):
        raise ValueError(
            f"contact_spacing is {contact_spacing!r}; expected numbers from 0 to below the ball's diameter"
        )


def release_speed(
    run: ArrayLike = constants.RAMP_RUN.value,
    angle: ArrayLike = constants.RAMP_ANGLE.value,
    contact_spacing: ArrayLike = constants.RAMP_CONTACT_SPACING.value,
    *,
    radius: ArrayLike = constants.BALL_RADIUS.value,
    gravity: ArrayLike = GRAVITY,
    inertia: ArrayLike = INERTIA,
) -> Any:
    """Return the speed in m/s of a ball at the foot of a V-grooved ramp, without losses.

    An upper bound: the groove and the step onto the green take some. The usual figure is 1.83 m/s. Model: energy of a
    sphere rolling on two contacts, golfphys/derivations/ramp.py; dimensions from the instruction booklet for the
    green-speed ramp, USGA.

    Parameters
    ----------
    run : float or array_like, distance along the ramp from the release notch to its foot, m
    angle : float or array_like, angle of the ramp above the horizontal, rad, from 0 to pi/2
    contact_spacing : float or array_like
        Distance between the ball's two contacts with the groove, m, less than its diameter; 0 for a flat ramp.
    radius, gravity, inertia : float or array_like
        Ball radius in m; acceleration of free fall in m/s^2; moment of inertia over mass times radius squared.

    Examples
    --------
    >>> round(release_speed(), 3)
    1.885
    """
    _positive(run=run)
    _groove(contact_spacing, radius)
    if not np.all((np.asarray(angle) >= 0) & (np.asarray(angle) <= np.pi / 2)):
        raise ValueError(f"angle is {angle!r}; expected radians from 0 to pi/2")
    return broadcast(formulas.release_speed, run, angle, contact_spacing, radius, gravity, inertia)


def release_overspin(
    contact_spacing: ArrayLike = constants.RAMP_CONTACT_SPACING.value,
    *,
    radius: ArrayLike = constants.BALL_RADIUS.value,
) -> Any:
    """Return rim speed over speed of a ball as it leaves a V-groove; 1 is rolling on a plane.

    A short skid on the green turns part of the overspin into speed. Parameters as for `release_speed`; the model is in
    golfphys/derivations/ramp.py.

    >>> round(release_overspin(), 4)
    1.0475
    """
    _groove(contact_spacing, radius)
    return broadcast(formulas.release_overspin, contact_spacing, radius)


def green_speed(
    resistance: ArrayLike,
    *,
    release_speed: ArrayLike = RELEASE_SPEED,
    gravity: ArrayLike = GRAVITY,
    inertia: ArrayLike = INERTIA,
) -> Any:
    """Return the green speed, the distance in m a ball released from the ramp rolls on the level.

    Model: golfphys/derivations/rolling.py (energy definition, Am. J. Phys. 90, 648, 2022).

    Parameters
    ----------
    resistance : float or array_like, coefficient of rolling resistance, constant in speed
    release_speed : float or array_like, speed with which the ball leaves the ramp, m/s
    gravity, inertia : float or array_like, as for `release_speed`

    Examples
    --------
    >>> round(green_speed(0.0784), 3)
    3.049
    """
    _positive(resistance=resistance, release_speed=release_speed)
    return broadcast(rolling.stopping_distance, release_speed, resistance, 0.0, gravity, inertia)


def green_speed_ft(
    resistance: ArrayLike,
    *,
    release_speed: ArrayLike = RELEASE_SPEED,
    gravity: ArrayLike = GRAVITY,
    inertia: ArrayLike = INERTIA,
) -> Any:
    """Return the green speed in feet, as people quote it.

    Parameters
    ----------
    resistance, release_speed, gravity, inertia : float or array_like, as for `green_speed`

    Examples
    --------
    >>> round(green_speed_ft(0.0784), 1)
    10.0
    """
    distance = green_speed(resistance, release_speed=release_speed, gravity=gravity, inertia=inertia)
    return distance / METRES_PER_FOOT


def resistance_from_green_speed(
    distance: ArrayLike,
    *,
    release_speed: ArrayLike = RELEASE_SPEED,
    grade: ArrayLike = 0.0,
    gravity: ArrayLike = GRAVITY,
    inertia: ArrayLike = INERTIA,
) -> Any:
    """Return the coefficient of rolling resistance that the distance of a released ball shows.

    Parameters
    ----------
    distance : float or array_like, distance rolled, m
    grade : float or array_like, slope along the roll, positive uphill
    release_speed, gravity, inertia : float or array_like, as for `green_speed`

    Examples
    --------
    >>> round(resistance_from_green_speed(3.048), 4)
    0.0784
    """
    _positive(distance=distance, release_speed=release_speed)
    return broadcast(rolling.resistance_from_distance, distance, release_speed, grade, gravity, inertia)


def two_way_mean(distance_up: ArrayLike, distance_down: ArrayLike) -> Any:
    """Return the distance on the level from distances up and down one slope: their harmonic mean.

    Exact for constant resistance on a steady grade, but for a factor sqrt(1 + grade^2) (0.02 % at a grade of 2 %)
    because a tape measures along the slope. It says nothing of slope across the two rolls.
    Source: Brede, Agronomy Journal 83, 425 (1991); derived in golfphys/derivations/ramp.py.

    Parameters
    ----------
    distance_up, distance_down : float or array_like, mean distance uphill and downhill, in one unit, that of the result

    Examples
    --------
    >>> round(two_way_mean(9.0, 14.0), 2)
    10.96
    """
    _positive(distance_up=distance_up, distance_down=distance_down)
    return broadcast(formulas.two_way_mean, distance_up, distance_down)


def slope_share(distance_up: ArrayLike, distance_down: ArrayLike) -> Any:
    """Return grade over resistance from distances up and down one slope, as for `two_way_mean`: at 1 no ball stops.

    Negative if the one called up went down. The model is in golfphys/derivations/ramp.py.

    >>> slope_share(1.0, 3.0)
    0.5
    """
    _positive(distance_up=distance_up, distance_down=distance_down)
    return broadcast(formulas.slope_share, distance_up, distance_down)


def resistance_and_grade(
    distance_up: ArrayLike,
    distance_down: ArrayLike,
    *,
    release_speed: ArrayLike = RELEASE_SPEED,
    gravity: ArrayLike = GRAVITY,
    inertia: ArrayLike = INERTIA,
) -> tuple[Any, Any]:
    """Return resistance, and grade along the line (positive in the direction called up), from rolls both ways.

    Model: constant resistance, golfphys/derivations/ramp.py.

    Parameters
    ----------
    distance_up, distance_down : float or array_like
        Mean distance uphill and downhill along the slope, m; two that a slope can make.
    release_speed, gravity, inertia : float or array_like, as for `green_speed`

    Examples
    --------
    >>> resistance, grade = resistance_and_grade(2.4, 4.0)
    >>> round(resistance, 4), round(grade, 4)
    (0.0797, 0.0199)
    """
    _positive(distance_up=distance_up, distance_down=distance_down, release_speed=release_speed)
    given = (distance_up, distance_down, release_speed, gravity, inertia)
    if not np.all(np.abs(broadcast(formulas.apparent_grade, *given)) < 1):
        raise ValueError(
            f"distance_up is {distance_up!r} and distance_down {distance_down!r}; expected distances that a slope "
            "can make (metres, from one release speed)"
        )
    result: tuple[Any, Any] = broadcast(formulas.resistance_and_grade, *given)
    return result
