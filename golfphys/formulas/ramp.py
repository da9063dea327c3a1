"""Closed forms derived in ``golfphys/derivations/ramp.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 f83ddd2e3d67a444.
Write anew with ``python -m golfphys.derivations``.
"""

import math


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


def apparent_grade(distance_up: float, distance_down: float, speed: float, gravity: float, inertia: float) -> float:
    """Sine of the slope's angle that distances up and down show; beyond 1 no slope makes them. Model: Brede, Agronomy Journal 83, 425 (1991) for the mean; derived from chapter rolling."""
    t0 = (1/2)*(speed*speed)*(inertia + 1)/gravity
    return (1/2)*(distance_down*t0 - distance_up*t0)/(distance_down*distance_up)


def resistance_and_grade(distance_up: float, distance_down: float, speed: float, gravity: float, inertia: float) -> tuple[float, float]:
    """Resistance and uphill grade shown by distances up and down one slope from one release speed. Model: Brede, Agronomy Journal 83, 425 (1991) for the mean; derived from chapter rolling. Returns resistance, grade."""
    apparent_grade = (1/2)*((1/2)*distance_down*(speed*speed)*(inertia + 1)/gravity - 1/2*distance_up*(speed*speed)*(inertia + 1)/gravity)/(distance_down*distance_up)
    t0 = 1/math.sqrt(1 - (apparent_grade*apparent_grade))
    t1 = (1/2)*(speed*speed)*(inertia + 1)/gravity
    return (1/2)*t0*(distance_down*t1 + distance_up*t1)/(distance_down*distance_up), apparent_grade*t0
