"""Closed forms derived in ``golfphys/derivations/plane.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 8e670e1ce9b55952.
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


def speed_at_angle(speed: float, fall_angle: float, fall_angle_there: float, resistance: float, steepness: float) -> float:
    """Speed in m/s where the path has turned to `fall_angle_there` from the fall line; angles in (0, pi). Model: Coulomb-like resistance on a plane (Irodov, Problems in General Physics, 1.106), for a rolling sphere."""
    t0 = (1/2)*fall_angle
    t1 = (1/2)*fall_angle_there
    return speed*math.exp((resistance/steepness - 1)*math.log(math.tan(t1)/math.tan(t0)))*(math.cos(t0)*math.cos(t0))/(math.cos(t1)*math.cos(t1))


def turning_roll(stage: float, speed: float, resistance: float, grade_x: float, grade_y: float, gravity: float, inertia: float) -> tuple[float, float, float]:
    """Time (s), distance (m) and speed (m/s) at a stage of a roll along x; needs resistance > steepness. Model: Coulomb-like resistance on a plane (Irodov, Problems in General Physics, 1.106), for a rolling sphere. Returns time, distance, speed."""
    steepness = math.sqrt((grade_x*grade_x) + (grade_y*grade_y))
    pull = gravity/((inertia + 1)*math.sqrt((steepness*steepness) + 1))
    with_fall = (1/2)*speed*(-grade_x/(steepness + 1.0e-300) + 1)
    against_fall = speed - with_fall
    t0 = 1/pull
    t1 = resistance + steepness
    t2 = -stage*t1
    t3 = resistance - steepness
    t4 = -stage*t3
    t5 = 2*resistance
    t6 = 2*steepness
    t7 = t5 + t6
    t8 = t5 - t6
    return t0*(-against_fall*math.expm1(t2)/t1 - with_fall*math.expm1(t4)/t3), t0*(-(against_fall*against_fall)*math.expm1(-stage*t7)/t7 - against_fall*with_fall*math.expm1(-stage*t5)/resistance - (with_fall*with_fall)*math.expm1(-stage*t8)/t8), against_fall*math.exp(t2) + with_fall*math.exp(t4)


def resistance_at(speed: float, direction_x: float, direction_y: float, resistance: float, resistance_linear: float, resistance_quadratic: float, grain_x: float, grain_y: float) -> float:
    """Coefficient of rolling resistance at a speed and in a direction of travel. Model: resistance as a polynomial in speed, times a factor for grain; no published magnitudes."""
    return (resistance + resistance_linear*speed + resistance_quadratic*(speed*speed))*(-direction_x*grain_x - direction_y*grain_y + 1)


def greatest_resistance(speed: float, resistance: float, resistance_linear: float, resistance_quadratic: float) -> float:
    """What the coefficient of rolling resistance cannot exceed at a speed, without grain. Model: resistance as a polynomial in speed."""
    return resistance + (speed*speed)*abs(resistance_quadratic) + speed*abs(resistance_linear)


def course(stage: float, velocity_x: float, velocity_y: float, base_resistance: float, grade_x: float, grade_y: float) -> tuple[float, float, float]:
    """Speed in m/s under the base resistance, and direction of travel under any, at a stage of a roll. Model: constant resistance on a plane with resistance as a function of speed and heading. Returns base_speed, direction_x, direction_y."""
    tiny = 1.00000000000000e-300
    steepness = math.sqrt((grade_x*grade_x) + (grade_y*grade_y) + tiny)
    fall_x = -grade_x/steepness
    fall_y = -grade_y/steepness
    start_speed = math.sqrt((velocity_x*velocity_x) + (velocity_y*velocity_y))
    fall_speed = fall_x*velocity_x + fall_y*velocity_y
    with_fall = ((1/2)*fall_speed + (1/2)*start_speed)*math.exp(stage*(-base_resistance + steepness))
    against_fall = (-1/2*fall_speed + (1/2)*start_speed)*math.exp(stage*(-base_resistance - steepness))
    lost = math.exp(-base_resistance*stage)
    speed_then = against_fall + with_fall
    along = -against_fall + with_fall
    t0 = 1/(speed_then + tiny)
    return speed_then, t0*(along*fall_x + lost*(-fall_speed*fall_x + velocity_x)), t0*(along*fall_y + lost*(-fall_speed*fall_y + velocity_y))


def ground_rates(velocity_x: float, velocity_y: float, resistance: float, resistance_linear: float, resistance_quadratic: float, grain_x: float, grain_y: float, grade_x: float, grade_y: float, gravity: float, inertia: float) -> tuple[float, float, float, float, float]:
    """Rates per stage of velocity (m/s), position (m) and time (s) on ground that rises as given. Model: constant resistance on a plane with resistance as a function of speed and heading. Returns velocity_x_rate, velocity_y_rate, x_rate, y_rate, time_rate."""
    tiny = 1.00000000000000e-300
    start_speed = math.sqrt((velocity_x*velocity_x) + (velocity_y*velocity_y))
    resistance_there = (resistance*start_speed + resistance_linear*(start_speed*start_speed) + resistance_quadratic*(start_speed*start_speed*start_speed) - (grain_x*velocity_x + grain_y*velocity_y)*(resistance + resistance_linear*start_speed + resistance_quadratic*(start_speed*start_speed)))/(start_speed + tiny)
    pull = gravity/((inertia + 1)*math.sqrt((grade_x*grade_x) + (grade_y*grade_y) + 1))
    t0 = start_speed/pull
    return -grade_x*start_speed - resistance_there*velocity_x, -grade_y*start_speed - resistance_there*velocity_y, t0*velocity_x, t0*velocity_y, t0
