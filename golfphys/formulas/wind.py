"""Closed forms derived in ``golfphys/derivations/wind.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 37b93f754669dc22.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def wind_share(height_over_ground: float, wind_height: float, roughness: float) -> float:
    """Wind at a height over the wind at the height where it is known. Model: logarithmic law; Stull, An Introduction to Boundary Layer Meteorology (1988), memory."""
    t0 = math.log(roughness)
    return (-t0 + math.log(height_over_ground + roughness))/(-t0 + math.log(roughness + wind_height))


def wind_grade(velocity_x: float, velocity_y: float, wind_x: float, wind_y: float, drag_rate: float, gravity: float) -> tuple[float, float]:
    """Rise of ground that slows a rolling ball as the wind does, beyond the drag of still air. Model: drag of a sphere, textbook coefficient near 0.5 at these speeds, from memory. Returns grade_x, grade_y."""
    t0 = math.sqrt((velocity_x*velocity_x) + (velocity_y*velocity_y))
    t1 = -velocity_x + wind_x
    t2 = -velocity_y + wind_y
    t3 = math.sqrt((t1*t1) + (t2*t2))
    t4 = drag_rate/gravity
    return -t4*(t0*velocity_x + t1*t3), -t4*(t0*velocity_y + t2*t3)
