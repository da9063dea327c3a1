"""Rolling along a straight path with constant resistance on a constant grade.

The coefficient of rolling resistance c is the push needed to keep the ball rolling over the normal force. While a
ball of mass m, radius r and moment of inertia k m r^2 rolls without slipping, its energy is m (1 + k) v^2 / 2; over a
path element ds it loses c m g cos(alpha) ds to the turf and m g sin(alpha) ds to the climb, with
tan(alpha) = grade. So slope adds to resistance, and

    dv/dt = -g (c cos(alpha) + sin(alpha)) / (1 + k).

Distances are measured along the ground, as a tape does.
"""

import sympy

from golfphys.derivations.notation import symbol
from golfphys.derivations.writer import Formula

speed, distance, time = symbol("speed"), symbol("distance"), symbol("time")
resistance, grade, gravity, inertia = symbol("resistance"), symbol("grade"), symbol("gravity"), symbol("inertia")

SOURCE = "energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)"

# cos and sin of the slope angle from its tangent
cosine = 1 / sympy.sqrt(1 + grade**2)
deceleration = gravity * (resistance + grade) * cosine / (1 + inertia)

# v dv = -deceleration ds from `speed` to rest
stopping_distance = sympy.integrate(sympy.Symbol("u"), (sympy.Symbol("u"), 0, speed)) / deceleration
stopping_time = speed / deceleration

# the same relation, read for the resistance that a measured distance shows
resistance_shown = sympy.solve(sympy.Eq(distance, stopping_distance), resistance)[0]

FORMULAS = (
    Formula(
        name="deceleration",
        arguments=(resistance, grade, gravity, inertia),
        returns=deceleration,
        summary="Deceleration in m/s^2 of a ball rolling on a grade; negative where the ball gains speed.",
        source=SOURCE,
    ),
    Formula(
        name="stopping_distance",
        arguments=(speed, resistance, grade, gravity, inertia),
        cases=((resistance + grade <= 0, sympy.oo), (sympy.true, stopping_distance)),
        summary="Distance in m a ball rolls to rest; infinite where the grade never lets it stop.",
        source=SOURCE,
    ),
    Formula(
        name="stopping_time",
        arguments=(speed, resistance, grade, gravity, inertia),
        cases=((resistance + grade <= 0, sympy.oo), (sympy.true, stopping_time)),
        summary="Time in s a ball takes to roll to rest; infinite where the grade never lets it stop.",
        source=SOURCE,
    ),
    Formula(
        name="resistance_from_distance",
        arguments=(distance, speed, grade, gravity, inertia),
        returns=resistance_shown,
        summary="Rolling resistance shown by a ball released at `speed` that stops after `distance` on a grade.",
        source=SOURCE,
    ),
)
