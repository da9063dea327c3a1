"""Closed forms derived in ``golfphys/derivations/rolling.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 cdc34cdedf1ae561.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def deceleration(resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Deceleration in m/s^2 of a ball rolling on a grade; negative where the ball gains speed. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    return gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))


def resistance_from_distance(distance: float, speed: float, grade: float, gravity: float, inertia: float) -> float:
    """Rolling resistance shown by a ball released at `speed` that stops after `distance` on a grade. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    t0 = (speed*speed)*math.sqrt((grade*grade) + 1)
    return (1/2)*(-2*distance*grade*gravity + inertia*t0 + t0)/(distance*gravity)


def stopping_distance(speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m a ball rolls to rest; infinite where it never stops. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    if (slowing <= 0):
        return math.inf
    return (1/2)*(speed*speed)/slowing


def stopping_time(speed: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Time in s a ball takes to roll to rest; infinite where it never stops. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
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


def speed_for_distance(distance: float, resistance: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s with which a ball just rolls a distance; 0 where any speed takes it further. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)."""
    slowing = gravity*(grade + resistance)/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    speed_squared = 2*distance*slowing
    if (speed_squared <= 0):
        return 0.0
    return math.sqrt(speed_squared)


def stopping_distance_linear(speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m a ball rolls to rest under c0 + c1 v; infinite where it never stops. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    excess = 0.0 if (level_resistance <= 0) or (level_resistance + resistance_linear*speed <= 0) else resistance_linear*speed/level_resistance
    shape = excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(0.055555555555555555556*excess - 0.058823529411764705882) + 0.0625) - 0.066666666666666666667) + 0.071428571428571428571) - 0.076923076923076923077) + 0.083333333333333333333) - 0.090909090909090909091) + 0.1) - 0.11111111111111111111) + 0.125) - 0.14285714285714285714) + 0.16666666666666666667) - 0.2) + 0.25) - 0.33333333333333333333) + 0.5 if (abs(excess) < 0.1) else (excess - math.log1p(excess))/(excess*excess)
    if (level_resistance <= 0) or (level_resistance + resistance_linear*speed <= 0):
        return math.inf
    return shape*(speed*speed)/(level_resistance*pull)


def stopping_time_linear(speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Time in s a ball takes to roll to rest under c0 + c1 v; infinite where it never stops. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    excess = 0.0 if (level_resistance <= 0) or (level_resistance + resistance_linear*speed <= 0) else resistance_linear*speed/level_resistance
    shape = 1.00000000000000 if (excess == 0) else math.log1p(excess)/excess
    if (level_resistance <= 0) or (level_resistance + resistance_linear*speed <= 0):
        return math.inf
    return shape*speed/(level_resistance*pull)


def stopping_distance_quadratic(speed: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m a ball rolls to rest under c0 + c2 v^2; infinite where it never stops. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    excess = 0.0 if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0) else resistance_quadratic*(speed*speed)/level_resistance
    shape = 1.00000000000000 if (excess == 0) else math.log1p(excess)/excess
    if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0):
        return math.inf
    return (1/2)*shape*(speed*speed)/(level_resistance*pull)


def stopping_time_quadratic(speed: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Time in s a ball takes to roll to rest under c0 + c2 v^2; infinite where it never stops. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    excess = 0.0 if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0) else resistance_quadratic*(speed*speed)/level_resistance
    if (excess > 0):
        lasting = math.atan(math.sqrt(excess))/math.sqrt(excess)
    elif (excess < 0):
        lasting = math.atanh(math.sqrt(-excess))/math.sqrt(-excess)
    else:
        lasting = 1.00000000000000
    if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0):
        return math.inf
    return lasting*speed/(level_resistance*pull)


def linear_roll(time: float, speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> tuple[float, float]:
    """Way (m) after `time` before the stop, and when it stops (s), straight, linear law; growth not zero. Model: constant or linear rolling resistance. Returns distance, stop."""
    slowing = gravity*resistance_linear/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    held_back = (grade + resistance)/resistance_linear
    t0 = 1/slowing
    return -held_back*time - t0*(held_back + speed)*math.expm1(-slowing*time), t0*math.log1p(speed/held_back)


def release_speed(ramp_run: float, ramp_angle: float, contact_spacing: float, radius: float, gravity: float, inertia: float) -> float:
    """Speed in m/s of a ball at the foot of a V-grooved ramp without losses. Model: energy of a sphere that rolls on two contacts; run, angle and contacts of the USGA ramp's booklet."""
    t0 = (contact_spacing*contact_spacing)
    t1 = (radius*radius)
    t2 = 4*t1
    return math.sqrt(2)*math.sqrt(gravity)*math.sqrt(ramp_run)*math.sqrt((-t0 + 4*t1)*math.sin(ramp_angle)/(inertia*t2 - t0 + t2))


def release_overspin(contact_spacing: float, radius: float) -> float:
    """Rim speed over speed of a ball rolling in a V-groove: 1 is rolling on a plane. Model: energy of a sphere that rolls on two contacts; run, angle and contacts of the USGA ramp's booklet."""
    return radius/math.sqrt(-1/4*(contact_spacing*contact_spacing) + (radius*radius))


def groove_angle(contact_spacing: float, radius: float) -> float:
    """Angle in rad between the flanks of a V-groove that a ball touches at contacts this far apart. Model: energy of a sphere that rolls on two contacts; run, angle and contacts of the USGA ramp's booklet."""
    return 2*math.acos((1/2)*contact_spacing/radius)


def two_way_mean(distance_up: float, distance_down: float) -> float:
    """Distance in m on the level from distances up and down one slope: their harmonic mean. Model: Brede, Agronomy Journal 83, 425 (1991) for the mean; derived from chapter rolling."""
    return 2*distance_down*distance_up/(distance_down + distance_up)


def slope_share(distance_up: float, distance_down: float) -> float:
    """Grade over resistance from distances up and down one slope: at 1 no ball stops. Model: Brede, Agronomy Journal 83, 425 (1991) for the mean; derived from chapter rolling."""
    return (distance_down - distance_up)/(distance_down + distance_up)
