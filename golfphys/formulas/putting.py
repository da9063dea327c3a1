"""Closed forms derived in ``golfphys/derivations/putting.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 c97ac539537f83ac.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def half_angle_of_hole(distance: float, hole_radius: float, radius: float) -> float:
    """Greatest angle in rad off the line to the hole's centre at which a putt still passes over the hole.

    Model: Gelman, Model building and expansion for golf putting (Stan case study)
    """
    t0 = hole_radius - radius
    return math.asin(t0/max(distance, t0))


def logistic_make_probability(distance: float, logit_intercept: float, logit_slope: float) -> float:
    """Chance of holing a putt when its log odds are a straight line in distance.

    Model: Gelman, Model building and expansion for golf putting (Stan case study)
    """
    return 1/(math.exp(-distance*logit_slope - logit_intercept) + 1)


def angle_make_probability(distance: float, angle_error: float, hole_radius: float, radius: float) -> float:
    """Chance that a putt's direction takes it over the hole.

    Model: Gelman, Model building and expansion for golf putting (Stan case study)
    """
    t0 = hole_radius - radius
    return math.erf((1/2)*math.sqrt(2)*math.asin(t0/max(distance, t0))/angle_error)


def distance_make_probability(distance: float, distance_error: float, overshoot: float, overrun: float) -> float:
    """Chance that a putt reaches the hole and would not run too far past it.

    Model: Gelman, Model building and expansion for golf putting (Stan case study)
    """
    t0 = (1/2)*math.sqrt(2)/(distance_error*(distance + overshoot))
    return (1/2)*math.erf(overshoot*t0) + (1/2)*math.erf(t0*(overrun - overshoot))


def angle_and_distance_make_probability(distance: float, angle_error: float, distance_error: float, overshoot: float, overrun: float, hole_radius: float, radius: float) -> float:
    """Chance that a putt is over the hole in direction and right in distance.

    Model: Gelman, Model building and expansion for golf putting (Stan case study)
    """
    t0 = hole_radius - radius
    t1 = (1/2)*math.sqrt(2)
    t2 = t1/(distance_error*(distance + overshoot))
    return ((1/2)*math.erf(overshoot*t2) + (1/2)*math.erf(t2*(overrun - overshoot)))*math.erf(t1*math.asin(t0/max(distance, t0))/angle_error)
