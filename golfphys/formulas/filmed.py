"""Closed forms derived in ``golfphys/derivations/filmed.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 7ef2a2311627d317.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def turning_roll(stage: float, speed: float, resistance: float, grade_x: float, grade_y: float, gravity: float, inertia: float) -> tuple[float, float, float]:
    """Time (s), distance (m) and speed (m/s) at a stage of a roll along x; needs resistance > steepness. Model: constant or linear rolling resistance and Coulomb friction; golfphys/derivations/filmed.py. Returns time, distance, speed."""
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


def linear_roll(time: float, speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> tuple[float, float]:
    """Way (m) after `time` before the stop, and when it stops (s), straight, linear law; growth not zero. Model: constant or linear rolling resistance and Coulomb friction; golfphys/derivations/filmed.py. Returns distance, stop."""
    slowing = gravity*resistance_linear/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    held_back = (grade + resistance)/resistance_linear
    t0 = 1/slowing
    return -held_back*time - t0*(held_back + speed)*math.expm1(-slowing*time), t0*math.log1p(speed/held_back)


def skid_rates(friction: float, grade: float, gravity: float, inertia: float) -> tuple[float, float]:
    """Deceleration (m/s^2) of a ball skidding forward, and rate (m/s^2) at which its contact's slip dies. Model: constant or linear rolling resistance and Coulomb friction; golfphys/derivations/filmed.py. Returns braking, slip_rate."""
    t0 = gravity/math.sqrt((grade*grade) + 1)
    return t0*(friction + grade), friction*t0*(inertia + 1)/inertia
