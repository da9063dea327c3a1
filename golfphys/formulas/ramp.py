"""Closed forms derived in ``golfphys/derivations/ramp.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 a543cdd273dda3c5.
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
