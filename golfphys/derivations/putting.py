"""The chance of holing a putt, from the errors of a golfer's direction and distance.

**Direction.** A putt starts at an angle to the line intended that is normal with standard deviation s_a. It passes over
the hole if its centre passes within R - r of the hole's centre as far as the putt is long, that is if the angle is
within asin((R - r)/x). Shorter than R - r the ball hangs over the hole already.

**Distance.** The player means to roll the ball a set overshoot past the hole. The roll is normal about that with a
standard deviation that is a set fraction of the roll intended. The ball is taken if it reaches the hole and if it would
run out no more than a set overrun past it.

Both at once are taken as independent, so the chance of holing is the product. The integral of the normal density is
done below. The model, its overshoot of 1 ft and its overrun of 3 ft are the published ones, quoted.
"""

import sympy

from golfphys.derivations.notation import symbol
from golfphys.derivations.writer import Formula

distance, radius, hole_radius = symbol("distance"), symbol("radius"), symbol("hole_radius")
angle_error, distance_error = symbol("angle_error"), symbol("distance_error")
overshoot, overrun = symbol("overshoot"), symbol("overrun")
intercept, slope = symbol("logit_intercept"), symbol("logit_slope")

# a normal variable of mean 0 and unit deviation lies between two bounds
z, low, high = sympy.Symbol("z", real=True), sympy.Symbol("low", real=True), sympy.Symbol("high", real=True)
density = sympy.exp(-(z**2) / 2) / sympy.sqrt(2 * sympy.pi)
chance_between = sympy.integrate(density, (z, low, high))

# direction: half the angle that the hole takes up; at R - r and nearer the ball cannot miss sideways by direction
half_angle = sympy.asin((hole_radius - radius) / sympy.Max(distance, hole_radius - radius))
by_angle = chance_between.subs({low: -half_angle / angle_error, high: half_angle / angle_error})

# distance: the roll lies between the hole and the overrun past it
intended = distance + overshoot
by_distance = chance_between.subs(
    {low: -overshoot / (intended * distance_error), high: (overrun - overshoot) / (intended * distance_error)}
)

logistic = 1 / (1 + sympy.exp(-(intercept + slope * distance)))

SOURCE = "Gelman, Model building and expansion for golf putting (Stan case study)"

FORMULAS = (
    Formula(
        name="half_angle_of_hole",
        arguments=(distance, hole_radius, radius),
        returns=half_angle,
        summary="Greatest angle in rad off the line to the hole's centre at which a putt still passes over the hole.",
        source=SOURCE,
    ),
    Formula(
        name="logistic_make_probability",
        arguments=(distance, intercept, slope),
        returns=logistic,
        summary="Chance of holing a putt when its log odds are a straight line in distance.",
        source=SOURCE,
    ),
    Formula(
        name="angle_make_probability",
        arguments=(distance, angle_error, hole_radius, radius),
        returns=by_angle,
        summary="Chance that a putt's direction takes it over the hole.",
        source=SOURCE,
    ),
    Formula(
        name="distance_make_probability",
        arguments=(distance, distance_error, overshoot, overrun),
        returns=by_distance,
        summary="Chance that a putt reaches the hole and would not run too far past it.",
        source=SOURCE,
    ),
    Formula(
        name="angle_and_distance_make_probability",
        arguments=(distance, angle_error, distance_error, overshoot, overrun, hole_radius, radius),
        returns=by_angle * by_distance,
        summary="Chance that a putt is over the hole in direction and right in distance.",
        source=SOURCE,
    ),
)
