"""The sole: how much bounce is left at impact, and how far the swing's low point may stray.

**Effective bounce.** With the shaft upright the sole rises from its low trailing edge to the leading edge at the bounce
angle. Leaning the shaft forward lowers the leading edge by the lean; opening the face turns the sole about the shaft
and raises it. The angle of the turned sole along the path of the club is the effective bounce.

**Attack.** The head moves on an arc of radius R whose lowest point lies x_l ahead of the ball; at the ball it moves
down at sin(attack) = -x_l/R.

**Window.** Heights are those of the leading edge at the ball, over the turf. A player who brushes the turf with the
sole brings the leading edge in at z_0 = w sin(effective bounce), the height it has when the sole's trailing edge just
touches (0 if no bounce is left: then the leading edge itself is lowest). If the low point is off by d along the line
(positive: nearer the target), the arc gives

    z(d) = z_0 + ((x_l + d)^2 - x_l^2) / (2 R).

- *Thin*: the leading edge must meet the ball below the point where the face would touch it. A face of loft l touches a
  sphere at height r (1 - sin l) over its underside, so z < h = r (1 - sin l) + (height of the ball over the turf).
- *Dig*: the leading edge must not go deeper than the turf gives, z > -d_g, anywhere up to the ball. If the low point
  falls behind the ball the deepest place is the bottom of the arc, z_0 - x_l^2/(2 R); a swing so shallow that even this
  is not too deep never digs, and its window ends where the rising head thins the ball.

Steep attack (large x_l) and lost bounce (small z_0) narrow the side of the dig; much bounce on a tight lie narrows the
side of the thin. The sole is taken as rigid and its reaction on the swing is left out: the window says where trouble
starts, not how bad it gets.
"""

import sympy

from golfphys.derivations.notation import symbol
from golfphys.derivations.strike import face_opening, leaned, lie_angle, opened, shaft_lean
from golfphys.derivations.writer import Formula

bounce_angle, effective_bounce, sole_width = (
    symbol(name) for name in ("bounce_angle", "effective_bounce", "sole_width")
)
low_point, arc_radius, attack = symbol("low_point"), symbol("arc_radius"), symbol("attack")
turf_give, ball_height = symbol("turf_give"), symbol("ball_height")
delivered_loft, radius = symbol("delivered_loft"), symbol("radius")

GEOMETRY = "geometry of a rigid sole on a circular arc; this project's"

# normal of the sole, turned as the face is; the sole's slope along the path (x) is -n_x/n_z, positive rising forward
sole_normal = leaned(opened(sympy.Matrix([-sympy.sin(bounce_angle), 0, sympy.cos(bounce_angle)])))
bounce_there = sympy.atan2(-sole_normal[0], sole_normal[2])

attack_there = -sympy.asin(low_point / arc_radius)

leading_height = sympy.Max(0, sole_width * sympy.sin(effective_bounce))
contact_height = radius * (1 - sympy.sin(delivered_loft)) + ball_height

edge, reach = sympy.Symbol("edge_height", real=True), sympy.Symbol("contact_height", real=True)
below, above = sympy.Symbol("below", real=True), sympy.Symbol("above", real=True)
definitions = (
    (edge, leading_height),
    (reach, contact_height),
    (above, low_point**2 + 2 * arc_radius * (reach - edge)),
    (below, low_point**2 - 2 * arc_radius * (edge + turf_give)),
)

FORMULAS = (
    Formula(
        name="bounce_left",
        arguments=(bounce_angle, shaft_lean, face_opening, lie_angle),
        returns=bounce_there,
        summary="Effective bounce angle in rad: that of the sole along the path of the club, as delivered.",
        source=GEOMETRY,
    ),
    Formula(
        name="attack_of_low_point",
        arguments=(low_point, arc_radius),
        returns=attack_there,
        summary="Angle of attack in rad of an arc whose lowest point lies `low_point` ahead of the ball.",
        source=GEOMETRY,
    ),
    Formula(
        name="low_point_of_attack",
        arguments=(attack, arc_radius),
        returns=sympy.solve(sympy.Eq(sympy.sin(attack), -low_point / arc_radius), low_point)[0],
        summary="How far ahead of the ball (m) an arc has its lowest point, from its angle of attack.",
        source=GEOMETRY,
    ),
    Formula(
        name="low_point_window",
        arguments=(
            low_point,
            arc_radius,
            effective_bounce,
            sole_width,
            delivered_loft,
            turf_give,
            ball_height,
            radius,
        ),
        definitions=definitions,
        cases=(
            (above <= 0, {"dig": -low_point, "thin": -low_point}),
            (below > 0, {"dig": -low_point + sympy.sqrt(below), "thin": -low_point + sympy.sqrt(above)}),
            (sympy.true, {"dig": -low_point - sympy.sqrt(above), "thin": -low_point + sympy.sqrt(above)}),
        ),
        summary="Low-point errors in m (towards the target) between which the strike neither digs nor thins.",
        source=GEOMETRY,
    ),
)
