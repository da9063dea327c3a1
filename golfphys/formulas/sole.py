"""Closed forms derived in ``golfphys/derivations/sole.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 af891789c78f9d90.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def bounce_left(bounce_angle: float, shaft_lean: float, face_opening: float, lie_angle: float) -> float:
    """Effective bounce angle in rad: that of the sole along the path of the club, as delivered.

    Model: geometry of a rigid sole on a circular arc; this project's
    """
    t0 = math.cos(shaft_lean)
    t1 = math.sin(bounce_angle)
    t2 = math.cos(face_opening)
    t3 = math.cos(bounce_angle)
    t4 = math.sin(face_opening)*math.cos(lie_angle)
    t5 = -t1*t2 - t3*t4
    t6 = math.sin(shaft_lean)
    t7 = -t1*t4 + t2*t3 + t3*(1 - t2)*(math.sin(lie_angle)*math.sin(lie_angle))
    return math.atan2(-t0*t5 - t6*t7, t0*t7 - t5*t6)


def attack_of_low_point(low_point: float, arc_radius: float) -> float:
    """Angle of attack in rad of an arc whose lowest point lies `low_point` ahead of the ball.

    Model: geometry of a rigid sole on a circular arc; this project's
    """
    return -math.asin(low_point/arc_radius)


def low_point_of_attack(attack: float, arc_radius: float) -> float:
    """How far ahead of the ball (m) an arc has its lowest point, from its angle of attack.

    Model: geometry of a rigid sole on a circular arc; this project's
    """
    return -arc_radius*math.sin(attack)


def low_point_window(low_point: float, arc_radius: float, effective_bounce: float, sole_width: float, delivered_loft: float, turf_give: float, ball_height: float, radius: float) -> tuple[float, float]:
    """Low-point errors in m (towards the target) between which the strike neither digs nor thins.

    Returns dig, thin.

    Model: geometry of a rigid sole on a circular arc; this project's
    """
    edge_height = max(0, sole_width*math.sin(effective_bounce))
    contact_height = ball_height + radius*(1 - math.sin(delivered_loft))
    above = 2*arc_radius*(contact_height - edge_height) + (low_point*low_point)
    below = -2*arc_radius*(edge_height + turf_give) + (low_point*low_point)
    if (above <= 0):
        t0 = -low_point
        return t0, t0
    if (below > 0):
        t0 = -low_point
        return math.sqrt(below) + t0, math.sqrt(above) + t0
    t0 = math.sqrt(above)
    return -low_point - t0, -low_point + t0
