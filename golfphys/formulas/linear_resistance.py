"""Closed forms derived in ``golfphys/derivations/linear_resistance.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 8bc3cccbe3c95faf.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def stopping_distance(speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m a ball rolls to rest under c0 + c1 v; infinite where it never stops. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    if (level_resistance <= 0) or (level_resistance + resistance_linear*speed <= 0):
        excess = 0.0
    else:
        excess = resistance_linear*speed/level_resistance
    if (abs(excess) < 0.1):
        shape = excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(0.055555555555555555556*excess - 0.058823529411764705882) + 0.0625) - 0.066666666666666666667) + 0.071428571428571428571) - 0.076923076923076923077) + 0.083333333333333333333) - 0.090909090909090909091) + 0.1) - 0.11111111111111111111) + 0.125) - 0.14285714285714285714) + 0.16666666666666666667) - 0.2) + 0.25) - 0.33333333333333333333) + 0.5
    else:
        shape = (excess - math.log1p(excess))/(excess*excess)
    if (level_resistance <= 0) or (level_resistance + resistance_linear*speed <= 0):
        return math.inf
    return shape*(speed*speed)/(level_resistance*pull)


def stopping_time(speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Time in s a ball takes to roll to rest under c0 + c1 v; infinite where it never stops. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    if (level_resistance <= 0) or (level_resistance + resistance_linear*speed <= 0):
        excess = 0.0
    else:
        excess = resistance_linear*speed/level_resistance
    if (excess == 0):
        shape = 1.00000000000000
    else:
        shape = math.log1p(excess)/excess
    if (level_resistance <= 0) or (level_resistance + resistance_linear*speed <= 0):
        return math.inf
    return shape*speed/(level_resistance*pull)


def speed_at_distance(distance: float, speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s after rolling a distance under c0 + c1 v; 0 where the ball stops short of it. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    if (level_resistance == 0):
        excess = 0.0
    else:
        excess = resistance_linear*speed/level_resistance
    if (excess < -1):
        side = -1.00000000000000
    else:
        side = 1.00000000000000
    if (abs(excess) < 0.1):
        shape = excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(0.055555555555555555556*excess - 0.058823529411764705882) + 0.0625) - 0.066666666666666666667) + 0.071428571428571428571) - 0.076923076923076923077) + 0.083333333333333333333) - 0.090909090909090909091) + 0.1) - 0.11111111111111111111) + 0.125) - 0.14285714285714285714) + 0.16666666666666666667) - 0.2) + 0.25) - 0.33333333333333333333) + 0.5
    elif (excess > -1):
        shape = (excess - math.log1p(excess))/(excess*excess)
    else:
        shape = 0.0
    reduced_speed_squared = -2*distance*level_resistance*pull + 2*shape*(speed*speed)
    if (reduced_speed_squared > 0) and (side > 0) and (level_resistance != 0):
        branch_distance = math.sqrt(reduced_speed_squared)*resistance_linear/level_resistance
    else:
        branch_distance = 0.0
    if (side > 0):
        aim = (1/2)*(branch_distance*branch_distance) + 1
    else:
        aim = -distance*pull*(resistance_linear*resistance_linear)/level_resistance + excess - math.log(-excess - 1) + 1
    if (aim >= -1) and (side < 0):
        log_ratio_0 = -aim
    elif (side < 0):
        log_ratio_0 = math.log(max(1.0, -aim))
    elif (branch_distance >= 0.3):
        log_ratio_0 = math.log1p((1/3)*(branch_distance*branch_distance) + branch_distance)
    elif (branch_distance <= -0.3):
        log_ratio_0 = (1/36)*(branch_distance*branch_distance*branch_distance) - 1/6*(branch_distance*branch_distance) + branch_distance
    else:
        log_ratio_0 = 1.00000000000000
    ratio_1 = side*math.exp(log_ratio_0)
    log_ratio_1 = log_ratio_0 - (ratio_1 - 1)*(-2*aim - 2*log_ratio_0 + 2*ratio_1)/(-ratio_1*(-aim - log_ratio_0 + ratio_1) + 2*((ratio_1 - 1)*(ratio_1 - 1)))
    ratio_2 = side*math.exp(log_ratio_1)
    log_ratio_2 = log_ratio_1 - (ratio_2 - 1)*(-2*aim - 2*log_ratio_1 + 2*ratio_2)/(-ratio_2*(-aim - log_ratio_1 + ratio_2) + 2*((ratio_2 - 1)*(ratio_2 - 1)))
    ratio_3 = side*math.exp(log_ratio_2)
    log_ratio_3 = log_ratio_2 - (ratio_3 - 1)*(-2*aim - 2*log_ratio_2 + 2*ratio_3)/(-ratio_3*(-aim - log_ratio_2 + ratio_3) + 2*((ratio_3 - 1)*(ratio_3 - 1)))
    ratio_4 = side*math.exp(log_ratio_3)
    log_ratio_4 = log_ratio_3 - (ratio_4 - 1)*(-2*aim - 2*log_ratio_3 + 2*ratio_4)/(-ratio_4*(-aim - log_ratio_3 + ratio_4) + 2*((ratio_4 - 1)*(ratio_4 - 1)))
    if (level_resistance == 0):
        return max(0.0, -distance*pull*resistance_linear + speed)
    if (excess == -1):
        return speed
    if (side < 0):
        return level_resistance*(-math.exp(log_ratio_4) - 1)/resistance_linear
    if (reduced_speed_squared <= 0):
        return 0.0
    if (abs(branch_distance) < 0.3):
        return math.sqrt(reduced_speed_squared)*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(-7.5970339593651703213e-17*branch_distance - 2.0556447336970290476e-17) + 1.1889539086269768002e-15) - 6.0538640105137481127e-15) + 1.5326196647277206267e-14) + 5.2401866818838737004e-15) - 2.5138346400570877945e-13) + 1.2822077905614429602e-12) - 3.2393178514169028153e-12) - 1.5008349408791911628e-12) + 5.7173122388979938964e-11) - 2.921357345635568791e-10) + 7.3298641316002200304e-10) + 5.159887341078075831e-10) - 1.472162728068839942e-8) + 7.5424648554118963682e-8) - 1.8540622107151599607e-7) - 2.4282761229777690683e-7) + 4.8990789731530472271e-6) - 0.000025536449147560258671) + 0.000058788947677836566725) + 0.00023148148148148148148) - 0.0037037037037037037037) + 0.027777777777777777778) + 0.33333333333333333333) + 1.0)
    return level_resistance*math.expm1(log_ratio_4)/resistance_linear


def speed_at_time(time: float, speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s after rolling for a time under c0 + c1 v; 0 once the ball has stopped. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    lapse = pull*resistance_linear*time
    if (lapse == 0):
        decayed = 1.00000000000000
    else:
        decayed = -math.expm1(-lapse)/lapse
    speed_then = -decayed*level_resistance*pull*time + speed*math.exp(-lapse)
    if (speed_then <= 0):
        return 0.0
    return speed_then


def distance_at_time(time: float, speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m rolled after a time under c0 + c1 v; the stopping distance once the ball has stopped. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    lapse = pull*resistance_linear*time
    if (lapse == 0):
        decayed = 1.00000000000000
    else:
        decayed = -math.expm1(-lapse)/lapse
    speed_then = -decayed*level_resistance*pull*time + speed*math.exp(-lapse)
    if (speed_then < 0):
        excess = resistance_linear*speed/level_resistance
    else:
        excess = 0.0
    if (abs(excess) < 0.1):
        shape = excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(0.055555555555555555556*excess - 0.058823529411764705882) + 0.0625) - 0.066666666666666666667) + 0.071428571428571428571) - 0.076923076923076923077) + 0.083333333333333333333) - 0.090909090909090909091) + 0.1) - 0.11111111111111111111) + 0.125) - 0.14285714285714285714) + 0.16666666666666666667) - 0.2) + 0.25) - 0.33333333333333333333) + 0.5
    else:
        shape = (excess - math.log1p(excess))/(excess*excess)
    if (abs(lapse) < 0.1):
        decayed_twice = lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(1.5619206968586226462e-16*lapse - 2.8114572543455207632e-15) + 4.7794773323873852974e-14) - 7.6471637318198164759e-13) + 1.1470745597729724714e-11) - 1.6059043836821614599e-10) + 2.0876756987868098979e-9) - 2.5052108385441718775e-8) + 2.7557319223985890653e-7) - 2.7557319223985890653e-6) + 0.000024801587301587301587) - 0.0001984126984126984127) + 0.0013888888888888888889) - 0.0083333333333333333333) + 0.041666666666666666667) - 0.16666666666666666667) + 0.5
    else:
        decayed_twice = (lapse + math.expm1(-lapse))/(lapse*lapse)
    if (speed_then < 0):
        return shape*(speed*speed)/(level_resistance*pull)
    return decayed*speed*time - decayed_twice*level_resistance*pull*(time*time)


def speed_for_distance(distance: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s with which a ball just rolls a distance; 0 where any speed takes it further. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    reduced_speed_squared = 2*distance*level_resistance*pull
    side = 1.00000000000000
    if (reduced_speed_squared > 0):
        branch_distance = math.sqrt(reduced_speed_squared)*resistance_linear/level_resistance
    else:
        branch_distance = 0.0
    aim = (1/2)*(branch_distance*branch_distance) + 1
    if (branch_distance >= 0.3):
        log_ratio_0 = math.log1p((1/3)*(branch_distance*branch_distance) + branch_distance)
    elif (branch_distance <= -0.3):
        log_ratio_0 = (1/36)*(branch_distance*branch_distance*branch_distance) - 1/6*(branch_distance*branch_distance) + branch_distance
    else:
        log_ratio_0 = 1.00000000000000
    ratio_1 = side*math.exp(log_ratio_0)
    log_ratio_1 = log_ratio_0 - (ratio_1 - 1)*(-2*aim - 2*log_ratio_0 + 2*ratio_1)/(-ratio_1*(-aim - log_ratio_0 + ratio_1) + 2*((ratio_1 - 1)*(ratio_1 - 1)))
    ratio_2 = side*math.exp(log_ratio_1)
    log_ratio_2 = log_ratio_1 - (ratio_2 - 1)*(-2*aim - 2*log_ratio_1 + 2*ratio_2)/(-ratio_2*(-aim - log_ratio_1 + ratio_2) + 2*((ratio_2 - 1)*(ratio_2 - 1)))
    ratio_3 = side*math.exp(log_ratio_2)
    log_ratio_3 = log_ratio_2 - (ratio_3 - 1)*(-2*aim - 2*log_ratio_2 + 2*ratio_3)/(-ratio_3*(-aim - log_ratio_2 + ratio_3) + 2*((ratio_3 - 1)*(ratio_3 - 1)))
    ratio_4 = side*math.exp(log_ratio_3)
    log_ratio_4 = log_ratio_3 - (ratio_4 - 1)*(-2*aim - 2*log_ratio_3 + 2*ratio_4)/(-ratio_4*(-aim - log_ratio_3 + ratio_4) + 2*((ratio_4 - 1)*(ratio_4 - 1)))
    if (reduced_speed_squared <= 0):
        return 0.0
    if (abs(branch_distance) < 0.3):
        return math.sqrt(reduced_speed_squared)*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(branch_distance*(-7.5970339593651703213e-17*branch_distance - 2.0556447336970290476e-17) + 1.1889539086269768002e-15) - 6.0538640105137481127e-15) + 1.5326196647277206267e-14) + 5.2401866818838737004e-15) - 2.5138346400570877945e-13) + 1.2822077905614429602e-12) - 3.2393178514169028153e-12) - 1.5008349408791911628e-12) + 5.7173122388979938964e-11) - 2.921357345635568791e-10) + 7.3298641316002200304e-10) + 5.159887341078075831e-10) - 1.472162728068839942e-8) + 7.5424648554118963682e-8) - 1.8540622107151599607e-7) - 2.4282761229777690683e-7) + 4.8990789731530472271e-6) - 0.000025536449147560258671) + 0.000058788947677836566725) + 0.00023148148148148148148) - 0.0037037037037037037037) + 0.027777777777777777778) + 0.33333333333333333333) + 1.0)
    return level_resistance*math.expm1(log_ratio_4)/resistance_linear
