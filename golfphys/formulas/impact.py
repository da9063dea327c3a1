"""Closed forms derived in ``golfphys/derivations/impact.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 fd8d9098798b5ed2.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def impact(velocity_x: float, velocity_y: float, velocity_z: float, spin_x: float, spin_y: float, spin_z: float, normal_x: float, normal_y: float, normal_z: float, restitution: float, friction: float, tangential_restitution: float, mass_ratio: float, radius: float, inertia: float) -> tuple[float, float, float, float, float, float]:
    """Motion of a sphere after an oblique impact, relative to the body it met before the impact. Model: rigid impulse with friction, Cross, Am. J. Phys. 70, 1093 (2002). Returns velocity_x, velocity_y, velocity_z, spin_x, spin_y, spin_z."""
    rise = normal_x*velocity_x + normal_y*velocity_y + normal_z*velocity_z
    approach = max(0, -rise)
    slip_x = -normal_x*rise + normal_y*radius*spin_z - normal_z*radius*spin_y + velocity_x
    slip_y = -normal_x*radius*spin_z - normal_y*rise + normal_z*radius*spin_x + velocity_y
    slip_z = normal_x*radius*spin_y - normal_y*radius*spin_x - normal_z*rise + velocity_z
    slip_speed = math.sqrt((slip_x*slip_x) + (slip_y*slip_y) + (slip_z*slip_z))
    push = -approach*(-restitution - 1)/(mass_ratio + 1)
    grip = inertia*(tangential_restitution + 1)/(inertia*mass_ratio + inertia + 1)
    if (grip*slip_speed <= friction*push):
        t0 = grip*slip_x
        t1 = grip*slip_y
        t2 = grip*slip_z
        t3 = 1/(inertia*radius)
        return normal_x*push - t0 + velocity_x, normal_y*push - t1 + velocity_y, normal_z*push - t2 + velocity_z, spin_x - t3*(grip*normal_z*slip_y - normal_y*t2), spin_y - t3*(normal_x*t2 - normal_z*t0), spin_z - t3*(grip*normal_y*slip_x - normal_x*t1)
    t0 = normal_x*push
    t1 = 1/slip_speed
    t2 = friction*t1
    t3 = push*t2
    t4 = normal_y*push
    t5 = normal_z*push
    t6 = slip_z*t2
    t7 = 1/(inertia*radius)
    return -slip_x*t3 + t0 + velocity_x, -slip_y*t3 + t4 + velocity_y, -slip_z*t3 + t5 + velocity_z, spin_x - t7*(friction*normal_z*push*slip_y*t1 - t4*t6), spin_y - t7*(-slip_x*t2*t5 + t0*t6), spin_z - t7*(friction*normal_y*push*slip_x*t1 - slip_y*t0*t2)


def slip_limit_ratio(restitution: float, friction: float, tangential_restitution: float, mass_ratio: float, inertia: float) -> float:
    """Slip over speed of approach above which an impact slips throughout and below which it grips. Model: rigid impulse with friction, Cross, Am. J. Phys. 70, 1093 (2002)."""
    return friction*(restitution + 1)*(inertia*mass_ratio + inertia + 1)/(inertia*(mass_ratio + 1)*(tangential_restitution + 1))


def face_normal(loft: float, shaft_lean: float, face_opening: float, lie_angle: float) -> tuple[float, float, float]:
    """Unit normal of the face as delivered. Model: rotation of the head about the axis to the left, then about the shaft. Returns normal_x, normal_y, normal_z."""
    t0 = math.cos(face_opening)
    t1 = loft - shaft_lean
    t2 = math.cos(t1)
    t3 = math.sin(loft)
    t4 = math.sin(shaft_lean)
    t5 = math.sin(lie_angle)
    t6 = (t5*t5)
    t7 = math.sin(t1)
    t8 = math.sin(face_opening)
    t9 = math.cos(lie_angle)
    t10 = t8*t9
    t11 = t3*t6
    t12 = t11*math.cos(shaft_lean)
    return -t0*t11*t4 + t0*t2 - t10*t7 + t3*t4*t6, t5*(-t3*t9*(t0 - 1) - t8*math.cos(loft)), -t0*t12 + t0*t7 + t10*t2 + t12


def plane_strike(speed: float, attack: float, delivered_loft: float, restitution: float, friction: float, tangential_restitution: float, mass_ratio: float, radius: float, inertia: float) -> tuple[float, float, float]:
    """Ball speed, launch angle and backspin of a strike with a square face. Model: Cross, Am. J. Phys. 70, 1093 (2002); plane impact from rest. Returns ball_speed, launch_angle, backspin."""
    square_speed = speed*(restitution + 1)*math.cos(attack - delivered_loft)/(mass_ratio + 1)
    slide = -inertia*speed*(tangential_restitution + 1)*math.sin(attack - delivered_loft)/(inertia*mass_ratio + inertia + 1)
    along = max(-friction*square_speed, min(slide, friction*square_speed))
    return math.sqrt((along*along) + (square_speed*square_speed)), delivered_loft - math.atan2(along, square_speed), along/(inertia*radius)


def spin_to_speed(delivered_loft: float, launch_angle: float, inertia: float) -> float:
    """Rim speed over ball speed that any central impact from rest gives, gripping or slipping. Model: angular momentum about the contact."""
    return math.sin(delivered_loft - launch_angle)/inertia


def off_slope(velocity_x: float, velocity_y: float, velocity_z: float, spin_x: float, spin_y: float, spin_z: float, slope_along: float, slope_across: float) -> tuple[float, float, float, float, float, float]:
    """Velocity and spin over level ground of a motion given in the axes of a sloping lie. Model: rotation of the head about the axis to the left, then about the shaft. Returns velocity_x, velocity_y, velocity_z, spin_x, spin_y, spin_z."""
    t0 = math.cos(slope_along)
    t1 = math.sin(slope_along)
    t2 = math.sin(slope_across)
    t3 = t2*velocity_y
    t4 = math.cos(slope_across)
    t5 = t4*velocity_z
    t6 = spin_y*t2
    t7 = spin_z*t4
    return t0*velocity_x + t1*t3 - t1*t5, t2*velocity_z + t4*velocity_y, -t0*t3 + t0*t5 + t1*velocity_x, spin_x*t0 + t1*t6 - t1*t7, spin_y*t4 + spin_z*t2, spin_x*t1 - t0*t6 + t0*t7


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
