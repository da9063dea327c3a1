"""How much farther a roll goes for a little more of each thing it depends on: derivatives of the closed forms.

A ball that rolls at `speed` on constant resistance c up a grade s comes to rest after

    d = (1 + k) v^2 sqrt(1 + s^2) / (2 g (c + s)),

so that a little more resistance takes d / (c + s) off for each unit, a little more grade nearly the same, and speed
adds 2 d / v. Seen from green speed (the roll S of a ball that a ramp releases at v0 on the level, where
c = (1 + k) v0^2 / (2 g S)), the same roll grows with S. These hold where the ball stops; elsewhere they are
infinite, as the roll is.
"""

import sympy

from golfphys.derivations import rolling
from golfphys.derivations.notation import symbol
from golfphys.derivations.writer import Formula

speed, resistance, grade = symbol("speed"), symbol("resistance"), symbol("grade")
gravity, inertia = symbol("gravity"), symbol("inertia")
ARGUMENTS = rolling.ARGUMENTS

# of the distance to rest
roll = rolling.stopping_distance.subs(rolling.slowing, rolling.deceleration)
by_resistance = sympy.factor(sympy.diff(roll, resistance))
by_grade = sympy.factor(sympy.simplify(sympy.diff(roll, grade)))
by_speed = sympy.factor(sympy.diff(roll, speed))

# dS/dc of the ramp's roll on the level turns a change of resistance into one of green speed
release_speed = symbol("release_speed")
ramp_roll = roll.subs({speed: release_speed, grade: 0})
by_green_speed = sympy.factor(by_resistance / sympy.diff(ramp_roll, resistance))


def _cases(derivative: sympy.Expr, sign: int) -> tuple[tuple[sympy.Basic, sympy.Expr], ...]:
    return ((rolling.slowing <= 0, sign * sympy.oo), (sympy.true, derivative))


FORMULAS = (
    Formula(
        name="roll_per_resistance",
        arguments=ARGUMENTS,
        definitions=rolling.slows,
        cases=_cases(by_resistance, -1),
        summary="Derivative of the distance to rest with respect to rolling resistance, m.",
        source=rolling.SOURCE,
    ),
    Formula(
        name="roll_per_grade",
        arguments=ARGUMENTS,
        definitions=rolling.slows,
        cases=_cases(by_grade, -1),
        summary="Derivative of the distance to rest with respect to the grade (rise over run, uphill positive), m.",
        source=rolling.SOURCE,
    ),
    Formula(
        name="roll_per_speed",
        arguments=ARGUMENTS,
        definitions=rolling.slows,
        cases=_cases(by_speed, 1),
        summary="Derivative of the distance to rest with respect to the speed, s.",
        source=rolling.SOURCE,
    ),
    Formula(
        name="roll_per_green_speed",
        arguments=(*ARGUMENTS, release_speed),
        definitions=rolling.slows,
        cases=_cases(by_green_speed, 1),
        summary="Derivative of the distance to rest with respect to the level roll of a ball from the ramp.",
        source=rolling.SOURCE,
    ),
)
