"""Conversions between SI and the units a golfer, a coach or a superintendent writes down.

Everything inside golfphys is SI and radians. Other units appear only at the edge, and then in the name of the
column, argument or result that carries them (``roll_ft``, ``loft_deg``, ``spin_rpm``). The factors are exact by
definition (international foot 0.3048 m, 1959).
"""

import math

METRES_PER_FOOT = 0.3048
METRES_PER_INCH = 0.0254
METRES_PER_YARD = 0.9144
METRES_PER_SECOND_PER_MPH = 0.44704

FACTORS_TO_SI: dict[str, float] = {
    **{"1": 1.0, "m": 1.0, "cm": 0.01, "mm": 0.001, "ft": METRES_PER_FOOT, "in": METRES_PER_INCH},
    **{"yd": METRES_PER_YARD, "s": 1.0, "ms": 0.001, "m_s": 1.0, "ft_s": METRES_PER_FOOT},
    **{"mph": METRES_PER_SECOND_PER_MPH, "rad": 1.0, "deg": math.pi / 180.0, "rad_s": 1.0},
    **{"rpm": 2.0 * math.pi / 60.0, "kg": 1.0, "g": 0.001, "pct": 0.01},
}
"""Factor to SI for each unit suffix allowed in a column or argument name."""


def to_si(value: float, unit: str) -> float:
    """Convert a number, or an array, from a unit of `FACTORS_TO_SI` to SI; a ValueError lists those that are known.

    >>> to_si(10.0, "ft")
    3.048
    """
    return value * _factor(unit)


def from_si(value: float, unit: str) -> float:
    """Convert a number, or an array, from SI to a unit, the inverse of `to_si`.

    >>> from_si(3.048, "ft")
    10.0
    """
    return value / _factor(unit)


def _factor(unit: str) -> float:
    if unit not in FACTORS_TO_SI:
        raise ValueError(f"unknown unit {unit!r}; expected one of: {', '.join(FACTORS_TO_SI)}")
    return FACTORS_TO_SI[unit]
