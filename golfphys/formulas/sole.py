"""Closed forms derived in ``golfphys/derivations/sole.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 5709021278c5d5c7.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def bounce_left(bounce_angle: float, shaft_lean: float, face_opening: float, lie_angle: float) -> float:
    """Effective bounce angle in rad: that of the sole along the path of the club, as delivered. Model: geometry of a rigid sole on a circular arc; this project's."""
    t0 = math.cos(shaft_lean)
    t1 = math.sin(bounce_angle)
    t2 = math.cos(face_opening)
    t3 = math.cos(bounce_angle)
    t4 = math.sin(face_opening)*math.cos(lie_angle)
    t5 = -t1*t2 - t3*t4
    t6 = math.sin(shaft_lean)
    t7 = -t1*t4 + t2*t3 + t3*(1 - t2)*(math.sin(lie_angle)*math.sin(lie_angle))
    return math.atan2(-t0*t5 - t6*t7, t0*t7 - t5*t6)


def low_point_of_attack(attack: float, arc_radius: float) -> float:
    """How far ahead of the ball (m) an arc has its lowest point, from its angle of attack. Model: geometry of a rigid sole on a circular arc; this project's."""
    return -arc_radius*math.sin(attack)


def edge_at_ball(edge_height: float, low_point: float, arc_radius: float, low_point_error: float, height_error: float) -> float:
    """Height in m at which the leading edge comes to the ball, before the soil carries it. Model: geometry of a rigid sole on a circular arc; this project's."""
    t0 = 1/arc_radius
    return edge_height + height_error + low_point*low_point_error*t0 + (1/2)*(low_point_error*low_point_error)*t0


def sole_room(effective_bounce: float, sole_width: float, give: float) -> tuple[float, float]:
    """Height of the leading edge in m when the sole just brushes the soil, and the depth at which it digs. Model: geometry of a rigid sole on a circular arc; this project's. Returns brush_height, dig_depth."""
    brush_height = max(0, sole_width*math.sin(effective_bounce))
    return brush_height, brush_height*(1 - give)/give


def carried_edge(edge_height: float, brush_height: float, dig_depth: float) -> float:
    """Height in m at which the leading edge comes to the ball, carried by the soil under the sole. Model: geometry of a rigid sole on a circular arc; this project's."""
    if (edge_height >= brush_height):
        return edge_height
    if (edge_height <= -dig_depth):
        return dig_depth + edge_height
    return brush_height*(dig_depth + edge_height)/(brush_height + dig_depth)


def ploughed(edge_height: float, dig_depth: float, path_slope: float, arc_radius: float) -> float:
    """Area in m^2, depth times length, that the leading edge ploughs before it reaches the ball. Model: geometry of a rigid sole on a circular arc; this project's."""
    squared = max(0, (arc_radius*arc_radius)*(path_slope*path_slope) - 2*arc_radius*dig_depth - 2*arc_radius*edge_height)
    root = math.sqrt(squared)
    end = max(-root, min(root, arc_radius*path_slope))
    t0 = 1/arc_radius
    return -1/6*(end*end*end)*t0 + (1/2)*end*(root*root)*t0 + (1/3)*(root*root*root)*t0


def speed_kept_of_ploughed(ploughed_area: float, turf_drag: float, head_mass: float) -> float:
    """Head speed that is left after ploughing, over that before. Model: turf set moving in proportion to the area ploughed; this project's."""
    return math.exp(-ploughed_area*turf_drag/head_mass)


def face_contact_height(normal_z: float, ball_height: float, radius: float) -> float:
    """Height in m over the soil at which a face with this upward part of its normal touches the ball. Model: geometry of a rigid sole on a circular arc; this project's."""
    return ball_height + radius*(1 - normal_z)


def struck_normal(normal_x: float, normal_y: float, normal_z: float, edge_height: float, ball_height: float, radius: float) -> tuple[float, float, float]:
    """Unit normal of the contact: the face's own, or from a leading edge that comes too high. Model: geometry of a rigid sole on a circular arc; this project's. Returns struck_x, struck_y, struck_z."""
    rise = max(-1, min(1, 1 - (-ball_height + edge_height)/radius))
    width = math.sqrt((1 - (rise*rise))/((normal_x*normal_x) + (normal_y*normal_y)))
    if (edge_height <= ball_height + radius*(1 - normal_z)):
        return normal_x, normal_y, normal_z
    return normal_x*width, normal_y*width, rise


def low_point_window(low_point: float, arc_radius: float, edge_height: float, dig_depth: float, contact_height: float) -> tuple[float, float]:
    """Low-point errors in m (towards the target) between which the strike neither digs nor thins. Model: geometry of a rigid sole on a circular arc; this project's. Returns dig, thin."""
    above = 2*arc_radius*(contact_height - edge_height) + (low_point*low_point)
    below = -2*arc_radius*(dig_depth + edge_height) + (low_point*low_point)
    if (above <= 0):
        t0 = -low_point
        return t0, t0
    if (below > 0):
        t0 = -low_point
        return math.sqrt(below) + t0, math.sqrt(above) + t0
    t0 = math.sqrt(above)
    return -low_point - t0, -low_point + t0
