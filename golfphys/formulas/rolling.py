"""Closed forms derived in ``golfphys/derivations/rolling.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 48cdd081bc192155.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def deceleration(resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Deceleration in m/s^2 of a ball rolling on a grade; negative where the ball gains speed.

    Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)
    """
    return gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))


def stopping_distance(speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m a ball rolls to rest; infinite where the grade never lets it stop.

    Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)
    """
    if (grade + resistance <= 0):
        return math.inf
    return (1/2)*(speed*speed)*math.sqrt((grade*grade) + 1)*(inertia + 1)/(gravity*(grade + resistance))


def stopping_time(speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Time in s a ball takes to roll to rest; infinite where the grade never lets it stop.

    Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)
    """
    if (grade + resistance <= 0):
        return math.inf
    return speed*math.sqrt((grade*grade) + 1)*(inertia + 1)/(gravity*(grade + resistance))


def resistance_from_distance(distance: float, speed: float, grade: float, gravity: float, inertia: float) -> float:
    """Rolling resistance shown by a ball released at `speed` that stops after `distance` on a grade.

    Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)
    """
    t0 = (speed*speed)*math.sqrt((grade*grade) + 1)
    return (1/2)*(-2*distance*grade*gravity + inertia*t0 + t0)/(distance*gravity)
