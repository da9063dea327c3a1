"""The sole and the ground: where the leading edge comes to the ball, and what it ploughs before.

**Effective bounce.** With the shaft upright the sole rises from its low trailing edge to the leading edge at the bounce
angle. Leaning the shaft forward lowers the leading edge by the lean; opening the face turns the sole about the shaft
and raises it. The angle of the turned sole along the path of the club is the effective bounce.

**Arc.** The head moves on an arc of radius R whose lowest point lies x_l ahead of the ball; at the ball it moves down
at sin(attack) = -x_l/R. Heights are those of the leading edge over the soil. If the low point is off by d along the
line (positive: nearer the target) and the whole arc by h in height, the edge comes to the ball at

    z = z_meant + h + ((x_l + d)^2 - x_l^2) / (2 R),     and behind the ball     z(x) = z + s x + x^2 / (2 R),

with s the slope of the path at the ball: -(x_l + d)/R, or any other if the arc turns about the ball.

**Sole on soil.** With bounce left, the trailing edge hangs b = w sin(effective bounce) under the leading edge and
touches the soil first. The soil then carries the head in part: of what the swing presses the sole down, the share g
(the give: 0 rock, 1 slush) goes into the soil and the rest lifts the head. So the edge, meant to come at z < b, sinks
from b to 0 while z falls from b to -d, with d = b (1 - g)/g: below that it digs. Without bounce left (b = 0) nothing
carries it. Soft soil (g near 1) leaves no such room: it digs more, not less.

**Ploughing.** While the edge is deeper than d before it reaches the ball it ploughs. With u = x + R s the depth is
(D - u^2)/(2 R), D = (R s)^2 - 2 R (z + d); its integral from where it goes in to the ball (or to where it comes out) is
the area ploughed. The head is slowed as if it had to set moving a mass kappa for each square metre of that area:
dV/dA = -kappa V/M, so the speed kept is exp(-kappa A/M).

**Contact.** A face with unit normal n (n_z upwards) touches a sphere at height r (1 - n_z) over its underside. If the
edge comes higher than that, the edge itself meets the ball, and the normal of the contact runs from there to the
centre: n_z = 1 - (z - ball height)/r. That is the thin strike; it begins where the clean one ends.

**Window.** Low points between which the strike neither digs (edge no deeper than d anywhere up to the ball) nor thins.
The sole is rigid and the impact is central: what a strike low on the face loses otherwise is left out.
"""

import sympy

from golfphys.derivations.strike import face_opening, leaned, lie_angle, opened, shaft_lean
from golfphys.derivations.writer import Formula, sourced, symbol, vector

bounce_angle, effective_bounce, sole_width = map(symbol, ("bounce_angle", "effective_bounce", "sole_width"))
low_point, arc_radius, attack = symbol("low_point"), symbol("arc_radius"), symbol("attack")
low_point_error, height_error = symbol("low_point_error"), symbol("height_error")
give, ball_height, radius = symbol("give"), symbol("ball_height"), symbol("radius")
edge_height, brush_height, dig_depth = symbol("edge_height"), symbol("brush_height"), symbol("dig_depth")
path_slope, ploughed_area = symbol("path_slope"), symbol("ploughed_area")
turf_drag, head_mass = symbol("turf_drag"), symbol("head_mass")
normal_x, normal_y, normal_z = vector("normal")
x = sympy.Symbol("x", real=True)

GEOMETRY = "geometry of a rigid sole on a circular arc; this project's"
PLOUGH = "turf set moving in proportion to the area ploughed; this project's"

# normal of the sole, turned as the face is; the sole's slope along the path (x) is -n_x/n_z, positive rising forward
sole_normal = leaned(opened(sympy.Matrix([-sympy.sin(bounce_angle), 0, sympy.cos(bounce_angle)])))
bounce_there = sympy.atan2(-sole_normal[0], sole_normal[2])

# the arc: what an error of the low point does to the height at the ball
arc = (x - low_point) ** 2 / (2 * arc_radius)
shifted = arc.subs(low_point, low_point + low_point_error)
edge_there = edge_height + height_error + sympy.expand((shifted - arc).subs(x, 0))

# the sole carried: linear between touching (b) and digging (0)
carried = brush_height * (edge_height + dig_depth) / (brush_height + dig_depth)

# ploughing: depth under the level at which the edge digs, and its area from where it goes in to the ball
squared, root, end, u = (sympy.Symbol(name, real=True) for name in ("squared", "root", "end", "u"))
depth = -(edge_height + dig_depth + path_slope * x + x**2 / (2 * arc_radius))
depth_from_low = sympy.expand(depth.subs(x, u - arc_radius * path_slope))
squared_there = sympy.expand(2 * arc_radius * depth_from_low.subs(u, 0))
area = sympy.integrate((root**2 - u**2) / (2 * arc_radius), (u, -root, end))
mass_moved = sympy.Function("V")
speed_kept = sympy.dsolve(
    mass_moved(ploughed_area).diff(ploughed_area) + turf_drag / head_mass * mass_moved(ploughed_area),
    mass_moved(ploughed_area),
    ics={mass_moved(0): 1},
).rhs

# contact of the edge with the ball
rise = sympy.Symbol("rise", real=True)
width = sympy.Symbol("width", real=True)
contact_there = ball_height + radius * (1 - normal_z)

contact_height = symbol("contact_height")
below, above = sympy.Symbol("below", real=True), sympy.Symbol("above", real=True)

FORMULAS = sourced(
    GEOMETRY,
    Formula(
        name="bounce_left",
        arguments=(bounce_angle, shaft_lean, face_opening, lie_angle),
        returns=bounce_there,
        summary="Effective bounce angle in rad: that of the sole along the path of the club, as delivered.",
    ),
    Formula(
        name="low_point_of_attack",
        arguments=(attack, arc_radius),
        returns=sympy.solve(sympy.Eq(sympy.sin(attack), -low_point / arc_radius), low_point)[0],
        summary="How far ahead of the ball (m) an arc has its lowest point, from its angle of attack.",
    ),
    Formula(
        name="edge_at_ball",
        arguments=(edge_height, low_point, arc_radius, low_point_error, height_error),
        returns=edge_there,
        summary="Height in m at which the leading edge comes to the ball, before the soil carries it.",
    ),
    Formula(
        name="sole_room",
        arguments=(effective_bounce, sole_width, give),
        definitions=((brush_height, sympy.Max(0, sole_width * sympy.sin(effective_bounce))),),
        returns={"brush_height": brush_height, "dig_depth": brush_height * (1 - give) / give},
        summary="Height of the leading edge in m when the sole just brushes the soil, and the depth at which it digs.",
    ),
    Formula(
        name="carried_edge",
        arguments=(edge_height, brush_height, dig_depth),
        cases=(
            (edge_height >= brush_height, edge_height),
            (edge_height <= -dig_depth, edge_height + dig_depth),
            (sympy.true, carried),
        ),
        summary="Height in m at which the leading edge comes to the ball, carried by the soil under the sole.",
    ),
    Formula(
        name="ploughed",
        arguments=(edge_height, dig_depth, path_slope, arc_radius),
        definitions=(
            (squared, sympy.Max(0, squared_there)),
            (root, sympy.sqrt(squared)),
            (end, sympy.Max(-root, sympy.Min(root, arc_radius * path_slope))),
        ),
        returns=area,
        summary="Area in m^2, depth times length, that the leading edge ploughs before it reaches the ball.",
        ranges={"edge_height": (-0.012, 0.004)},
    ),
    Formula(
        name="speed_kept_of_ploughed",
        arguments=(ploughed_area, turf_drag, head_mass),
        returns=speed_kept,
        summary="Head speed that is left after ploughing, over that before.",
        source=PLOUGH,
    ),
    Formula(
        name="face_contact_height",
        arguments=(normal_z, ball_height, radius),
        returns=contact_there,
        summary="Height in m over the soil at which a face with this upward part of its normal touches the ball.",
    ),
    Formula(
        name="struck_normal",
        arguments=(normal_x, normal_y, normal_z, edge_height, ball_height, radius),
        definitions=(
            (rise, sympy.Max(-1, sympy.Min(1, 1 - (edge_height - ball_height) / radius))),
            (width, sympy.sqrt((1 - rise**2) / (normal_x**2 + normal_y**2))),
        ),
        cases=(
            (edge_height <= contact_there, {"struck_x": normal_x, "struck_y": normal_y, "struck_z": normal_z}),
            (sympy.true, {"struck_x": width * normal_x, "struck_y": width * normal_y, "struck_z": rise}),
        ),
        summary="Unit normal of the contact: the face's own, or from a leading edge that comes too high.",
        ranges={
            **{"normal_x": (0.3, 0.7), "normal_y": (-0.1, 0.1), "normal_z": (0.4, 0.8)},
            **{"edge_height": (-0.005, 0.03)},
        },
    ),
    Formula(
        name="low_point_window",
        arguments=(low_point, arc_radius, edge_height, dig_depth, contact_height),
        definitions=(
            (above, low_point**2 + 2 * arc_radius * (contact_height - edge_height)),
            (below, low_point**2 - 2 * arc_radius * (edge_height + dig_depth)),
        ),
        cases=(
            (above <= 0, {"dig": -low_point, "thin": -low_point}),
            (below > 0, {"dig": -low_point + sympy.sqrt(below), "thin": -low_point + sympy.sqrt(above)}),
            (sympy.true, {"dig": -low_point - sympy.sqrt(above), "thin": -low_point + sympy.sqrt(above)}),
        ),
        summary="Low-point errors in m (towards the target) between which the strike neither digs nor thins.",
    ),
)
