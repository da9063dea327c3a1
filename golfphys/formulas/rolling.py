"""Closed forms derived in ``golfphys/derivations/rolling.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 da53e37183832eef.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def deceleration(resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Deceleration in m/s^2 of a ball rolling on a grade; negative where the ball gains speed. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    return gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))


def stopping_distance(speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m a ball rolls to rest; infinite where the grade never lets it stop. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    if (slowing <= 0):
        return math.inf
    return (1/2)*(speed*speed)/slowing


def stopping_time(speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Time in s a ball takes to roll to rest; infinite where the grade never lets it stop. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    if (slowing <= 0):
        return math.inf
    return speed/slowing


def speed_at_distance(distance: float, speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s after rolling a distance; 0 where the ball stops short of it. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    speed_squared = -2*distance*slowing + (speed*speed)
    if (speed_squared <= 0):
        return 0.0
    return math.sqrt(speed_squared)


def speed_at_time(time: float, speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s after rolling for a time; 0 once the ball has stopped. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    speed_then = -slowing*time + speed
    if (speed_then <= 0):
        return 0.0
    return speed_then


def distance_at_time(time: float, speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m rolled after a time; the stopping distance once the ball has stopped. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    speed_then = -slowing*time + speed
    if (speed_then < 0):
        return (1/2)*(speed*speed)/slowing
    return -1/2*time*(slowing*time - 2*speed)


def resistance_from_distance(distance: float, speed: float, grade: float, gravity: float, inertia: float) -> float:
    """Rolling resistance shown by a ball released at `speed` that stops after `distance` on a grade. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    t0 = (speed*speed)*math.sqrt((grade*grade) + 1)
    return (1/2)*(-2*distance*grade*gravity + inertia*t0 + t0)/(distance*gravity)


def speed_for_distance(distance: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s with which a ball just rolls a distance; 0 where any speed takes it further. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    speed_squared = 2*distance*slowing
    if (speed_squared <= 0):
        return 0.0
    return math.sqrt(speed_squared)


def roll_per_resistance(speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Derivative of the distance to rest with respect to rolling resistance, m. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    if (slowing <= 0):
        return float('-inf')
    return -1/2*(speed*speed)*math.sqrt((grade*grade) + 1)*(inertia + 1)/(gravity*((grade + resistance)*(grade + resistance)))


def roll_per_green_speed(speed: float, resistance: float, grade: float, gravity: float, inertia: float, release_speed: float) -> float:
    """Derivative of the distance to rest with respect to the level roll of a ball from the ramp. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    if (slowing <= 0):
        return math.inf
    return (resistance*resistance)*(speed*speed)*math.sqrt((grade*grade) + 1)/((release_speed*release_speed)*((grade + resistance)*(grade + resistance)))
