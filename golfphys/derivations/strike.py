"""The club on the ball: where the face points and how it moves at impact.

The impact itself is that of `golfphys.derivations.impact`, seen from the moving face: the ball comes with minus the
head's velocity and no spin, and the mass ratio is ball over head.

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
"""

import sympy

from golfphys.derivations.impact import grip_share
from golfphys.derivations.writer import Formula, symbol

loft, shaft_lean, face_opening, lie_angle = map(symbol, ("loft", "shaft_lean", "face_opening", "lie_angle"))
speed, attack, delivered_loft = symbol("speed"), symbol("attack"), symbol("delivered_loft")
restitution, friction = symbol("restitution"), symbol("friction")
tangential_restitution, mass_ratio = symbol("tangential_restitution"), symbol("mass_ratio")
inertia, radius, launch_angle = symbol("inertia"), symbol("radius"), symbol("launch_angle")

GEOMETRY = "rotation of the head about the axis to the left, then about the shaft"


def leaned(vector: sympy.Matrix) -> sympy.Matrix:
    """Turn `vector` as the shaft leans towards the target: about the axis to the left, towards +x at the top."""
    cosine, sine = sympy.cos(shaft_lean), sympy.sin(shaft_lean)
    return sympy.Matrix([[cosine, 0, sine], [0, 1, 0], [-sine, 0, cosine]]) * vector


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
along = sympy.Symbol("along", real=True)
square_speed = sympy.Symbol("square_speed", real=True)
slide = sympy.Symbol("slide", real=True)

# from the axes of a sloping lie to level ones: up tips to the left across, then the line of play rises along
slope_along, slope_across = symbol("slope_along"), symbol("slope_across")
cos, sin = sympy.cos(slope_across), sympy.sin(slope_across)
across = sympy.Matrix([[1, 0, 0], [0, cos, sin], [0, -sin, cos]])
cos, sin = sympy.cos(slope_along), sympy.sin(slope_along)
uphill = sympy.Matrix([[cos, 0, -sin], [0, 1, 0], [sin, 0, cos]])
motion_names = [f"{kind}_{axis}" for kind in ("velocity", "spin") for axis in "xyz"]
motion = [symbol(name) for name in motion_names]
levelled = [*(uphill * across * sympy.Matrix(motion[:3])), *(uphill * across * sympy.Matrix(motion[3:]))]

FORMULAS = (
    Formula(
        name="face_normal",
        arguments=(loft, shaft_lean, face_opening, lie_angle),
        returns=dict(zip(("normal_x", "normal_y", "normal_z"), map(sympy.simplify, face), strict=True)),
        summary="Unit normal of the face as delivered.",
        source=GEOMETRY,
    ),
    Formula(
        name="plane_strike",
        arguments=(
            *(speed, attack, delivered_loft, restitution, friction),
            *(tangential_restitution, mass_ratio, radius, inertia),
        ),
        definitions=(
            (square_speed, square),
            (slide, gripped),
            (along, sympy.Max(-friction * square_speed, sympy.Min(friction * square_speed, slide))),
        ),
        returns={
            "ball_speed": sympy.sqrt(square_speed**2 + along**2),
            "launch_angle": delivered_loft - sympy.atan2(along, square_speed),
            "backspin": along / (inertia * radius),
        },
        summary="Ball speed, launch angle and backspin of a strike with a square face.",
        source="Cross, Am. J. Phys. 70, 1093 (2002); plane impact from rest",
    ),
    Formula(
        name="spin_to_speed",
        arguments=(delivered_loft, launch_angle, inertia),
        returns=sympy.sin(delivered_loft - launch_angle) / inertia,
        summary="Rim speed over ball speed that any central impact from rest gives, gripping or slipping.",
        source="angular momentum about the contact",
    ),
    Formula(
        name="off_slope",
        arguments=(*motion, slope_along, slope_across),
        returns=dict(zip(motion_names, levelled, strict=True)),
        summary="Velocity and spin over level ground of a motion given in the axes of a sloping lie.",
        source=GEOMETRY,
    ),
)
