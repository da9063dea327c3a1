"""Closed forms derived in ``golfphys/derivations/varying.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 89f92e8664002b47.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def resistance_at(speed: float, direction_x: float, direction_y: float, resistance: float, resistance_linear: float, resistance_quadratic: float, grain_x: float, grain_y: float) -> float:
    """Coefficient of rolling resistance at a speed and in a direction of travel. Model: resistance as a polynomial in speed, times a factor for grain; no published magnitudes."""
    return (resistance + resistance_linear*speed + resistance_quadratic*(speed*speed))*(-direction_x*grain_x - direction_y*grain_y + 1)


def greatest_resistance(speed: float, resistance: float, resistance_linear: float, resistance_quadratic: float) -> float:
    """What the coefficient of rolling resistance cannot exceed at a speed, without grain. Model: resistance as a polynomial in speed."""
    return resistance + (speed*speed)*abs(resistance_quadratic) + speed*abs(resistance_linear)


def course(stage: float, velocity_x: float, velocity_y: float, base_resistance: float, grade_x: float, grade_y: float) -> tuple[float, float, float]:
    """Speed in m/s under the base resistance, and direction of travel under any, at a stage of a roll. Model: constant resistance on a plane (chapter plane) with resistance as a function of speed and heading. Returns base_speed, direction_x, direction_y."""
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
    """Rates per stage of velocity (m/s), position (m) and time (s) on ground that rises as given. Model: constant resistance on a plane (chapter plane) with resistance as a function of speed and heading. Returns velocity_x_rate, velocity_y_rate, x_rate, y_rate, time_rate."""
    tiny = 1.00000000000000e-300
    start_speed = math.sqrt((velocity_x*velocity_x) + (velocity_y*velocity_y))
    resistance_there = (resistance*start_speed + resistance_linear*(start_speed*start_speed) + resistance_quadratic*(start_speed*start_speed*start_speed) - (grain_x*velocity_x + grain_y*velocity_y)*(resistance + resistance_linear*start_speed + resistance_quadratic*(start_speed*start_speed)))/(start_speed + tiny)
    pull = gravity/((inertia + 1)*math.sqrt((grade_x*grade_x) + (grade_y*grade_y) + 1))
    t0 = start_speed/pull
    return -grade_x*start_speed - resistance_there*velocity_x, -grade_y*start_speed - resistance_there*velocity_y, t0*velocity_x, t0*velocity_y, t0
