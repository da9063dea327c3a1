"""Closed forms derived in ``golfphys/derivations/rolling.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 cc3473e643a45cba.
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


def speed_at_distance_linear(distance: float, speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s after rolling a distance under c0 + c1 v; 0 where the ball stops short of it. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    excess = 0.0 if (level_resistance == 0) else resistance_linear*speed/level_resistance
    side = -1.00000000000000 if (excess < -1) else 1.00000000000000
    if (abs(excess) < 0.1):
        shape = excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(0.055555555555555555556*excess - 0.058823529411764705882) + 0.0625) - 0.066666666666666666667) + 0.071428571428571428571) - 0.076923076923076923077) + 0.083333333333333333333) - 0.090909090909090909091) + 0.1) - 0.11111111111111111111) + 0.125) - 0.14285714285714285714) + 0.16666666666666666667) - 0.2) + 0.25) - 0.33333333333333333333) + 0.5
    elif (excess > -1):
        shape = (excess - math.log1p(excess))/(excess*excess)
    else:
        shape = 0.0
    reduced_speed_squared = -2*distance*level_resistance*pull + 2*shape*(speed*speed)
    branch_distance = math.sqrt(reduced_speed_squared)*resistance_linear/level_resistance if (reduced_speed_squared > 0) and (side > 0) and (level_resistance != 0) else 0.0
    aim = (1/2)*(branch_distance*branch_distance) + 1 if (side > 0) else -distance*pull*(resistance_linear*resistance_linear)/level_resistance + excess - math.log(-excess - 1) + 1
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


def speed_at_time_linear(time: float, speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s after rolling for a time under c0 + c1 v; 0 once the ball has stopped. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    lapse = pull*resistance_linear*time
    decayed = 1.00000000000000 if (lapse == 0) else -math.expm1(-lapse)/lapse
    speed_then = -decayed*level_resistance*pull*time + speed*math.exp(-lapse)
    if (speed_then <= 0):
        return 0.0
    return speed_then


def distance_at_time_linear(time: float, speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m rolled after a time under c0 + c1 v; the stopping distance once the ball has stopped. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    lapse = pull*resistance_linear*time
    decayed = 1.00000000000000 if (lapse == 0) else -math.expm1(-lapse)/lapse
    speed_then = -decayed*level_resistance*pull*time + speed*math.exp(-lapse)
    excess = resistance_linear*speed/level_resistance if (speed_then < 0) else 0.0
    shape = excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(excess*(0.055555555555555555556*excess - 0.058823529411764705882) + 0.0625) - 0.066666666666666666667) + 0.071428571428571428571) - 0.076923076923076923077) + 0.083333333333333333333) - 0.090909090909090909091) + 0.1) - 0.11111111111111111111) + 0.125) - 0.14285714285714285714) + 0.16666666666666666667) - 0.2) + 0.25) - 0.33333333333333333333) + 0.5 if (abs(excess) < 0.1) else (excess - math.log1p(excess))/(excess*excess)
    decayed_twice = lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(lapse*(1.5619206968586226462e-16*lapse - 2.8114572543455207632e-15) + 4.7794773323873852974e-14) - 7.6471637318198164759e-13) + 1.1470745597729724714e-11) - 1.6059043836821614599e-10) + 2.0876756987868098979e-9) - 2.5052108385441718775e-8) + 2.7557319223985890653e-7) - 2.7557319223985890653e-6) + 0.000024801587301587301587) - 0.0001984126984126984127) + 0.0013888888888888888889) - 0.0083333333333333333333) + 0.041666666666666666667) - 0.16666666666666666667) + 0.5 if (abs(lapse) < 0.1) else (lapse + math.expm1(-lapse))/(lapse*lapse)
    if (speed_then < 0):
        return shape*(speed*speed)/(level_resistance*pull)
    return decayed*speed*time - decayed_twice*level_resistance*pull*(time*time)


def speed_for_distance_linear(distance: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s with which a ball just rolls a distance under c0 + c1 v; 0 where any speed takes it further. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    reduced_speed_squared = 2*distance*level_resistance*pull
    side = 1.00000000000000
    branch_distance = math.sqrt(reduced_speed_squared)*resistance_linear/level_resistance if (reduced_speed_squared > 0) else 0.0
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


def speed_at_distance_quadratic(distance: float, speed: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s after rolling a distance under c0 + c2 v^2; 0 where the ball stops short of it. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    run = 2*distance*pull*resistance_quadratic
    decayed = 1.00000000000000 if (run == 0) else -math.expm1(-run)/run
    speed_squared = -2*decayed*distance*level_resistance*pull + (speed*speed)*math.exp(-run)
    if (speed_squared <= 0):
        return 0.0
    return math.sqrt(speed_squared)


def speed_at_time_quadratic(time: float, speed: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s after rolling for a time under c0 + c2 v^2; 0 once the ball has stopped. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    excess = 0.0 if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0) else resistance_quadratic*(speed*speed)/level_resistance
    if (excess > 0):
        lasting = math.atan(math.sqrt(excess))/math.sqrt(excess)
    elif (excess < 0):
        lasting = math.atanh(math.sqrt(-excess))/math.sqrt(-excess)
    else:
        lasting = 1.00000000000000
    stop_time = math.inf if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0) else lasting*speed/(level_resistance*pull)
    turn_squared = level_resistance*(pull*pull)*resistance_quadratic*(time*time)
    if (turn_squared > 0):
        sine = math.sin(math.sqrt(turn_squared))/math.sqrt(turn_squared)
    elif (turn_squared < 0):
        sine = math.sinh(math.sqrt(-turn_squared))/math.sqrt(-turn_squared)
    else:
        sine = 1.00000000000000
    cosine = math.cos(math.sqrt(turn_squared)) if (turn_squared > 0) else math.cosh(math.sqrt(-turn_squared))
    below = cosine + pull*resistance_quadratic*sine*speed*time
    if (time >= stop_time):
        return 0.0
    if (below <= 0):
        return math.inf
    return (cosine*speed - level_resistance*pull*sine*time)/below


def distance_at_time_quadratic(time: float, speed: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Distance in m rolled after a time under c0 + c2 v^2; the stopping distance once the ball has stopped. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    excess = 0.0 if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0) else resistance_quadratic*(speed*speed)/level_resistance
    if (excess > 0):
        lasting = math.atan(math.sqrt(excess))/math.sqrt(excess)
    elif (excess < 0):
        lasting = math.atanh(math.sqrt(-excess))/math.sqrt(-excess)
    else:
        lasting = 1.00000000000000
    stop_time = math.inf if (level_resistance <= 0) or (level_resistance + resistance_quadratic*(speed*speed) <= 0) else lasting*speed/(level_resistance*pull)
    turn_squared = level_resistance*(pull*pull)*resistance_quadratic*(time*time)
    if (turn_squared > 0):
        sine = math.sin(math.sqrt(turn_squared))/math.sqrt(turn_squared)
    elif (turn_squared < 0):
        sine = math.sinh(math.sqrt(-turn_squared))/math.sqrt(-turn_squared)
    else:
        sine = 1.00000000000000
    cosine = math.cos(math.sqrt(turn_squared)) if (turn_squared > 0) else math.cosh(math.sqrt(-turn_squared))
    below = cosine + pull*resistance_quadratic*sine*speed*time
    shape = 1.00000000000000 if (excess == 0) else math.log1p(excess)/excess
    if (turn_squared > 0):
        half_sine = 2*math.sin((1/2)*math.sqrt(turn_squared))/math.sqrt(turn_squared)
    elif (turn_squared < 0):
        half_sine = 2*math.sinh((1/2)*math.sqrt(-turn_squared))/math.sqrt(-turn_squared)
    else:
        half_sine = 1.00000000000000
    advance = time*(-1/2*(half_sine*half_sine)*level_resistance*pull*time + sine*speed)
    grown = advance*pull*resistance_quadratic
    grown_shape = 1.00000000000000 if (grown == 0) or (grown <= -1) else math.log1p(grown)/grown
    if (time >= stop_time):
        return (1/2)*shape*(speed*speed)/(level_resistance*pull)
    if (below <= 0):
        return math.inf
    return advance*grown_shape


def speed_for_distance_quadratic(distance: float, resistance: float, resistance_quadratic: float, grade: float, gravity: float, inertia: float) -> float:
    """Speed in m/s with which a ball just rolls a distance under c0 + c2 v^2; 0 where any speed takes it further. Model: energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed."""
    pull = gravity/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    level_resistance = grade + resistance
    run = 2*distance*pull*resistance_quadratic
    decayed = 1.00000000000000 if (run == 0) else math.expm1(run)/run
    speed_squared = 2*decayed*distance*level_resistance*pull
    if (speed_squared <= 0):
        return 0.0
    return math.sqrt(speed_squared)


def linear_roll(time: float, speed: float, resistance: float, resistance_linear: float, grade: float, gravity: float, inertia: float) -> tuple[float, float]:
    """Way (m) after `time` before the stop, and when it stops (s), straight, linear law; growth not zero. Model: constant or linear rolling resistance. Returns distance, stop."""
    slowing = gravity*resistance_linear/(math.sqrt((grade*grade) + 1)*(inertia + 1))
    held_back = (grade + resistance)/resistance_linear
    t0 = 1/slowing
    return -held_back*time - t0*(held_back + speed)*math.expm1(-slowing*time), t0*math.log1p(speed/held_back)


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
