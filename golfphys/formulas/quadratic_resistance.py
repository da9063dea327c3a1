"""Closed forms derived in ``golfphys/derivations/quadratic_resistance.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 7649f9809112441d.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def stopping_distance(speed: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m a ball rolls to rest under c0 + c2 v^2; infinite where it never stops. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0):
        excess = 0.0
    else:
        excess = resistance_quadratic*(speed*speed)/level_resistance
    if (excess == 0):
        shape = 1.00000000000000
    else:
        shape = math.log1p(excess)/excess
    if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0):
        return math.inf
    return (1/2)*shape*(speed*speed)/(level_resistance*pull)


def stopping_time(speed: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Time in s a ball takes to roll to rest under c0 + c2 v^2; infinite where it never stops. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0):
        excess = 0.0
    else:
        excess = resistance_quadratic*(speed*speed)/level_resistance
    if (excess > 0):
        lasting = math.atan(math.sqrt(excess))/math.sqrt(excess)
    elif (excess < 0):
        lasting = math.atanh(math.sqrt(-excess))/math.sqrt(-excess)
    else:
        lasting = 1.00000000000000
    if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0):
        return math.inf
    return lasting*speed/(level_resistance*pull)


def speed_at_distance(distance: float, speed: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s after rolling a distance under c0 + c2 v^2; 0 where the ball stops short of it. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    run = 2*distance*pull*resistance_quadratic
    if (run == 0):
        decayed = 1.00000000000000
    else:
        decayed = -math.expm1(-run)/run
    speed_squared = -2*decayed*distance*level_resistance*pull + (speed*speed)*math.exp(-run)
    if (speed_squared <= 0):
        return 0.0
    return math.sqrt(speed_squared)


def speed_at_time(time: float, speed: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s after rolling for a time under c0 + c2 v^2; 0 once the ball has stopped. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0):
        excess = 0.0
    else:
        excess = resistance_quadratic*(speed*speed)/level_resistance
    if (excess > 0):
        lasting = math.atan(math.sqrt(excess))/math.sqrt(excess)
    elif (excess < 0):
        lasting = math.atanh(math.sqrt(-excess))/math.sqrt(-excess)
    else:
        lasting = 1.00000000000000
    if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0):
        stop_time = math.inf
    else:
        stop_time = lasting*speed/(level_resistance*pull)
    turn_squared = level_resistance*(pull*pull)*resistance_quadratic*(time*time)
    if (turn_squared > 0):
        sine = math.sin(math.sqrt(turn_squared))/math.sqrt(turn_squared)
    elif (turn_squared < 0):
        sine = math.sinh(math.sqrt(-turn_squared))/math.sqrt(-turn_squared)
    else:
        sine = 1.00000000000000
    if (turn_squared > 0):
        cosine = math.cos(math.sqrt(turn_squared))
    else:
        cosine = math.cosh(math.sqrt(-turn_squared))
    below = cosine + pull*resistance_quadratic*sine*speed*time
    if (time >= stop_time):
        return 0.0
    if (below <= 0):
        return math.inf
    return (cosine*speed - level_resistance*pull*sine*time)/below


def distance_at_time(time: float, speed: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m rolled after a time under c0 + c2 v^2; the stopping distance once the ball has stopped. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0):
        excess = 0.0
    else:
        excess = resistance_quadratic*(speed*speed)/level_resistance
    if (excess > 0):
        lasting = math.atan(math.sqrt(excess))/math.sqrt(excess)
    elif (excess < 0):
        lasting = math.atanh(math.sqrt(-excess))/math.sqrt(-excess)
    else:
        lasting = 1.00000000000000
    if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0):
        stop_time = math.inf
    else:
        stop_time = lasting*speed/(level_resistance*pull)
    turn_squared = level_resistance*(pull*pull)*resistance_quadratic*(time*time)
    if (turn_squared > 0):
        sine = math.sin(math.sqrt(turn_squared))/math.sqrt(turn_squared)
    elif (turn_squared < 0):
        sine = math.sinh(math.sqrt(-turn_squared))/math.sqrt(-turn_squared)
    else:
        sine = 1.00000000000000
    if (turn_squared > 0):
        cosine = math.cos(math.sqrt(turn_squared))
    else:
        cosine = math.cosh(math.sqrt(-turn_squared))
    below = cosine + pull*resistance_quadratic*sine*speed*time
    if (excess == 0):
        shape = 1.00000000000000
    else:
        shape = math.log1p(excess)/excess
    if (turn_squared > 0):
        half_sine = 2*math.sin((1/2)*math.sqrt(turn_squared))/math.sqrt(turn_squared)
    elif (turn_squared < 0):
        half_sine = 2*math.sinh((1/2)*math.sqrt(-turn_squared))/math.sqrt(-turn_squared)
    else:
        half_sine = 1.00000000000000
    advance = time*(-1/2*(half_sine*half_sine)*level_resistance*pull*time + sine*speed)
    grown = advance*pull*resistance_quadratic
    if (grown == 0) or (grown <= -1):
        grown_shape = 1.00000000000000
    else:
        grown_shape = math.log1p(grown)/grown
    if (time >= stop_time):
        return (1/2)*shape*(speed*speed)/(level_resistance*pull)
    if (below <= 0):
        return math.inf
    return advance*grown_shape


def speed_for_distance(distance: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s with which a ball just rolls a distance; 0 where any speed takes it further. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    run = 2*distance*pull*resistance_quadratic
    if (run == 0):
        decayed = 1.00000000000000
    else:
        decayed = math.expm1(run)/run
    speed_squared = 2*decayed*distance*level_resistance*pull
    if (speed_squared <= 0):
        return 0.0
    return math.sqrt(speed_squared)
