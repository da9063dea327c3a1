"""Closed forms derived in ``golfphys/derivations/strike.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 96c6019033bfc592.
Write anew with ``python -m golfphys.derivations``.
"""

import math


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
