"""The wind near the ground: its profile over grass, and its push on a ball that rolls.

Close to the ground the stress is the same at every height, and eddies grow with the height: the mixing length is kappa
(z + z0), z0 the roughness of the surface. So kappa (z + z0) du/dz is a constant, the friction velocity, with u = 0 at
the ground: the logarithmic law (Stull, An Introduction to Boundary Layer Meteorology, 1988, chapter 9; memory). Its
constant goes where the wind is known at one height.

The resistance that a roll shows holds the drag of still air already. The wind adds what the drag in it is beyond that,
and counts as a slope: the push over the ball's weight.
"""

import sympy

from golfphys.derivations.writer import Formula, symbol

height, reference, roughness = symbol("height_over_ground"), symbol("wind_height"), symbol("roughness")
z = sympy.Symbol("z", nonnegative=True)
friction_velocity = sympy.Symbol("friction_velocity", positive=True)
u = sympy.Function("u")

_found = sympy.dsolve((z + roughness) * u(z).diff(z) - friction_velocity, u(z), ics={u(0): 0}).rhs
profile = sympy.expand(_found.subs(z, height) / friction_velocity) / sympy.expand(
    _found.subs(z, reference) / friction_velocity
)

velocity_x, velocity_y = symbol("velocity_x"), symbol("velocity_y")
wind_x, wind_y, drag_rate, gravity = symbol("wind_x"), symbol("wind_y"), symbol("drag_rate"), symbol("gravity")
through_x, through_y = wind_x - velocity_x, wind_y - velocity_y
through, still = sympy.sqrt(through_x**2 + through_y**2), sympy.sqrt(velocity_x**2 + velocity_y**2)

FORMULAS = (
    Formula(
        name="wind_share",
        arguments=(height, reference, roughness),
        returns=profile,
        summary="Wind at a height over the wind at the height where it is known.",
        source="logarithmic law; Stull, An Introduction to Boundary Layer Meteorology (1988), memory",
    ),
    Formula(
        name="wind_grade",
        arguments=(velocity_x, velocity_y, wind_x, wind_y, drag_rate, gravity),
        returns={
            "grade_x": -drag_rate * (through * through_x + still * velocity_x) / gravity,
            "grade_y": -drag_rate * (through * through_y + still * velocity_y) / gravity,
        },
        summary="Rise of ground that slows a rolling ball as the wind does, beyond the drag of still air.",
        source="drag of a sphere, textbook coefficient near 0.5 at these speeds, from memory",
    ),
)
