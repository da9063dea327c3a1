"""Closed forms derived in ``golfphys/derivations/hole.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 2882508d7558eb29.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def free_fall_capture_speed(offset: float, hole_radius: float, radius: float, gravity: float) -> float:
    """Fastest speed in m/s at which a ball falls past the near rim without touching the hole's far side. Model: free fall, derived in golfphys/derivations/hole.py."""
    if (abs(offset) >= hole_radius - radius):
        return 0
    t0 = (offset*offset)
    return (1/2)*math.sqrt(2)*math.sqrt(gravity)*(math.sqrt((hole_radius*hole_radius) - t0) + math.sqrt(-t0 + ((hole_radius - radius)*(hole_radius - radius))))/math.sqrt(radius)


def far_rim_capture_speed(offset: float, hole_radius: float, centre_capture_speed: float) -> float:
    """Fastest speed in m/s at which a hole takes a ball with the help of its far rim. Model: Holmes, Am. J. Phys. 59, 129 (1991); off centre Penner, Can. J. Phys. 80, 83 (2002); both from memory."""
    return max(0, centre_capture_speed*(1 - (offset*offset)/(hole_radius*hole_radius)))


def dead_rim_strike(contact_angle: float, hole_radius: float, radius: float, gravity: float, inertia: float) -> tuple[float, float, float]:
    """Speed of a centred ball that strikes a dead far rim at an angle; energy to spare (J/kg) to climb out. Model: impulse at a dead rim, derived in golfphys/derivations/hole.py. Returns speed, gripping_margin, smooth_margin."""
    t0 = math.sqrt(gravity)
    t1 = radius*math.cos(contact_angle)
    t2 = math.sin(contact_angle)
    t3 = math.sqrt(-2*radius*t2 + 2*radius)
    t4 = t0*(2*hole_radius - t1)/t3
    t5 = radius*t2
    t6 = gravity*(radius - t5)
    t7 = radius**(-2)
    t8 = -t0*t1*t3 + t4*t5
    t9 = inertia*radius*t4 + t8
    return t4, -t6 + t7*t9*abs(t9)/(2*inertia + 2), -t6 + (1/2)*t7*t8*abs(t8)


def side_drift_level(speed: float, speed_there: float, resistance: float, cross_grade: float, gravity: float, inertia: float) -> tuple[float, float]:
    """Drift (m) and speed (m/s) off a straight roll with no grade along it, to first order in cross slope. Model: derived in golfphys/derivations/hole.py. Returns drift, sideways_speed."""
    left = speed_there/speed
    t0 = speed/resistance
    t1 = cross_grade*t0
    t2 = (1/4)*t1
    t3 = (left*left)
    t4 = t1*math.log(left)
    return t0*(inertia + 1)*(-t2*t3 + t2 + (1/2)*t3*t4)/gravity, -left*t4


def half_angle_of_hole(distance: float, hole_radius: float, radius: float) -> float:
    """Greatest angle in rad off the line to the hole's centre at which a putt still passes over the hole. Model: Gelman, Model building and expansion for golf putting (Stan case study)."""
    t0 = hole_radius - radius
    return math.asin(t0/max(distance, t0))


def angle_and_distance_make_probability(distance: float, angle_error: float, distance_error: float, overshoot: float, overrun: float, hole_radius: float, radius: float) -> float:
    """Chance that a putt is over the hole in direction and right in distance. Model: Gelman, Model building and expansion for golf putting (Stan case study)."""
    t0 = hole_radius - radius
    t1 = (1/2)*math.sqrt(2)
    t2 = t1/(distance_error*(distance + overshoot))
    return ((1/2)*math.erf(overshoot*t2) + (1/2)*math.erf(t2*(overrun - overshoot)))*math.erf(t1*math.asin(t0/max(distance, t0))/angle_error)
