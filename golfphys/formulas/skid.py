"""Closed forms derived in ``golfphys/derivations/skid.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 c7183521ecc3e10f.
Write anew with ``python -m golfphys.derivations``.
"""


def rolling_speed(speed: float, topspin: float, radius: float, inertia: float) -> float:
    """Speed in m/s when a skid on level ground ends; negative where the ball comes back. Model: Coulomb friction at the contact of a sphere on level ground."""
    return (inertia*radius*topspin + speed)/(inertia + 1)


def skid_time(speed: float, topspin: float, friction: float, radius: float, gravity: float, inertia: float) -> float:
    """Time in s of a skid on level ground. Model: Coulomb friction at the contact of a sphere on level ground."""
    slipping = -radius*topspin + speed
    return inertia*abs(slipping)/(friction*gravity*(inertia + 1))


def skid_distance(speed: float, topspin: float, friction: float, radius: float, gravity: float, inertia: float) -> float:
    """Distance in m from start to end of a skid on level ground; less than was skidded if it came back. Model: Coulomb friction at the contact of a sphere on level ground."""
    slipping = -radius*topspin + speed
    return (1/2)*inertia*(inertia*radius*topspin + inertia*speed + 2*speed)*abs(slipping)/(friction*gravity*((inertia + 1)*(inertia + 1)))
