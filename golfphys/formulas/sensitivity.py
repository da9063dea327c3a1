"""Closed forms derived in ``golfphys/derivations/sensitivity.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 7f2c0921d213a5e8.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def roll_per_resistance(speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Derivative of the distance to rest with respect to rolling resistance, m.

    Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)
    """
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    if (slowing <= 0):
        return float('-inf')
    return -1/2*(speed*speed)*math.sqrt((grade*grade) + 1)*(inertia + 1)/(gravity*((grade + resistance)*(grade + resistance)))


def roll_per_grade(speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Derivative of the distance to rest with respect to the grade (rise over run, uphill positive), m.

    Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)
    """
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    if (slowing <= 0):
        return float('-inf')
    return (1/2)*(speed*speed)*(inertia + 1)*(grade*resistance - 1)/(gravity*((grade + resistance)*(grade + resistance))*math.sqrt((grade*grade) + 1))


def roll_per_speed(speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Derivative of the distance to rest with respect to the speed, s.

    Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)
    """
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    if (slowing <= 0):
        return math.inf
    return speed*math.sqrt((grade*grade) + 1)*(inertia + 1)/(gravity*(grade + resistance))


def roll_per_green_speed(speed: float, resistance: float, grade: float, gravity: float, inertia: float, release_speed: float) -> float:
    """Derivative of the distance to rest with respect to the level roll of a ball from the ramp.

    Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)
    """
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    if (slowing <= 0):
        return math.inf
    return (resistance*resistance)*(speed*speed)*math.sqrt((grade*grade) + 1)/((release_speed*release_speed)*((grade + resistance)*(grade + resistance)))
