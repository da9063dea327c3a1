"""Rolling along a straight path with constant resistance on a constant grade.

The coefficient of rolling resistance c is the push needed to keep the ball rolling over the normal force. While a
ball of mass m, radius r and moment of inertia k m r^2 rolls without slipping, its energy is m (1 + k) v^2 / 2; over a
path element ds it loses c m g cos(alpha) ds to the turf and m g sin(alpha) ds to the climb, with
tan(alpha) = grade. So slope adds to resistance, and

    dv/dt = -g (c cos(alpha) + sin(alpha)) / (1 + k).

Distances are measured along the ground, as a tape does. A ball that has stopped stays where it is.

**How much farther for a little more.** The distance to rest is d = (1 + k) v^2 sqrt(1 + s^2) / (2 g (c + s)), s the
grade: a little more resistance takes d / (c + s) off for each unit, a little more grade nearly the same, and speed adds
2 d / v. Seen from green speed (the roll S of a ball that a ramp releases at v0 on the level, where
c = (1 + k) v0^2 / (2 g S)), the same roll grows with S. These derivatives hold where the ball stops; elsewhere they are
infinite, as the roll is.
"""

import sympy

from golfphys.derivations.writer import Formula, sourced, symbol

speed, distance, time = symbol("speed"), symbol("distance"), symbol("time")
resistance, grade, gravity, inertia = symbol("resistance"), symbol("grade"), symbol("gravity"), symbol("inertia")
ARGUMENTS = (speed, resistance, grade, gravity, inertia)

SOURCE = "energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)"

# cos and sin of the slope angle from its tangent
cosine = 1 / sympy.sqrt(1 + grade**2)
deceleration = gravity * (resistance + grade) * cosine / (1 + inertia)

slowing = sympy.Symbol("slowing", real=True)  # the deceleration, once it is known to be positive
u = sympy.Symbol("u", positive=True)

# v dv = -deceleration ds from `speed` to rest, or to the distance asked for
stopping_distance = sympy.integrate(u, (u, 0, speed)) / slowing
squared = sympy.Symbol("speed_squared", real=True)
squared_then = speed**2 - 2 * slowing * distance

# dv = -deceleration dt
stopping_time = speed / slowing
speed_then = sympy.Symbol("speed_then", real=True)
speed_after = speed - slowing * time
distance_after = sympy.factor(sympy.integrate(speed_after.subs(time, u), (u, 0, time)))

# the same relations, read the other way: what a measured distance shows, and the speed that a distance needs
resistance_shown = sympy.solve(sympy.Eq(distance, stopping_distance.subs(slowing, deceleration)), resistance)[0]
squared_needed = 2 * slowing * distance

slows = ((slowing, deceleration),)
ZERO = sympy.Float(0)

# derivatives of the distance to rest; dS/dc of the ramp's roll on the level turns that by resistance into green speed
roll = stopping_distance.subs(slowing, deceleration)
release_speed = symbol("release_speed")
by_resistance = sympy.factor(sympy.diff(roll, resistance))
ramp_roll = roll.subs({speed: release_speed, grade: 0})
DERIVATIVES = (
    ("resistance", by_resistance, -1, "rolling resistance, m"),
    (
        *("green_speed", sympy.factor(by_resistance / sympy.diff(ramp_roll, resistance)), 1),
        "the level roll of a ball from the ramp",
    ),
)

FORMULAS = sourced(
    SOURCE,
    Formula(
        name="deceleration",
        arguments=(resistance, grade, gravity, inertia),
        returns=deceleration,
        summary="Deceleration in m/s^2 of a ball rolling on a grade; negative where the ball gains speed.",
    ),
    Formula(
        name="stopping_distance",
        arguments=ARGUMENTS,
        definitions=slows,
        cases=((slowing <= 0, sympy.oo), (sympy.true, stopping_distance)),
        summary="Distance in m a ball rolls to rest; infinite where the grade never lets it stop.",
    ),
    Formula(
        name="stopping_time",
        arguments=ARGUMENTS,
        definitions=slows,
        cases=((slowing <= 0, sympy.oo), (sympy.true, stopping_time)),
        summary="Time in s a ball takes to roll to rest; infinite where the grade never lets it stop.",
    ),
    Formula(
        name="speed_at_distance",
        arguments=(distance, *ARGUMENTS),
        definitions=(*slows, (squared, squared_then)),
        cases=((squared <= 0, ZERO), (sympy.true, sympy.sqrt(squared))),
        summary="Speed in m/s after rolling a distance; 0 where the ball stops short of it.",
    ),
    Formula(
        name="speed_at_time",
        arguments=(time, *ARGUMENTS),
        definitions=(*slows, (speed_then, speed_after)),
        cases=((speed_then <= 0, ZERO), (sympy.true, speed_then)),
        summary="Speed in m/s after rolling for a time; 0 once the ball has stopped.",
    ),
    Formula(
        name="distance_at_time",
        arguments=(time, *ARGUMENTS),
        definitions=(*slows, (speed_then, speed_after)),
        cases=((speed_then < 0, stopping_distance), (sympy.true, distance_after)),
        summary="Distance in m rolled after a time; the stopping distance once the ball has stopped.",
    ),
    Formula(
        name="resistance_from_distance",
        arguments=(distance, speed, grade, gravity, inertia),
        returns=resistance_shown,
        summary="Rolling resistance shown by a ball released at `speed` that stops after `distance` on a grade.",
    ),
    Formula(
        name="speed_for_distance",
        arguments=(distance, resistance, grade, gravity, inertia),
        definitions=(*slows, (squared, squared_needed)),
        cases=((squared <= 0, ZERO), (sympy.true, sympy.sqrt(squared))),
        summary="Speed in m/s with which a ball just rolls a distance; 0 where any speed takes it further.",
    ),
    *(
        Formula(
            name=f"roll_per_{name}",
            arguments=(*ARGUMENTS, release_speed) if name == "green_speed" else ARGUMENTS,
            definitions=slows,
            cases=((slowing <= 0, sign * sympy.oo), (sympy.true, derivative)),
            summary=f"Derivative of the distance to rest with respect to {what}.",
        )
        for name, derivative, sign, what in DERIVATIVES
    ),
)
