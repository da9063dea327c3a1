"""Closed forms derived in ``golfphys/derivations/plane.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 09e1c062855422b5.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def rest_from(velocity_x: float, velocity_y: float, resistance: float, grade_x: float, grade_y: float, gravity: float, inertia: float) -> tuple[float, float, float]:
    """Where (m, from the start) and after how long (s) a ball comes to rest; needs resistance > steepness. Model: Coulomb-like resistance on a plane (Irodov, Problems in General Physics, 1.106), for a rolling sphere. Returns x, y, time."""
    start_speed = math.sqrt((velocity_x*velocity_x) + (velocity_y*velocity_y))
    drop = -grade_x*velocity_x - grade_y*velocity_y
    steepness_squared = (grade_x*grade_x) + (grade_y*grade_y)
    pull = gravity/((inertia + 1)*math.sqrt(steepness_squared + 1))
    t0 = 1/pull
    t1 = 2*resistance
    t2 = drop + start_speed*t1
    t3 = math.sqrt(steepness_squared)
    t4 = 1/(t1 + t3)
    t5 = -t3
    t6 = 1/(t1 + t5)
    t7 = resistance*start_speed
    t8 = (start_speed*start_speed)
    t9 = t0/((resistance + t3)*(resistance + t5))
    t10 = (1/4)*t4*t6*t9*(3*(drop*drop) + 6*drop*t7 + 4*(resistance*resistance)*t8 - steepness_squared*t8)
    return -grade_x*t10 + t0*t2*t4*t6*velocity_x, -grade_y*t10 + t0*t2*t4*t6*velocity_y, t9*(drop + t7)


def state_at_stage(stage: float, velocity_x: float, velocity_y: float, resistance: float, grade_x: float, grade_y: float, gravity: float, inertia: float) -> tuple[float, float, float, float, float]:
    """Position (m, from the start), time (s) and velocity (m/s) at a stage of a roll across a plane. Model: Coulomb-like resistance on a plane (Irodov, Problems in General Physics, 1.106), for a rolling sphere. Returns x, y, time, velocity_x, velocity_y."""
    start_speed = math.sqrt((velocity_x*velocity_x) + (velocity_y*velocity_y))
    steepness_squared = (grade_x*grade_x) + (grade_y*grade_y)
    pull = gravity/((inertia + 1)*math.sqrt(steepness_squared + 1))
    tiny = 1.00000000000000e-300
    steepness = math.sqrt(steepness_squared + tiny)
    fall_x = -grade_x/steepness
    fall_y = -grade_y/steepness
    fall_speed = fall_x*velocity_x + fall_y*velocity_y
    with_fall = (1/2)*fall_speed + (1/2)*start_speed
    against_fall = -1/2*fall_speed + (1/2)*start_speed
    t0 = -fall_speed*fall_x + velocity_x
    t1 = 1/pull
    t2 = 2*resistance
    t3 = -steepness
    t4 = stage*(-t2 - t3) + tiny
    t5 = stage*with_fall
    t6 = stage*(-steepness - t2) + tiny
    t7 = against_fall*stage
    t8 = t1*(t7*math.expm1(t6)/t6 + t5*math.expm1(t4)/t4)
    t9 = 2*steepness
    t10 = stage*(-t2 - t9) + tiny
    t11 = stage*(-t2 + t9) + tiny
    t12 = t1*(-(against_fall*against_fall)*stage*math.expm1(t10)/t10 + stage*(with_fall*with_fall)*math.expm1(t11)/t11)
    t13 = -fall_speed*fall_y + velocity_y
    t14 = stage*(-resistance - t3)
    t15 = t14 + tiny
    t16 = stage*(-resistance - steepness)
    t17 = t16 + tiny
    t18 = math.exp(-resistance*stage)
    t19 = -against_fall*math.exp(t16) + with_fall*math.exp(t14)
    return fall_x*t12 + t0*t8, fall_y*t12 + t13*t8, t1*(t7*math.expm1(t17)/t17 + t5*math.expm1(t15)/t15), fall_x*t19 + t0*t18, fall_y*t19 + t13*t18


def speed_at_angle(speed: float, fall_angle: float, fall_angle_there: float, resistance: float, steepness: float) -> float:
    """Speed in m/s where the path has turned to `fall_angle_there` from the fall line; angles in (0, pi). Model: Coulomb-like resistance on a plane (Irodov, Problems in General Physics, 1.106), for a rolling sphere."""
    t0 = (1/2)*fall_angle
    t1 = (1/2)*fall_angle_there
    return speed*math.exp((resistance/steepness - 1)*math.log(math.tan(t1)/math.tan(t0)))*(math.cos(t0)*math.cos(t0))/(math.cos(t1)*math.cos(t1))
