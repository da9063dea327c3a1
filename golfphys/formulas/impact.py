"""Closed forms derived in ``golfphys/derivations/impact.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 1413f06d237bc53f.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def impact(velocity_x: float, velocity_y: float, velocity_z: float, spin_x: float, spin_y: float, spin_z: float, normal_x: float, normal_y: float, normal_z: float, restitution: float, friction: float, tangential_restitution: float, mass_ratio: float, radius: float, inertia: float) -> tuple[float, float, float, float, float, float]:
    """Motion of a sphere after an oblique impact, relative to the body it met before the impact. Model: rigid impulse with friction, Cross, Am. J. Phys. 70, 1093 (2002). Returns velocity_x, velocity_y, velocity_z, spin_x, spin_y, spin_z."""
    rise = normal_x*velocity_x + normal_y*velocity_y + normal_z*velocity_z
    approach = max(0, -rise)
    slip_x = -normal_x*rise + normal_y*radius*spin_z - normal_z*radius*spin_y + velocity_x
    slip_y = -normal_x*radius*spin_z - normal_y*rise + normal_z*radius*spin_x + velocity_y
    slip_z = normal_x*radius*spin_y - normal_y*radius*spin_x - normal_z*rise + velocity_z
    slip_speed = math.sqrt((slip_x*slip_x) + (slip_y*slip_y) + (slip_z*slip_z))
    push = -approach*(-restitution - 1)/(mass_ratio + 1)
    grip = inertia*(tangential_restitution + 1)/(inertia*mass_ratio + inertia + 1)
    if (grip*slip_speed <= friction*push):
        t0 = grip*slip_x
        t1 = grip*slip_y
        t2 = grip*slip_z
        t3 = 1/(inertia*radius)
        return normal_x*push - t0 + velocity_x, normal_y*push - t1 + velocity_y, normal_z*push - t2 + velocity_z, spin_x - t3*(grip*normal_z*slip_y - normal_y*t2), spin_y - t3*(normal_x*t2 - normal_z*t0), spin_z - t3*(grip*normal_y*slip_x - normal_x*t1)
    t0 = normal_x*push
    t1 = 1/slip_speed
    t2 = friction*t1
    t3 = push*t2
    t4 = normal_y*push
    t5 = normal_z*push
    t6 = slip_z*t2
    t7 = 1/(inertia*radius)
    return -slip_x*t3 + t0 + velocity_x, -slip_y*t3 + t4 + velocity_y, -slip_z*t3 + t5 + velocity_z, spin_x - t7*(friction*normal_z*push*slip_y*t1 - t4*t6), spin_y - t7*(-slip_x*t2*t5 + t0*t6), spin_z - t7*(friction*normal_y*push*slip_x*t1 - slip_y*t0*t2)


def slip_limit_ratio(restitution: float, friction: float, tangential_restitution: float, mass_ratio: float, inertia: float) -> float:
    """Slip over speed of approach above which an impact slips throughout and below which it grips. Model: rigid impulse with friction, Cross, Am. J. Phys. 70, 1093 (2002)."""
    return friction*(restitution + 1)*(inertia*mass_ratio + inertia + 1)/(inertia*(mass_ratio + 1)*(tangential_restitution + 1))
