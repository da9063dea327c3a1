"""Oblique impact of a spinning sphere on a surface, derived once: ball on turf, and club on ball, with the sole's part.

A sphere of mass m, radius r and moment of inertia k m r^2 meets the surface of a body of mass M at a point, with unit
normal n on the ball's side. The impact is short: positions do not change and only the impulse J at the contact acts.
The line of the impulse passes the body's centre closely enough that the body does not turn; q = m/M is 0 for the
ground. All velocities are measured relative to the body before the impact, so for a club they are taken in the moving
frame of the face.

With J = m (P n + T), T along the surface, the ball's motion changes by

    v' = v + P n + T,      spin' = spin - (n x T) / (k r),

and the body recoils by -q (P n + T). The contact point of the ball moves over the body with the slip
s = (v - (v.n) n) + spin x (-r n).

- Normal: the bodies part at the restitution times the speed of approach.
- Tangential: if friction can bring the slip to -e_t times itself (e_t: tangential restitution; 0 ends rolling), the
  contact grips. Otherwise it slips throughout and Coulomb's law gives T = -mu P along the slip.

Cross, Am. J. Phys. 70, 1093 (2002), treats the plane case with both restitutions; Garwin, Am. J. Phys. 37, 88 (1969),
is e = e_t = 1.

**Club on ball.** The same, seen from the moving face: the ball comes with minus the head's velocity and no spin, and
the mass ratio is ball over head.

**Face.** With the shaft upright along the line of play the face's normal is (cos(loft), 0, sin(loft)). Leaning the
shaft towards the target turns it about the axis to the left and takes loft off. Opening turns the face about the shaft,
which stands at the lie angle and leans with the hands: because the shaft is not vertical, an open face gains loft as
it turns to the right.

**In the plane** (no opening) the impact of a ball from rest is, with spin loft = delivered loft less attack,

    gripping:  u_t = V sin(spin loft)(1 + e_t)/(1 + 1/k + q),   u_n = V cos(spin loft)(1 + e)/(1 + q),
    slipping:  u_t = mu u_n,

for the ball's speeds along and square to the face; its rim speed is r w = u_t/k either way, so that
r w / u = sin(delivered loft - launch angle)/k: the spin is bound to how far the launch falls below the loft.

**Sloping lie.** The player sets herself along the ground (practice), so that the strike happens in its axes; turning
those to the slope makes the launch over level ground: uphill adds to attack and loft alike, and a side slope turns the
start towards the side to which the ground falls.

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

from golfphys.derivations.writer import components, derived, real, symbol, vector

velocity, spin, normal = map(vector, ("velocity", "spin", "normal"))
restitution, friction = symbol("restitution friction")
tangential_restitution, mass_ratio, radius, inertia = symbol("tangential_restitution mass_ratio radius inertia")
loft, shaft_lean, face_opening, lie_angle = symbol("loft shaft_lean face_opening lie_angle")
speed, attack, delivered_loft = symbol("speed attack delivered_loft")
launch_angle, slope_along, slope_across = symbol("launch_angle slope_along slope_across")


# --- the impact -------------------------------------------------------------------------------------------------------
# What happens along the normal: rise is v.n before, P the impulse over the ball's mass.
rise, approach, normal_impulse = real("rise approach normal_impulse")
parting = rise + normal_impulse * (1 + mass_ratio)
push_solved = sympy.solve(sympy.Eq(parting, -restitution * rise), normal_impulse)[0].subs(rise, -approach)

# What happens along the surface: a tangential impulse T over m changes the slip by
# T from the ball's centre, T/k from its spin (n x (n x T) = -T), and q T from the body's recoil.
slip_before, tangential_impulse = real("slip_before tangential_impulse")
slip_after = slip_before + tangential_impulse * (1 + 1 / inertia + mass_ratio)
grip_solved = sympy.solve(sympy.Eq(slip_after, -tangential_restitution * slip_before), tangential_impulse)[0]
grip_share = sympy.simplify(-grip_solved / slip_before)

# In vectors. A body that is not approached gets no impulse: approach is never negative.
push, grip, slip_speed = real("push grip slip_speed")
slip = vector("slip", real)
slip_of_motion = velocity - rise * normal + spin.cross(-radius * normal)

impact_definitions = (
    (rise, velocity.dot(normal)),
    (approach, sympy.Max(0, -rise)),
    *zip(slip, slip_of_motion, strict=True),
    (slip_speed, sympy.sqrt(slip.dot(slip))),
    (push, push_solved),
    (grip, grip_share),
)


def motion_after(tangential: sympy.Matrix) -> dict[str, sympy.Expr]:
    """Return the ball's motion after normal impulse `push` and the tangential impulse given, both over its mass."""
    velocity_after = velocity + push * normal + tangential
    spin_after = spin - normal.cross(tangential) / (inertia * radius)
    return components(velocity=velocity_after, spin=spin_after)


# --- the face ---------------------------------------------------------------------------------------------------------
def leaned(vector: sympy.Matrix) -> sympy.Matrix:
    """Turn `vector` as the shaft leans towards the target: about the axis to the left, towards +x at the top."""
    return sympy.rot_ccw_axis2(shaft_lean) * vector


def opened(vector: sympy.Matrix) -> sympy.Matrix:
    """Turn `vector` about the upright shaft, opening the face to the right (Rodrigues' formula)."""
    shaft = sympy.Matrix([0, sympy.cos(lie_angle), sympy.sin(lie_angle)])
    cosine, sine = sympy.cos(face_opening), sympy.sin(face_opening)
    return vector * cosine - shaft.cross(vector) * sine + shaft * shaft.dot(vector) * (1 - cosine)


# the head is opened about its own shaft, and the whole then leans
face = leaned(opened(sympy.Matrix([sympy.cos(loft), 0, sympy.sin(loft)])))

# the plane impact
spin_loft = delivered_loft - attack
square = speed * sympy.cos(spin_loft) * (1 + restitution) / (1 + mass_ratio)
gripped = speed * sympy.sin(spin_loft) * grip_share
along, square_speed, slide = real("along square_speed slide")

# from the axes of a sloping lie to level ones: up tips to the left across, then the line of play rises along
levelling = sympy.rot_axis2(slope_along) * sympy.rot_axis1(slope_across)
levelled = components(velocity=levelling * velocity, spin=levelling * spin)

# --- the sole ---------------------------------------------------------------------------------------------------------
bounce_angle, effective_bounce, sole_width = symbol("bounce_angle effective_bounce sole_width")
low_point, arc_radius, low_point_error, height_error = symbol("low_point arc_radius low_point_error height_error")
give, ball_height, contact_height = symbol("give ball_height contact_height")
edge_height, brush_height, dig_depth = symbol("edge_height brush_height dig_depth")
path_slope, ploughed_area, turf_drag, head_mass = symbol("path_slope ploughed_area turf_drag head_mass")
x = real("x")

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
squared, root, end, u = real("squared root end u")
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
width, below, above = real("width below above")
contact_there = ball_height + radius * (1 - normal[2])

FORMULAS = derived(
    """
# rigid impulse with friction, Cross, Am. J. Phys. 70, 1093 (2002)
impact | Motion of a sphere after an oblique impact, relative to the body it met before the impact.
slip_limit_ratio | Slip over speed of approach above which an impact slips throughout and below which it grips.
# rotation of the head about the axis to the left, then about the shaft
face_normal | Unit normal of the face as delivered.
off_slope | Velocity and spin over level ground of a motion given in the axes of a sloping lie.
# Cross, Am. J. Phys. 70, 1093 (2002); plane impact from rest
plane_strike | Ball speed, launch angle and backspin of a strike with a square face.
# angular momentum about the contact
spin_to_speed | Rim speed over ball speed that any central impact from rest gives, gripping or slipping.
# geometry of a rigid sole on a circular arc; this project's
bounce_left | Effective bounce angle in rad: that of the sole along the path of the club, as delivered.
low_point_of_attack | How far ahead of the ball (m) an arc has its lowest point, from its angle of attack.
edge_at_ball | Height in m at which the leading edge comes to the ball, before the soil carries it.
sole_room | Height of the leading edge in m when the sole just brushes the soil, and the depth at which it digs.
carried_edge | Height in m at which the leading edge comes to the ball, carried by the soil under the sole.
ploughed | Area in m^2, depth times length, that the leading edge ploughs before it reaches the ball.
face_contact_height | Height in m over the soil at which a face with this upward part of its normal touches the ball.
struck_normal | Unit normal of the contact: the face's own, or from a leading edge that comes too high.
low_point_window | Low-point errors in m (towards the target) between which the strike neither digs nor thins.
# turf set moving in proportion to the area ploughed; this project's
speed_kept_of_ploughed | Head speed that is left after ploughing, over that before.
""",
    {
        "ploughed": {"edge_height": (-0.012, 0.004)},
        "struck_normal": components(normal=((0.3, 0.7), (-0.1, 0.1), (0.4, 0.8))) | {"edge_height": (-0.005, 0.03)},
    },
    impact=(
        (*velocity, *spin, *normal, restitution, friction, tangential_restitution, mass_ratio, radius, inertia),
        impact_definitions,
        (
            (grip * slip_speed <= friction * push, motion_after(-grip * slip)),
            (sympy.true, motion_after(-friction * push * slip / slip_speed)),
        ),
    ),
    slip_limit_ratio=(
        (restitution, friction, tangential_restitution, mass_ratio, inertia),
        friction * (1 + restitution) / (1 + mass_ratio) / grip_share,
    ),
    face_normal=((loft, shaft_lean, face_opening, lie_angle), components(normal=map(sympy.simplify, face))),
    plane_strike=(
        (
            *(speed, attack, delivered_loft, restitution, friction),
            *(tangential_restitution, mass_ratio, radius, inertia),
        ),
        (
            (square_speed, square),
            (slide, gripped),
            (along, sympy.Max(-friction * square_speed, sympy.Min(friction * square_speed, slide))),
        ),
        {
            "ball_speed": sympy.sqrt(square_speed**2 + along**2),
            "launch_angle": delivered_loft - sympy.atan2(along, square_speed),
            "backspin": along / (inertia * radius),
        },
    ),
    spin_to_speed=((delivered_loft, launch_angle, inertia), sympy.sin(delivered_loft - launch_angle) / inertia),
    off_slope=((*velocity, *spin, slope_along, slope_across), levelled),
    bounce_left=((bounce_angle, shaft_lean, face_opening, lie_angle), bounce_there),
    low_point_of_attack=(
        (attack, arc_radius),
        sympy.solve(sympy.Eq(sympy.sin(attack), -low_point / arc_radius), low_point)[0],
    ),
    edge_at_ball=((edge_height, low_point, arc_radius, low_point_error, height_error), edge_there),
    sole_room=(
        (effective_bounce, sole_width, give),
        ((brush_height, sympy.Max(0, sole_width * sympy.sin(effective_bounce))),),
        {"brush_height": brush_height, "dig_depth": brush_height * (1 - give) / give},
    ),
    carried_edge=(
        (edge_height, brush_height, dig_depth),
        (
            (edge_height >= brush_height, edge_height),
            (edge_height <= -dig_depth, edge_height + dig_depth),
            (sympy.true, carried),
        ),
    ),
    ploughed=(
        (edge_height, dig_depth, path_slope, arc_radius),
        (
            (squared, sympy.Max(0, squared_there)),
            (root, sympy.sqrt(squared)),
            (end, sympy.Max(-root, sympy.Min(root, arc_radius * path_slope))),
        ),
        area,
    ),
    speed_kept_of_ploughed=((ploughed_area, turf_drag, head_mass), speed_kept),
    face_contact_height=((normal[2], ball_height, radius), contact_there),
    struck_normal=(
        (*normal, edge_height, ball_height, radius),
        (
            (rise, sympy.Max(-1, sympy.Min(1, 1 - (edge_height - ball_height) / radius))),
            (width, sympy.sqrt((1 - rise**2) / (normal[0] ** 2 + normal[1] ** 2))),
        ),
        (
            (edge_height <= contact_there, components(struck=normal)),
            (sympy.true, components(struck=(width * normal[0], width * normal[1], rise))),
        ),
    ),
    low_point_window=(
        (low_point, arc_radius, edge_height, dig_depth, contact_height),
        (
            (above, low_point**2 + 2 * arc_radius * (contact_height - edge_height)),
            (below, low_point**2 - 2 * arc_radius * (edge_height + dig_depth)),
        ),
        (
            (above <= 0, {"dig": -low_point, "thin": -low_point}),
            (below > 0, {"dig": -low_point + sympy.sqrt(below), "thin": -low_point + sympy.sqrt(above)}),
            (sympy.true, {"dig": -low_point - sympy.sqrt(above), "thin": -low_point + sympy.sqrt(above)}),
        ),
    ),
)
